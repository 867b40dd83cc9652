//! The engine: facts and a checked rulebook in, every conclusion with its derivation out. Relations are rows of interned
//! terms, evaluated layer by layer; a fact is known, open, or not there. Nothing here knows metal, text or printing.
//!
//! A [`Program`] is a rulebook made ready; [`Program::derive`] runs it on the facts of a job and gives a
//! [`Derivation`]. The order of everything that comes out depends on the rulebook and the facts alone.

mod attempts;
mod bind;
mod computed;
mod derivation;
mod error;
mod evaluate;
mod explanation;
mod finished;
mod index;
mod join;
mod lookup;
mod memory;
mod plan;
mod planner;
mod program;
mod records;
mod restriction;
mod rows;
mod run;
#[cfg(test)]
mod small_rulebook;
mod tables_alone;
mod terms;
#[cfg(test)]
mod tests;
mod turns;
#[cfg(test)]
mod turns_tests;

pub use attempts::{Attempt, AttemptFailure, Lack};
pub use computed::{Computation, ComputedRow, InputRow, InputRows, Inputs, OutputCell, Outputs, Working};
pub use derivation::{Counts, Derivation, FactId, Ground, Instance, Status};
pub use error::EngineError;
pub use evaluate::{Outcome, Truth, decide, evaluate};
pub use explanation::Met;
pub use memory::Memory;
pub use program::Program;
pub use records::Recording;
pub use restriction::Restriction;
pub use run::GivenFact;
pub use tables_alone::TablesAlone;
pub use terms::{Cell, TermId};

use crate::language::Rulebook;
// The maker of small rulebooks is shared with the tests and the benchmark outside, and looks for these beside itself.
#[cfg(test)]
use crate::{language, quantity};

/// Derives everything that follows from a rulebook, the facts of a job and the computed relations.
pub fn derive<'r>(
    rulebook: &'r Rulebook,
    given: &[GivenFact],
    computations: &[Computation],
    recording: Recording,
) -> Result<Derivation<'r>, EngineError> {
    Program::new(rulebook, computations)?.derive(given, recording)
}

impl<'r> Program<'r> {
    /// Derives everything that follows from the rulebook and these facts.
    pub fn derive(&self, given: &[GivenFact], recording: Recording) -> Result<Derivation<'r>, EngineError> {
        let finished = run::run(self, given, recording)?;
        Ok(Derivation { program: self.clone(), recording, finished })
    }
}
