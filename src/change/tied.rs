//! Whether a rulebook ties joints to each other: then no joint may be decided without the others.

use crate::language::{Finding, Pattern, RelationId, Rulebook, Term, VariableId, rests_on};
use std::collections::BTreeSet;

/// The role by which facts are about a joint.
const JOINT: &str = "joint";

/// Whether some finding on which facts of `decided` may rest looks at two joints, or at joints at large, where it concludes something
/// about one.
pub(super) fn joints_are_tied(rulebook: &Rulebook, bears: &[bool]) -> bool {
    rulebook.findings.iter().any(|finding| {
        let decides = finding
            .hence
            .iter()
            .any(|hence| bears[hence.relation.index()] && joint_of(rulebook, hence.relation).is_some());
        decides && looks_elsewhere(rulebook, finding)
    })
}

fn joint_of(rulebook: &Rulebook, relation: RelationId) -> Option<usize> {
    rulebook.relations[relation.index()].roles.iter().position(|role| role.name == JOINT)
}

fn looks_elsewhere(rulebook: &Rulebook, finding: &Finding) -> bool {
    let term = |pattern: &Pattern| {
        joint_of(rulebook, pattern.relation).and_then(|role| pattern.terms.get(role).cloned())
    };
    let restricted = finding.premises.iter().filter_map(rests_on).map(|(pattern, _)| pattern);
    let mut joints: BTreeSet<VariableId> = BTreeSet::new();
    for pattern in restricted.chain(&finding.hence) {
        match term(pattern) {
            Some(Term::Variable(joint)) => drop(joints.insert(joint)),
            Some(Term::Any | Term::Constant(_)) => return true,
            None => {}
        }
    }
    joints.len() > 1
}
