//! Expectations written out: backgrounds put in, each row a check of its own, several names in one claim.

use super::super::diagnostic::Diagnostic;
use super::super::rulebook::Claim;
use super::super::tree::*;
use super::Expander;
use crate::quantity::Unit;
use std::collections::HashMap;

/// Backgrounds by name.
pub(super) type Backgrounds = HashMap<String, BackgroundItem>;

impl Expander<'_> {
    pub(super) fn backgrounds(&mut self, items: Vec<Item>) -> Backgrounds {
        let mut backgrounds = Backgrounds::new();
        for item in items {
            let Item::Background(item) = item else { continue };
            let name = item.name.clone();
            if let Some(first) = backgrounds.insert(name.text.clone(), item) {
                let message = format!("background \"{}\" is defined twice", name.text);
                let diagnostic = Diagnostic::new(name.span, message, "again here");
                self.report(
                    diagnostic.also(first.name.span, "first here").help("give one of them another name"),
                );
            }
        }
        backgrounds
    }

    pub(super) fn expectation(&mut self, item: ExpectationItem, backgrounds: &Backgrounds) {
        for (note, variables) in self.rows(&item) {
            let put = |pattern: &PatternItem| with(pattern, &variables);
            let (mut background, mut own) = (Vec::new(), Vec::new());
            for pattern in &item.assume {
                self.assume(&put(pattern), backgrounds, 0, &mut background, &mut own);
            }
            let mut claims = Vec::new();
            for (claim, pattern) in &item.claims {
                let each = self.each(put(pattern), *claim != Claim::Never);
                claims.extend(each.into_iter().map(|pattern| (*claim, pattern)));
            }
            let count = background.len();
            background.append(&mut own);
            let mut name = item.name.clone();
            if !note.is_empty() {
                name.text = format!("{} ({note})", name.text);
            }
            self.plain.push(Item::Expectation(ExpectationItem {
                name,
                cites: item.cites.clone(),
                assume: background,
                background: count,
                claims,
                rows: Vec::new(),
            }));
        }
    }

    /// What is assumed, with backgrounds in the place of their names.
    fn assume(
        &mut self,
        pattern: &PatternItem,
        backgrounds: &Backgrounds,
        deep: usize,
        background: &mut Vec<PatternItem>,
        own: &mut Vec<PatternItem>,
    ) {
        let Some(named) = backgrounds.get(&pattern.name.text) else {
            let each = self.each(pattern.clone(), true);
            return if deep == 0 { own.extend(each) } else { background.extend(each) };
        };
        if deep > backgrounds.len() {
            let message = format!("background \"{}\" takes in itself", named.name.text);
            return self.report(Diagnostic::new(named.name.span, message, "this one"));
        }
        if named.variables.len() != pattern.arguments.len() {
            let count = named.variables.len();
            let message = format!(
                "background \"{}\" takes {count} name{}",
                named.name.text,
                if count == 1 { "" } else { "s" }
            );
            let label = format!("{} given", pattern.arguments.len());
            return self.report(
                Diagnostic::new(pattern.span, message, label).also(named.name.span, "declared here"),
            );
        }
        let variables: Vec<(String, Written)> = named
            .variables
            .iter()
            .zip(&pattern.arguments)
            .map(|(variable, (_, written))| (variable.text.clone(), written.clone()))
            .collect();
        for inner in &named.assume {
            self.assume(&with(inner, &variables), backgrounds, deep + 1, background, own);
        }
    }

    /// For each row what it is called and which word stands for which variable; one row without any where there are none.
    fn rows(&mut self, item: &ExpectationItem) -> Vec<(String, Vec<(String, Written)>)> {
        let Some((names, lines)) = item.rows.split_first() else { return vec![(String::new(), Vec::new())] };
        let wrong: Vec<&Written> = names.iter().filter(|name| !self.is_variable(name)).collect();
        for name in wrong {
            let message = format!("\"{}\" is no variable", name.text);
            let diagnostic = Diagnostic::new(name.span, message, "here");
            self.report(
                diagnostic.help("the first line under `rows` names the columns, each with a capital letter"),
            );
        }
        let mut rows = Vec::new();
        for line in lines {
            let cells = with_units(line);
            if cells.len() != names.len() {
                let message = format!("this row has {} cells for {} names", cells.len(), names.len());
                self.report(Diagnostic::new(line[0].span, message, "in this row"));
                continue;
            }
            let note: Vec<String> =
                names.iter().zip(&cells).map(|(name, cell)| format!("{} {}", name.text, cell.text)).collect();
            let words = names.iter().zip(cells).map(|(name, cell)| (name.text.clone(), cell));
            rows.push((note.join(", "), words.collect()));
        }
        rows
    }
}

/// The words of a line, with each figure's unit joined to it.
fn with_units(line: &[Written]) -> Vec<Written> {
    let mut cells: Vec<Written> = Vec::new();
    for word in line {
        match cells.last_mut() {
            Some(last)
                if !word.quoted
                    && !last.quoted
                    && last.text.ends_with(|c: char| c.is_ascii_digit() || c == '.')
                    && Unit::lookup(&word.text).is_some() =>
            {
                last.text = format!("{} {}", last.text, word.text);
                last.span.end = word.span.end;
            }
            _ => cells.push(word.clone()),
        }
    }
    cells
}

/// A pattern with words in the place of variables.
fn with(pattern: &PatternItem, variables: &[(String, Written)]) -> PatternItem {
    let mut pattern = pattern.clone();
    let put = |written: &mut Written| {
        let found = variables.iter().find(|(name, _)| !written.quoted && *name == written.text);
        if let Some((_, word)) = found {
            // The place stays, so that a message points to the line that does not fit.
            written.text.clone_from(&word.text);
            written.quoted = word.quoted;
        }
    };
    pattern.arguments.iter_mut().for_each(|(_, written)| put(written));
    pattern.choices.iter_mut().flat_map(|choice| &mut choice.others).for_each(put);
    pattern
}
