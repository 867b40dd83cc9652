//! The language and the engine know no trade: a rulebook about another subject is checked, and its expectations run, by
//! the same program; a job of welding is refused by it.

use crate::support::program::*;

const RULES: &str = "examples/other-subject";

#[test]
fn every_expectation_of_the_other_subject_holds() {
    let checked = run(["rulebook", "check", RULES, "--json"]).with_status(0).json();
    let expectations = list(&checked["expectations"]);
    assert!(expectations.len() >= 5);
    for expectation in expectations {
        assert_eq!(expectation["failures"], serde_json::json!([]), "{expectation}");
        assert!(text(&expectation["file"]).ends_with("expectations.why"));
    }
}

#[test]
fn it_says_nothing_of_welding() {
    for name in ["clay-and-glaze.why", "expectations.why"] {
        let text = std::fs::read_to_string(root().join(RULES).join(name)).expect("a rule file");
        let rules: Vec<&str> = text.lines().filter(|line| !line.starts_with("--")).collect();
        for word in ["joint", "filler", "alloy", "weld", "pool"] {
            assert!(!rules.iter().any(|line| line.contains(word)), "{name} says {word}");
        }
    }
}

#[test]
fn it_decides_no_job_of_welding() {
    let refused = run(["choose", "examples/kite-reel.toml", "--rules", RULES]).with_status(1);
    assert!(refused.err.contains("declares no relation `joint`"), "{}", refused.err);
    assert_eq!(refused.out, "");
}

/// A copy of the other subject's rulebook with a piece of it replaced.
fn check_with(old: &str, new: &str) -> Ended {
    let folder = folder();
    let rules = folder.path().join("rules");
    copy_rules(&root().join(RULES), &rules, str::to_owned, |_, text| text.replacen(old, new, 1));
    run(["rulebook", "check", rules.to_str().expect("a path")])
}

#[test]
fn an_expectation_that_does_not_hold_is_named() {
    let wrong = "hence  fits(jug, celadon)";
    let ended = check_with("never  fits(jug, celadon)", wrong).with_status(3);
    assert!(ended.out.contains("5 of 6 expectations hold."), "{}", ended.out);
    assert!(ended.out.contains("earthenware takes the honey glaze (expectations.why:3)"), "{}", ended.out);
    assert!(ended.out.contains("hence fits(jug, celadon): it is not there"), "{}", ended.out);
    let open = check_with("open   fits(dish, tin-white)", "hence  fits(dish, tin-white)").with_status(3);
    assert!(open.out.contains("hence fits(dish, tin-white): it is open"), "{}", open.out);
    let found = check_with("hence  one-kiln(a, d)", "never  one-kiln(a, d)").with_status(3);
    assert!(found.out.contains("never one-kiln(a, d): it is established"), "{}", found.out);
}

#[test]
fn figures_of_a_claim_need_not_agree_to_the_last_bit() {
    // 0.55 less 0.52 is not 0.03 to the last bit; 0.0301 is another figure.
    let claim = "hence  squeeze(bowl, celadon, 0.03 %)";
    check_with(claim, claim).with_status(0);
    check_with(claim, "hence  squeeze(bowl, celadon, 0.0301 %)").with_status(3);
    check_with(claim, "never  squeeze(bowl, celadon, 0.03 %)").with_status(3);
    check_with(claim, "never  squeeze(bowl, celadon, 0.0301 %)").with_status(0);
}
