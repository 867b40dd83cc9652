//! From recorded grounds to an explanation: a graph of sentences with sources and places. Plain data; no layout.

use super::curves;
use super::formula::{Bindings, condition, is_figure, source_text, with_values};
use super::graph::{EdgeRole, Explanation, Kind, Node};
use crate::engine::{Cell, FactId, Ground, Instance, Met, Status};
use crate::language::{
    Aggregate, Cite, Condition, Expression, Finding, Origin, Pattern, Premise, Relation, Span, Term, Value,
    VariableId,
};
use crate::verdict::{Decision, fact_sentence, finding_sentence, question_sentence, row_sentence, shown};
use std::collections::HashMap;

/// How much of a derivation is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Extent {
    /// For each fact the first way in which it was found.
    First,
    /// Every way.
    Every,
}

/// Explains why these facts hold, or why they are open.
pub fn explain(decision: &Decision<'_>, roots: &[FactId], extent: Extent) -> Explanation {
    let mut builder = Builder::new(decision, extent);
    builder.explanation.roots = roots.iter().map(|root| builder.fact(*root)).collect();
    builder.finish()
}

/// An explanation in the making.
pub(super) struct Builder<'d, 'r> {
    pub(super) decision: &'d Decision<'r>,
    extent: Extent,
    pub(super) explanation: Explanation,
    facts: HashMap<FactId, usize>,
    sources: HashMap<String, usize>,
    waiting: Vec<(FactId, usize)>,
}

fn cited(cites: &[Cite]) -> Option<String> {
    (!cites.is_empty()).then(|| cites.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))
}

impl<'d, 'r> Builder<'d, 'r> {
    pub(super) fn new(decision: &'d Decision<'r>, extent: Extent) -> Self {
        Builder {
            decision,
            extent,
            explanation: Explanation::default(),
            facts: HashMap::new(),
            sources: HashMap::new(),
            waiting: Vec::new(),
        }
    }

    /// Adds the grounds of every fact that was named.
    pub(super) fn finish(mut self) -> Explanation {
        // First come, first served, so that nodes near the roots have small numbers and no recursion is needed.
        let mut at = 0;
        while let Some((fact, node)) = self.waiting.get(at).copied() {
            at += 1;
            self.grounds(fact, node);
        }
        self.explanation
    }

    pub(super) fn node(&mut self, kind: Kind, text: String, open: bool) -> usize {
        let id = self.explanation.nodes.len();
        self.explanation.nodes.push(Node { id, text, open, ..Node::of(kind) });
        id
    }

    pub(super) fn edge(&mut self, from: usize, to: usize, role: EdgeRole) {
        self.explanation.edges.push((from, to, role));
    }

    /// Notes where in the rulebook a node stands.
    pub(super) fn place(&mut self, node: usize, span: Span) {
        let sources = &self.decision.rulebook.sources;
        self.explanation.nodes[node].file = Some(sources.file(span).name.clone());
        self.explanation.nodes[node].line = Some(sources.position(span).0);
    }

    pub(super) fn cite(&mut self, node: usize, cites: &[Cite]) {
        self.explanation.nodes[node].cite = cited(cites);
        for cite in cites {
            let text = cite.to_string();
            let source = match self.sources.get(&text) {
                Some(source) => *source,
                None => {
                    let source = self.node(Kind::Source, text.clone(), false);
                    self.sources.insert(text, source);
                    source
                }
            };
            self.edge(node, source, EdgeRole::Source);
        }
    }

    /// The node of a fact, made where it is new; its grounds are added later.
    pub(super) fn fact(&mut self, fact: FactId) -> usize {
        if let Some(node) = self.facts.get(&fact) {
            return *node;
        }
        let decision = self.decision;
        let open = decision.derivation.status(fact) == Status::Open;
        let grounds = decision.derivation.grounds(fact);
        let derived =
            grounds.iter().any(|ground| matches!(ground, Ground::Finding(_) | Ground::Computed { .. }));
        let unanswered = grounds.contains(&Ground::Unanswered);
        let node = match question_sentence(decision, fact).filter(|_| unanswered) {
            Some((asks, path)) => {
                self.node(Kind::Question, format!("{asks} Not answered yet ({path} in the job file)."), true)
            }
            None => {
                let kind = if derived { Kind::Conclusion } else { Kind::Fact };
                let text = fact_sentence(&decision.derivation, fact);
                self.node(kind, text, open)
            }
        };
        self.explanation.nodes[node].fact = Some(fact);
        self.facts.insert(fact, node);
        self.waiting.push((fact, node));
        node
    }

