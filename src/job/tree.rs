//! The one small tree that TOML and JSON both become, with the place of every key and value. Which keys mean what is
//! decided elsewhere.

use crate::language::Span;

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(super) struct JobNode {
    pub value: Content,
    pub span: Span,
}

/// What stands there.
#[derive(Clone, Debug)]
pub(super) enum Content {
    Text(String),
    /// The number as it was written, so that `356.0` stays what it is.
    Number(String),
    /// What TOML and JSON can say and no key of a job takes: a date, true or false, null. Holds its name for a reader.
    Other(&'static str),
    List(Vec<JobNode>),
    Table(Vec<JobEntry>),
}

/// A key and its value.
#[derive(Clone, Debug)]
pub(super) struct JobEntry {
    pub key: String,
    pub key_span: Span,
    pub node: JobNode,
}

impl Content {
    /// What it is called in a message.
    pub fn noun(&self) -> &'static str {
        match self {
            Content::Text(_) => "a text",
            Content::Number(_) => "a number",
            Content::Other(noun) => noun,
            Content::List(_) => "a list",
            Content::Table(_) => "a table",
        }
    }
}

/// Values may nest this deep. A job file needs four levels; the limit keeps the parsers' recursion shallow whatever the
/// file says.
pub(super) const DEEPEST: usize = 16;

/// Where the brackets of a text first nest deeper than [`DEEPEST`], brackets inside strings and comments left out.
/// Only a guard: a text that closes a string wrongly is misjudged by at most that string, and the parsers object to it.
pub(super) fn too_deep(text: &str, json: bool) -> Option<usize> {
    let bytes = text.as_bytes();
    let (mut at, mut depth) = (0, 0usize);
    while at < bytes.len() {
        match bytes[at] {
            b'[' | b'{' => {
                depth += 1;
                if depth > DEEPEST {
                    return Some(at);
                }
            }
            b']' | b'}' => depth = depth.saturating_sub(1),
            b'#' if !json => at = end_of_line(bytes, at),
            b'"' => at = end_of_string(bytes, at, json),
            b'\'' if !json => at = end_of_string(bytes, at, json),
            _ => {}
        }
        at += 1;
    }
    None
}

fn end_of_line(bytes: &[u8], from: usize) -> usize {
    bytes[from..].iter().position(|byte| *byte == b'\n').map_or(bytes.len(), |length| from + length)
}

/// The last byte of the string that starts at `from`.
fn end_of_string(bytes: &[u8], from: usize, json: bool) -> usize {
    let quote = bytes[from];
    let long = !json && bytes[from..].starts_with(&[quote; 3]);
    let mut at = from + if long { 3 } else { 1 };
    while at < bytes.len() {
        match bytes[at] {
            b'\\' if quote == b'"' => at += 1,
            b'\n' if !long => return at,
            byte if byte == quote && !long => return at,
            byte if byte == quote && bytes[at..].starts_with(&[quote; 3]) => return at + 2,
            _ => {}
        }
        at += 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_in_strings_and_comments_do_not_nest() {
        let brackets = "[".repeat(40);
        for quiet in [
            format!("title = \"{brackets}\""),
            format!("title = '{brackets}'"),
            format!("title = \"\"\"\n{brackets}\n\"\"\" # {brackets}"),
            format!("title = \"\\\"{brackets}\""),
        ] {
            assert_eq!(too_deep(&quiet, false), None, "{quiet}");
        }
        assert_eq!(too_deep(&format!("a = {brackets}"), false), Some(4 + DEEPEST));
        assert_eq!(too_deep(&format!("{{\"'\": {brackets}"), true), Some(6 + DEEPEST - 1));
    }
}
