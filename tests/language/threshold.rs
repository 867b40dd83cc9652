//! A threshold of the rulebook is the rulebook's alone: editing it in a copy changes the verdict, the derivation and the
//! fingerprint, and nothing has to be compiled.

use crate::support::program::*;
use std::path::Path;

/// The limit of magnesium that the built-in rulebook gives for sustained heat.
const LIMIT: &str = "3.0 wt%";

/// A copy of the built-in rulebook in which `04-sustained-heat/sustained-heat.why` has another limit; how often it stood there.
fn with_limit(limit: &str, to: &Path) -> usize {
    let is_limit = |line: &str| {
        line.split_whitespace().collect::<Vec<_>>().join(" ") == format!("sensitive-magnesium = {LIMIT}")
    };
    let text = std::fs::read_to_string(built_in().join("04-sustained-heat/sustained-heat.why"))
        .expect("the file of the criterion");
    let edit = |name: &str, text: String| match name {
        "04-sustained-heat/sustained-heat.why" => text
            .lines()
            .map(|line| {
                if is_limit(line) {
                    format!("    sensitive-magnesium = {limit}\n")
                } else {
                    format!("{line}\n")
                }
            })
            .collect(),
        _ => text,
    };
    copy_rules(&built_in(), to, str::to_owned, edit);
    text.lines().filter(|line| is_limit(line)).count()
}

#[test]
fn a_higher_limit_lets_a_filler_through() {
    let folder = folder();
    let edited = folder.path().join("edited");
    assert!(
        with_limit("6.5 wt%", &edited) == 1,
        "the limit was not found in 04-sustained-heat/sustained-heat.why"
    );
    let job = "examples/hot-grain-dryer.toml";
    let edited = edited.to_str().expect("a path");

    let before = run(["choose", job, "--json"]).with_status(0).json();
    let after = run(["choose", job, "--json", "--rules", edited]).with_status(0).json();
    assert_ne!(before["rulebook"]["fingerprint"], after["rulebook"]["fingerprint"]);
    assert_eq!(before["job"]["fingerprint"], after["job"]["fingerprint"]);
    let key = ("flange to boss".to_owned(), "5356".to_owned());
    assert_eq!(verdicts(&before)[&key], "barred");
    assert!(
        ["usable", "recommended"].contains(&verdicts(&after)[&key].as_str()),
        "{}",
        verdicts(&after)[&key]
    );

    // What the findings of the criterion say names the limit that is in force.
    let told = |rules: &[&str]| -> Vec<String> {
        let arguments = ["why", job, "5356", "--joint", "flange to boss", "--json"];
        let answer = run(arguments.iter().chain(rules)).with_status(0).json();
        list(&answer["derivation"]["nodes"])
            .iter()
            .filter(|node| node["finding"].as_str().is_some_and(|id| id.starts_with("sustained-heat.")))
            .map(|node| text(&node["text"]))
            .collect()
    };
    let (told, told_after) = (told(&[]), told(&["--rules", edited]));
    assert!(!told.is_empty() && told.iter().all(|says| says.contains(" 3 %")), "{told:?}");
    assert!(
        !told_after.is_empty() && told_after.iter().all(|says| says.contains(" 6.5 %")),
        "{told_after:?}"
    );
}

#[test]
fn an_equal_copy_says_the_same() {
    let folder = folder();
    let copy = folder.path().join("copy");
    with_limit(LIMIT, &copy);
    let job = "examples/hot-grain-dryer.toml";
    let built_in = run(["choose", job, "--json"]).with_status(0).json();
    let copied =
        run(["choose", job, "--json", "--rules", copy.to_str().expect("a path")]).with_status(0).json();
    assert_eq!(verdicts(&built_in), verdicts(&copied));
    assert_eq!(built_in["joints"], copied["joints"]);
}
