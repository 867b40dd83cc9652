//! What became of a record's check, as a page: how much was checked, or what does not hold.

use super::colour::Ink;
use super::page::Page;
use crate::verify::{CheckCounts, Checked, HowDifferent, Problem};

/// Longer texts of a problem are cut.
const LONGEST: usize = 400;

/// The page; of the problems so many at most. `about` says what the record is of.
pub fn checked(checked: &Checked, about: &str, width: usize, most: usize) -> String {
    let mut page = Page::new(width);
    // Whatever the name of the job says, only what the check says begins a line.
    page.paragraph("", "  ", about, Ink::Heading);
    page.gap();
    for remark in &checked.remarks {
        page.indented(0, &format!("Note: {remark}."), Ink::Waiting);
    }
    page.gap();
    if checked.holds {
        page.indented(0, "The record holds.", Ink::Good);
        counts(&mut page, &checked.counts);
        whose(&mut page, checked, most);
        return page.finish();
    }
    let count = checked.problems.len();
    let things =
        if count == 1 { "One thing does not fit".to_owned() } else { format!("{count} things do not fit") };
    page.indented(0, &format!("The record does not hold. {things}:"), Ink::Bad);
    for problem in checked.problems.iter().take(most) {
        page.gap();
        problem_lines(&mut page, problem);
    }
    if count > most {
        page.gap();
        page.indented(0, &format!("{} more; --all names them.", count - most), Ink::Plain);
    }
    whose(&mut page, checked, most);
    page.finish()
}

/// Whose rules these are: what differs from the usual ones, and what rests on it.
fn whose(page: &mut Page, checked: &Checked, most: usize) {
    let rules = &checked.rules;
    page.gap();
    if rules.are_usual() {
        let text = format!("By the same rules as {}: {}", rules.called, rules.recorded);
        page.paragraph("", "  ", &text, Ink::Plain);
        return;
    }
    page.paragraph("", "  ", &format!("By other rules than {}.", rules.called), Ink::Waiting);
    page.paragraph("  the record's: ", "    ", &rules.recorded, Ink::Plain);
    page.paragraph("  the other: ", "    ", &rules.usual, Ink::Plain);
    let verdicts = checked.counts.verdicts;
    let text = format!(
        "{} of {verdicts} verdicts rest on what differs, and {} more on the absence of what that could yield.",
        rules.verdicts, rules.verdicts_by_absence
    );
    page.indented(2, &text, Ink::Plain);
    let differs = |how: HowDifferent| match how {
        HowDifferent::Added => "only in the record",
        HowDifferent::Missing => "missing in the record",
        HowDifferent::Changed => "different",
    };
    let listed = |how: HowDifferent| {
        let files = rules.files.iter().filter(|file| file.how == how);
        files.map(|file| file.file.as_str()).collect::<Vec<_>>().join(", ")
    };
    for how in [HowDifferent::Changed, HowDifferent::Added, HowDifferent::Missing] {
        let files = listed(how);
        if !files.is_empty() {
            page.paragraph("  ", "    ", &format!("Files {}: {files}", differs(how)), Ink::Plain);
        }
    }
    for item in rules.items.iter().take(most) {
        let text = format!("{}, {} [{}]", item.item, differs(item.how), item.place);
        page.paragraph("  ", "    ", &text, Ink::Heading);
        if item.how == HowDifferent::Changed {
            item.usual.iter().for_each(|line| page.paragraph("    usual: ", "      ", line, Ink::Plain));
            item.recorded.iter().for_each(|line| page.paragraph("    here: ", "      ", line, Ink::Plain));
        }
    }
    if rules.items.len() > most {
        let text = format!("{} more items; --all names them.", rules.items.len() - most);
        page.indented(2, &text, Ink::Plain);
    }
}

fn counts(page: &mut Page, counts: &CheckCounts) {
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

fn problem_lines(page: &mut Page, problem: &Problem) {
    let short = |text: &str| match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    };
    let place = problem.place.as_ref().map_or(String::new(), |place| format!(" [{place}]"));
    page.paragraph("  ", "    ", &format!("{}{place}", short(&problem.about)), Ink::Heading);
    page.paragraph("    expected: ", "      ", &short(&problem.expected), Ink::Plain);
    page.paragraph("    found: ", "      ", &short(&problem.found), Ink::Plain);
}
