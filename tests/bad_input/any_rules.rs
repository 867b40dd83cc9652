//! Whatever the bytes are, reading rules ends, in a rulebook or in mistakes that point into the text.

use crate::support::program::*;
use proptest::prelude::*;
use whyrod::engine::Recording;
use whyrod::explain::{Extent, Presence, candidate, contrast, inquire, why};
use whyrod::job::read_job;
use whyrod::language::{Rulebook, RulebookError, draw, read_rulebook_texts};
use whyrod::verdict::{check_expectations, decide};

/// Reads texts, and draws what is wrong with them or runs what they say; neither may panic. Gives the rulebook, if it is
/// one.
fn settle(texts: &[(String, String)]) -> Option<Rulebook> {
    match read_rulebook_texts(texts.iter().map(|(name, text)| (name.as_str(), text.as_str()))) {
        Ok(rulebook) => {
            // The rules may be of any subject, so that both outcomes are good; an error has words.
            if let Err(error) = check_expectations(&rulebook) {
                assert!(!error.to_string().is_empty());
            }
            Some(rulebook)
        }
        Err(RulebookError::Mistakes { sources, diagnostics }) => {
            assert!(!diagnostics.is_empty(), "a failure without a mistake");
            for diagnostic in &diagnostics {
                let text = &sources.file(diagnostic.span).text;
                let span = diagnostic.span;
                assert!(
                    span.start <= span.end && span.end as usize <= text.len(),
                    "{diagnostic:?} lies outside"
                );
                for end in [span.start, span.end] {
                    assert!(text.is_char_boundary(end as usize), "{diagnostic:?} ends inside a character");
                }
            }
            assert!(!draw(&diagnostics, &sources, false).is_empty());
            None
        }
        Err(other) => panic!("texts in memory are always readable: {other}"),
    }
}

fn settle_alone(text: &str) {
    settle(&[("a.why".to_owned(), text.to_owned())]);
}

/// The files of the small rulebook with their names.
fn small_files() -> Vec<(String, String)> {
    let mut files: Vec<(String, String)> = std::fs::read_dir(small())
        .expect("rules")
        .map(|entry| entry.expect("a file").path())
        .map(|path| (path.display().to_string(), std::fs::read_to_string(&path).expect("a rule file")))
        .collect();
    files.sort();
    files
}

/// Rule texts to begin with: the files of the small rulebook, one of mistakes, one of curves.
fn seeds() -> Vec<String> {
    let others = ["tests/rulebooks/mistakes/all.why", "rules/05-hot-cracking/curves.why"];
    let others = others.map(|path| std::fs::read_to_string(root().join(path)).expect("a rule file"));
    small_files().into_iter().map(|(_, text)| text).chain(others).collect()
}

const PIECES: &[&str] = &[
    "(",
    ")",
    "\"",
    "--",
    "\n",
    "\n    ",
    "..",
    "%",
    "°C",
    "nan",
    "1e999",
    "0",
    "-",
    "{",
    "}",
    "{}",
    ":",
    ",",
    "_",
    "given ",
    "unless ",
    "let X = ",
    "where ",
    "hence ",
    "count of ",
    "least ",
    "range of ",
    "across ",
    "unit ",
    "cite ",
    "include \"a\"\n",
    "computed ",
    "question ",
    "finding x\n",
    "table ",
    "curve ",
    "\u{feff}",
    "\u{0}",
    "é",
    "\u{a0}",
    "\\",
    "P",
    "Mg",
    "whole",
];

fn mutated(text: &str, edits: &[(usize, usize, u8, String)]) -> String {
    let mut characters: Vec<char> = text.chars().collect();
    for (at, length, kind, with) in edits {
        if characters.is_empty() {
            break;
        }
        let at = at % characters.len();
        let end = (at + length).min(characters.len());
        let piece = characters[at..end].to_vec();
        match kind % 4 {
            0 => drop(characters.drain(at..end)),
            1 => drop(characters.splice(at..at, piece)),
            2 => drop(characters.splice(at..end, with.chars())),
            _ => characters[at..end].reverse(),
        }
    }
    characters.into_iter().collect()
}

/// A small slip: a short piece of text lost, doubled, turned round or written over.
fn slip() -> impl Strategy<Value = (usize, usize, u8, String)> {
    let piece =
        prop::sample::select(vec!["0", "9", "P", "J", "F", "_", " ", "100 ", "1e300 * ", "0 * ", "-- "]);
    (any::<usize>(), 0usize..3, any::<u8>(), piece.prop_map(str::to_owned))
}

fn edits() -> impl Strategy<Value = Vec<(usize, usize, u8, String)>> {
    let piece = prop_oneof!["\\PC{0,6}", prop::sample::select(PIECES).prop_map(str::to_owned)];
    prop::collection::vec((any::<usize>(), 0usize..40, any::<u8>(), piece), 1..8)
}

#[test]
fn a_cite_amid_its_row() {
    let rulebook = settle(&[(
        "a.why".to_owned(),
        "table r(a: name, v: ratio)\n    x  cite memory  1\n    y  2  cite common practice\n".to_owned(),
    )])
    .expect("a rulebook");
    let cites: Vec<String> = rulebook.facts.iter().map(|fact| fact.cites[0].to_string()).collect();
    assert_eq!(cites, ["from memory", "common practice"]);
}

#[test]
fn a_mistake_at_a_wide_blank() {
    for blank in ["\u{202f}", "\u{3000}", "\u{2028}", "\u{85}"] {
        settle_alone(&format!("finding{blank}heat.little\n    says{blank}\"x\"\n"));
        settle_alone(&format!("relation r(a:{blank}name)\nwords{blank}{blank}\n"));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        settle_alone(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn arbitrary_pieces(pieces in prop::collection::vec(prop::sample::select(PIECES), 0..60)) {
        settle_alone(&pieces.concat());
    }

    #[test]
    fn mutated_rules(seed in prop::sample::select(seeds()), edits in edits()) {
        settle_alone(&mutated(&seed, &edits));
    }

    /// One file of a good rulebook is spoilt, so that what can still be read is run as well.
    #[test]
    fn a_spoilt_rulebook(which in any::<prop::sample::Index>(), edits in prop::collection::vec(slip(), 1..3)) {
        let mut files = small_files();
        let count = files.len();
        let text = &mut files[which.index(count)].1;
        *text = mutated(text, &edits);
        let Some(rulebook) = settle(&files) else { return Ok(()) };
        let job = std::fs::read(root().join("tests/rulebooks/small/job.toml")).expect("the small job");
        let Ok(job) = read_job("job.toml", &job, &rulebook) else { return Ok(()) };
        if let Ok(decision) = decide(&rulebook, job, Recording::Everything) {
            let report = decision.report();
            for joint in &report.joints {
                for verdict in &joint.verdicts {
                    let filler = verdict.filler.as_str();
                    let told = why(&decision, &report, &joint.joint, filler, Extent::Every).expect("a candidate");
                    prop_assert_eq!(told.verdict, verdict.verdict);
                    let other = joint.verdicts[0].filler.as_str();
                    let told = contrast(&decision, &report, &joint.joint, [filler, other]).expect("candidates");
                    prop_assert_eq!(told.verdicts[0], verdict.verdict);
                    // Whatever the rulebook says, there is an answer about a fact that it does not conclude.
                    let asked = candidate(&decision, &joint.joint, "no such filler");
                    prop_assert_eq!(inquire(&decision, &asked, Extent::First).status, Presence::Absent);
                }
            }
        }
    }
}
