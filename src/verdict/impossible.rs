//! Answers that cannot be true together, as the rulebook finds them by its relation `impossible(joint, at)`: such a job is
//! refused, with the place of the answer and the finding's sentence, and nothing is decided about it.

use super::finding_sentence;
use crate::engine::{Derivation, Ground, Status};
use crate::job::{Job, JobErrors};
use crate::language::{Diagnostic, Rulebook, Span, Value};

/// What a job says that cannot be; `None` where all of it can, or the rulebook has no such relation.
pub(super) fn impossible(rulebook: &Rulebook, job: &Job, derivation: &Derivation<'_>) -> Option<JobErrors> {
    let relation = rulebook.relation("impossible")?;
    let roles = &rulebook.relations[relation.index()].roles;
    let role = |name: &str| roles.iter().position(|role| role.name == name);
    let (joint_role, at_role) = (role("joint")?, role("at")?);
    let mut diagnostics = Vec::new();
    for fact in derivation.facts(relation).filter(|fact| derivation.status(*fact) == Status::Known) {
        let joint = derivation.cell(fact, joint_role);
        let at = derivation.cell(fact, at_role).map(ToString::to_string).unwrap_or_default();
        for ground in derivation.grounds(fact) {
            let Ground::Finding(instance) = ground else { continue };
            let finding = &rulebook.findings[instance.finding.index()];
            let says = finding_sentence(rulebook, finding, &derivation.bindings(&instance));
            let label = format!("`{at}` cannot be so");
            diagnostics.push(Diagnostic::new(place(job, joint, &at), says, label));
        }
        if derivation.grounds(fact).is_empty() {
            let message = format!("`{at}` cannot be what it is said to be");
            diagnostics.push(Diagnostic::new(place(job, joint, &at), message, "not possible"));
        }
    }
    if diagnostics.is_empty() {
        return None;
    }
    diagnostics.sort_by_key(|diagnostic| diagnostic.span);
    diagnostics.dedup();
    Some(JobErrors { sources: job.sources.clone(), diagnostics })
}

/// Where the answer at a path stands that is about a joint; the joint's own place where it stands nowhere.
fn place(job: &Job, joint: Option<&Value>, at: &str) -> Span {
    let about = job.facts.iter().find(|fact| fact.path == at && fact.cells.first() == joint);
    let named = || {
        job.joints
            .iter()
            .find(|known| matches!(joint, Some(Value::Symbol(name)) if *name == known.name))
            .map(|known| known.span)
    };
    about.map(|fact| fact.span).or_else(named).unwrap_or_default()
}
