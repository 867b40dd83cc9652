//! The house is as its plan says: imports run downward only, files say what lives in them, and none grows without end.
//! All of it is read from the sources.

mod circles;
mod how_to_add;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// For each folder of `src`, or file beside them, the others that it may use. What is not listed is not allowed.
const ARROWS: &[(&str, &[&str])] = &[
    (
        "command",
        &[
            "relations",
            "ask",
            "show",
            "explain",
            "change",
            "compare",
            "mixture",
            "verify",
            "record",
            "verdict",
            "job",
            "engine",
            "language",
            "quantity",
            "built_in",
            "files",
            "visible",
        ],
    ),
    ("ask", &["show", "change", "verdict", "job", "engine", "language", "files"]),
    ("show", &["explain", "change", "compare", "mixture", "verify", "verdict", "job", "quantity", "visible"]),
    ("verify", &["relations", "record", "verdict", "computed", "job", "engine", "language", "quantity"]),
    ("record", &["verdict", "computed", "job", "engine", "language", "quantity", "visible"]),
    ("explain", &["relations", "change", "verdict", "engine", "language", "quantity", "processors"]),
    ("change", &["relations", "verdict", "computed", "job", "engine", "language", "quantity", "processors"]),
    ("compare", &["relations", "verdict", "computed", "job", "engine", "language", "quantity", "processors"]),
    ("mixture", &["relations", "verdict", "computed", "metallurgy", "engine", "language", "quantity"]),
    ("verdict", &["relations", "computed", "job", "engine", "language", "quantity", "processors"]),
    ("computed", &["relations", "metallurgy", "engine", "language", "quantity", "processors"]),
    ("metallurgy", &["quantity"]),
    ("job", &["relations", "language", "quantity"]),
    ("engine", &["language", "quantity"]),
    ("built_in", &["language"]),
    ("relations", &["language"]),
    ("language", &["quantity", "processors", "visible"]),
    ("quantity", &[]),
    ("processors", &[]),
    ("files", &[]),
    ("visible", &[]),
];

/// What the checker of records may use of the folders whose work it checks: shapes of data, computations, and how a
/// sentence or a summary is made of what it collects itself. Nothing that matches, evaluates or decides.
const CHECKER: &[(&str, &[&str])] = &[
    ("engine", &["Cell", "Computation", "ComputedRow", "InputRows", "Memory"]),
    (
        "verdict",
        &[
            "Beaten",
            "FillerVerdict",
            "JobStamp",
            "JointReport",
            "Measured",
            "OpenQuestion",
            "ProgramStamp",
            "Report",
            "RulebookStamp",
            "FewestFillers",
            "Established",
            "Level",
            "Standing",
            "Verdict",
            "Vocabulary",
            "asked_sentence",
            "decisive",
            "about_fillers_in_use",
            "fewest",
            "is_said",
            "row_sentence",
            "whole_sentence",
        ],
    ),
];

/// A file longer than this does too much.
const LONGEST: usize = 450;

/// Files that are longer all the same: the most lines each may have, and why.
const LONGER: &[(&str, usize, &str)] =
    &[("src/language/rulebook.rs", 580, "the types of a checked rulebook, which are read together")];

/// Names that say nothing about what lives in a file.
const EMPTY_NAMES: &[&str] = &["util", "utils", "helper", "helpers", "manager", "managers", "misc", "common"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(path);
        }
    }
}

/// Every Rust file below a folder, by its path from the repository, with its text.
fn sources(folder: &str) -> BTreeMap<String, String> {
    let mut paths = Vec::new();
    rust_files(&root().join(folder), &mut paths);
    paths
        .into_iter()
        .map(|path| {
            let name = path.strip_prefix(root()).expect("a file of the repository");
            let name = name.to_string_lossy().replace('\\', "/");
            (name, fs::read_to_string(&path).expect("a source file"))
        })
        .collect()
}

