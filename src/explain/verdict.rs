//! Which facts of a derivation answer `why` and `why-not` about a filler at a joint.

use super::about::{facts_with, standing, text};
use super::argument::{Argument, Beside, argued};
use super::brief::{bars, beaten_by, lead, verdict_sentence};
use super::build::{Extent, explain};
use super::graph::Explanation;
use crate::change::{Change, Margin};
use crate::engine::{FactId, Status};
use crate::language::nearest;
use crate::verdict::{Decision, FillerVerdict, JointReport, Level, Report, Standing, Verdict};
use serde::Serialize;
use std::collections::BTreeMap;

/// An answer about one filler at one joint.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// The joint.
    pub joint: String,
    /// The filler.
    pub filler: String,
    /// What the program says of it there.
    pub verdict: Verdict,
    /// The same in one sentence, with what decides it.
    pub brief: String,
    /// The sentence that leads a longer answer.
    #[serde(skip)]
    pub lead: String,
    /// Whether the job looks at the filler. Where it does not, for it lists others alone, all this is what would hold if it were
    /// listed.
    pub listed: bool,
    /// What serves there in its place: fillers that are recommended, other than this one.
    pub instead: Vec<String>,
    /// Why.
    pub derivation: Explanation,
    /// The part of it that decides.
    #[serde(skip)]
    pub argument: Argument,
    /// Changes of the job's facts that would turn the verdict, where they were looked for.
    pub changes: Vec<Change>,
    /// How far the job's facts may move before a recommendation falls, where that was looked for.
    pub margins: Vec<Margin>,
}

/// Why there is no answer.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AnswerError {
    /// The job has no such joint.
    #[error("the job has no joint \"{joint}\"{}", suggestion(nearest, known))]
    UnknownJoint {
        /// As written.
        joint: String,
        /// The nearest name, if one is near.
        nearest: Option<String>,
        /// The joints it has.
        known: Vec<String>,
    },
    /// The filler is not among the candidates at the joint.
    #[error("\"{filler}\" is not among the fillers that this job chooses from{}", suggestion(nearest, known))]
    NotACandidate {
        /// As written.
        filler: String,
        /// The nearest name, if one is near.
        nearest: Option<String>,
        /// Those it chooses from.
        known: Vec<String>,
    },
}

fn suggestion(nearest: &Option<String>, known: &[String]) -> String {
    match nearest {
        Some(near) => format!("; did you mean \"{near}\"?"),
        None if known.len() <= 40 => format!("; there are: {}", known.join(", ")),
        None => String::new(),
    }
}

/// Facts of a relation about a joint and a filler that stands in a certain role.
fn about(decision: &Decision<'_>, which: Which, joint: &str, filler: &str, status: Status) -> Vec<FactId> {
    let words = &decision.vocabulary;
    let (relation, joint_role, filler_role) = match which {
        Which::Recommended => {
            (words.recommended.relation, words.recommended.roles[0], words.recommended.roles[1])
        }
        Which::Usable => (words.usable.relation, words.usable.roles[0], words.usable.roles[1]),
        Which::Barred => (words.barred.relation, words.barred.roles[0], words.barred.roles[1]),
        Which::Unjudged => (words.unjudged.relation, words.unjudged.roles[0], words.unjudged.roles[1]),
        Which::Beaten => (words.beats.relation, words.beats.roles[0], words.beats.roles[2]),
    };
    let mut facts = facts_with(decision, relation, &[(joint_role, joint), (filler_role, filler)]);
    facts.retain(|fact| decision.derivation.status(*fact) == status);
    facts
}

#[derive(Clone, Copy)]
enum Which {
    Recommended,
    Usable,
    Barred,
    Unjudged,
    Beaten,
}

fn first_of(decision: &Decision<'_>, joint: &str, filler: &str, order: &[(Which, Status)]) -> Vec<FactId> {
    order
        .iter()
        .map(|(which, status)| about(decision, *which, joint, filler, *status))
        .find(|facts| !facts.is_empty())
        .unwrap_or_default()
}

