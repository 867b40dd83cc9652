//! The rulebook's choices against published ones (tests/outside/data/selection.csv, each row with its source). How a row is read
//! stands in selection_shared/rows.rs.
//!
//! A row agrees with a pair of alloys if the filler that the source names first serves there, and every filler that it
//! excludes is barred; where it does not recommend the pair, no filler may serve. A row agrees if it does so for more than
//! half of its pairs. Rows read with high confidence and those recalled with high confidence (memory-high: from memory) can
//! fail the build; the others are only counted. Where a source disagrees with the rulebook the row is in a list below, with
//! the reason, and must go from it as soon as it agrees.

use crate::support::selection::rows::{Known, Reading, Row, read, rows};
use crate::support::selection::{Asked, Choice, Chooser, rulebook};
use std::collections::{BTreeMap, BTreeSet};

/// Rows that may fail the build and disagree all the same: what the source says, what the rulebook goes by, and why.
const DISAGREE: &[(&str, &str)] = &[
    (
        "S014",
        "Mathers 2002, table 3.1, does not recommend Al-Mg castings to 4xxx. So it is here with 4032 and 4043A, whose silicon \
         binds the magnesium; 4006 and 4015 hold 1 and 1.8 % silicon only, and p. 49 of the same book puts the border of what \
         embrittles at 2 %. By the name of the family the table is the more careful, by the metal they are weldable.",
    ),
    (
        "S039",
        "Mathers 2002, table 3.1, has 5xxx fillers, and 4xxx against cracking, for 4xxx to 7xxx. They serve with 4006 and 4015; \
         on 4032 and 4043A, of 5 % silicon and more, p. 49 of the same book excludes an Al-Mg filler, and its table does not \
         recommend 7xxx to Al-Si castings, which such metal is but for its form.",
    ),
    (
        "S121",
        "Mathers 2002, table 3.3, has 4043 for 6082 to be anodised, as for all five criteria of that alloy. Above about 2 % \
         the silicon of the weld stays in the oxide as particles and greys it beside clear metal: Wernick, Pinner and \
         Sheasby, and Brace (from memory). The same table has 5654 where 6061 is to be anodised.",
    ),
];

/// Counts of the sure rows and of their pairs of alloys that agree.
const ROWS_AGREED: usize = 110;
const PAIRS_AGREED: usize = 635;

/// What is wrong with a pair; nothing where it agrees.
fn wrong(reading: &Reading, choice: &Choice) -> Option<String> {
    if reading.none {
        let serving = choice.serving();
        return (!serving.is_empty()).then(|| format!("served by {}", serving.join(", ")));
    }
    if !reading.serves.is_empty() && !reading.serves.iter().any(|filler| choice.serves(filler)) {
        let filler = &reading.serves[0];
        return Some(format!("{filler} is barred on {}", choice.why_barred(filler)));
    }
    let free: Vec<&str> =
        reading.bars.iter().map(String::as_str).filter(|filler| !choice.bars(filler)).collect();
    (!free.is_empty()).then(|| format!("{} not barred", free.join(", ")))
}

#[derive(Default)]
struct Tally {
    rows: usize,
    agreed: usize,
    skipped: usize,
    pairs: usize,
    pairs_agreed: usize,
    /// Pairs where what the source names first is recommended, not merely usable; and those where it names one.
    recommended: usize,
    named: usize,
}

/// The table a row comes from, without page and remarks.
fn work(row: &Row) -> String {
    let ends =
        [" (book", " (characteristic", " (same", " annex", " with Table"].map(|mark| row.source.find(mark));
    let end = ends.into_iter().flatten().min().unwrap_or(row.source.len());
    let sort = if row.is_sure() { "sure" } else { "medium" };
    let from = if row.confidence.starts_with("memory") { ", from memory" } else { "" };
    format!("{sort}: {}{from}", &row.source[..end])
}

