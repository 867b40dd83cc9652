//! What is said to decide for the recommended filler is true of the others: a filler that is barred on something else as
//! well is not among those that the criterion decides against.

use crate::support::program::*;
use serde_json::Value;

/// Jobs where many fillers are barred on more than one criterion.
const JOBS: &[&str] = &["library-balustrade", "boat-cradle", "hot-grain-dryer", "oyster-barge"];

/// How many criteria bar a filler, and whether this one is among them.
fn bars(filler: &Value, criterion: &Value) -> (usize, bool) {
    let standings = filler["standings"].as_array().expect("standings");
    let bars: Vec<&Value> = standings.iter().filter(|standing| standing["standing"] == "barred").collect();
    (bars.len(), bars.iter().any(|standing| standing["criterion"] == *criterion))
}

#[test]
fn a_criterion_decides_against_those_alone_that_nothing_else_stops() {
    let mut with_others = 0;
    for name in JOBS {
        let path = format!("examples/{name}.toml");
        let report = run(["choose", &path, "--json"]).json();
        let page = run(["choose", &path]).out.split_whitespace().collect::<Vec<_>>().join(" ");
        for joint in report["joints"].as_array().expect("joints") {
            let decisive = &joint["decisive"];
            if decisive.is_null() {
                continue;
            }
            let (criterion, best) = (&decisive["criterion"], &joint["recommended"][0]);
            let (mut alone, mut besides) = (0, 0);
            for filler in joint["verdicts"].as_array().expect("verdicts") {
                let beaten = filler["beaten_by"].as_array().expect("a list");
                let worse = beaten
                    .iter()
                    .any(|beaten| beaten["filler"] == *best && beaten["criterion"] == *criterion);
                match bars(filler, criterion) {
                    (1, true) => alone += 1,
                    (0, _) if worse => alone += 1,
                    (_, true) => besides += 1,
                    _ => {}
                }
            }
            assert_eq!(decisive["against"], alone, "{name}, {}", joint["joint"]);
            assert_eq!(decisive["barred_with_others"], besides, "{name}, {}", joint["joint"]);
            with_others += besides;
            if besides > 1 && alone > 0 {
                let told = format!("{besides} more are barred on it, and on something else too");
                assert!(page.contains(&told), "{name}: {told}\n{page}");
            }
        }
    }
    assert!(with_others > 10, "the jobs hold fillers that are barred on two criteria: {with_others}");
}
