//! Whatever the program is given, it ends with a status and a message that points, and never with a panic. Rulebooks are
//! in `bad_rules.rs`.

use crate::support::program::*;
use std::path::Path;

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
    assert!(told.out.contains("is\\u{1b}[31m used\\u{7} to"), "{}", told.out);
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
fn wrong_usage_is_distinguished() {
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

#[test]
fn mixtures_that_cannot_be() {
    let cases: [(&[&str], &str); 11] = [
        (&["--composition", ""], "names no element"),
        (&["--composition", "Al 99"], "names no element"),
        (&["--composition", "Si NaN"], "not a number"),
        (&["--composition", "Si -1"], "Si: -1"),
        (&["--composition", "Si 60, Mg 60"], "add up to 120 %"),
        (&["--composition", "Xx 1"], "Xx"),
        (&["--composition", "Si 1, Si 2"], "twice"),
        (&["--base", "6061", "--filler", "4043", "--dilution", "150%"], "between 0 and 100 %"),
        (&["--base", "6061", "--filler", "4043", "--dilution", "3 mm"], "mm"),
        (&["--base", "60610", "--filler", "4043", "--dilution", "50%"], "60610"),
        (&["--base", "6061", "--data", "no such file"], "no such file"),
    ];
    for (arguments, part) in cases {
        refused(&run(["pool"].iter().chain(arguments)), part);
    }
    let folder = folder();
    for (name, content) in
        [("bytes.tdb", [0u8, 1, 27, 155, 255].repeat(1000)), ("letters.tdb", vec![b'x'; 3_000_000])]
    {
        let path = write(folder.path(), name, content);
        let ended = run(["pool", "--base", "6061", "--data", path.to_str().expect("a path")]);
        refused(&ended, &format!("{name}: line 1"));
        assert!(!ended.err.chars().any(|c| c.is_control() && c != '\n'), "{:?}", ended.err);
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
