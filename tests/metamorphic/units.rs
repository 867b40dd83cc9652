//! The figures of the rules in other units: ksi for MPa, °F for °C, inches for millimetres. What is said of a job, and whether
//! the expectations hold, does not change.

use super::examples::jobs;
use crate::support::memory;
use crate::support::program::library::{rulebook, verdicts};
use crate::support::program::{built_in, copy_rules, folder};
use std::collections::BTreeMap;
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::language::{Rulebook, read_rulebook};
use whyrod::verdict::{check_expectations, decide_with};

/// A figure in another unit, to all its digits.
fn converted(figure: f64, unit: &str) -> Option<String> {
    Some(match unit {
        "MPa" => format!("{} ksi", figure / 6.894_757_293_168_361),
        "°C" => format!("{} °F", (figure * 18.0 + 320.0) / 10.0),
        "mm" => format!("{} in", figure / 25.4),
        _ => return None,
    })
}

/// The text with each figure that stands before one of the units in another, and how many were. An end of a range shares
/// its unit with the other end and stays.
fn in_other_units(text: &str) -> (String, usize) {
    let (mut out, mut count) = (String::new(), 0);
    for line in text.split_inclusive('\n') {
        let mut words = line.split(' ').peekable();
        while let Some(word) = words.next() {
            let symbol = words.peek().map_or("", |next| next.trim_end_matches([',', ')', '\n']));
            let digits = word.trim_start_matches('(');
            let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.') && !digits.contains("..");
            match digits.parse().ok().filter(|_| plain).and_then(|figure| converted(figure, symbol)) {
                Some(figure) => {
                    let next = words.next().unwrap_or_default();
                    out += &word[..word.len() - digits.len()];
                    out += &figure;
                    out += &next[symbol.len()..];
                    count += 1;
                }
                None => out += word,
            }
            if words.peek().is_some() {
                out.push(' ');
            }
        }
    }
    (out, count)
}

fn said(rulebook: &Rulebook) -> BTreeMap<String, Vec<String>> {
    let mut said = BTreeMap::new();
    for (name, job) in jobs() {
        let job = read_job("job.toml", job.as_bytes(), rulebook).unwrap_or_else(|errors| panic!("{errors}"));
        let decision = decide_with(rulebook, job, Recording::Nothing, memory()).expect("the job is decided");
        let all = verdicts(&decision).into_iter();
        said.insert(name, all.map(|(pair, verdict)| format!("{pair:?} {verdict:?}")).collect());
    }
    said
}

#[test]
fn rules_in_other_units_say_the_same() {
    let folder = folder();
    let count = std::cell::Cell::new(0);
    copy_rules(&built_in(), folder.path(), str::to_owned, |_, text| {
        let (text, more) = in_other_units(&text);
        count.set(count.get() + more);
        text
    });
    assert!(count.get() > 150, "only {} figures were found", count.get());
    let other = read_rulebook(folder.path()).unwrap_or_else(|error| panic!("{error:?}"));
    assert_eq!(said(rulebook()), said(&other));
    let checks = check_expectations(&other).expect("the expectations run");
    let failed: Vec<_> = checks.expectations.iter().filter(|one| !one.failures.is_empty()).collect();
    assert!(failed.is_empty(), "{failed:#?}");
}
