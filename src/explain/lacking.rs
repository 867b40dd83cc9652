//! What a finding lacks, in words: a number beside its threshold, a fact that is missing, a fact that stands in the way.

use super::formula::{condition, source_text, with_values};
use crate::engine::{Attempt, AttemptFailure, Cell, Lack, Outcome, evaluate};
use crate::language::{
    Comparison, Condition, Expression, Finding, Pattern, Premise, RelationId, Term, Type, VariableId,
};
use crate::quantity::PageUnits;
use crate::verdict::{Decision, fact_sentence, row_sentence, shown};

/// Why a premise of a finding is not met, as the end of a sentence.
pub(super) fn lacking(decision: &Decision<'_>, attempt: &Attempt, failure: &AttemptFailure) -> String {
    let rulebook = decision.rulebook;
    let finding = &rulebook.findings[attempt.finding.index()];
    let premise = &finding.premises[failure.premise];
    match (&failure.lacks, premise) {
        (Lack::Fact { relation, sought }, _) => {
            let relation = &rulebook.relations[relation.index()];
            format!("nothing says: {}", row_sentence(relation, sought))
        }
        (Lack::Blocked(fact), _) => {
            format!("in the way: {}", fact_sentence(&decision.derivation, *fact))
        }
        (
            Lack::Condition { .. },
            Premise::Where { condition: Condition::Compare { left, comparison, right }, .. },
        ) => {
            let sides = Sides { decision, finding, attempt };
            // The threshold stands behind: it is what a figure alone stands for.
            if sides.is_figure(left) && !sides.is_figure(right) {
                sides.short_of(right, turned(*comparison), left)
            } else {
                sides.short_of(left, *comparison, right)
            }
        }
        (Lack::Condition { .. }, Premise::Where { condition: asked, .. }) => {
            format!("this does not hold: {}", condition(decision, finding, &attempt.bindings, asked))
        }
        (
            Lack::Value(value),
            Premise::Let { variable, span, .. } | Premise::Aggregate { variable, span, .. },
        ) => {
            let variable_of = &finding.variables[variable.index()];
            match (value, &attempt.bindings[variable.index()]) {
                (Some(value), Some(asked)) => {
                    format!("{} is {}, not {}", variable_of.name, shown(value), shown(asked))
                }
                _ => format!("{} has no value here", source_text(rulebook, *span)),
            }
        }
        (
            _,
            Premise::Given(_)
            | Premise::Unless(_)
            | Premise::Let { .. }
            | Premise::Aggregate { .. }
            | Premise::Where { .. },
        ) => "a premise is not met".to_owned(),
    }
}

/// The comparison as it reads with its sides exchanged.
fn turned(comparison: Comparison) -> Comparison {
    match comparison {
        Comparison::Less => Comparison::More,
        Comparison::AtMost => Comparison::AtLeast,
        Comparison::More => Comparison::Less,
        Comparison::AtLeast => Comparison::AtMost,
        Comparison::Equal | Comparison::Unequal => comparison,
    }
}

/// The sides of a comparison in a finding that was tried.
struct Sides<'d, 'r> {
    decision: &'d Decision<'r>,
    finding: &'d Finding,
    attempt: &'d Attempt,
}

impl Sides<'_, '_> {
    /// Whether a side is a figure of the finding itself.
    fn is_figure(&self, side: &Expression) -> bool {
        is_figure(self.finding, side)
    }

    /// "pool (Mg), highest is 3.4 %, needs 3 % or less"
    fn short_of(&self, side: &Expression, comparison: Comparison, limit: &Expression) -> String {
        let (value, bound) = (self.value(side), self.value(limit));
        let units = self.decision.derivation.units();
        let limit = in_units(units, bound);
        let needs = match comparison {
            Comparison::Less => format!("less than {limit}"),
            Comparison::AtMost => format!("{limit} or less"),
            Comparison::More => format!("more than {limit}"),
            Comparison::AtLeast => format!("{limit} or more"),
            Comparison::Equal => format!("exactly {limit}"),
            Comparison::Unequal => format!("anything but {limit}"),
        };
        let name = match side {
            Expression::Variable(variable) => {
                label(self.decision, self.finding, &self.attempt.bindings, *variable)
            }
            _ => with_values(self.decision, self.finding, &self.attempt.bindings, side),
        };
        format!("{name} is {}, needs {needs}", in_units(units, value))
    }

