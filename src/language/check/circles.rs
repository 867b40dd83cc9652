//! What only the whole rulebook shows: that no finding rests on its own denial, and that no computed number feeds the
//! relation it came from. Both would leave the rules without one answer, or without an end.

use super::*;
use petgraph::algo::tarjan_scc;
use petgraph::graph::{DiGraph, EdgeReference, NodeIndex};
use petgraph::visit::EdgeRef;
use std::collections::{HashMap, HashSet, VecDeque};

/// Why one relation rests on another.
#[derive(Clone, Copy)]
struct Rests {
    how: How,
    /// The finding that makes it so; `None` for what a declaration says.
    finding: Option<usize>,
    span: Span,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum How {
    Given,
    Unless,
    Aggregate,
    Computed,
    Asked,
}

impl How {
    fn described(self) -> &'static str {
        match self {
            How::Given => "needs",
            How::Unless => "needs the absence of",
            How::Aggregate => "is reckoned over all of",
            How::Computed => "is computed from",
            How::Asked => "is asked about",
        }
    }
}

type Graph = DiGraph<RelationId, Rests>;

pub(super) fn check(relations: &[Relation], findings: &[Finding]) -> Vec<Diagnostic> {
    let graph = graph(relations, findings);
    let mut diagnostics = Vec::new();
    let mut circles: HashSet<RelationId> = HashSet::new();
    for component in tarjan_scc(&graph) {
        let members: HashSet<NodeIndex> = component.iter().copied().collect();
        let inside = |edge: &EdgeReference<'_, Rests>| {
            members.contains(&edge.source()) && members.contains(&edge.target())
        };
        let loops = component.len() > 1 || graph.contains_edge(component[0], component[0]);
        if !loops {
            continue;
        }
        circles.extend(component.iter().map(|node| graph[*node]));
        let offending = graph.edge_references().filter(inside).filter(|edge| edge.weight().how != How::Given);
        // One message a circle: the first offending line in the text stands for it.
        if let Some(edge) = offending.min_by_key(|edge| edge.weight().span) {
            diagnostics.push(circle(
                relations,
                findings,
                &graph,
                &members,
                edge.source(),
                edge.target(),
                *edge.weight(),
            ));
        }
    }
    for finding in findings {
        diagnostics.extend(feeds_itself(relations, finding, findings, &graph, &circles));
    }
    diagnostics
}

/// An edge runs from what is rested on to what rests on it.
fn graph(relations: &[Relation], findings: &[Finding]) -> Graph {
    let mut graph = Graph::new();
    for index in 0..relations.len() {
        graph.add_node(RelationId::new(index));
    }
    let node = |id: RelationId| NodeIndex::new(id.index());
    for (index, relation) in relations.iter().enumerate() {
        let to = NodeIndex::new(index);
        match &relation.origin {
            Origin::Plain => {}
            Origin::Question(question) => {
                graph.add_edge(
                    node(question.subject),
                    to,
                    Rests { how: How::Asked, finding: None, span: relation.span },
                );
            }
            Origin::Computed { from } => {
                for input in from {
                    graph.add_edge(
                        node(*input),
                        to,
                        Rests { how: How::Computed, finding: None, span: relation.span },
                    );
                }
            }
        }
    }
    for (index, finding) in findings.iter().enumerate() {
        for premise in &finding.premises {
            let (pattern, how) = match premise {
                Premise::Given(pattern) => (pattern, How::Given),
                Premise::Unless(pattern) => (pattern, How::Unless),
                Premise::Aggregate { members, .. } => (members, How::Aggregate),
                _ => continue,
            };
            for conclusion in &finding.hence {
                let rests = Rests { how, finding: Some(index), span: pattern.span };
                graph.add_edge(node(pattern.relation), node(conclusion.relation), rests);
            }
        }
    }
    graph
}

