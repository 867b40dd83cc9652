//! The order of evaluation: relations in layers, each complete before the next is begun, and the refusal of rulebooks
//! for which no such order exists or whose values could grow without end.

use super::error::EngineError;
use crate::language::{
    Expression, Finding, FindingId, Origin, Pattern, Premise, RelationId, Rulebook, Term, VariableId,
};
use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, NodeIndex};

/// Relations that are evaluated together.
#[derive(Clone, Debug)]
pub(super) struct Layer {
    /// Its relations, ascending.
    pub(super) relations: Vec<usize>,
    /// Findings that conclude one of them.
    pub(super) findings: Vec<FindingId>,
    /// Relations that these findings join, each once, ascending.
    pub(super) reads: Vec<usize>,
}

/// Layers in the order of evaluation.
pub(super) fn layers(rulebook: &Rulebook) -> Result<Vec<Layer>, EngineError> {
    let mut graph: DiGraph<(), bool> = DiGraph::new();
    let nodes: Vec<NodeIndex> = rulebook.relations.iter().map(|_| graph.add_node(())).collect();
    let mut edge = |from: RelationId, to: usize, needs_all: bool| {
        graph.add_edge(nodes[from.index()], nodes[to], needs_all);
    };
    for finding in &rulebook.findings {
        for (from, needs_all) in finding.premises.iter().filter_map(looks_at) {
            for hence in &finding.hence {
                edge(from, hence.relation.index(), needs_all);
            }
        }
    }
    for (index, relation) in rulebook.relations.iter().enumerate() {
        match &relation.origin {
            Origin::Plain => {}
            Origin::Question(question) => edge(question.subject, index, true),
            Origin::Computed { from } => from.iter().for_each(|input| edge(*input, index, true)),
        }
    }
    let mut components: Vec<Vec<usize>> = tarjan_scc(&graph)
        .into_iter()
        .map(|component| {
            let mut relations: Vec<usize> = component.into_iter().map(NodeIndex::index).collect();
            relations.sort_unstable();
            relations
        })
        .collect();
    components.reverse();
    let mut layer_of = vec![0; nodes.len()];
    for (layer, relations) in components.iter().enumerate() {
        relations.iter().for_each(|relation| layer_of[*relation] = layer);
    }
    for edge in graph.raw_edges().iter().filter(|edge| edge.weight) {
        let layer = layer_of[edge.source().index()];
        if layer == layer_of[edge.target().index()] {
            let relations =
                components[layer].iter().map(|relation| rulebook.relations[*relation].name.clone());
            return Err(EngineError::Unlayered { relations: relations.collect() });
        }
    }
    refuse_growth(rulebook, &layer_of)?;
    let mut layers: Vec<Layer> = components
        .into_iter()
        .map(|relations| Layer { relations, findings: Vec::new(), reads: Vec::new() })
        .collect();
    for (index, finding) in rulebook.findings.iter().enumerate() {
        let mut places: Vec<usize> =
            finding.hence.iter().map(|hence| layer_of[hence.relation.index()]).collect();
        places.sort_unstable();
        places.dedup();
        for place in places {
            layers[place].findings.push(FindingId::new(index));
            layers[place].reads.extend(finding.premises.iter().filter_map(|premise| match premise {
                Premise::Given(pattern) => Some(pattern.relation.index()),
                _ => None,
            }));
        }
    }
    for layer in &mut layers {
        layer.reads.sort_unstable();
        layer.reads.dedup();
    }
    Ok(layers)
}

/// The relation a premise looks at, and whether all of it must be there first.
pub(super) fn looks_at(premise: &Premise) -> Option<(RelationId, bool)> {
    match premise {
        Premise::Given(pattern) => Some((pattern.relation, false)),
        Premise::Unless(pattern) => Some((pattern.relation, true)),
        Premise::Aggregate { members, .. } => Some((members.relation, true)),
        Premise::Let { .. } | Premise::Where { .. } => None,
    }
}

