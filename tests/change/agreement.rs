//! Jobs with answers missing: what `choose` recommends is what every completion recommends, it recommends wherever all completions
//! agree, and the dialogue asks nothing where it does.

use crate::support::program::library::rulebook;
use crate::support::program::root;
use std::collections::{BTreeMap, BTreeSet};
use whyrod::change::{Session, made_firm, open_questions};
use whyrod::engine::Recording;
use whyrod::job::{Job, read_job};

/// One pair of missing answers in so many is looked at with the other tests.
const SHARE: usize = 9;

/// Answers that may be missing, each with answers to complete it by: every word, and temperatures on both sides of each border.
const ANSWERS: &[(&str, &[&str])] = &[
    ("exposure", &["dry", "outdoor", "fresh water", "sea water", "food", "chemical"]),
    ("finish", &["none", "clear anodised", "colour anodised", "painted"]),
    ("forming", &["none", "light", "severe"]),
    ("heat-treatment", &["none", "age", "solution and age"]),
    ("sustained-temperature", &["0 °C", "64 °C", "65 °C", "66 °C", "120 °C", "300 °C"]),
    ("lowest-temperature", &["-196 °C", "-51 °C", "-50 °C", "-20 °C", "0 °C"]),
];

fn read(text: &str) -> Option<Job> {
    read_job("job.toml", text.as_bytes(), rulebook()).ok()
}

/// A job with some answers of its shared service replaced; `None` in place of one leaves it out.
fn with(job: &str, answers: &[(&str, Option<&str>)]) -> String {
    let mut in_service = false;
    let mut lines = Vec::new();
    for line in job.lines() {
        if line.trim_start().starts_with('[') {
            in_service = line.trim() == "[service]";
        }
        let key = line.split('=').next().unwrap_or_default().trim();
        match answers.iter().find(|(answered, _)| in_service && *answered == key) {
            Some((_, None)) => {}
            Some((key, Some(value))) => lines.push(format!("{key} = \"{value}\"")),
            None => lines.push(line.to_owned()),
        }
    }
    lines.join("\n")
}

fn recommended(session: &Session<'_>, job: Job, firm: bool) -> Option<BTreeMap<String, Vec<String>>> {
    let open_questions =
        firm.then(|| open_questions(session, &job, &BTreeSet::new()).expect("an open_questions"));
    let mut report = session.decide(job, Recording::First).ok()?.report();
    if let Some(open_questions) = open_questions {
        made_firm(&mut report, &open_questions);
        for joint in &open_questions.joints {
            let asked =
                open_questions.questions.iter().any(|question| question.joints.contains(&joint.joint));
            assert!(
                !(joint.settled && asked && open_questions.joints.len() == 1),
                "{} is settled and asked",
                joint.joint
            );
        }
    }
    Some(report.joints.into_iter().map(|joint| (joint.joint, joint.recommended)).collect())
}

/// Every way to complete some answers.
fn completions(missing: &[usize]) -> Vec<Vec<(&'static str, Option<&'static str>)>> {
    let mut all = vec![Vec::new()];
    for (key, values) in missing.iter().map(|index| ANSWERS[*index]) {
        let longer = |way: &Vec<_>| -> Vec<Vec<_>> {
            values.iter().map(|value| [way.clone(), vec![(key, Some(*value))]].concat()).collect()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all
}

fn agree(is_wanted: impl Fn(usize) -> bool) {
    let session = Session::new(rulebook()).expect("a session");
    let mut wanting: Vec<Vec<usize>> = (0..ANSWERS.len()).map(|one| vec![one]).collect();
    wanting.extend(
        (0..ANSWERS.len()).flat_map(|one| (one + 1..ANSWERS.len()).map(move |other| vec![one, other])),
    );
    let mut number = 0;
    let (mut firm_ones, mut divided) = (0, 0);
    for name in ["kite-reel", "library-balustrade", "hot-grain-dryer", "loom-beam-bracket"] {
        let text = std::fs::read_to_string(root().join(format!("examples/{name}.toml"))).expect("an example");
        for missing in &wanting {
            number += 1;
            if !is_wanted(number) {
                continue;
            }
            let left_out: Vec<(&str, Option<&str>)> =
                missing.iter().map(|index| (ANSWERS[*index].0, None)).collect();
            let Some(open) = read(&with(&text, &left_out)) else { continue };
            let told = recommended(&session, open, true).expect("a job that can be");
            let ways: Vec<BTreeMap<String, Vec<String>>> = completions(missing)
                .iter()
                .filter_map(|way| recommended(&session, read(&with(&text, way))?, false))
                .collect();
            for (joint, fillers) in &told {
                let endings: BTreeSet<&Vec<String>> = ways.iter().map(|way| &way[joint]).collect();
                let about = format!("{name}, {joint}, without {left_out:?}");
                if fillers.is_empty() {
                    divided += 1;
                    // Nothing is recommended where the answers divide, or where no filler serves under any of them.
                    let nothing = endings.iter().all(|ending| ending.is_empty());
                    assert!(nothing || endings.len() != 1, "{about}: every answer brings {endings:?}");
                } else {
                    firm_ones += 1;
                    assert_eq!(endings.into_iter().collect::<Vec<_>>(), [fillers], "{about}");
                }
            }
        }
    }
    assert!(firm_ones > 0 && divided > 0, "{firm_ones} firm, {divided} divided");
}

#[test]
fn some_jobs_with_answers_missing_are_firm_where_every_answer_agrees() {
    agree(|number| number % SHARE == 4);
}

#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn jobs_with_up_to_two_answers_missing_are_firm_where_every_answer_agrees_at_length() {
    agree(|_| true);
}
