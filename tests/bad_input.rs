//! Whatever the program is given, it ends with a status and a message that points, and never with a panic.

mod program;
use program::*;
use std::path::{Path, PathBuf};

/// The status is 1, the message is there and says `part`, and nothing else is written.
#[track_caller]
fn refused(ended: &Ended, part: &str) {
    assert_eq!(ended.status, Some(1), "{ended:?}");
    assert_eq!(ended.out, "", "a refusal writes no answer");
    assert!(ended.err.contains(part), "{part:?} is expected in\n{}", ended.err);
    assert!(!ended.err.contains("panicked"), "{}", ended.err);
    assert!(ended.err.len() < 200_000, "{} bytes of messages", ended.err.len());
}

/// What the commands that read a job say of it.
fn of_job(job: &Path) -> [Ended; 3] {
    let (job, rules) = (job.as_os_str(), small());
    let with = |first: &[&str], last: &[&str]| {
        let mut command = program();
        command.args(first).arg(job).args(last).arg("--rules").arg(&rules);
        ended(&mut command)
    };
    [with(&["choose"], &[]), with(&["why"], &["P1"]), with(&["why-not"], &["P1", "--json"])]
}

#[track_caller]
fn job_refused(job: &Path, part: &str) {
    for ended in of_job(job) {
        refused(&ended, part);
    }
}

/// The small job with a piece of its text replaced.
fn job_with(old: &str, new: &str) -> String {
    let job = std::fs::read_to_string(root().join("tests/rulebooks/small/job.toml")).expect("the small job");
    assert!(job.contains(old), "{old:?} is not in the small job");
    job.replacen(old, new, 1)
}

/// A job file with this content is refused with this message.
#[track_caller]
fn content_refused(name: &str, content: impl AsRef<[u8]>, part: &str) {
    let folder = folder();
    job_refused(&write(folder.path(), name, content), part);
}

#[test]
fn jobs_that_are_no_text() {
    content_refused("job.toml", "", "job.toml:1:1");
    content_refused("job.json", " \n", "the job file is empty");
    content_refused("job.toml", [0u8, 1, 2, 255, 254, 10, 0], "not UTF-8");
    content_refused("job.toml", [0u8; 64], "job.toml:1:");
    content_refused("job.toml", b"title = \"caf\xe9\"\n", "job.toml:1:13");
}

#[test]
fn jobs_that_cannot_be_opened() {
    job_refused(Path::new("no such job.toml"), "no such job.toml");
    let folder = folder();
    job_refused(folder.path(), "directory");
}

#[test]
fn a_job_of_a_hundred_megabytes() {
    let folder = folder();
    let path = write(folder.path(), "job.toml", vec![b'x'; 100_000_000]);
    job_refused(&path, "the job file is too large");
}

#[test]
fn jobs_that_nest_without_end() {
    let many = 100_000;
    content_refused("job.toml", format!("title = {}", "[".repeat(many)), "brackets nest");
    content_refused("job.json", format!("{{\"title\": {}", "[".repeat(many)), "brackets nest");
    content_refused("job.json", "[".repeat(many), "brackets nest");
    content_refused("job.toml", format!("title = {}", "{a=".repeat(many)), "brackets nest");
    content_refused("job.toml", format!("{}a = 1", "a.".repeat(many)), "job.toml:1:");
    content_refused("job.toml", format!("[{}a]", "a.".repeat(many)), "job.toml:1:");
}

#[test]
fn jobs_with_wrong_values() {
    let cases = [
        ("alloy = \"Grey\"", "alloy = \"Gray\"", "did you mean \"Grey\"?", "job.toml:4:9"),
        ("leg = \"3 mm\"", "leg = nan", "`joints.leg`", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"NaN mm\"", "`joints.leg`", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"1e999 mm\"", "`joints.leg`", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"-3 mm\"", "less than nothing", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"3 kN\"", "`joints.leg`", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"3\"", "unit", "job.toml:16:7"),
        ("leg = \"3 mm\"", "leg = \"3 xm\"", "unit", "job.toml:16:7"),
        ("\"95 °C\"", "\"-400 °C\"", "below absolute zero", "job.toml:26:25"),
        ("\"95 °C\"", "95", "unit", "job.toml:26:25"),
        ("weld = \"fillet\"", "weld = \"filet\"", "did you mean \"fillet\"?", "job.toml:15:8"),
        ("leg = \"3 mm\"", "leng = \"3 mm\"", "leg", "job.toml:16:1"),
        ("\"knob seat\"", "\"rim seam\"", "rim seam", "job.toml:20:8"),
        ("\"lid\", \"rim\"", "\"lid\", \"brim\"", "brim", "job.toml:14:19"),
        ("[parts.rim]", "[parts.lid]", "job.toml", "job.toml:6:"),
        ("weld = \"fillet\"", "weld = \"fillet", "not valid TOML", "job.toml:15:"),
    ];
    for (old, new, part, place) in cases {
        let folder = folder();
        let path = write(folder.path(), "job.toml", job_with(old, new));
        for ended in of_job(&path) {
            refused(&ended, part);
            refused(&ended, place);
        }
    }
}

