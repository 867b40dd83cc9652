//! One sentence for the booth: the verdict and what decides it, in a welder's words.

use super::about::{facts_with, plainly};
use crate::engine::Status;
use crate::verdict::{Beaten, Decision, FillerVerdict, JointReport, Level, Standing, Verdict, asked};
use std::collections::BTreeSet;

/// The verdict on a filler in one sentence.
pub(super) fn verdict_sentence(decision: &Decision<'_>, joint: &JointReport, of: &FillerVerdict) -> String {
    let (filler, place) = (&of.filler, &joint.joint);
    match of.verdict {
        Verdict::Recommended => match &joint.decisive {
            Some(decisive) => {
                let reason = decisive.plainly.as_ref().unwrap_or(&decisive.says);
                stopped(&format!("Use {filler} at {place}: {reason}"))
            }
            None => format!("Use {filler} at {place}."),
        },
        Verdict::Barred => match bars(of).next() {
            Some(bar) => {
                let says = bar.says.as_deref().unwrap_or("a finding bars it");
                stopped(&format!("{filler} is barred at {place} on {}: {says}", bar.criterion))
            }
            None => format!("{filler} is barred at {place}."),
        },
        Verdict::Unjudged => unjudged_sentence(joint, of),
        Verdict::Usable => match beaten_by(joint, of) {
            Some(Beaten { filler: winner, criterion }) => {
                let reason = plainly(decision, criterion).map(|reason| format!(": {reason}"));
                stopped(&format!(
                    "{filler} may be used at {place}, but {winner} is better on {criterion}{}",
                    reason.unwrap_or_default()
                ))
            }
            None => format!(
                "{filler} may be used at {place}; whether another filler beats it waits on an answer."
            ),
        },
        Verdict::Open => {
            // Whether it may be used hangs on the answers that could bar it; the others only rank it.
            let barring = barring_questions(decision, place, filler);
            let mut waits: Vec<_> = joint.open.iter().filter(|open| open.decides.contains(filler)).collect();
            waits.sort_by_key(|open| !barring.contains(&open.path));
            match waits.as_slice() {
                [] => format!("Whether {filler} may be used at {place} is open."),
                [one] => format!(
                    "Whether {filler} may be used at {place} waits on an answer: {} ({})",
                    one.question, one.path
                ),
                [first, more @ ..] => format!(
                    "Whether {filler} may be used at {place} waits on an answer: {} ({}), and on {} more.",
                    first.question,
                    first.path,
                    more.len()
                ),
            }
        }
    }
}

/// Where answers are missing that could bar a filler.
fn barring_questions(decision: &Decision<'_>, joint: &str, filler: &str) -> BTreeSet<String> {
    let barred = &decision.vocabulary.barred;
    let about = [(barred.roles[0], joint), (barred.roles[1], filler)];
    facts_with(decision, barred.relation, &about)
        .into_iter()
        .filter(|fact| decision.derivation.status(*fact) == Status::Open)
        .flat_map(|fact| decision.derivation.open_questions(fact))
        .filter_map(|question| Some(asked(&decision.derivation, question)?.1))
        .collect()
}

/// That nobody judged a filler, and on what.
fn unjudged_sentence(joint: &JointReport, of: &FillerVerdict) -> String {
    let on: Vec<&str> = of
        .standings
        .iter()
        .filter(|standing| standing.standing == Level::Unjudged)
        .map(|standing| standing.criterion.as_str())
        .collect();
    format!(
        "{0} cannot be recommended at {1}: nothing in this rulebook judges {0} on {2} here.",
        of.filler,
        joint.joint,
        on.join(", ")
    )
}

/// The sentence above a longer answer, which gives the rest itself.
pub(super) fn lead(decision: &Decision<'_>, joint: &JointReport, of: &FillerVerdict) -> String {
    let (filler, place) = (&of.filler, &joint.joint);
    match (of.verdict, &joint.decisive) {
        (Verdict::Barred, _) => {
            let on: Vec<&str> = bars(of).map(|bar| bar.criterion.as_str()).collect();
            format!("{filler} is barred at {place} on {}.", on.join(", "))
        }
        (Verdict::Unjudged, _) => unjudged_sentence(joint, of),
        (Verdict::Recommended, Some(decisive)) => {
            let reason = decisive.plainly.as_ref().map(|reason| format!(": {reason}")).unwrap_or_default();
            let all = joint.verdicts.len() - 1;
            let against =
                decisive.sentence(&format!(" {}", capital(&decisive.criterion)), all).unwrap_or_default();
            format!("{filler} is recommended at {place}{reason}.{against}")
        }
        (Verdict::Recommended, None) => format!("{filler} is recommended at {place}."),
        _ => verdict_sentence(decision, joint, of),
    }
}

/// What bars a filler, in the job's order of criteria.
pub(super) fn bars(of: &FillerVerdict) -> impl Iterator<Item = &Standing> {
    of.standings.iter().filter(|standing| standing.standing == Level::Barred)
}

/// The filler that a beaten one is weighed against: a recommended one, where there is one.
pub(super) fn beaten_by<'v>(joint: &JointReport, of: &'v FillerVerdict) -> Option<&'v Beaten> {
    let recommended = of.beaten_by.iter().find(|beaten| joint.recommended.contains(&beaten.filler));
    recommended.or(of.beaten_by.first())
}

/// The text with a capital letter.
fn capital(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map(|c| c.to_uppercase().chain(characters).collect()).unwrap_or_default()
}

/// The text with a full stop.
pub(super) fn stopped(text: &str) -> String {
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{text}{stop}")
}
