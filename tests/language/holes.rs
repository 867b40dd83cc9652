//! Edits of the rulebook as a class would make them, each of which leaves something unjudged: no filler is recommended by
//! default, and the check of the rulebook names what is missing.

use crate::support::program::*;
use std::fs;
use std::path::Path;

/// A joint of one alloy in a plain service, with a sustained temperature.
fn job(alloy: &str, temperature: &str, more: &str) -> String {
    format!(
        "[parts.p]\nalloy = \"{alloy}\"\nthickness = \"4 mm\"\n[[joints]]\nname = \"seam\"\nbetween = [\"p\", \"p\"]\n\
         weld = \"fillet\"\nprocess = \"GTAW\"\n[service]\nsustained-temperature = \"{temperature}\"\n\
         lowest-temperature = \"5 °C\"\nexposure = \"dry\"\nfinish = \"none\"\nforming = \"none\"\nheat-treatment = \"none\"\n{more}"
    )
}

/// A copy of the built-in rulebook.
fn copied() -> tempfile::TempDir {
    let folder = folder();
    copy_rules(&built_in(), folder.path(), str::to_owned, |_, text| text);
    fs::create_dir_all(folder.path().join("freezing")).expect("a folder");
    folder
}

/// Changes a text of a copied rulebook; it must be there.
fn edit(folder: &Path, file: &str, from: &str, to: &str) {
    let path = folder.join(file);
    let text = fs::read_to_string(&path).expect("a file of the rulebook");
    assert!(text.contains(from), "{file} does not hold {from:?}");
    fs::write(&path, text.replace(from, to)).expect("the file is written");
}

/// The check of a rulebook, which must find something wanting.
fn wanting(folder: &Path) -> String {
    let ended = run(["rulebook", "check", "--all", folder.to_str().expect("a path")]);
    assert_eq!(ended.status, Some(3), "{ended:?}");
    ended.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is said of a job: the status, the recommended fillers, and for each filler its verdict.
fn chosen(rules: &Path, job: &str) -> (Option<i32>, Vec<String>, Vec<(String, String)>) {
    let place = folder();
    let path = write(place.path(), "job.toml", job);
    let rules = rules.to_str().expect("a path");
    let ended = run(["choose", path.to_str().expect("a path"), "--json", "--rules", rules]);
    let report = ended.json();
    let joint = &report["joints"][0];
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let recommended = joint["recommended"].as_array().expect("a list").iter().map(text).collect();
    let verdicts = joint["verdicts"].as_array().expect("verdicts");
    let verdicts = verdicts.iter().map(|row| (text(&row["filler"]), text(&row["verdict"]))).collect();
    (ended.status, recommended, verdicts)
}

fn verdict<'v>(verdicts: &'v [(String, String)], filler: &str) -> &'v str {
    verdicts.iter().find(|(name, _)| name == filler).map_or("", |(_, verdict)| verdict)
}

#[test]
fn a_border_that_was_moved_in_one_finding_alone() {
    let folder = copied();
    let text =
        fs::read_to_string(folder.path().join("04-sustained-heat/sustained-heat.why")).expect("the chapter");
    // The ladder as it was before it was one: a rung that bars goes by a border of its own, and none takes the rest.
    let moved = text.replacen(
        "    rung  sensitised  otherwise: barred",
        "    rung  sensitised  T over 70 °C: barred",
        1,
    );
    let moved = moved.replacen(
        "\n-- What stays fit whatever the heat",
        "    rung  rest        otherwise: nothing\n\n-- What stays fit whatever the heat",
        1,
    );
    assert_ne!(moved, text);
    fs::write(folder.path().join("04-sustained-heat/sustained-heat.why"), moved)
        .expect("the chapter is written");
    let (_, recommended, verdicts) = chosen(folder.path(), &job("6061", "67 °C", ""));
    assert_eq!(verdict(&verdicts, "5356"), "unjudged");
    assert_eq!(recommended, ["4043"]);
    let told = wanting(folder.path());
    assert!(told.contains("nothing judges 5356 on sustained heat"), "{told}");
    assert!(told.contains("service.sustained-temperature = "), "{told}");
}

#[test]
fn a_filler_that_has_only_its_row_and_its_limits() {
    let folder = copied();
    edit(
        folder.path(),
        "02-the-metals/fillers.why",
        "table filler\n",
        "table filler\n    cite common practice\n    4046  silicon\n\ntable filler\n",
    );
    let told = wanting(folder.path());
    for missing in ["filler-limits", "filler-also-written", "filler-tensile"] {
        assert!(told.contains(missing), "{missing} is not named in {told}");
    }
    let (_, recommended, verdicts) = chosen(folder.path(), &job("6061", "20 °C", ""));
    assert!(!recommended.contains(&"4046".to_owned()), "{recommended:?}");
    assert_eq!(verdict(&verdicts, "4046"), "barred");
}

