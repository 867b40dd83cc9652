//! Which facts of a derivation answer `why` and `why-not` about a filler at a joint.

use super::build::{Explanation, Extent, explain};
use crate::change::{Change, Margin};
use crate::engine::{FactId, Status, TermId};
use crate::language::nearest;
use crate::verdict::{Decision, Verdict};
use serde::Serialize;

/// An answer about one filler at one joint.
#[derive(Clone, Debug, Serialize)]
pub struct Answer {
    /// The joint.
    pub joint: String,
    /// The filler.
    pub filler: String,
    /// What the program says of it there.
    pub verdict: Verdict,
    /// Why.
    pub derivation: Explanation,
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

/// Finds a joint and a filler by name, or says what was probably meant.
fn place(decision: &Decision<'_>, joint: &str, filler: &str) -> Result<(), AnswerError> {
    if !decision.job.joints.iter().any(|known| *known.name == *joint) {
        let known: Vec<String> = decision.job.joints.iter().map(|joint| joint.name.to_string()).collect();
        let near = nearest(joint, known.iter().map(String::as_str)).map(str::to_owned);
        return Err(AnswerError::UnknownJoint { joint: joint.to_owned(), nearest: near, known });
    }
    if !decision.job.available.iter().any(|known| **known == *filler) {
        let known: Vec<String> = decision.job.available.iter().map(|filler| filler.to_string()).collect();
        let near = nearest(filler, known.iter().map(String::as_str)).map(str::to_owned);
        return Err(AnswerError::NotACandidate { filler: filler.to_owned(), nearest: near, known });
    }
    Ok(())
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
        Which::Beaten => (words.beats.relation, words.beats.roles[0], words.beats.roles[2]),
    };
    let is = |fact: FactId, role: usize, name: &str| {
        decision.derivation.cell(fact, role).is_some_and(|value| value.to_string() == name)
    };
    decision
        .derivation
        .facts(relation)
        .filter(|fact| decision.derivation.status(*fact) == status)
        .filter(|fact| is(*fact, joint_role, joint) && is(*fact, filler_role, filler))
        .collect()
}

#[derive(Clone, Copy)]
enum Which {
    Recommended,
    Usable,
    Barred,
    Beaten,
}

fn first_of(decision: &Decision<'_>, joint: &str, filler: &str, order: &[(Which, Status)]) -> Vec<FactId> {
    order
        .iter()
        .map(|(which, status)| about(decision, *which, joint, filler, *status))
        .find(|facts| !facts.is_empty())
        .unwrap_or_default()
}

fn answer(decision: &Decision<'_>, joint: &str, filler: &str, roots: &[FactId], extent: Extent) -> Answer {
    Answer {
        joint: joint.to_owned(),
        filler: filler.to_owned(),
        verdict: verdict(decision, joint, filler),
        derivation: explain(decision, roots, extent),
        changes: Vec::new(),
        margins: Vec::new(),
    }
}

/// The verdict on a filler at a joint.
fn verdict(decision: &Decision<'_>, joint: &str, filler: &str) -> Verdict {
    let holds = |which| !about(decision, which, joint, filler, Status::Known).is_empty();
    Verdict::of(holds(Which::Recommended), holds(Which::Barred), holds(Which::Usable))
}

/// Why a filler has the verdict that it has at a joint.
pub fn why(
    decision: &Decision<'_>,
    joint: &str,
    filler: &str,
    extent: Extent,
) -> Result<Answer, AnswerError> {
    place(decision, joint, filler)?;
    let order = [
        (Which::Recommended, Status::Known),
        (Which::Barred, Status::Known),
        (Which::Usable, Status::Known),
        (Which::Barred, Status::Open),
        (Which::Usable, Status::Open),
    ];
    let mut roots = first_of(decision, joint, filler, &order);
    // The verdict rests on what does not stand against the filler; the standings show what speaks for it.
    roots.extend(standings(decision, joint, filler));
    Ok(answer(decision, joint, filler, &roots, extent))
}

/// The standing on each criterion, in the job's order; the settled one where there is one.
fn standings(decision: &Decision<'_>, joint: &str, filler: &str) -> Vec<FactId> {
    let words = &decision.vocabulary;
    let derivation = &decision.derivation;
    let criteria = decision.criteria();
    let rank = |criterion: TermId| criteria.iter().position(|(known, _)| *known == criterion);
    let is = |fact: FactId, role: usize, name: &str| {
        derivation.cell(fact, role).is_some_and(|value| value.to_string() == name)
    };
    let [joint_role, filler_role, criterion_role, _] = words.standing.roles;
    let mut found: Vec<(usize, TermId, FactId)> = derivation
        .facts(words.standing.relation)
        .filter(|fact| is(*fact, joint_role, joint) && is(*fact, filler_role, filler))
        .map(|fact| {
            let criterion = derivation.term(fact, criterion_role);
            (rank(criterion).unwrap_or(usize::MAX), criterion, fact)
        })
        .collect();
    // Known facts of a relation come before open ones, so the first of a criterion is the settled one.
    found.sort_unstable();
    found.dedup_by_key(|(_, criterion, _)| *criterion);
    found.into_iter().map(|(_, _, fact)| fact).collect()
}

/// What stands against a filler at a joint: each bar; or, where nothing bars it, what beats it; or what it waits on. The
/// derivation is empty where nothing stands against it.
pub fn why_not(
    decision: &Decision<'_>,
    joint: &str,
    filler: &str,
    extent: Extent,
) -> Result<Answer, AnswerError> {
    place(decision, joint, filler)?;
    let order = [
        (Which::Barred, Status::Known),
        (Which::Beaten, Status::Known),
        (Which::Barred, Status::Open),
        (Which::Beaten, Status::Open),
    ];
    let roots = match verdict(decision, joint, filler) {
        Verdict::Recommended => Vec::new(),
        _ => first_of(decision, joint, filler, &order),
    };
    Ok(answer(decision, joint, filler, &roots, extent))
}
