//! What an edit of a rulebook changes: the same jobs decided by two rulebooks, and where the answers differ, grouped by the
//! findings that make the difference. How a job is decided, and how the outcome is laid out, is found elsewhere.

mod differences;
mod groups;
mod jobs;
mod reach;
mod shake;

pub use groups::{Comparison, Example, Group, Moved, Refusal, SentenceGroup};
pub use jobs::Tried;
pub use reach::Reach;
pub use shake::{Shaken, Unnoticed, shake};

use crate::engine::Memory;
use crate::language::Rulebook;
use crate::processors::for_each;
use crate::verdict::{DecisionError, RulebookStamp};
use differences::differences;
use groups::Collection;
use jobs::{JobToCompare, Side, systematic};
use std::sync::atomic::{AtomicUsize, Ordering};

/// What is compared.
#[derive(Clone, Debug)]
pub enum Over {
    /// These job files: their names and texts.
    Jobs(Vec<(String, Vec<u8>)>),
    /// The systematic set: every pair of alloys under some services, and one alloy of each kind under every single answer.
    Systematic,
}

/// Holds two rulebooks against each other. `report` is called with how many of how many jobs are done.
///
/// # Errors
///
/// Where one of the two cannot decide jobs at all.
pub fn compare(
    old: &Rulebook,
    new: &Rulebook,
    over: &Over,
    report: &(impl Fn(usize, usize) + Sync),
) -> Result<Comparison, DecisionError> {
    let reach = Reach::of(old, new);
    let memory = Memory::default();
    let (old_side, new_side) = (Side::new(old, &memory)?, Side::new(new, &memory)?);
    let jobs = match over {
        Over::Jobs(files) => files.iter().map(JobToCompare::given).collect(),
        Over::Systematic if reach.verdicts => systematic(&new_side, reach.freezing),
        Over::Systematic => Vec::new(),
    };
    let done = AtomicUsize::new(0);
    let compared = for_each(&jobs, |job| {
        let found = differences(&old_side, &new_side, job);
        report(done.fetch_add(1, Ordering::Relaxed) + 1, jobs.len());
        found
    });
    let mut collection = Collection::default();
    for (job, found) in jobs.iter().zip(compared) {
        collection.add(job, found?);
    }
    let stamp = |rulebook: &Rulebook| RulebookStamp {
        fingerprint: rulebook.fingerprint.clone(),
        findings: rulebook.findings.len(),
    };
    Ok(collection.finished(&jobs, [stamp(old), stamp(new)], reach))
}
