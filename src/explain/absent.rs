//! Any fact that somebody asks about: why it holds, or why it is not there. For an absent fact the findings that could have
//! given it are shown, nearest first, with what each lacks, and why that is absent in turn; cut to what matters.

use super::about::pattern_with;
use super::argument::argued;
use super::build::{Builder, Extent, explain};
use super::graph::{EdgeRole, Explanation, Kind};
use super::lacking::lacking;
use crate::engine::{Attempt, Cell, FactId, Lack, Status};
use crate::language::{Origin, Pattern, RelationId, Span, Term, Type, Value};
use crate::verdict::{Decision, fact_sentence, question_sentence, row_sentence};
use serde::Serialize;

/// The answer about a fact.
#[derive(Clone, Debug, Serialize)]
pub struct Inquiry {
    /// The fact, as a sentence.
    pub asked: String,
    /// Whether it holds.
    pub status: Presence,
    /// The answer in one sentence.
    pub brief: String,
    /// Why.
    pub derivation: Explanation,
    /// The part of it that decides.
    #[serde(skip)]
    pub opened: Explanation,
}

/// Whether a fact holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Presence {
    /// It holds.
    Known,
    /// It hangs on an unanswered question.
    Open,
    /// It does not hold, whatever the answers.
    Absent,
}

/// Absent facts are followed this deep.
const DEEPEST: usize = 4;

/// Of the findings that could have given a fact this many are shown, the nearest.
const FINDINGS_TOLD: usize = 3;

/// Of the facts that stand where another was looked for this many are shown.
const OTHERS_TOLD: usize = 2;

/// The fact that a filler is looked at for a joint.
pub fn candidate(decision: &Decision<'_>, joint: &str, filler: &str) -> Pattern {
    let words = &decision.vocabulary.candidate;
    pattern_with(decision, words.relation, &[(words.roles[0], joint), (words.roles[1], filler)])
}

/// Answers about the facts of a pattern.
pub fn inquire(decision: &Decision<'_>, pattern: &Pattern, extent: Extent) -> Inquiry {
    let relation = &decision.rulebook.relations[pattern.relation.index()];
    let asked = row_sentence(relation, &cells(pattern));
    let found: Vec<FactId> =
        decision.derivation.facts(pattern.relation).filter(|fact| meets(decision, *fact, pattern)).collect();
    let (known, open): (Vec<FactId>, Vec<FactId>) =
        found.into_iter().partition(|fact| decision.derivation.status(*fact) == Status::Known);
    let (status, facts) = match (known.is_empty(), open.is_empty()) {
        (false, _) => (Presence::Known, known),
        (true, false) => (Presence::Open, open),
        (true, true) => return absent(decision, pattern, asked),
    };
    let derivation = explain(decision, &facts, extent);
    let brief = match (status, facts.len()) {
        (Presence::Open, _) => {
            let questions = decision.derivation.open_questions(facts[0]);
            let asks = questions.first().and_then(|question| question_sentence(decision, *question));
            let waits = asks.map(|(asks, path)| format!(": {asks} ({path})")).unwrap_or_default();
            format!("Whether {asked} waits on an answer{waits}")
        }
        (_, 1) => format!("It holds: {}.", fact_sentence(&decision.derivation, facts[0])),
        (_, count) => format!("{count} facts are there: {asked}."),
    };
    Inquiry { asked, status, brief, opened: argued(decision, &derivation), derivation }
}

/// Whether a fact has a pattern's constants, or may still have them.
fn meets(decision: &Decision<'_>, fact: FactId, pattern: &Pattern) -> bool {
    pattern.terms.iter().enumerate().all(|(role, term)| match term {
        Term::Constant(value) => decision.derivation.cell(fact, role).is_none_or(|cell| cell == value),
        Term::Any | Term::Variable(_) => true,
    })
}

fn cells(pattern: &Pattern) -> Vec<Option<Cell>> {
    let cell = |term: &Term| match term {
        Term::Constant(value) => Some(Cell::Value(value.clone())),
        Term::Any | Term::Variable(_) => None,
    };
    pattern.terms.iter().map(cell).collect()
}

