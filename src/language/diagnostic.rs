//! Messages that point into a text: what is wrong, where, and what was probably meant. Drawing is the only presentation
//! here, because an error message is the language's main product; colour is decided by the caller.

use super::source::{Sources, Span, line_and_column};
use crate::visible::{is_harmful, visible};
use ariadne::{Color, Config, IndexType, Label, Report, ReportKind};
use std::borrow::Cow;

/// One mistake.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// What is wrong, in one sentence.
    pub message: String,
    /// Where.
    pub span: Span,
    /// What stands at that place.
    pub label: String,
    /// What to do about it.
    pub help: Option<String>,
    /// Other places that belong to it, each with a label.
    pub others: Vec<(Span, String)>,
}

impl Diagnostic {
    /// A mistake at a place.
    pub fn new(span: Span, message: impl Into<String>, label: impl Into<String>) -> Self {
        Diagnostic { message: message.into(), span, label: label.into(), help: None, others: Vec::new() }
    }

    /// The same with advice.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// The same with another place.
    pub fn also(mut self, span: Span, label: impl Into<String>) -> Self {
        self.others.push((span, label.into()));
        self
    }
}

/// The known name nearest to `written` by edit distance, where one is near enough to be meant.
pub fn nearest<'a>(written: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let limit = (written.chars().count() / 3).max(1) + 1;
    known
        .into_iter()
        .filter(|name| name.len().abs_diff(written.len()) <= limit)
        .map(|name| (strsim::damerau_levenshtein(&name.to_lowercase(), &written.to_lowercase()), name))
        .filter(|(distance, name)| *distance <= limit && *distance < name.chars().count().max(2))
        .min()
        .map(|(_, name)| name)
}

/// Lines longer than this are not drawn whole.
const LONGEST_LINE: usize = 400;

/// After this many messages the rest is only counted.
const MOST_DRAWN: usize = 200;

/// Of a message, a label or advice so many characters are drawn: it may quote what somebody wrote without end.
const LONGEST_QUOTED: usize = 1_200;

/// Places drawn with one message; a circle may go through thousands.
const MOST_PLACES: usize = 40;

/// Advice has at most so many lines.
const MOST_LINES: usize = 60;

/// What a terminal shows of a text, cut in its middle where it is too long.
fn shown(text: &str) -> String {
    let text = visible(text);
    let length = text.chars().count();
    if length <= LONGEST_QUOTED {
        return text.into_owned();
    }
    let head: String = text.chars().take(LONGEST_QUOTED / 2).collect();
    let tail: String = text.chars().skip(length - LONGEST_QUOTED / 2).collect();
    format!("{head} … {} characters … {tail}", length - LONGEST_QUOTED)
}

/// The text of a file with question marks in the place of what a terminal might obey or hide; as many bytes as before, so
/// that places stay where they are, and no line ends but those that are counted.
fn harmless(text: &str) -> Cow<'_, str> {
    let harmful = |c: char| is_harmful(c) && !matches!(c, '\n' | '\t');
    if !text.contains(harmful) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        let line_end = c == '\r' && characters.peek() == Some(&'\n');
        if harmful(c) && !line_end {
            out.extend(std::iter::repeat_n('?', c.len_utf8()));
        } else {
            out.push(c);
        }
    }
    Cow::Owned(out)
}

/// Advice, made visible. It may have several lines, which are drawn below its beginning.
fn in_lines(help: &str) -> String {
    let mut lines: Vec<String> = help.lines().take(MOST_LINES).map(shown).collect();
    if let Some(more @ 1..) = help.lines().count().checked_sub(MOST_LINES) {
        lines.push(format!("… and {more} more lines"));
    }
    lines.join("\n")
}

