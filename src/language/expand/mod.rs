//! What the language lets a writer say once, written out: meanings, ladders, choices in patterns, backgrounds and rows of
//! expectations become relations, findings and expectations of the plain kind. Names and types are resolved afterwards, by the
//! checker.

mod choices;
mod expectations;
mod ladder;
mod meaning;
mod used_once;
mod ways;

use super::diagnostic::Diagnostic;
use super::tree::*;
use crate::quantity::{Quantity, parse_quantity};
use std::collections::{HashMap, HashSet};

/// Writes out the items of all files together.
pub(super) fn expand(items: Vec<Item>, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    let (words, values) = (words(&items), values(&items));
    let carried = items.iter().filter_map(|item| match item {
        Item::Words { name, carried: true, .. } => Some(name.clone()),
        _ => None,
    });
    let carried = carried.collect();
    let mut expander =
        Expander { words, carried, values, diagnostics, plain: Vec::new(), meanings: HashMap::new() };
    let (backgrounds, items): (Vec<Item>, Vec<Item>) =
        items.into_iter().partition(|item| matches!(item, Item::Background(_)));
    let backgrounds = expander.backgrounds(backgrounds);
    for item in items {
        match item {
            Item::Meaning(meaning) => expander.meaning(meaning),
            Item::Ladder(ladder) => expander.ladder(ladder),
            Item::Finding(finding) => expander.finding(finding),
            Item::Expectation(expectation) => expander.expectation(expectation, &backgrounds),
            other => expander.plain.push(other),
        }
    }
    expander.plain
}

/// Every word of every list: what has the shape of a variable and is a word is that word.
fn words(items: &[Item]) -> HashSet<String> {
    let lists = items.iter().flat_map(|item| match item {
        Item::Words { words, .. } | Item::More { words, .. } => words.as_slice(),
        _ => &[],
    });
    lists.map(|word| word.text.clone()).collect()
}

/// The figures that have names.
fn values(items: &[Item]) -> HashMap<String, Quantity> {
    let rows = items.iter().flat_map(|item| match item {
        Item::Values { rows, .. } => rows.as_slice(),
        _ => &[],
    });
    rows.filter_map(|row| Some((row.name.text.clone(), figure(&row.value)?))).collect()
}

/// The quantity of a formula that is one figure.
fn figure(formula: &ExpressionItem) -> Option<Quantity> {
    match formula {
        ExpressionItem::Number { number, unit, .. } => {
            let text = unit.as_ref().map_or(number.clone(), |unit| format!("{number} {unit}"));
            parse_quantity(&text, None).ok()
        }
        _ => None,
    }
}

struct Expander<'d> {
    words: HashSet<String>,
    /// Lists of which all premises mean the same word.
    carried: Vec<Written>,
    values: HashMap<String, Quantity>,
    diagnostics: &'d mut Vec<Diagnostic>,
    /// What has been written out.
    plain: Vec<Item>,
    /// How many meanings fill each relation so far.
    meanings: HashMap<String, usize>,
}

impl Expander<'_> {
    fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Takes over a finding, with its choices written out.
    fn finding(&mut self, mut finding: FindingItem) {
        finding.clauses = self.without_choices(finding.clauses);
        self.plain.push(Item::Finding(finding));
    }

    /// Whether a term stands for a variable.
    fn is_variable(&self, written: &Written) -> bool {
        let text = written.text.as_str();
        !written.quoted
            && text.starts_with(|c: char| c.is_ascii_uppercase())
            && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
            && (text.len() == 1 || !self.words.contains(text))
    }
}
