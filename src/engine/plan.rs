//! How one finding is evaluated: the order in which its premises are visited, by which index, and where each variable
//! is kept. Made once for a rulebook by `planner.rs`; running it is
//! `join.rs`.

use super::evaluate::Truth;
use super::lookup::{Access, Bound, Fold, Lookup};
use crate::language::{Condition, Expression, Term, Value, VariableId, operands_of};

/// Which rows of a relation a step visits. With one `given` on the newest rows, those before it on older rows and those
/// behind it on all, every combination comes up once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Window {
    /// Rows of earlier rounds.
    Old,
    /// Rows of the last round.
    Newest,
    /// Both.
    All,
}

/// A premise that is joined.
#[derive(Clone, Debug)]
pub(super) struct Join {
    pub(super) relation: usize,
    /// Its place among the `given` premises.
    pub(super) slot: usize,
    pub(super) window: Window,
    pub(super) access: Access,
    pub(super) key: Vec<Bound>,
    /// Columns that give a register its value.
    pub(super) binds: Vec<Bound>,
    /// Columns that must agree with a register bound by this very step.
    pub(super) same: Vec<Bound>,
}

/// One step of a plan.
#[derive(Clone, Debug)]
pub(super) enum PlanStep<'r> {
    Join(Join),
    Unless(Lookup),
    Let { register: usize, formula: &'r Expression, bound_before: bool },
    Fold { register: usize, fold: Fold, bound_before: bool },
    Compare(&'r Condition),
    Among { left: usize, among: Vec<usize>, wanted: Truth },
}

/// An order of steps.
#[derive(Clone, Debug)]
pub(super) struct Plan<'r> {
    pub(super) steps: Vec<PlanStep<'r>>,
    /// Relation and number of every index that the steps look up.
    pub(super) indexes: Vec<(usize, usize)>,
}

/// A conclusion.
#[derive(Clone, Debug)]
pub(super) struct Hence {
    pub(super) relation: usize,
    /// The register of each role.
    pub(super) registers: Vec<usize>,
}

/// A `given` as a whole, for evaluation in the order of the text.
#[derive(Clone, Debug)]
pub(super) struct Given {
    pub(super) relation: usize,
    /// Columns that hold a variable or a constant.
    pub(super) terms: Vec<Bound>,
}

/// A premise in the order of the text.
#[derive(Clone, Debug)]
pub(super) enum Sentence<'r> {
    /// The place among the `given` premises.
    Given(usize),
    Unless(Lookup),
    Let {
        register: usize,
        formula: &'r Expression,
    },
    Fold {
        register: usize,
        fold: Fold,
    },
    Where(&'r Condition),
}

/// A finding, ready to be evaluated. Registers hold first the variables, then the constants.
#[derive(Clone, Debug)]
pub(super) struct FindingPlan<'r> {
    pub(super) registers: usize,
    /// For each variable, whether some premise binds it.
    pub(super) bindable: Vec<bool>,
    /// Register and position in the list of constants.
    pub(super) constants: Vec<(usize, usize)>,
    pub(super) givens: Vec<Given>,
    pub(super) premises: Vec<Sentence<'r>>,
    pub(super) hence: Vec<Hence>,
    /// All rows of every `given`.
    pub(super) full: Plan<'r>,
    /// For each `given`, the plan that begins with its newest rows.
    pub(super) led: Vec<Plan<'r>>,
}

/// What plans of all findings share.
#[derive(Clone, Debug)]
pub(super) struct Tables<'r> {
    /// Constants of all findings.
    pub(super) constants: Vec<&'r Value>,
    /// For each relation, the columns of its indexes.
    pub(super) indexes: Vec<Vec<Vec<usize>>>,
}

impl PlanStep<'_> {
    /// The relation and the index that the step looks up.
    pub(super) fn looked_up(&self) -> Option<(usize, usize)> {
        let (relation, access) = match self {
            PlanStep::Join(join) => (join.relation, join.access),
            PlanStep::Unless(lookup) => (lookup.relation, lookup.access),
            PlanStep::Fold { fold, .. } => (fold.members.relation, fold.members.access),
            PlanStep::Let { .. } | PlanStep::Compare(_) | PlanStep::Among { .. } => return None,
        };
        match access {
            Access::Index(index) => Some((relation, index)),
            Access::Scan | Access::Whole => None,
        }
    }
}

impl Sentence<'_> {
    /// Registers that a check needs. Constants among them are always bound.
    pub(super) fn needs(&self) -> Vec<usize> {
        let mut variables = Vec::new();
        match self {
            Sentence::Given(_) => {}
            Sentence::Unless(lookup) | Sentence::Fold { fold: Fold { members: lookup, .. }, .. } => {
                return lookup.key.iter().map(|key| key.register).collect();
            }
            Sentence::Let { formula, .. } => operands_of(formula, &mut variables),
            Sentence::Where(Condition::Compare { left, right, .. }) => {
                operands_of(left, &mut variables);
                operands_of(right, &mut variables);
            }
            Sentence::Where(Condition::Among { left, among, .. }) => {
                variables.extend(std::iter::once(left).chain(among).filter_map(|term| match term {
                    Term::Variable(variable) => Some(*variable),
                    Term::Any | Term::Constant(_) => None,
                }));
            }
        }
        variables.into_iter().map(VariableId::index).collect()
    }

    /// The cheaper of two checks is made first.
    pub(super) fn cost(&self) -> u8 {
        match self {
            Sentence::Given(_) | Sentence::Where(_) => 0,
            Sentence::Let { .. } => 1,
            Sentence::Unless(_) => 2,
            Sentence::Fold { .. } => 3,
        }
    }
}
