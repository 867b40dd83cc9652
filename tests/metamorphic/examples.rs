//! Changes of a job that must not change what is said of it: the order of the two sides, fillers that nobody stocks, the
//! order in which criteria count.

use crate::support::program::library::{settled, verdicts, with_verdict};
use crate::support::program::*;
use std::collections::BTreeSet;
use whyrod::verdict::Verdict;

/// The example jobs that stand on their own.
pub fn jobs() -> Vec<(String, String)> {
    let mut found: Vec<(String, String)> = std::fs::read_dir(root().join("examples"))
        .expect("the examples")
        .map(|entry| entry.expect("an example").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        // The same job in another unit would be looked at twice.
        .filter(|path| !path.ends_with("hot-grain-dryer-fahrenheit.toml"))
        .map(|path| (path.display().to_string(), std::fs::read_to_string(&path).expect("an example")))
        .collect();
    found.sort();
    assert!(found.len() >= 5, "only {} examples", found.len());
    found
}

/// The job with one of its lines replaced by what `edit` makes of it.
fn edited(job: &str, edit: impl Fn(&str) -> Option<String>) -> String {
    job.lines().map(|line| edit(line).unwrap_or_else(|| line.to_owned()) + "\n").collect()
}

/// The texts of a list such as `["a", "b"]`.
fn listed(list: &str) -> Vec<String> {
    list.split('"').skip(1).step_by(2).map(str::to_owned).collect()
}

fn written(list: &[String]) -> String {
    format!("[{}]", list.iter().map(|text| format!("\"{text}\"")).collect::<Vec<_>>().join(", "))
}

/// The job with this key in its section `choice`.
fn with_choice(job: &str, key: &str, list: &[String]) -> String {
    let without = edited(job, |line| line.trim_start().starts_with(key).then(String::new));
    let line = format!("{key} = {}\n", written(list));
    match without.contains("[choice]") {
        true => without.replace("[choice]\n", &format!("[choice]\n{line}")),
        false => format!("{without}\n[choice]\n{line}"),
    }
}

#[test]
fn the_two_sides_of_a_joint_are_alike() {
    for (name, job) in jobs() {
        let swapped = edited(&job, |line| {
            let sides = line.strip_prefix("between = ")?;
            let [first, second] = listed(sides).try_into().expect("two sides");
            Some(format!("between = {}", written(&[second, first])))
        });
        assert!(swapped.contains("between"), "{name}");
        assert_eq!(verdicts(&settled(&job)), verdicts(&settled(&swapped)), "{name}");
    }
}

#[test]
fn the_order_of_parts_and_joints_does_not_matter() {
    for (name, job) in jobs() {
        let mut sections: Vec<String> = Vec::new();
        for line in job.lines() {
            if line.starts_with('[') && !line.starts_with("[joints.") || sections.is_empty() {
                sections.push(String::new());
            }
            let last = sections.last_mut().expect("a section");
            *last += &format!("{line}\n");
        }
        sections[1..].reverse();
        let turned = sections.concat();
        assert_ne!(job, turned);
        assert_eq!(verdicts(&settled(&job)), verdicts(&settled(&turned)), "{name}");
    }
}

/// A filler that the rulebook does not have, as rich in magnesium as can be.
const ONE_MORE_FILLER: &str = "\
table filler
    cite memory \"made up for this test\"
    9998  magnesium

table filler-limits
    across element: Si, Mg
    unit range %
    cite memory \"made up for this test\"
    9998  ..0.10  5.0..6.0

table filler-nominal
    across element: Mg
    unit share %
    cite memory \"made up for this test\"
    9998  5.5
";

#[test]
fn a_filler_that_nobody_stocks_changes_nothing() {
    let folder = folder();
    let rules = folder.path().join("rules");
    copy_rules(&built_in(), &rules, str::to_owned, |_, text| text);
    write(&rules, "one-more-filler.why", ONE_MORE_FILLER);
    let stock: Vec<String> = ["4043", "5356", "4047", "5183"].map(str::to_owned).to_vec();
    for (name, job) in jobs() {
        let path = write(folder.path(), "job.toml", with_choice(&job, "available", &stock));
        let path = path.to_str().expect("a path");
        let report = |more: &[&str]| run(["choose", path, "--json"].iter().chain(more)).json();
        let (before, after) = (report(&[]), report(&["--rules", rules.to_str().expect("a path")]));
        assert_ne!(before["rulebook"]["fingerprint"], after["rulebook"]["fingerprint"]);
        for key in ["joints", "fewest_fillers", "cautions", "job"] {
            assert_eq!(before[key], after[key], "{name}: {key}");
        }
    }
}

#[test]
fn a_smaller_stock_bars_no_filler_and_frees_none() {
    for (name, job) in jobs() {
        let whole = settled(&job);
        let all: Vec<String> = whole.job.available.iter().map(|filler| filler.to_string()).collect();
        let barred = with_verdict(&whole, Verdict::Barred);
        let some: Vec<String> = all.iter().step_by(3).cloned().collect();
        let fewer = settled(&with_choice(&job, "available", &some));
        let kept: BTreeSet<_> = barred.into_iter().filter(|(_, filler)| some.contains(filler)).collect();
        assert_eq!(with_verdict(&fewer, Verdict::Barred), kept, "{name}");
        assert_eq!(verdicts(&fewer).len(), some.len() * fewer.job.joints.len(), "{name}");
    }
}

#[test]
fn the_order_of_criteria_bars_no_filler_and_frees_none() {
    let criteria =
        ["sustained heat", "hot cracking", "joint strength", "corrosion", "forming", "anodised shade"];
    let criteria = criteria.map(str::to_owned).to_vec();
    let stock = ["4043", "4643", "5183", "5356", "5554", "1100", "2319"].map(str::to_owned);
    let mut orders = vec![criteria.iter().rev().cloned().collect::<Vec<_>>()];
    for turn in 0..criteria.len() {
        let mut order = criteria.clone();
        order.rotate_left(turn);
        orders.push(order);
    }
    for (name, job) in jobs() {
        let job = with_choice(&job, "available", &stock);
        let barred = with_verdict(&settled(&job), Verdict::Barred);
        for order in &orders {
            let decision = settled(&with_choice(&job, "order", order));
            assert_eq!(with_verdict(&decision, Verdict::Barred), barred, "{name}: {order:?}");
            assert!(with_verdict(&decision, Verdict::Recommended).is_disjoint(&barred), "{name}: {order:?}");
        }
    }
}
