//! The answer to `choose` on a terminal: the filler and the decisive reason first, then the others and what stopped each.

use super::colour::Ink;
use super::page::Page;
use crate::job::Job;
use crate::verdict::{FillerVerdict, JointReport, Level, Price, Report, Standing, Verdict};

/// Lays out a report. With `each`, fillers that share a reason are shown one by one.
pub fn choice(report: &Report, job: &Job, width: usize, each: bool) -> String {
    let mut page = Page::new(width);
    if !report.job.title.is_empty() {
        page.indented(0, &report.job.title, Ink::Heading);
    }
    for joint in &report.joints {
        page.gap();
        page.indented(0, &heading(joint, job), Ink::Heading);
        answer(&mut page, joint);
        others(&mut page, joint, each);
        questions(&mut page, joint);
    }
    assembly(&mut page, report);
    if !report.cautions.is_empty() {
        page.gap();
        page.indented(0, "Cautions", Ink::Heading);
        for caution in &report.cautions {
            page.paragraph("  - ", "    ", caution, Ink::Plain);
        }
    }
    page.finish()
}

/// "boss seat: shell (3103) to boss (6082)".
pub(super) fn heading(joint: &JointReport, job: &Job) -> String {
    let part = |name: &String| {
        let alloy = job.parts.iter().find(|part| *part.name == **name).map_or("", |part| &part.alloy);
        format!("{name} ({alloy})")
    };
    let [first, second] = &joint.between;
    if first == second {
        format!("{}: {} to itself", joint.joint, part(first))
    } else {
        format!("{}: {} to {}", joint.joint, part(first), part(second))
    }
}

/// What to use at a joint, and what decides for it.
pub(super) fn answer(page: &mut Page, joint: &JointReport) {
    let with = |wanted: Verdict| joint.verdicts.iter().filter(move |verdict| verdict.verdict == wanted);
    let best: Vec<&FillerVerdict> = with(Verdict::Recommended).collect();
    if !best.is_empty() {
        let names: Vec<&str> = best.iter().map(|verdict| verdict.filler.as_str()).collect();
        let names = names.join(" or ");
        let Some(decisive) = &joint.decisive else {
            return page.indented(2, &format!("Use {names}."), Ink::Good);
        };
        let text = match &decisive.plainly {
            Some(reason) => format!("Use {names}: {reason}."),
            None => format!("Use {names}."),
        };
        page.indented(2, &text, Ink::Good);
        if !joint.whatever.is_empty() {
            let answers = joint.whatever.join(", ");
            let how = if joint.by_sample { ", as far as some sizes were tried" } else { "" };
            page.indented(2, &format!("That holds whatever the answer on {answers}{how}."), Ink::Plain);
        }
        let others = joint.verdicts.len() - 1;
        let subject = format!(" That, {},", decisive.criterion);
        let tail = decisive.sentence(&subject, others).unwrap_or_default();
        page.indented(2, &format!("{}{tail}", sentence(&decisive.says)), Ink::Plain);
        best.iter().for_each(|verdict| marginal(page, verdict, best.len() > 1));
        return;
    }
    let standing: Vec<&str> = with(Verdict::Usable).map(|verdict| verdict.filler.as_str()).collect();
    if !standing.is_empty() {
        let text = format!(
            "No firm recommendation yet: {} may be used, but an answer is missing that decides between them or could bring another filler in.",
            standing.join(", ")
        );
        page.indented(2, &text, Ink::Waiting);
    } else if with(Verdict::Open).next().is_some() {
        page.indented(
            2,
            "No answer yet: every filler that is not barred waits on a question below.",
            Ink::Waiting,
        );
    } else if joint.verdicts.is_empty() {
        page.indented(2, "No filler to choose from.", Ink::Bad);
    } else {
        page.indented(2, "No filler is usable here.", Ink::Bad);
    }
}

