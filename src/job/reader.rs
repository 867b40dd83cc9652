//! Walks the tree of a job file and collects what it says and every mistake in it. The sections are read in `parts.rs`,
//! `joints.rs` and `choice.rs`, single values in `answer.rs`; facts are made in `facts.rs`.

use super::answer::Answer;
use super::catalogue::{Catalogue, Designated, Unresolved};
use super::designation::Sort;
use super::keys::{self, Keys};
use super::tree::{Content, Entry, Node};
use super::{JobFact, JobReader, Joint, LONGEST_COMPARED, Part, facts, names, shorten};
use crate::language::{Diagnostic, Rulebook, Span, nearest};
use std::collections::HashMap;
use std::collections::hash_map::Entry as Place;
use std::sync::Arc;

/// What a reader of messages can take in; the rest is counted.
const MOST_SHOWN: usize = 100;

/// Of a longer list only the first names are compared with a misspelt one.
const MOST_COMPARED: usize = 1000;

/// What a job file says.
#[derive(Debug, Default)]
pub(super) struct Contents {
    pub title: Option<String>,
    pub parts: Vec<Part>,
    pub joints: Vec<Joint>,
    pub available: Vec<Arc<str>>,
    pub order: Vec<Arc<str>>,
    pub facts: Vec<JobFact>,
}

/// The walk's state: what is known, and the mistakes so far.
pub(super) struct Reader<'a> {
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

impl<'a> Reader<'a> {
    /// A walk that has not begun.
    pub fn new(known: &'a JobReader<'_>, json: bool) -> Self {
        Reader {
            rulebook: known.rulebook,
            keys: &known.keys,
            alloys: &known.alloys,
            fillers: &known.fillers,
            diagnostics: Vec::new(),
            incomplete: false,
            json,
        }
    }

    /// Reads the whole file. Where mistakes were found the result is not to be used.
    pub fn read(&mut self, root: Node) -> Contents {
        let mut content = Contents::default();
        let Some(entries) = self.table(&root, "a job file", None) else { return content };
        let shared: Vec<String> = self.keys.shared.clone();
        let (mut parts, mut joints, mut chosen) = (Vec::new(), Vec::new(), Default::default());
        let mut answers = Vec::new();
        // Parts come first, because joints refer to them wherever they stand in the file.
        for entry in entries.iter().filter(|entry| entry.key == "parts") {
            parts = self.parts(entry);
        }
        for entry in entries {
            match entry.key.as_str() {
                "title" => content.title = self.line(&entry.node, "the title"),
                "parts" => {}
                "joints" => joints = self.joints(entry, &parts),
                "choice" => chosen = self.choice(entry),
                section if shared.iter().any(|known| known == section) => {
                    answers.extend(self.section(entry, section));
                }
                _ => {
                    let mut known: Vec<&str> = keys::FILE.to_vec();
                    known.extend(
                        shared.iter().map(String::as_str).filter(|known| !keys::FILE.contains(known)),
                    );
                    self.unknown_key(entry, "a job file", &known);
                }
            }
        }
        let parts_help = self.advice(
            "give each part a section [parts.NAME] with its alloy",
            "add \"parts\": {\"NAME\": {\"alloy\": \"…\"}}",
        );
        let joints_help = self.advice(
            "give each joint a section [[joints]] with a name and the two parts it lies between",
            "add \"joints\": [{\"name\": \"…\", \"between\": [\"first part\", \"second part\"]}]",
        );
        for (key, help) in [("parts", parts_help), ("joints", joints_help)] {
            if !entries.iter().any(|entry| entry.key == key) {
                self.missing(Span::default(), format!("the job has no {key}"), help);
            }
        }
        let shapes = facts::Shapes::of(self.rulebook, &mut self.diagnostics);
        if self.diagnostics.is_empty() {
            content.facts = facts::facts(self, &shapes, &parts, &joints, &answers, &chosen);
            content.available = chosen.available.into_iter().map(|(filler, _)| filler).collect();
            if !chosen.restricted {
                content.available = self.fillers.names().to_vec();
            }
            content.order = chosen.order.into_iter().map(|(criterion, _)| criterion).collect();
            content.parts = parts.into_iter().filter_map(|part| part.finished()).collect();
            content.joints = joints.into_iter().filter_map(|joint| joint.finished()).collect();
        }
        content
    }

    /// A section of answers that hold for every joint, or for one where it stands inside a joint.
    pub fn section(&mut self, entry: &Entry, section: &str) -> Vec<Answer> {
        let Some(entries) = self.table(&entry.node, &format!("`{section}`"), None) else { return Vec::new() };
        let mut answers = Vec::new();
        for inner in entries {
            if !self.answer(inner, section, &mut answers) {
                let keys = self.keys.of_section(section, &[]);
                let known: Vec<String> = keys.into_iter().map(str::to_owned).collect();
                self.unknown_key(inner, &format!("`{section}`"), &known);
            }
        }
        answers
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
    pub fn unknown_key<S: AsRef<str>>(&mut self, entry: &Entry, place: &str, known: &[S]) {
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
    pub fn table<'n>(&mut self, node: &'n Node, what: &str, help: Option<&str>) -> Option<&'n [Entry]> {
        match &node.value {
            Content::Table(entries) => Some(entries),
            other => {
                self.mismatch(node.span, what, "a table", other, help);
                None
            }
        }
    }

    /// The elements of a list; anything else is a mistake.
    pub fn list<'n>(&mut self, node: &'n Node, what: &str, help: Option<&str>) -> Option<&'n [Node]> {
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
    pub fn line(&mut self, node: &Node, what: &str) -> Option<String> {
        let Content::Text(text) = &node.value else {
            self.mismatch(node.span, what, "a text", &node.value, None);
            return None;
        };
        self.checked_line(text, node.span, what).then(|| text.clone())
    }

    /// Notes names that print alike, though they are written in different ways.
    pub fn told_apart<'n>(&mut self, what: &str, named: impl Iterator<Item = (&'n str, Span)>) {
        let mut first: HashMap<String, (String, Span)> = HashMap::new();
        for (name, span) in named {
            match first.entry(names::as_it_looks(name)) {
                Place::Vacant(vacant) => drop(vacant.insert((name.to_owned(), span))),
                Place::Occupied(occupied) if occupied.get().0 != *name => {
                    let message = format!("two {what} have names that print alike: \"{}\"", shorten(name));
                    let diagnostic = Diagnostic::new(span, message, "written in another way")
                        .also(occupied.get().1, "first used here")
                        .help("write the name the same way everywhere, or give each a name of its own");
                    self.report(diagnostic);
                }
                Place::Occupied(_) => {}
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
    pub fn designation(&mut self, node: &Node, sort: Sort) -> Option<(String, Designated)> {
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
