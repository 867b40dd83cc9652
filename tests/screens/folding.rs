//! Trees fold what was told before into references. Unfolded again, a printed tree is the whole graph that is written as JSON:
//! the same sentences, and the same ones below each.

use crate::support::program::*;

use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// A line of a printed tree: how deep it stands, and its sentence.
struct Line {
    depth: usize,
    text: String,
}

/// The lines of a printed tree, each with its continuation, without notes.
fn lines(page: &str) -> Vec<Line> {
    let (_, tree) = page.split_once("\n\n").expect("a lead and a tree");
    let mut lines: Vec<Line> = Vec::new();
    let mut in_note = false;
    let mut after_gap = true;
    for line in tree.lines() {
        let mut rest = line;
        let mut depth = 0;
        while let Some(inner) = rest.strip_prefix("│  ").or_else(|| rest.strip_prefix("   ")) {
            rest = inner;
            depth += 1;
        }
        if let Some(text) = rest.strip_prefix("├─ ").or_else(|| rest.strip_prefix("╰─ ")) {
            lines.push(Line { depth: depth + 1, text: text.to_owned() });
            in_note = false;
        } else if line.is_empty() {
            after_gap = true;
            continue;
        } else if after_gap {
            lines.push(Line { depth: 0, text: line.to_owned() });
            in_note = false;
        } else {
            in_note |= rest.starts_with('[') || rest.starts_with("│ [");
            if !in_note {
                let last = lines.last_mut().expect("a line before its continuation");
                last.text.push(' ');
                last.text.push_str(rest);
            }
        }
        after_gap = false;
    }
    lines
}

/// "(12) the sentence" as its number and the sentence.
fn marked(text: &str) -> (Option<usize>, &str) {
    let number = text.strip_prefix('(').and_then(|rest| rest.split_once(") "));
    match number.and_then(|(number, rest)| Some((number.parse().ok()?, rest))) {
        Some((number, rest)) => (Some(number), rest),
        None => (None, text),
    }
}

/// The number of the line that a reference points to.
fn reference(text: &str) -> Option<usize> {
    let (_, number) = text.strip_suffix(')')?.rsplit_once("(as above, ")?;
    number.parse().ok()
}

fn plain(text: &str) -> &str {
    let text = text.strip_prefix("because ").unwrap_or(text);
    text.strip_suffix(" (open)").unwrap_or(text)
}

/// Sentences, and each sentence with one below it.
#[derive(Debug, Default, PartialEq, Eq)]
struct Told {
    sentences: BTreeSet<String>,
    below: BTreeSet<(String, String)>,
    references: usize,
}

fn unfolded(page: &str) -> Told {
    let lines = lines(page);
    let mut told = Told::default();
    let mut by_number: BTreeMap<usize, String> = BTreeMap::new();
    for line in &lines {
        if let (Some(number), text) = marked(&line.text) {
            assert!(by_number.insert(number, plain(text).to_owned()).is_none(), "({number}) stands twice");
        }
    }
    let numbers: Vec<usize> = by_number.keys().copied().collect();
    assert_eq!(numbers, (1..=numbers.len()).collect::<Vec<_>>(), "numbers run from one");
    let mut above: Vec<String> = Vec::new();
    for line in &lines {
        let sentence = match reference(&line.text) {
            Some(number) => {
                told.references += 1;
                let sentence = by_number.get(&number).unwrap_or_else(|| panic!("no line ({number})")).clone();
                let shown = plain(&line.text).split('…').next().unwrap_or_default();
                let shown = shown.split(" (as above").next().unwrap_or_default().trim();
                assert!(sentence.starts_with(shown), "{:?} points to {sentence:?}", line.text);
                sentence
            }
            None => plain(marked(&line.text).1).to_owned(),
        };
        above.truncate(line.depth);
        if let Some(parent) = above.last() {
            told.below.insert((parent.clone(), sentence.clone()));
        }
        told.sentences.insert(sentence.clone());
        above.push(sentence);
    }
    told
}

