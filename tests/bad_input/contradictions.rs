//! Input that cannot be: figures beyond all measure, answers outside the range that their question takes, answers that
//! contradict each other, names that print alike. It is refused with its place and the reason, whichever way it comes in.

use crate::support::program::*;

const DRYER: &str = "hot-grain-dryer.toml";

/// Runs `choose` on a job in a file of its own.
fn chosen(name: &str, job: &str) -> Ended {
    let folder = folder();
    let path = write(folder.path(), name, job);
    run(["choose", path.to_str().expect("a path")])
}

/// The message of a job that is refused, as one line.
#[track_caller]
fn refused(job: &str, parts: &[&str]) -> String {
    let ended = chosen("job.toml", job).with_status(1);
    let message = ended.err.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in parts {
        assert!(message.contains(part), "{part:?} is not in\n{}", ended.err);
    }
    message
}

/// The example with the first joint's section given one more line.
fn with_line(line: &str) -> String {
    let job = example(DRYER).replacen("leg = \"3 mm\"\n", &format!("leg = \"3 mm\"\n{line}\n"), 1);
    if line.starts_with("leg") { job.replacen("leg = \"3 mm\"\n", "", 1) } else { job }
}

#[test]
fn figures_beyond_all_measure_are_refused_everywhere() {
    let keys = [
        ("leg", "mm"),
        ("gap", "mm"),
        ("bevel-angle", "°"),
        ("root-face", "mm"),
        ("root-pass", "mm"),
        ("cap-height", "mm"),
        ("cap-width", "mm"),
        ("hole-diameter", "mm"),
        ("penetration", "mm"),
        ("second-penetration", "mm"),
        ("dilution", "%"),
        ("preheat", "°C"),
        ("interpass", "°C"),
    ];
    for (key, unit) in keys {
        for figure in ["-0", "-0.0", "1e-320", "1e308", "nan", "NaN", "inf"] {
            let line = format!("{key} = \"{figure} {unit}\"");
            refused(&with_line(&line), &[&format!("joints.{key}"), "job.toml:"]);
        }
    }
    for figure in ["-0 mm", "0 mm", "1e-320 mm", "1e308 mm", "nan mm"] {
        let job = example(DRYER).replace("thickness = \"2.5 mm\"", &format!("thickness = \"{figure}\""));
        refused(&job, &["parts.thickness", "job.toml:7:13"]);
    }
    for load in [("-0 kN", "120 mm"), ("1e-320 kN", "120 mm"), ("1e200 kN", "120 mm"), ("6 kN", "1e-320 mm")]
    {
        let written = format!("load = {{ shear = \"{}\", length = \"{}\" }}", load.0, load.1);
        let job = example(DRYER).replace("load = { shear = \"6 kN\", length = \"120 mm\" }", &written);
        refused(&job, &["joints.load"]);
    }
}

#[test]
fn an_answer_outside_its_range_is_refused_with_range_and_reason() {
    let cases = [
        (
            "\"95 °C\"",
            "\"5000 °C\"",
            "`service.sustained-temperature` takes -270 to 500 °C",
            "no aluminium alloy",
        ),
        (
            "\"95 °C\"",
            "\"9000 °F\"",
            "`service.sustained-temperature` takes -454 to 932 °F",
            "no aluminium alloy",
        ),
        ("\"5 °C\"", "\"900 °C\"", "`service.lowest-temperature` takes -270 to 100 °C", "nothing is cold"),
        ("\"2.5 mm\"", "\"0.01 in\"", "`parts.thickness` takes 0.01181 to 19.69 in", "thinner is foil"),
        ("\"3 mm\"", "\"5 m\"", "`joints.leg` takes 0.0005 to 0.1 m", "another kind of weld"),
    ];
    for (old, new, range, reason) in cases {
        refused(&example(DRYER).replacen(old, new, 1), &[range, reason, "job.toml:"]);
    }
    refused(
        &with_line("gap = \"3 m\""),
        &["`joints.gap` takes 0 to 0.03 m", "no weld pool", "job.toml:29:7"],
    );
    refused(&with_line("gap = \"1..40 mm\""), &["`joints.gap` takes 0 to 30 mm"]);
    refused(&with_line("dilution = \"40..120 %\""), &["between 0 % and 100 %"]);
    // The ends themselves are taken.
    for end in ["0.3 mm", "500 mm"] {
        let job = example(DRYER).replace("\"2.5 mm\"", &format!("\"{end}\""));
        assert_ne!(chosen("job.toml", &job).status, Some(1), "{end}");
    }
}

#[test]
fn every_numeric_question_says_what_it_takes() {
    use whyrod::language::{Origin, Type, read_rulebook};
    let rulebook = read_rulebook(&built_in()).expect("the rules can be read");
    let mut asked = 0;
    for relation in &rulebook.relations {
        let Origin::Question(question) = &relation.origin else { continue };
        if relation.roles.iter().any(|role| matches!(role.ty, Type::Number(_) | Type::Range(_))) {
            asked += 1;
            assert!(question.takes.is_some(), "{} takes any number", relation.name);
        }
    }
    assert!(asked > 12, "{asked} questions are answered by a number");
}

