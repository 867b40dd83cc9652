//! How open questions are put on a terminal: the question with what may be answered, why it matters, and how it ended.

use super::choice::{answer, heading};
use super::colour::Ink;
use super::page::Page;
use crate::change::{
    Accepts, Alternative, DecidingQuestion, JointOutcome, JointState, OpenQuestions, Reason,
};
use crate::job::Job;
use crate::verdict::Report;

/// Of more fillers than these only the number is decided.
const FILLERS_NAMED: usize = 8;

/// Findings decided of one question.
const FINDINGS_TOLD: usize = 5;

/// Known names decided of one question.
const NAMES_TOLD: usize = 12;

/// What comes before the first question.
pub fn opening(open_questions: &OpenQuestions, job: &Job, width: usize) -> String {
    let mut page = Page::new(width);
    page.indented(0, job.title.as_deref().unwrap_or(&job.file), Ink::Heading);
    let count = open_questions.questions.len();
    let known = match count {
        0 => return page.finish(),
        1 => "One open question can change which filler is recommended.".to_owned(),
        _ => format!("{count} open questions can change which filler is recommended."),
    };
    let text = format!(
        "{known} An answer is written into {} at once. Write ? to see why a question matters, \"later\" or nothing to leave it open, \"stop\" to end.",
        job.file
    );
    page.indented(0, &text, Ink::Plain);
    page.finish()
}

/// A question, and what may be answered.
pub fn question(asked: &DecidingQuestion, width: usize) -> String {
    let mut page = Page::new(width);
    page.indented(0, &asked.question, Ink::Heading);
    let expected = match &asked.accepts {
        Accepts::Words { words } => listed(words, "or"),
        Accepts::Names { names } if names.is_empty() => "a name".to_owned(),
        Accepts::Names { names } if names.len() > NAMES_TOLD => {
            format!("a name such as {} and others", names[..NAMES_TOLD].join(", "))
        }
        Accepts::Names { names } => format!("a name such as {}", listed(names, "or")),
        Accepts::Quantity { measures, units, example, range, .. } => {
            let range = if *range { ", or a range of two" } else { "" };
            let article = if measures.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
            format!("{article} {measures} in {}, such as {example}{range}", listed(units, "or"))
        }
        Accepts::Text {} => "a text".to_owned(),
    };
    page.indented(2, &expected, Ink::Plain);
    if asked.is_common() {
        let text = format!("\"each\" asks joint by joint: {}", asked.joints.join(", "));
        page.indented(2, &text, Ink::Faint);
    }
    page.finish()
}

/// "a, b or c".
fn listed<S: AsRef<str>>(names: &[S], last: &str) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.split_last() {
        Some((end, before)) if !before.is_empty() => format!("{} {last} {end}", before.join(", ")),
        _ => names.concat(),
    }
}

/// Why a question matters: what each answer would bring, and the findings that rest on it.
pub fn meaning(
    asked: &DecidingQuestion,
    open_questions: &OpenQuestions,
    reasons: &[Reason],
    width: usize,
) -> String {
    let mut page = Page::new(width);
    let mut grouped: Vec<(Vec<&str>, &Alternative)> = Vec::new();
    for alternative in &asked.answers {
        match grouped.iter_mut().find(|(_, first)| first.outcome == alternative.outcome) {
            Some((answers, _)) => answers.push(&alternative.answer),
            None => grouped.push((vec![&alternative.answer], alternative)),
        }
    }
    let quantity = matches!(asked.accepts, Accepts::Quantity { .. });
    if grouped.len() == 1 && open_questions.questions.len() == 1 {
        let text = if quantity {
            "No number that was tried changes anything, but numbers between them might."
        } else {
            "No answer that was tried changes anything, but there may be others."
        };
        page.indented(2, text, Ink::Plain);
    } else if grouped.len() == 1 {
        let text = "It matters only together with other questions: as long as they are open, no answer settles anything.";
        page.indented(2, text, Ink::Plain);
    } else if !grouped.is_empty() {
        let others =
            if open_questions.questions.len() > 1 { " while the other questions stay open" } else { "" };
        let tried = if quantity { " (borders found by trying)" } else { "" };
        page.indented(2, &format!("What each answer decides{others}{tried}"), Ink::Waiting);
        for (answers, alternative) in &grouped {
            let separator = if quantity { "; " } else { ", " };
            page.paragraph("    ", "      ", &answers.join(separator), Ink::Plain);
            let lines = alternative.outcome.iter().filter_map(|outcome| {
                let now = open_questions.joints.iter().find(|now| now.joint == outcome.joint)?;
                let text = brought(outcome, now)?;
                Some(format!("{}: {text}", outcome.joint))
            });
            let lines: Vec<String> = lines.collect();
            if lines.is_empty() {
                page.indented(6, "settles nothing by itself", Ink::Faint);
            }
            lines.iter().for_each(|text| page.paragraph("      ", "        ", text, Ink::Plain));
        }
    }
    if !reasons.is_empty() {
        page.indented(2, "Findings that rest on it", Ink::Waiting);
    }
    for reason in reasons.iter().take(FINDINGS_TOLD) {
        let of = match reason.fillers.as_slice() {
            [one] => one.clone(),
            [one, other] => format!("{one} and {other}"),
            [one, others @ ..] => format!("{one} and {} others", others.len()),
            [] => String::new(),
        };
        let text = format!("{of} on {}: {}", reason.criterion, reason.says);
        page.paragraph("    ", "      ", &text, Ink::Plain);
        let place = format!("[{} · {}:{}]", reason.finding, reason.file, reason.line);
        page.paragraph("      ", "      ", &place, Ink::Faint);
    }
    if reasons.len() > FINDINGS_TOLD {
        page.indented(4, &format!("and {} more", reasons.len() - FINDINGS_TOLD), Ink::Faint);
    }
    page.finish()
}

