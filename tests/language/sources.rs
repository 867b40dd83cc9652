//! The page of sources that goes with the rulebook is what the rules say now.

use crate::support::program::*;

#[test]
fn the_page_of_sources_is_made_from_the_rules() {
    let made = run(["rulebook", "sources", "--rules", "rules"]).with_status(0).out;
    let page = std::fs::read_to_string(root().join("rules/SOURCES.md")).expect("the page of sources");
    let apart = made.lines().zip(page.lines()).position(|(made, page)| made != page);
    assert!(
        made == page,
        "rules/SOURCES.md is not what the rules say now (line {}); make it anew:\n  \
         cargo run -- rulebook sources --rules rules > sources.md && mv sources.md rules/SOURCES.md",
        apart.map_or(made.lines().count().min(page.lines().count()), |line| line) + 1
    );
}

#[test]
fn every_citation_is_on_the_page_and_in_its_data() {
    let cited = |text: &str| {
        let mut texts: Vec<String> = Vec::new();
        for line in text.lines() {
            let line = line.split(" -- ").next().unwrap_or_default();
            if let Some((_, quoted)) =
                line.split_once("cite").filter(|_| !line.trim_start().starts_with("--"))
            {
                texts.extend(quoted.split('"').skip(1).step_by(2).map(str::to_owned));
            }
        }
        texts
    };
    let list = run(["rulebook", "sources", "--rules", "rules", "--json"]).with_status(0).json();
    let mut on_page = std::collections::BTreeSet::new();
    for kind in ["seen", "from_memory"] {
        for work in self::list(&list[kind]) {
            for clause in self::list(&work["clauses"]) {
                let (name, clause) = (text(&work["name"]), text(&clause["text"]));
                for joined in [format!("{name}, {clause}"), format!("{name}: {clause}"), name] {
                    on_page.insert(joined);
                }
            }
        }
    }
    let mut count = 0;
    for path in rule_files(&built_in()).values() {
        for source in cited(&std::fs::read_to_string(path).expect("a rule file")) {
            count += 1;
            assert!(on_page.contains(&source), "{}: {source}", path.display());
        }
    }
    assert!(count > 150, "only {count} citations were seen");
}

#[test]
fn the_page_of_a_small_rulebook() {
    insta::assert_snapshot!(run(["rulebook", "sources", "tests/rulebooks/small/rules"]).with_status(0).out);
}

/// A page beside the rules is no rule: neither what is read nor the fingerprint changes with it.
#[test]
fn a_page_beside_the_rules_changes_nothing() {
    let folder = folder();
    copy_rules(&small(), folder.path(), str::to_owned, |_, text| text);
    let path = folder.path().to_str().expect("a path").to_owned();
    let before = run(["rulebook", "check", &path, "--json"]).with_status(0).json();
    write(folder.path(), "SOURCES.md", run(["rulebook", "sources", &path]).with_status(0).out);
    assert_eq!(run(["rulebook", "check", &path, "--json"]).with_status(0).json(), before);
}