fn answer(
    decision: &Decision<'_>,
    said: &Subject<'_>,
    roots: &[FactId],
    argument: Argument,
    extent: Extent,
) -> Answer {
    Answer {
        joint: said.joint.joint.clone(),
        filler: said.of.filler.clone(),
        verdict: said.of.verdict,
        brief: verdict_sentence(decision, said.joint, said.of),
        lead: lead(decision, said.joint, said.of),
        listed: true,
        instead: said.joint.recommended.iter().filter(|other| **other != said.of.filler).cloned().collect(),
        derivation: explain(decision, roots, extent),
        argument,
        changes: Vec::new(),
        margins: Vec::new(),
    }
}

/// What a report says of a filler at a joint.
pub(super) struct Subject<'v> {
    pub joint: &'v JointReport,
    pub of: &'v FillerVerdict,
}

/// Finds a joint and a filler by name, or says what was probably meant.
pub(super) fn said<'v>(
    decision: &Decision<'_>,
    report: &'v Report,
    joint: &str,
    filler: &str,
) -> Result<Subject<'v>, AnswerError> {
    let near = |written: &str, known: &[String]| {
        nearest(written, known.iter().map(String::as_str)).map(str::to_owned)
    };
    let Some(at) = report.joints.iter().find(|known| known.joint == joint) else {
        let known: Vec<String> = report.joints.iter().map(|joint| joint.joint.clone()).collect();
        return Err(AnswerError::UnknownJoint {
            joint: joint.to_owned(),
            nearest: near(joint, &known),
            known,
        });
    };
    match at.verdicts.iter().find(|verdict| verdict.filler == filler) {
        Some(of) => Ok(Subject { joint: at, of }),
        None => {
            let known: Vec<String> = decision.job.available.iter().map(|filler| filler.to_string()).collect();
            Err(AnswerError::NotACandidate {
                filler: filler.to_owned(),
                nearest: near(filler, &known),
                known,
            })
        }
    }
}

/// Why a filler has the verdict that it has at a joint.
pub fn why(
    decision: &Decision<'_>,
    report: &Report,
    joint: &str,
    filler: &str,
    extent: Extent,
) -> Result<Answer, AnswerError> {
    let said = said(decision, report, joint, filler)?;
    let order = [
        (Which::Recommended, Status::Known),
        (Which::Barred, Status::Known),
        (Which::Usable, Status::Known),
        (Which::Barred, Status::Open),
        (Which::Usable, Status::Open),
    ];
    let mut roots = first_of(decision, joint, filler, &order);
    // The verdict rests on what does not stand against the filler; the standings show what speaks for it.
    let criteria = decision.criteria();
    roots.extend(criteria.iter().filter_map(|(_, criterion)| standing(decision, joint, filler, criterion)));
    let decides = decides(&said);
    let opened = decides.map(|decides| decides.standings(decision, &said)).unwrap_or_default();
    // The standing of a filler that beats it belongs to the answer as well.
    let winners: Vec<FactId> = opened.iter().filter(|fact| !roots.contains(fact)).copied().collect();
    roots.extend(winners);
    let beside = said
        .of
        .standings
        .iter()
        .filter(|standing| Some(standing.criterion.as_str()) != decides.map(|decides| decides.criterion));
    let argument = argument(
        decision,
        &opened,
        &roots,
        "On the other criteria",
        beside.map(Beside::of).collect(),
        extent,
    );
    Ok(answer(decision, &said, &roots, argument, extent))
}