/// The text without comments.
fn code(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

/// The first names of the paths behind `prefix`: the one that follows, or each of a list in braces.
fn named_behind(code: &str, prefix: &str) -> Vec<String> {
    let name = |text: &str| -> String {
        text.trim_start().chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect()
    };
    let mut names = Vec::new();
    for (at, _) in code.match_indices(prefix) {
        let inside_a_word =
            code[..at].chars().next_back().is_some_and(|c| c.is_alphanumeric() || c == '_' || c == ':');
        if inside_a_word {
            continue;
        }
        let rest = &code[at + prefix.len()..];
        let Some(group) = rest.strip_prefix('{') else {
            names.push(name(rest));
            continue;
        };
        let mut depth = 0;
        let mut start = 0;
        for (at, c) in group.char_indices() {
            match c {
                '{' => depth += 1,
                ',' if depth == 0 => {
                    names.push(name(&group[start..at]));
                    start = at + 1;
                }
                '}' if depth == 0 => {
                    names.push(name(&group[start..at]));
                    break;
                }
                '}' => depth -= 1,
                _ => {}
            }
        }
    }
    names.retain(|name| !name.is_empty());
    names
}

/// The folders that a file uses, by whichever path it reaches them.
fn used(path: &str, text: &str, folders: &BTreeSet<&str>) -> BTreeSet<String> {
    let code = code(text);
    let mut names = named_behind(&code, "crate::");
    // From a file at depth n, `super` n times over is the root of the crate.
    let depth = path.matches('/').count() - usize::from(path.ends_with("/mod.rs"));
    names.extend(named_behind(&code, &"super::".repeat(depth)));
    names.extend(named_behind(&code, "whyrod::"));
    names.into_iter().filter(|name| folders.contains(name.as_str())).collect()
}

#[test]
fn the_paths_of_an_import_are_all_seen() {
    let folders = BTreeSet::from(["job", "engine", "language", "command", "show"]);
    let text = "//! crate::command\nuse crate::{engine::Cell, job::{Job, Part}};\nuse super::super::language;\n\
                fn f() { crate::show::width(); mycrate::command::run(); }\n";
    let seen = used("src/verdict/collect.rs", text, &folders);
    assert_eq!(seen.iter().map(String::as_str).collect::<Vec<_>>(), ["engine", "job", "language", "show"]);
}

#[test]
fn the_plan_has_no_way_back() {
    let below = |folder: &str| ARROWS.iter().find(|(name, _)| *name == folder).map_or(&[][..], |(_, to)| to);
    for (folder, _) in ARROWS {
        let mut reached = BTreeSet::new();
        let mut waiting = below(folder).to_vec();
        while let Some(next) = waiting.pop() {
            assert_ne!(next, *folder, "a circle through {folder}");
            if reached.insert(next) {
                waiting.extend(below(next));
            }
        }
    }
}

#[test]
fn imports_run_downward_only() {
    let folders: BTreeSet<&str> = ARROWS.iter().map(|(folder, _)| *folder).collect();
    let mut wrong = Vec::new();
    let mut arrows = 0;
    for (path, text) in sources("src") {
        if matches!(path.as_str(), "src/main.rs" | "src/lib.rs") {
            continue;
        }
        let folder = path.split('/').nth(1).expect("a folder below src").trim_end_matches(".rs");
        let Some((_, allowed)) = ARROWS.iter().find(|(name, _)| *name == folder) else {
            wrong.push(format!("{path} stands in a folder that the plan does not have"));
            continue;
        };
        for other in used(&path, &text, &folders) {
            arrows += 1;
            if other != folder && !allowed.contains(&other.as_str()) {
                wrong.push(format!("{path} uses {other}; {folder} may use {}", allowed.join(", ")));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(arrows > 30, "only {arrows} imports were seen: is the reading still right?");
}

#[test]
fn the_checker_of_records_judges_by_itself() {
    let mut seen = BTreeSet::new();
    for (path, text) in sources("src").into_iter().filter(|(path, _)| path.starts_with("src/verify/")) {
        let code = code(&text);
        assert!(!code.contains("super::super::super"), "{path} reaches out of its folder");
        for (folder, allowed) in CHECKER {
            for way in ["crate", "super::super", "whyrod"] {
                for name in named_behind(&code, &format!("{way}::{folder}::")) {
                    assert!(allowed.contains(&name.as_str()), "{path} uses {folder}::{name}");
                    seen.insert(name);
                }
                // A folder taken in whole could be used for anything.
                let whole = [format!("use {way}::{folder};"), format!("use {way}::{folder} as")];
                assert!(!whole.iter().any(|whole| code.contains(whole)), "{path} takes in all of {folder}");
                let grouped =
                    named_behind(&code, &format!("{way}::")).iter().filter(|name| name == folder).count();
                let by_name = code.matches(&format!("{way}::{folder}::")).count();
                assert_eq!(grouped, by_name, "{path} reaches {folder} in another way");
            }
        }
    }
    let all: BTreeSet<String> =
        CHECKER.iter().flat_map(|(_, names)| names.iter().map(|name| (*name).to_owned())).collect();
    assert_eq!(seen, all, "the list names more than the checker uses");
}

#[test]
fn every_file_says_what_lives_in_it() {
    for (path, text) in sources("src").into_iter().chain(sources("tests")) {
        let first = text.lines().next().unwrap_or_default();
        assert!(first.starts_with("//! ") && first.len() > 15, "{path} opens with {first:?}");
    }
}

#[test]
fn no_file_grows_without_end() {
    let mut wrong = Vec::new();
    let sources: BTreeMap<String, String> = sources("src").into_iter().chain(sources("tests")).collect();
    for (path, text) in &sources {
        let lines = text.lines().count();
        let most = LONGER.iter().find(|(longer, ..)| longer == path).map_or(LONGEST, |(_, most, _)| *most);
        if lines > most {
            wrong.push(format!("{path} has {lines} lines, and {most} at most are allowed"));
        }
    }
    for (path, _, reason) in LONGER {
        assert!(!reason.is_empty());
        if sources.get(*path).is_none_or(|text| text.lines().count() <= LONGEST) {
            wrong.push(format!("{path} needs no exception any more: take it off the list"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn names_say_what_they_name() {
    for (path, text) in sources("src").into_iter().chain(sources("tests")) {
        let parts = path.trim_end_matches(".rs").split('/').map(str::to_owned);
        let modules = named_behind(&code(&text), "mod ");
        for name in parts.chain(modules) {
            assert!(!EMPTY_NAMES.contains(&name.as_str()), "{path}: {name} names nothing");
        }
    }
}
