//! What other programs read: the keys and words of `--json`, exit status, and the graphs, held against the contract.

use crate::support::program::*;
use serde_json::Value;
use std::collections::BTreeSet;

const JOB: &str = "tests/rulebooks/small/job.toml";
const HALF: &str = "tests/rulebooks/small/half-answered.toml";
const RULES: &str = "tests/rulebooks/small/rules";

fn small_json(arguments: &[&str], status: i32) -> Value {
    run(arguments.iter().chain(&["--json", "--rules", RULES])).with_status(status).json()
}

/// The value has all of these keys.
#[track_caller]
fn has_keys(value: &Value, keys: &[&str]) {
    let entries = value.as_object().unwrap_or_else(|| panic!("an object is expected, not {value}"));
    for key in keys {
        assert!(entries.contains_key(*key), "{key} is missing in {value}");
    }
}

#[track_caller]
fn one_of(value: &Value, words: &[&str]) {
    assert!(words.contains(&value.as_str().unwrap_or_default()), "{value} is none of {words:?}");
}

/// Everything that the contract says of a report.
#[track_caller]
fn is_report(report: &Value) {
    has_keys(report, &["program", "rulebook", "job", "joints", "fewest_fillers", "cautions"]);
    assert_eq!(report["program"]["name"], "whyrod");
    assert_eq!(report["program"]["version"], env!("CARGO_PKG_VERSION"));
    for fingerprint in [&report["rulebook"]["fingerprint"], &report["job"]["fingerprint"]] {
        assert_eq!(text(fingerprint).len(), 64, "{fingerprint}");
    }
    assert!(report["rulebook"]["findings"].as_u64().is_some_and(|findings| findings > 0));
    assert!(report["job"]["title"].is_string());
    for joint in list(&report["joints"]) {
        has_keys(joint, &["joint", "recommended", "verdicts", "open"]);
        let mut recommended = Vec::new();
        for verdict in list(&joint["verdicts"]) {
            has_keys(verdict, &["filler", "verdict", "standings", "beaten_by"]);
            one_of(&verdict["verdict"], &["recommended", "usable", "barred", "open"]);
            if verdict["verdict"] == "recommended" {
                recommended.push(verdict["filler"].clone());
                assert_eq!(verdict["beaten_by"], serde_json::json!([]), "what is recommended is not beaten");
            }
            for standing in list(&verdict["standings"]) {
                has_keys(standing, &["criterion", "standing", "finding", "value", "says"]);
                one_of(&standing["standing"], &["ample", "adequate", "marginal", "barred", "open"]);
                if standing["standing"] == "barred" {
                    assert_eq!(verdict["verdict"], "barred", "{verdict}");
                }
                if !standing["value"].is_null() {
                    assert!(standing["value"]["number"].is_number() && standing["value"]["unit"].is_string());
                }
                assert!(standing["says"].is_null() || !text(&standing["says"]).contains('{'));
            }
            for beaten in list(&verdict["beaten_by"]) {
                has_keys(beaten, &["filler", "criterion"]);
            }
        }
        assert_eq!(joint["recommended"], Value::Array(recommended));
        for open in list(&joint["open"]) {
            has_keys(open, &["question", "path", "decides"]);
            assert!(text(&open["question"]).ends_with('?') && text(&open["path"]).contains('.'));
            assert!(!list(&open["decides"]).is_empty());
        }
    }
    let fewest = &report["fewest_fillers"];
    let used: BTreeSet<String> = list(&fewest["fillers"]).iter().map(text).collect();
    let covers = fewest["covers"].as_object().expect("an object");
    assert_eq!(covers.values().map(text).collect::<BTreeSet<_>>(), used, "every filler of the set is used");
    let verdicts = verdicts(report);
    for (joint, filler) in covers {
        one_of(&Value::from(verdicts[&(joint.clone(), text(filler))].clone()), &["recommended", "usable"]);
    }
    assert!(list(&report["cautions"]).iter().all(Value::is_string));
}

#[test]
fn choose_writes_the_report_of_the_contract() {
    is_report(&small_json(&["choose", JOB], 0));
    is_report(&small_json(&["choose", HALF], 0));
    let (mut open, mut hopeless) = (0, 0);
    for entry in std::fs::read_dir(root().join("examples")).expect("the examples") {
        let path = entry.expect("an example").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let ended = run(["choose", path.to_str().expect("a path"), "--json"]);
            let report = ended.json();
            is_report(&report);
            let none =
                |joint: &Value| list(&joint["verdicts"]).iter().all(|verdict| verdict["verdict"] == "barred");
            let status = if list(&report["joints"]).iter().any(none) { 3 } else { 0 };
            assert_eq!(ended.status, Some(status), "{}", path.display());
            hopeless += i32::from(status == 3);
            open +=
                list(&report["joints"]).iter().filter(|joint| joint["open"] != serde_json::json!([])).count();
        }
    }
    assert!(
        open > 0 && hopeless > 0,
        "the examples show neither an open question nor a joint without a filler"
    );
}

