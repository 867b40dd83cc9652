//! Two fillers beside each other on a terminal: sentences in two columns, numbers in a table.

use super::answer::Length;
use super::colour::Ink;
use super::page::Page;
use crate::explain::{Better, Contrast, Difference, Numbers, OneSided};
use crate::verdict::Verdict;

/// Lays out a contrast.
pub fn contrast(contrast: &Contrast, length: Length, width: usize) -> String {
    let mut page = Page::new(width);
    if length == Length::Brief {
        page.indented(0, &contrast.brief, Ink::Plain);
        return page.finish();
    }
    let full = matches!(length, Length::Full(_));
    let ink = if contrast.better == Better::Open { Ink::Waiting } else { Ink::Heading };
    page.indented(0, &contrast.lead, ink);
    for difference in &contrast.differences {
        let decides = contrast.decisive.as_ref() == Some(&difference.criterion);
        page.gap();
        let tail = if decides { ", which decides" } else { "" };
        page.indented(0, &format!("On {}{tail}", difference.criterion), Ink::Heading);
        difference_at(&mut page, contrast, difference, decides, full);
    }
    page.gap();
    alike(&mut page, contrast, full);
    page.finish()
}

/// Beside what decides, a glance at the numbers is enough unless everything is wanted.
const GLANCE: usize = 2;

fn difference_at(page: &mut Page, contrast: &Contrast, difference: &Difference, decides: bool, full: bool) {
    let column = |at: usize| {
        let side = &difference.sides[at];
        let says = side.says.clone().unwrap_or_default();
        [format!("{}: {}", contrast.fillers[at], side.standing), says]
    };
    let [first, second] = [column(0), column(1)];
    page.beside(2, [&first, &second]);
    let rows = if decides || full { difference.numbers.len() } else { difference.numbers.len().min(GLANCE) };
    table(page, contrast, &difference.numbers[..rows]);
    if decides || full {
        difference.only.iter().for_each(|side| one_sided(page, contrast, side, full));
    }
}

fn table(page: &mut Page, contrast: &Contrast, numbers: &[Numbers]) {
    if numbers.is_empty() {
        return;
    }
    page.gap();
    let limits = |row: &Numbers| row.limits.join(", ");
    let mut rows =
        vec![[String::new(), contrast.fillers[0].clone(), contrast.fillers[1].clone(), "limit".to_owned()]];
    rows.extend(numbers.iter().map(|row| {
        let [first, second] = row.values.clone();
        [row.what.clone(), first, second, limits(row)]
    }));
    if numbers.iter().all(|row| row.limits.is_empty()) {
        rows[0][3].clear();
    }
    page.columns(2, &rows);
}

fn one_sided(page: &mut Page, contrast: &Contrast, side: &OneSided, full: bool) {
    let other = if side.filler == contrast.fillers[0] { &contrast.fillers[1] } else { &contrast.fillers[0] };
    let lacks = if side.other_lacks.is_empty() {
        "that waits on an answer".to_owned()
    } else {
        side.other_lacks[..if full { side.other_lacks.len() } else { 1 }].join("; ")
    };
    page.gap();
    let text = format!("{} applies to {} alone. With {other}: {lacks}", side.finding, side.filler);
    page.paragraph("  ", "    ", &text, Ink::Plain);
    if full {
        page.indented(4, &side.says, Ink::Plain);
    }
    let place = if full { format!("{}:{} · ", side.file, side.line) } else { String::new() };
    page.indented(4, &format!("[{place}source: {}]", side.cite), Ink::Faint);
}

fn alike(page: &mut Page, contrast: &Contrast, full: bool) {
    let all_barred = contrast.verdicts == [Verdict::Barred; 2];
    if contrast.differences.is_empty() && !all_barred {
        page.indented(0, "No criterion tells them apart.", Ink::Plain);
    }
    let list = |page: &mut Page, opening: &str, criteria: &[String], ink: Ink| {
        if !criteria.is_empty() {
            page.paragraph(
                "",
                "  ",
                &format!("{opening} ({}): {}.", criteria.len(), criteria.join(", ")),
                ink,
            );
        }
    };
    list(page, "Equal", &contrast.equal, Ink::Plain);
    list(page, "Both wait on an answer", &contrast.waiting, Ink::Waiting);
    let shared: usize = contrast.differences.iter().map(|difference| difference.shared).sum();
    if shared > 0 && full {
        let plural = if shared == 1 { " applies" } else { "s apply" };
        page.indented(0, &format!("Left out: {shared} finding{plural} to both."), Ink::Faint);
    }
}
