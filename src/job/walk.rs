//! The state of a walk through a job file: what is known, the mistakes so far, and what every section needs to read its keys.

use super::catalogue::{Catalogue, Designated, Unresolved};
use super::designation::Sort;
use super::keys::Keys;
use super::tree::{Content, JobEntry, JobNode};
use super::{JobReader, LONGEST_COMPARED, names, shorten};
use crate::language::{Diagnostic, Rulebook, Span, nearest};
use std::collections::HashMap;
use std::collections::hash_map::Entry as Slot;

/// What a reader of messages can take in; the rest is counted.
const MOST_SHOWN: usize = 100;

/// Of a longer list only the first names are compared with a misspelt one.
const MOST_COMPARED: usize = 1000;

/// The walk's state: what is known, and the mistakes so far.
pub(super) struct Walk<'a> {
    pub rulebook: &'a Rulebook,
    pub keys: &'a Keys,
    pub alloys: &'a Catalogue,
    pub fillers: &'a Catalogue,
    pub diagnostics: Vec<Diagnostic>,
    /// Lines with syntax errors were left out, so that nothing can be said of what is missing.
    pub incomplete: bool,
    /// Advice shows how JSON writes it, not TOML.
    pub json: bool,
}

impl<'a> Walk<'a> {
    /// A walk that has not begun.
    pub fn new(known: &'a JobReader<'_>, json: bool) -> Self {
        Walk {
            rulebook: known.rulebook,
            keys: &known.keys,
            alloys: &known.alloys,
            fillers: &known.fillers,
            diagnostics: Vec::new(),
            incomplete: false,
            json,
        }
    }

