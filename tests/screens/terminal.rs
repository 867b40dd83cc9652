//! What a reader sees: the screens of the small rulebook and the help of every command, as snapshots at eighty columns.

use crate::support::program::*;

const JOB: &str = "tests/rulebooks/small/job.toml";
const HALF: &str = "tests/rulebooks/small/half-answered.toml";
const RULES: &str = "tests/rulebooks/small/rules";

/// The screen for these arguments and the small rulebook, with its status.
fn screen(arguments: &[&str]) -> String {
    let ended = run(arguments.iter().chain(&["--rules", RULES]));
    assert!(ended.err.is_empty(), "{}", ended.err);
    for line in ended.out.lines() {
        // Only a designation or a word of the rulebook that is wider than the page may stand out.
        assert!(line.chars().count() <= 80, "{line:?} is wider than the page");
        assert_eq!(line, line.trim_end(), "blanks at the end of {line:?}");
    }
    format!("status {}\n\n{}", ended.status.expect("a status"), ended.out)
}

#[test]
fn choose() {
    insta::assert_snapshot!(screen(&["choose", JOB]));
}

#[test]
fn choose_each() {
    insta::assert_snapshot!(screen(&["choose", JOB, "--each"]));
}

#[test]
fn choose_half_answered() {
    insta::assert_snapshot!(screen(&["choose", HALF]));
}

#[test]
fn choose_where_nothing_is_usable() {
    let folder = folder();
    let job = std::fs::read_to_string(root().join(JOB)).expect("the small job");
    let path = write(folder.path(), "job.toml", job + "\n[choice]\navailable = [\"P2\"]\n");
    insta::assert_snapshot!(screen(&["choose", path.to_str().expect("a path")]));
}

#[test]
fn why_usable() {
    insta::assert_snapshot!(screen(&["why", JOB, "P3", "--joint", "rim seam", "--depth", "3"]));
}

#[test]
fn why_recommended() {
    insta::assert_snapshot!(screen(&["why", JOB, "P3", "--joint", "rim seam"]));
}

#[test]
fn why_full() {
    insta::assert_snapshot!(screen(&["why", JOB, "P3", "--joint", "rim seam", "--full"]));
}

#[test]
fn why_brief() {
    insta::assert_snapshot!(screen(&["why", JOB, "P1", "--brief"]));
}

#[test]
fn why_rather_than() {
    insta::assert_snapshot!(screen(&["why", JOB, "P3", "--rather-than", "P2", "--joint", "rim seam"]));
}

#[test]
fn why_not_rather_than() {
    insta::assert_snapshot!(screen(&["why", JOB, "P2", "--rather-than", "P1", "--brief"]));
}

#[test]
fn why_a_fact() {
    insta::assert_snapshot!(screen(&["why", JOB, "--fact", "utilisation(\"rim seam\", P3, _)"]));
}

#[test]
fn why_not_a_fact() {
    let fact = "graded(\"rim seam\", P2, sustained-heat, ample)";
    insta::assert_snapshot!(screen(&["why-not", JOB, "--fact", fact]));
}

#[test]
fn why_every_joint() {
    insta::assert_snapshot!(screen(&["why", JOB, "P1", "--depth", "1"]));
}

#[test]
fn why_not_barred() {
    insta::assert_snapshot!(screen(&["why-not", JOB, "P2", "--joint", "rim seam"]));
}

#[test]
fn why_not_open() {
    insta::assert_snapshot!(screen(&["why-not", HALF, "P2", "--depth", "3"]));
}

#[test]
fn why_not_recommended() {
    insta::assert_snapshot!(screen(&["why-not", JOB, "P3", "--joint", "rim seam"]));
}

/// The screen for the check of the small job's record after an edit.
fn verify_screen(job: &str, edit: impl Fn(String) -> String) -> String {
    let folder = folder();
    let record = run(["record", job, "--rules", RULES]).with_status(0).out;
    let path = write(folder.path(), "record.json", edit(record));
    screen(&["verify", path.to_str().expect("a path")])
}

#[test]
fn verify_a_record_that_holds() {
    insta::assert_snapshot!(verify_screen(HALF, |record| record));
}

#[test]
fn verify_a_record_of_other_rules() {
    let record = run(["record", JOB, "--rules", RULES]).with_status(0).out;
    let ended = ended(program().args(["verify", "-"]).write_stdin(record)).with_status(0);
    insta::assert_snapshot!(ended.out);
}

#[test]
fn verify_a_forged_record() {
    insta::assert_snapshot!(verify_screen(JOB, |record| {
        let forged = record.replacen("\"verdict\":\"barred\"", "\"verdict\":\"usable\"", 1);
        assert_ne!(forged, record);
        forged
    }));
}

#[test]
fn verify_a_record_with_other_rules_put_in() {
    insta::assert_snapshot!(verify_screen(JOB, |record| {
        let forged = record.replacen("65 °C", "95 °C", 1);
        assert_ne!(forged, record);
        forged
    }));
}

#[test]
fn suppose() {
    insta::assert_snapshot!(screen(&["suppose", JOB, "service.sustained-temperature = 60 °C"]));
}

#[test]
fn suppose_with_two_facts_at_one_joint() {
    let settings = ["joints.\"rim seam\".leg = 8 mm", "parts.rim.alloy = \"Grey\""];
    insta::assert_snapshot!(screen(&["suppose", JOB, settings[0], settings[1], "--joint", "rim seam"]));
}

