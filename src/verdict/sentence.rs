//! Facts and findings as sentences: templates of the rulebook with values put in.

use super::Decision;
use crate::engine::{Cell, Derivation, FactId};
use crate::language::{Finding, Origin, Piece, Relation, Template};

/// What stands where a value hangs on an answer that nobody has given.
const NOT_ANSWERED: &str = "(not answered)";

fn filled(template: &Template, value: impl Fn(usize) -> String) -> String {
    template
        .pieces
        .iter()
        .map(|piece| match piece {
            Piece::Text(text) => text.clone(),
            Piece::Slot(slot) => value(*slot),
        })
        .collect()
}

/// A cell as a reader sees it.
pub fn shown(cell: &Cell) -> String {
    match cell {
        Cell::Value(value) => value.to_string(),
        Cell::Unknown => NOT_ANSWERED.to_owned(),
    }
}

/// A row, or a pattern whose open places are `None`, in the words of its relation. A pattern that leaves places open has no
/// whole sentence, and is told in short: the relation, and what stands in the other places.
pub fn row_sentence(relation: &Relation, cells: &[Option<Cell>]) -> String {
    if relation.roles.len() > 1 && cells.iter().any(Option::is_none) {
        let name = relation.name.replace('-', " ");
        let told: Vec<String> = cells.iter().flatten().map(shown).collect();
        return if told.is_empty() { name } else { format!("{name} ({})", told.join(", ")) };
    }
    let value = |role: usize| match &cells[role] {
        Some(cell) => shown(cell),
        None => format!("any {}", relation.roles[role].name),
    };
    match &relation.reads {
        Some(reads) => filled(reads, value),
        None => {
            let roles: Vec<String> = relation
                .roles
                .iter()
                .enumerate()
                .map(|(index, role)| format!("{}: {}", role.name, value(index)))
                .collect();
            format!("{}({})", relation.name, roles.join(", "))
        }
    }
}

/// A fact in the words of its relation.
pub fn fact_sentence(derivation: &Derivation<'_>, fact: FactId) -> String {
    let relation = &derivation.rulebook().relations[fact.relation.index()];
    let cells: Vec<Option<Cell>> = derivation.cells(fact).into_iter().map(Some).collect();
    row_sentence(relation, &cells)
}

/// What a finding says, with the values of its variables.
pub fn finding_sentence(finding: &Finding, bindings: &[Option<Cell>]) -> String {
    match &finding.says {
        Some(says) => filled(says, |slot| {
            let cell = bindings.get(slot).and_then(Option::as_ref).unwrap_or(&Cell::Unknown);
            shown(cell)
        }),
        None => finding.id.clone(),
    }
}

/// An unanswered question as it is put to the user, and the path of its answer in the job file.
pub fn question_sentence(decision: &Decision<'_>, fact: FactId) -> Option<(String, String)> {
    asked(&decision.derivation, fact)
}

/// The same of a bare derivation.
pub fn asked(derivation: &Derivation<'_>, fact: FactId) -> Option<(String, String)> {
    let relation = &derivation.rulebook().relations[fact.relation.index()];
    asked_sentence(relation, &derivation.cells(fact))
}

/// The same of a question's row; `None` where the relation is no question.
pub fn asked_sentence(relation: &Relation, cells: &[Cell]) -> Option<(String, String)> {
    let Origin::Question(question) = &relation.origin else { return None };
    let asks = filled(&question.asks, |role| shown(&cells[role]));
    Some((asks, question.path.clone()))
}
