//! Facts and findings as sentences: templates of the rulebook with values put in.

use crate::engine::{Cell, Derivation, FactId};
use crate::language::{Finding, Origin, Piece, Relation, Rulebook, Template};
use super::Decision;

/// What stands where a value is not known.
const NOT_KNOWN: &str = "(not known)";

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
        Cell::Unknown => NOT_KNOWN.to_owned(),
    }
}

/// A row, or a pattern whose open places are `None`, in the words of its relation.
pub fn row_sentence(relation: &Relation, cells: &[Option<Cell>]) -> String {
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
pub fn fact_sentence(rulebook: &Rulebook, derivation: &Derivation<'_>, fact: FactId) -> String {
    let relation = &rulebook.relations[fact.relation.index()];
    let cells: Vec<Option<Cell>> = derivation.cells(fact).into_iter().map(Some).collect();
    row_sentence(relation, &cells)
}

/// What a finding says, with the values of its variables.
pub fn finding_sentence(finding: &Finding, bindings: &[Option<Cell>]) -> String {
    match &finding.says {
        Some(says) => filled(says, |slot| bindings.get(slot).and_then(Option::as_ref).map_or(NOT_KNOWN.to_owned(), shown)),
        None => finding.id.clone(),
    }
}

/// An unanswered question as it is put to the user, and the path of its answer in the job file.
pub fn question_sentence(decision: &Decision<'_>, fact: FactId) -> Option<(String, String)> {
    let relation = &decision.rulebook.relations[fact.relation.index()];
    let Origin::Question(question) = &relation.origin else { return None };
    let cells = decision.derivation.cells(fact);
    let asks = filled(&question.asks, |role| cells.get(role).map_or(NOT_KNOWN.to_owned(), shown));
    Some((asks, question.path.clone()))
}
