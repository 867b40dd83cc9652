//! Where sources disagree, the explanation of a verdict that rests on one of them shows what the others hold and why the one
//! governs. Every row of rules/01-the-job/disagreements.why is asked for once.

use crate::support::program::library::rulebook;
use crate::support::program::*;
use std::collections::BTreeSet;

/// What is disputed, a joint where it matters, and a filler whose verdict there rests on it.
const CASES: &[(&str, [&str; 2], &str, &str)] = &[
    ("magnesium in the heat", ["6061", "6061"], "5356", "sustained-temperature = \"90 °C\""),
    ("silicon filler on magnesium metal", ["5052", "3003"], "4043", ""),
    ("magnesium filler on silicon metal", ["356.0", "6061"], "5356", ""),
    ("copper alloy to silicon casting", ["2219", "356.0"], "4145", ""),
    ("zinc alloy to silicon casting", ["7005", "356.0"], "4043", ""),
    ("magnesium alloy to silicon casting", ["5083", "356.0"], "5356", ""),
    ("welding of die castings", ["413.0", "6061"], "4043", ""),
    ("filler for 6xxx in sea water", ["6061", "6061"], "4043", "exposure = \"sea water\""),
    ("shade of 6xxx", ["6082", "6082"], "4043", "finish = \"clear anodised\""),
    ("filler of 2.5 to 3.5 % magnesium", ["6061", "6061"], "5554", ""),
];

#[test]
fn every_disagreement_is_shown_where_it_matters() {
    let folder = folder();
    for (dispute, [first, second], filler, service) in CASES {
        let job = format!(
            "[parts.one]\nalloy = \"{first}\"\n[parts.two]\nalloy = \"{second}\"\n\
             [[joints]]\nname = \"seam\"\nbetween = [\"one\", \"two\"]\nweld = \"fillet\"\nprocess = \"GTAW\"\n\
             [service]\n{service}\n"
        );
        let path = write(folder.path(), "job.toml", job);
        let answer =
            run(["why", path.to_str().expect("a path"), filler, "--all", "--json"]).with_status(0).json();
        let nodes = answer["derivation"]["nodes"].as_array().expect("nodes");
        let told = format!("the sources disagree on {dispute}: ");
        let fact =
            nodes.iter().find(|node| node["text"].as_str().is_some_and(|text| text.starts_with(&told)));
        let fact =
            fact.unwrap_or_else(|| panic!("{filler} from {first} to {second} does not show: {dispute}"));
        assert_eq!(fact["file"], "01-the-job/disagreements.why", "{dispute}");
        let cite = fact["cite"].as_str().unwrap_or_default();
        assert!(cite.len() > 20, "{dispute}: {cite}");
    }
}

#[test]
fn every_row_of_the_table_is_asked_for() {
    let rulebook = rulebook();
    let id = rulebook.relation("disagreement").expect("the table is there");
    let rows = rulebook.facts.iter().filter(|fact| fact.relation == id);
    let rows: BTreeSet<String> = rows.map(|fact| fact.cells[0].to_string()).collect();
    let asked: BTreeSet<String> = CASES.iter().map(|(dispute, ..)| (*dispute).to_owned()).collect();
    assert_eq!(rows, asked);
}
