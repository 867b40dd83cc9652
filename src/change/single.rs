//! Single changes of a fact that reach a goal, by themselves or beside others that are made already.

use super::adjustable::{Adjustable, Values};
use super::found::{Found, Step};
use super::setting::{Setting, Written};
use super::trial::{StretchSearch, Trial};
use crate::verdict::Verdict;

/// Of other base alloys this many that help are offered for each part.
const ALLOYS_OFFERED: usize = 2;

/// Of other base alloys the nearest so many are tried for a recommendation, since each has to be frozen with every rival.
const ALLOYS_TRIED: usize = 6;

/// Single changes of an adjustable fact that reach one of the goals.
pub(super) fn singles(
    trial: &Trial<'_, '_>,
    adjustables: &[Adjustable],
    place: usize,
    wanted: &[Verdict],
) -> Vec<Found> {
    let adjustable = &adjustables[place];
    wanted
        .iter()
        .flat_map(|goal| {
            steps(trial, adjustable, place, &[], *goal)
                .into_iter()
                .map(|step| Found { steps: vec![step], goal: *goal })
        })
        .collect()
}

/// Changes of one adjustable fact that reach a goal when some settings are made already.
pub(super) fn steps(
    trial: &Trial<'_, '_>,
    adjustable: &Adjustable,
    place: usize,
    made: &[Setting],
    goal: Verdict,
) -> Vec<Step> {
    let with = |setting: &Setting| [made, std::slice::from_ref(setting)].concat();
    let reaches = |setting: &Setting| trial.reaches(&with(setting), goal);
    let step = |setting: Setting, movement: f64| Step {
        adjustable: place,
        scale: None,
        setting,
        stretches: Vec::new(),
        movement,
    };
    let text =
        |value: &str| Setting { path: adjustable.path.clone(), value: Written::Text(value.to_owned()) };
    match &adjustable.values {
        Values::Words(words) => {
            words.iter().map(|word| text(word)).filter(reaches).map(|setting| step(setting, 1.0)).collect()
        }
        Values::Alloys(alloys) => {
            let tried = if goal == Verdict::Recommended { ALLOYS_TRIED } else { alloys.len() };
            alloys
                .iter()
                .take(tried)
                .enumerate()
                .map(|(away, alloy)| (away, text(alloy)))
                .filter(|(_, setting)| reaches(setting))
                .take(ALLOYS_OFFERED)
                .map(|(away, setting)| step(setting, 1.0 + away as f64))
                .collect()
        }
        Values::Numbers(scales) => {
            // While answers are missing, a recommendation waits on them and not on numbers that are there.
            let waits = goal == Verdict::Recommended && trial.waits_on_answers();
            let moved = scales.iter().enumerate().filter(|(_, scale)| !waits || scale.now.is_none());
            let found = moved.flat_map(|(index, scale)| {
                let settings = |number: f64| with(&scale.setting(number));
                let search = StretchSearch { trial, scale, settings: &settings, goal };
                search.stretches().into_iter().map(move |stretch| (index, stretch))
            });
            found
                .map(|(index, (number, stretches))| {
                    let scale = &scales[index];
                    let plain = step(scale.setting(number), scale.movement(number));
                    Step { scale: Some(index), stretches, ..plain }
                })
                .collect()
        }
        Values::Order(criteria) if goal == Verdict::Recommended => criteria
            .iter()
            .enumerate()
            .skip(1)
            .map(|(index, first)| {
                let others = criteria.iter().filter(|criterion| *criterion != first);
                let order = std::iter::once(first).chain(others).map(|name| Written::Text(name.clone()));
                (index, Setting { path: adjustable.path.clone(), value: Written::List(order.collect()) })
            })
            .filter(|(_, setting)| reaches(setting))
            .map(|(index, setting)| step(setting, index as f64))
            .collect(),
        Values::Order(_) => Vec::new(),
    }
}