fn absent(decision: &Decision<'_>, pattern: &Pattern, asked: String) -> Inquiry {
    let brief = match nearest_lack(decision, pattern) {
        Some((finding, lacks)) => format!("Nothing says: {asked}. Nearest is {finding}: {lacks}."),
        None => format!("Nothing says: {asked}."),
    };
    let mut builder = Builder::new(decision, Extent::First);
    let mut path = Vec::new();
    let root = missing(&mut builder, pattern, &mut path);
    builder.explanation.roots = vec![root];
    let derivation = builder.finish();
    Inquiry { asked, status: Presence::Absent, brief, opened: argued(decision, &derivation), derivation }
}

/// The finding that came nearest and what it lacks; where that is another fact, what that lacks in turn.
fn nearest_lack(decision: &Decision<'_>, pattern: &Pattern) -> Option<(String, String)> {
    let mut sought = pattern.clone();
    let mut nearest = None;
    for _ in 0..DEEPEST {
        let attempts = attempts(decision, &sought);
        let Some(attempt) = attempts.first() else { break };
        let failure = &attempt.failures[0];
        let finding = &decision.rulebook.findings[attempt.finding.index()];
        nearest = Some((finding.id.clone(), lacking(decision, attempt, failure)));
        match &failure.lacks {
            Lack::Fact { relation, sought: cells } => sought = pattern_of(*relation, cells),
            _ => break,
        }
    }
    nearest
}

/// The pattern of what was looked for.
fn pattern_of(relation: RelationId, sought: &[Option<Cell>]) -> Pattern {
    let term = |cell: &Option<Cell>| match cell.as_ref().and_then(Cell::value) {
        Some(value) => Term::Constant(value.clone()),
        None => Term::Any,
    };
    Pattern { relation, terms: sought.iter().map(term).collect(), span: Span::default() }
}

/// The findings that could have given a fact, nearest first: those that lack little, a number before a fact.
fn attempts(decision: &Decision<'_>, pattern: &Pattern) -> Vec<Attempt> {
    let mut attempts = decision.derivation.attempts(pattern);
    let rank = |attempt: &Attempt| {
        let first = match attempt.failures[0].lacks {
            Lack::Condition { gap: Some(gap) } => gap,
            Lack::Condition { gap: None } | Lack::Blocked(_) => 1.0,
            Lack::Value(_) => 2.0,
            // An answer or a row of a table that is not there is nearer than what findings would have to conclude.
            Lack::Fact { ref sought, relation } => {
                let derived = !decision.derivation.attempts(&pattern_of(relation, sought)).is_empty();
                if derived { 3.0 } else { 0.5 }
            }
        };
        (attempt.failures.len(), first)
    };
    let mut ranked: Vec<(usize, f64, Attempt)> = attempts
        .drain(..)
        .map(|attempt| {
            let (failures, first) = rank(&attempt);
            (failures, first, attempt)
        })
        .collect();
    ranked.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    ranked.into_iter().map(|(_, _, attempt)| attempt).collect()
}

/// Explains that a fact is missing, and why. `path` holds what is being explained, so that no circle is followed.
fn missing(
    builder: &mut Builder<'_, '_>,
    pattern: &Pattern,
    path: &mut Vec<(RelationId, Vec<Term>)>,
) -> usize {
    let decision = builder.decision;
    let relation = &decision.rulebook.relations[pattern.relation.index()];
    let sentence = row_sentence(relation, &cells(pattern));
    let node = builder.node(Kind::Absence, format!("nothing says: {sentence}"), false);
    let key = (pattern.relation, pattern.terms.clone());
    if path.contains(&key) {
        return node;
    }
    let attempts = attempts(decision, pattern);
    if attempts.is_empty() || matches!(relation.origin, Origin::Question(_)) {
        instead(builder, node, pattern);
        return node;
    }
    if path.len() >= DEEPEST {
        let text = format!("to be asked about by itself: {}", in_rulebook_words(decision, pattern));
        let hint = builder.node(Kind::Aggregate, text, false);
        builder.edge(node, hint, EdgeRole::Attempt);
        return node;
    }
    path.push(key);
    for attempt in attempts.iter().take(FINDINGS_TOLD) {
        let finding = self::attempt(builder, attempt, path);
        builder.edge(node, finding, EdgeRole::Attempt);
    }
    path.pop();
    if let Some(more @ 1..) = attempts.len().checked_sub(FINDINGS_TOLD) {
        let plural = if more == 1 { "" } else { "s" };
        let text = format!("and {more} more finding{plural}, which lack more");
        let rest = builder.node(Kind::Aggregate, text, false);
        builder.edge(node, rest, EdgeRole::Attempt);
    }
    node
}

