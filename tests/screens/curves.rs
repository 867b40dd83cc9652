//! A value read from a curve can be traced: the page for an audit and the JSON form name the points between which it was
//! read, the lines these stand on, and the curve's own authority.

use crate::support::program::*;
use serde_json::Value;

const JOB: [&str; 3] = ["examples/hot-grain-dryer.toml", "4043", "--joint"];

/// The number of the line in the rulebook that holds this point, from one.
fn line_of(point: &Value) -> String {
    let file = built_in().join(point["file"].as_str().expect("a file"));
    let text = std::fs::read_to_string(file).expect("a rule file");
    let line = point["line"].as_u64().expect("a line") as usize;
    text.lines().nth(line - 1).expect("such a line").split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_points_of_a_curve_and_its_authority_are_told() {
    let answer = run([&["why"], &JOB[..], &["duct to flange", "--json"]].concat()).json();
    let text = answer.to_string();
    assert!(text.contains("silicon crack curve read at"), "{text}");
    let mut nodes = Vec::new();
    collect(&answer, &mut nodes);
    assert!(!nodes.is_empty(), "nodes with points of a curve");
    for node in &nodes {
        let points = node["points"].as_array().expect("points");
        assert!((1..=2).contains(&points.len()), "{node}");
        for point in points {
            let (at, value) = (&point["at"], &point["value"]);
            let row = line_of(point);
            let figures: Vec<f64> =
                row.replace('%', "").split_whitespace().filter_map(|word| word.parse().ok()).collect();
            assert_eq!(
                figures,
                [at["number"].as_f64(), value["number"].as_f64()].map(Option::unwrap_or_default)
            );
        }
        assert!(node["cite"].as_str().is_some_and(|cite| cite.contains("drawn by us")), "{node}");
        assert_eq!(node["file"], points[0]["file"]);
    }
    let page = run([&["why"], &JOB[..], &["duct to flange", "--full"]].concat()).out;
    // The rails of the tree stand between the words of a sentence.
    let words: Vec<&str> = page.split_whitespace().filter(|word| !word.contains(['│', '├', '╰'])).collect();
    let words = words.join(" ");
    assert!(words.contains("silicon crack curve read at"), "{page}");
    assert!(words.contains("between its points 0.05 at 3 % (05-hot-cracking/curves.why:"), "{page}");
    assert!(words.contains("drawn by us through the peaks"), "{page}");
}

/// Every object that has points of a curve.
fn collect<'v>(value: &'v Value, nodes: &mut Vec<&'v Value>) {
    match value {
        Value::Object(map) => {
            if map.contains_key("points") {
                nodes.push(value);
            }
            map.values().for_each(|inner| collect(inner, nodes));
        }
        Value::Array(list) => list.iter().for_each(|inner| collect(inner, nodes)),
        _ => {}
    }
}
