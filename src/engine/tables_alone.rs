//! What follows from a rulebook's tables alone, derived once and shared by many runs on different facts. The runs
//! themselves are in `run.rs`.

use super::derivation::Derivation;
use super::error::EngineError;
use super::finished::Finished;
use super::program::Program;
use super::records::Recording;
use super::restriction::Restriction;
use super::run::{GivenFact, Run};
use crate::language::{Origin, RelationId, rests_on};

/// A program whose layers that no later fact can touch are already derived.
///
/// Runs from here give the same facts as [`Program::derive`], in another order.
pub struct TablesAlone<'r> {
    program: Program<'r>,
    recording: Recording,
    start: Finished,
    /// Layers that remain to be derived, by position.
    remaining: Vec<usize>,
}

impl<'r> Program<'r> {
    /// Derives once what holds whatever facts of the `given` relations, and answers to questions, are stated later.
    pub fn tables_alone(
        &self,
        given: &[RelationId],
        recording: Recording,
    ) -> Result<TablesAlone<'r>, EngineError> {
        let touched = self.touched(given);
        let mut start = Run::new(self, recording);
        start.tables();
        let mut remaining = Vec::new();
        for (place, layer) in self.compiled.layers.iter().enumerate() {
            if layer.relations.iter().any(|relation| touched[*relation]) {
                remaining.push(place);
            } else {
                start.layer(layer)?;
            }
        }
        Ok(TablesAlone { program: self.clone(), recording, start: start.finished(), remaining })
    }

    /// For each relation, whether its facts may depend on those of the given relations or on answers to questions.
    fn touched(&self, given: &[RelationId]) -> Vec<bool> {
        let rulebook = self.compiled.rulebook;
        let mut touched = vec![false; rulebook.relations.len()];
        given.iter().for_each(|relation| touched[relation.index()] = true);
        loop {
            let mut more = Vec::new();
            for (index, relation) in rulebook.relations.iter().enumerate() {
                let reached = match &relation.origin {
                    Origin::Plain => false,
                    Origin::Question(_) => true,
                    Origin::Computed { from } => from.iter().any(|input| touched[input.index()]),
                };
                if reached && !touched[index] {
                    more.push(index);
                }
            }
            for finding in &rulebook.findings {
                if finding
                    .premises
                    .iter()
                    .filter_map(rests_on)
                    .any(|(from, _)| touched[from.relation.index()])
                {
                    let concluded = finding.hence.iter().map(|hence| hence.relation.index());
                    more.extend(concluded.filter(|relation| !touched[*relation]));
                }
            }
            if more.is_empty() {
                return touched;
            }
            more.into_iter().for_each(|relation| touched[relation] = true);
        }
    }
}

impl<'r> TablesAlone<'r> {
    /// Derives everything that follows from the rulebook and these facts, which must belong to the relations that were
    /// named when the tables alone were derived. With a restriction, only what it lets through is derived.
    pub fn derive(
        &self,
        given: &[GivenFact],
        restriction: Option<&Restriction>,
    ) -> Result<Derivation<'r>, EngineError> {
        let mut run = Run::from(&self.program, self.start.clone(), self.recording);
        run.give(given)?;
        run.restrict(restriction);
        for place in &self.remaining {
            run.layer(&self.program.compiled.layers[*place])?;
        }
        let finished = run.finished();
        Ok(Derivation { program: self.program.clone(), recording: self.recording, finished })
    }
}
