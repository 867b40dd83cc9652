//! The job file: parts, joints, service and choice, read from TOML or JSON into facts that a rulebook understands.
//! Which keys, words, units and alloys are known comes from the rulebook; nothing is decided here.

mod answer;
mod catalogue;
mod choice;
mod contents;
mod designation;
mod facts;
mod joints;
mod json_text;
mod keys;
mod names;
mod parts;
mod shapes;
mod toml_text;
mod tree;
mod walk;

pub use answer::example;
pub use keys::{About, QuestionKey};

use crate::language::{Diagnostic, RelationId, Rulebook, SourceFile, Sources, Span, Value};
use crate::quantity::PageUnits;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// A job that was read without a mistake.
#[derive(Clone, Debug)]
pub struct Job {
    /// Its title, where it has one.
    pub title: Option<String>,
    /// The file it was read from, as the caller named it.
    pub file: String,
    /// SHA-256 of the file's bytes, in hexadecimal.
    pub fingerprint: String,
    /// Parts in file order.
    pub parts: Vec<Part>,
    /// Joints in file order.
    pub joints: Vec<Joint>,
    /// Fillers to choose from, by canonical name: those that the file lists, or all that the rulebook knows.
    pub available: Vec<Arc<str>>,
    /// Criteria in the order that the file ranks them; empty where it does not.
    pub order: Vec<Arc<str>>,
    /// Everything the file says, as facts.
    pub facts: Vec<JobFact>,
    /// The file's text, which spans refer to.
    pub sources: Sources,
}

impl Job {
    /// The units of a page about this job: those that it is written in.
    pub fn units(&self) -> PageUnits {
        PageUnits::written(self.facts.iter().flat_map(|fact| &fact.cells).flat_map(Value::quantities))
    }

    /// Whether the file says which fillers are in stock.
    pub fn lists_stock(&self) -> bool {
        self.facts.iter().any(|fact| fact.path == "choice.available")
    }
}

/// A part.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Its name in the file.
    pub name: Arc<str>,
    /// Its alloy's canonical name in the rulebook.
    pub alloy: Arc<str>,
    /// The alloy as written in the file.
    pub written: String,
    /// Its name's place.
    pub span: Span,
}

/// A joint.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// Its name in the file.
    pub name: Arc<str>,
    /// The names of the two parts that it joins; the same name twice where a part is joined to itself.
    pub between: [Arc<str>; 2],
    /// Its name's place.
    pub span: Span,
}

/// A fact that the job file states.
#[derive(Clone, Debug, PartialEq)]
pub struct JobFact {
    /// The relation.
    pub relation: RelationId,
    /// A value for every role.
    pub cells: Vec<Value>,
    /// Where such a fact stands in a job file, such as `service.sustained-temperature`.
    pub path: String,
    /// Where this one stands.
    pub span: Span,
}

/// Why a job could not be read: every mistake that was found, in file order.
#[derive(Clone, Debug)]
pub struct JobErrors {
    /// The file's text, which spans refer to. Empty where the file is too large to be shown.
    pub sources: Sources,
    /// The mistakes; at least one.
    pub diagnostics: Vec<Diagnostic>,
}

impl std::fmt::Display for JobErrors {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (index, diagnostic) in self.diagnostics.iter().enumerate() {
            let (line, column) = self.sources.position(diagnostic.span);
            let newline = if index == 0 { "" } else { "\n" };
            write!(
                f,
                "{newline}{}:{line}:{column}: {}",
                self.sources.file(diagnostic.span).name,
                diagnostic.message
            )?;
        }
        Ok(())
    }
}

impl std::error::Error for JobErrors {}

/// A larger file is no job file; it is refused unread.
const LARGEST: usize = 4_000_000;

/// Texts longer than this are not compared with known names: no slip of the fingers makes them.
const LONGEST_COMPARED: usize = 80;

/// Reads a job file. `name` is the file's name as shown to a reader; a name ending in `.json`, or a text that starts
/// with a brace, is read as JSON, everything else as TOML.
pub fn read_job(name: &str, bytes: &[u8], rulebook: &Rulebook) -> Result<Job, JobErrors> {
    JobReader::new(rulebook).read(name, bytes)
}

/// What a rulebook accepts in a job file, made ready once to read many.
#[derive(Debug)]
pub struct JobReader<'r> {
    rulebook: &'r Rulebook,
    keys: keys::Keys,
    alloys: catalogue::Catalogue,
    fillers: catalogue::Catalogue,
}

