//! What would take all memory or never end is refused, with the finding that takes it; and a rulebook stays in its folder.

use crate::support::program::*;
use std::fs;
use std::path::Path;

fn check(folder: &Path, more: &[&str]) -> Ended {
    let path = folder.to_str().expect("a path");
    run(["rulebook", "check", path].iter().chain(more))
}

/// A rulebook with one table of so many names, and a finding over it.
fn rulebook(names: usize, finding: &str) -> tempfile::TempDir {
    let folder = folder();
    let rows: String = (0..names).map(|name| format!("    n{name}\n")).collect();
    let head = "table p(a: name)\n    reads \"{a} is there\"\n    cite common practice\n";
    let text =
        format!("{head}{rows}\n{finding}\nexpectation \"something\"\n    assume p(z)\n    hence p(z)\n");
    fs::write(folder.path().join("rules.why"), text).expect("a rulebook");
    folder
}

#[test]
fn a_cross_product_is_refused_by_name() {
    let finding = "relation q(a: name, b: name, c: name, d: name, e: name, f: name)\n\
                   \x20   reads \"{a}{b}{c}{d}{e}{f}\"\n\
                   finding all.of-them\n    says \"{A}{B}{C}{D}{E}{F}\"\n    cite common practice\n\
                   \x20   given p(A)\n    given p(B)\n    given p(C)\n    given p(D)\n    given p(E)\n    given p(F)\n\
                   \x20   hence q(A, B, C, D, E, F)\n";
    let folder = rulebook(60, finding);
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.contains("the finding `all.of-them` takes more than"), "{}", ended.err);
    assert!(ended.err.contains("--budget"), "{}", ended.err);
}

#[test]
fn rows_looked_at_in_vain_are_counted_too() {
    let mut rules = whyrod::built_in().expect("the built-in rulebook");
    rules.budget.steps = 1_000;
    let job = fs::read(root().join("examples/kite-reel.toml")).expect("an example");
    let job = whyrod::job::read_job("job.toml", &job, &rules).expect("a job");
    let error = whyrod::verdict::decide(&rules, job, whyrod::engine::Recording::Nothing).err();
    let told = error.expect("a refusal").to_string();
    assert!(told.contains("takes more than 1000 steps"), "{told}");
}

#[test]
fn a_number_from_a_table_may_stand_in_a_circle() {
    let finding = "relation linked(a: name, b: name, value: ratio)\n    reads \"{a} {b} {value}\"\n\
                   table weight(a: name, value: ratio)\n    reads \"{a} {value}\"\n    cite common practice\n    n1  2\n    n2  3\n\
                   finding linked.first\n    says \"{A} {V}\"\n    cite common practice\n    given weight(A, value: V)\n\
                   \x20   hence linked(A, A, value: V)\n\
                   finding linked.on\n    says \"{A} {B} {C} {V}\"\n    cite common practice\n\
                   \x20   given linked(A, B)\n    given p(C)\n    given weight(C, value: V)\n    hence linked(B, C, value: V)\n";
    let folder = rulebook(3, finding);
    let ended = check(folder.path(), &[]).with_status(0);
    assert!(ended.out.contains("no mistakes"), "{}", ended.out);
}

#[test]
fn an_include_stays_within_the_folder() {
    let outside = folder();
    let secret = write(outside.path(), "secret.why", "words secret: hidden-text\n");
    for path in [secret.to_str().expect("a path"), "/dev/zero", "/etc/hostname", "../secret.why"] {
        let folder = folder();
        fs::write(folder.path().join("rules.why"), format!("include \"{path}\"\nwords kind: one\n"))
            .expect("a rulebook");
        let ended = check(folder.path(), &[]).with_status(1);
        assert!(ended.err.contains("cannot include"), "{}", ended.err);
        assert!(!ended.err.contains("hidden-text"), "{}", ended.err);
    }
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_folder_is_refused() {
    let outside = folder();
    let secret = write(outside.path(), "secret.why", "words secret: hidden-text\n");
    let folder = folder();
    fs::write(folder.path().join("rules.why"), "words kind: one\n").expect("a rulebook");
    std::os::unix::fs::symlink(secret, folder.path().join("more.why")).expect("a link");
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.contains("it lies outside the folder of the rulebook"), "{}", ended.err);
    assert!(!ended.err.contains("hidden-text"), "{}", ended.err);
}

#[test]
fn thermodynamic_data_are_an_ordinary_file() {
    for path in ["/dev/zero", "/etc/hostname", "/nowhere.tdb"] {
        let ended = run(["pool", "--base", "6061", "--data", path]).with_status(1);
        assert!(ended.err.lines().count() == 1, "{}", ended.err);
    }
}

#[test]
fn files_and_folders_are_counted_and_the_limit_can_be_raised() {
    let folder = rulebook(3, "words kind: one\n");
    let mut inner = folder.path().to_owned();
    // More folders than files are allowed, in rows and not below each other.
    for row in 0..200 {
        inner = folder.path().join(format!("row{row}"));
        for number in 0..50 {
            fs::create_dir_all(inner.join(number.to_string())).expect("a folder");
        }
    }
    assert!(inner.is_dir());
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.contains("more than 10000 files and folders"), "{}", ended.err);
    assert!(ended.err.contains("--budget"), "{}", ended.err);
    check(folder.path(), &["--budget", "2"]).with_status(0);
}

#[test]
fn the_bytes_of_a_rule_file_can_be_raised() {
    let folder = rulebook(3, "words kind: one\n");
    let long = "-- a remark that says nothing\n".repeat((8 << 20) / 30 + 1);
    fs::write(folder.path().join("long.why"), long).expect("a long file");
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.contains("larger than 8 MiB; raise the limit with --budget"), "{}", ended.err);
    check(folder.path(), &["--budget", "2"]).with_status(0);
}

#[test]
fn what_is_quoted_without_end_is_cut() {
    let folder = folder();
    let digits = "9".repeat(400_000);
    let text = format!(
        "table p(a: name, v: length)\n    reads \"{{a}} {{v}}\"\n    cite common practice\n    n1  {digits} mm\n"
    );
    fs::write(folder.path().join("rules.why"), text).expect("a rulebook");
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.len() < 5_000, "{}", ended.err.len());
    assert!(ended.err.contains("characters …"), "{}", ended.err);
}

#[test]
fn a_circle_through_thousands_shows_some_of_them() {
    const FINDINGS: usize = 3000;
    let folder = folder();
    let mut text = "table p(a: name)\n    reads \"{a}\"\n    cite common practice\n    n1\n".to_owned();
    for number in 0..FINDINGS {
        let next = (number + 1) % FINDINGS;
        text.push_str(&format!("relation r{number}(a: name)\n    reads \"{{a}}\"\n"));
        text.push_str(&format!("finding f.n{number}\n    says \"{{A}}\"\n    cite common practice\n"));
        text.push_str(&format!("    given p(A)\n    unless r{next}(A)\n    hence r{number}(A)\n"));
    }
    fs::write(folder.path().join("rules.why"), text).expect("a rulebook");
    let ended = check(folder.path(), &[]).with_status(1);
    assert!(ended.err.lines().count() < 400, "{}", ended.err.lines().count());
    assert!(ended.err.contains("2960 more places"), "{}", ended.err);
}
