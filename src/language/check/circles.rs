//! What only the whole rulebook shows: that no finding rests on its own denial, and that no computed number feeds the
//! relation it came from. Both would leave the rules without one answer, or without an end. Whether they do is worked out
//! in `order.rs`; here it is drawn where it was written.

use super::super::diagnostic::Diagnostic;
use super::super::order::{Disorder, RelationGraph, Rests, RestsHow, TurnFault, layers, relation_graph};
use super::super::rulebook::*;
use petgraph::algo::tarjan_scc;
use petgraph::graph::NodeIndex;
use petgraph::visit::EdgeRef;
use std::collections::{HashMap, HashSet, VecDeque};

fn described(how: RestsHow) -> &'static str {
    match how {
        RestsHow::Given => "needs",
        RestsHow::Unless => "needs the absence of",
        RestsHow::Aggregate => "is reckoned over all of",
        RestsHow::Computed => "is computed from",
        RestsHow::Asked => "is asked about",
    }
}

pub(super) fn check(relations: &[Relation], findings: &[Finding]) -> Vec<Diagnostic> {
    let Err(disorder) = layers(relations, findings) else { return Vec::new() };
    let graph = relation_graph(relations, findings);
    let whole = Whole { relations, findings, graph: &graph };
    disorder
        .into_iter()
        .map(|disorder| match disorder {
            Disorder::Circle { members, from, to, rests, turns } => {
                let members: HashSet<NodeIndex> = members.into_iter().map(NodeIndex::new).collect();
                whole.circle(&members, NodeIndex::new(from), NodeIndex::new(to), rests, turns)
            }
            Disorder::Growth { finding, relation, variable } => {
                whole.feeds_itself(&findings[finding], relation, variable)
            }
        })
        .collect()
}

/// The rulebook as it is looked through.
struct Whole<'a> {
    relations: &'a [Relation],
    findings: &'a [Finding],
    graph: &'a RelationGraph,
}

impl Whole<'_> {
    fn name(&self, node: NodeIndex) -> &str {
        self.relations[self.graph[node].index()].name.as_str()
    }

    /// The circle through one offending line, shown finding by finding.
    fn circle(
        &self,
        members: &HashSet<NodeIndex>,
        source: NodeIndex,
        target: NodeIndex,
        offending: Rests,
        turns: Option<TurnFault>,
    ) -> Diagnostic {
        let mut steps = vec![(source, target, offending)];
        steps.extend(shortest(self.graph, members, target, source));
        let lines: Vec<String> = steps
            .iter()
            .map(|(from, to, rests)| {
                let (from, to, how) = (self.name(*from), self.name(*to), described(rests.how));
                match rests.finding {
                    Some(finding) => {
                        format!("\"{to}\" {how} \"{from}\", by the finding {}", self.findings[finding].id)
                    }
                    None => format!("\"{to}\" {how} \"{from}\", by its declaration"),
                }
            })
            .collect();
        let message = match offending.how {
            RestsHow::Unless => format!("\"{}\" rests on its own denial", self.name(target)),
            _ => format!("\"{}\" rests on a whole that it is part of", self.name(target)),
        };
        let mut diagnostic = Diagnostic::new(offending.span, message, "the circle closes here")
            .help(format!("the whole circle:\n{}", lines.join(";\n")));
        for (_, _, rests) in &steps[1..] {
            diagnostic = diagnostic.also(rests.span, "and goes through here");
        }
        if let Some(TurnFault { finding, span, reason }) = turns {
            let id = &self.findings[finding].id;
            diagnostic = diagnostic.also(span, format!("turns do not resolve it, for in {id} {reason}"));
        }
        diagnostic
    }

    /// A finding that concludes a computed number of a relation which, round a circle, is among its own premises.
    fn feeds_itself(&self, finding: &Finding, relation: RelationId, variable: VariableId) -> Diagnostic {
        let to = NodeIndex::new(relation.index());
        let members: HashSet<NodeIndex> = tarjan_scc(self.graph)
            .into_iter()
            .find(|component| component.contains(&to))
            .unwrap_or_default()
            .into_iter()
            .collect();
        let computed = finding.premises.iter().find_map(|premise| match premise {
            Premise::Let { variable: bound, span, .. } if *bound == variable => Some(*span),
            _ => None,
        });
        let premise = finding.premises.iter().find_map(|premise| match premise {
            Premise::Given(pattern) if members.contains(&NodeIndex::new(pattern.relation.index())) => {
                Some(pattern)
            }
            _ => None,
        });
        let way: Vec<String> = premise
            .map(|premise| shortest(self.graph, &members, to, NodeIndex::new(premise.relation.index())))
            .into_iter()
            .flatten()
            .filter_map(|(_, to, rests)| {
                rests.finding.map(|index| format!("{} (to \"{}\")", self.findings[index].id, self.name(to)))
            })
            .collect();
        let round = if way.is_empty() { String::new() } else { format!(", by way of {}", way.join(", ")) };
        let name = &self.relations[relation.index()].name;
        let mut diagnostic = Diagnostic::new(
            computed.unwrap_or(finding.span),
            format!("this number feeds the relation it comes from, \"{name}\""),
            "computed here",
        )
        .help(format!("such a chain need not end; the finding {} leads back to itself{round}", finding.id));
        if let Some(premise) = premise {
            diagnostic = diagnostic.also(premise.span, "from this");
        }
        if let Some(hence) = finding.hence.iter().find(|hence| hence.relation == relation) {
            diagnostic = diagnostic.also(hence.span, "concluded here");
        }
        diagnostic
    }
}

/// A shortest way inside one component.
fn shortest(
    graph: &RelationGraph,
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