#[test]
fn suppose_where_nothing_moves() {
    insta::assert_snapshot!(screen(&["suppose", JOB, "service.sustained-temperature = 95.5 °C"]));
}

#[test]
fn suppose_an_answer_that_was_missing() {
    insta::assert_snapshot!(screen(&["suppose", HALF, "service.sustained-temperature = 60 °C"]));
}

#[test]
fn mistakes_in_a_change_are_pointed_at() {
    let told = |settings: &[&str]| {
        let arguments = ["suppose", JOB].iter().chain(settings).chain(&["--rules", RULES]);
        run(arguments).with_status(1).err
    };
    let all = [
        told(&["service.finsh = painted"]),
        told(&["service.finish = paintd"]),
        told(&["joints.\"rim sam\".leg = 5 mm"]),
        told(&["service.finish"]),
        run(["why-not", JOB, "P2", "--keep", "service.finsh", "--rules", RULES]).with_status(1).err,
    ];
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn rulebook_check() {
    insta::assert_snapshot!(screen(&["rulebook", "check"]));
}

#[test]
fn rulebook_check_that_fails() {
    let folder = folder();
    let rules = folder.path().join("rules");
    let edit = |_: &str, text: String| text.replace("never  usable(seam, P2)", "hence  usable(seam, P2)");
    copy_rules(&small(), &rules, str::to_owned, edit);
    insta::assert_snapshot!(screen(&["rulebook", "check", rules.to_str().expect("a path")]));
}

#[test]
fn a_mistake_in_a_job() {
    let job = std::fs::read_to_string(root().join(JOB)).expect("the small job");
    let job = job.replace("\"Blue\"", "\"Bleu\"").replace("leg = \"2 mm\"", "leg = \"2 kg\"");
    let ended = ended(program().args(["choose", "-", "--rules", RULES]).write_stdin(job)).with_status(1);
    insta::assert_snapshot!(ended.err);
}

#[test]
fn help() {
    let commands: [&[&str]; 13] = [
        &[],
        &["choose"],
        &["why"],
        &["why-not"],
        &["suppose"],
        &["ask"],
        &["pool"],
        &["record"],
        &["verify"],
        &["rulebook"],
        &["rulebook", "check"],
        &["rulebook", "sources"],
        &["completions"],
    ];
    for command in commands {
        let ended = ended(program().env("COLUMNS", "80").args(command).arg("--help")).with_status(0);
        assert!(ended.out.contains("Usage: whyrod"), "{}", ended.out);
        for line in ended.out.lines() {
            assert!(line.chars().count() <= 80, "{line:?} is wider than the page");
        }
        let name = [&["help"], command].concat().join("-");
        insta::assert_snapshot!(name, ended.out);
    }
}

#[test]
fn every_command_has_help_with_examples() {
    let help = run(["--help"]).with_status(0).out;
    let (_, listed) = help.split_once("Commands:\n").expect("a list of commands");
    let (listed, _) = listed.split_once("\n\n").expect("an end of the list");
    let names: Vec<&str> = listed
        .lines()
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(names.len() >= 5, "{names:?}");
    for name in names.into_iter().filter(|name| *name != "help") {
        let help = run([name, "--help"]).with_status(0).out;
        let of_tasks = help.contains("\nCommands:\n");
        assert!(of_tasks || help.contains(&format!("  whyrod {name}")), "{name} shows no example:\n{help}");
    }
}

#[test]
fn colour_only_repeats_what_words_say() {
    let screens: [&[&str]; 4] =
        [&["choose", JOB], &["choose", HALF], &["why", JOB, "P3"], &["why-not", HALF, "P2"]];
    for arguments in screens {
        let plain = screen(arguments);
        let with = |more: &[&str], no_colour: bool| {
            let mut command = program();
            if no_colour {
                command.env("NO_COLOR", "1");
            }
            ended(command.args(arguments).args(["--rules", RULES]).args(more)).out
        };
        for without in [with(&[], false), with(&[], true), with(&["--colour", "never"], false)] {
            assert!(!without.contains('\u{1b}'), "{arguments:?}: escape codes");
            assert!(plain.ends_with(&without));
        }
        for coloured in [with(&["--colour", "always"], false), with(&["--colour", "always"], true)] {
            assert!(coloured.contains("\u{1b}["), "{arguments:?}: no colour");
            assert!(plain.ends_with(&without_colour(&coloured)), "{arguments:?}: other words");
        }
    }
    let mistake =
        |more: &[&str]| run(["choose", "src/lib.rs", "--rules", RULES].iter().chain(more)).with_status(1).err;
    assert!(!mistake(&[]).contains('\u{1b}'));
    assert!(mistake(&["--colour", "always"]).contains("\u{1b}["));
    assert_eq!(without_colour(&mistake(&["--colour", "always"])), mistake(&["--colour", "never"]));
}

/// The text without the codes of colours.
fn without_colour(text: &str) -> String {
    let mut pieces = text.split("\u{1b}[");
    let first = pieces.next().unwrap_or_default().to_owned();
    pieces.fold(first, |plain, piece| plain + piece.split_once('m').expect("a colour ends in m").1)
}
