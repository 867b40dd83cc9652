//! Two fillers at one joint beside each other: only what differs between their derivations, what decides first. Plain data;
//! no layout.

use super::about::{facts_with, standing, text};
use super::align::{Grade, Numbers, numbers};
use super::brief::{bars, stopped};
use super::lacking::lacking;
use super::verdict::{AnswerError, said};
use crate::engine::{FactId, Ground, Instance};
use crate::language::{Finding, Pattern, Span, Term, Value};
use crate::verdict::{
    Decision, FillerVerdict, JointReport, Level, Report, Standing, Verdict, finding_sentence,
};
use serde::Serialize;
use std::collections::BTreeSet;

/// Two fillers beside each other.
#[derive(Clone, Debug, Serialize)]
pub struct Contrast {
    /// The joint.
    pub joint: String,
    /// The filler that was asked about, and the one that it is weighed against.
    pub fillers: [String; 2],
    /// Their verdicts.
    pub verdicts: [Verdict; 2],
    /// Which of them is better.
    pub better: Better,
    /// The criterion that decides between them, where one does.
    pub decisive: Option<String>,
    /// The same in one sentence.
    pub brief: String,
    /// The sentence above a longer answer, which gives the rest itself.
    #[serde(skip)]
    pub lead: String,
    /// Criteria on which they differ: the decisive one first, the others in the job's order.
    pub differences: Vec<Difference>,
    /// Criteria on which they stand alike.
    pub equal: Vec<String>,
    /// Criteria on which both wait on an answer.
    pub waiting: Vec<String>,
}

/// Which of two fillers is better.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Better {
    /// The one that was asked about.
    First,
    /// The one that it is weighed against.
    Second,
    /// Neither: both are barred, or equal in everything.
    Neither,
    /// An answer is missing that decides between them.
    Open,
}

/// A criterion on which two fillers differ.
#[derive(Clone, Debug, Serialize)]
pub struct Difference {
    /// The criterion.
    pub criterion: String,
    /// How each stands on it, and by what.
    pub sides: [Side; 2],
    /// Numbers and words that differ between the facts behind it.
    pub numbers: Vec<Numbers>,
    /// Findings that apply to one of them alone.
    pub only: Vec<OneSided>,
    /// How many findings apply to both; they are left out.
    pub shared: usize,
}

/// How a filler stands on a criterion.
#[derive(Clone, Debug, Serialize)]
pub struct Side {
    /// The standing, or `open`.
    pub standing: String,
    /// The finding that set it.
    pub finding: Option<String>,
    /// What it says.
    pub says: Option<String>,
}

/// A finding that applies to one of two fillers.
#[derive(Clone, Debug, Serialize)]
pub struct OneSided {
    /// The filler that it applies to.
    pub filler: String,
    /// The finding.
    pub finding: String,
    /// What it says of that filler.
    pub says: String,
    /// On whose authority.
    pub cite: String,
    /// The rule file.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
    /// What the other filler lacks for it; empty where that waits on an answer.
    pub other_lacks: Vec<String>,
}

/// Sets two fillers beside each other at a joint. The derivation must have everything recorded.
pub fn contrast(
    decision: &Decision<'_>,
    report: &Report,
    joint: &str,
    fillers: [&str; 2],
) -> Result<Contrast, AnswerError> {
    let first = said(decision, report, joint, fillers[0])?;
    let second = said(decision, report, joint, fillers[1])?;
    let sides = [first.of, second.of];
    let (better, decisive) = better(decision, sides);
    let mut contrast = Contrast {
        joint: joint.to_owned(),
        fillers: fillers.map(str::to_owned),
        verdicts: sides.map(|side| side.verdict),
        better,
        brief: brief(first.joint, sides, better, decisive.as_deref(), true),
        lead: brief(first.joint, sides, better, decisive.as_deref(), false),
        decisive,
        differences: Vec::new(),
        equal: Vec::new(),
        waiting: Vec::new(),
    };
    for (_, criterion) in decision.criteria() {
        let levels = sides.map(|side| level(side, &criterion));
        match levels {
            [Some(Level::Open), Some(Level::Open)] => contrast.waiting.push(criterion),
            [first, second] if first == second => contrast.equal.push(criterion),
            _ => contrast.differences.push(difference(decision, joint, sides, &criterion)),
        }
    }
    let decisive = contrast.decisive.clone();
    contrast.differences.sort_by_key(|difference| Some(&difference.criterion) != decisive.as_ref());
    Ok(contrast)
}

fn level(of: &FillerVerdict, criterion: &str) -> Option<Level> {
    let standing = of.standings.iter().find(|standing| standing.criterion == criterion)?;
    Some(standing.standing)
}