    fn grounds(&mut self, fact: FactId, node: usize) {
        let decision = self.decision;
        let mut grounds = decision.derivation.grounds(fact);
        if self.extent == Extent::First {
            grounds.truncate(1);
        }
        for ground in grounds {
            match ground {
                Ground::Table(index) => {
                    let row = &decision.rulebook.facts[index];
                    self.place(node, row.span);
                    self.cite(node, &row.cites);
                }
                Ground::Given(index) => {
                    let given = &decision.job.facts[index];
                    let sources = &decision.job.sources;
                    self.explanation.nodes[node].file = Some(sources.file(given.span).name.clone());
                    self.explanation.nodes[node].line = Some(sources.position(given.span).0);
                }
                Ground::Unanswered => {}
                Ground::Computed { premises } => self.computed(fact, node, &premises),
                Ground::Finding(instance) => self.finding(node, &instance),
            }
        }
    }

    fn computed(&mut self, fact: FactId, node: usize, premises: &[FactId]) {
        let decision = self.decision;
        let relation = &decision.rulebook.relations[fact.relation.index()];
        let Some(working) = decision.derivation.working(fact) else { return };
        let open = self.explanation.nodes[node].open;
        let middle = self.node(Kind::Working, format!("computed: {}", working.method), open);
        self.edge(node, middle, EdgeRole::Computed);
        self.place(middle, relation.span);
        for step in working.steps {
            let step = self.node(Kind::Working, step, open);
            self.edge(middle, step, EdgeRole::Step);
        }
        for premise in premises {
            let premise = self.fact(*premise);
            self.edge(middle, premise, EdgeRole::Given);
        }
        let cites: Vec<Cite> = working.cites.iter().chain(&relation.cites).cloned().collect();
        self.cite(middle, &cites);
    }

    fn finding(&mut self, node: usize, instance: &Instance) {
        let decision = self.decision;
        let finding = &decision.rulebook.findings[instance.finding.index()];
        let bindings = decision.derivation.bindings(instance);
        let open = self.explanation.nodes[node].open;
        let middle = self.node(Kind::Finding, finding_sentence(finding, &bindings), open);
        self.explanation.nodes[middle].finding = Some(finding.id.clone());
        self.place(middle, finding.span);
        self.edge(node, middle, EdgeRole::Finding);
        let met = decision.derivation.premises(instance);
        for (premise, met) in finding.premises.iter().zip(met) {
            self.premise(middle, finding, &bindings, premise, met);
        }
        self.cite(middle, &finding.cites);
        if finding.meaning && finding.cites.is_empty() {
            self.explanation.nodes[middle].cite = Some("a word of this rulebook".to_owned());
        }
    }

