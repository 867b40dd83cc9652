//! Why an open question matters: the findings that judge a filler and rest on its answer.

use super::DecidingQuestion;
use super::with_answers::{JobWithAnswers, symbol};
use crate::change::session::{ChangeError, Session};
use crate::engine::{FactId, Ground, Status};
use crate::job::Job;
use crate::verdict::finding_sentence;
use serde::Serialize;
use std::collections::BTreeSet;

/// A finding that rests on the answer to a question.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct Reason {
    /// The criterion that it judges on.
    pub criterion: String,
    /// The level that it would give.
    pub level: String,
    /// The finding.
    pub finding: String,
    /// What it says of one of the fillers.
    pub says: String,
    /// The rule file.
    pub file: String,
    /// The line there.
    pub line: usize,
    /// The fillers that it judges, at whichever joint.
    pub fillers: Vec<String>,
}

/// The findings that judge fillers still open, and rest on the answer to a question; those that judge most fillers first.
pub fn reasons(
    session: &Session<'_>,
    job: &Job,
    asked: &DecidingQuestion,
) -> Result<Vec<Reason>, ChangeError> {
    let answered = JobWithAnswers { session, job };
    let rulebook = session.rulebook;
    let mut found: Vec<Reason> = Vec::new();
    for joint in &job.joints {
        if !asked.places.iter().any(|place| place.bears_on(session, job, &joint.name)) {
            continue;
        }
        let derivation = answered.derived(&joint.name, &[])?;
        let open = answered.outcome_of(&derivation).open;
        let cone = answered.cone(&derivation);
        let hanging: BTreeSet<FactId> =
            asked.places.iter().flat_map(|place| cone.hanging_on(place)).collect();
        let graded = &session.vocabulary.graded;
        let [_, filler, criterion, level] = graded.roles;
        for fact in derivation.facts(graded.relation) {
            let filler = symbol(&derivation, fact, filler);
            if derivation.status(fact) == Status::Known || !open.contains(&filler) {
                continue;
            }
            for ground in derivation.grounds(fact) {
                let Ground::Finding(instance) = ground else { continue };
                if !derivation.rests_on(&instance).iter().any(|fact| hanging.contains(fact)) {
                    continue;
                }
                let finding = &rulebook.findings[instance.finding.index()];
                let known = found.iter_mut().find(|reason| reason.finding == finding.id);
                if let Some(reason) = known {
                    if !reason.fillers.contains(&filler.to_string()) {
                        reason.fillers.push(filler.to_string());
                    }
                    continue;
                }
                found.push(Reason {
                    criterion: symbol(&derivation, fact, criterion).to_string(),
                    level: symbol(&derivation, fact, level).to_string(),
                    finding: finding.id.clone(),
                    says: finding_sentence(finding, &derivation.bindings(&instance)),
                    file: rulebook.sources.file(finding.span).name.clone(),
                    line: rulebook.sources.position(finding.span).0,
                    fillers: vec![filler.to_string()],
                });
            }
        }
    }
    found.sort_by_key(|reason| std::cmp::Reverse(reason.fillers.len()));
    Ok(found)
}