#[test]
fn a_finding_that_was_removed() {
    let folder = copied();
    let path = folder.path().join("11-cold-service/cold-service.why");
    let text = fs::read_to_string(&path).expect("the chapter");
    let start = text.find("    rung  mild ").expect("the finding");
    let end = text[start..].find("    rung  less-tough").map_or(text.len(), |length| start + length);
    let gap = "    rung  mild  T from cold-border: nothing\n";
    fs::write(&path, format!("{}{gap}{}", &text[..start], &text[end..])).expect("the chapter is written");
    let (status, recommended, verdicts) = chosen(folder.path(), &job("6061", "20 °C", ""));
    assert_eq!((status, recommended.len()), (Some(0), 1), "one that is judged is left: {recommended:?}");
    assert_eq!(verdict(&verdicts, "4043"), "unjudged");
    let only = job("6061", "20 °C", "[choice]\navailable = [\"4043\", \"4047\"]\n");
    let (status, recommended, _) = chosen(folder.path(), &only);
    assert_eq!((status, recommended.len()), (Some(3), 0), "nothing else is left");
    let told = wanting(folder.path());
    assert!(told.contains("on cold service"), "{told}");
}

#[test]
fn two_criteria_in_one_place() {
    let folder = copied();
    edit(folder.path(), "12-the-choice/choice.why", "hot-cracking    2", "hot-cracking    1");
    let ended = run(["rulebook", "check", folder.path().to_str().expect("a path")]).with_status(1);
    assert!(ended.err.contains("holds one row for each place, and here are two"), "{}", ended.err);
}

#[test]
fn a_criterion_without_a_place() {
    let folder = copied();
    edit(folder.path(), "12-the-choice/choice.why", "    cold-service    8\n", "");
    let told = wanting(folder.path());
    assert!(told.contains("the criterion cold service has no place in the order"), "{told}");
}

#[test]
fn a_criterion_that_nothing_grades() {
    let folder = copied();
    edit(
        folder.path(),
        "12-the-choice/choice.why",
        "\"own kind\", \"common stock\"\n",
        "\"own kind\", \"common stock\", polish\n",
    );
    edit(
        folder.path(),
        "12-the-choice/choice.why",
        "    common-stock    10\n",
        "    common-stock    10\n    polish         11\n",
    );
    let told = wanting(folder.path());
    assert!(told.contains("no finding grades any filler on polish"), "{told}");
    let (status, recommended, _) = chosen(folder.path(), &job("6061", "20 °C", ""));
    assert_eq!((status, recommended.len()), (Some(3), 0));
}

#[test]
fn an_alloy_without_limits_is_not_taken_for_pure_aluminium() {
    let folder = copied();
    edit(
        folder.path(),
        "02-the-metals/wrought.why",
        "table base-alloy\n",
        "table base-alloy\n    cite common practice\n    6999  magnesium-silicon  heat-treatment\n\ntable base-alloy\n",
    );
    let ended = run(["rulebook", "check", "--all", folder.path().to_str().expect("a path")]);
    assert_eq!(ended.status, Some(3), "{ended:?}");
    assert!(ended.out.contains("alloy 6999 has no composition"), "{}", ended.out);
    let (status, recommended, verdicts) = chosen(folder.path(), &job("6999", "20 °C", ""));
    assert_eq!((status, recommended.len()), (Some(3), 0), "{verdicts:?}");
    assert!(verdicts.iter().all(|(_, verdict)| verdict == "barred"), "{verdicts:?}");
}

#[test]
fn rows_that_repeat_or_contradict_each_other() {
    let folder = copied();
    edit(
        folder.path(),
        "12-the-choice/choice.why",
        "    1050A                                           marginal",
        "    1050A  marginal\n    1050A  marginal",
    );
    let ended = run(["rulebook", "check", folder.path().to_str().expect("a path")]).with_status(1);
    assert!(ended.err.contains("this row of \"stock-level\" is there already"), "{}", ended.err);
    edit(
        folder.path(),
        "12-the-choice/choice.why",
        "    1050A  marginal\n    1050A  marginal",
        "    1050A  marginal\n    1050A  adequate",
    );
    let ended = run(["rulebook", "check", folder.path().to_str().expect("a path")]).with_status(1);
    assert!(ended.err.contains("\"stock-level\" holds one row for each filler"), "{}", ended.err);
}

#[test]
fn the_built_in_rulebook_has_no_hole() {
    let review = run(["rulebook", "check", "--json"]).with_status(0).json();
    assert_eq!(review["holes"], serde_json::json!([]));
}
