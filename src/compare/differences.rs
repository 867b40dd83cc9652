//! Where two rulebooks say different things of one job.

use super::jobs::{JobToCompare, Side};
use crate::verdict::{DecisionError, FillerVerdict, JointReport, Report, Standing, Verdict};
use std::collections::BTreeSet;

/// What the two say of one job.
pub(super) enum Outcome {
    /// Both decide it.
    Decided(JobDifferences),
    /// Both refuse it.
    RefusedByBoth,
    /// One refuses it: whether it is the new one, and why.
    Refused { by_new: bool, because: String },
}

/// The differences in one job.
#[derive(Default)]
pub(super) struct JobDifferences {
    pub joints: usize,
    pub verdicts: usize,
    /// Joints at which other fillers are recommended than before.
    pub recommendations: Vec<RecommendationMove>,
    pub fillers: Vec<FillerDifference>,
}

/// Other fillers are recommended at a joint.
pub(super) struct RecommendationMove {
    pub before: Vec<String>,
    pub after: Vec<String>,
}

/// A filler of which the two say different things at a joint.
pub(super) struct FillerDifference {
    pub joint: String,
    pub filler: String,
    /// The verdict before and after.
    pub verdict: [Option<Verdict>; 2],
    pub causes: Vec<Cause>,
}

/// What differs.
pub(super) enum Cause {
    /// The standing on a criterion, before and after.
    Standing { criterion: String, sides: [Option<Standing>; 2] },
    /// The same standing, told otherwise.
    Sentence { sides: [Standing; 2] },
    /// It is beaten by others, or on another criterion; on these before and after.
    Beaten { sides: [Option<String>; 2] },
}

pub(super) fn differences(
    old: &Side<'_>,
    new: &Side<'_>,
    job: &JobToCompare,
) -> Result<Outcome, DecisionError> {
    Ok(match (old.decide(job)?, new.decide(job)?) {
        (Ok(before), Ok(after)) => Outcome::Decided(of_reports(&before, &after)),
        (Err(_), Err(_)) => Outcome::RefusedByBoth,
        (Err(because), Ok(_)) => Outcome::Refused { by_new: false, because },
        (Ok(_), Err(because)) => Outcome::Refused { by_new: true, because },
    })
}

fn of_reports(before: &Report, after: &Report) -> JobDifferences {
    let mut found = JobDifferences::default();
    // Both read the same file, so that the joints stand in the same order.
    for (was, is) in before.joints.iter().zip(&after.joints) {
        found.joints += 1;
        if was.recommended != is.recommended {
            found
                .recommendations
                .push(RecommendationMove { before: was.recommended.clone(), after: is.recommended.clone() });
        }
        let names: BTreeSet<&str> =
            was.verdicts.iter().chain(&is.verdicts).map(|verdict| verdict.filler.as_str()).collect();
        found.verdicts += names.len();
        let of =
            |joint: &'_ JointReport, name: &str| joint.verdicts.iter().position(|known| known.filler == name);
        for name in names {
            let sides = [of(was, name).map(|at| &was.verdicts[at]), of(is, name).map(|at| &is.verdicts[at])];
            let verdict = sides.map(|side| side.map(|side| side.verdict));
            let causes = causes(sides);
            if verdict[0] != verdict[1] || !causes.is_empty() {
                let (joint, filler) = (was.joint.clone(), name.to_owned());
                found.fillers.push(FillerDifference { joint, filler, verdict, causes });
            }
        }
    }
    found
}

fn causes(sides: [Option<&FillerVerdict>; 2]) -> Vec<Cause> {
    let mut found = Vec::new();
    let [before, after] = sides.map(|side| side.map_or(&[][..], |side| side.standings.as_slice()));
    let criteria: BTreeSet<&str> =
        before.iter().chain(after).map(|standing| standing.criterion.as_str()).collect();
    for criterion in criteria {
        let of =
            |standings: &[Standing]| standings.iter().find(|known| known.criterion == criterion).cloned();
        match [of(before), of(after)] {
            [Some(was), Some(is)] if was.standing == is.standing => {
                if was.says != is.says {
                    found.push(Cause::Sentence { sides: [was, is] });
                }
            }
            sides => found.push(Cause::Standing { criterion: criterion.to_owned(), sides }),
        }
    }
    let beaten =
        sides.map(|side| side.and_then(|side| side.beaten_by.first()).map(|beaten| beaten.criterion.clone()));
    if beaten[0] != beaten[1] {
        found.push(Cause::Beaten { sides: beaten });
    }
    found
}
