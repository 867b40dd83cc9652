//! Facts found by the names that stand in their roles. No sentences.

use crate::engine::{FactId, Status};
use crate::language::{Pattern, RelationId, Span, Term, Value};
use crate::verdict::{Decision, Level};

/// The facts of a relation that have these names in these roles, known ones first.
pub(super) fn facts_with(
    decision: &Decision<'_>,
    relation: RelationId,
    names: &[(usize, &str)],
) -> Vec<FactId> {
    decision.derivation.matching(&pattern_with(decision, relation, names))
}

/// The pattern of the facts that have these names in these roles.
pub(super) fn pattern_with(
    decision: &Decision<'_>,
    relation: RelationId,
    names: &[(usize, &str)],
) -> Pattern {
    let mut terms = vec![Term::Any; decision.rulebook.relations[relation.index()].roles.len()];
    for (role, name) in names {
        terms[*role] = Term::Constant(Value::Symbol((*name).into()));
    }
    Pattern { relation, terms, span: Span::default() }
}

/// The text in a role of a fact; empty where nobody has given it.
pub(super) fn text(decision: &Decision<'_>, fact: FactId, role: usize) -> String {
    decision.derivation.cell(fact, role).map(ToString::to_string).unwrap_or_default()
}

/// The standing of a filler at a joint on a criterion: the known one, or of the open ones the worst.
pub(super) fn standing(
    decision: &Decision<'_>,
    joint: &str,
    filler: &str,
    criterion: &str,
) -> Option<FactId> {
    let words = &decision.vocabulary.standing;
    let [joint_role, filler_role, criterion_role, level_role] = words.roles;
    let names = [(joint_role, joint), (filler_role, filler), (criterion_role, criterion)];
    let facts = facts_with(decision, words.relation, &names);
    match facts.first() {
        Some(first) if decision.derivation.status(*first) == Status::Known => Some(*first),
        _ => facts.into_iter().max_by_key(|fact| Level::severity(&text(decision, *fact, level_role))),
    }
}

/// Why a filler is taken where a criterion decides, in a welder's words, where the rulebook has them.
pub(super) fn plainly(decision: &Decision<'_>, criterion: &str) -> Option<String> {
    let words = decision.vocabulary.plainly.as_ref()?;
    let [criterion_role, reason_role] = words.roles;
    let fact = *facts_with(decision, words.relation, &[(criterion_role, criterion)]).first()?;
    Some(text(decision, fact, reason_role))
}
