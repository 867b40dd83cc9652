//! A rulebook made ready to be evaluated many times: checked references, layers, plans and the computations for its
//! computed relations.

use super::computed::Computation;
use super::error::EngineError;
use super::memory::Memory;
use super::plan::{FindingPlan, Tables};
use super::planner::plan;
use crate::language::{
    Condition, Disorder, Expression, Finding, Layer, Origin, Pattern, Premise, RelationId, Rulebook, Term,
    Value, VariableId, layers,
};
use std::sync::Arc;

/// A rulebook with its plans, shared by any number of runs.
#[derive(Clone, Debug)]
pub struct Program<'r> {
    pub(super) compiled: Arc<CompiledProgram<'r>>,
}

/// What a program holds.
#[derive(Debug)]
pub(super) struct CompiledProgram<'r> {
    pub(super) rulebook: &'r Rulebook,
    /// For each relation, what computes it.
    pub(super) computations: Vec<Option<Computation>>,
    pub(super) layers: Vec<Layer>,
    pub(super) findings: Vec<FindingPlan<'r>>,
    pub(super) tables: Tables<'r>,
    /// What computations keep between runs.
    pub(super) memory: Memory,
}

impl<'r> Program<'r> {
    /// Plans the evaluation of a rulebook. Computations for relations that the rulebook does not declare are not used.
    pub fn new(rulebook: &'r Rulebook, computations: &[Computation]) -> Result<Self, EngineError> {
        Self::with_memory(rulebook, computations, Memory::default())
    }

    /// The same, with a memory that others may share.
    pub fn with_memory(
        rulebook: &'r Rulebook,
        computations: &[Computation],
        memory: Memory,
    ) -> Result<Self, EngineError> {
        check_relations(rulebook)?;
        rulebook.findings.iter().try_for_each(|finding| check_finding(rulebook, finding))?;
        let computations = rulebook
            .relations
            .iter()
            .map(|relation| match relation.origin {
                Origin::Computed { .. } => computations
                    .iter()
                    .find(|computation| computation.relation == relation.name)
                    .map(|computation| Some(*computation))
                    .ok_or_else(|| EngineError::NotComputed { relation: relation.name.clone() }),
                Origin::Plain | Origin::Question(_) => Ok(None),
            })
            .collect::<Result<Vec<_>, _>>()?;
        let layers = layers(&rulebook.relations, &rulebook.findings)
            .map_err(|disorder| without_order(rulebook, disorder.first()))?;
        let mut tables =
            Tables { constants: Vec::new(), indexes: vec![Vec::new(); rulebook.relations.len()] };
        let findings = rulebook
            .findings
            .iter()
            .map(|finding| plan(rulebook, finding, &mut tables))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Program {
            compiled: Arc::new(CompiledProgram { rulebook, computations, layers, findings, tables, memory }),
        })
    }
}

/// The error for a rulebook whose relations have no order of derivation.
fn without_order(rulebook: &Rulebook, first: Option<&Disorder>) -> EngineError {
    let name = |relation: usize| rulebook.relations[relation].name.clone();
    match first {
        Some(Disorder::Growth { finding, relation, .. }) => EngineError::Growing {
            finding: rulebook.findings[*finding].id.clone(),
            relation: name(relation.index()),
        },
        Some(Disorder::Circle { members, .. }) => {
            EngineError::Unlayered { relations: members.iter().map(|relation| name(*relation)).collect() }
        }
        None => EngineError::Unlayered { relations: Vec::new() },
    }
}

/// Whether a fact with these cells may stand in a relation.
pub(super) fn fits(rulebook: &Rulebook, relation: RelationId, cells: &[Value]) -> bool {
    rulebook.relations.get(relation.index()).is_some_and(|relation| relation.roles.len() == cells.len())
}

fn check_relations(rulebook: &Rulebook) -> Result<(), EngineError> {
    for relation in &rulebook.relations {
        let sound = match &relation.origin {
            Origin::Plain => true,
            Origin::Computed { from } => from.iter().all(|from| from.index() < rulebook.relations.len()),
            Origin::Question(question) => {
                rulebook.relations.get(question.subject.index()).is_some_and(|subject| {
                    question.filled_by.len() + 1 == relation.roles.len()
                        && question.filled_by.iter().all(|role| *role < subject.roles.len())
                })
            }
        };
        if !sound {
            return Err(EngineError::MalformedRelation { relation: relation.name.clone() });
        }
    }
    for (index, fact) in rulebook.facts.iter().enumerate() {
        if !fits(rulebook, fact.relation, &fact.cells) {
            return Err(EngineError::MisshapenFact { list: "rulebook", index });
        }
        refuse_computed(rulebook, fact.relation)?;
    }
    Ok(())
}

/// Facts and findings may not feed a computed relation.
pub(super) fn refuse_computed(rulebook: &Rulebook, relation: RelationId) -> Result<(), EngineError> {
    let relation = &rulebook.relations[relation.index()];
    match relation.origin {
        Origin::Computed { .. } => Err(EngineError::ComputedElsewhere { relation: relation.name.clone() }),
        Origin::Plain | Origin::Question(_) => Ok(()),
    }
}

fn check_finding(rulebook: &Rulebook, finding: &Finding) -> Result<(), EngineError> {
    let variable = |variable: VariableId| variable.index() < finding.variables.len();
    let term = |term: &Term| match term {
        Term::Variable(id) => variable(*id),
        Term::Any | Term::Constant(_) => true,
    };
    let pattern = |pattern: &Pattern| {
        rulebook.relations.get(pattern.relation.index()).is_some_and(|relation| {
            relation.roles.len() == pattern.terms.len() && pattern.terms.iter().all(term)
        })
    };
    let sound = finding.premises.iter().all(|premise| match premise {
        Premise::Given(given) | Premise::Unless(given) => pattern(given),
        Premise::Let { variable: id, formula, .. } => variable(*id) && is_sound(formula, rulebook, &variable),
        Premise::Aggregate { variable: id, over, members, .. } => {
            variable(*id) && over.is_none_or(variable) && pattern(members)
        }
        Premise::Where { condition: Condition::Compare { left, right, .. }, .. } => {
            is_sound(left, rulebook, &variable) && is_sound(right, rulebook, &variable)
        }
        Premise::Where { condition: Condition::Among { left, among, .. }, .. } => {
            term(left) && among.iter().all(term)
        }
    });
    if !sound || !finding.hence.iter().all(pattern) {
        let problem = "it refers to something that does not exist";
        return Err(EngineError::MalformedFinding { finding: finding.id.clone(), problem });
    }
    finding.hence.iter().try_for_each(|hence| refuse_computed(rulebook, hence.relation))
}

fn is_sound(formula: &Expression, rulebook: &Rulebook, variable: &impl Fn(VariableId) -> bool) -> bool {
    match formula {
        Expression::Constant(_) => true,
        Expression::Variable(id) => variable(*id),
        Expression::Binary(_, left, right) => {
            is_sound(left, rulebook, variable) && is_sound(right, rulebook, variable)
        }
        Expression::Negated(inner) => is_sound(inner, rulebook, variable),
        Expression::Curve(curve, inner) => {
            curve.index() < rulebook.curves.len() && is_sound(inner, rulebook, variable)
        }
        Expression::Call(_, arguments) => {
            arguments.iter().all(|argument| is_sound(argument, rulebook, variable))
        }
    }
}
