//! Reading a rulebook from a folder or from texts in memory: which files belong to it, and its fingerprint.

use super::budget::Budget;
use super::check::{check, check_pattern};
use super::diagnostic::Diagnostic;
use super::expand::expand;
use super::parse::{parse_file, parse_pattern};
use super::rulebook::{Pattern, Rulebook};
use super::source::{SourceFile, Sources, Span};
use super::tree::Item;
use crate::processors::for_each;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Files and folders that take in each other more than this many deep are refused.
const LONGEST_CHAIN: usize = 64;

/// Why a rulebook could not be read.
#[derive(Debug, thiserror::Error)]
pub enum RulebookError {
    /// A file or folder could not be read at all.
    #[error("{path}: {reason}")]
    Unreadable {
        /// The file or folder.
        path: String,
        /// What went wrong.
        reason: String,
    },
    /// The text has mistakes.
    #[error("the rulebook has {} mistake{}", diagnostics.len(), if diagnostics.len() == 1 { "" } else { "s" })]
    Mistakes {
        /// The texts.
        sources: Sources,
        /// Every mistake found, in the order of the texts.
        diagnostics: Vec<Diagnostic>,
    },
}

/// Why a fact that was asked about is none that this rulebook knows.
#[derive(Debug, thiserror::Error)]
#[error("\"{}\" names no fact of this rulebook", sources.files[0].text)]
pub struct PatternError {
    /// The text as given.
    pub sources: Sources,
    /// Every mistake found.
    pub diagnostics: Vec<Diagnostic>,
}

/// Reads a fact with constants and `_`, such as `usable("boss seat", 4043)`, in the words of a rulebook. `name` is how the
/// text is called in messages.
pub fn read_pattern(rulebook: &Rulebook, name: &str, text: &str) -> Result<Pattern, PatternError> {
    let file = SourceFile { name: name.to_owned(), text: text.to_owned() };
    let sources = Sources { files: vec![file] };
    let read = parse_pattern(text).map_err(|diagnostic| vec![diagnostic]);
    match read.and_then(|item| check_pattern(rulebook, &sources, &item)) {
        Ok(pattern) => Ok(pattern),
        Err(diagnostics) => Err(PatternError { sources, diagnostics }),
    }
}

/// Reads every `.why` file of a folder (and of the folders in it), and what they include, within the usual budget.
pub fn read_rulebook(folder: &Path) -> Result<Rulebook, RulebookError> {
    read_rulebook_within(folder, Budget::default())
}

/// Reads a rulebook as [`read_rulebook`] does, within a budget, which also holds for derivations by it.
pub fn read_rulebook_within(folder: &Path, budget: Budget) -> Result<Rulebook, RulebookError> {
    // What a rulebook includes stays within its folder; of a single file, within the folder it stands in.
    let real = folder.canonicalize().map_err(|reason| unreadable(folder, reason))?;
    let root = if real.is_dir() { real } else { real.parent().unwrap_or(Path::new("/")).to_owned() };
    let mut loader = Loader { root, budget, ..Loader::default() };
    loader.path(folder, None)?;
    if loader.sources.files.is_empty() && loader.diagnostics.is_empty() {
        return Err(unreadable(folder, "no .why file in this folder"));
    }
    if loader.items.is_empty() && loader.diagnostics.is_empty() {
        return Err(unreadable(folder, "there are no rules in it"));
    }
    loader.finish()
}

/// Reads a rulebook from named texts. `include` finds nothing here, because there is no folder.
pub fn read_rulebook_texts<'a>(
    files: impl IntoIterator<Item = (&'a str, &'a str)>,
) -> Result<Rulebook, RulebookError> {
    let mut files: Vec<(&str, &str)> = files.into_iter().collect();
    files.sort_unstable();
    let mut loader = Loader::default();
    for ((name, text), parsed) in files.iter().zip(parse_all(&files)) {
        loader.take(name.to_string(), text.to_string(), parsed);
    }
    if let Some((span, path)) = loader.includes.first() {
        let message = format!("\"{}\" cannot be included from a rulebook in memory", path.display());
        loader.diagnostics.push(Diagnostic::new(*span, message, "no folder to look in"));
    }
    loader.finish()
}

