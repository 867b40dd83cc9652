//! The same job and rulebook give the same bytes; the order of rule files and the form of the job file change nothing.

use crate::support::program::*;
use serde_json::{Map, Value};
use std::path::Path;

const JOB: &str = "examples/sap-evaporator.toml";
const OPEN_JOB: &str = "examples/half-answered-cart.toml";
const SMALL_JOB: &str = "tests/rulebooks/small/job.toml";

#[test]
fn the_same_question_gets_the_same_bytes() {
    let questions: [&[&str]; 9] = [
        &["choose", JOB],
        &["record", OPEN_JOB],
        &["choose", JOB, "--json"],
        &["choose", OPEN_JOB, "--json"],
        &["why", JOB, "4043", "--all"],
        &["why", JOB, "5356", "--json"],
        &["why-not", OPEN_JOB, "5356", "--graph", "svg"],
        &["why-not", OPEN_JOB, "5356", "--graph", "dot"],
        &["why", SMALL_JOB, "P2", "--json", "--all", "--rules", "tests/rulebooks/small/rules"],
    ];
    for question in questions {
        let first = run(question);
        assert!(first.out.len() > 200, "{question:?}: {first:?}");
        assert_eq!(run(question), first, "{question:?}");
    }
}

/// The answer without what is the rule files' alone: fingerprint, file names and lines.
fn without_places(mut answer: Value) -> Value {
    fn strip(value: &mut Value) {
        match value {
            Value::Object(entries) => {
                entries.retain(|key, _| !["fingerprint", "file", "line"].contains(&key.as_str()));
                entries.values_mut().for_each(strip);
            }
            Value::Array(items) => items.iter_mut().for_each(strip),
            _ => {}
        }
    }
    strip(&mut answer);
    answer
}

/// A copy of a rulebook whose files come in the opposite order.
fn turned_round(rules: &Path, to: &Path) {
    let before = names(rules);
    let place = |name: &str| before.iter().position(|known| known == name).expect("a file of the rulebook");
    let turned = |name: &str| format!("{:03}-{}", before.len() - place(name), name.replace('/', "-"));
    copy_rules(rules, to, turned, |_, text| text);
    let mut after: Vec<String> = names(to).iter().map(|name| name[4..].to_owned()).collect();
    after.reverse();
    let before: Vec<String> = before.iter().map(|name| name.replace('/', "-")).collect();
    assert_eq!(before, after, "the same files, the other way round");
}

fn names(folder: &Path) -> Vec<String> {
    rule_files(folder).into_keys().collect()
}

#[track_caller]
fn same_whatever_the_order(rules: &Path, questions: &[&[&str]]) {
    let folder = folder();
    let turned = folder.path().join("turned");
    turned_round(rules, &turned);
    for question in questions {
        let with = |rules: &Path| {
            let rules = rules.to_str().expect("a path");
            without_places(run(question.iter().copied().chain(["--json", "--rules", rules])).json())
        };
        let (before, after) = (with(rules), with(&turned));
        assert_eq!(verdicts_of(&before), verdicts_of(&after), "{question:?}");
        assert_eq!(before, after, "{question:?}");
    }
}

/// Verdicts, where the answer is a report.
fn verdicts_of(answer: &Value) -> Option<std::collections::BTreeMap<(String, String), String>> {
    answer["joints"].is_array().then(|| verdicts(answer))
}

#[test]
fn the_order_of_rule_files_changes_no_verdict_and_no_reason() {
    same_whatever_the_order(&built_in(), &[&["choose", JOB], &["choose", OPEN_JOB]]);
    same_whatever_the_order(&small(), &[&["choose", SMALL_JOB]]);
}

