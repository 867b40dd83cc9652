//! From a derivation to verdicts: which filler is recommended, usable, barred or open at each joint, in the shapes of the
//! contract. The deciding is done by findings; here their conclusions are only collected.

mod cautions;
mod collect;
mod cover;
mod decisive;
mod expectations;
mod holes;
mod impossible;
mod level;
mod report;
mod sentence;
mod systematic;
mod vocabulary;

pub use cautions::{about_fillers_in_use, is_said};
pub use cover::fewest;
pub use decisive::decisive;
pub use expectations::{CheckedExpectation, Checks, ExpectationRun, check_expectations};
pub use holes::{Hole, holes, undeclared};
pub use impossible::impossible;
pub use level::Level;
pub use report::{
    Beaten, Decisive, Established, FewestFillers, FillerVerdict, JobStamp, JointReport, Measured,
    OpenQuestion, Price, ProgramStamp, Report, RulebookStamp, Standing, Verdict, WhatIf, rounded,
};
pub use sentence::{
    asked, asked_sentence, fact_sentence, finding_sentence, question_sentence, row_sentence, shown,
    whole_sentence,
};
pub use systematic::{SystematicJob, SystematicSet};
pub use vocabulary::{Vocabulary, VocabularyError};

pub use crate::computed::read_ahead;
use crate::computed::{COMPUTATIONS, ShapeError, check_shapes};
use crate::engine::{Derivation, EngineError, GivenFact, Memory, Program, Recording, TermId};
use crate::job::{Job, JobErrors, JobFact};
use crate::language::{Rulebook, Value};

/// A job decided by a rulebook.
pub struct Decision<'r> {
    /// The rules.
    pub rulebook: &'r Rulebook,
    /// The job.
    pub job: Job,
    /// Everything that follows, and from what.
    pub derivation: Derivation<'r>,
    /// Where the relations that carry verdicts stand in this rulebook.
    pub vocabulary: Vocabulary,
}

/// Why a job could not be decided.
#[derive(Debug, thiserror::Error)]
pub enum DecisionError {
    /// The rulebook does not speak of verdicts as this program reads them.
    #[error(transparent)]
    Vocabulary(#[from] VocabularyError),
    /// The rulebook declares a computed relation otherwise than the program computes it.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The rules could not be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// The job says what cannot be true together.
    #[error(transparent)]
    Impossible(JobErrors),
}

/// Derives everything that a rulebook says of a job.
pub fn decide(rulebook: &Rulebook, job: Job, recording: Recording) -> Result<Decision<'_>, DecisionError> {
    decide_with(rulebook, job, recording, Memory::default())
}

/// The same, with what the computations of other decisions keep.
pub fn decide_with(
    rulebook: &Rulebook,
    job: Job,
    recording: Recording,
    memory: Memory,
) -> Result<Decision<'_>, DecisionError> {
    let vocabulary = Vocabulary::of(rulebook)?;
    check_shapes(rulebook)?;
    let given = given(&job.facts);
    let program = Program::with_memory(rulebook, COMPUTATIONS, memory)?;
    let derivation = program.derive(&given, recording)?;
    decided(rulebook, job, derivation, vocabulary)
}

/// Facts of a job as the engine takes them.
pub fn given<'a>(facts: impl IntoIterator<Item = &'a JobFact>) -> Vec<GivenFact> {
    facts.into_iter().map(|fact| GivenFact { relation: fact.relation, cells: fact.cells.clone() }).collect()
}

/// A decision out of what was derived of a job, unless the rulebook finds the job impossible.
pub fn decided<'r>(
    rulebook: &'r Rulebook,
    job: Job,
    derivation: Derivation<'r>,
    vocabulary: Vocabulary,
) -> Result<Decision<'r>, DecisionError> {
    if let Some(errors) = impossible(rulebook, &job, &derivation) {
        return Err(DecisionError::Impossible(errors));
    }
    Ok(Decision { rulebook, job, derivation, vocabulary })
}

impl Decision<'_> {
    /// The criteria in the job's order, with their names.
    pub fn criteria(&self) -> Vec<(TermId, String)> {
        let [criterion, value] = self.vocabulary.place.roles;
        let mut ranked: Vec<(f64, String, TermId)> = self
            .derivation
            .facts(self.vocabulary.place.relation)
            .map(|fact| {
                let rank = match self.derivation.cell(fact, value) {
                    Some(Value::Number(quantity)) => quantity.base,
                    _ => f64::MAX,
                };
                let name = self.derivation.cell(fact, criterion).map(ToString::to_string).unwrap_or_default();
                (rank, name, self.derivation.term(fact, criterion))
            })
            .collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        ranked.into_iter().map(|(_, name, term)| (term, name)).collect()
    }

    /// Works out again, for a report whose verdicts were made firmer, what follows from all of them together.
    pub fn cover(&self, report: &mut Report) {
        collect::cover(self, report);
    }

    /// The report of the contract.
    pub fn report(&self) -> Report {
        collect::report(self)
    }
}
