//! The order in which a rulebook's relations can be derived: layers, each complete before the next is begun, and within a
//! layer, where its relations proceed in turns, turn by turn. Made once for the checker, which draws what stands in the
//! way, and for the engine, which follows it.

use super::rulebook::*;
use super::source::Span;
use petgraph::algo::{tarjan_scc, toposort};
use petgraph::graph::{DiGraph, NodeIndex};

/// Relations that are derived together.
#[derive(Clone, Debug)]
pub struct Layer {
    /// Its relations, ascending.
    pub relations: Vec<usize>,
    /// Findings that conclude one of them.
    pub findings: Vec<FindingId>,
    /// Relations that these findings join, each once, ascending.
    pub reads: Vec<usize>,
    /// How the layer proceeds where its relations rest on their own denial in earlier turns.
    pub turns: Option<Turns>,
}

/// A layer that is derived turn by turn.
#[derive(Clone, Debug)]
pub struct Turns {
    /// Findings that rest on nothing of the layer: they hold before the first turn.
    pub seeds: Vec<FindingId>,
    /// The layer's relations in the order in which they are completed within a turn, each with the findings that
    /// conclude it.
    pub steps: Vec<(usize, Vec<TurnFinding>)>,
}

/// A finding that concludes something of one turn.
#[derive(Clone, Copy, Debug)]
pub struct TurnFinding {
    /// The finding.
    pub finding: FindingId,
    /// The place, among its `given` premises, of the one from a lower layer that says which turn it is.
    pub lead: usize,
    /// The role of that premise which holds the turn.
    pub role: usize,
}

/// How one relation rests on another.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum RestsHow {
    /// A fact must hold.
    Given,
    /// A fact must not hold.
    Unless,
    /// All facts are counted or compared.
    Aggregate,
    /// The program computes it.
    Computed,
    /// It is asked about.
    Asked,
}

/// Why one relation rests on another.
#[derive(Clone, Copy, Debug)]
pub struct Rests {
    /// In which way.
    pub how: RestsHow,
    /// The finding that makes it so; `None` for what a declaration says.
    pub finding: Option<usize>,
    /// Where that is said.
    pub span: Span,
}

/// Which relation rests on which: an edge runs from what is rested on to what rests on it. A relation's node has its index.
pub type RelationGraph = DiGraph<RelationId, Rests>;

/// What leaves a rulebook without an order.
#[derive(Clone, Debug)]
pub enum Disorder {
    /// A denial, a count, a question or a computation inside a circle of relations.
    Circle {
        /// The relations of the circle, ascending.
        members: Vec<usize>,
        /// The relation that is rested on.
        from: usize,
        /// The relation that rests on it.
        to: usize,
        /// Where.
        rests: Rests,
        /// Why turns do not resolve it, where its relations proceed in turns.
        turns: Option<TurnFault>,
    },
    /// A number computed from a relation feeds that relation again, so that it could grow without end.
    Growth {
        /// The finding that computes it.
        finding: usize,
        /// The relation.
        relation: RelationId,
        /// The variable that holds the number.
        variable: VariableId,
    },
}

/// Why a finding does not proceed in turns.
#[derive(Clone, Copy, Debug)]
pub struct TurnFault {
    /// The finding.
    pub finding: usize,
    /// Where in it.
    pub span: Span,
    /// What is wrong.
    pub reason: &'static str,
}

