//! What a change of facts brings, on a page.

use super::colour::Ink;
use super::page::Page;
use crate::change::{
    Change, Changes, End, Fall, FillerMoved, JointMoved, JudgingFinding, Limit, Margin, StandingMoved,
    Supposed,
};
use crate::verdict::{Standing, Verdict};

/// Findings shown of one group of fillers.
const FINDINGS_SHOWN: usize = 3;

/// Lays out what moved.
pub fn supposed(answer: &Supposed, width: usize) -> String {
    let mut page = Page::new(width);
    let set: Vec<String> = answer
        .set
        .iter()
        .map(|(path, value)| format!("{path} = {value} ({})", now(answer.was.get(path))))
        .collect();
    page.paragraph("", "  ", &format!("Suppose {}", set.join(", ")), Ink::Heading);
    if !answer.moved {
        page.gap();
        page.indented(0, "Nothing moves: every verdict and every standing is as it was.", Ink::Plain);
        return page.finish();
    }
    for joint in &answer.joints {
        page.gap();
        joint_moved(&mut page, joint);
    }
    if !answer.unmoved.is_empty() {
        page.gap();
        page.indented(0, &format!("Nothing moves at {}.", answer.unmoved.join(", ")), Ink::Plain);
    }
    if let Some(fewest) = &answer.fewest_fillers {
        page.gap();
        let (before, after) = (listed(&fewest.before.fillers), listed(&fewest.after.fillers));
        let text = if fewest.before.fillers == fewest.after.fillers {
            format!("Fewest fillers for the whole assembly: {after} as before, at other joints")
        } else {
            format!("Fewest fillers for the whole assembly: {after}; before, {before}")
        };
        page.indented(0, &text, Ink::Plain);
    }
    for (cautions, lead) in
        [(&answer.cautions_gone, "No longer to mind"), (&answer.cautions_new, "To mind as well")]
    {
        if !cautions.is_empty() {
            page.gap();
            page.indented(0, lead, Ink::Plain);
            cautions.iter().for_each(|caution| page.paragraph("  - ", "    ", caution, Ink::Plain));
        }
    }
    page.finish()
}

/// What stands in the job file where something else is put.
fn now(was: Option<&Option<String>>) -> String {
    match was {
        Some(Some(was)) => format!("now {was}"),
        _ => "not given now".to_owned(),
    }
}

fn listed(fillers: &[String]) -> String {
    if fillers.is_empty() { "none".to_owned() } else { fillers.join(", ") }
}

fn joint_moved(page: &mut Page, joint: &JointMoved) {
    page.indented(0, &joint.joint, Ink::Heading);
    let (before, after) = (listed(&joint.recommended.before), listed(&joint.recommended.after));
    if before == after {
        page.indented(2, &format!("Recommended as before: {after}"), Ink::Plain);
    } else {
        page.indented(2, &format!("Recommended now: {after}; before, {before}"), Ink::Good);
    }
    for (questions, lead) in [(&joint.settled, "Settled"), (&joint.opened, "Open now")] {
        questions.iter().for_each(|asks| page.indented(2, &format!("{lead}: {asks}"), Ink::Waiting));
    }
    let judged: Vec<&FillerMoved> = joint.fillers.iter().filter(|filler| filler.judged_otherwise()).collect();
    let mut done = vec![false; judged.len()];
    for index in 0..judged.len() {
        if std::mem::replace(&mut done[index], true) {
            continue;
        }
        let mut alike = vec![judged[index]];
        for later in index + 1..judged.len() {
            if !done[later] && kind(judged[later]) == kind(judged[index]) {
                done[later] = true;
                alike.push(judged[later]);
            }
        }
        group(page, &alike);
    }
    let numbers = joint.fillers.len() - judged.len();
    if numbers > 0 {
        let text = format!("Of {numbers} other fillers only numbers moved, and no standing.");
        page.indented(
            2,
            if numbers == 1 { "Of one other filler only numbers moved, and no standing." } else { &text },
            Ink::Faint,
        );
    }
}

/// What fillers must share to be shown together: the verdicts, and by criterion the levels that moved.
#[derive(PartialEq)]
struct Alike<'a> {
    before: Option<Verdict>,
    after: Option<Verdict>,
    levels: Vec<(&'a str, &'a str, &'a str)>,
}

fn kind(filler: &FillerMoved) -> Alike<'_> {
    let levels = filler
        .standings
        .iter()
        .filter(|standing| standing.level_moved())
        .map(|moved| (moved.criterion.as_str(), level(&moved.before), level(&moved.after)))
        .collect();
    Alike { before: filler.verdict.before, after: filler.verdict.after, levels }
}

