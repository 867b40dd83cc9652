//! Whatever rulebook the program is given, it ends with a status and a message that points, and never with a panic.

use crate::support::program::*;
use std::path::{Path, PathBuf};

/// What the commands that read a rulebook say of a folder of one rule file.
fn of_rules(name: &str, content: impl AsRef<[u8]>) -> Vec<Ended> {
    let folder = folder();
    let path = write(folder.path(), name, content);
    of_folder(path.parent().expect("a folder"))
}

fn of_folder(rules: &Path) -> Vec<Ended> {
    let job = root().join("tests/rulebooks/small/job.toml");
    let command = |arguments: &[&std::ffi::OsStr]| run(arguments);
    let (rules, job) = (rules.as_os_str(), job.as_os_str());
    vec![
        command(&["rulebook".as_ref(), "check".as_ref(), rules]),
        command(&["rulebook".as_ref(), "check".as_ref(), "--rules".as_ref(), rules, "--json".as_ref()]),
        command(&["choose".as_ref(), job, "--rules".as_ref(), rules]),
        command(&["why".as_ref(), job, "P1".as_ref(), "--rules".as_ref(), rules]),
    ]
}

#[track_caller]
fn rules_refused(content: impl AsRef<[u8]>, parts: &[&str]) {
    for ended in of_rules("a.why", content) {
        for part in parts {
            refused(&ended, part);
        }
    }
}

#[track_caller]
fn folder_refused(rules: &Path, part: &str) {
    for ended in of_folder(rules) {
        refused(&ended, part);
    }
}

#[test]
fn rules_that_are_no_text() {
    rules_refused("", &["there are no rules in it"]);
    rules_refused("-- only a remark\n", &["there are no rules in it"]);
    rules_refused(b"relation r(a: name)\n-- caf\xe9\n", &["not UTF-8", "a.why:2:7"]);
    rules_refused([0u8, 1, 2, 255, 254, 10, 0], &["not UTF-8", "a.why:1:4"]);
    rules_refused([0u8; 64], &["a.why:1:1"]);
    rules_refused("  relation r(a: name)\n", &["this belongs to no item", "a.why:1:3"]);
}

#[test]
fn rules_that_cannot_be_opened() {
    let folder = folder();
    folder_refused(folder.path(), "no .why file in this folder");
    folder_refused(&folder.path().join("none"), "none");
    write(folder.path(), "notes.txt", "relation r(a: name)\n");
    folder_refused(folder.path(), "no .why file in this folder");
    let large = write(folder.path(), "large/a.why", vec![b'x'; 100_000_000]);
    folder_refused(large.parent().expect("a folder"), "larger than 8 MiB");
}

#[cfg(target_os = "linux")]
#[test]
fn rules_without_an_end() {
    folder_refused(Path::new("/dev/zero"), "it is no ordinary file");
    refused(&run(["choose", "/dev/zero"]), "the job file is too large");
}

/// A rulebook whose one finding holds this clause.
fn rules_with_clause(clause: &str) -> String {
    format!(
        "relation r(a: name, v: ratio)\n\nrelation q(a: name, v: ratio)\n\nfinding q.found\n    says \"{{A}} has {{X}}\"\n    \
         cite common practice\n    -- a remark with one \" in it\n    given r(A, V)\n{clause}\n    hence q(A, X)\n"
    )
}

#[test]
fn formulas_without_end() {
    for many in [100, 5_000, 100_000] {
        let brackets = rules_with_clause(&format!("    let X = {}V{}", "(".repeat(many), ")".repeat(many)));
        rules_refused(brackets, &["brackets nested more than 64 deep", "a.why:10:"]);
        let calls = rules_with_clause(&format!("    let X = {}V{}", "root(".repeat(many), ")".repeat(many)));
        rules_refused(calls, &["brackets nested more than 64 deep", "a.why:10:"]);
        rules_refused(format!("words a: {}\n", "(".repeat(many)), &["a.why:1:"]);
    }
    for many in [1_000, 200_000] {
        for sign in [" + ", " * "] {
            let chain = rules_with_clause(&format!("    let X = {}", vec!["V"; many].join(sign)));
            rules_refused(chain, &["a formula of more than 500 figures", "a.why:10:"]);
        }
    }
    let clauses = rules_with_clause(&format!("{}    let X = V", "    given r(A, V)\n".repeat(20_000)));
    rules_refused(clauses, &["more than 200 clauses", "a.why:207:5"]);
    let bearable = rules_with_clause(&format!("    let X = {}", vec!["V"; 500].join(" + ")));
    let ended = &of_rules("a.why", bearable)[0];
    assert_eq!(ended.status, Some(0), "{ended:?}");
}

