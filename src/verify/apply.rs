//! One finding applied to facts, judged by the checker: what each premise meets, what is concluded, and whether it is open;
//! or the premise that stands against it.

use super::facts::Facts;
use super::formula::{FormulaTruth, Reckoning, Worth, added};
use super::shapes::{AskedPremise, FindingShape, Shape, Slot};
use super::terms::{Term, Terms};
use crate::language::{Aggregate, Type, Value, VariableId};
use crate::quantity::Quantity;
use std::cmp::Ordering;

/// What a premise meets.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Met {
    /// A fact.
    Given(usize),
    /// What is sought by role, and open facts that may still match.
    Unless { sought: Vec<(usize, Option<Term>)>, open: Vec<usize> },
    /// A value, as the formula gives it.
    Let(Option<Quantity>),
    /// A value, and the facts that match.
    Aggregate(Option<Quantity>, Vec<usize>),
    /// Whether it is open.
    Where { open: bool },
}

/// Why a premise stands against an application.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum FailedPremise {
    /// The fact does not match the pattern.
    Mismatch,
    /// This fact is there, and must not be.
    Present(usize),
    /// The formula or aggregate has no value.
    NoValue,
    /// It has another value than the one that the variable has already.
    OtherValue,
    /// The condition fails.
    Fails,
}

/// An application that holds.
pub(super) struct Judged {
    /// For each variable its value, where it has one.
    pub bindings: Vec<Option<Term>>,
    pub met: Vec<Met>,
    pub open: bool,
}

/// Judges a finding applied to the facts of its `given` premises, in the order of the text; or says which premise stands
/// against it, and how.
pub(super) fn judge(
    facts: &Facts<'_>,
    terms: &mut Terms,
    shape: &FindingShape<'_>,
    givens: &[usize],
) -> Result<Judged, (usize, FailedPremise)> {
    let mut bindings = vec![None; shape.finding.variables.len()];
    let mut left = givens.iter();
    // Every fact first: what one of them leaves unknown another may supply.
    for (at, premise) in shape.premises.iter().enumerate() {
        if let AskedPremise::Given(given) = premise {
            let fact = left.next().ok_or((at, FailedPremise::Mismatch))?;
            unify(facts, given, *fact, &mut bindings).ok_or((at, FailedPremise::Mismatch))?;
        }
    }
    let mut left = givens.iter();
    let mut met = Vec::with_capacity(shape.premises.len());
    for (at, premise) in shape.premises.iter().enumerate() {
        met.push(match (premise, matches!(premise, AskedPremise::Given(_)).then(|| left.next()).flatten()) {
            (AskedPremise::Given(_), Some(fact)) => Met::Given(*fact),
            _ => meet(facts, terms, premise, &mut bindings).map_err(|against| (at, against))?,
        });
    }
    let open = met.iter().any(|met| match met {
        Met::Given(fact) => facts.all[*fact].open,
        Met::Unless { open, .. } => !open.is_empty(),
        Met::Aggregate(value, _) => value.is_none(),
        Met::Where { open } => *open,
        Met::Let(_) => false,
    });
    Ok(Judged { bindings, met, open })
}

/// Takes the values of a fact's cells into the bindings; `None` where they contradict them or the shape. What is not known
/// contradicts nothing.
pub(super) fn unify(
    facts: &Facts<'_>,
    shape: &Shape,
    fact: usize,
    bindings: &mut [Option<Term>],
) -> Option<()> {
    let fact = &facts.all[fact];
    for (slot, cell) in shape.slots.iter().zip(&fact.cells) {
        let Some(cell) = cell else { continue };
        match slot {
            Slot::Any | Slot::Same(_) => {}
            Slot::Constant(term) if term == cell => {}
            Slot::Variable(variable) if bindings[*variable].is_none_or(|bound| bound == *cell) => {
                bindings[*variable] = Some(*cell);
            }
            Slot::Constant(_) | Slot::Variable(_) => return None,
        }
    }
    (fact.relation == shape.relation).then_some(())
}

/// What a premise other than a `given` meets. A `let` and an aggregate bind their variable.
pub(super) fn meet(
    facts: &Facts<'_>,
    terms: &mut Terms,
    premise: &AskedPremise<'_>,
    bindings: &mut [Option<Term>],
) -> Result<Met, FailedPremise> {
    let curves = &facts.rulebook.curves;
    let (worth, variable, over) = match premise {
        AskedPremise::Given(_) => return Err(FailedPremise::Mismatch),
        AskedPremise::Unless(shape) => {
            let found = facts.matching(shape, bindings);
            if let Some((fact, _)) = found.iter().find(|(_, sure)| *sure) {
                return Err(FailedPremise::Present(*fact));
            }
            let open = found.into_iter().map(|(fact, _)| fact).collect();
            return Ok(Met::Unless { sought: sought(shape, bindings), open });
        }
        AskedPremise::Where(condition) => {
            let value = |variable: VariableId| value_of(terms, bindings, variable);
            return match (Reckoning { curves, value: &value }).truth(condition) {
                FormulaTruth::Fails => Err(FailedPremise::Fails),
                truth => Ok(Met::Where { open: truth == FormulaTruth::Open }),
            };
        }
        AskedPremise::Let { variable, formula } => {
            let value = |variable: VariableId| value_of(terms, bindings, variable);
            (Reckoning { curves, value: &value }.worth(formula), *variable, None)
        }
        AskedPremise::Aggregate { variable, how, over, members } => {
            let found = facts.matching(members, bindings);
            let worth = taken(facts, terms, *how, members, *over, &found);
            (worth, *variable, Some(found.into_iter().map(|(fact, _)| fact).collect()))
        }
    };
    let quantity = match worth {
        Worth::Nothing => return Err(FailedPremise::NoValue),
        Worth::Unknown => None,
        Worth::Number(quantity) => Some(quantity),
    };
    if let Some(quantity) = quantity {
        let term = terms.term(&Value::Number(quantity));
        if *bindings[variable].get_or_insert(term) != term {
            return Err(FailedPremise::OtherValue);
        }
    }
    Ok(over.map_or(Met::Let(quantity), |over| Met::Aggregate(quantity, over)))
}

