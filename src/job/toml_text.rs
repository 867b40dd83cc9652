//! TOML text to the tree, going on after a syntax error so that one slip does not hide the next. What the keys mean is
//! decided elsewhere.

use super::tree::{Content, JobEntry, JobNode};
use crate::language::{Diagnostic, Span};
use std::ops::Range;
use toml_edit::{Document, Item, Value};

/// After this many syntax errors the rest of the file is not looked at for more.
const MOST_ERRORS: usize = 20;

/// The tree of a TOML text, without the lines that hold syntax errors.
pub(super) fn parse(text: &str, diagnostics: &mut Vec<Diagnostic>) -> Option<JobNode> {
    let mut remaining = text.to_owned();
    let mut blanked: Vec<Range<usize>> = Vec::new();
    for _ in 0..MOST_ERRORS {
        let error = match Document::parse(remaining.as_str()) {
            Ok(document) => return Some(document_node(&document, text)),
            Err(error) => error,
        };
        let at = clamp(error.span().unwrap_or(0..0), text);
        // The parser finds mistakes of structure before those in values, so they do not come in file order. One in a
        // place that was blanked comes of blanking, not from the writer.
        if blanked.iter().any(|range| range.contains(&at.start)) {
            return None;
        }
        let message =
            format!("this is not valid TOML: {}", error.message().lines().next().unwrap_or_default());
        diagnostics.push(Diagnostic::new(to_span(&at), message, "here"));
        let broken = broken_part(&remaining, at.start);
        blank(&mut remaining, &broken);
        blanked.push(broken);
    }
    None
}

fn to_span(range: &Range<usize>) -> Span {
    Span { file: 0, start: range.start as u32, end: range.end as u32 }
}

/// The range on character boundaries inside the text.
fn clamp(range: Range<usize>, text: &str) -> Range<usize> {
    let start = floor(text, range.start);
    start..floor(text, range.end).max(start)
}

fn floor(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// What to leave out so that the rest can be read: the line, where it is a key with its value and the next line starts
/// afresh; otherwise everything up to the next header, with the headers that belong below this one.
fn broken_part(text: &str, at: usize) -> Range<usize> {
    // An error at the very end of a line is reported behind it.
    let inside = if at > 0 && (at >= text.len() || text.as_bytes()[at] == b'\n') { at - 1 } else { at };
    let start = text[..floor(text, inside)].rfind('\n').map_or(0, |newline| newline + 1);
    let end = text[start..].find('\n').map_or(text.len(), |length| start + length + 1);
    let following = text[end..].lines().map(str::trim).find(|line| !line.is_empty());
    let afresh =
        following.is_none_or(|line| line.starts_with('#') || is_assignment(line) || header(line).is_some());
    if is_assignment(text[start..end].trim()) && afresh {
        return start..end;
    }
    let owner = header(text[start..end].trim());
    let mut stop = end;
    for line in text[end..].split_inclusive('\n') {
        match (header(line.trim()), &owner) {
            (Some(below), Some(owner))
                if below.strip_prefix(owner.as_str()).is_some_and(|rest| rest.starts_with('.')) => {}
            (Some(_), _) => break,
            (None, _) => {}
        }
        stop += line.len();
    }
    start..stop
}

/// Whether a line starts like `key = …`.
fn is_assignment(line: &str) -> bool {
    let key =
        line.trim_start_matches(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '"' | '\''));
    key.len() < line.len() && key.trim_start().starts_with('=')
}

/// The dotted path of a line that starts like a `[header]` or `[[header]]`, whether or not it is closed.
fn header(line: &str) -> Option<String> {
    let inner = line.strip_prefix("[[").or_else(|| line.strip_prefix('['))?;
    let path: String = inner.chars().take_while(|c| !matches!(c, ']' | '#' | ',')).collect();
    let closed = inner[path.len()..].starts_with(']');
    let rest = inner[path.len()..].trim_start_matches(']').trim_start();
    let names = path.starts_with(|c: char| c.is_alphanumeric()) && !path.contains('=');
    (names && (closed || !path.contains('"')) && (rest.is_empty() || rest.starts_with('#')))
        .then(|| path.trim().to_owned())
}

/// Overwrites with spaces, so that every place behind stays where it is.
fn blank(text: &mut String, range: &Range<usize>) {
    let spaces: String =
        text[range.clone()].bytes().map(|byte| if byte == b'\n' { '\n' } else { ' ' }).collect();
    text.replace_range(range.clone(), &spaces);
}

fn document_node<S: AsRef<str>>(document: &Document<S>, text: &str) -> JobNode {
    JobNode { value: Content::Table(entries(document.as_table(), text, &(0..0))), span: to_span(&(0..0)) }
}

fn entries(table: &toml_edit::Table, text: &str, around: &Range<usize>) -> Vec<JobEntry> {
    table
        .iter()
        .map(|(key, value)| {
            let place = table.key(key).and_then(|key| key.span()).unwrap_or_else(|| around.clone());
            let place = clamp(place, text);
            JobEntry { key: key.to_owned(), key_span: to_span(&place), node: item(value, text, &place) }
        })
        .collect()
}

/// The first line of a place: a table's own place may run over all that is in it.
fn first_line(place: Range<usize>, text: &str) -> Range<usize> {
    let place = clamp(place, text);
    let line = text[place.clone()].lines().next().unwrap_or_default();
    place.start..place.start + line.trim_end().len()
}

fn item(value: &Item, text: &str, key: &Range<usize>) -> JobNode {
    match value {
        Item::None => JobNode { value: Content::Other("nothing"), span: to_span(key) },
        Item::Value(inner) => inline(inner, text, key),
        Item::Table(table) => {
            let place = table.span().map_or_else(|| key.clone(), |place| first_line(place, text));
            JobNode { value: Content::Table(entries(table, text, &place)), span: to_span(&place) }
        }
        Item::ArrayOfTables(tables) => {
            let nodes = tables.iter().map(|table| {
                let place = table.span().map_or_else(|| key.clone(), |place| first_line(place, text));
                JobNode { value: Content::Table(entries(table, text, &place)), span: to_span(&place) }
            });
            JobNode { value: Content::List(nodes.collect()), span: to_span(key) }
        }
    }
}

fn inline(value: &Value, text: &str, key: &Range<usize>) -> JobNode {
    let place = clamp(value.span().unwrap_or_else(|| key.clone()), text);
    let content = match value {
        Value::String(inner) => Content::Text(inner.value().clone()),
        Value::Integer(_) | Value::Float(_) => Content::Number(text[place.clone()].to_owned()),
        Value::Boolean(_) => Content::Other("true or false"),
        Value::Datetime(_) => Content::Other("a date"),
        Value::Array(list) => Content::List(list.iter().map(|value| inline(value, text, &place)).collect()),
        Value::InlineTable(table) => {
            let inner = table.iter().map(|(key, value)| {
                let here = table.key(key).and_then(|key| key.span()).unwrap_or_else(|| place.clone());
                let here = clamp(here, text);
                JobEntry { key: key.to_owned(), key_span: to_span(&here), node: inline(value, text, &here) }
            });
            Content::Table(inner.collect())
        }
    };
    JobNode { value: content, span: to_span(&place) }
}
