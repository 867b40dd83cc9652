//! Every finding of the rulebook is at work somewhere: in an expectation that travels with the rules, in an example, or in a
//! test that is named here. A finding that nothing reaches may be wrong without anyone knowing.

use crate::support::program::library::{decided, rulebook};
use crate::support::program::root;
use std::collections::BTreeSet;
use whyrod::verdict::check_expectations;

/// Findings that neither an expectation nor an example reaches: each with the test that does, or the reason why none does.
/// One that is reached must go from this list.
const EXCEPTIONS: &[(&str, &str)] = &[(
    "index.no-path",
    "no pool of the full matrix stalls before its end; tests/freezing/properties.rs freezes random ones",
)];

/// The findings at work in an example job.
fn reached_by_examples() -> BTreeSet<String> {
    let mut reached = BTreeSet::new();
    for entry in std::fs::read_dir(root().join("examples")).expect("the examples") {
        let path = entry.expect("an example").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let decision = decided(&std::fs::read_to_string(path).expect("an example"));
            let applied = decision.derivation.applied().into_iter().zip(&rulebook().findings);
            reached.extend(applied.filter(|(applied, _)| *applied).map(|(_, finding)| finding.id.clone()));
        }
    }
    reached
}

#[test]
fn every_finding_is_reached() {
    let checks = check_expectations(rulebook()).expect("the expectations run");
    let by_examples = reached_by_examples();
    assert!(by_examples.len() > 100, "the examples reach only {} findings", by_examples.len());
    let unreached: BTreeSet<&str> = checks
        .unreached
        .iter()
        .map(|id| rulebook().findings[id.index()].id.as_str())
        .filter(|id| !by_examples.contains(*id))
        .collect();
    let excepted: BTreeSet<&str> = EXCEPTIONS.iter().map(|(id, _)| *id).collect();
    let listed = |ids: Vec<&&str>| ids.into_iter().map(|id| format!("\n  {id}")).collect::<String>();
    let missing = listed(unreached.difference(&excepted).collect());
    let stale = listed(excepted.difference(&unreached).collect());
    assert!(missing.is_empty(), "no expectation and no example reaches:{missing}");
    assert!(stale.is_empty(), "reached, or no finding any more; take it off the list:{stale}");
    assert!(EXCEPTIONS.iter().all(|(_, reason)| reason.len() > 20), "each exception has a reason");
}
