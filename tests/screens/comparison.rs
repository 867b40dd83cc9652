//! Two rulebooks held against each other, and what a rulebook's expectations would not notice, as they are read.

use crate::support::program::*;

/// A copy of the built-in rulebook with one text changed in one file.
fn edited(file: &str, from: &str, to: &str) -> tempfile::TempDir {
    let folder = folder();
    copy_rules(&built_in(), folder.path(), str::to_owned, |name, text| {
        if name == file {
            assert!(text.contains(from), "{file} does not hold {from}");
            text.replace(from, to)
        } else {
            text
        }
    });
    folder
}

#[test]
fn a_border_that_was_moved() {
    let new = edited(
        "04-sustained-heat/sustained-heat.why",
        "heat-border          = 65 °C",
        "heat-border = 100 °C",
    );
    let new = new.path().to_str().expect("a path");
    let job = "examples/hot-grain-dryer.toml";
    let page = run(["rulebook", "compare", "built-in", new, job]).with_status(3).out;
    insta::assert_snapshot!(page);
    let answer = run(["rulebook", "compare", "built-in", new, job, "--json"]).with_status(3).json();
    assert_eq!(answer["reach"]["changed"], serde_json::json!(["asked-for", "graded"]));
    let groups = list(&answer["groups"]);
    assert!(groups.iter().any(|group| {
        group["finding_before"] == "sustained-heat.weld.sensitised"
            && group["finding_after"] == "sustained-heat.weld.cool"
    }));
    let count: u64 =
        list(&answer["moves"]).iter().map(|moved| moved["count"].as_u64().expect("a count")).sum();
    assert_eq!(Some(count), answer["verdicts_moved"].as_u64());
    // What the two say of the job is what the comparison says.
    let verdicts_by = |rules: &[&str]| verdicts(&run(["choose", job, "--json"].iter().chain(rules)).json());
    let (before, after) = (verdicts_by(&[]), verdicts_by(&["--rules", new]));
    let moved = before.iter().filter(|(key, verdict)| after[*key] != **verdict).count();
    assert_eq!(Some(moved as u64), answer["verdicts_moved"].as_u64());
}

#[test]
fn an_edit_that_says_the_same() {
    let new = edited(
        "04-sustained-heat/sustained-heat.why",
        "where T > heat-border\n    given candidate(J, F)",
        "given candidate(J, F)\n    where T > 65 °C",
    );
    let page =
        run(["rulebook", "compare", "built-in", new.path().to_str().expect("a path")]).with_status(0).out;
    assert!(page.contains("say the same, relation by relation"), "{page}");
}

#[test]
fn only_a_sentence_differs() {
    let new = edited(
        "04-sustained-heat/sustained-heat.why",
        "sensitising starts above {upper}",
        "it starts to sensitise above {upper}",
    );
    let job = "examples/oyster-barge.toml";
    let page = run(["rulebook", "compare", "built-in", new.path().to_str().expect("a path"), job])
        .with_status(0)
        .out;
    assert!(page.contains("No verdict and no standing differs."), "{page}");
    assert!(page.contains("sustained-heat.weld.cool"), "{page}");
}

#[test]
fn what_a_small_rulebook_would_not_notice() {
    let rules = "tests/rulebooks/small/rules";
    insta::assert_snapshot!(run(["rulebook", "shake", rules, "--all"]).with_status(3).out);
    let answer = run(["rulebook", "shake", rules, "--json"]).with_status(3).json();
    // What is said to go unnoticed does: every expectation holds without it.
    let unnoticed = list(&answer["unnoticed_findings"]);
    assert!(!unnoticed.is_empty());
    for finding in unnoticed {
        let folder = folder();
        let id = text(&finding["what"]);
        copy_rules(&small(), folder.path(), str::to_owned, |_, text| without(&text, &id));
        let checked = run(["rulebook", "check", folder.path().to_str().expect("a path"), "--json"]);
        let checked = checked.json();
        for expectation in list(&checked["expectations"]) {
            assert_eq!(expectation["failures"], serde_json::json!([]), "{id}");
        }
    }
}

/// A rule file without one finding.
fn without(text: &str, id: &str) -> String {
    let Some(start) = text.find(&format!("finding {id}\n")) else { return text.to_owned() };
    let end = text[start + 1..].find("\n\n").map_or(text.len(), |end| start + 1 + end);
    format!("{}{}", &text[..start], &text[end..])
}

#[test]
fn one_finding_by_itself() {
    insta::assert_snapshot!(run(["rulebook", "show", "corrosion.likeness"]).with_status(0).out);
    let ended = run(["rulebook", "show", "corrosion.liknes"]).with_status(1);
    assert!(ended.err.contains("did you mean"), "{}", ended.err);
}