/// The relation graph of a rulebook.
pub fn relation_graph(relations: &[Relation], findings: &[Finding]) -> RelationGraph {
    let mut graph = RelationGraph::new();
    for index in 0..relations.len() {
        graph.add_node(RelationId::new(index));
    }
    let node = |id: RelationId| NodeIndex::new(id.index());
    for (index, relation) in relations.iter().enumerate() {
        let to = NodeIndex::new(index);
        let declared = |how| Rests { how, finding: None, span: relation.span };
        match &relation.origin {
            Origin::Plain => {}
            Origin::Question(question) => {
                graph.add_edge(node(question.subject), to, declared(RestsHow::Asked));
            }
            Origin::Computed { from } => {
                for input in from {
                    graph.add_edge(node(*input), to, declared(RestsHow::Computed));
                }
            }
        }
    }
    for (index, finding) in findings.iter().enumerate() {
        for premise in &finding.premises {
            let Some((pattern, how)) = rests_on(premise) else { continue };
            for conclusion in &finding.hence {
                let rests = Rests { how, finding: Some(index), span: pattern.span };
                graph.add_edge(node(pattern.relation), node(conclusion.relation), rests);
            }
        }
    }
    graph
}

/// The pattern that a premise looks at, and how.
pub fn rests_on(premise: &Premise) -> Option<(&Pattern, RestsHow)> {
    match premise {
        Premise::Given(pattern) => Some((pattern, RestsHow::Given)),
        Premise::Unless(pattern) => Some((pattern, RestsHow::Unless)),
        Premise::Aggregate { members, .. } => Some((members, RestsHow::Aggregate)),
        Premise::Let { .. } | Premise::Where { .. } => None,
    }
}

/// The layers in the order of derivation, or everything that stands in the way of one.
pub fn layers(relations: &[Relation], findings: &[Finding]) -> Result<Vec<Layer>, Vec<Disorder>> {
    let graph = relation_graph(relations, findings);
    let mut components: Vec<Vec<usize>> = tarjan_scc(&graph)
        .into_iter()
        .map(|component| {
            let mut members: Vec<usize> = component.into_iter().map(NodeIndex::index).collect();
            members.sort_unstable();
            members
        })
        .collect();
    components.reverse();
    let mut layer_of = vec![0; relations.len()];
    for (layer, members) in components.iter().enumerate() {
        members.iter().for_each(|relation| layer_of[*relation] = layer);
    }
    // One message a circle: the first offending line in the text stands for it.
    let mut offending: Vec<Option<(usize, usize, Rests)>> = vec![None; components.len()];
    for edge in graph.raw_edges().iter().filter(|edge| edge.weight.how != RestsHow::Given) {
        let (from, to) = (edge.source().index(), edge.target().index());
        let held = &mut offending[layer_of[from]];
        if layer_of[from] == layer_of[to] && held.is_none_or(|(.., other)| edge.weight.span < other.span) {
            *held = Some((from, to, edge.weight));
        }
    }
    let mut disorder = Vec::new();
    let mut layers: Vec<Layer> = Vec::with_capacity(components.len());
    for (layer, members) in components.into_iter().enumerate() {
        let mut turns = None;
        if let Some((from, to, rests)) = offending[layer] {
            match in_turns(relations, findings, &layer_of, &members) {
                Ok(found) => turns = Some(found),
                Err(fault) => disorder.push(Disorder::Circle {
                    members: members.clone(),
                    from,
                    to,
                    rests,
                    turns: fault,
                }),
            }
        }
        layers.push(Layer { relations: members, findings: Vec::new(), reads: Vec::new(), turns });
    }
    disorder.extend(growth(relations, findings, &layer_of));
    if !disorder.is_empty() {
        return Err(disorder);
    }
    for (index, finding) in findings.iter().enumerate() {
        let mut places: Vec<usize> =
            finding.hence.iter().map(|hence| layer_of[hence.relation.index()]).collect();
        places.sort_unstable();
        places.dedup();
        for place in places {
            layers[place].findings.push(FindingId::new(index));
            layers[place].reads.extend(givens(finding).map(|pattern| pattern.relation.index()));
        }
    }
    for layer in &mut layers {
        layer.reads.sort_unstable();
        layer.reads.dedup();
    }
    Ok(layers)
}

fn givens(finding: &Finding) -> impl Iterator<Item = &Pattern> {
    finding.premises.iter().filter_map(|premise| match premise {
        Premise::Given(pattern) => Some(pattern),
        _ => None,
    })
}