    fn value(&self, side: &Expression) -> Outcome {
        let bindings = &self.attempt.bindings;
        let value = |variable: VariableId| bindings[variable.index()].as_ref().and_then(Cell::value);
        evaluate(side, &self.decision.rulebook.curves, &value)
    }
}

fn in_units(units: &PageUnits, outcome: Outcome) -> String {
    match outcome {
        Outcome::Value(quantity) => units.convert(quantity).to_string(),
        Outcome::Unknown => "not known".to_owned(),
        Outcome::Nothing => "nothing".to_owned(),
    }
}

/// Whether a formula is a figure of the finding itself: a constant, or the name of one.
pub(super) fn is_figure(finding: &Finding, formula: &Expression) -> bool {
    match formula {
        Expression::Constant(_) => true,
        Expression::Variable(id) => finding.premises.iter().any(|premise| {
            matches!(premise, Premise::Let { variable, formula: Expression::Constant(_), .. } if variable == id)
        }),
        _ => false,
    }
}

/// What a variable of a finding stands for, by the premise that binds it: "pool (Mg, whole), highest"; the formula where a
/// computation binds it.
pub(super) fn label(
    decision: &Decision<'_>,
    finding: &Finding,
    bindings: &[Option<Cell>],
    variable: VariableId,
) -> String {
    let binding = finding.premises.iter().find_map(|premise| match premise {
        Premise::Given(pattern) => {
            let role = pattern.terms.iter().position(|term| *term == Term::Variable(variable))?;
            Some(role_label(decision, pattern.relation, role, &cells(pattern, bindings)))
        }
        Premise::Let { variable: bound, formula, .. } if *bound == variable => {
            Some(with_values(decision, finding, bindings, formula))
        }
        _ => None,
    });
    binding.unwrap_or_else(|| finding.variables[variable.index()].name.clone())
}

/// The cells of a pattern under bindings.
fn cells(pattern: &Pattern, bindings: &[Option<Cell>]) -> Vec<Option<Cell>> {
    let cell = |term: &Term| match term {
        Term::Any => None,
        Term::Variable(id) => bindings[id.index()].clone(),
        Term::Constant(value) => Some(Cell::Value(value.clone())),
    };
    pattern.terms.iter().map(cell).collect()
}

/// A role of a fact in few words: the relation, what distinguishes its facts at a joint, and the role where there are others
/// of its kind.
pub(super) fn role_label(
    decision: &Decision<'_>,
    relation: RelationId,
    role: usize,
    cells: &[Option<Cell>],
) -> String {
    let declared = &decision.rulebook.relations[relation.index()];
    let candidate = &decision.vocabulary.candidate;
    let candidate_roles = &decision.rulebook.relations[candidate.relation.index()].roles;
    let understood = |name: &str| candidate.roles.iter().any(|role| candidate_roles[*role].name == name);
    let is_number = |ty: Type| matches!(ty, Type::Number(_) | Type::Range(_));
    let is_word = matches!(declared.roles[role].ty, Type::Word(_));
    let apart: Vec<String> = declared
        .roles
        .iter()
        .zip(cells)
        .enumerate()
        .filter(|(at, (other, _))| {
            *at != role && matches!(other.ty, Type::Name | Type::Word(_)) && !understood(&other.name)
        })
        .filter_map(|(_, (_, cell))| cell.as_ref()?.value().map(ToString::to_string))
        .collect();
    let name = declared.name.replace('-', " ");
    let which = if apart.is_empty() { String::new() } else { format!(" ({})", apart.join(", ")) };
    let is_stated = |ty: Type| is_number(ty) || matches!(ty, Type::Word(_)) && is_word;
    let alone = declared.roles.iter().filter(|other| is_stated(other.ty)).count() == 1;
    if alone {
        format!("{name}{which}")
    } else {
        format!("{name}{which}, {}", declared.roles[role].name.replace('-', " "))
    }
}