fn level(standing: &Option<Standing>) -> &str {
    standing.as_ref().map_or("not judged", |standing| standing.standing.word())
}

fn group(page: &mut Page, alike: &[&FillerMoved]) {
    let first = alike[0];
    let names: Vec<&str> = alike.iter().map(|filler| filler.filler.as_str()).collect();
    let word = |verdict: Option<Verdict>| verdict.map_or("not looked at", Verdict::word);
    let moved = if first.verdict_moved() {
        format!("{} now, {} before", word(first.verdict.after), word(first.verdict.before))
    } else {
        format!("{} as before", word(first.verdict.after))
    };
    let ink = match first.verdict.after {
        _ if !first.verdict_moved() => Ink::Plain,
        Some(Verdict::Recommended) => Ink::Good,
        Some(Verdict::Barred) => Ink::Bad,
        Some(Verdict::Open) => Ink::Waiting,
        _ => Ink::Plain,
    };
    page.paragraph("  ", "    ", &format!("{}: {moved}", names.join(", ")), ink);
    for standing in first.standings.iter().filter(|standing| standing.level_moved()) {
        page.paragraph("    ", "      ", &levels(standing, alike.len() > 1), Ink::Plain);
    }
    let example = if alike.len() > 1 { format!(", of {}", first.filler) } else { String::new() };
    findings(page, &first.no_longer, &format!("no longer{example}"));
    findings(page, &first.newly, &format!("now{example}"));
    if let (true, Some(beaten)) =
        (first.verdict.after == Some(Verdict::Usable), first.beaten_by.after.first())
    {
        let text = format!("{} is better on {}", beaten.filler, beaten.criterion);
        page.paragraph("    ", "      ", &text, Ink::Plain);
    }
}

/// A standing before and after, with the numbers behind it where they are those of one filler.
fn levels(moved: &StandingMoved, several: bool) -> String {
    let with_number = |standing: &Option<Standing>| match standing {
        Some(Standing { value: Some(value), standing, .. }) if !several => {
            let number = crate::quantity::format_number(value.number);
            format!("{standing} ({number} {})", value.unit).replace(" )", ")")
        }
        other => level(other).to_owned(),
    };
    format!("{}: {} → {}", moved.criterion, with_number(&moved.before), with_number(&moved.after))
}

fn findings(page: &mut Page, judged: &[JudgingFinding], lead: &str) {
    for finding in judged.iter().take(FINDINGS_SHOWN) {
        let text = format!("{lead}: {}", finding.says);
        page.paragraph("    ", "      ", &text, if finding.open { Ink::Waiting } else { Ink::Plain });
        let place = format!("[{} · {}:{}]", finding.finding, finding.file, finding.line);
        page.paragraph("      ", "      ", &place, Ink::Faint);
    }
    if judged.len() > FINDINGS_SHOWN {
        let text = format!("{lead}: {} more", judged.len() - FINDINGS_SHOWN);
        page.paragraph("    ", "      ", &text, Ink::Faint);
    }
}

/// Sets of changes shown for each verdict, unless all are asked for.
const CHANGES_SHOWN: usize = 6;

/// Lays out what to do about a filler that is not recommended: another one that serves as things are; then changes that would turn
/// the verdict, what a shop can choose first, and apart from it what helps only if the job was described wrongly.
pub fn changes(found: &Changes, instead: &[String], all: bool, width: usize) -> String {
    let mut page = Page::new(width);
    if !found.wanted.is_empty() && !instead.is_empty() {
        page.gap();
        page.indented(0, &format!("As the job stands, use {} there.", instead.join(" or ")), Ink::Good);
    }
    for wanted in &found.wanted {
        let (described, chosen): (Vec<&Change>, Vec<&Change>) = found
            .offered
            .iter()
            .filter(|change| change.verdict == *wanted)
            .partition(|change| change.described_wrongly);
        let better = found.offered.iter().any(|change| change.verdict < *wanted);
        page.gap();
        if chosen.is_empty() && described.is_empty() && better {
            continue;
        }
        let beyond = chosen.first().filter(|_| chosen.iter().all(|change| change.last_resort));
        if let Some(change) = beyond {
            let effort = change.effort.as_deref().unwrap_or("more than other facts");
            let text = format!(
                "No change of up to three facts makes it {} here, unless it takes {effort}:",
                wanted.word()
            );
            page.indented(0, &text, Ink::Plain);
        } else if chosen.is_empty() {
            let text = format!(
                "No change of up to three facts that a shop can choose makes it {} here.",
                wanted.word()
            );
            page.indented(0, &text, Ink::Plain);
        } else {
            page.indented(0, &format!("It would be {}", wanted.word()), Ink::Heading);
        }
        offers(&mut page, &chosen, all);
        if !described.is_empty() {
            page.indented(
                0,
                &format!("If the job was described wrongly, it is {}", wanted.word()),
                Ink::Heading,
            );
            offers(&mut page, &described, all);
        }
    }
    let text = page.finish();
    if text.is_empty() { text } else { format!("\n{}", text.trim_start_matches('\n')) }
}