/// A pattern as it is written in a rulebook.
fn in_rulebook_words(decision: &Decision<'_>, pattern: &Pattern) -> String {
    let plain = |text: &str| text.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '.'));
    let term = |term: &Term| match term {
        Term::Constant(Value::Symbol(text)) if !plain(text) => format!("\"{text}\""),
        Term::Constant(value) => value.to_string(),
        Term::Any | Term::Variable(_) => "_".to_owned(),
    };
    let terms: Vec<String> = pattern.terms.iter().map(term).collect();
    format!("{}({})", decision.rulebook.relations[pattern.relation.index()].name, terms.join(", "))
}

/// Shows what a finding lacks.
fn attempt(
    builder: &mut Builder<'_, '_>,
    attempt: &Attempt,
    path: &mut Vec<(RelationId, Vec<Term>)>,
) -> usize {
    let decision = builder.decision;
    let finding = &decision.rulebook.findings[attempt.finding.index()];
    let node = builder.node(Kind::Finding, format!("{} would give it, but", finding.id), false);
    builder.explanation.nodes[node].finding = Some(finding.id.clone());
    builder.explanation.nodes[node].missed = true;
    builder.place(node, finding.span);
    builder.cite(node, &finding.cites);
    for failure in &attempt.failures {
        let below = match &failure.lacks {
            Lack::Fact { relation, sought } => missing(builder, &pattern_of(*relation, sought), path),
            Lack::Blocked(fact) => builder.fact(*fact),
            Lack::Condition { .. } | Lack::Value(_) => {
                builder.node(Kind::Working, lacking(decision, attempt, failure), false)
            }
        };
        builder.edge(node, below, EdgeRole::Fails);
    }
    // What would have to be answered besides.
    let open = attempt.premises.iter().filter(|fact| decision.derivation.status(**fact) == Status::Open);
    let questions = open.flat_map(|fact| decision.derivation.open_questions(*fact));
    for question in questions {
        let question = builder.fact(question);
        if !builder.explanation.edges.contains(&(node, question, EdgeRole::Waits)) {
            builder.edge(node, question, EdgeRole::Waits);
        }
    }
    node
}

/// Says what stands where a fact was looked for: the same but for one word or number, or what is taken where a question was
/// left out.
fn instead(builder: &mut Builder<'_, '_>, node: usize, pattern: &Pattern) {
    let decision = builder.decision;
    let relation = &decision.rulebook.relations[pattern.relation.index()];
    let mut found = Vec::new();
    let asked = pattern.terms.iter().filter(|term| matches!(term, Term::Constant(_))).count();
    for (role, term) in pattern.terms.iter().enumerate() {
        // Another joint's answer is beside the point; where a name alone was looked for, other names are what there is.
        if !matches!(term, Term::Constant(_)) || relation.roles[role].ty == Type::Name && asked > 1 {
            continue;
        }
        let mut looser = pattern.clone();
        looser.terms[role] = Term::Any;
        found.extend(
            decision.derivation.facts(pattern.relation).filter(|fact| meets(decision, *fact, &looser)),
        );
    }
    found.sort_unstable();
    found.dedup();
    for fact in found.iter().take(OTHERS_TOLD) {
        let fact = builder.fact(*fact);
        builder.edge(node, fact, EdgeRole::Instead);
    }
    if let Some(more @ 1..) = found.len().checked_sub(OTHERS_TOLD) {
        let rest = builder.node(Kind::Aggregate, format!("and {more} more that differ in one place"), false);
        builder.edge(node, rest, EdgeRole::Instead);
    }
    let left_out = match &relation.origin {
        Origin::Question(question) if found.is_empty() => question.left_out.as_ref(),
        _ => None,
    };
    if let Some(taken) = left_out {
        let taken = builder.node(Kind::Absence, format!("left out of the job: {taken}"), false);
        builder.edge(node, taken, EdgeRole::Instead);
    }
}
