//! Whose rules a record was made by: `verify` names what differs from the usual ones, and what rests on it.

use crate::support::program::*;
use serde_json::Value as Json;

const JOB: &str = "examples/hot-grain-dryer.toml";

/// The record of a job by the built-in rules with every text changed so.
fn by_other_rules(change: impl Fn(&str, String) -> String) -> Vec<u8> {
    let folder = folder();
    let rules = folder.path().join("rules");
    copy_rules(&built_in(), &rules, str::to_owned, change);
    let rules = rules.to_str().expect("a path");
    run(["record", JOB, "--rules", rules]).with_status(0).out.into_bytes()
}

fn verified(record: &[u8], more: &[&str]) -> Ended {
    ended(program().args(["verify", "-"].iter().chain(more)).write_stdin(record.to_vec()))
}

fn lines(item: &Json, key: &str) -> Vec<String> {
    list(&item[key]).iter().map(text).map(|line| line.to_string()).collect()
}

#[test]
fn a_threshold_of_the_recorded_rules_is_named_with_what_rests_on_it() {
    let record = by_other_rules(|_, text| text.replace("65 °C", "650 °C"));
    let answer = verified(&record, &["--json"]).with_status(0).json();
    let rules = &answer["rules"];
    assert_ne!(rules["recorded"], rules["usual"]);
    let items = list(&rules["items"]);
    let named = |name: &str| items.iter().find(|item| text(&item["item"]) == name);
    let item = named("values").unwrap_or_else(|| panic!("not named: {items:#?}"));
    assert!(lines(item, "usual").iter().any(|line| line.contains("65 °C")), "{item}");
    assert!(lines(item, "recorded").iter().any(|line| line.contains("650 °C")), "{item}");
    assert!(
        !items.is_empty() && items.iter().all(|item| text(&item["place"]).contains(".why:")),
        "{items:#?}"
    );
    let all = answer["counts"]["verdicts"].as_u64().expect("a count");
    let resting = |key: &str| rules[key].as_u64().expect("a count");
    let (certain, perhaps) = (resting("verdicts"), resting("verdicts_by_absence"));
    assert!(certain + perhaps > 0 && certain + perhaps <= all, "{certain} and {perhaps} of {all}");
    let page = verified(&record, &["--all"]).with_status(0).out;
    for part in ["The record holds.", "By other rules than", "heat-border = 650 °C", "verdicts rest on"] {
        assert!(page.contains(part), "{part} is not told in {page}");
    }
    verified(&record, &["--strict"]).with_status(3);
}

#[test]
fn each_item_that_lost_its_mark_is_named() {
    let record = by_other_rules(|_, text| text.replace("cite memory \"", "cite \""));
    let answer = verified(&record, &["--json"]).with_status(0).json();
    let items = list(&answer["rules"]["items"]);
    let mut lost = 0;
    for item in items {
        let usual: Vec<String> = lines(item, "usual");
        assert!(!usual.is_empty() && usual.iter().all(|line| line.contains("cite memory")), "{item}");
        lost += usual.len();
    }
    // As many as stand in the rules with this spelling.
    let mut marks = 0;
    for (_, text) in whyrod::built_in_files() {
        let lines = text
            .lines()
            .filter(|line| line.split_whitespace().collect::<Vec<_>>().join(" ").contains("cite memory \""));
        marks += lines.filter(|line| line.contains("cite memory \"")).count();
    }
    assert!(marks > 50 && lost == marks, "{lost} of {marks} named");
    let page = verified(&record, &["--all"]).with_status(0).out;
    assert!(
        items.iter().all(|item| page.contains(text(&item["item"]).split(' ').next_back().expect("a name")))
    );
}

#[test]
fn a_finding_left_out_counts_by_what_it_could_have_said() {
    let record = by_other_rules(|_, text| match text.find("\nfinding sustained-heat.rich-filler\n") {
        None => text,
        Some(at) => {
            let rest = &text[at + 1..];
            let end = rest.find("\n\n").map_or(text.len(), |end| at + 1 + end);
            format!("{}{}", &text[..at], &text[end..])
        }
    });
    let answer = verified(&record, &["--json"]).with_status(0).json();
    let item = &answer["rules"]["items"][0];
    assert_eq!(
        (text(&item["item"]), text(&item["how"])),
        ("finding sustained-heat.rich-filler".into(), "missing".into())
    );
    assert!(answer["rules"]["verdicts_by_absence"].as_u64().expect("a count") > 0, "{}", answer["rules"]);
}

#[test]
fn the_usual_rules_are_told_as_such() {
    let record = run(["record", JOB]).with_status(0).out.into_bytes();
    let ended = verified(&record, &["--strict"]).with_status(0);
    assert!(ended.out.contains("By the same rules as the one that this program brings along"), "{ended:?}");
    let answer = verified(&record, &["--json"]).with_status(0).json();
    assert_eq!(answer["rules"]["recorded"], answer["rules"]["usual"]);
    assert_eq!(answer["rules"]["items"], serde_json::json!([]));
}
