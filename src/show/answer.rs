//! The answer to `why` and `why-not` on a terminal, in the three lengths in which it can be read.

use super::colour::Ink;
use super::page::Page;
use super::tree::{Depth, branches};
use crate::explain::{Answer, Beside, Explanation, Inquiry};

/// How much is shown.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Length {
    /// One sentence.
    Brief,
    /// What decides, about a screen of it.
    Argument,
    /// The whole derivation, to a depth.
    Full(Depth),
}

/// Lays out an answer.
pub fn answer(answer: &Answer, length: Length, width: usize) -> String {
    let mut page = Page::new(width);
    if !answer.listed {
        let text = format!("{} is not among the fillers that the job lists. If it were:", answer.filler);
        page.indented(0, &text, Ink::Waiting);
    }
    match length {
        Length::Brief => page.indented(0, &answer.brief, Ink::Plain),
        Length::Full(depth) => {
            page.indented(0, &answer.lead, Ink::Heading);
            page.gap();
            branches(&mut page, &answer.derivation, depth);
        }
        Length::Argument => {
            let argument = &answer.argument;
            page.indented(0, &answer.lead, Ink::Heading);
            page.gap();
            branches(&mut page, &argument.opened, Depth::Whole);
            if !argument.beside.is_empty() {
                page.gap();
                page.indented(0, argument.title, Ink::Heading);
                argument.beside.iter().for_each(|line| beside(&mut page, line));
            }
            going_on(&mut page, &argument.opened);
        }
    }
    page.finish()
}

/// Lays out the answer about a fact.
pub fn inquiry(inquiry: &Inquiry, length: Length, width: usize) -> String {
    let mut page = Page::new(width);
    let ink = if length == Length::Brief { Ink::Plain } else { Ink::Heading };
    page.indented(0, &inquiry.brief, ink);
    let (shown, depth) = match length {
        Length::Brief => return page.finish(),
        Length::Argument => (&inquiry.opened, Depth::Whole),
        Length::Full(depth) => (&inquiry.derivation, depth),
    };
    page.gap();
    branches(&mut page, shown, depth);
    if length == Length::Argument {
        going_on(&mut page, shown);
    }
    page.finish()
}

fn going_on(page: &mut Page, shown: &Explanation) {
    if shown.nodes.iter().any(|node| node.closed) {
        page.gap();
        page.indented(0, "… goes on with --full.", Ink::Faint);
    }
}

fn beside(page: &mut Page, line: &Beside) {
    let text = match &line.says {
        Some(says) => format!("{}. {says}", line.about),
        None => line.about.clone(),
    };
    let ink = if line.open { Ink::Waiting } else { Ink::Plain };
    if line.best { page.glance(2, &text, ink) } else { page.paragraph("  ", "    ", &text, ink) }
}
