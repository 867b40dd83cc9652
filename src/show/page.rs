//! Lines on a page of a given width: wrapping and indentation.

use super::colour::{Ink, paint};

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
        let room = self.width.saturating_sub(unicode_width::UnicodeWidthStr::width(rest)).max(20);
        let lines = textwrap::wrap(text, whole_words(room));
        for (index, line) in lines.iter().enumerate() {
            self.text.push_str(if index == 0 { first } else { rest });
            self.text.push_str(&paint(line, ink).to_string());
            self.text.push('\n');
        }
        if lines.is_empty() {
            self.text.push_str(first.trim_end());
            self.text.push('\n');
        }
    }

    /// A paragraph indented by some columns.
    pub fn indented(&mut self, columns: usize, text: &str, ink: Ink) {
        let margin = " ".repeat(columns);
        self.paragraph(&margin, &margin, text, ink);
    }

    /// A line as it is: a row of a table, a line of a drawing.
    pub fn verbatim(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }

    /// The page's text.
    pub fn finish(self) -> String {
        self.text
    }
}
