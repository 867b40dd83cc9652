//! A report made firm: fillers that are recommended whatever is answered to the open questions are recommended, and of a question
//! that decides, each answer is shown with what it brings. One notion serves the report and the dialogue: both take the
//! open_questions.

use super::{JointState, OpenQuestions};
use crate::verdict::{JointReport, Report, Verdict, WhatIf};

/// Takes into a report what an open_questions on the same job found.
pub fn made_firm(report: &mut Report, open_questions: &OpenQuestions) {
    for joint in &mut report.joints {
        let Some(seen) = open_questions.joints.iter().find(|seen| seen.joint == joint.joint) else {
            continue;
        };
        if seen.settled && joint.recommended != seen.recommended {
            recommend(joint, seen);
        }
        for open in &mut joint.open {
            let asked = open_questions
                .questions
                .iter()
                .find(|asked| asked.path.to_string() == open.path || asked.question == open.question);
            let Some(asked) = asked else { continue };
            let here = asked.answers.iter().filter_map(|alternative| {
                let outcome = alternative.outcome.iter().find(|outcome| outcome.joint == joint.joint)?;
                Some(WhatIf {
                    answer: alternative.answer.clone(),
                    recommended: outcome.recommended.clone(),
                    open: outcome.open.clone(),
                })
            });
            open.answers = here.collect();
        }
        if seen.settled {
            // What is still missing cannot change anything here.
            joint.by_sample = seen.by_sample;
            joint.whatever = joint.open.drain(..).map(|open| open.path).collect();
        }
    }
}

fn recommend(joint: &mut JointReport, seen: &JointState) {
    joint.recommended.clone_from(&seen.recommended);
    for verdict in &mut joint.verdicts {
        if seen.recommended.contains(&verdict.filler) {
            verdict.verdict = Verdict::Recommended;
        }
    }
    joint.verdicts.sort_by_key(|verdict| verdict.verdict);
}
