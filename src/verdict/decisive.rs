//! What decided for the recommended filler: the criterion that stands against most of the others.

use super::report::{Decisive, JointReport, Verdict};
use std::cmp::Reverse;
use std::collections::HashMap;

/// The criterion that stops most of the other fillers: those it bars, and those that are beaten on it. Of several, the first
/// in the job's order. The last criterion in that order only breaks ties, and is told only where there is no other. `plainly`
/// gives the reason in a welder's words, by criterion.
pub fn decisive(joint: &JointReport, plainly: &HashMap<String, String>) -> Option<Decisive> {
    let best = joint.verdicts.iter().find(|verdict| verdict.verdict == Verdict::Recommended)?;
    let stopped = |criterion: &str| {
        joint
            .verdicts
            .iter()
            .filter(|other| {
                other
                    .standings
                    .iter()
                    .any(|standing| standing.criterion == criterion && standing.standing == "barred")
                    || other
                        .beaten_by
                        .iter()
                        .any(|beaten| beaten.criterion == criterion && beaten.filler == best.filler)
            })
            .count()
    };
    let (against, _, standing) = best
        .standings
        .iter()
        .enumerate()
        .map(|(place, standing)| (stopped(&standing.criterion), place, standing))
        .filter(|(_, _, standing)| standing.says.is_some())
        .max_by_key(|(stopped, place, _)| {
            (*stopped > 0 && place + 1 < best.standings.len(), *stopped, Reverse(*place))
        })?;
    Some(Decisive {
        criterion: standing.criterion.clone(),
        plainly: plainly.get(&standing.criterion).cloned().filter(|_| against > 0),
        says: standing.says.clone().unwrap_or_default(),
        against,
    })
}