/// Reads a rulebook again from the files that it was read from, in their order. What a file includes is among them.
pub fn reread_rulebook(files: &[SourceFile]) -> Result<Rulebook, RulebookError> {
    let named: Vec<(&str, &str)> =
        files.iter().map(|file| (file.name.as_str(), file.text.as_str())).collect();
    let mut loader = Loader::default();
    for (file, parsed) in files.iter().zip(parse_all(&named)) {
        loader.take(file.name.clone(), file.text.clone(), parsed);
    }
    loader.finish()
}

/// SHA-256 over the names and texts of files, in hexadecimal.
pub fn fingerprint<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let mut hash = Sha256::new();
    for (name, text) in files {
        hash.update(name.as_bytes());
        hash.update([0]);
        hash.update(text.as_bytes());
        hash.update([0]);
    }
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What became of one file.
type Parsed = (Vec<Item>, Vec<Diagnostic>);

fn parsed(file: usize, text: &str) -> Parsed {
    let mut diagnostics = Vec::new();
    let items = parse_file(file as u32, text, &mut diagnostics);
    (items, diagnostics)
}

/// Parses files on all processors: reading the built-in rulebook is a good part of the time of a small job.
fn parse_all(files: &[(&str, &str)]) -> Vec<Parsed> {
    // The longest first, so that no processor is left with one at the end.
    let mut order: Vec<usize> = (0..files.len()).collect();
    order.sort_by_key(|file| std::cmp::Reverse(files[*file].1.len()));
    let parsed = for_each(&order, |file| parsed(*file, files[*file].1));
    let mut done: Vec<(usize, Parsed)> = order.into_iter().zip(parsed).collect();
    done.sort_by_key(|(file, _)| *file);
    done.into_iter().map(|(_, parsed)| parsed).collect()
}

#[derive(Default)]
struct Loader {
    /// The real path of the folder that everything must lie in.
    root: PathBuf,
    budget: Budget,
    /// Bytes read so far.
    bytes: u64,
    sources: Sources,
    items: Vec<Item>,
    diagnostics: Vec<Diagnostic>,
    /// Files that were read, by their real path: a file that several folders include is read once.
    read: BTreeSet<PathBuf>,
    /// The files and folders that are being read, each by way of the one before.
    chain: Vec<PathBuf>,
    /// Includes of the text read last.
    includes: Vec<(Span, PathBuf)>,
}

fn unreadable(path: &Path, reason: impl ToString) -> RulebookError {
    RulebookError::Unreadable { path: path.display().to_string(), reason: reason.to_string() }
}

fn mebibytes(bytes: u64) -> String {
    format!("{} MiB", bytes.div_ceil(1 << 20))
}

impl Loader {
    /// Takes in a file or a folder; `from` is the include that asked for it.
    fn path(&mut self, path: &Path, from: Option<Span>) -> Result<(), RulebookError> {
        let failed = |loader: &mut Self, reason: std::io::Error| match from {
            Some(span) => {
                let message = format!("cannot include \"{}\": {reason}", path.display());
                loader.diagnostics.push(Diagnostic::new(span, message, "included here"));
                Ok(())
            }
            None => Err(unreadable(path, reason)),
        };
        let real = match path.canonicalize() {
            Ok(real) => real,
            Err(reason) => return failed(self, reason),
        };
        if let Some(reason) = self.refused(&real) {
            return failed(self, std::io::Error::other(reason));
        }
        if let (Some(start), Some(span)) = (self.chain.iter().position(|open| *open == real), from) {
            let round: Vec<String> =
                self.chain[start..].iter().chain([&real]).map(|path| self.shown_name(path)).collect();
            let message = format!("files include each other in a circle: {}", round.join(" → "));
            self.diagnostics.push(Diagnostic::new(span, message, "the circle closes here"));
            return Ok(());
        }
        if self.chain.len() >= LONGEST_CHAIN {
            let reason = format!("more than {LONGEST_CHAIN} files or folders deep");
            return failed(self, std::io::Error::other(reason));
        }
        if !self.read.insert(real.clone()) {
            return Ok(());
        }
        self.chain.push(real.clone());
        let taken = self.take_in(&real, from, failed);
        self.chain.pop();
        taken
    }

    /// Why a file or folder is not read at all: nothing of a foreign file may show in a message, and what is no ordinary file
    /// may not even have an end.
    fn refused(&self, real: &Path) -> Option<String> {
        if !real.starts_with(&self.root) {
            Some("it lies outside the folder of the rulebook".to_owned())
        } else if !real.is_dir() && !real.is_file() {
            Some("it is no ordinary file".to_owned())
        } else if !real.is_dir() && real.extension().is_none_or(|extension| extension != "why") {
            Some("rule files end in .why".to_owned())
        } else if self.read.len() as u64 >= self.budget.files && !self.read.contains(real) {
            let most = self.budget.files;
            Some(format!(
                "the rulebook has more than {most} files and folders; raise the limit with --budget"
            ))
        } else {
            None
        }
    }

