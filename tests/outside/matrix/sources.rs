//! What sources say of pairs of base alloys: whether they are welded to each other at all. No tests live here.
//!
//! - Welded are pairs for which `tests/outside/data/selection.csv` has a sure row that names a filler; not welded those for which it
//!   has one that does not recommend the pair, or that `tests/outside/data/not-fusion-welded.csv` has. Sure rows are those read with
//!   high confidence, and those recalled with high confidence (memory-high: from memory).
//! - A side is a list of alloys, a family by the first digit of wrought alloys, `Al-Si castings` (families silicon and
//!   silicon magnesium), `Al-Mg castings` (family magnesium), or `any`. Rows with other sides speak of no pair.
//! - That an alloy is not welded at all outweighs what is said of its family. Where sources contradict each other otherwise,
//!   the pair is disputed: shown, and held to nothing.

use super::run::{Alloy, Pair};
use crate::support::comma_separated::cells;
use crate::support::program::library::reader;
use std::collections::{BTreeMap, BTreeSet};

/// What sources say of a pair.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Said {
    Welded,
    NotWelded,
    Disputed,
    Nothing,
}

/// Alloys by their places in the list; nothing where a part of the side is written in no way that is read here.
pub fn side(written: &str, alloys: &[Alloy]) -> Option<BTreeSet<usize>> {
    let mut found = BTreeSet::new();
    for part in written.split('|') {
        let is_of_it = |alloy: &Alloy| match part {
            "any" => true,
            "Al-Si castings" => alloy.is_cast() && ["silicon", "silicon magnesium"].contains(&&*alloy.family),
            "Al-Mg castings" => alloy.is_cast() && alloy.family == "magnesium",
            _ if is_series(part) => !alloy.is_cast() && alloy.name.starts_with(&part[..1]),
            _ => reader().alloy_named(part).is_some_and(|named| *named == *alloy.name),
        };
        let those: Vec<usize> =
            alloys.iter().enumerate().filter(|(_, alloy)| is_of_it(alloy)).map(|(at, _)| at).collect();
        // An alloy that the rulebook does not know is left out of a list; other words are not read.
        if those.is_empty() && !is_series(part) && !part.chars().any(|c| c.is_ascii_digit()) {
            return None;
        }
        if part.contains("xxx") && !is_series(part) || part.contains('%') {
            return None;
        }
        found.extend(those);
    }
    Some(found)
}

fn is_series(written: &str) -> bool {
    written.len() == 4 && written.ends_with("xxx")
}

/// All pairs of one from either side.
pub fn across(first: &BTreeSet<usize>, second: &BTreeSet<usize>) -> BTreeSet<Pair> {
    let ordered = |a: usize, b: usize| (a.min(b), a.max(b));
    first.iter().flat_map(|a| second.iter().map(move |b| ordered(*a, *b))).collect()
}

/// The rows that speak of each pair, by what they say.
#[derive(Default)]
pub struct Sources {
    welded: BTreeMap<Pair, Vec<String>>,
    not_welded: BTreeMap<Pair, Vec<String>>,
    /// Pairs that a row on welding names alloy by alloy, not by families.
    welded_by_name: BTreeSet<Pair>,
    /// Alloys that are not welded to anything.
    never: BTreeSet<usize>,
    /// Rows read, and sure rows whose sides are not read.
    pub rows: usize,
    pub skipped: Vec<String>,
}

impl Sources {
    pub fn read(alloys: &[Alloy]) -> Self {
        let mut sources = Sources::default();
        for line in include_str!("../data/selection.csv").lines().skip(1) {
            let cells = cells(line);
            let [id, first, second, recommended, excluded, .., confidence] = &cells[..] else {
                panic!("too few cells in {line}")
            };
            let never = recommended.is_empty() && excluded.starts_with("any");
            // What holds whatever the alloys speaks of no pair.
            let of_pairs = ![first, second].iter().any(|side| side.starts_with("any"));
            if of_pairs && confidence.ends_with("high") && (never || !recommended.is_empty()) {
                sources.take(id, [first, second], never, alloys);
            }
        }
        for line in include_str!("../data/not-fusion-welded.csv").lines().skip(1) {
            let cells = cells(line);
            let [id, first, second, _, _, _, how, confidence] = &cells[..] else {
                panic!("eight cells: {line}")
            };
            assert_eq!(how.starts_with("memory"), confidence.starts_with("memory"), "{id}");
            if confidence.ends_with("high") {
                if second == "any" {
                    sources.never.extend(side(first, alloys).expect("a list of alloys"));
                }
                sources.take(id, [first, second], true, alloys);
            }
        }
        sources
    }

    fn take(&mut self, id: &str, sides: [&str; 2], never: bool, alloys: &[Alloy]) {
        let read = sides.map(|written| side(written, alloys));
        let [Some(first), Some(second)] = read else {
            self.skipped.push(id.to_owned());
            return;
        };
        self.rows += 1;
        let by_name = !sides.iter().any(|written| written.contains("xxx") || written.contains("castings"));
        // A row on a list speaks of all pairs of its alloys.
        for pair in across(&first, &second) {
            let said = if never { &mut self.not_welded } else { &mut self.welded };
            said.entry(pair).or_default().push(id.to_owned());
            if by_name && !never {
                self.welded_by_name.insert(pair);
            }
        }
    }

    /// What is said of a pair.
    pub fn of(&self, pair: Pair) -> Said {
        if [pair.0, pair.1].iter().any(|side| self.never.contains(side)) {
            let contradicted = self.welded_by_name.contains(&pair);
            return if contradicted { Said::Disputed } else { Said::NotWelded };
        }
        match (self.welded.contains_key(&pair), self.not_welded.contains_key(&pair)) {
            (true, true) => Said::Disputed,
            (true, false) => Said::Welded,
            (false, true) => Said::NotWelded,
            (false, false) => Said::Nothing,
        }
    }

    /// The rows that say so.
    pub fn rows_on(&self, pair: Pair) -> Vec<&str> {
        let rows = [&self.welded, &self.not_welded].into_iter().filter_map(|said| said.get(&pair));
        rows.flatten().map(String::as_str).collect()
    }
}
