//! Reading what the commands are given: the rulebook, built in or from a folder, and the job.

use super::{Failure, General};
use crate::built_in::{built_in, built_in_files};
use crate::engine::Recording;
use crate::job::{Job, JobErrors, read_job};
use crate::language::{
    Budget, Diagnostic, PatternError, Rulebook, RulebookError, SourceFile, Sources, draw, fingerprint,
    read_rulebook_within,
};
use crate::record::{Record, RecordBudget};
use crate::verdict::{Decision, DecisionError, decide};
use crate::verify::Usual;
use std::io::{IsTerminal, Read};
use std::path::Path;

/// A job file that is larger than this is not read to its end; the reader refuses much less.
const MUCH: u64 = 8 * 1024 * 1024;

/// The rulebook that is asked for.
pub fn rulebook(general: &General) -> Result<Rulebook, Failure> {
    rulebook_in(general.rules.as_deref(), general)
}

/// The rulebook in a folder, or the built-in one.
pub fn rulebook_in(folder: Option<&Path>, general: &General) -> Result<Rulebook, Failure> {
    let budget = Budget::default().times(general.budget);
    let read = folder.map_or_else(built_in, |folder| read_rulebook_within(folder, budget));
    let rulebook = read.map_err(|error| rulebook_failure(&error, general))?;
    Ok(Rulebook { budget, ..rulebook })
}

/// The rulebook that a record is compared with: the one that is asked for.
pub fn usual(general: &General) -> Result<Usual, Failure> {
    Ok(match &general.rules {
        Some(folder) => {
            let rulebook = rulebook(general)?;
            Usual {
                fingerprint: rulebook.fingerprint,
                called: format!("the one in {}", folder.display()),
                files: rulebook.sources.files,
            }
        }
        None => {
            let files = built_in_files();
            Usual {
                fingerprint: fingerprint(files.iter().map(|(name, text)| (name.as_str(), *text))),
                called: "the one that this program brings along".to_owned(),
                files: files
                    .into_iter()
                    .map(|(name, text)| SourceFile { name, text: text.to_owned() })
                    .collect(),
            }
        }
    })
}

/// A rulebook's mistakes, drawn.
pub fn rulebook_failure(error: &RulebookError, general: &General) -> Failure {
    match error {
        RulebookError::Unreadable { .. } => Failure::message(error),
        RulebookError::Mistakes { sources, diagnostics } => {
            Failure::drawn(&drawn(diagnostics, sources, general), error)
        }
    }
}

/// The mistakes of a fact that was asked about, drawn.
pub fn pattern_failure(error: &PatternError, general: &General) -> Failure {
    Failure::drawn(&drawn(&error.diagnostics, &error.sources, general), error)
}

fn drawn(diagnostics: &[Diagnostic], sources: &Sources, general: &General) -> String {
    let colour = match general.colour {
        super::Colour::Always => true,
        super::Colour::Never => false,
        super::Colour::Auto => std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none(),
    };
    draw(diagnostics, sources, colour)
}

/// A file's name as it is shown; `-` is standard input.
fn name_of(path: &Path) -> String {
    if path.as_os_str() == "-" { "standard input".to_owned() } else { path.display().to_string() }
}

/// A file's name as it is shown, and so many of its bytes at most; `-` is standard input.
fn read(path: &Path, most: u64) -> Result<(String, Vec<u8>), Failure> {
    let name = name_of(path);
    let unreadable = |error: std::io::Error| Failure::message(format!("{name}: {error}"));
    let mut bytes = Vec::new();
    if path.as_os_str() == "-" {
        std::io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(unreadable)?;
    } else {
        let file = std::fs::File::open(path).map_err(unreadable)?;
        file.take(most).read_to_end(&mut bytes).map_err(unreadable)?;
    }
    Ok((name, bytes))
}

/// The record in a file; `-` is standard input. It is read as it comes in.
pub fn record(path: &Path, budget: &RecordBudget) -> Result<Record, Failure> {
    let name = name_of(path);
    let read = if path.as_os_str() == "-" {
        Record::read(std::io::stdin().lock(), budget)
    } else {
        let file = std::fs::File::open(path).map_err(|error| Failure::message(format!("{name}: {error}")))?;
        Record::read(file, budget)
    };
    read.map_err(|error| {
        let (message, place) =
            (error.to_string(), format!(" at line {} column {}", error.line(), error.column()));
        let message = message.strip_suffix(&place).unwrap_or(&message);
        let place = format!("{name}:{}:{}", error.line(), error.column());
        Failure::message(match message {
            _ if error.is_io() => format!("{name}: {message}"),
            "invalid unicode code point" => format!("{place}: the record is not UTF-8 text"),
            "recursion limit exceeded" => format!("{place}: brackets nest deeper here than in any record"),
            message => format!("{place}: this is no record: {message}"),
        })
    })
}

/// A job file's name and text; `-` is standard input.
pub fn job_text(path: &Path) -> Result<(String, Vec<u8>), Failure> {
    read(path, MUCH)
}

/// The job in a file; `-` is standard input.
pub fn job(path: &Path, rulebook: &Rulebook, general: &General) -> Result<Job, Failure> {
    let (name, bytes) = read(path, MUCH)?;
    read_job(&name, &bytes, rulebook).map_err(|errors| job_failure(&errors, "the job file", general))
}

/// A job's mistakes, drawn; `what` has them.
pub fn job_failure(errors: &JobErrors, what: &str, general: &General) -> Failure {
    let count = errors.diagnostics.len();
    let plural = if count == 1 { "" } else { "s" };
    let drawn = drawn(&errors.diagnostics, &errors.sources, general);
    Failure::drawn(&drawn, format!("{what} has {count} mistake{plural}"))
}

/// The job, decided.
pub fn decision<'r>(
    path: &Path,
    rulebook: &'r Rulebook,
    general: &General,
    recording: Recording,
) -> Result<Decision<'r>, Failure> {
    let job = job(path, rulebook, general)?;
    decide(rulebook, job, recording).map_err(|error| match &error {
        DecisionError::Impossible(errors) => job_failure(errors, "the job", general),
        other => Failure::message(other),
    })
}
