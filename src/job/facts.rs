//! What a job says, as facts of the rulebook's relations. Which relations these are is found in `shapes.rs`.

use super::JobFact;
use super::answer::GivenAnswer;
use super::choice::Choice;
use super::joints::JointRead;
use super::keys::About;
use super::parts::PartRead;
use super::shapes::{JobRelation, JobRelations};
use super::walk::Walk;
use crate::language::{Span, Value};
use crate::quantity::Quantity;
use std::sync::Arc;

/// All facts: parts, joints, the choice, then the answers to questions; each in file order.
pub(super) fn facts(
    reader: &Walk<'_>,
    shapes: &JobRelations,
    parts: &[PartRead],
    joints: &[JointRead],
    shared: &[GivenAnswer],
    choice: &Choice,
) -> Vec<JobFact> {
    let mut facts = Vec::new();
    let mut add = |shape: &Option<JobRelation>, values: &[Value], path: &str, span: Span| {
        facts.extend(shape.as_ref().map(|shape| shape.fact(values, path, span)));
    };
    let symbol = |name: &Arc<str>| Value::Symbol(name.clone());
    let about = |answer: &GivenAnswer| reader.keys.questions[answer.question].about;
    let mut asked = Vec::new();
    let mut ask = |answer: &GivenAnswer, subject: Option<&Arc<str>>| {
        let question = &reader.keys.questions[answer.question];
        let cells = subject.map(symbol).into_iter().chain([answer.value.clone()]).collect();
        let (relation, path) = (question.relation, question.path.clone());
        asked.push(JobFact { relation, cells, path, span: answer.span });
    };
    for part in parts {
        if let Some((alloy, _, span)) = &part.alloy {
            add(&shapes.part, &[symbol(&part.name), symbol(alloy)], "parts.alloy", *span);
        }
        let on_part = shared.iter().filter(|answer| about(answer) == About::Part);
        for answer in part.answers.iter().filter(|answer| about(answer) == About::Part).chain(on_part) {
            ask(answer, Some(&part.name));
        }
    }
    for answer in shared.iter().filter(|answer| about(answer) == About::Job) {
        ask(answer, None);
    }
    for joint in joints {
        let Some(name) = &joint.name else { continue };
        add(&shapes.joint, &[symbol(name)], "joints.name", joint.span);
        if let Some(([first, second], span)) = &joint.between {
            add(&shapes.between, &[symbol(name), symbol(first), symbol(second)], "joints.between", *span);
        }
        if let Some((range, span)) = &joint.dilution {
            add(&shapes.dilution, &[symbol(name), range.clone()], "joints.dilution", *span);
        }
        if let Some(([shear, length], span)) = &joint.load {
            add(&shapes.load, &[symbol(name), shear.clone(), length.clone()], "joints.load", *span);
        }
        let overridden =
            |answer: &&GivenAnswer| joint.answers.iter().any(|own| own.question == answer.question);
        let common = shared.iter().filter(|answer| about(answer) == About::Joint && !overridden(answer));
        for answer in joint.answers.iter().chain(common) {
            ask(answer, Some(name));
        }
    }
    for (filler, span) in &choice.available {
        add(&shapes.stocked, &[symbol(filler)], "choice.available", *span);
    }
    for (index, (criterion, span)) in choice.order.iter().enumerate() {
        let rank = Value::Number(Quantity::number((index + 1) as f64));
        add(&shapes.ranked, &[symbol(criterion), rank], "choice.order", *span);
    }
    facts.extend(asked);
    facts
}
