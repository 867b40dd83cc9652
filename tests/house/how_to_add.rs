//! The page for developers says how to add things, and names beside each a test that follows it: those tests exist, and the ones
//! here do what the page says.

use super::{root, sources};
use crate::support::program::*;
use std::fs;

/// The paragraphs under "How to add", by what they add.
fn paragraphs(page: &str) -> Vec<(String, String)> {
    let (_, rest) = page.split_once("\n## How to add").expect("a section on adding things");
    let section = rest.split("\n## ").next().unwrap_or_default();
    section
        .split("\n\n")
        .filter_map(|paragraph| paragraph.trim().strip_prefix("**"))
        .filter_map(|paragraph| paragraph.split_once(".**"))
        .map(|(what, text)| (what.to_owned(), text.split_whitespace().collect::<Vec<_>>().join(" ")))
        .collect()
}

/// Whether a test of this path stands in the sources: `screens::terminal::help`.
fn is_test(path: &str) -> bool {
    let Some((module, name)) = path.rsplit_once("::") else { return false };
    let file = module.replace("::", "/");
    let files = [format!("tests/{file}.rs"), format!("tests/{file}/mod.rs")];
    let unit = module.strip_prefix("src::").map(|module| format!("src/{}.rs", module.replace("::", "/")));
    let all = sources("tests").into_iter().chain(sources("src"));
    all.filter(|(path, _)| files.contains(path) || Some(path) == unit.as_ref())
        .any(|(_, text)| text.contains(&format!("fn {name}()")))
}

#[test]
fn every_way_to_add_something_has_a_test_that_follows_it() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the page");
    let paragraphs = paragraphs(&page);
    assert!(paragraphs.len() >= 15, "{}", paragraphs.len());
    for (what, text) in paragraphs {
        let (_, tests) =
            text.rsplit_once("Followed by ").unwrap_or_else(|| panic!("{what}: no test: {text}"));
        let named: Vec<&str> = tests.split('`').skip(1).step_by(2).collect();
        assert!(!named.is_empty(), "{what}: {tests}");
        for test in named {
            assert!(is_test(test), "{what}: there is no test {test}");
        }
    }
}

#[test]
fn every_module_of_the_freezing_is_on_the_map() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).expect("the page");
    for path in sources("src/metallurgy/freezing").into_keys() {
        let name = path.rsplit('/').next().expect("a file").trim_end_matches(".rs");
        assert!(name == "mod" || page.contains(&format!("`{name}`")), "{name} is not on the map");
    }
}

/// The built-in rules with a text put behind one of the files.
fn rules_with(file: &str, more: &str) -> tempfile::TempDir {
    let folder = folder();
    copy_rules(&built_in(), &folder.path().join("rules"), str::to_owned, |name, text| {
        if name == file { format!("{text}\n{more}") } else { text }
    });
    folder
}

#[test]
fn a_finding_with_its_limit_and_its_expectation() {
    let more = "finding corrosion.added-for-this-test\n    \
        says  \"{T} at {J} is below {Limit}, says a finding that was added of {F}\"\n    cite  common practice\n    \
        given part(P, \"5154\")\n    given between(J, first: P, second: _)\n    given candidate(J, F)\n    \
        given sustained-temperature(J, value: T)\n    let   Limit = 33 °C\n    where T < Limit\n    \
        hence graded(J, F, criterion: corrosion, level: marginal)\n\n\
        expectation \"the finding that was added reaches cool joints of 5154\"\n    \
        assume joint(seam), part(a, \"5154\"), between(seam, a, a), sustained-temperature(seam, 20 °C)\n    \
        hence  graded(seam, \"5183\", corrosion, marginal)\n";
    let folder = rules_with("07-corrosion/likeness-and-copper.why", more);
    let path = folder.path().to_str().expect("a path");
    let page = run(["rulebook", "check", path]).with_status(0).out;
    assert!(!page.contains("added-for-this-test"), "it is reached: {page}");
    let job = example("oyster-barge.toml").replace("\"5083\"", "\"5154\"").replace("\"H116\"", "\"O\"");
    let job = write(folder.path(), "job.toml", job);
    let asked =
        ["why", job.to_str().expect("a path"), "5183", "--rules", path, "--json", "--joint", "hull seam"];
    let page = run(asked).with_status(0).out;
    assert!(
        page.contains("is below 33 °C, says a finding that was added of 5183"),
        "the limit shows: {page}"
    );
}

#[test]
fn a_question_that_may_be_left_out() {
    let more = "question painted-before(joint: name, value: range of length)\n    \
        asks \"How far from {joint} does paint begin?\"\n    about joint(joint)\n    at \"joints.paint\"\n    \
        left-out \"the parts are taken to be bare\"\n    cite common practice\n    reads \"paint begins {value} from {joint}\"\n";
    let folder = rules_with("01-the-job/questions.why", more);
    let path = folder.path().to_str().expect("a path");
    run(["rulebook", "check", path]).with_status(0);
    let text = example("kite-reel.toml");
    let answered = text.replacen("weld = ", "paint = \"10..20 mm\"\nweld = ", 1);
    assert_ne!(text, answered);
    let [plain, answered] = [("plain.toml", text), ("answered.toml", answered)]
        .map(|(name, text)| write(folder.path(), name, text).to_str().expect("a path").to_owned());
    let asked = |job: &str, rules: &[&str]| run(["choose", job].iter().chain(rules));
    assert_eq!(
        asked(&plain, &["--rules", path]).out,
        asked(&answered, &["--rules", path]).out,
        "no finding asks for it yet"
    );
    let refused = asked(&answered, &[]).err;
    assert!(refused.contains("unknown key `paint`"), "the built-in rules do not know it: {refused}");
}