fn offers(page: &mut Page, changes: &[&Change], all: bool) {
    let shown = if all { changes.len() } else { changes.len().min(CHANGES_SHOWN) };
    changes.iter().take(shown).for_each(|change| page.paragraph("  - ", "    ", &with(change), Ink::Plain));
    if shown < changes.len() {
        let text = match changes.len() - shown {
            1 => "and in one other way (--all)".to_owned(),
            more => format!("and in {more} other ways (--all)"),
        };
        page.indented(4, &text, Ink::Faint);
    }
}

/// "with service.sustained-temperature = 65 °C (now 95 °C; 65 °C or less will do)".
fn with(change: &Change) -> String {
    let one = |(path, value): (&String, &String)| {
        let now = now(change.was.get(path));
        let will_do =
            change.will_do.get(path).map_or(String::new(), |numbers| format!("; {numbers} will do"));
        format!("{path} = {value} ({now}{will_do})")
    };
    let each: Vec<String> = change.set.iter().map(one).collect();
    format!("with {}", each.join(" and "))
}

/// Lays out how far the facts of a job may move before a recommendation falls.
pub fn margins(margins: &[Margin], width: usize) -> String {
    let mut page = Page::new(width);
    if margins.is_empty() {
        return page.finish();
    }
    page.verbatim("");
    page.indented(0, "How far facts may move before the recommendation falls", Ink::Heading);
    for margin in margins {
        let now = match (&margin.now, &margin.worked_out) {
            (None, Some(worked_out)) => format!("not given; {worked_out} is worked out"),
            (now_given, _) => now(Some(now_given)),
        };
        let end = match margin.end {
            Some(End::Lowest) => "a lower end of ",
            Some(End::Highest) => "an upper end of ",
            None => "",
        };
        let limits: Vec<&Limit> = [&margin.down, &margin.up].into_iter().flatten().collect();
        let stands: Vec<&str> = limits.iter().map(|limit| limit.stands.as_str()).collect();
        let stands = if stands.is_empty() {
            String::new()
        } else {
            format!(": it stands for {end}{}", stands.join(" and "))
        };
        page.paragraph("  - ", "    ", &format!("{} ({now}){stands}", margin.path), Ink::Plain);
        for limit in &limits {
            let side = if limit.border.fails > limit.border.holds { "above" } else { "below" };
            page.paragraph("    ", "      ", &format!("{side}: {}", then(&limit.then)), Ink::Faint);
        }
        let mut done = vec![false; margin.topples.len()];
        for index in 0..margin.topples.len() {
            if done[index] {
                continue;
            }
            let fall = &margin.topples[index].then;
            let mut values = Vec::new();
            for (other, toppled) in margin.topples.iter().enumerate().skip(index) {
                if toppled.then == *fall {
                    done[other] = true;
                    values.push(toppled.value.as_str());
                }
            }
            page.paragraph("    ", "      ", &format!("{}: {}", values.join(", "), then(fall)), Ink::Faint);
        }
    }
    page.finish()
}

/// "5356 instead, better on hot cracking".
fn then(fall: &Fall) -> String {
    let winners = fall.recommended.join(" or ");
    let on = fall.criterion.as_deref().unwrap_or_default();
    match (fall.verdict, fall.recommended.is_empty()) {
        (Verdict::Barred, true) => format!("it is barred on {on}, and nothing is recommended"),
        (Verdict::Barred, false) => format!("it is barred on {on}, and {winners} is recommended"),
        (Verdict::Unjudged, _) => "nothing judges it".to_owned(),
        (Verdict::Open, _) => "its verdict waits on an answer".to_owned(),
        (_, true) => format!("it is beaten on {on}, and nothing is recommended"),
        (_, false) => format!("{winners} is recommended, better on {on}"),
    }
}
