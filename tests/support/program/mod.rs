//! Running the program and looking at what it says. No tests live here.

#![allow(dead_code)]

pub mod library;

use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// How a run of the program ended.
#[derive(Debug, PartialEq, Eq)]
pub struct Ended {
    pub status: Option<i32>,
    pub out: String,
    pub err: String,
}

impl Ended {
    /// Standard output as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("no JSON: {error}\n{self:?}"))
    }

    /// The same, where the status is the one expected.
    #[track_caller]
    pub fn with_status(self, status: i32) -> Ended {
        assert_eq!(self.status, Some(status), "{self:?}");
        self
    }
}

/// The program, without colour or other settings from around it.
pub fn program() -> assert_cmd::Command {
    let mut command = assert_cmd::Command::new(assert_cmd::cargo::cargo_bin!("whyrod"));
    command
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .env_remove("CLICOLOR")
        .env_remove("RUST_BACKTRACE")
        .env_remove("COLUMNS");
    command.current_dir(root());
    command
}

/// Runs the program with these arguments.
pub fn run<A: AsRef<std::ffi::OsStr>>(arguments: impl IntoIterator<Item = A>) -> Ended {
    ended(program().args(arguments))
}

/// Runs a command that is made ready.
pub fn ended(command: &mut assert_cmd::Command) -> Ended {
    let output = command.output().expect("the program starts");
    Ended {
        status: output.status.code(),
        out: String::from_utf8(output.stdout).expect("output is UTF-8"),
        err: String::from_utf8(output.stderr).expect("messages are UTF-8"),
    }
}

/// The folder of this repository.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The rulebook that is built in.
pub fn built_in() -> PathBuf {
    root().join("rules")
}

/// A small rulebook that no edit of the built-in one moves.
pub fn small() -> PathBuf {
    root().join("tests/rulebooks/small/rules")
}

/// The text of an example job.
pub fn example(name: &str) -> String {
    fs::read_to_string(root().join("examples").join(name)).expect("an example")
}

/// A new folder that goes away with the test.
pub fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a folder for the test")
}

/// Writes a file into a folder and gives its path.
pub fn write(folder: &Path, name: &str, content: impl AsRef<[u8]>) -> PathBuf {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().expect("a folder")).expect("a folder for the file");
    fs::write(&path, content).expect("a file for the test");
    path
}

/// Copies the rule files of a folder, each under the name that `named` gives it and with the text that `edit` makes.
pub fn copy_rules(
    from: &Path,
    to: &Path,
    named: impl Fn(&str) -> String,
    edit: impl Fn(&str, String) -> String,
) {
    fs::create_dir_all(to).expect("a folder for the copy");
    for (name, path) in rule_files(from) {
        let text = fs::read_to_string(&path).expect("a rule file");
        let copy = to.join(named(&name));
        fs::create_dir_all(copy.parent().expect("a folder")).expect("a folder for the copy");
        fs::write(copy, edit(&name, text)).expect("a copy");
    }
}

/// The rule files of a folder and of the folders in it, each by its path below the folder.
pub fn rule_files(folder: &Path) -> BTreeMap<String, PathBuf> {
    let mut found = BTreeMap::new();
    let mut waiting = vec![folder.to_owned()];
    while let Some(next) = waiting.pop() {
        for entry in fs::read_dir(next).expect("a rulebook") {
            let path = entry.expect("a file of the rulebook").path();
            if path.is_dir() {
                waiting.push(path);
            } else if path.extension().is_some_and(|extension| extension == "why") {
                let name = path.strip_prefix(folder).expect("below it").to_string_lossy().into_owned();
                found.insert(name, path);
            }
        }
    }
    found
}

/// Verdicts by joint and filler, out of what `choose --json` says.
pub fn verdicts(report: &Value) -> BTreeMap<(String, String), String> {
    let mut found = BTreeMap::new();
    for joint in list(&report["joints"]) {
        for verdict in list(&joint["verdicts"]) {
            let key = (text(&joint["joint"]), text(&verdict["filler"]));
            found.insert(key, text(&verdict["verdict"]));
        }
    }
    found
}

/// A JSON list.
#[track_caller]
pub fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap_or_else(|| panic!("a list is expected, not {value}"))
}

/// A JSON text.
#[track_caller]
pub fn text(value: &Value) -> String {
    value.as_str().unwrap_or_else(|| panic!("a text is expected, not {value}")).to_owned()
}

/// The status is 1, the message is there and says `part`, and nothing else is written.
#[track_caller]
pub fn refused(ended: &Ended, part: &str) {
    assert_eq!(ended.status, Some(1), "{ended:?}");
    assert_eq!(ended.out, "", "a refusal writes no answer");
    assert!(ended.err.contains(part), "{part:?} is expected in\n{}", ended.err);
    assert!(!ended.err.contains("panicked"), "{}", ended.err);
    assert!(ended.err.len() < 200_000, "{} bytes of messages", ended.err.len());
}
