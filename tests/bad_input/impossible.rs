//! Answers that cannot be: outside what a question takes, not true together, or under names that print alike.

use crate::support::program::*;

/// A job of one fillet, with these values put in.
fn job(thickness: &str, joint: &str, service: &str) -> String {
    let answered = |key: &str| service.contains(key);
    let usual = [
        ("sustained-temperature", "20 °C"),
        ("lowest-temperature", "0 °C"),
        ("exposure", "dry"),
        ("finish", "none"),
        ("forming", "none"),
        ("heat-treatment", "none"),
    ];
    let rest: String = usual
        .iter()
        .filter(|(key, _)| !answered(key))
        .map(|(key, value)| format!("{key} = \"{value}\"\n"))
        .collect();
    format!(
        "[parts.plate]\nalloy = \"6061-T6\"\nthickness = \"{thickness}\"\n[[joints]]\nname = \"seam\"\n\
         between = [\"plate\", \"plate\"]\nweld = \"fillet\"\nprocess = \"GTAW\"\n{joint}\n[service]\n{service}\n{rest}"
    )
}

/// The message for a job that is refused.
fn refused(job: &str) -> String {
    let folder = folder();
    let path = write(folder.path(), "job.toml", job);
    let ended = run(["choose", path.to_str().expect("a path")]);
    assert_eq!((ended.status, ended.out.as_str()), (Some(1), ""), "{job}\n{}", ended.err);
    assert!(ended.err.contains("job.toml:"), "no place in {}", ended.err);
    ended.err.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
}

#[test]
fn answers_outside_what_a_question_takes() {
    for thickness in ["0 mm", "-0 mm", "1e-320 mm", "1e308 mm", "9 m"] {
        let told = refused(&job(thickness, "", ""));
        assert!(told.contains("`parts.thickness`"), "{told}");
    }
    let told = refused(&job("6 mm", "", "sustained-temperature = \"5000 °C\""));
    assert!(
        told.contains("`service.sustained-temperature` takes -270 to 500 °C, and this is 5000 °C"),
        "{told}"
    );
    assert!(told.contains("above it no aluminium alloy carries a load"), "{told}");
    let told = refused(&job("6 mm", "", "lowest-temperature = \"900 °C\""));
    assert!(told.contains("`service.lowest-temperature` takes"), "{told}");
    for joint in ["gap = \"3 m\"", "leg = \"5 m\"", "leg = \"0 mm\""] {
        assert!(refused(&job("6 mm", joint, "")).contains(" takes "), "{joint}");
    }
}

#[test]
fn answers_that_cannot_be_true_together() {
    let told = refused(&job("6 mm", "", "sustained-temperature = \"-40 °C\"\nlowest-temperature = \"5 °C\""));
    assert!(told.contains("colder than the lowest temperature that it sees"), "{told}");
    let told = refused(&job("1 mm", "leg = \"20 mm\"", ""));
    assert!(told.contains("is no fillet on that part"), "{told}");
    for load in ["{ shear = \"5 kN\", length = \"0 mm\" }", "{ shear = \"0 kN\", length = \"90 mm\" }"] {
        assert!(refused(&job("6 mm", &format!("load = {load}"), "")).contains("the load at seam"), "{load}");
    }
}

#[test]
fn changes_are_held_to_the_same() {
    let folder = folder();
    let path = write(folder.path(), "job.toml", job("6 mm", "", ""));
    let path = path.to_str().expect("a path");
    for change in ["service.sustained-temperature = \"5000 °C\"", "parts.plate.thickness = \"0 mm\""] {
        let ended = run(["suppose", path, change]).with_status(1);
        assert!(ended.err.contains(" takes "), "{}", ended.err);
    }
    let ended = run(["suppose", path, "service.lowest-temperature = \"60 °C\""]).with_status(1);
    assert!(ended.err.contains("colder than the lowest"), "{}", ended.err);
}

#[test]
fn names_that_print_alike() {
    let hidden = job("6 mm", "", "").replace("\"seam\"", "\"se\u{200b}am\"");
    assert!(refused(&hidden).contains("holds a character that does not show, U+200B"), "{hidden}");
    let second = "\n[[joints]]\nname = \"boss\u{a0}seat\"\nbetween = [\"plate\", \"plate\"]\nweld = \"lap\"\nprocess = \"GTAW\"\n";
    let alike = job("6 mm", second, "").replace("\"seam\"", "\"boss seat\"");
    assert!(refused(&alike).contains("two joints have names that print alike"), "{alike}");
}