    fn premise(
        &mut self,
        middle: usize,
        finding: &Finding,
        bindings: &[Option<Cell>],
        premise: &Premise,
        met: Met,
    ) {
        let rulebook = self.decision.rulebook;
        match (premise, met) {
            (_, Met::Given(fact)) => {
                let fact = self.fact(fact);
                self.edge(middle, fact, EdgeRole::Given);
            }
            (_, Met::Unless { relation, sought, open }) => {
                let sentence = row_sentence(&rulebook.relations[relation.index()], &sought);
                let instead = left_out(&rulebook.relations[relation.index()]);
                let text = if let Some(instead) = instead {
                    format!("left out of the job: {instead}")
                } else if open.is_empty() {
                    format!("nothing says: {sentence}")
                } else {
                    format!("not settled whether: {sentence}")
                };
                let absence = self.node(Kind::Absence, text, !open.is_empty());
                self.explanation.nodes[absence].detail = open.is_empty() && instead.is_none();
                self.edge(middle, absence, EdgeRole::Unless);
                for fact in open {
                    let fact = self.fact(fact);
                    self.edge(absence, fact, EdgeRole::Member);
                }
            }
            (Premise::Let { formula, span, variable, value: named }, Met::Let { value, .. }) => {
                let text = source_text(rulebook, *span);
                let name = &finding.variables[variable.index()].name;
                let value_text = shown(&value);
                let (text, short) = if is_figure(formula) {
                    let cites =
                        named.map_or(&[][..], |named| rulebook.values[named.index()].cites.as_slice());
                    let cites: Vec<String> = cites.iter().map(ToString::to_string).collect();
                    let on_whose_word =
                        if cites.is_empty() { String::new() } else { format!(" [{}]", cites.join("; ")) };
                    (format!("{name} = {value_text}{on_whose_word}"), None)
                } else {
                    let put_in = with_values(self.decision, finding, bindings, formula);
                    let tail = if put_in == value_text { String::new() } else { format!(" = {value_text}") };
                    (format!("{text} = {put_in}{tail}"), Some(format!("{name} = {put_in}{tail}")))
                };
                let working = self.node(Kind::Working, text, value == Cell::Unknown);
                self.explanation.nodes[working].detail = short.is_none();
                self.explanation.nodes[working].short = short;
                self.edge(middle, working, EdgeRole::Let);
                self.curves(working, &[formula], bindings);
            }
            (
                Premise::Aggregate { how, over, members: pattern, span, .. },
                Met::Aggregate { members, value, .. },
            ) => {
                let verb = match how {
                    Aggregate::Count => "counted",
                    Aggregate::Sum => "summed",
                    Aggregate::Least => "the least of",
                    Aggregate::Greatest => "the greatest of",
                };
                let count = members.len();
                let plural = if count == 1 { "" } else { "s" };
                let text = format!(
                    "{} = {} ({verb} {count} fact{plural})",
                    source_text(rulebook, *span),
                    shown(&value)
                );
                let aggregate = self.node(Kind::Aggregate, text, value == Cell::Unknown);
                self.edge(middle, aggregate, EdgeRole::Let);
                for fact in self.deciding_first(*how, *over, pattern, members) {
                    let fact = self.fact(fact);
                    self.edge(aggregate, fact, EdgeRole::Member);
                }
            }
            (Premise::Where { condition: asked, span }, Met::Where(status)) => {
                let open = status == Status::Open;
                let put_in = condition(self.decision, finding, bindings, asked);
                let text = source_text(rulebook, *span);
                let short = if open { format!("not settled whether {put_in}") } else { put_in };
                let working = self.node(Kind::Working, format!("{short} ({text})"), open);
                self.explanation.nodes[working].short = Some(short);
                self.explanation.nodes[working].detail = !open && matches!(asked, Condition::Among { .. });
                self.edge(middle, working, EdgeRole::Where);
                self.curves(working, &curves::sides(asked), bindings);
            }
            _ => {}
        }
    }

    /// States below a node of arithmetic how each curve in it was read.
    fn curves(&mut self, below: usize, formulas: &[&Expression], bindings: &Bindings) {
        for reading in curves::readings(self.decision, formulas, bindings) {
            let node = self.node(Kind::Working, reading.text, false);
            self.place(node, reading.curve.span);
            self.cite(node, &reading.curve.cites);
            self.explanation.nodes[node].detail = true;
            self.explanation.nodes[node].points = reading.points;
            self.edge(below, node, EdgeRole::Curve);
        }
    }

    /// The members of an aggregate, those that decide its value first: open ones, then the least, the greatest, or what
    /// makes up most of a sum.
    fn deciding_first(
        &self,
        how: Aggregate,
        over: Option<VariableId>,
        pattern: &Pattern,
        mut members: Vec<FactId>,
    ) -> Vec<FactId> {
        let derivation = &self.decision.derivation;
        let role = over.and_then(|over| pattern.terms.iter().position(|term| *term == Term::Variable(over)));
        let size = |fact: FactId| match role.and_then(|role| derivation.cell(fact, role)) {
            Some(Value::Number(quantity)) => quantity.base,
            _ => 0.0,
        };
        let rank = |fact: FactId| match how {
            Aggregate::Count => 0.0,
            Aggregate::Least => size(fact),
            Aggregate::Greatest => -size(fact),
            Aggregate::Sum => -size(fact).abs(),
        };
        let settled = |fact: FactId| derivation.status(fact) == Status::Known;
        members.sort_by(|a, b| settled(*a).cmp(&settled(*b)).then(rank(*a).total_cmp(&rank(*b))));
        members
    }
}

/// What is taken instead of an answer that may be left out.
fn left_out(relation: &Relation) -> Option<&str> {
    match &relation.origin {
        Origin::Question(question) => question.left_out.as_deref(),
        _ => None,
    }
}
