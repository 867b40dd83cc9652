//! One instance of a finding judged as a whole, from its premise rows alone: the values of all variables, and whether
//! it holds. Joins use it where unknown cells were met, explanations use it to work out what a record leaves out.

use super::evaluate::{Outcome, Truth, decide, evaluate, is_among};
use super::lookup::Probe;
use super::plan::{FindingPlan, PlanStep};
use super::program::CompiledProgram;
use super::rows::Rows;
use super::terms::{Terms, UNKNOWN};
use crate::language::VariableId;

/// The term of the value of a formula; `None` where it has no value.
pub(super) fn term_of(outcome: Outcome, terms: &mut impl Terms) -> Option<u32> {
    match outcome {
        Outcome::Value(quantity) => Some(terms.intern_quantity(quantity)),
        Outcome::Unknown => Some(UNKNOWN),
        Outcome::Nothing => None,
    }
}

/// Gives a register a value that must agree with the one it has; an unknown value gives way to a known one.
fn unify(register: &mut u32, term: u32) -> Option<()> {
    if *register == UNKNOWN {
        *register = term;
    }
    (term == UNKNOWN || *register == term).then_some(())
}

/// Judges the instance of a finding on these premise rows and leaves the values of its variables in `registers`.
/// `None` where the finding does not apply; otherwise whether something beside the premise rows leaves it open.
pub(super) fn bind(
    compiled: &CompiledProgram<'_>,
    plan: &FindingPlan<'_>,
    rows: &[Rows],
    premises: &[u32],
    constants: &[u32],
    terms: &mut impl Terms,
    registers: &mut Vec<u32>,
) -> Option<bool> {
    registers.clear();
    registers.resize(plan.registers, UNKNOWN);
    for (register, at) in &plan.constants {
        registers[*register] = constants[*at];
    }
    for (given, row) in plan.givens.iter().zip(premises) {
        for term in &given.terms {
            unify(&mut registers[term.register], rows[given.relation].cell(*row, term.column))?;
        }
    }
    let mut open = false;
    // The steps of the full plan stand in an order in which every value is there before it is needed.
    for step in &plan.full.steps {
        match step {
            PlanStep::Join(_) => {}
            PlanStep::Unless(lookup) => match lookup.probe(&rows[lookup.relation], registers) {
                Probe::Known => return None,
                Probe::Open => open = true,
                Probe::Nothing => {}
            },
            PlanStep::Let { register, formula, .. } => {
                let outcome = evaluate(formula, &compiled.rulebook.curves, &values(registers, terms));
                let term = term_of(outcome, terms)?;
                unify(&mut registers[*register], term)?;
            }
            PlanStep::Fold { register, fold, .. } => {
                let outcome = fold.value(&rows[fold.members.relation], registers, terms);
                open |= outcome == Outcome::Unknown;
                let term = term_of(outcome, terms)?;
                unify(&mut registers[*register], term)?;
            }
            PlanStep::Compare(condition) => {
                match decide(condition, &compiled.rulebook.curves, &values(registers, terms)) {
                    Truth::Holds => {}
                    Truth::Fails => return None,
                    Truth::Open => open = true,
                }
            }
            PlanStep::Among { left, among, wanted } => match among_registers(registers, *left, among) {
                Truth::Open => open = true,
                truth if truth == *wanted => {}
                _ => return None,
            },
        }
    }
    Some(open)
}

/// Whether a register's term is one of others.
pub(super) fn among_registers(registers: &[u32], left: usize, among: &[usize]) -> Truth {
    let known = |register: usize| Some(registers[register]).filter(|term| *term != UNKNOWN);
    is_among(known(left), among.iter().map(|register| known(*register)))
}

/// The value of a variable, by way of its register.
pub(super) fn values<'v, T: Terms>(
    registers: &'v [u32],
    terms: &'v T,
) -> impl Fn(VariableId) -> Option<&'v crate::language::Value> {
    move |variable| terms.value(registers[variable.index()])
}
