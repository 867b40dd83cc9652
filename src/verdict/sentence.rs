//! Facts and findings as sentences: templates of the rulebook with values put in.

use super::Decision;
use crate::engine::{Cell, Derivation, FactId};
use crate::language::{Finding, Origin, Piece, Relation, Rulebook, Template, Type};

/// What stands where a value is not known.
fn not_known(rulebook: &Rulebook, ty: Type) -> String {
    match ty {
        Type::Number(dimension) | Type::Range(dimension) => format!("an unknown {dimension}"),
        Type::Word(kind) => format!("an unknown {}", rulebook.kinds[kind.index()].name.replace('-', " ")),
        Type::Name | Type::Text => "something unknown".to_owned(),
    }
}

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
pub fn shown(rulebook: &Rulebook, ty: Type, cell: &Cell) -> String {
    match cell {
        Cell::Value(value) => value.to_string(),
        Cell::Unknown => not_known(rulebook, ty),
    }
}

/// A row, or a pattern whose open places are `None`, in the words of its relation.
pub fn row_sentence(rulebook: &Rulebook, relation: &Relation, cells: &[Option<Cell>]) -> String {
    let value = |role: usize| match &cells[role] {
        Some(cell) => shown(rulebook, relation.roles[role].ty, cell),
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
    row_sentence(rulebook, relation, &cells)
}

/// What a finding says, with the values of its variables.
pub fn finding_sentence(rulebook: &Rulebook, finding: &Finding, bindings: &[Option<Cell>]) -> String {
    match &finding.says {
        Some(says) => filled(says, |slot| {
            let cell = bindings.get(slot).and_then(Option::as_ref).unwrap_or(&Cell::Unknown);
            shown(rulebook, finding.variables[slot].ty, cell)
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
    let rulebook = derivation.rulebook();
    let relation = &rulebook.relations[fact.relation.index()];
    asked_sentence(rulebook, relation, &derivation.cells(fact))
}

/// The same of a question's row; `None` where the relation is no question.
pub fn asked_sentence(rulebook: &Rulebook, relation: &Relation, cells: &[Cell]) -> Option<(String, String)> {
    let Origin::Question(question) = &relation.origin else { return None };
    let asks = filled(&question.asks, |role| shown(rulebook, relation.roles[role].ty, &cells[role]));
    Some((asks, question.path.clone()))
}