/// Which filler is better, and on which criterion. What findings concluded counts first; where none compares the two, as
/// between fillers that were both out before, the first criterion in the job's order on which they differ does.
fn better(decision: &Decision<'_>, sides: [&FillerVerdict; 2]) -> (Better, Option<String>) {
    let [first, second] = sides;
    let beats = |loser: &FillerVerdict, winner: &FillerVerdict| {
        let beaten = loser.beaten_by.iter().find(|beaten| beaten.filler == winner.filler)?;
        Some(beaten.criterion.clone())
    };
    let out = |standing: &&Standing| matches!(standing.standing, Level::Barred | Level::Unjudged);
    let bar = |of: &FillerVerdict| of.standings.iter().find(out).map(|bar| bar.criterion.clone());
    if let Some(criterion) = beats(second, first) {
        return (Better::First, Some(criterion));
    }
    if let Some(criterion) = beats(first, second) {
        return (Better::Second, Some(criterion));
    }
    match sides.map(|side| side.verdict) {
        [Verdict::Barred | Verdict::Unjudged, Verdict::Barred | Verdict::Unjudged] => {
            return (Better::Neither, None);
        }
        [Verdict::Open, _] | [_, Verdict::Open] => return (Better::Open, None),
        [_, Verdict::Barred | Verdict::Unjudged] => return (Better::First, bar(second)),
        [Verdict::Barred | Verdict::Unjudged, _] => return (Better::Second, bar(first)),
        _ => {}
    }
    for (_, criterion) in decision.criteria() {
        match sides.map(|side| level(side, &criterion)) {
            [Some(Level::Open), _] | [_, Some(Level::Open)] => return (Better::Open, None),
            [Some(one), Some(other)] if one != other => {
                let better = if one < other { Better::First } else { Better::Second };
                return (better, Some(criterion));
            }
            _ => {}
        }
    }
    (Better::Neither, None)
}

fn brief(
    joint: &JointReport,
    sides: [&FillerVerdict; 2],
    better: Better,
    decisive: Option<&str>,
    with_reason: bool,
) -> String {
    let place = &joint.joint;
    let [first, second] = sides.map(|side| side.filler.as_str());
    let barred_on = |of: &FillerVerdict| {
        let on: Vec<&str> = bars(of).map(|bar| bar.criterion.as_str()).collect();
        format!("{} on {}", of.filler, on.join(", "))
    };
    let (winner, loser, opening) = match better {
        Better::First => (sides[0], sides[1], format!("{first} is better than {second} at {place}")),
        Better::Second => {
            (sides[1], sides[0], format!("Not {first} but {second} is the better one at {place}"))
        }
        Better::Neither if sides[0].verdict == Verdict::Barred => {
            return format!("Both are barred at {place}: {}; {}.", barred_on(sides[0]), barred_on(sides[1]));
        }
        Better::Neither => return format!("{first} and {second} are equal at {place} on every criterion."),
        Better::Open => {
            let barred = sides.iter().find(|side| side.verdict == Verdict::Barred);
            let waits =
                joint.open.iter().find(|open| sides.iter().any(|side| open.decides.contains(&side.filler)));
            let question =
                waits.map(|open| format!(": {} ({})", open.question, open.path)).unwrap_or_default();
            return stopped(&match barred {
                Some(barred) => format!(
                    "{} is barred at {place}; whether the other may be used waits on an answer{question}",
                    barred_on(barred)
                ),
                None => {
                    format!("Which of {first} and {second} is better at {place} waits on an answer{question}")
                }
            });
        }
    };
    let Some(criterion) = decisive else { return stopped(&opening) };
    let says = |of: &FillerVerdict| {
        let standing = of.standings.iter().find(|standing| standing.criterion == criterion);
        standing.and_then(|standing| standing.says.clone())
    };
    if loser.verdict == Verdict::Unjudged {
        return stopped(&format!("{opening}, for nothing judges {} on {criterion}", loser.filler));
    }
    if loser.verdict == Verdict::Barred {
        let why = says(loser).filter(|_| with_reason).map(|says| format!(": {says}")).unwrap_or_default();
        return stopped(&format!("{opening}, for {} is barred on {criterion}{why}", loser.filler));
    }
    stopped(&format!(
        "{opening}, for on {criterion}, the first criterion on which they differ, it is {} and {} {}",
        level(winner, criterion).map_or("not graded", Level::word),
        loser.filler,
        level(loser, criterion).map_or("not graded", Level::word)
    ))
}

