//! A rulebook looked over, on a terminal.

use super::colour::Ink;
use super::page::Page;
use crate::explain::{Known, Review};

/// How many findings without an expectation are named unless all are asked for.
const FEW: usize = 10;

fn word(known: Known) -> &'static str {
    match known {
        Known::Seen => "a source that was seen",
        Known::FromMemory => "a source from memory",
        Known::CommonPractice => "common practice",
        Known::Nobody => "nobody",
    }
}

/// Lays out a review; `all` names every finding that no expectation reaches.
pub fn review(review: &Review, width: usize, all: bool) -> String {
    let mut page = Page::new(width);
    let counts = format!(
        "{} findings, {} relations, {} facts in tables, {} curves: no mistakes.",
        review.findings, review.relations, review.table_facts, review.curves
    );
    let holes = &review.holes;
    page.indented(0, &counts, Ink::Plain);
    let (failed, all_told) = (review.failed().count(), review.expectations.len());
    page.indented(0, &format!("{} of {all_told} expectations hold.", all_told - failed), Ink::Plain);
    for expectation in review.failed() {
        page.gap();
        let place = format!("{} ({}:{})", expectation.name, expectation.file, expectation.line);
        page.indented(0, &place, Ink::Plain);
        expectation.failures.iter().for_each(|failure| page.indented(2, failure, Ink::Plain));
    }
    if !holes.is_empty() {
        page.gap();
        let count = if holes.len() == 1 { "One hole".to_owned() } else { format!("{} holes", holes.len()) };
        page.indented(0, &format!("{count} that a job may fall into:"), Ink::Bad);
        let shown = if all { holes.len() } else { holes.len().min(FEW) };
        for hole in &holes[..shown] {
            let place = hole.place.as_ref().map_or(String::new(), |(file, line)| format!(" ({file}:{line})"));
            page.paragraph("  ", "    ", &format!("{}{place}", hole.says), Ink::Plain);
        }
        if shown < holes.len() {
            page.indented(2, &format!("and {} more, which --all names", holes.len() - shown), Ink::Faint);
        }
    }
    if !review.undeclared.is_empty() {
        page.gap();
        page.indented(0, "Not declared here, and known to the program; without it there is no:", Ink::Plain);
        for missing in &review.undeclared {
            page.paragraph("  ", "    ", &format!("{}: {}", missing.relation, missing.lost), Ink::Plain);
        }
    }
    page.gap();
    let row = |name: &str, cells: [&str; 4]| {
        let [findings, table_facts, curves, computed] = cells;
        format!("{name:<26}{findings:>9}{table_facts:>13}{curves:>8}{computed:>10}")
    };
    page.indented(0, &row("On whose word", ["findings", "table facts", "curves", "computed"]), Ink::Heading);
    for authority in &review.authority {
        let cells = [authority.findings, authority.table_facts, authority.curves, authority.computed];
        let cells = cells.map(|count| count.to_string());
        page.verbatim(&row(&format!("  {}", word(authority.known)), cells.each_ref().map(String::as_str)));
    }
    page.indented(2, "what names several counts once, by the strongest", Ink::Faint);
    page.gap();
    let unreached = &review.unreached;
    if unreached.is_empty() {
        page.indented(0, "Every finding is reached by an expectation.", Ink::Plain);
        return page.finish();
    }
    let count = format!("{} of {} findings are reached by no expectation:", unreached.len(), review.findings);
    page.indented(0, &count, Ink::Plain);
    let shown = if all || unreached.len() <= FEW + 1 { unreached.len() } else { FEW };
    for place in &unreached[..shown] {
        page.indented(2, &format!("{}:{}  {}", place.file, place.line, place.name), Ink::Plain);
    }
    if shown < unreached.len() {
        let rest = format!("and {} more, which --all names", unreached.len() - shown);
        page.indented(2, &rest, Ink::Faint);
    }
    page.finish()
}
