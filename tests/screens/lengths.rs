//! How long answers are: one sentence, about a screen, everything; and which options go together.

use crate::support::program::*;

use crate::support::program::library::*;
use whyrod::explain::{Answer, Extent, why, why_not};
use whyrod::show::{Length, answer};

/// The answers about every filler at every joint of an example, with the question that was asked.
fn answers(example: &str) -> Vec<(&'static str, Answer)> {
    let decision = decided(example);
    let report = decision.report();
    let mut answers = Vec::new();
    for joint in &report.joints {
        for of in &joint.verdicts {
            let about = (&decision, &report, joint.joint.as_str(), of.filler.as_str());
            let told = why(about.0, about.1, about.2, about.3, Extent::First);
            answers.push(("why", told.expect("a candidate")));
            let told = why_not(about.0, about.1, about.2, about.3, Extent::First);
            answers.push(("why-not", told.expect("a candidate")));
        }
    }
    answers
}

#[test]
fn a_default_answer_is_a_screen_and_a_brief_one_a_sentence() {
    let mut lengths = Vec::new();
    for entry in std::fs::read_dir(root().join("examples")).expect("examples") {
        let name = entry.expect("an example").file_name().to_string_lossy().into_owned();
        if !name.ends_with(".toml") {
            continue;
        }
        for (command, told) in answers(&example(&name)) {
            let page = answer(&told, Length::Argument, 80);
            let count = page.lines().count();
            assert!(count <= 76, "{command} in {name}: {count} lines\n{page}");
            for line in page.lines() {
                assert!(line.chars().count() <= 80, "{line:?}");
            }
            lengths.push(count);
            let brief = answer(&told, Length::Brief, 80);
            let words = brief.split_whitespace().collect::<Vec<_>>().join(" ");
            assert!(words.ends_with(['.', '?', ')']), "{words}");
            assert!(words.contains(&told.filler) && words.contains(&told.joint), "{words}");
            assert!(brief.lines().count() <= 8 && !brief.contains("\n\n"), "{brief}");
            assert!(told.argument.opened.nodes.len() <= told.derivation.nodes.len(), "{page}");
        }
    }
    lengths.sort_unstable();
    assert!(lengths.len() > 1000, "{} answers", lengths.len());
    let [half, most] = [lengths[lengths.len() / 2], lengths[lengths.len() * 9 / 10]];
    assert!(half <= 50 && most <= 60, "half take up to {half} lines, nine in ten up to {most}");
}

#[test]
fn the_lengths_exclude_each_other() {
    let job = "examples/kite-reel.toml";
    for wrong in [
        &["--brief", "--full"][..],
        &["--brief", "--depth", "2"],
        &["--brief", "--all"],
        &["--brief", "--graph", "dot"],
        &["--rather-than", "5356", "--graph", "svg"],
        &["--fact", "usable(_, 4043)"],
    ] {
        let ended = run(["why", job, "4043"].iter().chain(wrong));
        assert_eq!(ended.status, Some(2), "{wrong:?}");
    }
    let json = |more: &[&str]| run(["why", job, "4043", "--json"].iter().chain(more)).with_status(0).json();
    assert_eq!(json(&[]), json(&["--full"]), "JSON is always the whole derivation");
    assert_eq!(json(&[]), json(&["--brief"]));
}
