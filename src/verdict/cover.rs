//! The fewest fillers for a whole assembly: a smallest set of usable fillers that serves every joint.

use super::report::FewestFillers;

/// What is known of one joint: its name, the fillers that may be used, and which of them are recommended.
pub struct Served {
    /// Its name.
    pub joint: String,
    /// Indices into the list of fillers.
    pub usable: Vec<usize>,
    /// Indices into the list of fillers.
    pub recommended: Vec<usize>,
}

/// Sets larger than this are not searched through; a greedy choice stands in for them.
const LARGEST_EXACT: usize = 4;

/// A smallest set. Of several, the one in which most joints get a recommended filler; of those, the first in the order
/// of the list of fillers. Joints without a usable filler are left aside.
pub fn fewest(fillers: &[String], joints: &[Served]) -> FewestFillers {
    let joints: Vec<&Served> = joints.iter().filter(|joint| !joint.usable.is_empty()).collect();
    if joints.is_empty() {
        return FewestFillers::default();
    }
    let mut useful: Vec<usize> = joints.iter().flat_map(|joint| joint.usable.iter().copied()).collect();
    useful.sort_unstable();
    useful.dedup();
    let serves =
        |set: &[usize]| joints.iter().all(|joint| joint.usable.iter().any(|filler| set.contains(filler)));
    let praise = |set: &[usize]| {
        joints.iter().filter(|joint| joint.recommended.iter().any(|filler| set.contains(filler))).count()
    };
    let mut best: Option<(usize, Vec<usize>)> = None;
    for size in 1..=LARGEST_EXACT.min(useful.len()) {
        each_subset(&useful, size, &mut |set| {
            if serves(set) {
                let praised = praise(set);
                if best.as_ref().is_none_or(|(most, _)| praised > *most) {
                    best = Some((praised, set.to_vec()));
                }
            }
        });
        if best.is_some() {
            break;
        }
    }
    let set = best.map_or_else(|| greedy(&useful, &joints), |(_, set)| set);
    let covers = joints
        .iter()
        .filter_map(|joint| {
            let own = joint.recommended.iter().chain(&joint.usable).find(|filler| set.contains(filler))?;
            Some((joint.joint.clone(), fillers[*own].clone()))
        })
        .collect();
    FewestFillers { fillers: set.iter().map(|filler| fillers[*filler].clone()).collect(), covers }
}

/// Calls `visit` with every subset of a size, in lexicographic order.
fn each_subset(items: &[usize], size: usize, visit: &mut impl FnMut(&[usize])) {
    fn step(items: &[usize], size: usize, chosen: &mut Vec<usize>, visit: &mut impl FnMut(&[usize])) {
        if chosen.len() == size {
            return visit(chosen);
        }
        let lacking = size - chosen.len();
        for index in 0..(items.len() + 1).saturating_sub(lacking) {
            chosen.push(items[index]);
            step(&items[index + 1..], size, chosen, visit);
            chosen.pop();
        }
    }
    step(items, size, &mut Vec::with_capacity(size), visit);
}

/// Takes, again and again, the filler that serves most of the joints not yet served.
fn greedy(useful: &[usize], joints: &[&Served]) -> Vec<usize> {
    let mut left: Vec<&&Served> = joints.iter().collect();
    let mut set = Vec::new();
    while !left.is_empty() {
        let count = |filler: &usize| left.iter().filter(|joint| joint.usable.contains(filler)).count();
        let Some(best) =
            useful.iter().copied().max_by_key(|filler| (count(filler), std::cmp::Reverse(*filler)))
        else {
            break;
        };
        set.push(best);
        left.retain(|joint| !joint.usable.contains(&best));
    }
    set.sort_unstable();
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    fn joint(name: &str, usable: &[usize], recommended: &[usize]) -> Served {
        Served { joint: name.to_owned(), usable: usable.to_vec(), recommended: recommended.to_vec() }
    }

    fn names(count: usize) -> Vec<String> {
        (0..count).map(|index| format!("f{index}")).collect()
    }

    #[test]
    fn one_filler_that_serves_all_is_enough() {
        let joints = [joint("a", &[0, 1], &[0]), joint("b", &[1, 2], &[2])];
        assert_eq!(fewest(&names(3), &joints).fillers, ["f1"]);
    }

    #[test]
    fn recommended_fillers_win_among_equals() {
        let joints = [joint("a", &[0, 1], &[1]), joint("b", &[0, 1], &[1]), joint("none", &[], &[])];
        let cover = fewest(&names(2), &joints);
        assert_eq!(cover.fillers, ["f1"]);
        assert_eq!(cover.covers.len(), 2);
    }

    #[test]
    fn many_disjoint_joints_are_still_served() {
        let joints: Vec<Served> = (0..7).map(|index| joint(&index.to_string(), &[index], &[index])).collect();
        assert_eq!(fewest(&names(7), &joints).fillers.len(), 7);
    }
}