#[test]
fn includes_without_end() {
    let folder = folder();
    write(folder.path(), "circle/a.why", "include \"b.why\"\n");
    write(folder.path(), "circle/b.why", "include \"a.why\"\n");
    folder_refused(&folder.path().join("circle"), "a.why → b.why → a.why");
    folder_refused(&folder.path().join("circle"), "b.why:1:9");
    write(folder.path(), "self/a.why", "include \".\"\n");
    folder_refused(&folder.path().join("self"), "a.why:1:9");
    for index in 0..5_000 {
        let text = format!("include \"{}.why\"\n", index + 1);
        write(folder.path(), &format!("chain/{index}.why"), text);
    }
    write(folder.path(), "chain/5000.why", "relation r(a: name)\n");
    folder_refused(&folder.path().join("chain"), "more than 64 files or folders deep");
    write(folder.path(), "gone/a.why", "include \"nowhere\"\n");
    folder_refused(&folder.path().join("gone"), "a.why:1:9");
}

#[test]
fn many_mistakes_are_counted() {
    let ended = &of_rules("a.why", "x\n".repeat(100_000))[0];
    refused(ended, "and 99800 more like these");
    refused(ended, "the rulebook has 100000 mistakes");
}

#[test]
fn rules_with_wrong_figures() {
    let table =
        |cell: &str| format!("table r(a: name, v: length)\n    cite common practice\n    x  {cell}\n");
    for cell in ["NaN mm", "inf mm", "1e999 mm", "3 kg", "3", "3 xm", "-", "3 mm 4 mm 5 mm"] {
        rules_refused(table(cell), &["a.why:3:"]);
    }
    let compare = "relation r(v: temperature)\n\nrelation q(v: temperature)\n\nfinding q.found\n    says \"{T}\"\n    \
                   cite common practice\n    given r(T)\n    where T > 3 %\n    hence q(T)\n";
    rules_refused(compare, &["a temperature is compared", "a.why:9:"]);
}

/// The small rulebook with one of its files edited.
fn small_with(edit: impl Fn(&str, String) -> String) -> (tempfile::TempDir, PathBuf) {
    let folder = folder();
    let rules = folder.path().join("rules");
    copy_rules(&small(), &rules, str::to_owned, edit);
    (folder, rules)
}

#[test]
fn rules_that_cannot_decide_a_job() {
    let relations = [
        ("barred", "barred(joint, filler, criterion)"),
        ("recommended", "recommended(joint, filler)"),
        ("caution", "caution(joint, about)"),
        ("beats", "beats(joint, winner, loser, criterion)"),
    ];
    for (relation, wanted) in relations {
        // The relation under another name, throughout.
        let (_folder, rules) =
            small_with(|_, text| text.replace(&format!(" {relation}("), &format!(" other-{relation}(")));
        let ended = of_folder(&rules);
        assert_eq!(ended[0].status, Some(0), "it is a good rulebook of another subject: {:?}", ended[0]);
        refused(&ended[2], &format!("it declares no relation {wanted}"));
        refused(&ended[3], &format!("it declares no relation {wanted}"));
    }
    let ended = of_rules("a.why", "relation r(a: name)\n");
    refused(&ended[2], "it declares no relation `joint`");
}

#[test]
fn relations_that_are_computed_otherwise() {
    let (_folder, roles) = small_with(|name, text| match name {
        "metals.why" => text.replace("pass: ", "stage: ").replace("{pass}", "{stage}"),
        _ => text,
    });
    folder_refused(&roles, "the program computes pool, declared as");
    folder_refused(&roles, "metals.why:");
    let (_folder, dimension) = small_with(|_, text| {
        let text = text.replace(
            "lowest: share, nominal: share, highest: share",
            "lowest: mass-percent, nominal: mass-percent, highest: mass-percent",
        );
        [10, 15, 20, 30, 40]
            .iter()
            .fold(text, |text, share| text.replace(&format!("= {share} %"), &format!("= {share} wt%")))
    });
    folder_refused(&dimension, "base-share(joint, alloy, lowest: share");
    let (_folder, unknown) = small_with(|name, text| match name {
        "job.why" => text + "\ncomputed strain(joint: name)\n    from joint\n",
        _ => text,
    });
    folder_refused(&unknown, "the program computes no relation strain");
    let (_folder, assumed) = small_with(|name, text| match name {
        "expectations.why" => text.replace(
            "    hence  barred",
            "    assume pool(seam, P1, Mg, 1 wt%, 1 wt%, 1 wt%, whole)\n    hence  barred",
        ),
        _ => text,
    });
    folder_refused(&assumed, "\"pool\" cannot be assumed");
    folder_refused(&assumed, "expectations.why:3:12");
}

#[test]
fn a_byte_order_mark_hides_nothing() {
    let (_folder, rules) = small_with(|_, text| format!("\u{feff}{text}").replace('\n', "\r\n"));
    let [check, choose] = [&of_folder(&rules)[0], &of_folder(&rules)[2]];
    assert_eq!(check.status, Some(0), "{check:?}");
    assert_eq!(choose.status, Some(0), "{choose:?}");
    assert_eq!(check.out, of_folder(&small())[0].out);
    assert_eq!(choose.out, of_folder(&small())[2].out);
}
