//! One finding by itself, on a terminal.

use super::colour::{Ink, paint};
use super::page::Page;
use crate::explain::ItemView;

/// Lays out a finding with what it rests on and what rests on it.
pub fn item(view: &ItemView, width: usize) -> String {
    let mut page = Page::new(width);
    page.indented(0, &format!("{}:{}", view.file, view.line), Ink::Faint);
    for line in view.text.lines() {
        page.verbatim(&coloured(line));
    }
    if !view.values.is_empty() {
        page.gap();
        page.indented(0, "Values", Ink::Heading);
        view.values.iter().for_each(|value| page.paragraph("  ", "    ", value, Ink::Plain));
    }
    page.gap();
    page.indented(0, "Rests on", Ink::Heading);
    for source in &view.rests_on {
        page.paragraph("  ", "    ", &format!("{}: {}", source.relation, few(&source.from)), Ink::Plain);
    }
    page.gap();
    page.indented(0, "Rests on it", Ink::Heading);
    let carries = if view.carries.is_empty() { "nothing".to_owned() } else { few(&view.carries) };
    page.paragraph("  ", "    ", &carries, Ink::Plain);
    page.gap();
    page.indented(0, "Reached by these expectations", Ink::Heading);
    if view.reached_by.is_empty() {
        page.indented(2, "none: a wrong edit of it would pass unnoticed", Ink::Bad);
    }
    view.reached_by.iter().take(FEW).for_each(|name| page.paragraph("  - ", "    ", name, Ink::Plain));
    if view.reached_by.len() > FEW {
        page.indented(2, &format!("and {} more", view.reached_by.len() - FEW), Ink::Faint);
    }
    page.finish()
}

/// Names of a list that are shown.
const FEW: usize = 12;

fn few(names: &[String]) -> String {
    match names.len() {
        0..=FEW => names.join(", "),
        all => format!("{}, and {} more", names[..FEW].join(", "), all - FEW),
    }
}

/// A line of rules: its first word as a heading, remarks and authorities faint.
fn coloured(line: &str) -> String {
    let indent = line.len() - line.trim_start().len();
    let words = &line[indent..];
    let end = words.find(char::is_whitespace).unwrap_or(words.len());
    let (first, rest) = words.split_at(end);
    let ink = if first.starts_with("--") || first == "cite" { Ink::Faint } else { Ink::Plain };
    let head = if ink == Ink::Faint { ink } else { Ink::Heading };
    format!("{}{}{}", &line[..indent], paint(first, head), paint(rest, ink))
}