/// How a circle of relations proceeds in turns; `Err(None)` where its relations do not say that they do.
fn in_turns(
    relations: &[Relation],
    findings: &[Finding],
    layer_of: &[usize],
    members: &[usize],
) -> Result<Turns, Option<TurnFault>> {
    let layer = layer_of[members[0]];
    let is_inside = |relation: RelationId| layer_of[relation.index()] == layer;
    if members.iter().any(|relation| relations[*relation].turn.is_none()) {
        return Err(None);
    }
    let mut within: DiGraph<usize, ()> = DiGraph::new();
    let nodes: Vec<NodeIndex> = members.iter().map(|relation| within.add_node(*relation)).collect();
    let node = |relation: RelationId| members.binary_search(&relation.index()).map(|at| nodes[at]);
    let mut seeds = Vec::new();
    let mut steps: Vec<(usize, Vec<TurnFinding>)> =
        members.iter().map(|relation| (*relation, Vec::new())).collect();
    for (index, finding) in findings.iter().enumerate() {
        for hence in finding.hence.iter().filter(|hence| is_inside(hence.relation)) {
            let inner: Vec<&Pattern> = finding
                .premises
                .iter()
                .filter_map(rests_on)
                .map(|(pattern, _)| pattern)
                .filter(|pattern| is_inside(pattern.relation))
                .collect();
            if inner.is_empty() {
                seeds.push(FindingId::new(index));
                continue;
            }
            let fault = |span, reason| Some(TurnFault { finding: index, span, reason });
            let turn = |pattern: &Pattern| {
                let role = relations[pattern.relation.index()].turn?;
                match pattern.terms.get(role) {
                    Some(Term::Variable(variable)) => Some(*variable),
                    _ => None,
                }
            };
            let Some(now) = turn(hence) else {
                return Err(fault(hence.span, "the turn that is concluded is not a variable"));
            };
            for pattern in inner {
                match turn(pattern) {
                    Some(then) if then == now => {
                        if let (Ok(from), Ok(to)) = (node(pattern.relation), node(hence.relation)) {
                            within.update_edge(from, to, ());
                        }
                    }
                    Some(then) if is_earlier(finding, then, now) => {}
                    _ => {
                        return Err(fault(
                            pattern.span,
                            "this looks neither at the turn that is concluded nor, by a where or let, at an \
                             earlier one",
                        ));
                    }
                }
            }
            let outer = givens(finding).enumerate().find_map(|(place, pattern)| {
                let role = pattern.terms.iter().position(|term| *term == Term::Variable(now))?;
                let alone = givens(finding).filter(|other| other.relation == pattern.relation).count() == 1;
                (!is_inside(pattern.relation) && alone).then_some((place, role))
            });
            let Some((lead, role)) = outer else {
                return Err(fault(hence.span, "no given outside the circle says which turn it is"));
            };
            let step = members.binary_search(&hence.relation.index()).unwrap_or_default();
            steps[step].1.push(TurnFinding { finding: FindingId::new(index), lead, role });
        }
    }
    seeds.dedup();
    let order = toposort(&within, None).map_err(|circle| {
        let relation = RelationId::new(within[circle.node_id()]);
        let concluding = |finding: &Finding| finding.hence.iter().any(|hence| hence.relation == relation);
        let finding = findings.iter().position(concluding).unwrap_or_default();
        let span = relations[relation.index()].span;
        Some(TurnFault { finding, span, reason: "it rests on itself within one turn" })
    })?;
    let rank = |relation: usize| order.iter().position(|node| within[*node] == relation);
    steps.sort_by_key(|(relation, _)| rank(*relation));
    Ok(Turns { seeds, steps })
}

