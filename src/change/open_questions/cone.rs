//! The open facts behind some others and the questions at their ends, walked once for all of them.

use super::place::QuestionPlace;
use crate::change::session::Session;
use crate::engine::{Derivation, FactId, Ground, Status};
use crate::language::Origin;
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::visit::Bfs;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What open facts rest on, as far as that is open: a graph with an edge from each fact to those that rest on it.
pub(super) struct DependencyCone {
    graph: DiGraph<FactId, ()>,
    nodes: HashMap<FactId, NodeIndex>,
    /// The unanswered questions, with their facts.
    questions: BTreeMap<QuestionPlace, Vec<NodeIndex>>,
}

impl DependencyCone {
    /// Walks down from some facts.
    pub fn of(
        session: &Session<'_>,
        derivation: &Derivation<'_>,
        roots: impl IntoIterator<Item = FactId>,
    ) -> DependencyCone {
        let mut cone =
            DependencyCone { graph: DiGraph::new(), nodes: HashMap::new(), questions: BTreeMap::new() };
        for root in roots {
            cone.node(derivation, root);
        }
        let mut at = 0;
        while at < cone.graph.node_count() {
            let above = NodeIndex::new(at);
            let fact = cone.graph[above];
            let mut below = Vec::new();
            for ground in derivation.grounds(fact) {
                match ground {
                    Ground::Table(_) | Ground::Given(_) => {}
                    Ground::Unanswered => {
                        if let Some(place) = QuestionPlace::of(session, derivation, fact) {
                            cone.questions.entry(place).or_default().push(above);
                        }
                        // Where it is not even known whether the question comes up, it hangs on what that hangs on.
                        below.extend(subjects(derivation, fact));
                    }
                    Ground::Computed { premises } => below.extend(premises),
                    Ground::Finding(instance) => below.extend(derivation.rests_on(&instance)),
                }
            }
            for fact in below {
                if let Some(node) = cone.node(derivation, fact) {
                    cone.graph.update_edge(node, above, ());
                }
            }
            at += 1;
        }
        cone
    }

    /// The node of an open fact.
    fn node(&mut self, derivation: &Derivation<'_>, fact: FactId) -> Option<NodeIndex> {
        let is_open = derivation.status(fact) == Status::Open;
        is_open.then(|| *self.nodes.entry(fact).or_insert_with(|| self.graph.add_node(fact)))
    }

    /// Every unanswered question in it.
    pub fn questions(&self) -> impl Iterator<Item = &QuestionPlace> {
        self.questions.keys()
    }

    /// The open facts that hang on the answer to a question.
    pub fn hanging_on(&self, place: &QuestionPlace) -> BTreeSet<FactId> {
        let mut hanging = BTreeSet::new();
        for start in self.questions.get(place).into_iter().flatten() {
            let mut walk = Bfs::new(&self.graph, *start);
            while let Some(node) = walk.next(&self.graph) {
                hanging.insert(self.graph[node]);
            }
        }
        hanging
    }
}

/// The facts about which a question is asked.
pub(super) fn subjects(derivation: &Derivation<'_>, question: FactId) -> Vec<FactId> {
    let relation = &derivation.rulebook().relations[question.relation.index()];
    let Origin::Question(asked) = &relation.origin else { return Vec::new() };
    let about = |subject: &FactId| {
        let mut roles = asked.filled_by.iter().enumerate();
        roles.all(|(role, of)| derivation.term(*subject, *of) == derivation.term(question, role))
    };
    derivation.facts(asked.subject).filter(about).collect()
}
