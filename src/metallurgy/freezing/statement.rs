//! Cuts a thermodynamic file into statements and words, keeping line numbers. The meaning of statements is in `tdb`.

use super::database::DatabaseError;

/// A longer statement is a missing '!', not an assessment.
const LONGEST: usize = 1 << 20;

/// One statement without its closing '!', comments blanked; line breaks are kept so that lines can be counted.
#[derive(Debug, Clone)]
pub(crate) struct Statement {
    pub text: String,
    pub line: usize,
}

impl Statement {
    pub(crate) fn line_at(&self, offset: usize) -> usize {
        let before = &self.text.as_bytes()[..offset.min(self.text.len())];
        self.line + before.iter().filter(|&&c| c == b'\n').count()
    }

    pub(crate) fn error(&self, offset: usize, expected: impl Into<String>) -> DatabaseError {
        DatabaseError {
            line: self.line_at(offset),
            expected: expected.into(),
            found: shorten(self.text.get(offset..).unwrap_or_default()),
        }
    }
}

fn shorten(text: &str) -> String {
    let one_line = text.trim_start().lines().next().unwrap_or_default();
    let mut short: String = one_line.chars().take(60).collect();
    if one_line.chars().nth(60).is_some() {
        short.push('…');
    }
    short
}

/// Yields the statements of a file one after another.
pub(crate) struct Statements<'a> {
    rest: &'a str,
    line: usize,
}

impl<'a> Statements<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self { rest: text.strip_prefix('\u{feff}').unwrap_or(text), line: 1 }
    }
}

impl Iterator for Statements<'_> {
    type Item = Result<Statement, DatabaseError>;

    fn next(&mut self) -> Option<Self::Item> {
        let mut text = String::new();
        let mut start = None;
        let mut in_comment = false;
        for (offset, c) in self.rest.char_indices() {
            match c {
                '\n' => {
                    in_comment = false;
                    self.line += 1;
                    if start.is_some() {
                        text.push('\n');
                    }
                }
                _ if in_comment => {}
                '$' => in_comment = true,
                '!' => {
                    if let Some(line) = start {
                        self.rest = &self.rest[offset + 1..];
                        return Some(Ok(Statement { text, line }));
                    }
                }
                c if c.is_whitespace() && start.is_none() => {}
                c => {
                    start.get_or_insert(self.line);
                    text.push(if c.is_whitespace() { ' ' } else { c });
                    if text.len() > LONGEST {
                        break;
                    }
                }
            }
        }
        self.rest = "";
        start.map(|line| {
            Err(DatabaseError { line, expected: "a statement closed with '!'".into(), found: shorten(&text) })
        })
    }
}
