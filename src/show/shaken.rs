//! What a rulebook's expectations do not notice, on a terminal.

use super::colour::Ink;
use super::page::Page;
use crate::compare::{Shaken, Unnoticed};

/// Edits that are named unless all are asked for.
const FEW: usize = 10;

/// Lays out what came of shaking a rulebook; `all` names every edit that nobody noticed.
pub fn shaken(shaken: &Shaken, width: usize, all: bool) -> String {
    let mut page = Page::new(width);
    let (findings, missed) = (shaken.findings, shaken.unnoticed_findings.len());
    let line =
        format!("{findings} findings left out, one at a time: {} noticed, {missed} not.", findings - missed);
    page.indented(0, &line, Ink::Heading);
    list(&mut page, &shaken.unnoticed_findings, all);
    page.gap();
    let (moves, missed) = (2 * shaken.figures, shaken.unnoticed_moves.len());
    let line = format!(
        "{} figures moved by {} %, up and down: {} of {moves} moves noticed, {missed} not.",
        shaken.figures,
        shaken.share * 100.0,
        moves - missed
    );
    page.indented(0, &line, Ink::Heading);
    list(&mut page, &shaken.unnoticed_moves, all);
    page.finish()
}

fn list(page: &mut Page, edits: &[Unnoticed], all: bool) {
    let shown = if all || edits.len() <= FEW + 1 { edits.len() } else { FEW };
    for edit in &edits[..shown] {
        page.paragraph("  ", "    ", &format!("{}:{}  {}", edit.file, edit.line, edit.what), Ink::Plain);
    }
    if shown < edits.len() {
        page.indented(2, &format!("and {} more, which --all names", edits.len() - shown), Ink::Faint);
    }
}
