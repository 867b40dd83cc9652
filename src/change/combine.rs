//! Several changes together: those of which each takes away a part of what stands against a filler. Single changes are found
//! in `single.rs`.

use super::adjustable::{Adjustable, Values};
use super::found::{ENOUGH, Found, Step, settings};
use super::session::Obstacle;
use super::setting::{Setting, Written};
use super::single::steps;
use super::trial::{StretchSearch, Trial};
use crate::processors::for_each;
use crate::verdict::Verdict;
use std::collections::BTreeSet;

/// Sets of this many changes are offered at most.
const MOST: usize = 3;

/// Sets that make the filler usable, from which a recommendation is looked for.
const BEGINNINGS: usize = 2;

/// Combinations that are tried at most.
const TRIED: usize = 3000;

/// A change that reaches no goal by itself and takes away some of what stands against the filler.
struct Partial {
    step: Step,
    lifts: BTreeSet<Obstacle>,
    /// What still stands against it, or does so now.
    left: BTreeSet<Obstacle>,
}

/// Two or three changes that together make a filler usable, and none of which can be left out.
pub(super) fn together_usable(
    trial: &Trial<'_, '_>,
    adjustables: &[Adjustable],
    found: &[Found],
) -> Vec<Found> {
    let Some(base) = trial.alone(&[]) else { return Vec::new() };
    let places: Vec<usize> = (0..adjustables.len()).collect();
    let partials: Vec<Partial> =
        for_each(&places, |place| partials(trial, &adjustables[*place], *place, &base.obstacles))
            .into_iter()
            .flatten()
            .collect();
    let covers = |set: &[&Partial]| {
        base.obstacles.iter().all(|obstacle| set.iter().any(|partial| partial.lifts.contains(obstacle)))
    };
    let mut sets: Vec<Vec<&Partial>> = Vec::new();
    for (first, a) in partials.iter().enumerate() {
        for (second, b) in partials.iter().enumerate().skip(first + 1) {
            if a.step.adjustable == b.step.adjustable {
                continue;
            }
            if covers(&[a, b]) {
                sets.push(vec![a, b]);
                continue;
            }
            for c in &partials[second + 1..] {
                let apart = c.step.adjustable != a.step.adjustable && c.step.adjustable != b.step.adjustable;
                let needed = !covers(&[a, c]) && !covers(&[b, c]);
                if apart && needed && covers(&[a, b, c]) {
                    sets.push(vec![a, b, c]);
                }
            }
        }
    }
    sets.sort_by_key(Vec::len);
    sets.truncate(TRIED);
    let alone: Vec<Vec<Setting>> = found.iter().map(Found::settings).collect();
    let refined = for_each(&sets, |set| {
        let steps: Vec<Step> = set.iter().map(|partial| partial.step.clone()).collect();
        if alone.iter().any(|single| single.iter().all(|one| steps.iter().any(|step| step.setting == *one))) {
            return None;
        }
        finished(trial, adjustables, steps, Verdict::Usable)
    });
    refined.into_iter().flatten().collect()
}

/// Changes of an adjustable fact that take away some obstacle: every word, and for a number the nearest on either side of each sort.
fn partials(
    trial: &Trial<'_, '_>,
    adjustable: &Adjustable,
    place: usize,
    base: &BTreeSet<Obstacle>,
) -> Vec<Partial> {
    let partial = |setting: Setting, scale: Option<usize>, movement: f64| {
        let assessment = trial.alone(std::slice::from_ref(&setting))?;
        if assessment.reaches(Verdict::Usable) {
            return None;
        }
        let lifts: BTreeSet<Obstacle> = base.difference(&assessment.obstacles).cloned().collect();
        let step = Step { adjustable: place, scale, setting, stretches: Vec::new(), movement };
        (!lifts.is_empty()).then_some(Partial { step, lifts, left: assessment.obstacles })
    };
    let text =
        |value: &String| Setting { path: adjustable.path.clone(), value: Written::Text(value.clone()) };
    let mut found: Vec<Partial> = Vec::new();
    match &adjustable.values {
        Values::Words(words) => {
            found.extend(words.iter().filter_map(|word| partial(text(word), None, 1.0)));
        }
        Values::Alloys(alloys) => {
            for (away, alloy) in alloys.iter().enumerate() {
                let Some(one) = partial(text(alloy), None, 1.0 + away as f64) else { continue };
                if !found.iter().any(|known| known.left.is_subset(&one.left)) {
                    found.push(one);
                }
            }
        }
        Values::Numbers(scales) => {
            for (index, scale) in scales.iter().enumerate() {
                let mut tries = scale.tries();
                tries.sort_by(|a, b| scale.movement(*a).total_cmp(&scale.movement(*b)));
                for number in tries {
                    let up = |number: f64| scale.now.is_none_or(|now| number > now);
                    let Some(one) = partial(scale.setting(number), Some(index), scale.movement(number))
                    else {
                        continue;
                    };
                    let known = |known: &Partial| {
                        known.left == one.left && known.step.scale == Some(index) && {
                            let other =
                                scale.tries().into_iter().find(|n| scale.setting(*n) == known.step.setting);
                            other.is_some_and(|other| up(other) == up(number))
                        }
                    };
                    if !found.iter().any(known) {
                        found.push(one);
                    }
                }
            }
        }
        Values::Order(_) => {}
    }
    found
}