#[test]
fn what_a_file_says_does_not_reach_the_terminal_as_commands() {
    content_refused("job.toml", job_with("\"fillet\"", "\"\u{1b}[31mfillet\""), "job.toml:15:");
    let folder = folder();
    let path = write(folder.path(), "job.toml", job_with("\"fillet\"", "\"\u{1b}]0;title\u{7}\""));
    let rules = write(folder.path(), "rules/a.why", "relation r(a: \u{1b}[31mname)\r\u{9b}\n");
    let check = run([Path::new("rulebook"), Path::new("check"), rules.parent().expect("a folder")]);
    // What the rules say themselves is no better.
    let edit = |_: &str, text: String| text.replace("is used to {U}", "is\u{1b}[31m used\u{7} to {U}");
    copy_rules(&small(), &folder.path().join("coloured"), str::to_owned, edit);
    let coloured = folder.path().join("coloured");
    let job = "tests/rulebooks/small/job.toml";
    let told = run(["why", job, "P3", "--rules", coloured.to_str().expect("a path")]).with_status(0);
    assert!(told.out.contains("is?[31m used? to"), "{}", told.out);
    assert!(!told.out.contains('\u{1b}'));
    for ended in of_job(&path).iter().chain([&check]) {
        let harmful = ended.err.chars().find(|c| c.is_control() && *c != '\n');
        assert_eq!(harmful, None, "{:?}", ended.err);
    }
}

#[test]
fn questions_about_what_is_not_there() {
    let (job, rules) = (root().join("tests/rulebooks/small/job.toml"), small());
    let (job, rules) = (job.to_str().expect("a path"), rules.to_str().expect("a path"));
    for command in ["why", "why-not"] {
        refused(&run([command, job, "P9", "--rules", rules]), "did you mean \"P1\"?");
        refused(&run([command, job, "", "--rules", rules]), "there are: P1, P2, P3, P4");
        let joint = run([command, job, "P1", "--joint", "rim saem", "--rules", rules]);
        refused(&joint, "did you mean \"rim seam\"?");
        refused(&run([command, job, "P1", "--joint", "", "--rules", rules]), "the job has no joint");
    }
}

#[test]
fn wrong_usage_is_told_apart() {
    let cases: [&[&str]; 8] = [
        &[],
        &["choose"],
        &["choose", "a", "b"],
        &["why", "a"],
        &["why", "a", "b", "--depth", "0"],
        &["why", "a", "b", "--json", "--graph", "svg"],
        &["rulebook"],
        &["choose", "a", "--colour", "mauve"],
    ];
    for arguments in cases {
        let ended = run(arguments);
        assert_eq!(ended.status, Some(2), "{arguments:?}: {ended:?}");
        assert_eq!(ended.out, "");
        assert!(!ended.err.is_empty());
    }
}

#[cfg(target_os = "linux")]
#[test]
fn messages_that_cannot_be_written() {
    let full = || std::fs::File::options().write(true).open("/dev/full").expect("a device that is full");
    let job = root().join("tests/rulebooks/small/job.toml");
    let status = |arguments: &[&str], out: bool| {
        let mut command = std::process::Command::new(assert_cmd::cargo::cargo_bin!("whyrod"));
        command.args(arguments).stdout(std::process::Stdio::null()).stderr(std::process::Stdio::null());
        if out {
            command.stdout(full())
        } else {
            command.stderr(full())
        };
        command.status().expect("the program starts").code()
    };
    assert_eq!(status(&["choose", "no such job.toml"], false), Some(1));
    let (job, rules) = (job.to_str().expect("a path"), small());
    assert_eq!(status(&["choose", job, "--rules", rules.to_str().expect("a path")], true), Some(1));
}

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
    folder_refused(Path::new("/dev/zero"), "larger than 8 MiB");
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
            "lowest: ratio, nominal: ratio, highest: ratio",
            "lowest: mass-percent, nominal: mass-percent, highest: mass-percent",
        );
        [10, 15, 20, 30, 40]
            .iter()
            .fold(text, |text, share| text.replace(&format!("= {share} %"), &format!("= {share} wt%")))
    });
    folder_refused(&dimension, "base-share(joint, alloy, lowest: ratio");
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
