//! Computed facts: each computation is run again on the recorded facts that it is computed from, and must give the recorded
//! ones, from the same facts and with the same working.

use super::facts::Facts;
use super::grounds::{Grounds, Yields};
use super::problem::Problems;
use super::terms::{Term, Terms};
use crate::engine::{Cell, Computation, ComputedRow, InputRows, Memory};
use crate::language::{Origin, RelationId};
use crate::record::{Exceeded, Record, RecordBudget, RecordedComputation, RecordedGround};

/// A row that a computation reads counts as so many facts that are looked at: a pool may have to be frozen for it.
const COMPUTING: usize = 1_000;

/// Notes what the computations yield, and says what is not recorded.
pub(super) fn computed(
    computations: &[Computation],
    facts: &Facts<'_>,
    record: &Record,
    grounds: &mut Grounds,
    terms: &mut Terms,
    problems: &mut Problems,
    budget: &RecordBudget,
) -> Result<usize, Exceeded> {
    let memory = Memory::default();
    let mut methods: Vec<String> = Vec::new();
    let mut count = 0;
    for (index, relation) in facts.rulebook.relations.iter().enumerate() {
        let Origin::Computed { from } = &relation.origin else { continue };
        let computation = computations.iter().find(|computation| computation.relation == relation.name);
        let inputs: Vec<InputRows> = from
            .iter()
            .map(|input| InputRows {
                rows: facts.of(*input).map(|fact| facts.shown(fact, terms)).collect(),
                known: facts.of(*input).filter(|fact| !facts.all[*fact].open).count(),
            })
            .collect();
        let many: usize = inputs.iter().map(|input| input.rows.len()).sum();
        if !facts.effort.spend(many.saturating_mul(COMPUTING)) {
            let at = format!("the relation {}", relation.name);
            return Err(Exceeded::Steps { at, most: budget.steps });
        }
        let rows = computation.and_then(|computation| {
            Some((computation, computation.rows(relation.roles.len(), &inputs, &memory)?))
        });
        let Some((computation, rows)) = rows else {
            let about = format!("the relation {}", relation.name);
            problems.report(about, "a computation of this program", "none that fits");
            continue;
        };
        let id = RelationId::new(index);
        let mut rows: Vec<(Option<usize>, Vec<Option<Term>>, ComputedRow)> = rows
            .into_iter()
            .map(|row| {
                let cell = |cell: &Cell| cell.value().map(|value| terms.term(value));
                let cells: Vec<Option<Term>> = row.cells.iter().map(cell).collect();
                (facts.with(id, &cells), cells, row)
            })
            .collect();
        // In the order of the record, so that methods come in it too.
        rows.sort_by_key(|(fact, ..)| fact.unwrap_or(usize::MAX));
        for (fact, cells, row) in rows {
            count += 1;
            let Some(fact) = fact else {
                let about = facts.written(id, &cells, terms);
                problems.report(about, "a recorded fact, for so it is computed", "none");
                continue;
            };
            if !row.known && !facts.all[fact].open {
                continue;
            }
            let rows: Vec<(usize, Vec<Cell>)> =
                row.premises.iter().map(|(input, at)| (*input, inputs[*input].rows[*at].clone())).collect();
            let working = (computation.working)(&rows, &facts.shown(fact, terms), &memory);
            let method = methods.iter().position(|known| *known == working.method).unwrap_or_else(|| {
                methods.push(working.method);
                methods.len() - 1
            });
            let mut premises: Vec<usize> =
                row.premises.iter().map(|(input, at)| facts.of(from[*input]).start + at).collect();
            premises.sort_unstable();
            premises.dedup();
            let steps = working.steps.iter().map(|step| grounds.texts.number(step)).collect();
            let ground =
                RecordedGround::Computed(RecordedComputation { from: premises.clone(), method, steps });
            grounds.of[fact].push(Yields { ground: Some(ground), known: row.known, from: premises });
        }
    }
    if methods != record.methods {
        problems.report("the methods of computations", methods.join(" | "), record.methods.join(" | "));
    }
    Ok(count)
}
