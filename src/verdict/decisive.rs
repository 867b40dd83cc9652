//! What decided for the recommended filler: the criterion that by itself stands against most of the others.

use super::level::Level;
use super::report::{Decisive, JointReport, Verdict};
use std::cmp::Reverse;
use std::collections::HashMap;

/// The criterion that stops most of the other fillers: usable ones that are beaten on it, and those that it bars and nothing
/// else does. Of several, the first in the job's order. The last criterion in that order only breaks ties, and is shown only
/// where there is no other. `plainly` gives the reason in a welder's words, by criterion.
pub fn decisive(joint: &JointReport, plainly: &HashMap<String, String>) -> Option<Decisive> {
    let best = joint.verdicts.iter().find(|verdict| verdict.verdict == Verdict::Recommended)?;
    let (_, standing, stopped) = best
        .standings
        .iter()
        .enumerate()
        .filter(|(_, standing)| standing.says.is_some())
        .map(|(place, standing)| (place, standing, Stopped::by(joint, &best.filler, &standing.criterion)))
        .max_by_key(|(place, _, stopped)| {
            let against = stopped.alone();
            (against > 0 && place + 1 < best.standings.len(), against, Reverse(*place))
        })?;
    Some(Decisive {
        criterion: standing.criterion.clone(),
        plainly: plainly.get(&standing.criterion).cloned().filter(|_| stopped.alone() > 0),
        says: standing.says.clone().unwrap_or_default(),
        against: stopped.alone(),
        beaten: stopped.beaten,
        barred_alone: stopped.barred_alone,
        barred_with_others: stopped.barred_with_others,
    })
}

/// How many other fillers a criterion stops.
#[derive(Default)]
struct Stopped {
    beaten: usize,
    barred_alone: usize,
    barred_with_others: usize,
}

impl Stopped {
    fn by(joint: &JointReport, best: &str, criterion: &str) -> Self {
        let mut stopped = Stopped::default();
        for other in &joint.verdicts {
            let bars = || other.standings.iter().filter(|standing| standing.standing == Level::Barred);
            if bars().any(|standing| standing.criterion == criterion) {
                match bars().count() {
                    1 => stopped.barred_alone += 1,
                    _ => stopped.barred_with_others += 1,
                }
            } else if other
                .beaten_by
                .iter()
                .any(|beaten| beaten.criterion == criterion && beaten.filler == best)
            {
                stopped.beaten += 1;
            }
        }
        stopped
    }

    /// Those that nothing but this criterion stops.
    fn alone(&self) -> usize {
        self.beaten + self.barred_alone
    }
}
