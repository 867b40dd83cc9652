//! Findings as the checker reads them: what each pattern asks of a fact's cells, constants as terms.

use super::terms::{Term, Terms};
use crate::language::{
    self, Aggregate, Condition, Expression, Finding, Pattern, Premise, RelationId, Rulebook, VariableId,
};

/// What a pattern asks of a cell.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Slot {
    /// Nothing.
    Any,
    /// The value of a variable.
    Variable(usize),
    /// This value.
    Constant(Term),
    /// The same as in this cell: a variable that no premise binds stands in both.
    Same(usize),
}

/// A pattern.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub relation: RelationId,
    pub slots: Vec<Slot>,
}

/// A premise.
pub(super) enum AskedPremise<'r> {
    Given(Shape),
    Unless(Shape),
    Let { variable: usize, formula: &'r Expression },
    Aggregate { variable: usize, how: Aggregate, over: Option<usize>, members: Shape },
    Where(&'r Condition),
}

/// A finding.
pub(super) struct FindingShape<'r> {
    pub finding: &'r Finding,
    pub premises: Vec<AskedPremise<'r>>,
    pub hence: Vec<Shape>,
}

/// Every finding of a rulebook.
pub(super) fn shapes<'r>(rulebook: &'r Rulebook, terms: &mut Terms) -> Vec<FindingShape<'r>> {
    rulebook.findings.iter().map(|finding| finding_shape(finding, terms)).collect()
}

fn finding_shape<'r>(finding: &'r Finding, terms: &mut Terms) -> FindingShape<'r> {
    let mut bound = vec![false; finding.variables.len()];
    for premise in &finding.premises {
        match premise {
            Premise::Given(pattern) => {
                variables(pattern).for_each(|(_, variable)| bound[variable.index()] = true);
            }
            Premise::Let { variable, .. } | Premise::Aggregate { variable, .. } => {
                bound[variable.index()] = true;
            }
            Premise::Unless(_) | Premise::Where { .. } => {}
        }
    }
    let mut shape = |pattern: &Pattern| Shape {
        relation: pattern.relation,
        slots: pattern
            .terms
            .iter()
            .enumerate()
            .map(|(at, term)| match term {
                language::Term::Any => Slot::Any,
                language::Term::Constant(value) => Slot::Constant(terms.term(value)),
                language::Term::Variable(variable) if bound[variable.index()] => {
                    Slot::Variable(variable.index())
                }
                // Its first place may hold anything, and is what its later places are compared with.
                language::Term::Variable(variable) => match column(pattern, *variable) {
                    first if first < at => Slot::Same(first),
                    _ => Slot::Any,
                },
            })
            .collect(),
    };
    let premises = finding
        .premises
        .iter()
        .map(|premise| match premise {
            Premise::Given(pattern) => AskedPremise::Given(shape(pattern)),
            Premise::Unless(pattern) => AskedPremise::Unless(shape(pattern)),
            Premise::Let { variable, formula, .. } => {
                AskedPremise::Let { variable: variable.index(), formula }
            }
            Premise::Aggregate { variable, how, over, members, .. } => AskedPremise::Aggregate {
                variable: variable.index(),
                how: *how,
                over: over.map(|over| column(members, over)),
                members: shape(members),
            },
            Premise::Where { condition, .. } => AskedPremise::Where(condition),
        })
        .collect();
    let hence = finding.hence.iter().map(&mut shape).collect();
    FindingShape { finding, premises, hence }
}

fn variables(pattern: &Pattern) -> impl Iterator<Item = (usize, VariableId)> + '_ {
    pattern.terms.iter().enumerate().filter_map(|(column, term)| match term {
        language::Term::Variable(variable) => Some((column, *variable)),
        language::Term::Any | language::Term::Constant(_) => None,
    })
}

/// The first column in which a variable stands.
fn column(pattern: &Pattern, wanted: VariableId) -> usize {
    variables(pattern).find(|(_, variable)| *variable == wanted).map_or(0, |(column, _)| column)
}
