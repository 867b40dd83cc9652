//! Sustained heat from outside: what bars a filler in a hot job, how the bar is told, and what an unanswered temperature
//! leaves open.
//!
//! The border that is held against the program: above about 65 °C (150 °F) weld metal with more than 3 % magnesium becomes
//! sensitive to stress corrosion. Source: Dix, Anderson and Shumaker, Corrosion 15(2) 1959, as the rulebook cites it, and
//! common practice (from memory: the notes to the filler tables of AWS A5.10).

use crate::support::program::library::{Pair, decided, facts, verdicts, with_verdict};
use crate::support::program::*;
use std::collections::{BTreeMap, BTreeSet};
use whyrod::engine::{Ground, Status};
use whyrod::language::Value;
use whyrod::quantity::Quantity;
use whyrod::verdict::{Decision, Verdict};

const HOT: &str = "hot-grain-dryer.toml";
const TEMPERATURE: &str = "sustained-temperature = \"95 °C\"";

/// The most magnesium that any pool of a joint and filler can hold.
fn most_magnesium(decision: &Decision<'_>) -> BTreeMap<Pair, Quantity> {
    let mut most: BTreeMap<Pair, Quantity> = BTreeMap::new();
    for pool in facts(decision, "pool").iter().filter(|pool| pool.name("element") == "Mg") {
        let Value::Number(highest) = pool.value("highest") else { panic!("a pool without a number") };
        let known = most.entry((pool.name("joint"), pool.name("filler"))).or_insert(*highest);
        if highest.base > known.base {
            *known = *highest;
        }
    }
    most
}

/// Joints and fillers that some finding bars on sustained heat, with the findings that do.
fn barred_by(decision: &Decision<'_>) -> BTreeMap<Pair, BTreeSet<String>> {
    let mut barred: BTreeMap<Pair, BTreeSet<String>> = BTreeMap::new();
    for graded in facts(decision, "graded") {
        let known = decision.derivation.status(graded.id) == Status::Known;
        if !known || graded.name("criterion") != "sustained heat" || graded.name("level") != "barred" {
            continue;
        }
        for ground in decision.derivation.grounds(graded.id) {
            if let Ground::Finding(instance) = ground {
                let finding = decision.rulebook.findings[instance.finding.index()].id.clone();
                barred.entry((graded.name("joint"), graded.name("filler"))).or_default().insert(finding);
            }
        }
    }
    barred
}

#[test]
fn more_than_three_per_cent_is_barred_and_nothing_else_by_that_finding() {
    let decision = decided(&example(HOT));
    let most = most_magnesium(&decision);
    let too_much: BTreeSet<&Pair> =
        most.iter().filter(|(_, highest)| highest.base > 3.0).map(|(pair, _)| pair).collect();
    let barred = barred_by(&decision);
    let by_the_finding: BTreeSet<&Pair> = barred
        .iter()
        .filter(|(_, findings)| findings.contains("sustained-heat.weld.sensitised"))
        .map(|(pair, _)| pair)
        .collect();
    assert_eq!(by_the_finding, too_much);
    assert!(!too_much.is_empty() && too_much.len() < most.len(), "the example decides nothing");
    let verdicts = verdicts(&decision);
    for pair in barred.keys() {
        assert_eq!(verdicts[pair], Verdict::Barred, "{pair:?}");
    }
    // The fillers that the notes name are among them at every joint; silicon fillers are at none.
    for joint in &decision.job.joints {
        let barred_at = |filler: &str| barred.contains_key(&(joint.name.to_string(), filler.to_owned()));
        for filler in ["5183", "5356", "5556", "5654"] {
            assert!(barred_at(filler), "{filler} at {}", joint.name);
        }
        for filler in ["4043", "4047", "1100"] {
            assert!(!barred_at(filler), "{filler} at {}", joint.name);
        }
    }
}

