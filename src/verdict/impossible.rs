//! Answers that cannot be true together, as the rulebook finds them by its relation `impossible(joint, at)`: such a job is
//! refused, with the place of the answer and the finding's sentence, and nothing is decided about it.

use super::finding_sentence;
use crate::engine::{Derivation, Ground, Status};
use crate::job::{Job, JobErrors};
use crate::language::{Diagnostic, Rulebook, Span, Value};
use crate::relations::{IMPOSSIBLE, Placed};

/// What a job says that cannot be; `None` where all of it can, or the rulebook has no such relation.
pub fn impossible(rulebook: &Rulebook, job: &Job, derivation: &Derivation<'_>) -> Option<JobErrors> {
    let Placed { relation, roles: [joint_role, at_role] } = IMPOSSIBLE.find(rulebook)?;
    let mut found: Vec<Refusal> = Vec::new();
    for fact in derivation.facts(relation).filter(|fact| derivation.status(*fact) == Status::Known) {
        let joint = derivation.cell(fact, joint_role);
        let at = derivation.cell(fact, at_role).map(ToString::to_string).unwrap_or_default();
        let span = place(job, joint, &at);
        let grounds = derivation.grounds(fact);
        let findings = grounds.iter().filter_map(|ground| match ground {
            Ground::Finding(instance) => {
                let finding = &rulebook.findings[instance.finding.index()];
                let says = finding_sentence(finding, &derivation.bindings(instance));
                Some((finding.id.as_str(), Diagnostic::new(span, says, format!("`{at}` cannot be so"))))
            }
            _ => None,
        });
        let mut refused: Vec<(&str, Diagnostic)> = findings.collect();
        if refused.is_empty() {
            let message = format!("`{at}` cannot be what it is said to be");
            refused.push(("", Diagnostic::new(span, message, "not possible")));
        }
        let joint = joint.map(ToString::to_string).unwrap_or_default();
        for (finding, diagnostic) in refused {
            // An answer for the whole job is refused once, though each joint finds it so.
            match found.iter_mut().find(|known| known.finding == finding && known.diagnostic.span == span) {
                Some(known) if known.joint == joint || known.others.contains(&joint) => {}
                Some(known) => known.others.push(joint.clone()),
                None => {
                    let joint = joint.clone();
                    found.push(Refusal {
                        finding: finding.to_owned(),
                        joint,
                        others: Vec::new(),
                        diagnostic,
                    });
                }
            }
        }
    }
    if found.is_empty() {
        return None;
    }
    let mut diagnostics: Vec<Diagnostic> = found.into_iter().map(Refusal::into_diagnostic).collect();
    diagnostics.sort_by_key(|diagnostic| diagnostic.span);
    Some(JobErrors { sources: job.sources.clone(), diagnostics })
}

/// An answer that is refused, and at which joints.
struct Refusal {
    finding: String,
    joint: String,
    others: Vec<String>,
    diagnostic: Diagnostic,
}

impl Refusal {
    fn into_diagnostic(self) -> Diagnostic {
        match self.others.as_slice() {
            [] => self.diagnostic,
            others => self.diagnostic.help(format!("the same holds of {}", others.join(", "))),
        }
    }
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