#[test]
fn the_order_of_rule_files_changes_no_derivation() {
    let folder = folder();
    let turned = folder.path().join("turned");
    turned_round(&built_in(), &turned);
    for filler in ["4043", "5356", "1100"] {
        // Where a fact was found in several ways, they may be told in another order; what is told is the same.
        let told = |rules: &Path| {
            let rules = rules.to_str().expect("a path");
            let arguments = ["why", OPEN_JOB, filler, "--joint", "deck to frame", "--all", "--json"];
            let answer = run(arguments.into_iter().chain(["--rules", rules])).with_status(0).json();
            let mut nodes: Vec<String> = list(&answer["derivation"]["nodes"])
                .iter()
                .map(|node| format!("{} {} {} {}", node["kind"], node["text"], node["finding"], node["cite"]))
                // The copied files have numbers before their names.
                .map(|node| without_numbers(&node))
                .collect();
            nodes.sort();
            let edges = list(&answer["derivation"]["edges"]).len();
            (text(&answer["verdict"]), edges, nodes)
        };
        let (before, after) = (told(&built_in()), told(&turned));
        assert!(before.2.len() > 50);
        assert_eq!(before, after, "{filler}");
    }
}

/// A text in which no file name begins with three digits and a hyphen.
fn without_numbers(text: &str) -> String {
    let is_numbered = |word: &str| {
        word.len() > 4 && word.as_bytes()[..3].iter().all(u8::is_ascii_digit) && word.as_bytes()[3] == b'-'
    };
    let bare = |word: &str| match word.strip_prefix('(') {
        Some(rest) if is_numbered(rest) => format!("({}", &rest[4..]),
        // The folders of the original are part of the copies' names.
        Some(rest) => format!("({}", rest.replacen('/', "-", 1)),
        _ => word.to_owned(),
    };
    text.split(' ').map(bare).collect::<Vec<_>>().join(" ")
}

/// A TOML tree as JSON.
fn as_json(item: &toml_edit::Item) -> Value {
    fn table(table: &dyn toml_edit::TableLike) -> Value {
        Value::Object(table.iter().map(|(key, item)| (key.to_owned(), as_json(item))).collect::<Map<_, _>>())
    }
    if let Some(inner) = item.as_table_like() {
        return table(inner);
    }
    if let Some(tables) = item.as_array_of_tables() {
        return Value::Array(tables.iter().map(|inner| table(inner)).collect());
    }
    match item.as_value().expect("a value") {
        toml_edit::Value::String(text) => Value::String(text.value().clone()),
        toml_edit::Value::Integer(number) => Value::from(*number.value()),
        toml_edit::Value::Float(number) => Value::from(*number.value()),
        toml_edit::Value::Boolean(truth) => Value::from(*truth.value()),
        toml_edit::Value::Datetime(date) => Value::String(date.value().to_string()),
        toml_edit::Value::Array(items) => {
            Value::Array(items.iter().map(|value| as_json(&toml_edit::Item::Value(value.clone()))).collect())
        }
        toml_edit::Value::InlineTable(inner) => table(inner),
    }
}

#[test]
fn both_forms_of_a_job_get_the_same_answer() {
    let folder = folder();
    for job in [JOB, OPEN_JOB, "examples/hot-grain-dryer.toml", "examples/library-balustrade.toml"] {
        let text = std::fs::read_to_string(root().join(job)).expect("an example");
        let document: toml_edit::DocumentMut = text.parse().expect("TOML");
        let json = serde_json::to_string_pretty(&as_json(document.as_item())).expect("JSON");
        let path = write(folder.path(), "job.json", json);
        let (toml, json) =
            (run(["choose", job, "--json"]), run(["choose", path.to_str().expect("a path"), "--json"]));
        assert_eq!(toml.status, json.status, "{job}: {json:?}");
        assert_ne!(toml.json()["job"]["fingerprint"], json.json()["job"]["fingerprint"]);
        assert_eq!(without_places(toml.json()), without_places(json.json()), "{job}");
    }
}

#[test]
fn standard_input_is_read_like_a_file() {
    let text = std::fs::read(root().join(JOB)).expect("an example");
    let from_file = run(["choose", JOB, "--json"]);
    let from_input = ended(program().args(["choose", "-", "--json"]).write_stdin(text));
    assert_eq!(from_file.json(), from_input.json());
}
