//! A finding removed from the rulebook, one at a time: where that brings a recommendation which was not there before, the check
//! of the rulebook must say so, by an expectation that fails or a hole, or a caution must. And no filler is ever recommended
//! that lacks a standing.

use super::examples::jobs;
use crate::support::memory;
use crate::support::program::library::rulebook;
use std::collections::BTreeSet;
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::language::Rulebook;
use whyrod::verdict::{Level, Report, check_expectations, decide_with, holes};

/// One finding in so many is removed with the other tests.
const SHARE: usize = 100;

fn reports(rulebook: &Rulebook) -> Vec<(Report, Vec<bool>)> {
    let decided = jobs().into_iter().map(|(name, text)| {
        let job = read_job(&name, text.as_bytes(), rulebook).unwrap_or_else(|error| panic!("{error}"));
        let decision = decide_with(rulebook, job, Recording::First, memory()).expect("a decision");
        (decision.report(), decision.derivation.applied())
    });
    decided.collect()
}

fn recommended(report: &Report) -> BTreeSet<(String, String)> {
    let joints = report.joints.iter();
    joints
        .flat_map(|joint| joint.recommended.iter().map(|filler| (joint.joint.clone(), filler.clone())))
        .collect()
}

/// Whether every criterion has a standing for every filler that is recommended; none is recommended that one leaves unjudged.
fn is_judged(report: &Report, criteria: usize) -> bool {
    let mut all = true;
    for joint in &report.joints {
        for verdict in joint.verdicts.iter().filter(|verdict| joint.recommended.contains(&verdict.filler)) {
            assert!(verdict.standings.iter().all(|standing| standing.standing != Level::Unjudged));
            all &= verdict.standings.len() == criteria;
        }
    }
    all
}

fn removing(is_wanted: impl Fn(usize) -> bool) {
    let whole = rulebook();
    let before = reports(whole);
    let criteria = whole.kinds.iter().find(|kind| kind.name == "criterion").expect("criteria").words.len();
    assert!(before.iter().all(|(report, _)| is_judged(report, criteria)));
    let mut silent = Vec::new();
    let mut tried = 0;
    for index in (0..whole.findings.len()).filter(|index| is_wanted(*index)) {
        // What establishes nothing in these jobs cannot change them.
        if !before.iter().any(|(_, applied)| applied[index]) {
            continue;
        }
        tried += 1;
        let mut less = whole.clone();
        let finding = less.findings.remove(index);
        let mut added = Vec::new();
        let mut lacking = false;
        for ((old, _), (new, _)) in before.iter().zip(reports(&less)) {
            lacking |= !is_judged(&new, criteria);
            let more: Vec<(String, String)> =
                recommended(&new).difference(&recommended(old)).cloned().collect();
            if !more.is_empty() && new.cautions.iter().all(|caution| old.cautions.contains(caution)) {
                added.extend(more);
            }
        }
        if added.is_empty() && !lacking {
            continue;
        }
        let checks = check_expectations(&less).expect("the expectations run");
        let fails = checks.expectations.iter().any(|expectation| !expectation.failures.is_empty());
        if !fails && holes(&less).expect("the holes are looked for").is_empty() {
            silent.push(format!("{}: {added:?}", finding.id));
        }
    }
    assert!(tried > 0, "no finding was tried");
    assert!(silent.is_empty(), "removed in silence:\n{}", silent.join("\n"));
}

#[test]
fn a_removed_finding_is_missed() {
    removing(|index| index % SHARE == 7);
}

#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn every_removed_finding_is_missed_at_length() {
    removing(|_| true);
}
