//! What findings lack, on small rulebooks with answers worked out by hand.

use super::super::small_rulebook::SmallRulebook;
use super::super::{GivenFact, Recording, derive};
use super::*;

/// What each finding lacks for a fact, one line a failure.
fn lacks(small: &SmallRulebook, given: &[&str], asked: &str) -> Vec<String> {
    let given: Vec<GivenFact> = given.iter().map(|line| small.given(line)).collect();
    let derivation = derive(&small.rulebook, &given, &[], Recording::First).expect("a sound rulebook");
    let pattern = small.pattern(asked);
    assert!(derivation.matching(&pattern).is_empty(), "{asked} is there");
    let shown = |cell: &Option<Cell>| match cell {
        Some(Cell::Value(value)) => value.to_string(),
        Some(Cell::Unknown) => "?".to_owned(),
        None => "_".to_owned(),
    };
    let shown = |lack: &Lack| match lack {
        Lack::Fact { relation, sought } => {
            let cells: Vec<String> = sought.iter().map(shown).collect();
            format!("{} {}", small.rulebook.relations[relation.index()].name, cells.join(" "))
        }
        Lack::Blocked(fact) => {
            let cells: Vec<String> =
                derivation.cells(*fact).into_iter().map(Some).map(|c| shown(&c)).collect();
            format!("blocked by {}", cells.join(" "))
        }
        Lack::Condition { gap } => format!("apart by {:.2}", gap.unwrap_or(9.0)),
        Lack::Value(value) => format!("comes to {}", shown(value)),
    };
    let attempts = derivation.attempts(&pattern);
    let lines = attempts.iter().map(|attempt| {
        let failures = attempt.failures.iter();
        let shown: Vec<String> =
            failures.map(|failure| format!("{}: {}", failure.premise, shown(&failure.lacks))).collect();
        format!("{} {}", small.rulebook.findings[attempt.finding.index()].id, shown.join(", "))
    });
    lines.collect()
}

#[test]
fn the_nearest_way_through_the_first_premises_is_given() {
    let mut small = SmallRulebook::new(&["pool name ratio", "hot name", "bad name"]);
    small.finding("bad.rich", &["given pool X N", "where N > 3", "given hot X", "hence bad X"]);
    let given = ["pool a 1", "pool a 2", "pool b 4", "hot a"];
    assert_eq!(lacks(&small, &given, "bad a"), ["bad.rich 1: apart by 0.33"]);
    assert_eq!(lacks(&small, &given, "bad b"), ["bad.rich 2: hot b"]);
    assert_eq!(lacks(&small, &given, "bad c"), ["bad.rich 0: pool c _, 2: hot c"]);
}

#[test]
fn what_stands_in_the_way_and_what_a_sum_comes_to_are_given() {
    let mut small =
        SmallRulebook::new(&["load name ratio", "barred name name", "usable name", "total name ratio"]);
    small.finding("usable.free", &["given load X _", "unless barred X _", "hence usable X"]);
    small.finding("total.sum", &["given load X _", "let T = sum N of load X N", "hence total X T"]);
    let given = ["load a 1", "load a 2", "barred a heat"];
    assert_eq!(lacks(&small, &given, "usable a"), ["usable.free 1: blocked by a heat"]);
    assert_eq!(lacks(&small, &given, "total a 4"), ["total.sum 1: comes to 3"]);
}

#[test]
fn a_finding_that_concludes_otherwise_or_waits_is_no_attempt() {
    let mut small =
        SmallRulebook::new(&["part name", "? finish name name : part 0", "grade name name", "dull name"]);
    small.finding("grade.good", &["given part X", "hence grade X good"]);
    small.finding("dull.bare", &["given finish X bare", "hence dull X"]);
    assert!(lacks(&small, &["part a"], "grade a poor").is_empty());
    // Whether the part is dull is open, and so nothing is lacking for sure; it is there as an open fact.
    let given: Vec<GivenFact> = ["part a"].iter().map(|line| small.given(line)).collect();
    let derivation = derive(&small.rulebook, &given, &[], Recording::First).expect("a sound rulebook");
    assert!(derivation.attempts(&small.pattern("dull a")).is_empty());
}

#[test]
fn what_a_later_fact_says_is_put_into_earlier_checks() {
    let mut small = SmallRulebook::new(&[
        "part name",
        "? finish name name : part 0",
        "dull name",
        "seen name",
        "odd name",
    ]);
    let lines = ["given finish X F", "unless dull F", "given seen F", "hence odd X"];
    small.finding("odd.seen", &lines);
    let given = ["part a", "dull bare", "seen bare"];
    assert_eq!(lacks(&small, &given, "odd a"), ["odd.seen 1: blocked by bare"]);
}