/// What an answer brings at a joint; `None` where it is as now.
fn brought(outcome: &JointOutcome, now: &JointState) -> Option<String> {
    if (&outcome.recommended, &outcome.open) == (&now.recommended, &now.open) {
        return None;
    }
    let named = |fillers: &[String]| match fillers.len() {
        0..=FILLERS_NAMED => listed(fillers, "or"),
        many => format!("{many} fillers"),
    };
    Some(match (outcome.recommended.is_empty(), outcome.open.is_empty()) {
        (true, true) => "no filler is recommended".to_owned(),
        (false, true) => format!("use {}", listed(&outcome.recommended, "or")),
        (true, false) => {
            let all = now.open.len() + now.recommended.len();
            let names = match outcome.open.len() {
                0..=FILLERS_NAMED => format!(": {}", outcome.open.join(", ")),
                _ => String::new(),
            };
            format!("leaves {} of {all}{names}", outcome.open.len())
        }
        (false, false) => {
            format!("use {}; {} may come beside it", listed(&outcome.recommended, "or"), named(&outcome.open))
        }
    })
}

/// That an answer was written, with the line as it stands in the file.
pub fn written(setting: &str, width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph("  ", "    ", &format!("Written: {setting}"), Ink::Good);
    page.finish()
}

/// Why an answer was not taken.
pub fn refused(message: &str, help: Option<&str>, width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph("  ", "    ", message, Ink::Bad);
    if let Some(help) = help {
        page.paragraph("  ", "    ", help, Ink::Plain);
    }
    page.finish()
}

/// How it ended: the filler of each joint as far as it is settled, what decides for it, and what stays open.
pub fn ending(open_questions: &OpenQuestions, report: &Report, job: &Job, width: usize) -> String {
    let mut page = Page::new(width);
    let settled =
        open_questions.questions.is_empty() && open_questions.joints.iter().all(|joint| joint.settled);
    if settled {
        let text = if open_questions.joints.iter().any(|joint| joint.by_sample) {
            "No answer that was tried of those still missing changes which filler is recommended; of sizes only some were tried."
        } else {
            "No answer that is still missing can change which filler is recommended."
        };
        page.indented(0, text, Ink::Heading);
    }
    for (decided, now) in report.joints.iter().zip(&open_questions.joints) {
        page.gap();
        page.indented(0, &heading(decided, job), Ink::Heading);
        if now.settled && now.recommended != decided.recommended {
            // Every case was run through, though no derivation holds in all of them.
            let text = match now.recommended.as_slice() {
                [] => "No filler is recommended, whatever is answered to what is still open.".to_owned(),
                some => format!("Use {}, whatever is answered to what is still open.", listed(some, "or")),
            };
            page.indented(2, &text, Ink::Good);
        } else {
            answer(&mut page, decided);
        }
        if !now.settled {
            page.indented(2, &format!("Still in question: {}.", now.open.join(", ")), Ink::Waiting);
        }
    }
    if !open_questions.questions.is_empty() {
        page.gap();
        page.indented(0, "Still open, and able to change this", Ink::Waiting);
        for asked in &open_questions.questions {
            let text = format!("{} ({})", asked.question, asked.path);
            page.paragraph("  ? ", "    ", &text, Ink::Plain);
        }
    }
    for (others, lead) in [
        (&open_questions.undetermined, "Only then it shows whether these matter"),
        (&open_questions.remaining, "These stay unanswered and change nothing in that"),
    ] {
        if !others.is_empty() {
            page.gap();
            page.indented(0, lead, Ink::Plain);
        }
        for other in others {
            let text = format!("{} ({})", other.question, other.path);
            page.paragraph("  - ", "    ", &text, Ink::Faint);
        }
    }
    page.finish()
}