#[test]
fn answers_that_contradict_each_other_are_refused() {
    let colder = example(DRYER).replace("\"5 °C\"", "\"99 °C\"");
    let message =
        refused(&colder, &["holds 95 °C for long, colder than the lowest temperature", "job.toml:55:22"]);
    assert_eq!(message.matches("colder than the lowest").count(), 1, "told once: {message}");
    assert!(message.contains("the same holds of flange to boss, duct to boss, damper to duct"), "{message}");
    refused(
        &with_line("leg = \"50 mm\""),
        &["a leg of 50 mm at duct to flange, more than 10 times the 2.5 mm of duct"],
    );
    refused(
        &with_line("gap = \"29 mm\""),
        &["a gap of 29 mm at duct to flange, more than 10 times the 2.5 mm of duct"],
    );
    let load = "load = { shear = \"6 kN\", length = \"120 mm\" }";
    for (shear, length, says) in [
        ("0 kN", "120 mm", "a load is more than nothing"),
        ("-6 kN", "120 mm", "a load is more than nothing"),
        ("6 kN", "0 mm", "no weld is shorter than 1 mm"),
        ("1e9 kN", "120 mm", "more than the 1000000 kN"),
        ("6 kN", "1e9 m", "more than the 10000000 mm"),
    ] {
        let written = format!("load = {{ shear = \"{shear}\", length = \"{length}\" }}");
        refused(&example(DRYER).replace(load, &written), &[says]);
    }
}

#[test]
fn every_way_in_refuses_alike() {
    let path = format!("examples/{DRYER}");
    for (setting, says) in [
        ("service.sustained-temperature=900 °C", "takes -270 to 500 °C"),
        ("service.lowest-temperature=99 °C", "colder than the lowest temperature"),
        ("parts.duct.thickness=-0 mm", "parts.thickness"),
        ("joints.duct to flange.gap=29 mm", "more than 10 times"),
    ] {
        let ended = run(["suppose", &path, setting]).with_status(1);
        assert!(ended.err.contains(says), "{setting}: {ended:?}");
    }
    let json = r#"{"parts": {"a": {"alloy": "6061", "temper": "T6", "thickness": "5 mm"}},
        "joints": [{"name": "seam", "between": ["a", "a"], "weld": "fillet", "gap": "-0 mm"}],
        "service": {"sustained-temperature": "5000 °C"}}"#;
    let ended = chosen("job.json", json).with_status(1);
    assert!(ended.err.contains("takes -270 to 500 °C") && ended.err.contains("joints.gap"), "{ended:?}");
    let open = example(DRYER).replace("lowest-temperature = \"5 °C\"\n", "");
    for (answer, says) in [
        ("service.lowest-temperature = 900 °C", "takes -270 to 100 °C"),
        ("service.lowest-temperature = -0 °C", "no figure that anything is measured in"),
        ("service.lowest-temperature = 99 °C", "colder than the lowest temperature"),
    ] {
        let folder = folder();
        let job = write(folder.path(), "job.toml", &open);
        let ended = run(["ask", job.to_str().expect("a path"), "--answer", answer]).with_status(1);
        let told = ended.err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(says), "{answer}: {}", ended.err);
        assert_eq!(std::fs::read_to_string(&job).expect("the job"), open, "nothing is written");
    }
    for command in ["why", "why-not", "record"] {
        let folder = folder();
        let job = write(folder.path(), "job.toml", example(DRYER).replace("\"95 °C\"", "\"900 °C\""));
        let job = job.to_str().expect("a path");
        let out = folder.path().join("out.json");
        let ended = match command {
            "record" => run([command, job, "-o", out.to_str().expect("a path")]),
            _ => run([command, job, "4043"]),
        };
        assert!(ended.with_status(1).err.contains("takes -270 to 500 °C"), "{command}");
    }
    for arguments in [
        ["--base", "6061", "--filler", "4043", "--dilution=-0 %"],
        ["--base", "6061", "--filler", "4043", "--dilution=1e-320"],
        ["--base", "6061", "--filler", "4043", "--dilution=1e308"],
    ] {
        run([&["pool"], &arguments[..]].concat()).with_status(1);
    }
    for composition in ["Si -0", "Si 1e-320", "Si 1e308", "Si nan", "Si 60, Mg 60"] {
        run(["pool", "--composition", composition]).with_status(1);
    }
}

#[test]
fn names_that_print_alike_are_refused_at_both_places() {
    let pairs = [
        ("duct to flange", "duct to\u{a0}flange"),
        ("duct to flange", "duct  to flange"),
        ("caf\u{e9}", "cafe\u{301}"),
        ("seam", "s\u{ff45}am"),
    ];
    for (one, other) in pairs {
        let job = example(DRYER)
            .replace("name = \"duct to flange\"", &format!("name = \"{one}\""))
            .replace("name = \"flange to boss\"", &format!("name = \"{other}\""));
        let ended = chosen("job.toml", &job).with_status(1);
        let places = ended.err.lines().filter(|line| line.contains("name = ")).count();
        assert_eq!(places, 2, "both places are shown: {}", ended.err);
    }
    for hidden in ['\u{200b}', '\u{202e}', '\u{2800}', '\u{ad}', '\u{feff}'] {
        let job = example(DRYER)
            .replace("name = \"duct to flange\"", &format!("name = \"duct to{hidden} flange\""));
        chosen("job.toml", &job).with_status(1);
        let job = example(DRYER).replace("title = \"Hot-air", &format!("title = \"Hot{hidden}-air"));
        chosen("job.toml", &job).with_status(1);
    }
}
