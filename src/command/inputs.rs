//! Reading what the commands are given: the rulebook, built in or from a folder, and the job.

use super::{Failure, General};
use crate::engine::Recording;
use crate::job::{Job, JobErrors, read_job};
use crate::language::{
    Diagnostic, PatternError, Rulebook, RulebookError, Sources, draw, read_rulebook, read_rulebook_texts,
};
use crate::verdict::{Decision, decide};
use include_dir::{Dir, include_dir};
use std::io::{IsTerminal, Read};
use std::path::Path;

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/rules");

/// A job file that is larger than this is not read to its end; the reader refuses much less.
const MUCH: u64 = 8 * 1024 * 1024;

/// The rulebook that is asked for.
pub fn rulebook(general: &General) -> Result<Rulebook, Failure> {
    match &general.rules {
        Some(folder) => read_rulebook(folder).map_err(|error| rulebook_failure(&error, general)),
        None => built_in().map_err(|error| rulebook_failure(&error, general)),
    }
}

fn built_in() -> Result<Rulebook, RulebookError> {
    let mut files = Vec::new();
    collect(&BUILT_IN, &mut files);
    read_rulebook_texts(files.iter().map(|(name, text)| (name.as_str(), *text)))
}

fn collect<'d>(folder: &'d Dir<'d>, files: &mut Vec<(String, &'d str)>) {
    for file in folder.files() {
        let name = file.path().to_string_lossy().replace('\\', "/");
        if let (true, Some(text)) = (name.ends_with(".why"), file.contents_utf8()) {
            files.push((name, text));
        }
    }
    folder.dirs().for_each(|folder| collect(folder, files));
}

/// A rulebook's mistakes, drawn.
pub fn rulebook_failure(error: &RulebookError, general: &General) -> Failure {
    match error {
        RulebookError::Unreadable { .. } => Failure(format!("error: {error}\n")),
        RulebookError::Mistakes { sources, diagnostics } => {
            Failure(format!("{}error: {error}\n", drawn(diagnostics, sources, general)))
        }
    }
}

/// The mistakes of a fact that was asked about, drawn.
pub fn pattern_failure(error: &PatternError, general: &General) -> Failure {
    Failure(format!("{}error: {error}\n", drawn(&error.diagnostics, &error.sources, general)))
}

fn drawn(diagnostics: &[Diagnostic], sources: &Sources, general: &General) -> String {
    let colour = match general.colour {
        super::Colour::Always => true,
        super::Colour::Never => false,
        super::Colour::Auto => std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none(),
    };
    draw(diagnostics, sources, colour)
}

/// The job in a file; `-` is standard input.
pub fn job(path: &Path, rulebook: &Rulebook, general: &General) -> Result<Job, Failure> {
    let from_input = path.as_os_str() == "-";
    let name = if from_input { "standard input".to_owned() } else { path.display().to_string() };
    let unreadable = |error: std::io::Error| Failure(format!("error: {name}: {error}\n"));
    let mut bytes = Vec::new();
    if from_input {
        std::io::stdin().lock().take(MUCH).read_to_end(&mut bytes).map_err(unreadable)?;
    } else {
        let file = std::fs::File::open(path).map_err(unreadable)?;
        file.take(MUCH).read_to_end(&mut bytes).map_err(unreadable)?;
    }
    read_job(&name, &bytes, rulebook).map_err(|errors| job_failure(&errors, "the job file", general))
}

/// A job's mistakes, drawn; `what` has them.
pub fn job_failure(errors: &JobErrors, what: &str, general: &General) -> Failure {
    let count = errors.diagnostics.len();
    let plural = if count == 1 { "" } else { "s" };
    let drawn = drawn(&errors.diagnostics, &errors.sources, general);
    Failure(format!("{drawn}error: {what} has {count} mistake{plural}\n"))
}

/// The job, decided.
pub fn decision<'r>(
    path: &Path,
    rulebook: &'r Rulebook,
    general: &General,
    recording: Recording,
) -> Result<Decision<'r>, Failure> {
    let job = job(path, rulebook, general)?;
    Ok(decide(rulebook, job, recording)?)
}
