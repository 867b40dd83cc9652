//! Relations that proceed in turns, with answers worked out by hand.

use super::small_rulebook::SmallRulebook;
use super::*;

/// Criteria a, b and c in this order; three fillers with their levels on each.
fn elimination(facts: &[&str]) -> SmallRulebook {
    let mut small = SmallRulebook::new(&[
        "place name turn",
        "usable name",
        "standing name name ratio",
        "unknown name",
        "? answer name ratio : unknown 0",
        "in name turn",
        "outdone ratio turn",
    ]);
    small.finding("begins", &["given usable F", "hence in F 0"]);
    small.finding(
        "outdone",
        &[
            "given place C P",
            "given in F B",
            "let B = P - 1",
            "given standing F C H",
            "given standing _ C L",
            "where H > L",
            "hence outdone L P",
        ],
    );
    small.finding(
        "stays",
        &[
            "given place C P",
            "given in F B",
            "let B = P - 1",
            "given standing F C L",
            "unless outdone L P",
            "hence in F P",
        ],
    );
    small.finding("answered", &["given answer F L", "hence standing F b L"]);
    facts.iter().for_each(|fact| small.fact(fact));
    small
}

/// What is in after some turns, known ones first, with a question mark behind those that are open.
fn still_in(small: &SmallRulebook) -> Vec<String> {
    let derivation = derive(&small.rulebook, &[], &[], Recording::Everything).expect("a derivation");
    let shown = |fact| {
        let cells: Vec<String> = derivation
            .cells(fact)
            .iter()
            .map(|cell| cell.value().map_or("?".into(), |v| v.to_string()))
            .collect();
        let open = if derivation.status(fact) == Status::Open { "?" } else { "" };
        assert!(!derivation.grounds(fact).is_empty());
        format!("{}{open}", cells.join(" "))
    };
    derivation.facts(small.id("in")).map(shown).collect()
}

#[test]
fn turns_eliminate_one_criterion_after_the_other() {
    let facts = [
        "place a 1",
        "place b 2",
        "place c 3",
        "usable x",
        "usable y",
        "usable z",
        "standing x a 2",
        "standing y a 2",
        "standing z a 1",
        "standing x b 1",
        "standing y b 1",
        "standing z b 9",
        "standing x c 1",
        "standing y c 2",
        "standing z c 9",
    ];
    assert_eq!(still_in(&elimination(&facts)), ["x 0", "y 0", "z 0", "x 1", "y 1", "x 2", "y 2", "y 3"]);
}

#[test]
fn what_a_turn_leaves_open_stays_open_in_later_turns_and_nothing_else_does() {
    let facts = [
        "place a 1",
        "place b 2",
        "usable x",
        "usable y",
        "usable z",
        "unknown y",
        "standing x a 2",
        "standing y a 2",
        "standing z a 1",
        "standing x b 1",
        "standing z b 9",
    ];
    assert_eq!(still_in(&elimination(&facts)), ["x 0", "y 0", "z 0", "x 1", "y 1", "x 2?", "y 2?"]);
}

#[test]
fn a_turn_that_is_not_read_is_refused() {
    let mut small = elimination(&["place a 1"]);
    small.finding("now", &["given place _ P", "given in F P", "unless in F P", "hence in F P"]);
    let error = Program::new(&small.rulebook, &[]).expect_err("a circle within a turn");
    assert!(matches!(error, EngineError::Unlayered { .. }), "{error}");
}