#[test]
fn the_derivation_shows_temperature_content_threshold_and_source() {
    let decision = decided(&example(HOT));
    let most = most_magnesium(&decision);
    let job = format!("examples/{HOT}");
    for joint in ["duct to flange", "flange to boss"] {
        let arguments = ["why-not", &job, "5356", "--joint", joint, "--all", "--json"];
        let answer = run(arguments).with_status(0).json();
        assert_eq!(answer["verdict"], "barred");
        let nodes = list(&answer["derivation"]["nodes"]);
        let magnesium = most[&(joint.to_owned(), "5356".to_owned())];
        let comparison = format!("{magnesium} > 3 %");
        let finding = nodes
            .iter()
            .filter(|node| node["finding"] == "sustained-heat.weld.sensitised")
            .find(|node| text(&node["text"]).contains(&magnesium.to_string()))
            .expect("the finding that bars");
        assert!(text(&finding["cite"]).contains("Corrosion 15(2) 1959"), "{finding}");
        assert_eq!(finding["file"], "04-sustained-heat/sustained-heat.why");
        let below: Vec<&serde_json::Value> = list(&answer["derivation"]["edges"])
            .iter()
            .filter(|edge| edge[0] == finding["id"])
            .map(|edge| &nodes[edge[1].as_u64().expect("a node") as usize])
            .collect();
        let shown = |kind: &str, part: &str| {
            below.iter().any(|node| node["kind"] == kind && text(&node["text"]).contains(part))
        };
        assert!(shown("working", &comparison), "{comparison} is not shown");
        assert!(shown("working", "95 °C > 65 °C"));
        assert!(shown("fact", "95 °C"), "the answer of the job is not shown");
        assert!(shown("conclusion", &format!("to {magnesium}")), "the pool is not shown");
        assert!(shown("source", "Corrosion 15(2) 1959"));
        assert!(shown("fact", "other sources put the border at about 4 or 5 % magnesium"));
        let is_answer = |node: &&&serde_json::Value| {
            node["kind"] == "fact" && text(&node["text"]).contains("holds 95 °C")
        };
        let fact = below.iter().find(is_answer).expect("the fact of the job");
        let line = example(HOT).lines().position(|line| line == TEMPERATURE).expect("the temperature") + 1;
        assert_eq!(fact["line"], line);
    }
}

#[test]
fn the_unit_of_the_temperature_does_not_matter() {
    let celsius = verdicts(&decided(&example(HOT)));
    assert_eq!(celsius, verdicts(&decided(&example("hot-grain-dryer-fahrenheit.toml"))));
    for same in ["203 °F", "203 degF", "368.15 K", "95 degC"] {
        let job = example(HOT).replace(TEMPERATURE, &format!("sustained-temperature = \"{same}\""));
        assert_eq!(celsius, verdicts(&decided(&job)), "{same}");
    }
    // 150 °F is 65.6 °C, above the border; 149 °F is 65 °C exactly and not above it.
    let at = |temperature: &str| {
        let job = example(HOT).replace(TEMPERATURE, &format!("sustained-temperature = \"{temperature}\""));
        barred_by(&decided(&job))
    };
    assert!(at("149 °F").is_empty());
    assert_eq!(at("150 °F"), at("95 °C"));
}

#[test]
fn an_unanswered_temperature_leaves_the_verdicts_open() {
    let hot = decided(&example(HOT));
    let job = example(HOT).replace(TEMPERATURE, "");
    let open = decided(&job);
    let on_other_criteria: BTreeSet<Pair> = facts(&hot, "barred")
        .iter()
        .filter(|fact| hot.derivation.status(fact.id) == Status::Known)
        .filter(|fact| fact.name("criterion") != "sustained heat")
        .map(|fact| (fact.name("joint"), fact.name("filler")))
        .collect();
    let verdicts = verdicts(&open);
    let report = open.report();
    let mut waiting = 0;
    for pair in barred_by(&hot).keys() {
        if on_other_criteria.contains(pair) {
            assert_eq!(verdicts[pair], Verdict::Barred, "{pair:?} is barred by more than heat");
            continue;
        }
        waiting += 1;
        assert_eq!(verdicts[pair], Verdict::Open, "{pair:?}");
        let (joint, filler) = pair;
        let joint = report.joints.iter().find(|known| known.joint == *joint).expect("the joint");
        let question = joint.open.iter().find(|open| open.path == "service.sustained-temperature");
        assert!(question.is_some_and(|question| question.decides.contains(filler)), "{pair:?}");
        assert!(!joint.recommended.contains(filler));
    }
    assert!(waiting > 0, "the example leaves nothing open");
    // An answer may bar what was open; it never makes usable what was barred without it.
    assert!(with_verdict(&open, Verdict::Barred).is_subset(&with_verdict(&hot, Verdict::Barred)));
    assert!(with_verdict(&open, Verdict::Recommended).is_disjoint(&with_verdict(&hot, Verdict::Barred)));
    assert!(with_verdict(&open, Verdict::Usable).is_disjoint(&with_verdict(&hot, Verdict::Barred)));
}