    /// What to write, in the notation of the file at hand.
    pub fn advice(&self, toml: &'static str, json: &'static str) -> &'static str {
        if self.json { json } else { toml }
    }

    /// Notes a mistake.
    pub fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Notes that something is missing, unless it may stand in a line that could not be read.
    pub fn missing(&mut self, span: Span, message: String, help: &str) {
        if !self.incomplete {
            self.report(Diagnostic::new(span, message, "missing here").help(help));
        }
    }

    /// The known name nearest to what was written; none once more mistakes were found than anyone will be shown.
    pub fn near<'n>(&self, written: &str, known: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
        let worth = self.diagnostics.len() < MOST_SHOWN && written.len() <= LONGEST_COMPARED;
        let short = known.into_iter().filter(|known| known.len() <= LONGEST_COMPARED);
        worth.then(|| nearest(written, short.take(MOST_COMPARED)))?
    }

    /// Notes a key that means nothing in `place`.
    pub fn unknown_key<S: AsRef<str>>(&mut self, entry: &JobEntry, place: &str, known: &[S]) {
        let known: Vec<&str> = known.iter().map(AsRef::as_ref).collect();
        let help = match self.near(&entry.key, known.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if known.is_empty() => "this rulebook asks nothing here".to_owned(),
            None => format!("known keys are {}", known.join(", ")),
        };
        let message = format!("unknown key `{}` in {place}", shorten(&entry.key));
        self.report(Diagnostic::new(entry.key_span, message, "not a known key").help(help));
    }

    /// The entries of a table; anything else is a mistake.
    pub fn table<'n>(&mut self, node: &'n JobNode, what: &str, help: Option<&str>) -> Option<&'n [JobEntry]> {
        match &node.value {
            Content::Table(entries) => Some(entries),
            other => {
                self.mismatch(node.span, what, "a table", other, help);
                None
            }
        }
    }

    /// The elements of a list; anything else is a mistake.
    pub fn list<'n>(&mut self, node: &'n JobNode, what: &str, help: Option<&str>) -> Option<&'n [JobNode]> {
        match &node.value {
            Content::List(nodes) => Some(nodes),
            other => {
                self.mismatch(node.span, what, "a list", other, help);
                None
            }
        }
    }

    /// Notes a value of the wrong sort.
    pub fn mismatch(&mut self, span: Span, what: &str, expected: &str, found: &Content, help: Option<&str>) {
        let message = format!("{what} is {expected}, and {} stands here", found.noun());
        let mut diagnostic = Diagnostic::new(span, message, format!("{expected} is expected"));
        diagnostic.help = match found {
            Content::Other("null") => Some("leave the key out where there is no answer".to_owned()),
            _ => help.map(str::to_owned),
        };
        self.report(diagnostic);
    }

    /// A text of one line that is not blank: a name, a title.
    pub fn line(&mut self, node: &JobNode, what: &str) -> Option<String> {
        let Content::Text(text) = &node.value else {
            self.mismatch(node.span, what, "a text", &node.value, None);
            return None;
        };
        self.checked_line(text, node.span, what).then(|| text.clone())
    }

    /// Notes names that print alike, though they are written in different ways.
    pub fn refuse_lookalikes<'n>(&mut self, what: &str, named: impl Iterator<Item = (&'n str, Span)>) {
        let mut first: HashMap<String, (String, Span)> = HashMap::new();
        for (name, span) in named {
            match first.entry(names::as_it_looks(name)) {
                Slot::Vacant(vacant) => drop(vacant.insert((name.to_owned(), span))),
                Slot::Occupied(occupied) if occupied.get().0 != *name => {
                    let message = format!("two {what} have names that print alike: \"{}\"", shorten(name));
                    let diagnostic = Diagnostic::new(span, message, "written in another way")
                        .also(occupied.get().1, "first used here")
                        .help("write the name the same way everywhere, or give each a name of its own");
                    self.report(diagnostic);
                }
                Slot::Occupied(_) => {}
            }
        }
    }

    /// Whether a text is one line and not blank; notes a mistake where it is not.
    pub fn checked_line(&mut self, text: &str, span: Span, what: &str) -> bool {
        if text.trim().is_empty() {
            self.report(Diagnostic::new(span, format!("{what} is blank"), "nothing but blanks"));
            return false;
        }
        if text.chars().any(char::is_control) {
            let message = format!("{what} holds a line break or another control character");
            self.report(Diagnostic::new(span, message, "one line of plain text is expected"));
            return false;
        }
        if let Some(hidden) = names::invisible(text) {
            let message = format!("{what} holds a character that does not show, U+{:04X}", u32::from(hidden));
            self.report(Diagnostic::new(span, message, "one line of plain text is expected"));
            return false;
        }
        true
    }

    /// A designation as it was written, and what it is. A bare number is as good as a text here: `alloy = 3103`.
    pub fn designation(&mut self, node: &JobNode, sort: Sort) -> Option<(String, Designated)> {
        let noun = sort.noun();
        let (Content::Text(written) | Content::Number(written)) = &node.value else {
            self.mismatch(node.span, &format!("the {noun}"), "a text", &node.value, None);
            return None;
        };
        let (catalogue, other) = match sort {
            Sort::Alloy => (&self.alloys, &self.fillers),
            Sort::Filler => (&self.fillers, &self.alloys),
        };
        let shown = shorten(written);
        let diagnostic = match catalogue.resolve(written) {
            Ok(designated) => return Some((written.clone(), designated)),
            Err(Unresolved::Several(names)) => {
                let message = format!("\"{shown}\" is the name of more than one {noun}");
                Diagnostic::new(node.span, message, "which one?")
                    .help(format!("write one of {}", names.join(", ")))
            }
            Err(Unresolved::Disagrees { name, symbol }) => {
                let message = format!("\"{}\" is not the chemical symbol of {name}", shorten(&symbol));
                Diagnostic::new(node.span, message, "number and symbol disagree").help("write one of the two")
            }
            Err(Unresolved::UnknownSymbol(symbol)) => {
                let message = format!("the rulebook knows no chemical symbol \"{}\"", shorten(&symbol));
                Diagnostic::new(node.span, message, "unknown symbol in brackets")
                    .help(format!("write the {noun} without it"))
            }
            Err(Unresolved::Unknown(near)) => {
                let message = format!("unknown {noun} \"{shown}\"");
                let diagnostic =
                    Diagnostic::new(node.span, message, format!("no such {noun} in the rulebook"));
                match (near, other.resolve(written)) {
                    (_, Ok(_)) if sort == Sort::Alloy => {
                        diagnostic.help("that is a filler; a base alloy is expected")
                    }
                    (_, Ok(_)) => diagnostic.help("that is a base alloy; a filler is expected"),
                    (Some(near), _) => diagnostic.help(format!("did you mean \"{near}\"?")),
                    (None, _) => diagnostic,
                }
            }
        };
        self.report(diagnostic);
        None
    }

    /// The mistakes in file order, as many as a reader can take in.
    pub fn into_diagnostics(mut self) -> Vec<Diagnostic> {
        self.diagnostics.sort_by_key(|diagnostic| diagnostic.span);
        let more = self.diagnostics.len().saturating_sub(MOST_SHOWN);
        if more > 0 {
            self.diagnostics.truncate(MOST_SHOWN);
            let span = self.diagnostics.last().map_or(Span::default(), |last| last.span);
            self.diagnostics.push(Diagnostic::new(
                span,
                format!("{more} more mistakes follow"),
                "after this one",
            ));
        }
        self.diagnostics
    }
}