#[test]
fn a_joint_without_a_filler_ends_with_status_3() {
    let folder = folder();
    let job = std::fs::read_to_string(root().join(JOB)).expect("the small job");
    let path = write(folder.path(), "job.toml", job + "\n[choice]\navailable = [\"P2\"]\n");
    let report = small_json(&["choose", path.to_str().expect("a path")], 3);
    is_report(&report);
    for joint in list(&report["joints"]) {
        assert_eq!(joint["recommended"], serde_json::json!([]));
    }
    assert_eq!(report["fewest_fillers"], serde_json::json!({"fillers": [], "covers": {}, "prices": []}));
}

/// Everything that the contract says of an answer to `why` or `why-not`.
#[track_caller]
fn is_answer(answer: &Value) {
    has_keys(answer, &["joint", "filler", "verdict", "derivation", "changes"]);
    one_of(&answer["verdict"], &["recommended", "usable", "barred", "open"]);
    let nodes = list(&answer["derivation"]["nodes"]);
    let kinds = ["conclusion", "finding", "fact", "absence", "aggregate", "working", "question", "source"];
    for (index, node) in nodes.iter().enumerate() {
        has_keys(node, &["id", "kind", "text", "finding", "cite", "file", "line"]);
        assert_eq!(node["id"], index, "the number of a node is its place");
        one_of(&node["kind"], &kinds);
        assert!(!text(&node["text"]).is_empty());
        assert_eq!(node["kind"] == "finding", node["finding"].is_string(), "{node}");
        assert_eq!(node["file"].is_string(), node["line"].is_number(), "{node}");
        if node["kind"] == "finding" {
            assert!(
                node["cite"].is_string() && node["file"].is_string(),
                "a finding without authority: {node}"
            );
        }
    }
    let mut told = BTreeSet::from([0]);
    for edge in list(&answer["derivation"]["edges"]) {
        let [from, to, role] = list(edge).as_slice() else { panic!("{edge} is no edge") };
        let (from, to) = (from.as_u64().expect("a node") as usize, to.as_u64().expect("a node") as usize);
        assert!(from < nodes.len() && to < nodes.len() && role.is_string(), "{edge}");
        told.extend([from, to]);
    }
    let conclusions_apart =
        nodes.iter().filter(|node| !told.contains(&(node["id"].as_u64().expect("a number") as usize)));
    assert_eq!(conclusions_apart.count(), 0, "a node that hangs on nothing");
    for change in list(&answer["changes"]) {
        has_keys(change, &["set", "verdict"]);
    }
}

#[test]
fn why_and_why_not_write_the_answers_of_the_contract() {
    for job in [JOB, HALF] {
        for filler in ["P1", "P2", "P3", "P4"] {
            for (command, more) in [("why", "--all"), ("why-not", "--all"), ("why", "--depth=2")] {
                let ended =
                    run([command, job, filler, more, "--joint", "rim seam", "--json", "--rules", RULES]);
                let answer = ended.json();
                is_answer(&answer);
                let nothing_against = command == "why-not" && answer["verdict"] == "recommended";
                assert_eq!(
                    ended.status,
                    Some(if nothing_against { 3 } else { 0 }),
                    "{command} {job} {filler}"
                );
                let empty = list(&answer["derivation"]["nodes"]).is_empty();
                assert_eq!(empty, nothing_against, "{command} {job} {filler}");
            }
        }
    }
    for filler in ["5356", "4043", "1100"] {
        is_answer(&run(["why", "examples/half-answered-cart.toml", filler, "--json"]).with_status(0).json());
    }
}

#[test]
fn verdicts_of_why_are_those_of_choose() {
    for job in [JOB, HALF] {
        let report = small_json(&["choose", job], 0);
        for ((joint, filler), verdict) in verdicts(&report) {
            let answer = small_json(&["why", job, &filler, "--joint", &joint], 0);
            assert_eq!(answer["verdict"], verdict, "{joint}, {filler}");
        }
    }
}

#[test]
fn rulebook_check_writes_what_it_read() {
    let checked = small_json(&["rulebook", "check"], 0);
    has_keys(&checked, &["findings", "relations", "table_facts", "fingerprint", "expectations"]);
    for expectation in list(&checked["expectations"]) {
        has_keys(expectation, &["name", "file", "line", "failures"]);
    }
    let authority = list(&checked["authority"]);
    for kind in authority {
        has_keys(kind, &["known", "findings", "table_facts", "curves", "computed"]);
    }
    let sum: u64 = authority.iter().filter_map(|kind| kind["findings"].as_u64()).sum();
    assert_eq!(checked["findings"].as_u64(), Some(sum), "every finding is counted once");
    let unreached = list(&checked["unreached"]);
    assert!(!unreached.is_empty());
    for finding in unreached {
        has_keys(finding, &["name", "file", "line"]);
    }
    let strict = small_json(&["rulebook", "check", "--strict"], 3);
    assert_eq!(strict, checked, "to be strict changes the status alone");
}