/// The set with its numbers moved to their borders, where it reaches the goal and no part of it does.
fn finished(
    trial: &Trial<'_, '_>,
    adjustables: &[Adjustable],
    mut steps: Vec<Step>,
    goal: Verdict,
) -> Option<Found> {
    if !trial.reaches(&settings(&steps), goal) || !is_minimal(trial, &steps, goal) {
        return None;
    }
    for index in 0..steps.len() {
        let step = &steps[index];
        let (Some(place), Values::Numbers(scales)) = (step.scale, &adjustables[step.adjustable].values)
        else {
            continue;
        };
        let scale = &scales[place];
        let all = |number: f64| {
            let mut all = settings(&steps);
            all[index] = scale.setting(number);
            all
        };
        let found = StretchSearch { trial, scale, settings: &all, goal }.stretches();
        let nearest = found.into_iter().min_by(|a, b| scale.movement(a.0).total_cmp(&scale.movement(b.0)));
        let (number, stretches) = nearest?;
        let (setting, movement) = (scale.setting(number), scale.movement(number));
        steps[index] = Step { stretches, setting, movement, ..steps[index].clone() };
    }
    is_minimal(trial, &steps, goal).then_some(Found { steps, goal })
}

/// Whether no proper subset reaches the goal.
fn is_minimal(trial: &Trial<'_, '_>, steps: &[Step], goal: Verdict) -> bool {
    let all = settings(steps);
    (1..(1usize << all.len()) - 1).all(|chosen| {
        let some: Vec<Setting> = all
            .iter()
            .enumerate()
            .filter(|(index, _)| chosen >> index & 1 == 1)
            .map(|(_, setting)| setting.clone())
            .collect();
        !trial.reaches(&some, goal)
    })
}

/// Sets of two or three changes after which a filler is recommended: those that make it usable and one more; or two of which
/// each takes away a rival.
pub(super) fn together_recommended(
    trial: &Trial<'_, '_>,
    adjustables: &[Adjustable],
    found: &[Found],
    wanted: &[Verdict],
) -> Vec<Found> {
    let mut beginnings: Vec<Vec<Step>> = found
        .iter()
        .filter(|found| found.goal == Verdict::Usable && found.steps.len() < MOST)
        .filter(|found| !trial.reaches(&found.settings(), Verdict::Recommended))
        .map(|found| found.steps.clone())
        .collect();
    beginnings.sort_by_key(|steps| {
        let hardest = steps
            .iter()
            .map(|step| (adjustables[step.adjustable].last_resort, adjustables[step.adjustable].effort))
            .max();
        (hardest.map(|(last, _)| last), steps.len(), hardest)
    });
    // Two ends of one scale are one way to begin.
    let mut begun: Vec<Vec<usize>> = Vec::new();
    beginnings.retain(|steps| {
        let adjustables: Vec<usize> = steps.iter().map(|step| step.adjustable).collect();
        let new = !begun.contains(&adjustables);
        begun.push(adjustables);
        new
    });
    beginnings.truncate(BEGINNINGS);
    if !wanted.contains(&Verdict::Usable) {
        beginnings = weakened(trial, adjustables);
    }
    let last_resort = |steps: &[Step]| steps.iter().any(|step| adjustables[step.adjustable].last_resort);
    let serves = |beginning: &[Step], place: usize, numbers: bool| {
        let adjustable = &adjustables[place];
        beginning.iter().all(|step| step.adjustable != place)
            && match adjustable.values {
                Values::Order(_) => !numbers,
                // Where another part is needed anyway, only the choice among fillers is looked at besides.
                _ if last_resort(beginning) || adjustable.last_resort => false,
                Values::Words(_) => !numbers,
                Values::Numbers(_) => numbers,
                Values::Alloys(_) => false,
            }
    };
    let mut sets: Vec<Found> = Vec::new();
    // Numbers take longest to try, so they come only where the rest does not bring enough.
    for numbers in [false, true] {
        let pairs: Vec<(usize, usize)> = (0..beginnings.len())
            .flat_map(|beginning| (0..adjustables.len()).map(move |adjustable| (beginning, adjustable)))
            .filter(|(beginning, adjustable)| serves(&beginnings[*beginning], *adjustable, numbers))
            .collect();
        let found = for_each(&pairs, |(beginning, adjustable)| {
            let made = settings(&beginnings[*beginning]);
            steps(trial, &adjustables[*adjustable], *adjustable, &made, Verdict::Recommended)
                .into_iter()
                .map(|step| [&beginnings[*beginning][..], &[step][..]].concat())
                .filter(|steps| is_minimal(trial, steps, Verdict::Recommended))
                .map(|steps| Found { steps, goal: Verdict::Recommended })
                .collect::<Vec<_>>()
        });
        sets.extend(found.into_iter().flatten());
        if sets.len() >= ENOUGH {
            break;
        }
    }
    sets
}

/// Words that rid a usable filler of some rival and not of all.
fn weakened(trial: &Trial<'_, '_>, adjustables: &[Adjustable]) -> Vec<Vec<Step>> {
    let Some(base) = trial.among_rivals(&[]) else { return Vec::new() };
    let mut found = Vec::new();
    for (place, adjustable) in
        adjustables.iter().enumerate().filter(|(_, adjustable)| !adjustable.last_resort)
    {
        let Values::Words(words) = &adjustable.values else { continue };
        for word in words {
            let setting = Setting { path: adjustable.path.clone(), value: Written::Text(word.clone()) };
            let Some(assessment) = trial.among_rivals(std::slice::from_ref(&setting)) else { continue };
            let lifts = base.obstacles.difference(&assessment.obstacles).next().is_some();
            if assessment.reaches(Verdict::Usable) && !assessment.reaches(Verdict::Recommended) && lifts {
                found.push(vec![Step {
                    adjustable: place,
                    scale: None,
                    setting,
                    stretches: Vec::new(),
                    movement: 1.0,
                }]);
            }
        }
    }
    found.truncate(BEGINNINGS);
    found
}
