//! Source files of a rulebook and positions in them. What the text means is decided elsewhere.

/// A stretch of one source file, in bytes.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Hash, PartialOrd, Ord)]
pub struct Span {
    /// Index of the file in its [`Sources`].
    pub file: u32,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

/// One file: its name as shown to a reader, and its text.
#[derive(Clone, Debug)]
pub struct SourceFile {
    /// Path relative to the rulebook's folder, with `/` between parts.
    pub name: String,
    /// The whole text.
    pub text: String,
}

/// All files of a rulebook, in the order of their names.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    /// The files; a [`Span`] refers to them by index.
    pub files: Vec<SourceFile>,
}

impl Sources {
    /// The file a span lies in.
    pub fn file(&self, span: Span) -> &SourceFile {
        &self.files[span.file as usize]
    }

    /// The text of a span.
    pub fn text(&self, span: Span) -> &str {
        self.file(span).text.get(span.start as usize..span.end as usize).unwrap_or("")
    }

    /// Line and column (both from one; columns count characters) of a span's start.
    pub fn position(&self, span: Span) -> (usize, usize) {
        line_and_column(&self.file(span).text, span.start as usize)
    }
}

/// Line and column (both from one; columns count characters) of a byte offset.
pub fn line_and_column(text: &str, offset: usize) -> (usize, usize) {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    let before = &text[..offset];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    (line, column)
}
