//! `record` and `verify` from the command line: files, exit status, JSON, and input that is no record.

use crate::support::program::*;

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
fn a_record_is_never_written_over_unasked() {
    let folder = folder();
    let path = folder.path().join("lid.json");
    let path = path.to_str().expect("a path");
    let arguments = ["record", JOB, "--rules", RULES, "-o", path];
    assert_eq!(run(arguments).with_status(0).out, "", "what goes into a file does not go to the screen");
    assert_eq!(std::fs::read_to_string(path).expect("the record"), written());
    std::fs::write(path, "mine").expect("a file");
    refused(&run(arguments), "lid-2.json is free, and --overwrite replaces it");
    assert_eq!(std::fs::read_to_string(path).expect("my file"), "mine");
    run(arguments.iter().chain(&["--overwrite"])).with_status(0);
    assert_eq!(std::fs::read_to_string(path).expect("the record"), written());
    let ended = run(["verify", path, "--rules", RULES]).with_status(0);
    assert!(ended.out.contains("The record holds."), "{ended:?}");
    run(["record", JOB, "--rules", RULES, "--overwrite"]).with_status(2);
    refused(&run(["record", "no-such-job.toml"]), "no-such-job.toml");
}

#[test]
fn the_answer_is_in_the_exit_status_and_in_json() {
    let answer = verified(&written(), &["--json"]).with_status(0).json();
    assert_eq!(answer["holds"], true);
    assert_eq!(answer["problems"], serde_json::json!([]));
    assert_eq!(answer["remarks"], serde_json::json!([]));
    assert_eq!(answer["counts"]["verdicts"], 8);
    let forged = written().replacen("\"verdict\":\"barred\"", "\"verdict\":\"usable\"", 1);
    let answer = verified(&forged, &["--json"]).with_status(3).json();
    assert_eq!(answer["holds"], false);
    let problem = &list(&answer["problems"])[0];
    assert!(text(&problem["about"]).ends_with(", verdict"), "{problem}");
    assert_eq!(
        (text(&problem["expected"]), text(&problem["found"])),
        ("\"barred\"".into(), "\"usable\"".into())
    );
}

#[test]
fn many_problems_are_cut_and_told_on_request() {
    let forged = written().replace("\"holds\"", "\"open\"");
    let some = verified(&forged, &[]).with_status(3).out;
    let all = verified(&forged, &["--all"]).with_status(3).out;
    assert!(some.contains("more; --all names them."), "{some}");
    assert!(!all.contains("--all") && all.len() > some.len());
    assert!(some.matches("expected: ").count() == 12 && all.matches("expected: ").count() > 12);
}

#[test]
fn another_version_or_rulebook_is_remarked_on_and_no_fault() {
    let version = format!("\"version\":\"{}\"", env!("CARGO_PKG_VERSION"));
    let older = written().replace(&version, "\"version\":\"0.0.9\"");
    let ended = verified(&older, &[]).with_status(0);
    assert!(ended.out.contains("written by version 0.0.9"), "{ended:?}");
    let ended = ended_without_rules(&written()).with_status(0);
    assert!(ended.out.contains("is not the one that this program brings along"), "{ended:?}");
}

fn ended_without_rules(record: &str) -> Ended {
    ended(program().args(["verify", "-"]).write_stdin(record.as_bytes().to_vec()))
}

#[test]
fn what_is_no_record_is_refused_with_its_place() {
    let record = written();
    let lines = record.lines().count();
    refused(&verified("", &[]), "standard input:1:0: this is no record");
    refused(&verified("[1, 2", &[]), "standard input:1:");
    refused(&verified("{}", &[]), "missing field `record`");
    refused(&verified(&record[..record.len() / 2], &[]), "this is no record: EOF");
    refused(&verified(&record.replacen("\"first\"", "\"frist\"", 1), &[]), "unknown field `frist`");
    let wrong =
        record.replacen("\"open\":true", "\"open\":\"yes\"", 1).replacen("\"met\":[", "\"met\":[[],", 1);
    let ended = verified(&wrong, &[]);
    refused(&ended, "standard input:");
    let line: usize = ended.err.split(':').nth(2).and_then(|line| line.parse().ok()).expect("a line");
    assert!(line > 100 && line < lines, "{ended:?}");
    let mut bytes = record.clone().into_bytes();
    bytes[1000] = 0xff;
    refused(&ended_of(bytes), "the record is not UTF-8 text");
    refused(&run(["verify", "no-such-record.json"]), "no-such-record.json");
    refused(&run(["verify", "examples"]), "examples");
    refused(&run(["verify", JOB]), "job.toml:1:");
}

fn ended_of(bytes: Vec<u8>) -> Ended {
    ended(program().args(["verify", "-"]).write_stdin(bytes))
}

#[test]
fn a_job_with_a_byte_order_mark_keeps_its_fingerprint() {
    let job = std::fs::read_to_string(root().join(JOB)).expect("the small job");
    let folder = folder();
    let path = write(folder.path(), "marked.toml", format!("\u{feff}{job}"));
    let record = run(["record", path.to_str().expect("a path"), "--rules", RULES]).with_status(0).out;
    assert!(verified(&record, &[]).with_status(0).out.contains("The record holds."));
    assert_ne!(record, written());
}

#[test]
fn a_rulebook_of_several_folders_is_read_again_in_its_order() {
    let folder = folder();
    let rules = folder.path().join("rules");
    // "heat/…" and "heat-…" change places when names are sorted as texts.
    copy_rules(&small(), &rules.join("heat"), str::to_owned, |_, text| text);
    write(&rules, "heat-more.why", "-- More of the same.\ninclude \"zz-shared\"\n");
    write(&rules, "zz-shared/words.why", "words shade: pale, dark\n");
    let rules = rules.to_str().expect("a path");
    let record = run(["record", JOB, "--rules", rules]).with_status(0).out;
    let ended = ended(program().args(["verify", "-", "--rules", rules]).write_stdin(record)).with_status(0);
    assert!(ended.out.contains("The record holds.") && !ended.out.contains("Note"), "{ended:?}");
}
