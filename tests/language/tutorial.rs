//! The tutorial beside the grammar: every edit is made in a fresh copy of the built-in rulebook, every command is run, and says what
//! stands there.

use crate::support::program::*;
use std::path::Path;

/// A part of the page: a heading that begins a step, an edit of a file, or commands with what they say.
enum Part {
    Step,
    Edit { file: String, from: String, to: String },
    Commands(Vec<(String, Vec<String>)>),
}

fn parts(page: &str) -> Vec<Part> {
    let mut parts = Vec::new();
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        if line.starts_with("## ") {
            parts.push(Part::Step);
        } else if let Some(block) = line.strip_prefix("```").filter(|kind| !kind.is_empty()) {
            let body: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
            if let Some(file) = block.strip_prefix("edit ") {
                let of = |sign: char| -> String {
                    let lines = body.iter().filter_map(|line| line.strip_prefix(sign));
                    lines.map(|line| format!("{line}\n")).collect()
                };
                parts.push(Part::Edit { file: file.to_owned(), from: of('-'), to: of('+') });
            } else if block == "console" {
                let mut commands: Vec<(String, Vec<String>)> = Vec::new();
                for line in body {
                    match (line.strip_prefix("$ "), commands.last_mut()) {
                        (Some(command), _) => commands.push((command.to_owned(), Vec::new())),
                        (None, Some((_, said))) => said.push(line.to_owned()),
                        (None, None) => panic!("output without a command: {line}"),
                    }
                }
                parts.push(Part::Commands(commands));
            }
        }
    }
    parts
}

fn fresh(folder: &Path) {
    let rules = folder.join("my-rules");
    let _ = std::fs::remove_dir_all(&rules);
    copy_rules(&built_in(), &rules, str::to_owned, |_, text| text);
    std::fs::create_dir_all(rules.join("freezing")).expect("a folder");
}

#[test]
fn every_command_of_the_tutorial_says_what_stands_there() {
    let page = std::fs::read_to_string(root().join("grammar/TUTORIAL.md")).expect("the page");
    let folder = folder();
    for entry in std::fs::read_dir(root().join("examples")).expect("the examples") {
        let path = entry.expect("an example").path();
        if path.is_file() {
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            write(folder.path(), &format!("examples/{name}"), std::fs::read(&path).expect("an example"));
        }
    }
    copy_rules(
        &root().join("examples/other-subject"),
        &folder.path().join("examples/other-subject"),
        str::to_owned,
        |_, text| text,
    );
    let (mut edits, mut commands) = (0, 0);
    for part in parts(&page) {
        match part {
            Part::Step => fresh(folder.path()),
            Part::Edit { file, from, to } => {
                let path = folder.path().join("my-rules").join(&file);
                let text = std::fs::read_to_string(&path).expect("a rule file");
                assert!(text.contains(&from), "{file} does not hold {from}");
                std::fs::write(&path, text.replacen(&from, &to, 1)).expect("the edit");
                edits += 1;
            }
            Part::Commands(all) => {
                for (command, said) in all {
                    let words = shlex::split(&command).expect("words");
                    assert_eq!(words[0], "whyrod");
                    let ended = ended(program().current_dir(folder.path()).args(&words[1..]));
                    let told = format!("{}{}", ended.out, ended.err);
                    let told: Vec<&str> = told.trim_end().lines().collect();
                    let whole = said.last().is_none_or(|last| last != "…");
                    let shown = if whole { &said[..] } else { &said[..said.len() - 1] };
                    let begins = told.iter().take(shown.len()).eq(shown.iter());
                    assert!(
                        begins && (!whole || told.len() == shown.len()),
                        "{command} says now:\n{}",
                        told.join("\n")
                    );
                    commands += 1;
                }
            }
        }
    }
    assert!(edits >= 8 && commands >= 11, "{edits} edits, {commands} commands");
}
