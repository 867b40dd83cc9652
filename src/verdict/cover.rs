//! The fewest fillers for a whole assembly: a smallest set of usable fillers that serves every joint, of those that a shop
//! keeps where they can do it, and what is given up at each joint by using no more than these.

use super::level::Level;
use super::report::{Beaten, FewestFillers, FillerVerdict, JointReport, Price, Verdict};
use std::collections::BTreeMap;

/// Sets larger than this are not searched through; a greedy choice stands in for them.
const LARGEST_EXACT: usize = 4;

/// The first two levels of supply: a shop keeps such a filler, or many do.
const KEPT: usize = 1;

/// A filler at a joint.
struct Served {
    filler: usize,
    /// Nothing beats it there.
    recommended: bool,
    /// On how many criteria it is marginal there.
    marginal: usize,
}

/// A smallest set for these joints. `stock` says of each filler how hard it is to get, 0 being the easiest: a filler that is
/// harder to get comes in only where the easier ones leave a joint without any. Of several sets of one size, the one that is
/// marginal on the fewest criteria; of those, the one in which most joints get a recommended filler; then the easiest to get;
/// then the first in the order of the list of fillers. Joints without a usable filler are left aside.
pub fn fewest(fillers: &[String], stock: &[usize], joints: &[JointReport]) -> FewestFillers {
    let served: Vec<(&JointReport, Vec<Served>)> = joints
        .iter()
        .map(|joint| (joint, usable(fillers, joint)))
        .filter(|(_, usable)| !usable.is_empty())
        .collect();
    if served.is_empty() {
        return FewestFillers::default();
    }
    let rank = |filler: usize| stock.get(filler).copied().unwrap_or(0);
    let mut useful: Vec<usize> =
        served.iter().flat_map(|(_, usable)| usable.iter().map(|one| one.filler)).collect();
    useful.sort_unstable();
    useful.dedup();
    // What shops keep, be it everywhere or not, is alike here; what is seldom kept comes in where some joint needs it.
    let seldom = |filler: usize| rank(filler) > KEPT;
    let needed = served.iter().any(|(_, usable)| usable.iter().all(|one| seldom(one.filler)));
    useful.retain(|filler| needed || !seldom(*filler));
    let serves =
        |set: &[usize]| served.iter().all(|(_, usable)| usable.iter().any(|one| set.contains(&one.filler)));
    let worth = |set: &[usize]| {
        let own = served.iter().filter_map(|(_, usable)| best_of(usable, set));
        let (marginal, praised) = own.fold((0, 0), |(marginal, praised), one| {
            (marginal + one.marginal, praised + usize::from(one.recommended))
        });
        let ranks: usize = set.iter().map(|filler| rank(*filler)).sum();
        (marginal, served.len() - praised, ranks)
    };
    let mut best: Option<((usize, usize, usize), Vec<usize>)> = None;
    for size in 1..=LARGEST_EXACT.min(useful.len()) {
        each_subset(&useful, size, &mut |set| {
            if serves(set) {
                let worth = worth(set);
                if best.as_ref().is_none_or(|(least, _)| worth < *least) {
                    best = Some((worth, set.to_vec()));
                }
            }
        });
        if best.is_some() {
            break;
        }
    }
    let set = best.map_or_else(|| greedy(&useful, &served), |(_, set)| set);
    let mut covers = BTreeMap::new();
    let mut prices = Vec::new();
    for (joint, usable) in &served {
        let Some(own) = best_of(usable, &set) else { continue };
        let filler = &fillers[own.filler];
        covers.insert(joint.joint.clone(), filler.clone());
        prices.extend(price(joint, filler));
    }
    FewestFillers { fillers: set.iter().map(|filler| fillers[*filler].clone()).collect(), covers, prices }
}

fn usable(fillers: &[String], joint: &JointReport) -> Vec<Served> {
    let fit = joint.verdicts.iter().filter(|verdict| verdict.verdict <= Verdict::Usable);
    let mut usable: Vec<Served> = fit
        .filter_map(|verdict| {
            Some(Served {
                filler: fillers.iter().position(|known| *known == verdict.filler)?,
                recommended: verdict.verdict == Verdict::Recommended,
                marginal: verdict.standings.iter().filter(|on| on.standing == Level::Marginal).count(),
            })
        })
        .collect();
    usable.sort_by_key(|one| one.filler);
    usable
}

/// The filler of a set that serves a joint: a recommended one, or else the one that is marginal on the fewest criteria.
fn best_of<'s>(usable: &'s [Served], set: &[usize]) -> Option<&'s Served> {
    let own = usable.iter().filter(|one| set.contains(&one.filler));
    own.min_by_key(|one| (!one.recommended, one.marginal, one.filler))
}