/// Whether a finding says that one of its variables is less than another.
fn is_earlier(finding: &Finding, then: VariableId, now: VariableId) -> bool {
    let is =
        |expression: &Expression, variable| matches!(expression, Expression::Variable(v) if *v == variable);
    let below_now = |expression: &Expression| match expression {
        Expression::Binary(Operator::Minus, left, right) => {
            is(left, now) && matches!(&**right, Expression::Constant(step) if step.base > 0.0)
        }
        _ => false,
    };
    finding.premises.iter().any(|premise| match premise {
        Premise::Let { variable, formula, .. } => *variable == then && below_now(formula),
        Premise::Where { condition: Condition::Compare { left, comparison, right }, .. } => {
            match comparison {
                Comparison::Less => is(left, then) && is(right, now),
                Comparison::More => is(left, now) && is(right, then),
                Comparison::Equal => is(left, then) && below_now(right) || is(right, then) && below_now(left),
                _ => false,
            }
        }
        _ => false,
    })
}

/// Values reach a role either as they stand or through a computation. A computation on a circle of roles could make new
/// values for ever; without one, every value comes from a lower layer, and there are finitely many of them.
fn growth(relations: &[Relation], findings: &[Finding], layer_of: &[usize]) -> Vec<Disorder> {
    let mut first_role = Vec::with_capacity(relations.len());
    let mut roles = 0;
    for relation in relations {
        first_role.push(roles);
        roles += relation.roles.len();
    }
    let mut graph: DiGraph<(), Option<(usize, RelationId, VariableId)>> = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..roles).map(|_| graph.add_node(())).collect();
    for (index, finding) in findings.iter().enumerate() {
        for hence in &finding.hence {
            let layer = layer_of[hence.relation.index()];
            let origins = Origins { finding, layer_of, layer, first_role: &first_role }.of_variables();
            for (role, term) in hence.terms.iter().enumerate() {
                let Term::Variable(variable) = term else { continue };
                for (source, computed) in &origins[variable.index()] {
                    let blame = computed.then_some((index, hence.relation, *variable));
                    graph.add_edge(nodes[*source], nodes[first_role[hence.relation.index()] + role], blame);
                }
            }
        }
    }
    let mut circle_of = vec![0; roles];
    for (circle, members) in tarjan_scc(&graph).into_iter().enumerate() {
        members.into_iter().for_each(|role| circle_of[role.index()] = circle);
    }
    let mut found: Vec<(usize, RelationId, VariableId)> = graph
        .raw_edges()
        .iter()
        .filter(|edge| circle_of[edge.source().index()] == circle_of[edge.target().index()])
        .filter_map(|edge| edge.weight)
        .collect();
    found.sort_by_key(|(finding, relation, variable)| (*finding, *relation, *variable));
    found.dedup_by_key(|(finding, ..)| *finding);
    found
        .into_iter()
        .map(|(finding, relation, variable)| Disorder::Growth { finding, relation, variable })
        .collect()
}

/// Where the values of a finding's variables come from, within one layer.
struct Origins<'a> {
    finding: &'a Finding,
    layer_of: &'a [usize],
    layer: usize,
    first_role: &'a [usize],
}

impl Origins<'_> {
    /// For each variable, the roles of this layer its values come from, and whether a computation lies between. A
    /// variable that a lower layer binds has none.
    fn of_variables(&self) -> Vec<Vec<(usize, bool)>> {
        let mut origins = vec![Vec::new(); self.finding.variables.len()];
        let mut bounded = vec![false; self.finding.variables.len()];
        for pattern in givens(self.finding) {
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
pub fn variables_of(pattern: &Pattern) -> impl Iterator<Item = (VariableId, usize)> + '_ {
    pattern.terms.iter().enumerate().filter_map(|(role, term)| match term {
        Term::Variable(variable) => Some((*variable, role)),
        Term::Any | Term::Constant(_) => None,
    })
}

/// Adds the variables of a formula, in its order.
pub fn operands_of(formula: &Expression, into: &mut Vec<VariableId>) {
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
