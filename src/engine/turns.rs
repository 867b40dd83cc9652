//! A layer whose relations proceed in turns: each turn is complete, open conclusions included, before the next is begun. All
//! other layers are evaluated in `run.rs`.

use super::error::EngineError;
use super::run::{Run, RunPhase};
use super::terms::Terms;
use crate::language::{Layer, TurnFinding, Turns, Value};

impl Run<'_, '_> {
    /// Evaluates a layer turn by turn, from the lowest turn up; within one, relation by relation, each complete, open
    /// conclusions included, before what denies or counts it is looked at. Turns that are not known come last.
    pub(super) fn in_turns(&mut self, layer: &Layer, turns: &Turns) -> Result<(), EngineError> {
        self.phase = RunPhase::Known;
        self.read_all(layer);
        for finding in &turns.seeds {
            self.pass(&layer.relations, finding.index(), None);
        }
        self.take_aside();
        for turn in self.turn_terms(turns) {
            for (relation, findings) in &turns.steps {
                self.read_all(layer);
                for TurnFinding { finding, lead, role } in findings {
                    let leading = self.compiled.findings[finding.index()].givens[*lead].relation;
                    let all = self.rows[leading].count();
                    for row in (0..all)
                        .filter(|row| self.rows[leading].cell(*row, *role) == turn)
                        .collect::<Vec<_>>()
                    {
                        (self.newest[leading], self.end[leading]) = (row, row + 1);
                        self.pass(&[*relation], finding.index(), Some(*lead));
                    }
                    (self.newest[leading], self.end[leading]) = (all, all);
                }
                self.take_aside();
                self.check()?;
            }
        }
        self.check()
    }

    /// Opens every row that a layer reads.
    fn read_all(&mut self, layer: &Layer) {
        for relation in layer.reads.iter().copied() {
            let count = self.rows[relation].count();
            (self.newest[relation], self.end[relation]) = (count, count);
        }
    }

    /// The turns of a layer, ascending.
    fn turn_terms(&self, turns: &Turns) -> Vec<u32> {
        let mut terms = Vec::new();
        for TurnFinding { finding, lead, role } in turns.steps.iter().flat_map(|(_, findings)| findings) {
            let rows = &self.rows[self.compiled.findings[finding.index()].givens[*lead].relation];
            terms.extend((0..rows.count()).map(|row| rows.cell(row, *role)));
        }
        terms.sort_unstable();
        terms.dedup();
        let number = |term: &u32| match self.pool.value(*term) {
            Some(Value::Number(quantity)) => quantity.base,
            _ => f64::INFINITY,
        };
        terms.sort_by(|a, b| number(a).total_cmp(&number(b)));
        terms
    }
}
