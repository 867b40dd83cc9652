//! What a reader of records refuses: keys that stand twice, more than may be, other forms; and files that are not to be
//! written over.

use crate::support::program::*;
use std::time::{Duration, Instant};
use whyrod::language::read_rulebook;
use whyrod::record::{Record, RecordBudget};
use whyrod::verify::{Usual, verify};

const JOB: &str = "tests/rulebooks/small/job.toml";
const RULES: &str = "tests/rulebooks/small/rules";

fn written() -> String {
    run(["record", JOB, "--rules", RULES]).with_status(0).out
}

fn verified(record: &str, more: &[&str]) -> Ended {
    let arguments = ["verify", "-", "--rules", RULES];
    ended(program().args(arguments.iter().chain(more)).write_stdin(record.as_bytes().to_vec()))
}

#[test]
fn a_key_that_stands_twice_is_refused_wherever_it_stands() {
    let record = written();
    let verdict = "\"verdict\":\"barred\"";
    assert!(record.contains(verdict), "the record has no barred filler");
    let twice = record.replacen(verdict, &format!("\"verdict\":\"recommended\",{verdict}"), 1);
    refused(&verified(&twice, &[]), "the key `verdict` occurs twice");
    // Every key of the record once.
    let mut keys = std::collections::BTreeSet::new();
    let mut rest = record.as_str();
    while let Some(at) = rest.find("\":") {
        let start = rest[..at].rfind('"').expect("a key begins");
        keys.insert(rest[start + 1..at].to_owned());
        rest = &rest[at + 2..];
    }
    let mut tried = 0;
    for key in keys.iter().filter(|key| key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')) {
        let entry = format!("\"{key}\":");
        let Some(at) = record.find(&entry) else { continue };
        let after = &record[at + entry.len()..];
        let mut values = serde_json::Deserializer::from_str(after).into_iter::<serde_json::Value>();
        let Some(Ok(_)) = values.next() else { continue };
        let value = &after[..values.byte_offset()];
        let twice = format!("{}{entry}{value},{}", &record[..at], &record[at..]);
        let ended = verified(&twice, &[]);
        assert_eq!(ended.status, Some(1), "{key}: {ended:?}");
        assert!(
            ["occurs twice", "duplicate field", "expected"].iter().any(|part| ended.err.contains(part)),
            "{key}: {ended:?}"
        );
        tried += 1;
    }
    assert!(tried > 25, "only {tried} keys were tried of {keys:?}");
}

#[test]
fn another_form_is_refused_before_anything_else_is_read() {
    let older = written().replacen("\"record\":2", "\"record\":1", 1);
    let ended = verified(&older[..200], &[]);
    refused(&ended, "it is of form 1, and this program reads form 2; write it again with `whyrod record`");
}

#[test]
fn more_than_may_be_is_refused_by_reader_and_writer() {
    let text = written();
    let usual = RecordBudget::default();
    let record = Record::read(text.as_bytes(), &usual).expect("a record");
    let whole = text.len() as u64;
    let bytes = |bytes: u64| RecordBudget { bytes, ..usual };
    assert!(Record::read(text.as_bytes(), &bytes(whole)).is_ok());
    let error = Record::read(text.as_bytes(), &bytes(whole - 1)).expect_err("too large").to_string();
    assert!(error.contains("the record is larger than") && error.contains("--budget"), "{error}");
    let mut out = Vec::new();
    record.write(&mut out, &bytes(whole)).expect("large enough");
    assert_eq!(out, text.as_bytes());
    let error = record.write(&mut Vec::new(), &bytes(whole - 1)).expect_err("too large").to_string();
    assert!(error.contains("the record is larger than") && error.contains("--budget"), "{error}");
    let few = RecordBudget { facts: 10, ..usual };
    let mut out = Vec::new();
    let error = record.write(&mut out, &few).expect_err("too many facts").to_string();
    assert!(
        error.contains("facts, more than 10; raise the limit with --budget") && out.is_empty(),
        "{error}"
    );
    let small = read_rulebook(&small()).expect("the small rulebook");
    let usual_rules = Usual {
        fingerprint: small.fingerprint.clone(),
        called: "these".to_owned(),
        files: small.sources.files.clone(),
    };
    let error = verify(&record, &usual_rules, &few).expect_err("too many facts").to_string();
    assert!(error.contains("facts, more than 10"), "{error}");
    assert_eq!(usual.times(3).bytes, usual.bytes * 3);
}