/// On what a filler that is recommended is only marginal, which nobody should learn too late.
fn marginal(page: &mut Page, verdict: &FillerVerdict, several: bool) {
    for standing in verdict.standings.iter().filter(|standing| standing.standing == Level::Marginal) {
        let says = standing.says.clone().unwrap_or_default();
        let of = if several { format!("{}, ", verdict.filler) } else { String::new() };
        page.indented(2, &format!("But marginal: {of}{}: {says}", standing.criterion), Ink::Waiting);
    }
}

/// With a capital letter and a full stop.
fn sentence(text: &str) -> String {
    let mut characters = text.chars();
    let capital: String = characters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{capital}{}{stop}", characters.as_str())
}

/// Why a filler is not the one that is recommended: a key under which fillers with the same reason stand together, a
/// heading, and the sentence.
fn reason(joint: &JointReport, verdict: &FillerVerdict) -> (String, String, String) {
    let says = |standing: &Standing| standing.says.clone().unwrap_or_default();
    match verdict.verdict {
        Verdict::Barred => {
            let bars: Vec<&Standing> =
                verdict.standings.iter().filter(|s| s.standing == Level::Barred).collect();
            match bars.first() {
                Some(first) => {
                    let more =
                        if bars.len() > 1 { format!(", and {} more", bars.len() - 1) } else { String::new() };
                    let key = format!("{}{}{more}", first.criterion, first.finding.as_deref().unwrap_or(""));
                    (key, format!("{}{more}", first.criterion), says(first))
                }
                None => (String::new(), "barred".to_owned(), String::new()),
            }
        }
        Verdict::Unjudged => {
            let missing = |s: &&Standing| s.standing == Level::Unjudged;
            let criteria: Vec<&str> =
                verdict.standings.iter().filter(missing).map(|s| s.criterion.as_str()).collect();
            let on = criteria.join(", ");
            (on.clone(), format!("nothing judges it on {on}"), String::new())
        }
        Verdict::Usable | Verdict::Recommended => {
            // Of those that beat it, a recommended one is shown, since that is the one it is weighed against.
            let best = verdict.beaten_by.iter().find(|beaten| joint.recommended.contains(&beaten.filler));
            match best.or(verdict.beaten_by.first()) {
                Some(beaten) => {
                    let own = verdict.standings.iter().find(|s| s.criterion == beaten.criterion);
                    let key = format!(
                        "{}{}{}",
                        beaten.filler,
                        beaten.criterion,
                        own.and_then(|s| s.finding.as_deref()).unwrap_or("")
                    );
                    (
                        key,
                        format!("{} is better on {}", beaten.filler, beaten.criterion),
                        own.map(says).unwrap_or_default(),
                    )
                }
                None if !joint.whatever.is_empty() => {
                    let best = joint.recommended.join(" or ");
                    (format!("whatever {best}"), format!("under no answer better than {best}"), String::new())
                }
                None => ("unbeaten".to_owned(), "nothing stands against it so far".to_owned(), String::new()),
            }
        }
        Verdict::Open => {
            let waiting: Vec<&Standing> =
                verdict.standings.iter().filter(|s| s.standing == Level::Open).collect();
            match waiting.first() {
                Some(first) => {
                    let criteria: Vec<&str> = waiting.iter().map(|s| s.criterion.as_str()).collect();
                    let key = format!("{}{}", criteria.join(","), first.finding.as_deref().unwrap_or(""));
                    (key, format!("waits on an answer for {}", criteria.join(", ")), says(first))
                }
                None => ("open".to_owned(), "waits on an answer".to_owned(), String::new()),
            }
        }
    }
}

