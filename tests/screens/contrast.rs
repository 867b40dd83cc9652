//! Two fillers beside each other, on every example: what is told to differ differs in the derivations, what is told to be
//! equal is equal, and what decides is what the findings decided by.

use crate::support::program::library::*;
use crate::support::program::*;

use std::collections::{BTreeMap, BTreeSet};
use whyrod::engine::Ground;
use whyrod::explain::{Better, Contrast, Difference, Extent, contrast, why};
use whyrod::verdict::{Decision, FillerVerdict, JointReport, Level, Report, Verdict};

fn examples() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(root().join("examples"))
        .expect("examples")
        .map(|entry| entry.expect("an example").file_name().to_string_lossy().into_owned())
        .filter(|name| name.ends_with(".toml"))
        .collect();
    names.sort();
    names
}

fn levels(of: &FillerVerdict) -> BTreeMap<&str, &str> {
    of.standings.iter().map(|standing| (standing.criterion.as_str(), standing.standing.word())).collect()
}

/// The findings that grade a filler, by joint, filler and criterion.
fn grading(decision: &Decision<'_>) -> BTreeMap<(String, String, String), BTreeSet<String>> {
    let mut found: BTreeMap<(String, String, String), BTreeSet<String>> = BTreeMap::new();
    for fact in facts(decision, "graded") {
        let key = (fact.name("joint"), fact.name("filler"), fact.name("criterion"));
        for ground in decision.derivation.grounds(fact.id) {
            if let Ground::Finding(instance) = ground {
                let finding = &decision.rulebook.findings[instance.finding.index()];
                found.entry(key.clone()).or_default().insert(finding.id.clone());
            }
        }
    }
    found
}

#[track_caller]
fn contrasted(decision: &Decision<'_>, report: &Report, joint: &str, fillers: [&str; 2]) -> Contrast {
    contrast(decision, report, joint, fillers).expect("both are candidates")
}

/// What a contrast says of the criteria is what the report says of them.
fn check_criteria(told: &Contrast, sides: [&FillerVerdict; 2]) {
    let [first, second] = sides.map(levels);
    let mut seen = BTreeSet::new();
    for criterion in &told.equal {
        assert_eq!(first[criterion.as_str()], second[criterion.as_str()], "{criterion}");
        assert!(seen.insert(criterion.clone()));
    }
    for criterion in &told.waiting {
        assert_eq!((first[criterion.as_str()], second[criterion.as_str()]), ("open", "open"), "{criterion}");
        assert!(seen.insert(criterion.clone()));
    }
    for difference in &told.differences {
        let [one, other] = &difference.sides;
        assert_ne!(one.standing, other.standing, "{}", difference.criterion);
        assert_eq!(one.standing, first[difference.criterion.as_str()]);
        assert_eq!(other.standing, second[difference.criterion.as_str()]);
        assert!(seen.insert(difference.criterion.clone()));
    }
    assert_eq!(seen.len(), first.len(), "a criterion is not told");
    if let Some(decisive) = &told.decisive {
        assert_eq!(&told.differences[0].criterion, decisive, "what decides is told first");
    }
}

/// What decides is what the findings decided by.
fn check_decisive(told: &Contrast, joint: &JointReport, best: &FillerVerdict, other: &FillerVerdict) {
    let beaten = other.beaten_by.iter().find(|beaten| beaten.filler == best.filler);
    match (beaten, other.verdict) {
        (Some(beaten), _) => assert_eq!(told.decisive.as_ref(), Some(&beaten.criterion)),
        (None, Verdict::Barred) => {
            let bar =
                other.standings.iter().find(|standing| standing.standing == Level::Barred).expect("a bar");
            assert_eq!(told.decisive.as_ref(), Some(&bar.criterion));
        }
        (None, Verdict::Recommended) => assert_eq!(told.better, Better::Neither),
        (None, Verdict::Open) => assert_eq!(told.better, Better::Open),
        // Out in an earlier turn through another filler, or not decided yet; a first difference decides all the same.
        (None, Verdict::Usable) => {}
        (None, Verdict::Unjudged) => panic!("{} is judged by nothing at {}", other.filler, joint.joint),
    }
    if matches!(other.verdict, Verdict::Barred | Verdict::Usable) {
        let expected =
            if beaten.is_some() || other.verdict == Verdict::Barred { Better::First } else { told.better };
        assert_eq!(told.better, expected, "{} against {} at {}", best.filler, other.filler, joint.joint);
    }
}

