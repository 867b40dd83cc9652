//! The authorities of a rulebook, as a page in Markdown.

use super::colour::Ink;
use super::page::Page;
use crate::explain::{SourceList, Use, Work};

/// Columns of the page, which is a file.
const WIDTH: usize = 120;

const HEAD: &str = "Whatever the rules say of metal they say on somebody's word, and there are three kinds of it. A source \
that was seen: whoever wrote the line had the text, or a copy of the figure, in front of them. A source from memory: it was \
recalled, and nobody has held the line against the text; verify such a figure against the source before relying on it. \
Common practice: known throughout the trade, without one source that could be named.";

const MADE: &str = "This page is made from the `cite` lines of the rules by `whyrod rulebook sources`. Change it there, not \
here.";

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// What of one file rests on an authority, in a line.
fn used(usage: &Use) -> String {
    let code = |name: &String| format!("`{name}`");
    let list = |one: &str, many: &str, names: Vec<String>| match names.len() {
        0 => None,
        1 => Some(format!("{one} {}", names[0])),
        _ => Some(format!("{many} {}", names.join(", "))),
    };
    let rows = |(name, rows): (&String, &usize)| format!("`{name}` ({})", counted(*rows, "row", "rows"));
    let parts = [
        list("finding", "findings", usage.findings.iter().map(code).collect()),
        list("table", "tables", usage.tables.iter().map(rows).collect()),
        list("value", "values", usage.values.iter().map(code).collect()),
        list("curve", "curves", usage.curves.iter().map(code).collect()),
        list("computed", "computed", usage.computed.iter().map(code).collect()),
        (usage.expectations > 0).then(|| counted(usage.expectations, "expectation", "expectations")),
    ];
    format!("{}: {}", usage.file, parts.into_iter().flatten().collect::<Vec<_>>().join("; "))
}

fn uses(page: &mut Page, uses: &[Use], columns: usize) {
    let margin = " ".repeat(columns);
    for usage in uses {
        page.paragraph(&format!("{margin}- "), &format!("{margin}  "), &used(usage), Ink::Plain);
    }
}

fn works(page: &mut Page, title: &str, works: &[Work]) {
    page.gap();
    page.verbatim(&format!("## {title}"));
    for work in works {
        page.gap();
        page.verbatim(&format!("### {}", if work.name.is_empty() { "No work is named" } else { &work.name }));
        page.gap();
        for clause in &work.clauses {
            if clause.text.is_empty() {
                uses(page, &clause.uses, 0);
            } else {
                page.paragraph("- ", "  ", &clause.text, Ink::Plain);
                uses(page, &clause.uses, 2);
            }
        }
    }
}

/// Lays out the authorities of a rulebook.
pub fn sources(list: &SourceList) -> String {
    let mut page = Page::new(WIDTH);
    page.verbatim("# What the rules rest on");
    page.gap();
    page.indented(0, HEAD, Ink::Plain);
    page.gap();
    page.indented(0, MADE, Ink::Plain);
    works(&mut page, "Sources that were seen", &list.seen);
    works(&mut page, "Sources from memory", &list.from_memory);
    page.gap();
    page.verbatim("## Common practice");
    page.gap();
    uses(&mut page, &list.common_practice, 0);
    page.finish()
}