fn of_graph(answer: &Value) -> Told {
    let one_line = |node: &Value| text(&node["text"]).split_whitespace().collect::<Vec<_>>().join(" ");
    let nodes = list(&answer["derivation"]["nodes"]);
    let mut told = Told::default();
    for node in nodes.iter().filter(|node| node["kind"] != "source") {
        told.sentences.insert(one_line(node));
    }
    for edge in list(&answer["derivation"]["edges"]).iter().filter(|edge| edge[2] != "source") {
        let node = |at: &Value| one_line(&nodes[at.as_u64().expect("a node") as usize]);
        told.below.insert((node(&edge[0]), node(&edge[1])));
    }
    told
}

/// The page up to where it tells what other facts would bring.
fn without_changes(page: &str) -> &str {
    let leads = [
        "How far facts may move",
        "As the job stands, use",
        "It would be",
        "No change of up to",
        "If the job was described wrongly",
    ];
    let ends = leads.iter().filter_map(|lead| page.find(&format!("\n\n{lead}")));
    &page[..ends.min().unwrap_or(page.len())]
}

#[test]
fn an_unfolded_tree_is_the_graph() {
    let asked: [&[&str]; 6] = [
        &["why", "examples/hot-grain-dryer.toml", "4043", "--joint", "duct to flange"],
        &["why", "examples/oyster-barge.toml", "5183", "--joint", "hull seam"],
        &["why", "examples/half-answered-cart.toml", "4043", "--joint", "frame corner"],
        &["why-not", "examples/library-balustrade.toml", "5183", "--joint", "post to foot", "--all"],
        &["why-not", "examples/half-answered-cart.toml", "5356", "--joint", "frame corner"],
        &["why-not", "examples/hot-grain-dryer.toml", "--fact", "recommended(\"duct to flange\", 5356)"],
    ];
    for arguments in asked {
        let page = run(arguments.iter().chain(&["--full"])).with_status(0).out;
        let answer = run(arguments.iter().chain(&["--json"])).with_status(0).json();
        let mut tree = unfolded(without_changes(&page));
        assert!(tree.references > 0, "{arguments:?}: nothing is folded");
        tree.references = 0;
        let graph = of_graph(&answer);
        let lost: Vec<_> = graph.sentences.difference(&tree.sentences).collect();
        let added: Vec<_> = tree.sentences.difference(&graph.sentences).collect();
        assert!(lost.is_empty() && added.is_empty(), "{arguments:?}\nlost {lost:#?}\nadded {added:#?}");
        assert_eq!(tree.below, graph.below, "{arguments:?}");
    }
}

#[test]
fn the_argument_says_nothing_that_the_derivation_does_not() {
    for (job, filler) in
        [("hot-grain-dryer", "4043"), ("oyster-barge", "5183"), ("loom-beam-bracket", "4643")]
    {
        let job = format!("examples/{job}.toml");
        let drawn = run(["why", &job, filler, "--graph", "dot"]).with_status(0).out;
        let whole = run(["why", &job, filler, "--graph", "dot", "--full"]).with_status(0).out;
        let edges = |dot: &str| dot.lines().filter(|line| line.contains(" -> ")).count();
        assert!(edges(&drawn) > 10 && edges(&drawn) * 5 < edges(&whole), "{job}");
        let labels = |dot: &str| -> BTreeSet<String> {
            let label =
                |line: &str| Some(line.split_once("[label=\"")?.1.rsplit_once("\", shape")?.0.to_owned());
            dot.lines().filter_map(label).collect()
        };
        let whole = labels(&whole);
        for label in labels(&drawn) {
            // Conditions and sums are told without their source text, and what is left out is counted.
            let words = label.replace("\\n", " ");
            let known = whole.iter().any(|other| {
                let other = other.replace("\\n", " ");
                other == words || other.starts_with(&format!("{words} (")) || is_sum(&words)
            });
            assert!(known || words.starts_with("and "), "{job}: {words}");
        }
    }
}

/// "Most = larger(…) = 1.2 %": a working whose formula stands here with its values alone.
fn is_sum(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_uppercase()) && text.contains(" = ")
}