    fn take_in(
        &mut self,
        real: &Path,
        from: Option<Span>,
        failed: impl Fn(&mut Self, std::io::Error) -> Result<(), RulebookError>,
    ) -> Result<(), RulebookError> {
        if real.is_dir() {
            let mut entries: Vec<PathBuf> = match std::fs::read_dir(real) {
                Ok(entries) => entries.filter_map(|entry| entry.ok().map(|entry| entry.path())).collect(),
                Err(reason) => return failed(self, reason),
            };
            entries.sort();
            for entry in entries {
                let hidden = entry.file_name().is_some_and(|name| name.to_string_lossy().starts_with('.'));
                let rules = entry.extension().is_some_and(|extension| extension == "why");
                if !hidden && (entry.is_dir() || rules) {
                    self.path(&entry, from)?;
                }
            }
            return Ok(());
        }
        let mut bytes = Vec::new();
        let Budget { file_bytes, rulebook_bytes, .. } = self.budget;
        let most = file_bytes.saturating_add(1);
        let read = std::fs::File::open(real).and_then(|file| file.take(most).read_to_end(&mut bytes));
        if let Err(reason) = read {
            return failed(self, reason);
        }
        if bytes.len() as u64 > file_bytes {
            let reason = format!("larger than {}; raise the limit with --budget", mebibytes(file_bytes));
            return failed(self, std::io::Error::other(reason));
        }
        self.bytes += bytes.len() as u64;
        if self.bytes > rulebook_bytes {
            let most = mebibytes(rulebook_bytes);
            let reason = format!("the rulebook is larger than {most}; raise the limit with --budget");
            return failed(self, std::io::Error::other(reason));
        }
        let name = self.shown_name(real);
        match String::from_utf8(bytes) {
            Ok(text) => {
                self.text(name, text);
                let folder = real.parent().unwrap_or(Path::new("")).to_owned();
                for (span, include) in std::mem::take(&mut self.includes) {
                    self.path(&folder.join(include), Some(span))?;
                }
                Ok(())
            }
            Err(error) => {
                let start = error.utf8_error().valid_up_to() as u32;
                // The replacement character that stands for the first bad byte takes three bytes.
                let span = Span { file: self.sources.files.len() as u32, start, end: start + 3 };
                let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
                self.sources.files.push(SourceFile { name, text });
                let diagnostic = Diagnostic::new(span, "the rule file is not UTF-8 text", "not a character");
                self.diagnostics.push(diagnostic.help("save the file with the encoding UTF-8"));
                Ok(())
            }
        }
    }

    /// A file's path below the rulebook's folder.
    fn shown_name(&self, real: &Path) -> String {
        let shown = real.strip_prefix(&self.root).ok().filter(|rest| !rest.as_os_str().is_empty());
        shown.unwrap_or(real).to_string_lossy().replace('\\', "/")
    }

    fn text(&mut self, name: String, text: String) {
        let parsed = parsed(self.sources.files.len(), &text);
        self.take(name, text, parsed);
    }

    /// Takes in a file that was parsed under the next free number.
    fn take(&mut self, name: String, text: String, (items, mut diagnostics): Parsed) {
        self.diagnostics.append(&mut diagnostics);
        self.sources.files.push(SourceFile { name, text });
        self.includes.extend(items.iter().filter_map(|item| match item {
            Item::Include(path) => Some((path.span, PathBuf::from(&path.text))),
            _ => None,
        }));
        self.items.extend(items);
    }

    fn finish(self) -> Result<Rulebook, RulebookError> {
        let budget = self.budget;
        let files = self.sources.files.iter();
        let fingerprint = fingerprint(files.map(|file| (file.name.as_str(), file.text.as_str())));
        let mut diagnostics = self.diagnostics;
        let items = expand(self.items, &mut diagnostics);
        check(self.sources, items, fingerprint, diagnostics)
            .map(|rulebook| Rulebook { budget, ..rulebook })
            .map_err(|(sources, diagnostics)| RulebookError::Mistakes { sources, diagnostics })
    }
}
