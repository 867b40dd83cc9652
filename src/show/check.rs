//! What became of a record's check, as a page: how much was checked, or what does not hold.

use super::colour::Ink;
use super::page::Page;
use crate::verify::{Checked, Counts, Problem};

/// Longer texts of a problem are cut.
const LONGEST: usize = 400;

/// The page; of the problems so many at most. `about` says what the record is of.
pub fn checked(checked: &Checked, about: &str, width: usize, most: usize) -> String {
    let mut page = Page::new(width);
    page.indented(0, about, Ink::Heading);
    page.gap();
    for remark in &checked.remarks {
        page.indented(0, &format!("Note: {remark}."), Ink::Waiting);
    }
    page.gap();
    if checked.holds {
        page.indented(0, "The record holds.", Ink::Good);
        counts(&mut page, &checked.counts);
        return page.finish();
    }
    let count = checked.problems.len();
    let told =
        if count == 1 { "One thing does not fit".to_owned() } else { format!("{count} things do not fit") };
    page.indented(0, &format!("The record does not hold. {told}:"), Ink::Bad);
    for problem in checked.problems.iter().take(most) {
        page.gap();
        tell(&mut page, problem);
    }
    if count > most {
        page.gap();
        page.indented(0, &format!("{} more; --all names them.", count - most), Ink::Plain);
    }
    page.finish()
}

fn counts(page: &mut Page, counts: &Counts) {
    let many =
        |count: usize, one: &str, more: &str| format!("{count} {}", if count == 1 { one } else { more });
    let premises = &counts.premises;
    let lines = [
        format!(
            "{} and {}; each follows from its grounds, none is missing, none rests on itself",
            many(counts.known, "known fact", "known facts"),
            many(counts.open, "open one", "open ones"),
        ),
        format!(
            "{}, {}, {}",
            many(counts.stated, "statement of the job", "statements of the job"),
            many(counts.rows, "row of a table", "rows of tables"),
            many(counts.unanswered, "question without an answer", "questions without an answer"),
        ),
        format!(
            "{} of findings: {}, {}, {}, {}, {}",
            many(counts.applications, "application", "applications"),
            many(premises.given, "fact given", "facts given"),
            many(premises.unless, "absence", "absences"),
            many(premises.values, "value", "values"),
            many(premises.aggregates, "number over many facts", "numbers over many facts"),
            many(premises.conditions, "condition", "conditions"),
        ),
        many(counts.computed, "fact computed again", "facts computed again"),
        many(counts.verdicts, "verdict collected again", "verdicts collected again"),
    ];
    for line in lines {
        page.paragraph("  ", "    ", &line, Ink::Plain);
    }
}

fn tell(page: &mut Page, problem: &Problem) {
    let short = |text: &str| match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    };
    let place = problem.place.as_ref().map_or(String::new(), |place| format!(" [{place}]"));
    page.paragraph("  ", "    ", &format!("{}{place}", short(&problem.about)), Ink::Heading);
    page.paragraph("    expected: ", "      ", &short(&problem.expected), Ink::Plain);
    page.paragraph("    found: ", "      ", &short(&problem.found), Ink::Plain);
}