/// One-sided findings apply to one side alone, and numbers stand in the derivations of both.
fn check_grounds(
    told: &Contrast,
    grading: &BTreeMap<(String, String, String), BTreeSet<String>>,
    texts: [&BTreeSet<String>; 2],
) {
    let of = |difference: &Difference, at: usize| {
        let key = (told.joint.clone(), told.fillers[at].clone(), difference.criterion.clone());
        grading.get(&key).cloned().unwrap_or_default()
    };
    for difference in &told.differences {
        let [first, second] = [of(difference, 0), of(difference, 1)];
        let only: BTreeSet<&String> = difference.only.iter().map(|side| &side.finding).collect();
        assert_eq!(only, first.symmetric_difference(&second).collect(), "{}", difference.criterion);
        assert_eq!(difference.shared, first.intersection(&second).count());
        for side in &difference.only {
            let at = usize::from(side.filler == told.fillers[1]);
            assert!([&first, &second][at].contains(&side.finding) && !side.says.is_empty());
        }
        for row in &difference.numbers {
            assert_ne!(row.values[0], row.values[1], "{}", row.what);
            for (value, texts) in row.values.iter().zip(texts) {
                assert!(texts.iter().any(|text| text.contains(value.as_str())), "{}: {value}", row.what);
            }
        }
    }
}

#[test]
fn the_recommended_filler_beside_every_other() {
    let (mut pairs, mut measured, mut with_numbers, mut settled) = (0, 0, 0, 0);
    for name in examples() {
        let decision = decided(&example(&name));
        let report = decision.report();
        let grading = grading(&decision);
        for joint in &report.joints {
            let place = joint.joint.as_str();
            let texts: BTreeMap<&str, BTreeSet<String>> = joint
                .verdicts
                .iter()
                .map(|of| {
                    let told =
                        why(&decision, &report, place, &of.filler, Extent::Every).expect("a candidate");
                    (of.filler.as_str(), told.derivation.nodes.into_iter().map(|node| node.text).collect())
                })
                .collect();
            let Some(best) = joint.verdicts.iter().find(|of| of.verdict == Verdict::Recommended) else {
                continue;
            };
            for other in joint.verdicts.iter().filter(|other| other.filler != best.filler) {
                let told = contrasted(&decision, &report, place, [&best.filler, &other.filler]);
                assert_eq!(told.verdicts, [best.verdict, other.verdict]);
                check_criteria(&told, [best, other]);
                check_decisive(&told, joint, best, other);
                check_grounds(&told, &grading, [&texts[best.filler.as_str()], &texts[other.filler.as_str()]]);
                pairs += 1;
                settled += usize::from(told.decisive.is_some());
                // Fillers that differ in nothing but how easy they are to get have no numbers to show.
                measured += usize::from(told.differences.iter().any(|one| one.criterion != "common stock"));
                with_numbers += usize::from(told.differences.iter().any(|one| !one.numbers.is_empty()));
            }
        }
    }
    assert!(pairs > 300 && settled * 10 > pairs * 8, "{settled} of {pairs} pairs are decided");
    assert!(measured > 300, "{measured} pairs differ in more than stock");
    assert!(with_numbers * 20 > measured * 19, "only {with_numbers} of {measured} pairs show numbers");
}

#[test]
fn turned_round_it_says_the_same() {
    let decision = decided(&example("hot-grain-dryer.toml"));
    let report = decision.report();
    let joint = &report.joints[0];
    for (one, other) in joint.verdicts.iter().zip(joint.verdicts.iter().skip(5)) {
        let told = contrasted(&decision, &report, &joint.joint, [&one.filler, &other.filler]);
        let turned = contrasted(&decision, &report, &joint.joint, [&other.filler, &one.filler]);
        let expected = match told.better {
            Better::First => Better::Second,
            Better::Second => Better::First,
            same => same,
        };
        assert_eq!(turned.better, expected);
        assert_eq!(turned.decisive, told.decisive);
        assert_eq!(turned.equal, told.equal);
        let criteria = |told: &Contrast| -> Vec<String> {
            told.differences.iter().map(|difference| difference.criterion.clone()).collect()
        };
        assert_eq!(criteria(&turned), criteria(&told));
        for (one, other) in told.differences.iter().zip(&turned.differences) {
            let rows = |difference: &Difference| -> BTreeSet<String> {
                difference.numbers.iter().map(|row| row.what.clone()).collect()
            };
            if one.numbers.len() < 6 {
                assert_eq!(rows(one), rows(other), "{}", one.criterion);
            }
        }
    }
}

#[test]
fn a_filler_beside_itself_is_equal_in_everything() {
    let decision = decided(&example("oyster-barge.toml"));
    let report = decision.report();
    for joint in &report.joints {
        for of in joint.verdicts.iter().take(4) {
            let told = contrasted(&decision, &report, &joint.joint, [&of.filler, &of.filler]);
            assert!(
                told.differences.is_empty() && told.better != Better::First && told.better != Better::Second
            );
        }
    }
}

#[test]
fn the_status_says_whether_the_first_is_the_better_one() {
    let job = "examples/hot-grain-dryer.toml";
    let asked = |first: &str, second: &str| {
        run(["why", job, first, "--rather-than", second, "--joint", "duct to flange", "--brief"])
    };
    assert!(
        asked("4043", "5356").with_status(0).out.starts_with("4043 is better than 5356 at duct to flange")
    );
    assert!(asked("5356", "4043").with_status(3).out.starts_with("Not 5356 but 4043 is the better one"));
    assert!(asked("5356", "5183").with_status(3).out.starts_with("Both are barred"));
    refused(&run(["why", job, "4043", "--rather-than", "9999"]), "\"9999\" is not among the fillers");
}