impl<'r> JobReader<'r> {
    /// Gathers the keys, alloys and fillers that the rulebook knows, with every accepted spelling.
    pub fn new(rulebook: &'r Rulebook) -> Self {
        JobReader {
            rulebook,
            keys: keys::Keys::of(rulebook),
            alloys: catalogue::Catalogue::of(rulebook, designation::Sort::Alloy),
            fillers: catalogue::Catalogue::of(rulebook, designation::Sort::Filler),
        }
    }

    /// Every relation that a job file may state facts of.
    pub fn relations(&self) -> Vec<RelationId> {
        let shapes = shapes::JobRelations::of(self.rulebook, &mut Vec::new());
        let asked = self.keys.questions.iter().map(|question| question.relation);
        shapes.relations().chain(asked).collect()
    }

    /// The questions that a job file may answer.
    pub fn questions(&self) -> &[QuestionKey] {
        &self.keys.questions
    }

    /// The base alloys that a part may be made of, by canonical name, in the rulebook's order.
    pub fn alloys(&self) -> &[Arc<str>] {
        self.alloys.names()
    }

    /// The canonical name of a filler in any of its spellings; `None` where it has none, or several.
    pub fn filler_named(&self, written: &str) -> Option<Arc<str>> {
        self.fillers.resolve(written).ok().map(|designated| designated.name)
    }

    /// The canonical name of a base alloy in any of its spellings; `None` where it has none, or several.
    pub fn alloy_named(&self, written: &str) -> Option<Arc<str>> {
        self.alloys.resolve(written).ok().map(|designated| designated.name)
    }

    /// Reads a job file, as [`read_job`] does.
    pub fn read(&self, name: &str, bytes: &[u8]) -> Result<Job, JobErrors> {
        let failed = |text: &str, diagnostics| Err(JobErrors { sources: one_file(name, text), diagnostics });
        if bytes.len() > LARGEST {
            let message = format!("the job file is too large: more than {} MB", LARGEST / 1_000_000);
            let help = "is this the right file? a job file lists parts and joints, a few lines each";
            return failed("", vec![Diagnostic::new(Span::default(), message, "not read").help(help)]);
        }
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
            Err(error) => {
                let start = error.valid_up_to() as u32;
                // The replacement character that stands for the first bad byte takes three bytes.
                let span = Span { file: 0, start, end: start + 3 };
                let diagnostic = Diagnostic::new(span, "the job file is not UTF-8 text", "not a character")
                    .help("save the file with the encoding UTF-8");
                return failed(&String::from_utf8_lossy(bytes), vec![diagnostic]);
            }
        };
        if text.trim().is_empty() {
            let diagnostic = Diagnostic::new(Span::default(), "the job file is empty", "nothing stands here")
                .help("a job needs [parts.NAME] with an alloy, and [[joints]] with a name and between");
            return failed(text, vec![diagnostic]);
        }
        let json = is_json(name, text);
        if let Some(at) = tree::too_deep(text, json) {
            let span = Span { file: 0, start: at as u32, end: at as u32 + 1 };
            let message = format!("brackets nest more than {} deep", tree::DEEPEST);
            return failed(text, vec![Diagnostic::new(span, message, "one too many opens here")]);
        }
        let mut reader = walk::Walk::new(self, json);
        let root = if json {
            json_text::parse(text, &mut reader.diagnostics)
        } else {
            let root = toml_text::parse(text, &mut reader.diagnostics);
            reader.incomplete = !reader.diagnostics.is_empty();
            root
        };
        let content = root.map(|root| reader.read(root));
        match content {
            Some(content) if reader.diagnostics.is_empty() => Ok(Job {
                title: content.title,
                file: name.to_owned(),
                fingerprint: Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect(),
                parts: content.parts,
                joints: content.joints,
                available: content.available,
                order: content.order,
                facts: content.facts,
                sources: one_file(name, text),
            }),
            _ => failed(text, reader.into_diagnostics()),
        }
    }
}

/// Whether a job file is JSON rather than TOML: by its name, or by the brace that it starts with.
pub fn is_json(name: &str, text: &str) -> bool {
    name.to_ascii_lowercase().ends_with(".json") || text.trim_start().starts_with('{')
}

fn one_file(name: &str, text: &str) -> Sources {
    Sources { files: vec![SourceFile { name: name.to_owned(), text: text.to_owned() }] }
}

/// A text from the file as it is quoted in a message: short, on one line, without control characters.
fn shorten(text: &str) -> String {
    let mut quoted: String =
        text.chars().take(60).map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    if quoted.len() < text.len() && text.chars().nth(60).is_some() {
        quoted.push('…');
    }
    quoted
}