#[test]
fn a_record_with_rules_that_never_end_is_refused_in_time() {
    // A product of six relations of two hundred rows, of which nothing is recorded.
    let record: serde_json::Value = serde_json::from_str(&written()).expect("JSON");
    let mut record = record;
    let files = record["rulebook"]["files"].as_array_mut().expect("files");
    let mut text = String::from(
        "relation many(x: name)\nrelation product(x: name)\n\ntable many\n    cite common practice\n",
    );
    (0..200).for_each(|row| text.push_str(&format!("    row{row}\n")));
    text.push_str("\nfinding a.product\n    says \"{A} {B} {C} {D} {E} {F}\"\n    cite common practice\n");
    for variable in ["A", "B", "C", "D", "E", "F"] {
        text.push_str(&format!("    given many({variable})\n"));
    }
    text.push_str("    hence product(A)\n");
    let lines: Vec<usize> = (0..200)
        .map(|row| text[..text.find(&format!("row{row}\n")).expect("a row")].matches('\n').count() + 1)
        .collect();
    files.push(serde_json::json!({ "file": "z.why", "text": text }));
    let first: u64 = list(&record["facts"])
        .iter()
        .map(|relation| {
            let count = |key: &str| relation[key].as_array().map_or(0, Vec::len) as u64;
            count("known") + count("open")
        })
        .sum();
    let texts = record["texts"].as_array_mut().expect("texts");
    let from = texts.len();
    (0..200).for_each(|row| texts.push(format!("row{row}").into()));
    let rows: Vec<serde_json::Value> = (0..200)
        .map(|row| serde_json::json!({ "cells": [from + row], "by": [{ "table": format!("z.why:{}", lines[row]) }] }))
        .collect();
    let relation = serde_json::json!({ "relation": "many", "first": first, "known": rows });
    record["facts"].as_array_mut().expect("facts").push(relation);
    // "record" has to come first again.
    let text = serde_json::to_string(&record).expect("JSON");
    let form = "\"record\":2,";
    assert!(text.contains(form));
    let text = format!("{{{form}{}", &text.replacen(form, "", 1)[1..]);
    let started = Instant::now();
    let ended = verified(&text, &[]);
    refused(&ended, "the finding a.product applies more than");
    let patience = Duration::from_secs(60);
    assert!(started.elapsed() < patience, "{:?}", started.elapsed());
}

#[cfg(unix)]
#[test]
fn an_interrupted_writer_leaves_the_old_record() {
    let folder = folder();
    let path = write(folder.path(), "lid.json", "the old record");
    // No file may grow beyond a few blocks: the system ends the program in the middle of its writing.
    let command = format!(
        "ulimit -f 8; exec {} record {JOB} --rules {RULES} -o {} --overwrite",
        assert_cmd::cargo::cargo_bin!("whyrod").display(),
        path.display()
    );
    let output = std::process::Command::new("sh").args(["-c", &command]).current_dir(root()).output();
    let status = output.expect("a shell").status;
    assert!(!status.success(), "it was not interrupted");
    assert_eq!(std::fs::read_to_string(&path).expect("the file"), "the old record");
}

#[test]
fn a_file_that_is_write_protected_stays() {
    let folder = folder();
    let path = write(folder.path(), "lid.json", "the old record");
    let mut permissions = std::fs::metadata(&path).expect("the file").permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&path, permissions).expect("protected");
    let arguments = ["record", JOB, "--rules", RULES, "--overwrite", "-o"];
    refused(&run(arguments.iter().chain(&[path.to_str().expect("a path")])), "the file is write-protected");
    assert_eq!(std::fs::read_to_string(&path).expect("the file"), "the old record");
    let plot =
        ["pool", "--base", "6061", "--filler", "4043", "--dilution", "40..60%", "--overwrite", "--plot"];
    refused(&run(plot.iter().chain(&[path.to_str().expect("a path")])), "the file is write-protected");
    let job = std::fs::read_to_string(root().join("examples/half-answered-cart.toml")).expect("a job");
    let job_path = write(folder.path(), "cart.toml", &job);
    let mut permissions = std::fs::metadata(&job_path).expect("the file").permissions();
    permissions.set_readonly(true);
    std::fs::set_permissions(&job_path, permissions).expect("protected");
    let answer = ["ask", job_path.to_str().expect("a path"), "--answer", "service.exposure = \"dry\""];
    let ended = run(answer);
    assert_eq!(std::fs::read_to_string(&job_path).expect("the job"), job, "{ended:?}");
    assert_eq!(ended.status, Some(1), "{ended:?}");
}

