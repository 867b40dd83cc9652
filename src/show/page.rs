//! Lines on a page of a given width: wrapping and indentation.

use super::colour::{Ink, paint};
use crate::quantity::Unit;
use crate::visible::visible;
use unicode_width::UnicodeWidthStr;

/// Columns to write in: the terminal's, 100 at most; 80 where there is no terminal.
pub fn width() -> usize {
    terminal_size::terminal_size()
        .map_or(80, |(terminal_size::Width(columns), _)| (columns as usize).clamp(40, 100))
}

/// Lines of at most this many columns, broken at spaces alone: designations such as R-A357.0 stay whole.
pub(super) fn whole_words(columns: usize) -> textwrap::Options<'static> {
    textwrap::Options::new(columns)
        .break_words(false)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
}

/// A blank at which no line is broken; it is written as an ordinary one.
const GLUE: char = '\u{a0}';

/// The text with figures glued to their units and dots to their word, and with escapes in the place of what a terminal
/// might obey or hide, line ends among it: whatever stands in a name, it stays within its paragraph.
fn with_whole_figures(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        out.push_str(&visible(word));
        let Some(next) = words.peek() else { break };
        let figure = word.ends_with(|c: char| c.is_ascii_digit());
        let symbol = next.trim_end_matches(['.', ',', ';', ':', '!', '?', ')']);
        let glued = figure && Unit::lookup(symbol).is_some() || *next == "…";
        out.push(if glued { GLUE } else { ' ' });
    }
    out
}

/// A page that is being written.
pub struct Page {
    width: usize,
    text: String,
}

impl Page {
    /// An empty page.
    pub fn new(width: usize) -> Self {
        Page { width, text: String::new() }
    }

    /// An empty line, unless the page is empty or ends in one.
    pub fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A paragraph, wrapped; its first line starts with `first`, the others with `rest`.
    pub fn paragraph(&mut self, first: &str, rest: &str, text: &str, ink: Ink) {
        let room = self.width.saturating_sub(UnicodeWidthStr::width(rest)).max(20);
        let text = with_whole_figures(text);
        let lines = textwrap::wrap(&text, whole_words(room));
        for (index, line) in lines.iter().enumerate() {
            self.text.push_str(&visible(if index == 0 { first } else { rest }));
            self.text.push_str(&paint(&line.replace(GLUE, " "), ink).to_string());
            self.text.push('\n');
        }
        if lines.is_empty() {
            self.text.push_str(visible(first).trim_end());
            self.text.push('\n');
        }
    }

    /// A paragraph indented by some columns.
    pub fn indented(&mut self, columns: usize, text: &str, ink: Ink) {
        let margin = " ".repeat(columns);
        self.paragraph(&margin, &margin, text, ink);
    }

    /// The beginning of a text on one line; where more follows, that is shown.
    pub fn glance(&mut self, columns: usize, text: &str, ink: Ink) {
        let text = with_whole_figures(text);
        let room = self.width.saturating_sub(columns).max(20);
        let lines = textwrap::wrap(&text, whole_words(room));
        let first = match lines.as_slice() {
            [] | [_] => text.clone(),
            _ => {
                let lines = textwrap::wrap(&text, whole_words(room - 2));
                format!("{} …", lines.first().map_or("", |line| line.trim_end_matches([',', ':', ';'])))
            }
        };
        let margin = " ".repeat(columns);
        self.text.push_str(&margin);
        self.text.push_str(&paint(&first.replace(GLUE, " "), ink).to_string());
        self.text.push('\n');
    }

    /// Two columns of paragraphs, beside each other.
    pub fn beside(&mut self, columns: usize, texts: [&[String]; 2]) {
        let room = (self.width.saturating_sub(columns + 4) / 2).max(20);
        let [left, right] = texts.map(|paragraphs| {
            let wrapped = paragraphs.iter().map(|text| with_whole_figures(text));
            let lines = |text: String| -> Vec<String> {
                textwrap::wrap(&text, whole_words(room)).iter().map(|line| line.replace(GLUE, " ")).collect()
            };
            wrapped.flat_map(lines).collect::<Vec<String>>()
        });
        let margin = " ".repeat(columns);
        for line in 0..left.len().max(right.len()) {
            let [left, right] = [&left, &right].map(|lines| lines.get(line).map_or("", String::as_str));
            let gap = " ".repeat(room.saturating_sub(UnicodeWidthStr::width(left)) + 4);
            self.verbatim(&format!("{margin}{left}{gap}{right}"));
        }
    }

    /// A table: the first column to the left, the others to the right, each as wide as its widest cell. A first cell that
    /// leaves no room for the others stands on a line of its own.
    pub fn columns<const N: usize>(&mut self, columns: usize, rows: &[[String; N]]) {
        let width = |text: &String| UnicodeWidthStr::width(text.as_str());
        let widest: Vec<usize> =
            (0..N).map(|at| rows.iter().map(|row| width(&row[at])).max().unwrap_or(0)).collect();
        let others: usize = widest.iter().skip(1).map(|wide| wide + 2).sum();
        let first = widest[0].min(self.width.saturating_sub(columns + others).max(12));
        let margin = " ".repeat(columns);
        for row in rows {
            let mut line = format!("{margin}{}", row[0]);
            if width(&row[0]) > first {
                self.paragraph(&margin, &format!("{margin}  "), &row[0], Ink::Plain);
                line.clone_from(&margin);
            }
            let mut end = columns + first;
            for (at, cell) in row.iter().enumerate().skip(1) {
                end += widest[at] + 2;
                let filled = UnicodeWidthStr::width(line.as_str()) + width(cell);
                line.push_str(&" ".repeat(end.saturating_sub(filled)));
                line.push_str(cell);
            }
            self.verbatim(&line);
        }
    }

    /// A line as it is: a row of a table, a line of a drawing.
    pub fn verbatim(&mut self, line: &str) {
        self.text.push_str(visible(line).trim_end());
        self.text.push('\n');
    }

    /// The page's text.
    pub fn finish(self) -> String {
        self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_and_its_unit_stay_on_one_line() {
        for column in 20..60 {
            let mut page = Page::new(column);
            page.indented(
                0,
                "it holds 2.04 % to 2.8 %, over 65 °C (a leg of 3 mm); 4043 is better",
                Ink::Plain,
            );
            let text = page.finish();
            for line in text.lines() {
                assert!(!line.ends_with(|c: char| c.is_ascii_digit()) || line.ends_with("4043"), "{text}");
                assert!(!line.contains(GLUE));
            }
        }
    }

    #[test]
    fn what_a_terminal_would_obey_is_escaped() {
        let mut page = Page::new(40);
        page.indented(0, "a \u{1b}[31mb\u{7}", Ink::Plain);
        page.verbatim("c\nThe record holds.");
        assert_eq!(page.finish(), "a \\u{1b}[31mb\\u{7}\nc\\nThe record holds.\n");
    }
}
