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

/// A row, or a pattern whose open places are `None`, in the words of its relation. An open place reads as "any": "of any
/// magnesium", "any pool", and not "of any magnesium magnesium", "the any pass pool".
pub fn row_sentence(relation: &Relation, cells: &[Option<Cell>]) -> String {
    let value = |role: usize| cells[role].as_ref().map(shown);
    let Some(reads) = &relation.reads else {
        let named = relation.roles.iter().enumerate();
        let roles: Vec<String> = named
            .map(|(index, role)| {
                format!("{}: {}", role.name, value(index).unwrap_or_else(|| "any".to_owned()))
            })
            .collect();
        return format!("{}({})", relation.name, roles.join(", "));
    };
    let mut sentence = String::new();
    for (at, piece) in reads.pieces.iter().enumerate() {
        let slot = match piece {
            Piece::Text(text) => {
                sentence.push_str(text);
                continue;
            }
            Piece::Slot(slot) => *slot,
        };
        match value(slot) {
            Some(value) => sentence.push_str(&value),
            None => {
                let name = &relation.roles[slot].name;
                let next = match reads.pieces.get(at + 1) {
                    Some(Piece::Text(text)) => text.split_whitespace().next().unwrap_or_default(),
                    _ => "",
                };
                let article = sentence.ends_with("the ");
                if article {
                    sentence.truncate(sentence.len() - "the ".len());
                }
                let said = next.trim_end_matches(|c: char| !c.is_alphanumeric()) == name;
                sentence.push_str(if article || said { "any" } else { "any " });
                if !(article || said) {
                    sentence.push_str(&name.replace('-', " "));
                }
            }
        }
    }
    sentence
}

/// A finding's sentence, unless something in it is not known: what waits on an answer is shown by its question, not by a
/// sentence about an unknown temperature.
pub fn whole_sentence(finding: &Finding, bindings: &[Option<Cell>]) -> Option<String> {
    let pieces = finding.says.iter().flat_map(|says| &says.pieces);
    let whole = pieces.into_iter().all(|piece| match piece {
        Piece::Text(_) => true,
        Piece::Slot(slot) => matches!(bindings.get(*slot), Some(Some(Cell::Value(_)))),
    });
    whole.then(|| finding_sentence(finding, bindings))
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
        Some(says) => {
            filled(says, |slot| shown(bindings.get(slot).and_then(Option::as_ref).unwrap_or(&Cell::Unknown)))
        }
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
