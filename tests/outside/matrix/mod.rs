//! The full matrix: every pair of base alloys, every filler, four services. What sources call welded has a usable filler,
//! what they call not welded has none; where it is otherwise the pair is in a list, with the reason.
//!
//! The whole takes minutes and runs on demand, `cargo test --release --test checks matrix -- --ignored`, which also holds the page of
//! its counts (snapshots/matrix__the_matrix.snap); a share of it runs with the other tests.

mod exceptions;
mod page;
mod run;
mod sources;

use crate::support::program::library::rulebook;
use exceptions::EXCEPTIONS;
use page::page;
use run::{Alloy, Outcome, Pair, Service, alloys, decide, pairs};
use sources::{Said, Sources, across, side};
use std::collections::{BTreeMap, BTreeSet};

/// One pair in so many is looked at with the other tests, and one in so many where all seeds are drawn.
const FEW: u64 = 300;
const MANY: u64 = 24;

/// Whether a pair is in the share: mixed, so that all families take part, and the same in every run.
fn is_in_share(pair: Pair, of: u64) -> bool {
    let mixed = (pair.0 as u64 * 1009 + pair.1 as u64 + 17).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    (mixed >> 32).is_multiple_of(of)
}

struct Matrix {
    alloys: Vec<Alloy>,
    fillers: usize,
    sources: Sources,
    decided: BTreeMap<(Pair, Service), Outcome>,
    /// For each exception its pairs that need it.
    parted: Vec<BTreeSet<Pair>>,
    /// What is wrong and in no list.
    wrong: Vec<String>,
}

fn matrix(is_wanted: impl Fn(Pair) -> bool) -> Matrix {
    let rulebook = rulebook();
    let alloys = alloys(rulebook);
    let filler = rulebook.relation("filler").expect("the rulebook has fillers");
    let fillers = rulebook.facts.iter().filter(|fact| fact.relation == filler).count();
    let sources = Sources::read(&alloys);
    let wanted: Vec<Pair> = pairs(alloys.len()).into_iter().filter(|pair| is_wanted(*pair)).collect();
    let joints: Vec<(Pair, Service)> =
        wanted.iter().flat_map(|pair| Service::ALL.map(|service| (*pair, service))).collect();
    let decided = decide(rulebook, &alloys, &joints);
    let excepted: Vec<BTreeSet<Pair>> = EXCEPTIONS
        .iter()
        .map(|exception| {
            let [first, second] = exception.sides.map(|written| side(written, &alloys).expect("a side"));
            across(&first, &second)
        })
        .collect();
    let mut parted = vec![BTreeSet::new(); EXCEPTIONS.len()];
    let mut wrong = Vec::new();
    for ((pair, service), outcome) in &decided {
        let said = sources.of(*pair);
        let agrees = match said {
            Said::Welded => !outcome.usable.is_empty(),
            Said::NotWelded => outcome.usable.is_empty(),
            Said::Disputed | Said::Nothing => true,
        };
        if agrees {
            continue;
        }
        let exception = EXCEPTIONS.iter().zip(&excepted).position(|(exception, pairs)| {
            exception.said == said && exception.services.contains(service) && pairs.contains(pair)
        });
        match exception {
            Some(exception) => {
                parted[exception].insert(*pair);
            }
            None => wrong.push(format!(
                "{} to {}, {}: {said:?} by {}, usable {:?}, barred on {:?}",
                alloys[pair.0].name,
                alloys[pair.1].name,
                service.name(),
                sources.rows_on(*pair).join(", "),
                outcome.usable,
                outcome.barred.values().flatten().collect::<BTreeSet<_>>()
            )),
        }
    }
    Matrix { alloys, fillers, sources, decided, parted, wrong }
}

/// Every filler has one verdict, and what is recommended is usable.
fn is_sound(outcome: &Outcome, fillers: usize) -> bool {
    outcome.usable.len() + outcome.barred.len() == fillers
        && outcome.usable.iter().all(|filler| !outcome.barred.contains_key(filler))
        && outcome.recommended.is_subset(&outcome.usable)
        && outcome.recommended.is_empty() == outcome.usable.is_empty()
}

#[track_caller]
fn hold(matrix: &Matrix) {
    assert!(matrix.wrong.is_empty(), "{} in no list:\n{}", matrix.wrong.len(), matrix.wrong.join("\n"));
    for ((pair, service), outcome) in &matrix.decided {
        let joint = [pair.0, pair.1].map(|side| matrix.alloys[side].name.as_str());
        assert!(is_sound(outcome, matrix.fillers), "{joint:?}, {}: {outcome:?}", service.name());
    }
    assert!(matrix.sources.rows > 110, "only {} rows were read", matrix.sources.rows);
    assert!(matrix.sources.skipped.len() < 5, "skipped: {:?}", matrix.sources.skipped);
}

#[test]
fn a_few_pairs_of_the_matrix_agree_with_the_sources() {
    let matrix = matrix(|pair| is_in_share(pair, FEW));
    assert!(matrix.decided.len() > 30, "only {} joints", matrix.decided.len());
    hold(&matrix);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn a_share_of_the_matrix_agrees_with_the_sources() {
    let matrix = matrix(|pair| is_in_share(pair, MANY));
    assert!(matrix.decided.len() > 400, "only {} joints", matrix.decided.len());
    hold(&matrix);
}

#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn the_matrix_agrees_with_the_sources_at_length() {
    let matrix = matrix(|_| true);
    hold(&matrix);
    for (exception, pairs) in EXCEPTIONS.iter().zip(&matrix.parted) {
        assert!(!pairs.is_empty(), "no pair needs the exception {:?}: take it off", exception.sides);
    }
    insta::with_settings!({ omit_expression => true }, {
        insta::assert_snapshot!("the_matrix", page(&matrix.alloys, &matrix.sources, &matrix.decided, &matrix.parted));
    });
}
