//! The jobs by which two rulebooks are held against each other, and what one of them says of a job.

use crate::computed::{COMPUTATIONS, FREEZING_OPEN, check_shapes};
use crate::engine::{Memory, Program, Recording, TablesAlone};
use crate::job::JobReader;
use crate::language::Rulebook;
use crate::verdict::{DecisionError, Report, SystematicSet, Vocabulary, decided, given};
use serde::Serialize;

/// A job that both rulebooks are to decide.
pub(super) struct JobToCompare {
    /// How it is called: a file's name, or the service of a systematic job.
    pub name: String,
    pub text: Vec<u8>,
    /// Whether the freezing of pools is followed.
    pub freezing: bool,
    /// Whether it was given by the user.
    pub given: bool,
}

impl JobToCompare {
    pub(super) fn given((name, text): &(String, Vec<u8>)) -> Self {
        JobToCompare { name: name.clone(), text: text.clone(), freezing: true, given: true }
    }
}

/// How much was compared.
#[derive(Clone, Copy, Default, Debug, Serialize)]
pub struct Tried {
    /// Jobs.
    pub jobs: usize,
    /// Joints in them.
    pub joints: usize,
    /// Fillers at a joint.
    pub verdicts: usize,
    /// Joints at which the freezing of pools was followed.
    pub frozen: usize,
}

/// The systematic set of a rulebook. Following the freezing of every pool would take an hour, so that it is left open for most
/// pairs, and followed, where the edit can touch it, for one alloy of each kind.
pub(super) fn systematic(side: &Side<'_>, freezing: bool) -> Vec<JobToCompare> {
    let set = SystematicSet { rulebook: side.rulebook, reader: &side.reader };
    let mut made: Vec<(crate::verdict::SystematicJob, bool)> =
        set.single().into_iter().map(|job| (job, false)).collect();
    if freezing {
        made.extend(set.pairs(true).into_iter().map(|job| (job, true)));
    }
    made.extend(set.pairs(false).into_iter().map(|job| (job, false)));
    let named = |(job, freezing): (crate::verdict::SystematicJob, bool)| JobToCompare {
        name: if job.answer.is_empty() { "plain service".to_owned() } else { job.answer },
        text: job.text.into_bytes(),
        freezing,
        given: false,
    };
    made.into_iter().map(named).collect()
}

/// One of the two rulebooks, made ready.
pub(super) struct Side<'r> {
    pub rulebook: &'r Rulebook,
    pub reader: JobReader<'r>,
    vocabulary: Vocabulary,
    whole: TablesAlone<'r>,
    unfrozen: TablesAlone<'r>,
}

impl<'r> Side<'r> {
    /// Pools that one side has frozen are not frozen again for the other.
    pub(super) fn new(rulebook: &'r Rulebook, memory: &Memory) -> Result<Self, DecisionError> {
        let vocabulary = Vocabulary::of(rulebook)?;
        check_shapes(rulebook)?;
        let reader = JobReader::new(rulebook);
        let given = reader.relations();
        let ready = |computations| {
            Program::with_memory(rulebook, computations, memory.clone())?
                .tables_alone(&given, Recording::Everything)
        };
        let (whole, unfrozen) = (ready(COMPUTATIONS)?, ready(FREEZING_OPEN)?);
        Ok(Side { rulebook, reader, vocabulary, whole, unfrozen })
    }

    /// What this rulebook says of a job; why it refuses it, where it does.
    pub(super) fn decide(&self, job: &JobToCompare) -> Result<Result<Report, String>, DecisionError> {
        let name = if job.given { job.name.as_str() } else { "systematic.json" };
        let refused = |errors: &crate::job::JobErrors| {
            errors
                .diagnostics
                .first()
                .map_or_else(|| "it is refused".to_owned(), |first| first.message.clone())
        };
        let read = match self.reader.read(name, &job.text) {
            Ok(read) => read,
            Err(errors) => return Ok(Err(refused(&errors))),
        };
        let tables = if job.freezing { &self.whole } else { &self.unfrozen };
        let derivation = tables.derive(&given(&read.facts), None)?;
        match decided(self.rulebook, read, derivation, self.vocabulary.clone()) {
            Ok(decision) => Ok(Ok(decision.report())),
            Err(DecisionError::Impossible(errors)) => Ok(Err(refused(&errors))),
            Err(other) => Err(other),
        }
    }
}
