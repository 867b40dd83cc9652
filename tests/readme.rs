//! The README's transcripts are what the program says.

use assert_cmd::Command;

/// Blocks that start with `$ whyrod`: the arguments, and what is shown of the output.
fn transcripts(readme: &str) -> Vec<(Vec<String>, String)> {
    readme
        .split("```console\n")
        .skip(1)
        .filter_map(|rest| rest.split("\n```").next())
        .filter_map(|block| block.split_once('\n'))
        .filter_map(|(first, shown)| Some((words(first.strip_prefix("$ whyrod ")?), shown.to_owned())))
        .collect()
}

/// Words of a command line, with double quotes kept together.
fn words(line: &str) -> Vec<String> {
    line.split('"')
        .enumerate()
        .flat_map(|(index, part)| {
            if index % 2 == 1 {
                vec![part.to_owned()]
            } else {
                part.split_whitespace().map(str::to_owned).collect()
            }
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