/// What is given up at a joint by using this filler and not its own best: the first criterion on which it is beaten, and
/// every standing that is worse.
fn price(joint: &JointReport, filler: &str) -> Option<Price> {
    let of = |name: &str| joint.verdicts.iter().find(|verdict| verdict.filler == name);
    let own = of(filler).filter(|verdict| verdict.verdict != Verdict::Recommended)?;
    let beaten = own.beaten_by.iter().find(|beaten| joint.recommended.contains(&beaten.filler));
    let best = of(beaten.map_or_else(|| joint.recommended.first(), |beaten| Some(&beaten.filler))?)?;
    let level = |of: &FillerVerdict, criterion: &str| {
        let standing = of.standings.iter().find(|standing| standing.criterion == criterion);
        standing.map(|standing| standing.standing)
    };
    let mut lost = Vec::new();
    for standing in &own.standings {
        let other = level(best, &standing.criterion);
        if other != Some(standing.standing) {
            let other = other.map(|level| level.to_string()).unwrap_or_default();
            lost.push((standing.criterion.clone(), standing.standing.to_string(), other));
        }
    }
    Some(Price {
        joint: joint.joint.clone(),
        filler: filler.to_owned(),
        instead_of: best.filler.clone(),
        decided_by: beaten.map(|Beaten { criterion, .. }| criterion.clone()),
        differs: lost,
    })
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
fn greedy(useful: &[usize], served: &[(&JointReport, Vec<Served>)]) -> Vec<usize> {
    let has = |usable: &[Served], filler: usize| usable.iter().any(|one| one.filler == filler);
    let mut left: Vec<&Vec<Served>> = served.iter().map(|(_, usable)| usable).collect();
    let mut set = Vec::new();
    while !left.is_empty() {
        let count = |filler: &usize| left.iter().filter(|usable| has(usable, *filler)).count();
        let Some(best) =
            useful.iter().copied().max_by_key(|filler| (count(filler), std::cmp::Reverse(*filler)))
        else {
            break;
        };
        set.push(best);
        left.retain(|usable| !has(usable, best));
    }
    set.sort_unstable();
    set
}

#[cfg(test)]
mod tests {
    use super::super::report::Standing;
    use super::*;

    /// A joint with its fillers, each usable or recommended, and on how many criteria it is marginal.
    fn joint(name: &str, fillers: &[(&str, Verdict, usize)]) -> JointReport {
        let marginal = |count: usize| {
            (0..count).map(|at| Standing {
                criterion: format!("criterion {at}"),
                standing: Level::Marginal,
                finding: None,
                value: None,
                says: None,
            })
        };
        let verdict = |(filler, verdict, count): &(&str, Verdict, usize)| FillerVerdict {
            filler: (*filler).to_owned(),
            verdict: *verdict,
            standings: marginal(*count).collect(),
            beaten_by: Vec::new(),
        };
        let best = fillers.iter().filter(|(_, verdict, _)| *verdict == Verdict::Recommended);
        JointReport {
            joint: name.to_owned(),
            between: [String::new(), String::new()],
            recommended: best.map(|(filler, ..)| (*filler).to_owned()).collect(),
            decisive: None,
            verdicts: fillers.iter().map(verdict).collect(),
            open: Vec::new(),
            whatever: Vec::new(),
            by_sample: false,
        }
    }

    use Verdict::{Recommended as Best, Usable as Fit};

    fn names(count: usize) -> Vec<String> {
        (0..count).map(|index| format!("f{index}")).collect()
    }

    #[test]
    fn one_filler_that_serves_all_is_enough() {
        let joints =
            [joint("a", &[("f0", Best, 0), ("f1", Fit, 0)]), joint("b", &[("f1", Fit, 0), ("f2", Best, 0)])];
        let cover = fewest(&names(3), &[0; 3], &joints);
        assert_eq!(cover.fillers, ["f1"]);
        let prices: Vec<(&str, &str)> =
            cover.prices.iter().map(|price| (price.joint.as_str(), price.instead_of.as_str())).collect();
        assert_eq!(prices, [("a", "f0"), ("b", "f2")]);
    }

    #[test]
    fn recommended_fillers_win_among_equals() {
        let both = [("f0", Fit, 0), ("f1", Best, 0)];
        let joints = [joint("a", &both), joint("b", &both), joint("none", &[])];
        let cover = fewest(&names(2), &[0; 2], &joints);
        assert_eq!(cover.fillers, ["f1"]);
        assert_eq!((cover.covers.len(), cover.prices.len()), (2, 0));
    }

    #[test]
    fn what_is_marginal_gives_way_and_what_nobody_keeps_comes_last() {
        let joints = [joint("a", &[("f0", Best, 1), ("f1", Fit, 0), ("f2", Fit, 0)])];
        assert_eq!(fewest(&names(3), &[0, 1, 0], &joints).fillers, ["f2"]);
        // One filler that is seldom kept would serve both; two that are kept are taken.
        let joints =
            [joint("a", &[("f0", Fit, 0), ("f2", Best, 0)]), joint("b", &[("f1", Fit, 0), ("f2", Best, 0)])];
        assert_eq!(fewest(&names(3), &[0, 0, 2], &joints).fillers, ["f0", "f1"]);
        // Where a joint has no other, it is taken, and for the rest as well.
        let joints = [joint("a", &[("f0", Fit, 0), ("f2", Fit, 0)]), joint("b", &[("f2", Fit, 0)])];
        assert_eq!(fewest(&names(3), &[0, 0, 2], &joints).fillers, ["f2"]);
    }

    #[test]
    fn many_disjoint_joints_are_still_served() {
        let joints: Vec<JointReport> =
            (0..7).map(|index| joint(&index.to_string(), &[(&format!("f{index}"), Best, 0)])).collect();
        assert_eq!(fewest(&names(7), &[0; 7], &joints).fillers.len(), 7);
    }
}