/// What stands against a filler at a joint: each bar; or, where nothing bars it, what beats it; or what it waits on. The
/// derivation is empty where nothing stands against it.
pub fn why_not(
    decision: &Decision<'_>,
    report: &Report,
    joint: &str,
    filler: &str,
    extent: Extent,
) -> Result<Answer, AnswerError> {
    let said = said(decision, report, joint, filler)?;
    let order = [
        (Which::Barred, Status::Known),
        (Which::Unjudged, Status::Known),
        (Which::Beaten, Status::Known),
        (Which::Barred, Status::Open),
        (Which::Beaten, Status::Open),
    ];
    if said.of.verdict == Verdict::Recommended {
        let nothing = format!("Nothing stands against {filler} at {joint}: it is recommended.");
        let answer = answer(decision, &said, &[], Argument::default(), extent);
        return Ok(Answer { brief: nothing.clone(), lead: nothing, ..answer });
    }
    let mut roots = first_of(decision, joint, filler, &order);
    let decides = decides(&said);
    if let Some(Decides { winner: Some(winner), .. }) = decides {
        // Of fillers that beat it one is enough for a derivation: each of the others would bring all that it rests on.
        let role = decision.vocabulary.beats.roles[1];
        roots.retain(|fact| text(decision, *fact, role) == winner);
    }
    let opened = decides.map(|decides| decides.standings(decision, &said)).unwrap_or_default();
    let elsewhere = |criterion: &str| Some(criterion) != decides.map(|decides| decides.criterion);
    let same = |standing: &&Standing| {
        standing.standing.word() == said.of.verdict.word() && elsewhere(&standing.criterion)
    };
    let same_standings = || said.of.standings.iter().filter(same).map(Beside::of).collect();
    let (title, beside) = match said.of.verdict {
        Verdict::Barred => ("Barred as well", same_standings()),
        Verdict::Open => ("Open as well", same_standings()),
        Verdict::Unjudged => ("Unjudged as well", same_standings()),
        Verdict::Usable | Verdict::Recommended => ("Beaten as well", beaten_as_well(&said, decides.as_ref())),
    };
    let argument = argument(decision, &opened, &roots, title, beside, extent);
    Ok(answer(decision, &said, &roots, argument, extent))
}

/// The criterion that decides a verdict, and the filler that is better on it, where one beats it.
#[derive(Clone, Copy)]
struct Decides<'v> {
    criterion: &'v str,
    winner: Option<&'v str>,
}

impl Decides<'_> {
    /// The standings that decide: the filler's own, and that of what beats it.
    fn standings(&self, decision: &Decision<'_>, said: &Subject<'_>) -> Vec<FactId> {
        let fillers = [Some(said.of.filler.as_str()), self.winner];
        let of = |filler: &str| standing(decision, &said.joint.joint, filler, self.criterion);
        fillers.into_iter().flatten().filter_map(of).collect()
    }
}

fn decides<'v>(said: &Subject<'v>) -> Option<Decides<'v>> {
    let of = |criterion| Some(Decides { criterion, winner: None });
    match said.of.verdict {
        Verdict::Recommended => of(&said.joint.decisive.as_ref()?.criterion),
        Verdict::Barred => of(&bars(said.of).next()?.criterion),
        Verdict::Open => {
            of(&said.of.standings.iter().find(|standing| standing.standing == Level::Open)?.criterion)
        }
        Verdict::Unjudged => {
            of(&said.of.standings.iter().find(|standing| standing.standing == Level::Unjudged)?.criterion)
        }
        Verdict::Usable => {
            let beaten = beaten_by(said.joint, said.of)?;
            Some(Decides { criterion: &beaten.criterion, winner: Some(&beaten.filler) })
        }
    }
}

/// The other fillers that beat it, by the criterion on which they do.
fn beaten_as_well(said: &Subject<'_>, decides: Option<&Decides<'_>>) -> Vec<Beside> {
    let mut by: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for beaten in &said.of.beaten_by {
        if decides.is_none_or(|decides| decides.winner != Some(&beaten.filler)) {
            by.entry(&beaten.criterion).or_default().push(&beaten.filler);
        }
    }
    let line = |(criterion, fillers): (&str, Vec<&str>)| Beside {
        about: format!("{criterion}: by {}", fillers.join(", ")),
        says: None,
        open: false,
        best: false,
    };
    by.into_iter().map(line).collect()
}

/// The argument for what decides; where nothing single does, for the whole answer's roots.
fn argument(
    decision: &Decision<'_>,
    decisive: &[FactId],
    roots: &[FactId],
    title: &'static str,
    beside: Vec<Beside>,
    extent: Extent,
) -> Argument {
    let about = if decisive.is_empty() { &roots[..roots.len().min(1)] } else { decisive };
    Argument { opened: argued(decision, &explain(decision, about, extent)), title, beside }
}