#[test]
fn some_published_choices_are_met() {
    published_choices(5);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn published_choices_are_met() {
    published_choices(1);
}

/// Holds one row in so many against the rulebook; the counts of agreement hold for all of them.
fn published_choices(of: usize) {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    let known = Known::new(&chooser);
    let read: Vec<(Row, Result<Reading, String>)> = rows()
        .into_iter()
        .step_by(of)
        .map(|row| {
            let reading = read(&row, &known);
            (row, reading)
        })
        .collect();
    let jobs: BTreeSet<Asked> =
        read.iter().flat_map(|(_, reading)| reading.iter().flat_map(|found| found.jobs.clone())).collect();
    let decided = chooser.decide_all(&jobs.into_iter().collect::<Vec<_>>());
    let mut tallies: BTreeMap<String, Tally> = BTreeMap::new();
    let mut disagreed: Vec<(Row, String)> = Vec::new();
    let (mut serving, mut looked_at) = (0, 0);
    let mut unknown: BTreeSet<String> = BTreeSet::new();
    println!("Skipped");
    let mut exceptions = Vec::new();
    for (row, reading) in read {
        let tally = tallies.entry(work(&row)).or_default();
        let reading = match reading {
            Ok(reading) => reading,
            Err(reason) => {
                println!("  {}: {reason}", row.id);
                tally.skipped += 1;
                continue;
            }
        };
        unknown.extend(reading.unknown.iter().cloned());
        let mut faults = Vec::new();
        for asked in &reading.jobs {
            let choice = &decided[asked];
            serving += choice.serving().len();
            looked_at += choice.looked_at();
            let is_recommended = choice.recommended().iter().any(|filler| reading.serves.contains(filler));
            tally.named += usize::from(!reading.serves.is_empty());
            tally.recommended += usize::from(is_recommended);
            if let Some(fault) = wrong(&reading, choice) {
                faults.push(format!("{} to {}: {fault}", asked.bases[0], asked.bases[1]));
            }
        }
        tally.rows += 1;
        tally.pairs += reading.jobs.len();
        tally.pairs_agreed += reading.jobs.len() - faults.len();
        if faults.len() * 2 < reading.jobs.len() {
            tally.agreed += 1;
            exceptions.extend(faults.into_iter().map(|fault| format!("  {} {fault}", row.id)));
        } else {
            disagreed.push((
                row,
                format!("{} of {} pairs: {}", faults.len(), reading.jobs.len(), faults.join("; ")),
            ));
        }
    }
    println!("\nNot known, and left out of lists: {}", unknown.into_iter().collect::<Vec<_>>().join(", "));
    println!("\nPairs of alloys that disagree in rows that agree\n{}", exceptions.join("\n"));
    println!("\nRows that disagree");
    for (row, fault) in &disagreed {
        println!("  {} ({}, {}) {fault}", row.id, row.source, row.confidence);
        for (_, reason) in DISAGREE.iter().filter(|(id, _)| *id == row.id) {
            println!("    {reason}");
        }
    }
    println!("\n| rows | rows run | agree | skipped | pairs | agree | named first is recommended |");
    let (mut sure, mut all) = (Tally::default(), Tally::default());
    for (work, tally) in &tallies {
        let Tally { rows, agreed, skipped, pairs, pairs_agreed, recommended, named } = tally;
        println!(
            "| {work} | {rows} | {agreed} | {skipped} | {pairs} | {pairs_agreed} | {recommended} of {named} |"
        );
        for sum in [Some(&mut all), work.starts_with("sure").then_some(&mut sure)].into_iter().flatten() {
            sum.rows += rows;
            sum.agreed += agreed;
            sum.skipped += skipped;
            sum.pairs += pairs;
            sum.pairs_agreed += pairs_agreed;
        }
    }
    for (name, sum) in [("sure", &sure), ("all", &all)] {
        let Tally { rows, agreed, skipped, pairs, pairs_agreed, .. } = sum;
        println!(
            "{name}: {agreed} of {rows} rows, {pairs_agreed} of {pairs} pairs agree; {skipped} rows skipped"
        );
    }
    println!(
        "{} joints decided; {:.1} % of the fillers looked at serve",
        decided.len(),
        100.0 * serving as f64 / looked_at as f64
    );

    let mut problems = Vec::new();
    for (row, fault) in disagreed.iter().filter(|(row, _)| row.is_sure()) {
        if !DISAGREE.iter().any(|(id, _)| *id == row.id) {
            problems.push(format!("{} disagrees and is not listed: {fault}", row.id));
        }
    }
    for (id, _) in DISAGREE.iter().filter(|_| of == 1) {
        if !disagreed.iter().any(|(row, _)| row.id == *id && row.is_sure()) {
            problems
                .push(format!("{id} is listed as disagreeing and does not disagree: take it off the list"));
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
    assert!(sure.agreed >= ROWS_AGREED / of, "{} sure rows agree, fewer than {ROWS_AGREED}", sure.agreed);
    assert!(
        of > 1 || sure.pairs_agreed >= PAIRS_AGREED,
        "{} sure pairs agree, fewer than {PAIRS_AGREED}",
        sure.pairs_agreed
    );
    assert!(
        sure.agreed * 100 >= sure.rows * if of == 1 { 95 } else { 85 },
        "only {} of {} sure rows agree",
        sure.agreed,
        sure.rows
    );
}
