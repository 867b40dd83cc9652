//! Messages that point into a text: what is wrong, where, and what was probably meant. Drawing is the only presentation
//! here, because an error message is the language's main product; colour is decided by the caller.

use super::source::Span;

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