fn value_of(terms: &Terms, bindings: &[Option<Term>], variable: VariableId) -> Option<Value> {
    bindings[variable.index()].map(|term| terms.value(term).clone())
}

/// What a shape asks of each cell that it does not leave open.
fn sought(shape: &Shape, bindings: &[Option<Term>]) -> Vec<(usize, Option<Term>)> {
    let slots = shape.slots.iter().enumerate();
    slots
        .filter_map(|(role, slot)| match slot {
            Slot::Constant(term) => Some((role, Some(*term))),
            Slot::Variable(variable) => Some((role, bindings[*variable])),
            Slot::Any | Slot::Same(_) => None,
        })
        .collect()
}

/// The value of an aggregate over the facts that match, each with whether it does for sure.
fn taken(
    facts: &Facts<'_>,
    terms: &Terms,
    how: Aggregate,
    members: &Shape,
    over: Option<usize>,
    found: &[(usize, bool)],
) -> Worth {
    let doubtful = found.iter().any(|(_, sure)| !sure);
    if how == Aggregate::Count {
        return if doubtful { Worth::Unknown } else { Worth::Number(Quantity::number(found.len() as f64)) };
    }
    let Some(column) = over else { return Worth::Nothing };
    let member = |fact: usize| match facts.all[fact].cells[column].map(|term| terms.value(term)) {
        None => Worth::Unknown,
        Some(Value::Number(quantity)) => Worth::Number(*quantity),
        Some(_) => Worth::Nothing,
    };
    match how {
        Aggregate::Sum if doubtful => Worth::Unknown,
        Aggregate::Sum => {
            let sum = found.iter().map(|(fact, _)| member(*fact)).reduce(|sum, member| match (sum, member) {
                (Worth::Number(sum), Worth::Number(member)) => added(sum, member),
                (Worth::Unknown, Worth::Unknown) => Worth::Unknown,
                _ => Worth::Nothing,
            });
            let role = facts.rulebook.relations[members.relation.index()].roles[column].ty;
            match (sum, role) {
                (Some(sum), _) => sum,
                (None, Type::Number(dimension)) => Worth::Number(Quantity::from_base(0.0, dimension)),
                (None, _) => Worth::Nothing,
            }
        }
        _ => outermost(how, found.iter().map(|(fact, sure)| (member(*fact), *sure))),
    }
}

/// The least or greatest member. One that is in doubt matters only where it could be the one.
fn outermost(how: Aggregate, members: impl Iterator<Item = (Worth, bool)>) -> Worth {
    let wanted = if how == Aggregate::Least { Ordering::Less } else { Ordering::Greater };
    let beats = |one: &Quantity, other: &Quantity| one.compare(other) == Some(wanted);
    let mut best: Option<Quantity> = None;
    let mut doubtful: Vec<Worth> = Vec::new();
    for (member, sure) in members {
        match (member, best) {
            (Worth::Nothing, _) => return Worth::Nothing,
            (Worth::Number(member), Some(leader)) if sure && !beats(&member, &leader) => {}
            (Worth::Number(member), _) if sure => best = Some(member),
            (member, _) => doubtful.push(member),
        }
    }
    let harmless = |member: &Worth| match (member, &best) {
        (Worth::Number(member), Some(best)) => !beats(member, best),
        _ => false,
    };
    match best {
        _ if !doubtful.iter().all(harmless) => Worth::Unknown,
        None => Worth::Nothing,
        Some(best) => Worth::Number(best),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_member_in_doubt_matters_only_where_it_could_be_the_one() {
        let number = |value: f64| Worth::Number(Quantity::number(value));
        let least = |members: &[(Worth, bool)]| outermost(Aggregate::Least, members.iter().copied());
        assert_eq!(least(&[]), Worth::Nothing);
        assert_eq!(least(&[(number(3.0), true), (number(2.0), true)]), number(2.0));
        assert_eq!(least(&[(number(3.0), true), (number(4.0), false)]), number(3.0));
        assert_eq!(least(&[(number(3.0), true), (number(2.0), false)]), Worth::Unknown);
        assert_eq!(least(&[(number(3.0), true), (Worth::Unknown, false)]), Worth::Unknown);
        assert_eq!(least(&[(number(3.0), false)]), Worth::Unknown);
        assert_eq!(least(&[(number(3.0), true), (Worth::Nothing, true)]), Worth::Nothing);
    }
}