/// The messages as text, each with its place underlined.
pub fn draw(diagnostics: &[Diagnostic], sources: &Sources, colour: bool) -> String {
    let mut out = Vec::new();
    let mut cache = ariadne::sources(
        sources.files.iter().map(|file| (visible(&file.name).into_owned(), harmless(&file.text))),
    );
    for diagnostic in diagnostics.iter().take(MOST_DRAWN) {
        let others = diagnostic.others.iter().map(|(span, _)| *span).take(MOST_PLACES);
        let places = || std::iter::once(diagnostic.span).chain(others.clone());
        if places().any(|span| on_long_line(&sources.file(span).text, span)) {
            out.extend(in_words(diagnostic, sources).into_bytes());
            continue;
        }
        // Places are counted in characters: by bytes the drawing would take the columns of other files for something else.
        let place = |span: Span| {
            // As it is drawn, with other characters in the place of harmful ones, but with as many bytes.
            let text = harmless(&sources.file(span).text);
            let characters = |at: u32| {
                let at = (0..=(at as usize).min(text.len())).rev().find(|at| text.is_char_boundary(*at));
                text[..at.unwrap_or(0)].chars().count()
            };
            let start = characters(span.start);
            (visible(&sources.file(span).name).into_owned(), start..characters(span.end).max(start))
        };
        let labels = std::iter::once((diagnostic.span, &diagnostic.label, Color::Red))
            .chain(diagnostic.others.iter().map(|(span, label)| (*span, label, Color::Cyan)));
        // From the top down, file by file, each file once.
        let mut labels: Vec<(Span, &String, Color)> = labels.collect();
        let left_out = labels.len().saturating_sub(MOST_PLACES);
        labels.truncate(MOST_PLACES);
        labels.sort_by_key(|(span, ..)| (span.file != diagnostic.span.file, *span));
        let config = Config::default().with_color(colour).with_index_type(IndexType::Char);
        let mut report = Report::build(ReportKind::Error, place(diagnostic.span))
            .with_config(config)
            .with_message(shown(&diagnostic.message));
        for (order, (span, label, colour)) in labels.into_iter().enumerate() {
            let label = Label::new(place(span)).with_message(shown(label)).with_color(colour);
            report = report.with_label(label.with_order(order as i32));
        }
        if let Some(help) = &diagnostic.help {
            report = report.with_help(in_lines(help));
        }
        if left_out > 0 {
            report = report.with_note(format!("and {left_out} more places that belong to it"));
        }
        // Writing to memory does not fail; if it did, the plain words remain.
        if report.finish().write(&mut cache, &mut out).is_err() {
            out.extend(in_words(diagnostic, sources).into_bytes());
        }
    }
    if let Some(more @ 1..) = diagnostics.len().checked_sub(MOST_DRAWN) {
        out.extend(format!("and {more} more like these\n").into_bytes());
    }
    String::from_utf8_lossy(&out).lines().map(str::trim_end).collect::<Vec<_>>().join("\n") + "\n"
}

fn on_long_line(text: &str, span: Span) -> bool {
    let at = (span.start as usize).min(text.len());
    let bytes = text.as_bytes();
    let before = bytes[..at].iter().rev().take(LONGEST_LINE).position(|byte| *byte == b'\n');
    let after = bytes[at..].iter().take(LONGEST_LINE).position(|byte| *byte == b'\n');
    let whole = before.unwrap_or(at.min(LONGEST_LINE)) + after.unwrap_or((text.len() - at).min(LONGEST_LINE));
    whole >= LONGEST_LINE || span.end.saturating_sub(span.start) as usize > LONGEST_LINE * 4
}

/// A message without a drawing: place, words, and the text around the place.
fn in_words(diagnostic: &Diagnostic, sources: &Sources) -> String {
    let file = sources.file(diagnostic.span);
    let at = diagnostic.span.start as usize;
    let (line, column) = line_and_column(&file.text, at);
    let mut start = at.saturating_sub(24).min(file.text.len());
    while !file.text.is_char_boundary(start) {
        start -= 1;
    }
    let around: String =
        file.text[start..].chars().take(60).map(|c| if is_harmful(c) { ' ' } else { c }).collect();
    let mut text = format!(
        "Error: {}\n   at {}:{line}:{column}: {}\n   near: …{around}…\n",
        shown(&diagnostic.message),
        visible(&file.name),
        shown(&diagnostic.label)
    );
    if let Some(help) = &diagnostic.help {
        text.push_str(&format!("   Help: {}\n", in_lines(help)));
    }
    text
}