fn others(page: &mut Page, joint: &JointReport, each: bool) {
    let groups = [
        (Verdict::Usable, "Also usable", Ink::Plain),
        (Verdict::Open, "Open", Ink::Waiting),
        (Verdict::Unjudged, "Unjudged, and so not to be used", Ink::Bad),
        (Verdict::Barred, "Barred", Ink::Bad),
    ];
    for (wanted, title, ink) in groups {
        let mut grouped: Vec<(String, Vec<&str>, String, String)> = Vec::new();
        for verdict in joint.verdicts.iter().filter(|verdict| verdict.verdict == wanted) {
            let (key, heading, says) = reason(joint, verdict);
            match grouped.iter_mut().find(|(known, ..)| !each && *known == key) {
                Some((_, fillers, ..)) => fillers.push(&verdict.filler),
                None => grouped.push((key, vec![&verdict.filler], heading, says)),
            }
        }
        if grouped.is_empty() {
            continue;
        }
        page.indented(2, title, ink);
        for (_, fillers, heading, says) in grouped {
            page.paragraph("    ", "      ", &format!("{}: {heading}", fillers.join(", ")), Ink::Plain);
            if !says.is_empty() {
                let of = if fillers.len() > 1 { "for example, " } else { "" };
                page.indented(6, &format!("{of}{says}"), Ink::Faint);
            }
        }
    }
}

/// More fillers than this are only counted where another answer still decides between them.
const MOST_NAMED: usize = 4;

fn questions(page: &mut Page, joint: &JointReport) {
    if joint.open.is_empty() {
        return;
    }
    page.indented(2, "Not answered yet", Ink::Waiting);
    for open in &joint.open {
        let text = format!("{} ({}) Decides on {}.", open.question, open.path, open.decides.join(", "));
        page.paragraph("    ? ", "      ", &text, Ink::Plain);
        for what_if in &open.answers {
            let named = |fillers: &[String]| match fillers.len() {
                0..=MOST_NAMED => fillers.join(" or "),
                many => format!("one of {many} fillers"),
            };
            let then = match (what_if.recommended.as_slice(), what_if.open.as_slice()) {
                ([], []) => "no filler".to_owned(),
                ([], open) => format!("{}, as the other answers decide", named(open)),
                (best, []) => best.join(" or "),
                (best, open) => format!("{}; {} may come beside it", best.join(" or "), named(open)),
            };
            page.paragraph("        ", "          ", &format!("{}: {then}", what_if.answer), Ink::Plain);
        }
    }
}

/// What is given up at a joint by not using its own best filler.
fn given_up(price: &Price) -> String {
    let Price { joint, filler, instead_of, decided_by, differs } = price;
    let worse: Vec<String> =
        differs.iter().map(|(criterion, own, best)| format!("{criterion} {own}, not {best}")).collect();
    let on = decided_by.as_ref().map_or(String::new(), |criterion| format!(", better on {criterion}"));
    let differs = if worse.is_empty() { String::new() } else { format!(": {}", worse.join("; ")) };
    format!("At {joint}, {filler} in place of {instead_of}{on}{differs}.")
}

fn assembly(page: &mut Page, report: &Report) {
    let fewest = &report.fewest_fillers;
    if report.joints.len() < 2 || fewest.fillers.is_empty() {
        return;
    }
    page.gap();
    let left: Vec<&str> = report
        .joints
        .iter()
        .map(|joint| joint.joint.as_str())
        .filter(|joint| !fewest.covers.contains_key(*joint))
        .collect();
    let all = if left.is_empty() { "every joint" } else { "every joint that can be served" };
    let text = match fewest.fillers.as_slice() {
        [one] => format!("Whole assembly: {one} serves {all}."),
        several => {
            let each: Vec<String> = several
                .iter()
                .map(|filler| {
                    let joints: Vec<&str> = fewest
                        .covers
                        .iter()
                        .filter(|(_, used)| *used == filler)
                        .map(|(joint, _)| joint.as_str())
                        .collect();
                    format!("{filler} for {}", joints.join(", "))
                })
                .collect();
            format!(
                "Whole assembly: {} fillers at the fewest serve {all}: {}.",
                several.len(),
                each.join("; ")
            )
        }
    };
    page.indented(0, &text, Ink::Heading);
    fewest.prices.iter().for_each(|price| page.paragraph("  ", "    ", &given_up(price), Ink::Plain));
    if !left.is_empty() {
        page.indented(2, &format!("Without a filler yet: {}.", left.join(", ")), Ink::Bad);
    }
}
