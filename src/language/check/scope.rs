//! What is known of a finding's variables while it is checked, and the order in which its premises can be looked at.

use super::super::rulebook::*;
use super::super::source::Span;
use super::super::tree::ExpressionItem;
use std::collections::{HashMap, HashSet};

/// What is known of a finding's variables while it is checked.
#[derive(Default)]
pub(super) struct Scope {
    pub variables: Vec<Variable>,
    /// How often each stands in the finding, and where it stands first.
    pub seen: Vec<(usize, Span)>,
    pub index: HashMap<String, VariableId>,
    /// Variables that a `given`, `let` or aggregate gives a value.
    pub bound: HashSet<VariableId>,
    /// Variables that only run inside an aggregate.
    pub local: HashSet<VariableId>,
    /// Lists of carried words of which all premises that leave them open mean the same.
    pub carried: Vec<KindId>,
    /// Named values that are used, each with the variable that stands for it.
    pub values: Vec<(VariableId, ValueId)>,
    /// `let` lines that are one bare per cent or kelvin figure, whose meaning their use decides: which reading is tried.
    pub readings: Vec<usize>,
    pub next_reading: usize,
}

impl Scope {
    pub fn see(&mut self, id: VariableId) {
        self.seen[id.index()].0 += 1;
    }

    pub fn find(&self, name: &str) -> Option<VariableId> {
        self.index.get(name).copied()
    }

    pub fn add(&mut self, name: &str, ty: Type, span: Span) -> VariableId {
        let id = VariableId::new(self.variables.len());
        self.variables.push(Variable { name: name.to_owned(), ty });
        self.seen.push((0, span));
        self.index.insert(name.to_owned(), id);
        id
    }
}

pub(super) fn variables_of(formula: &ExpressionItem, names: &mut Vec<String>) {
    match formula {
        ExpressionItem::Number { .. } | ExpressionItem::Value(_) => {}
        ExpressionItem::Variable(name) => names.push(name.text.clone()),
        ExpressionItem::Negated(inner) => variables_of(inner, names),
        ExpressionItem::Binary { left, right, .. } => {
            variables_of(left, names);
            variables_of(right, names);
        }
        ExpressionItem::Call { arguments, .. } => {
            arguments.iter().for_each(|argument| variables_of(argument, names))
        }
    }
}

/// Source order, but that what needs a variable comes behind what binds it.
/// `values` are premises that need nothing; each stands in front of the first that needs it.
pub(super) fn in_order(premises: Vec<Premise>, mut values: Vec<Premise>) -> Vec<Premise> {
    let mut bound: HashSet<VariableId> = HashSet::new();
    let given: HashSet<VariableId> = values.iter().filter_map(binds).collect();
    let mut waiting = premises;
    let mut ordered = Vec::with_capacity(waiting.len() + values.len());
    while !waiting.is_empty() {
        let ready =
            |premise: &Premise| needs(premise).iter().all(|id| bound.contains(id) || given.contains(id));
        let next = waiting.iter().position(ready).unwrap_or(0);
        let premise = waiting.remove(next);
        let needed = needs(&premise);
        let (here, later): (Vec<Premise>, Vec<Premise>) =
            values.into_iter().partition(|value| binds(value).is_some_and(|id| needed.contains(&id)));
        ordered.extend(here);
        values = later;
        match &premise {
            Premise::Given(pattern) => bound.extend(pattern_variables(pattern)),
            Premise::Let { variable, .. } | Premise::Aggregate { variable, .. } => {
                bound.insert(*variable);
            }
            _ => {}
        }
        ordered.push(premise);
    }
    ordered.append(&mut values);
    ordered
}

/// What a `let` gives a value.
fn binds(premise: &Premise) -> Option<VariableId> {
    match premise {
        Premise::Let { variable, .. } => Some(*variable),
        _ => None,
    }
}

fn pattern_variables(pattern: &Pattern) -> impl Iterator<Item = VariableId> + '_ {
    pattern.terms.iter().filter_map(|term| match term {
        Term::Variable(id) => Some(*id),
        _ => None,
    })
}

fn needs(premise: &Premise) -> HashSet<VariableId> {
    let mut needed = HashSet::new();
    match premise {
        Premise::Given(_) => {}
        Premise::Unless(pattern) => needed.extend(pattern_variables(pattern)),
        Premise::Let { formula, .. } => expression_variables(formula, &mut needed),
        Premise::Aggregate { members, over, .. } => {
            needed.extend(pattern_variables(members).filter(|id| Some(*id) != *over));
        }
        Premise::Where { condition, .. } => match condition {
            Condition::Compare { left, right, .. } => {
                expression_variables(left, &mut needed);
                expression_variables(right, &mut needed);
            }
            Condition::Among { left, among, .. } => {
                for term in std::iter::once(left).chain(among) {
                    if let Term::Variable(id) = term {
                        needed.insert(*id);
                    }
                }
            }
        },
    }
    needed
}

fn expression_variables(expression: &Expression, into: &mut HashSet<VariableId>) {
    match expression {
        Expression::Constant(_) => {}
        Expression::Variable(id) => {
            into.insert(*id);
        }
        Expression::Negated(inner) | Expression::Curve(_, inner) => expression_variables(inner, into),
        Expression::Binary(_, left, right) => {
            expression_variables(left, into);
            expression_variables(right, into);
        }
        Expression::Call(_, arguments) => {
            arguments.iter().for_each(|argument| expression_variables(argument, into))
        }
    }
}
