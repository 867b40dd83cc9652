//! The README's transcripts are what the program says.

use assert_cmd::Command;
use std::path::Path;
use whyrod::language::{Origin, read_rulebook};

/// Blocks that start with `$ whyrod`: the arguments, and what is shown of the output.
fn transcripts(readme: &str) -> Vec<(Vec<String>, String)> {
    readme
        .split("```console\n")
        .skip(1)
        .filter_map(|rest| rest.split("\n```").next())
        .filter_map(|block| block.split_once('\n'))
        .filter_map(|(first, shown)| {
            Some((shlex::split(first.strip_prefix("$ whyrod ")?)?, shown.to_owned()))
        })
        .collect()
}

#[test]
fn transcripts_are_what_the_program_says() {
    let root = env!("CARGO_MANIFEST_DIR");
    let readme = std::fs::read_to_string(format!("{root}/README.md")).expect("the README can be read");
    let transcripts = transcripts(&readme);
    assert!(transcripts.len() >= 3, "the README has lost its transcripts");
    for (arguments, shown) in transcripts {
        let output = Command::cargo_bin("whyrod")
            .expect("the program is built")
            .current_dir(root)
            .args(&arguments)
            .output()
            .expect("the program runs");
        let said = String::from_utf8_lossy(&output.stdout);
        // A line with three dots alone stands for the rest.
        let shown = shown.strip_suffix("\n…").unwrap_or(&shown);
        assert!(
            said.starts_with(shown),
            "whyrod {arguments:?} says now:\n{said}\nthe README shows:\n{shown}"
        );
    }
}

#[test]
fn every_key_that_may_be_left_out_is_listed() {
    let root = env!("CARGO_MANIFEST_DIR");
    let readme = std::fs::read_to_string(format!("{root}/README.md")).expect("the README can be read");
    let rulebook = read_rulebook(&Path::new(root).join("rules")).expect("the rules can be read");
    let left_out: Vec<&str> = rulebook
        .relations
        .iter()
        .filter_map(|relation| match &relation.origin {
            Origin::Question(question) if question.left_out.is_some() => Some(question.path.as_str()),
            _ => None,
        })
        .collect();
    assert!(left_out.len() > 10, "only {left_out:?}");
    for path in left_out {
        assert!(readme.contains(&format!("`{path}`")), "the README does not tell of {path}");
    }
}