/// Values reach a role either as they stand or through a computation. A computation on a circle of roles could make new
/// values for ever; without one, every value comes from a lower layer, and there are finitely many of them.
fn refuse_growth(rulebook: &Rulebook, layer_of: &[usize]) -> Result<(), EngineError> {
    let mut first_role = Vec::with_capacity(rulebook.relations.len());
    let mut roles = 0;
    for relation in &rulebook.relations {
        first_role.push(roles);
        roles += relation.roles.len();
    }
    let mut graph: DiGraph<(), Option<(FindingId, RelationId)>> = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..roles).map(|_| graph.add_node(())).collect();
    for (index, finding) in rulebook.findings.iter().enumerate() {
        for hence in &finding.hence {
            let layer = layer_of[hence.relation.index()];
            let sources = Sources { finding, layer_of, layer, first_role: &first_role };
            let origins = sources.of_variables();
            for (role, term) in hence.terms.iter().enumerate() {
                let Term::Variable(variable) = term else { continue };
                for (source, computed) in &origins[variable.index()] {
                    let blame = computed.then_some((FindingId::new(index), hence.relation));
                    graph.add_edge(nodes[*source], nodes[first_role[hence.relation.index()] + role], blame);
                }
            }
        }
    }
    let mut circle_of = vec![0; roles];
    for (circle, members) in tarjan_scc(&graph).into_iter().enumerate() {
        members.into_iter().for_each(|role| circle_of[role.index()] = circle);
    }
    for edge in graph.raw_edges() {
        if let Some((finding, relation)) = edge.weight
            && circle_of[edge.source().index()] == circle_of[edge.target().index()]
        {
            return Err(EngineError::Growing {
                finding: rulebook.findings[finding.index()].id.clone(),
                relation: rulebook.relations[relation.index()].name.clone(),
            });
        }
    }
    Ok(())
}

/// Where the values of a finding's variables come from, within one layer.
struct Sources<'a> {
    finding: &'a Finding,
    layer_of: &'a [usize],
    layer: usize,
    first_role: &'a [usize],
}

impl Sources<'_> {
    /// For each variable, the roles of this layer its values come from, and whether a computation lies between. A
    /// variable that a lower layer binds has none.
    fn of_variables(&self) -> Vec<Vec<(usize, bool)>> {
        let mut origins = vec![Vec::new(); self.finding.variables.len()];
        let mut bounded = vec![false; self.finding.variables.len()];
        for premise in &self.finding.premises {
            let Premise::Given(pattern) = premise else { continue };
            let here = self.layer_of[pattern.relation.index()] == self.layer;
            for (variable, role) in variables_of(pattern) {
                if here {
                    origins[variable.index()].push((self.first_role[pattern.relation.index()] + role, false));
                } else {
                    bounded[variable.index()] = true;
                }
            }
        }
        for (origin, bounded) in origins.iter_mut().zip(&bounded) {
            if *bounded {
                origin.clear();
            }
        }
        for premise in &self.finding.premises {
            let Premise::Let { variable, formula, .. } = premise else { continue };
            if bounded[variable.index()] {
                continue;
            }
            let mut operands = Vec::new();
            operands_of(formula, &mut operands);
            for operand in operands {
                let from: Vec<_> = origins[operand.index()].iter().map(|(role, _)| (*role, true)).collect();
                origins[variable.index()].extend(from);
            }
        }
        origins
    }
}

/// The variables of a pattern with the roles they stand in.
pub(super) fn variables_of(pattern: &Pattern) -> impl Iterator<Item = (VariableId, usize)> + '_ {
    pattern.terms.iter().enumerate().filter_map(|(role, term)| match term {
        Term::Variable(variable) => Some((*variable, role)),
        Term::Any | Term::Constant(_) => None,
    })
}

/// The variables of a formula.
pub(super) fn operands_of(formula: &Expression, into: &mut Vec<VariableId>) {
    match formula {
        Expression::Constant(_) => {}
        Expression::Variable(variable) => into.push(*variable),
        Expression::Binary(_, left, right) => {
            operands_of(left, into);
            operands_of(right, into);
        }
        Expression::Negated(inner) | Expression::Curve(_, inner) => operands_of(inner, into),
        Expression::Call(_, arguments) => arguments.iter().for_each(|argument| operands_of(argument, into)),
    }
}
