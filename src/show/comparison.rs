//! Two rulebooks held against each other, on a terminal.

use super::colour::Ink;
use super::page::Page;
use crate::compare::{Comparison, Example, Group, Moved};

/// Groups that are shown unless all are asked for.
const FEW: usize = 8;

/// Moves of recommendations that are shown.
const MOVES: usize = 6;

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Lays out a comparison; `all` shows every group.
pub fn comparison(comparison: &Comparison, width: usize, all: bool) -> String {
    let mut page = Page::new(width);
    let changed = &comparison.reach.changed;
    if changed.is_empty() {
        page.indented(0, "The two rulebooks say the same, relation by relation.", Ink::Plain);
        if comparison.tried.jobs == 0 {
            return page.finish();
        }
    } else {
        let names: Vec<&str> = changed.iter().map(String::as_str).collect();
        let names = match names.as_slice() {
            few if few.len() <= 12 || all => few.join(", "),
            many => format!("{}, and {} more", many[..12].join(", "), many.len() - 12),
        };
        page.paragraph("", "  ", &format!("What differs in the rules: {names}"), Ink::Plain);
    }
    tried(&mut page, comparison);
    page.gap();
    if comparison.same_verdicts() {
        page.indented(0, "No verdict and no standing differs.", Ink::Heading);
    } else {
        verdicts(&mut page, comparison);
    }
    let shown = |count: usize| if all { count } else { count.min(FEW) };
    let groups = &comparison.groups;
    for (number, group) in groups.iter().enumerate().take(shown(groups.len())) {
        page.gap();
        self::group(&mut page, number + 1, group);
    }
    if shown(groups.len()) < groups.len() {
        page.gap();
        let rest = format!("and {} more groups, which --all shows", groups.len() - shown(groups.len()));
        page.indented(0, &rest, Ink::Faint);
    }
    sentences(&mut page, comparison, all);
    page.finish()
}

fn tried(page: &mut Page, comparison: &Comparison) {
    let tried = &comparison.tried;
    let mut line = format!(
        "Decided by both: {}, {}, {}",
        counted(tried.jobs, "job", "jobs"),
        counted(tried.joints, "joint", "joints"),
        counted(tried.verdicts, "verdict", "verdicts")
    );
    if tried.frozen < tried.joints {
        line += &match tried.frozen {
            0 => "; the freezing of pools, which the edit does not touch, was left open".to_owned(),
            some => format!(
                "; the freezing of pools was followed at {some} of the joints and left open at the others"
            ),
        };
    }
    match tried.jobs {
        0 => page.indented(0, "No verdict rests on that, so that no job was decided.", Ink::Plain),
        _ => page.paragraph("", "  ", &format!("{line}."), Ink::Plain),
    }
    for refusal in &comparison.refused {
        let text =
            format!("{}: refused by the {} rulebook alone: {}", refusal.job, refusal.by, refusal.because);
        page.paragraph("  ", "    ", &text, Ink::Bad);
    }
}

fn moves(page: &mut Page, moves: &[Moved], most: usize) {
    for moved in moves.iter().take(most) {
        let text = format!("{:>7}  {} → {}", moved.count, moved.before, moved.after);
        page.paragraph("  ", "           ", &text, Ink::Plain);
    }
    if moves.len() > most {
        page.indented(2, &format!("{:>7}  others", "…"), Ink::Faint);
    }
}

fn verdicts(page: &mut Page, comparison: &Comparison) {
    let count = comparison.verdicts_moved;
    let line = match count {
        0 => "No verdict differs; standings do.".to_owned(),
        1 => "One verdict differs.".to_owned(),
        _ => format!("{count} verdicts differ."),
    };
    page.indented(0, &line, Ink::Heading);
    moves(page, &comparison.moves, usize::MAX);
    if comparison.recommendations_moved > 0 {
        page.gap();
        let joints = counted(comparison.recommendations_moved, "joint", "joints");
        page.indented(0, &format!("The recommendation differs at {joints}:"), Ink::Plain);
        moves(page, &comparison.recommendations, MOVES);
    }
}

fn group(page: &mut Page, number: usize, group: &Group) {
    let verdicts = match group.verdicts {
        0 => ", no verdict by it".to_owned(),
        all if all == group.count => String::new(),
        some => format!(", the verdict too at {some}"),
    };
    let heading = format!(
        "{number}. {}: {} → {}, {} times{verdicts}",
        group.criterion, group.before, group.after, group.count
    );
    page.paragraph("", "   ", &heading, Ink::Heading);
    let finding = |finding: &Option<String>| finding.clone().unwrap_or_else(|| "no finding".to_owned());
    if group.finding_before.is_some() || group.finding_after.is_some() {
        let by = match (&group.finding_before, &group.finding_after) {
            (was, is) if was == is => format!("by {}", finding(was)),
            (was, is) => format!("by {}, now by {}", finding(was), finding(is)),
        };
        page.indented(3, &by, Ink::Faint);
    }
    example(page, &group.example);
}

fn example(page: &mut Page, example: &Example) {
    let place = format!("such as {} at {} ({})", example.filler, example.joint, example.job);
    page.paragraph("   ", "     ", &place, Ink::Plain);
    if example.says_before == example.says_after {
        return;
    }
    for (lead, says) in [("before: ", &example.says_before), ("after:  ", &example.says_after)] {
        if let Some(says) = says {
            page.paragraph(&format!("   {lead}"), "           ", says, Ink::Plain);
        }
    }
}

fn sentences(page: &mut Page, comparison: &Comparison, all: bool) {
    let sentences = &comparison.sentences;
    page.gap();
    if sentences.is_empty() {
        return page.indented(0, "No sentence differs where the standing is the same.", Ink::Plain);
    }
    let count: usize = sentences.iter().map(|group| group.count).sum();
    let times = counted(count, "standing is told", "standings are told");
    let groups = counted(sentences.len(), "finding", "findings");
    page.indented(0, &format!("{times} otherwise, by {groups}:"), Ink::Heading);
    let shown = if all { sentences.len() } else { sentences.len().min(FEW) };
    for group in &sentences[..shown] {
        page.gap();
        let id = |id: &Option<String>| id.clone().unwrap_or_else(|| "no finding".to_owned());
        let (was, is) = (id(&group.finding_before), id(&group.finding_after));
        let by = if was == is { was } else { format!("{was} → {is}") };
        page.paragraph("", "   ", &format!("{by}, {} times", group.count), Ink::Plain);
        example(page, &group.example);
    }
    if shown < sentences.len() {
        page.gap();
        page.indented(0, &format!("and {} more, which --all shows", sentences.len() - shown), Ink::Faint);
    }
}
