//! From a derivation to verdicts: which filler is recommended, usable, barred or open at each joint, in the shapes of the
//! contract. The deciding is done by findings; here their conclusions are only collected.

mod collect;
mod cover;
mod decisive;
mod expectations;
mod holes;
mod report;
mod sentence;
mod vocabulary;

pub use cover::{Served, fewest};
pub use decisive::decisive;
pub use expectations::{Checked, Checks, check_expectations};
pub use holes::{Hole, holes};
pub use report::{
    Beaten, Decisive, Established, FewestFillers, FillerVerdict, JobStamp, JointReport, Measured,
    OpenQuestion, Program, Report, RulebookStamp, Standing, Verdict, rounded,
};
pub use sentence::{
    asked, asked_sentence, fact_sentence, finding_sentence, question_sentence, row_sentence, shown,
};
pub use vocabulary::{Placed, Vocabulary, VocabularyError};

pub use crate::computed::read_ahead;
use crate::computed::{COMPUTATIONS, ShapeError, check_shapes};
use crate::engine::{Derivation, EngineError, GivenFact, Recording, TermId, derive};
use crate::job::Job;
use crate::language::{Rulebook, Type, Value};

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
}

/// Derives everything that a rulebook says of a job.
pub fn decide(rulebook: &Rulebook, job: Job, recording: Recording) -> Result<Decision<'_>, DecisionError> {
    let vocabulary = Vocabulary::of(rulebook)?;
    check_shapes(rulebook)?;
    let given: Vec<GivenFact> = job
        .facts
        .iter()
        .map(|fact| GivenFact { relation: fact.relation, cells: fact.cells.clone() })
        .collect();
    let derivation = derive(rulebook, &given, COMPUTATIONS, recording)?;
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

    /// How bad a level is: the place of its word in the rulebook's list of levels, which runs from best to worst.
    pub fn severity(&self, level: &str) -> usize {
        let graded = &self.vocabulary.graded;
        let Type::Word(levels) = self.rulebook.relations[graded.relation.index()].roles[graded.roles[3]].ty
        else {
            return 0;
        };
        self.rulebook.kinds[levels.index()].words.iter().position(|word| **word == *level).unwrap_or(0)
    }

    /// The report of the contract.
    pub fn report(&self) -> Report {
        collect::report(self)
    }
}
