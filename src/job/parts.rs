//! The section `parts`: names, alloys, tempers, and what the rulebook asks about a part.

use super::Part;
use super::answer::GivenAnswer;
use super::designation::Sort;
use super::keys;
use super::shorten;
use super::tree::{Content, JobEntry, JobNode};
use super::walk::Walk;
use crate::language::{Diagnostic, Span, Value};
use std::sync::Arc;

/// A part as far as it could be read.
#[derive(Debug)]
pub(super) struct PartRead {
    pub name: Arc<str>,
    pub span: Span,
    pub alloy: Option<(Arc<str>, String, Span)>,
    pub answers: Vec<GivenAnswer>,
}

impl PartRead {
    /// The part, where nothing is missing.
    pub fn finished(self) -> Option<Part> {
        let (alloy, written, _) = self.alloy?;
        Some(Part { name: self.name, alloy, written, span: self.span })
    }
}

impl Walk<'_> {
    /// Reads every part.
    pub fn parts(&mut self, entry: &JobEntry) -> Vec<PartRead> {
        let help = self.advice(
            "write each part as a section [parts.NAME]",
            "write \"parts\": {\"NAME\": {\"alloy\": \"…\"}}",
        );
        let Some(entries) = self.table(&entry.node, "`parts`", Some(help)) else { return Vec::new() };
        if entries.is_empty() {
            self.missing(entry.key_span, "the job has no parts".to_owned(), help);
        }
        self.refuse_lookalikes("parts", entries.iter().map(|entry| (entry.key.as_str(), entry.key_span)));
        entries.iter().map(|entry| self.part(entry)).collect()
    }

    fn part(&mut self, entry: &JobEntry) -> PartRead {
        let mut part = PartRead {
            name: entry.key.as_str().into(),
            span: entry.key_span,
            alloy: None,
            answers: Vec::new(),
        };
        self.checked_line(&entry.key, entry.key_span, "the name of the part");
        let what = format!("part \"{}\"", shorten(&entry.key));
        let help = self.advice(
            "write a part as a table with its alloy, such as { alloy = \"…\" }",
            "write a part as a table with its alloy, such as {\"alloy\": \"…\"}",
        );
        let Some(entries) = self.table(&entry.node, &what, Some(help)) else { return part };
        let mut temper = None;
        for inner in entries {
            if inner.key == "alloy" {
                if let Some((written, designated)) = self.designation(&inner.node, Sort::Alloy) {
                    temper = designated.temper;
                    part.alloy = Some((designated.name, written, inner.node.span));
                }
            } else if !self.answer(inner, "parts", &mut part.answers) {
                let known: Vec<String> =
                    self.keys.of_section("parts", keys::PART).into_iter().map(str::to_owned).collect();
                self.unknown_key(inner, &what, &known);
            }
        }
        if !entries.iter().any(|entry| entry.key == "alloy") {
            self.missing(
                entry.key_span,
                format!("{what} names no alloy"),
                "add a line such as alloy = \"…\"",
            );
        }
        if let (Some(temper), Some((_, _, span))) = (temper, &part.alloy) {
            let given = entries.iter().find(|entry| entry.key == "temper").map(|entry| entry.node.span);
            let span = *span;
            self.temper_of_designation(&mut part, temper, span, given);
        }
        part
    }

    /// Takes the temper written behind an alloy as the part's temper.
    fn temper_of_designation(
        &mut self,
        part: &mut PartRead,
        temper: String,
        span: Span,
        given: Option<Span>,
    ) {
        let questions = self.keys.at("parts", "temper");
        if questions.is_empty() {
            let message = format!(
                "the alloy is written with the temper {temper}, of which this rulebook knows nothing"
            );
            self.report(
                Diagnostic::new(span, message, "temper behind the alloy").help("write the alloy alone"),
            );
            return;
        }
        for question in questions {
            let ty = self.keys.questions[question].answer;
            let node = JobNode { value: Content::Text(temper.clone()), span };
            let Some(value) = self.value(&node, ty, "parts.temper") else { return };
            match part.answers.iter().find(|answer| answer.question == question) {
                Some(answer) if answer.value != value => {
                    let stated = match &answer.value {
                        Value::Symbol(text) => shorten(text),
                        other => other.to_string(),
                    };
                    let message =
                        format!("the alloy is written with temper {temper}, and `temper` says {stated}");
                    let diagnostic = Diagnostic::new(answer.span, message, "this temper")
                        .also(span, "this one behind the alloy")
                        .help("leave one of the two out");
                    self.report(diagnostic);
                    return;
                }
                Some(_) => {}
                // The key stands there with a mistake, which has been reported.
                None if given.is_some() => {}
                None => part.answers.push(GivenAnswer { question, value, span }),
            }
        }
    }
}