/// What must not stand on a terminal as it is.
fn is_raw(c: char) -> bool {
    c != '\n' && (c.is_control() || whyrod::visible::is_harmful(c))
}

#[test]
fn no_name_reaches_the_terminal_raw() {
    let hostile = "x\u{1b}[2J\u{202e}\u{200b}\u{9b}\nThe record holds.\n";
    let folder = folder();
    let missing = folder.path().join(format!("{hostile}.toml"));
    let missing = missing.to_str().expect("a path");
    let job = write(
        folder.path(),
        &format!("{hostile}.toml"),
        std::fs::read_to_string(root().join(JOB)).expect("a job"),
    );
    let job = job.to_str().expect("a path");
    let broken = write(folder.path(), &format!("{hostile}broken.toml"), "title = [\n");
    let broken = broken.to_str().expect("a path");
    let record = folder.path().join("record.json");
    let record = record.to_str().expect("a path");
    run(["record", job, "--rules", RULES, "-o", record]).with_status(0);
    let forged = std::fs::read_to_string(record).expect("the record").replacen("\"barred\"", "\"usable\"", 1);
    let forged = write(folder.path(), "forged.json", forged);
    let forged = forged.to_str().expect("a path");
    let calls: Vec<Vec<&str>> = vec![
        vec!["choose", missing],
        vec!["choose", broken, "--rules", RULES],
        vec!["choose", job, "--rules", RULES],
        vec!["choose", job, "--rules", RULES, "--json"],
        vec!["why", job, hostile, "--rules", RULES],
        vec!["why", job, "P1", "--joint", hostile, "--rules", RULES],
        vec!["why", job, "--fact", hostile, "--rules", RULES],
        vec!["suppose", job, hostile, "--rules", RULES],
        vec!["record", job, "--rules", RULES],
        vec!["verify", missing],
        vec!["verify", forged, "--rules", RULES],
        vec!["verify", forged, "--rules", RULES, "--json"],
        vec!["pool", "--base", hostile, "--filler", "4043"],
        vec!["pool", "--base", "6061", "--filler", hostile],
        vec!["pool", "--base", "6061", "--dilution", hostile],
        vec!["pool", "--composition", hostile],
        vec!["rulebook", "check", hostile],
        vec!["choose", job, "--colour", hostile],
        vec!["choose", job, hostile],
        vec![hostile],
        vec!["choose", job, "--rules", hostile],
    ];
    for call in calls {
        let ended = run(&call);
        for text in [&ended.out, &ended.err] {
            assert_eq!(text.chars().find(|c| is_raw(*c)), None, "{call:?}: {text:?}");
            assert!(!text.lines().any(|line| line.starts_with("The record holds")), "{call:?}: {text}");
        }
    }
}

#[test]
fn a_long_name_does_not_wrap_into_an_answer() {
    let folder = folder();
    for blanks in 40..70 {
        let name = format!("{} The record holds..toml", "x".repeat(blanks));
        let job = std::fs::read_to_string(root().join(JOB)).expect("a job");
        let job = write(folder.path(), &name, job);
        let record = run(["record", job.to_str().expect("a path"), "--rules", RULES]).with_status(0).out;
        let forged = record.replacen("\"barred\"", "\"usable\"", 1);
        let page = verified(&forged, &[]).with_status(3).out;
        assert!(!page.lines().any(|line| line.starts_with("The record holds")), "{page}");
        if blanks % 10 != 0 {
            continue;
        }
        assert!(verified(&record, &[]).with_status(0).out.contains("\nThe record holds.\n"));
    }
}