fn graph(format: &str, arguments: &[&str]) -> String {
    run(arguments.iter().chain(&["--graph", format, "--rules", RULES])).with_status(0).out
}

const GRAPHS: [&[&str]; 3] = [
    &["why", JOB, "P3"],
    &["why-not", JOB, "P2", "--joint", "rim seam", "--all"],
    &["why-not", HALF, "P2", "--depth", "2"],
];

#[test]
fn svg_is_a_document() {
    for arguments in GRAPHS {
        let svg = graph("svg", arguments);
        let document = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{error}\n{svg}"));
        let root = document.root_element();
        assert_eq!(root.tag_name().name(), "svg");
        assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
        let number = |node: roxmltree::Node<'_, '_>, key: &str| {
            node.attribute(key).and_then(|value| value.parse::<f64>().ok()).unwrap_or(0.0)
        };
        let (width, height) = (number(root, "width"), number(root, "height"));
        let mut texts = 0;
        for node in
            root.descendants().filter(|node| node.has_tag_name(("http://www.w3.org/2000/svg", "text")))
        {
            texts += 1;
            assert!(number(node, "x") < width && number(node, "y") < height, "a text outside the drawing");
            assert!(!node.text().unwrap_or_default().is_empty());
        }
        assert!(texts > 5, "{texts} texts");
    }
}

#[test]
fn svg_bears_any_text_of_a_rulebook() {
    let folder = folder();
    let rules = folder.path().join("rules");
    let edit = |_: &str, text: String| {
        text.replace(
            "says  \"{F} leaves up to",
            "says  \"<b>&amp; \u{1}\u{1b}[31m\u{fffe} ]]> \\\"'{F} leaves up to",
        )
    };
    copy_rules(&small(), &rules, str::to_owned, edit);
    let rules = rules.to_str().expect("a path");
    let svg = run(["why-not", JOB, "P2", "--graph", "svg", "--rules", rules]).with_status(0).out;
    let document = roxmltree::Document::parse(&svg).unwrap_or_else(|error| panic!("{error}\n{svg}"));
    let told = document.descendants().any(|node| node.text().is_some_and(|text| text.contains("<b>&amp;")));
    assert!(told, "{svg}");
    let dot = run(["why-not", JOB, "P2", "--graph", "dot", "--rules", rules]).with_status(0).out;
    is_dot(&dot);
}

/// One statement a line; labels closed; edges between nodes that are there.
#[track_caller]
fn is_dot(dot: &str) {
    let inner = dot.strip_prefix("digraph derivation {\n").and_then(|rest| rest.strip_suffix("}\n"));
    let mut nodes = BTreeSet::new();
    let mut edges = Vec::new();
    for line in inner.expect("a graph").lines() {
        let statement = line.trim().strip_suffix(';').unwrap_or_else(|| panic!("{line:?} does not end"));
        let quotes = statement.replace("\\\\", "").replace("\\\"", "").matches('"').count();
        assert_eq!(quotes % 2, 0, "{line:?} has an open label");
        let Some((name, _)) = statement.split_once(" [") else { continue };
        match name.split_once(" -> ") {
            Some((from, to)) => edges.push((from.to_owned(), to.to_owned())),
            None => drop(nodes.insert(name.to_owned())),
        }
    }
    assert!(nodes.len() > 5 && edges.len() > 5);
    for (from, to) in edges {
        assert!(nodes.contains(&from) && nodes.contains(&to), "{from} -> {to}");
    }
}

#[test]
fn dot_is_a_graph() {
    for arguments in GRAPHS {
        is_dot(&graph("dot", arguments));
    }
    insta::assert_snapshot!(graph("dot", &["why-not", HALF, "P1", "--joint", "rim seam"]));
}

/// The same derivation in every form, whole and cut.
#[test]
fn one_derivation_in_every_form() {
    let asked = ["why-not", JOB, "P2", "--joint", "rim seam"];
    let with = |more: &[&str]| run(asked.iter().chain(more).chain(&["--rules", RULES])).with_status(0).out;
    insta::assert_snapshot!("form_svg", with(&["--graph", "svg"]));
    insta::assert_snapshot!("form_dot", with(&["--graph", "dot", "--full"]));
    insta::assert_snapshot!("form_json", with(&["--json"]));
    insta::assert_snapshot!("form_depth", with(&["--depth", "2"]));
    insta::assert_snapshot!("form_all", with(&["--all"]));
}