/// The circle through one offending line, told finding by finding.
fn circle(
    relations: &[Relation],
    findings: &[Finding],
    graph: &Graph,
    members: &HashSet<NodeIndex>,
    source: NodeIndex,
    target: NodeIndex,
    offending: Rests,
) -> Diagnostic {
    let mut steps = vec![(source, target, offending)];
    steps.extend(shortest(graph, members, target, source));
    let name = |node: NodeIndex| relations[graph[node].index()].name.as_str();
    let told: Vec<String> = steps
        .iter()
        .map(|(from, to, rests)| match rests.finding {
            Some(finding) => {
                format!(
                    "\"{}\" {} \"{}\", by the finding {}",
                    name(*to),
                    rests.how.described(),
                    name(*from),
                    findings[finding].id
                )
            }
            None => {
                format!("\"{}\" {} \"{}\", by its declaration", name(*to), rests.how.described(), name(*from))
            }
        })
        .collect();
    let message = match offending.how {
        How::Unless => format!("\"{}\" rests on its own denial", name(target)),
        _ => format!("\"{}\" rests on a whole that it is part of", name(target)),
    };
    let mut diagnostic = Diagnostic::new(offending.span, message, "the circle closes here")
        .help(format!("the whole circle:\n{}", told.join(";\n")));
    for (_, _, rests) in &steps[1..] {
        diagnostic = diagnostic.also(rests.span, "and goes through here");
    }
    diagnostic
}

/// A shortest way inside one component.
fn shortest(
    graph: &Graph,
    members: &HashSet<NodeIndex>,
    from: NodeIndex,
    to: NodeIndex,
) -> Vec<(NodeIndex, NodeIndex, Rests)> {
    let mut came: HashMap<NodeIndex, (NodeIndex, Rests)> = HashMap::new();
    let mut queue = VecDeque::from([from]);
    while let Some(node) = queue.pop_front() {
        if node == to {
            break;
        }
        let mut edges: Vec<_> = graph.edges(node).filter(|edge| members.contains(&edge.target())).collect();
        edges.sort_by_key(|edge| edge.weight().span);
        for edge in edges {
            if edge.target() != from && !came.contains_key(&edge.target()) {
                came.insert(edge.target(), (node, *edge.weight()));
                queue.push_back(edge.target());
            }
        }
    }
    let mut steps = Vec::new();
    let mut at = to;
    while at != from {
        let Some((before, rests)) = came.get(&at) else { break };
        steps.push((*before, at, *rests));
        at = *before;
    }
    steps.reverse();
    steps
}

/// A finding that concludes a computed number of a relation which, round a circle, is among its own premises.
fn feeds_itself(
    relations: &[Relation],
    finding: &Finding,
    findings: &[Finding],
    graph: &Graph,
    circles: &HashSet<RelationId>,
) -> Option<Diagnostic> {
    let computed: HashMap<VariableId, Span> = finding
        .premises
        .iter()
        .filter_map(|premise| match premise {
            Premise::Let { variable, span, .. } | Premise::Aggregate { variable, span, .. } => {
                Some((*variable, *span))
            }
            _ => None,
        })
        .collect();
    let (conclusion, span) = finding.hence.iter().find_map(|pattern| {
        let let_span = pattern.terms.iter().find_map(|term| match term {
            Term::Variable(id) => computed.get(id),
            _ => None,
        })?;
        circles.contains(&pattern.relation).then_some((pattern, *let_span))
    })?;
    let to = NodeIndex::new(conclusion.relation.index());
    let component = tarjan_scc(graph).into_iter().find(|component| component.contains(&to))?;
    let members: HashSet<NodeIndex> = component.into_iter().collect();
    let premise = finding.premises.iter().find_map(|premise| match premise {
        Premise::Given(pattern) if members.contains(&NodeIndex::new(pattern.relation.index())) => {
            Some(pattern)
        }
        _ => None,
    })?;
    let from = NodeIndex::new(premise.relation.index());
    let way: Vec<String> = shortest(graph, &members, to, from)
        .iter()
        .filter_map(|(_, to, rests)| {
            rests.finding.map(|index| {
                format!("{} (to \"{}\")", findings[index].id, relations[graph[*to].index()].name)
            })
        })
        .collect();
    let round = if way.is_empty() { String::new() } else { format!(", by way of {}", way.join(", ")) };
    Some(
        Diagnostic::new(
            span,
            format!(
                "this number feeds the relation it comes from, \"{}\"",
                relations[conclusion.relation.index()].name
            ),
            "computed here",
        )
        .also(premise.span, "from this")
        .also(conclusion.span, "concluded here")
        .help(format!("such a chain need not end; the finding {} leads back to itself{round}", finding.id)),
    )
}
