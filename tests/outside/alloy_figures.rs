//! Limits, nominal contents, melting ranges and potentials as the rulebook works with them, against reference tables
//! (tests/outside/data/alloy_figures.csv, each row with its source and whether it was read or recalled). Rows that were read fail
//! the build where they disagree; those from memory are counted and listed only.
//!
//! The figures are asked of the program, not of the rule files: what `composition`, `filler-composition` and the tables hold
//! after the rulebook has been run without a job.

use crate::support::comma_separated::cells;
use crate::support::selection::{Chooser, rulebook};
use std::collections::BTreeMap;

/// Counts of the rows that were read and of those from memory that agree.
const READ_AGREED: usize = 368;
const MEMORY_AGREED: usize = 278;

struct Row {
    what: String,
    metal: String,
    item: String,
    ends: [f64; 2],
    unit: String,
    source: String,
    is_read: bool,
}

fn rows() -> Vec<Row> {
    let table = include_str!("data/alloy_figures.csv");
    let rows = table.lines().skip(1).map(|line| {
        let [what, metal, item, lowest, highest, unit, source, how]: [String; 8] =
            cells(line).try_into().expect("eight cells");
        let number = |text: &str| text.parse().unwrap_or_else(|_| panic!("{line}: {text} is no number"));
        let ends = [number(&lowest), number(&highest)];
        assert!(how == "read" || how == "memory", "{line}");
        Row { what, metal, item, ends, unit, source, is_read: how == "read" }
    });
    rows.collect()
}

/// The number that a value begins with.
fn number(text: &str) -> f64 {
    let digits = text.split_whitespace().next().unwrap_or_default();
    digits.parse().unwrap_or_else(|_| panic!("{text} begins with no number"))
}

type Held = BTreeMap<(String, String, String), [f64; 2]>;

/// What the rulebook holds, by what it is, metal and item.
fn held(chooser: &Chooser<'_>) -> Held {
    let mut held = Held::new();
    let mut add = |what: &str, metal: &str, item: &str, lowest: &str, highest: &str| {
        let key = (what.to_owned(), metal.to_owned(), item.to_owned());
        held.insert(key, [number(lowest), number(highest)]);
    };
    for (what, relation) in [("base limits", "composition"), ("filler limits", "filler-composition")] {
        for row in chooser.holds(relation) {
            add(what, &row[0], &row[1], &row[2], &row[4]);
            if what == "base limits" {
                add("base nominal", &row[0], &row[1], &row[3], &row[3]);
            }
        }
    }
    for (what, relation) in [("base sum", "limited-together"), ("filler sum", "filler-limited-together")] {
        for row in chooser.holds(relation) {
            add(what, &row[0], "Si and Fe", "0", &row[2]);
        }
    }
    for (what, relation) in [("base melting", "melting-range"), ("filler melting", "filler-melting-range")] {
        for row in chooser.holds(relation) {
            add(what, &row[0], "solidus to liquidus", &row[1], &row[2]);
        }
    }
    for row in chooser.holds("solution-potential") {
        add("potential", &row[0], &row[1], &row[2], &row[2]);
    }
    // Metals that stand in for a filler and are themselves no base alloy here.
    for row in chooser.holds("stand-in") {
        add("potential", &row[1], "any temper", &row[2], &row[2]);
    }
    held
}

#[test]
fn the_rulebook_holds_the_figures_of_its_sources() {
    let rulebook = rulebook();
    let held = held(&Chooser::new(rulebook));
    let mut agreed = [0, 0];
    let mut of: BTreeMap<(String, bool), [usize; 3]> = BTreeMap::new();
    let mut problems = Vec::new();
    for row in rows() {
        let Row { what, metal, item, ends, unit, source, is_read } = &row;
        let tally = of.entry((what.clone(), *is_read)).or_default();
        tally[0] += 1;
        let how = if *is_read { "read" } else { "from memory" };
        let Some(found) = held.get(&(what.clone(), metal.clone(), item.clone())) else {
            println!("not held: {what} of {metal}, {item} ({source}, {how})");
            tally[2] += 1;
            continue;
        };
        let is_same = ends.iter().zip(found).all(|(a, b)| (a - b).abs() < 1e-6);
        if is_same {
            tally[1] += 1;
            agreed[usize::from(!is_read)] += 1;
            continue;
        }
        let told =
            format!("{what} of {metal}, {item}: {ends:?} by {source} ({how}), {found:?} here, in {unit}");
        println!("disagrees: {told}");
        if *is_read {
            problems.push(told);
        }
    }
    println!("| figures | rows | agree | not held |");
    for ((what, is_read), [rows, agree, missing]) in &of {
        println!(
            "| {what}, {} | {rows} | {agree} | {missing} |",
            if *is_read { "read" } else { "from memory" }
        );
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
    assert!(agreed[0] >= READ_AGREED, "{} rows that were read agree, fewer than {READ_AGREED}", agreed[0]);
    assert!(agreed[1] >= MEMORY_AGREED, "{} rows from memory agree, fewer than {MEMORY_AGREED}", agreed[1]);
}