fn difference(
    decision: &Decision<'_>,
    joint: &str,
    sides: [&FillerVerdict; 2],
    criterion: &str,
) -> Difference {
    let side = |of: &FillerVerdict| {
        let standing = of.standings.iter().find(|standing| standing.criterion == criterion);
        Side {
            standing: standing
                .map_or_else(|| "not graded".to_owned(), |standing| standing.standing.to_string()),
            finding: standing.and_then(|standing| standing.finding.clone()),
            says: standing.and_then(|standing| standing.says.clone()),
        }
    };
    let grades = sides.map(|of| grades(decision, joint, &of.filler, criterion));
    let deciding = [0, 1].map(|at: usize| deciding(decision, joint, sides[at], criterion, &grades[at]));
    let named = |at: usize| -> BTreeSet<&str> {
        grades[at].iter().map(|grade| finding_of(decision, &grade.instance).id.as_str()).collect()
    };
    let shared = named(0).intersection(&named(1)).count();
    let mut only = Vec::new();
    for (at, other) in [(0, 1), (1, 0)] {
        let theirs = named(other);
        let mut seen = BTreeSet::new();
        for grade in &grades[at] {
            let id = finding_of(decision, &grade.instance).id.as_str();
            if !theirs.contains(id) && seen.insert(id) {
                only.push(one_sided(decision, joint, sides[at], sides[other], grade));
            }
        }
    }
    let numbers = match deciding {
        [Some(first), Some(second)] => {
            numbers(decision, [first, second], sides.map(|side| side.filler.as_str()))
        }
        _ => Vec::new(),
    };
    Difference { criterion: criterion.to_owned(), sides: sides.map(side), numbers, only, shared }
}

fn finding_of<'r>(decision: &Decision<'r>, instance: &Instance) -> &'r Finding {
    &decision.rulebook.findings[instance.finding.index()]
}

/// Every finding that grades a filler at a joint on a criterion.
fn grades(decision: &Decision<'_>, joint: &str, filler: &str, criterion: &str) -> Vec<Grade> {
    let words = &decision.vocabulary.graded;
    let [joint_role, filler_role, criterion_role, _] = words.roles;
    let names = [(joint_role, joint), (filler_role, filler), (criterion_role, criterion)];
    let instances = |fact: FactId| {
        decision.derivation.grounds(fact).into_iter().filter_map(move |ground| match ground {
            Ground::Finding(instance) => Some(Grade { fact, instance }),
            _ => None,
        })
    };
    facts_with(decision, words.relation, &names).into_iter().flat_map(instances).collect()
}

/// The grade that sets the standing.
fn deciding<'g>(
    decision: &Decision<'_>,
    joint: &str,
    of: &FillerVerdict,
    criterion: &str,
    grades: &'g [Grade],
) -> Option<&'g Grade> {
    let fact = standing(decision, joint, &of.filler, criterion)?;
    let level = text(decision, fact, decision.vocabulary.standing.roles[3]);
    let level_role = decision.vocabulary.graded.roles[3];
    grades.iter().find(|grade| text(decision, grade.fact, level_role) == level)
}

fn one_sided(
    decision: &Decision<'_>,
    joint: &str,
    of: &FillerVerdict,
    other: &FillerVerdict,
    grade: &Grade,
) -> OneSided {
    let finding = finding_of(decision, &grade.instance);
    let bindings = decision.derivation.bindings(&grade.instance);
    let sources = &decision.rulebook.sources;
    let words = &decision.vocabulary.graded;
    // The same grade, asked of the other filler.
    let cells = decision.derivation.cells(grade.fact);
    let mut terms: Vec<Term> = cells
        .iter()
        .map(|cell| cell.value().map_or(Term::Any, |value| Term::Constant(value.clone())))
        .collect();
    terms[words.roles[1]] = Term::Constant(Value::Symbol(other.filler.as_str().into()));
    debug_assert_eq!(text(decision, grade.fact, words.roles[0]), joint);
    let pattern = Pattern { relation: words.relation, terms, span: Span::default() };
    let attempts = decision.derivation.attempts(&pattern);
    let attempt = attempts.iter().find(|attempt| attempt.finding == grade.instance.finding);
    let other_lacks = attempt.map(|attempt| {
        let lacks = attempt.failures.iter().map(|failure| lacking(decision, attempt, failure));
        lacks.collect()
    });
    OneSided {
        filler: of.filler.clone(),
        finding: finding.id.clone(),
        says: finding_sentence(finding, &bindings),
        cite: finding.cites.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "),
        file: sources.file(finding.span).name.clone(),
        line: sources.position(finding.span).0,
        other_lacks: other_lacks.unwrap_or_default(),
    }
}
