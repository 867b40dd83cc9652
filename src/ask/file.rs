//! The job file while it is being answered: every answer goes in at once, comments and layout kept, and nothing that stands
//! there is written over.

use crate::change::{ChangeError, JobText, PlaceError, Session, Setting, Written};
use crate::files::{self, Present, WriteError};
use crate::job::Job;
use crate::language::Value;
use std::path::{Path, PathBuf};

/// A job file and what was last read from it or written to it.
#[derive(Debug)]
pub struct JobFile {
    path: PathBuf,
    bytes: Vec<u8>,
    job: Job,
}

/// Why an answer could not be written.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// The answer cannot stand there, or is not understood.
    #[error(transparent)]
    Refused(#[from] ChangeError),
    /// A value stands there already.
    #[error("{path} is answered already: {value}; to change it, edit the job file")]
    Answered {
        /// Where.
        path: String,
        /// The value.
        value: String,
    },
    /// Somebody else wrote to the file.
    #[error("{0} was changed by someone else since it was read; the answer was not written: start again")]
    Changed(String),
    /// The file cannot be written.
    #[error(transparent)]
    Unwritten(#[from] WriteError),
    /// The file cannot be read.
    #[error("{file}: {error}")]
    Failed {
        /// The file.
        file: String,
        /// Why.
        error: std::io::Error,
    },
}

impl From<PlaceError> for FileError {
    fn from(error: PlaceError) -> Self {
        FileError::Refused(error.into())
    }
}

const BYTE_ORDER_MARK: char = '\u{feff}';

impl JobFile {
    /// The file that a job was just read from.
    pub fn new(path: &Path, job: Job) -> Result<Self, FileError> {
        let bytes = std::fs::read(path).map_err(|error| failed(path, error))?;
        let text = String::from_utf8_lossy(&bytes);
        if text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(&text) != text_of(&job) {
            return Err(FileError::Changed(path.display().to_string()));
        }
        Ok(JobFile { path: path.to_owned(), bytes, job })
    }

    /// The job as the file states it now.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// Puts an answer into the file and gives it as it is written there: a word or name in the rulebook's own spelling.
    pub fn answer(&mut self, session: &Session<'_>, setting: &Setting) -> Result<Setting, FileError> {
        let text = JobText::of(&self.job)?;
        if let Some(value) = text.value(&setting.path) {
            return Err(FileError::Answered { path: setting.path.to_string(), value: value.to_string() });
        }
        let mut changed = session.changed(&text, std::slice::from_ref(setting))?;
        let mut setting = setting.clone();
        let before: std::collections::HashSet<_> =
            self.job.facts.iter().map(|fact| (fact.relation, shown(&fact.cells))).collect();
        let new = changed.facts.iter().find(|fact| !before.contains(&(fact.relation, shown(&fact.cells))));
        if let Some(Value::Symbol(word)) = new.and_then(|fact| fact.cells.last())
            && matches!(setting.value, Written::Text(_))
        {
            setting.value = Written::Text(word.to_string());
            changed = session.changed(&text, std::slice::from_ref(&setting))?;
        }
        session.possible(&changed)?;
        self.write(text_of(&changed))?;
        self.job = changed;
        Ok(setting)
    }

    /// Puts a text in the file's place, unless somebody else wrote there meanwhile.
    fn write(&mut self, text: &str) -> Result<(), FileError> {
        let failed = |error| failed(&self.path, error);
        if std::fs::read(&self.path).map_err(failed)? != self.bytes {
            return Err(FileError::Changed(self.path.display().to_string()));
        }
        let bytes = self.in_the_file_s_manner(text).into_bytes();
        files::write(&self.path, Present::Replaced, |out| out.write_all(&bytes))?;
        self.bytes = bytes;
        Ok(())
    }

    /// The text with the line ends and the mark at the beginning that the file has.
    fn in_the_file_s_manner(&self, text: &str) -> String {
        let old = String::from_utf8_lossy(&self.bytes);
        let mark = if old.starts_with(BYTE_ORDER_MARK) { "\u{feff}" } else { "" };
        let lines = old.matches('\n').count();
        let text = text.replace("\r\n", "\n");
        let text =
            if lines > 0 && old.matches("\r\n").count() == lines { text.replace('\n', "\r\n") } else { text };
        format!("{mark}{text}")
    }
}

fn text_of(job: &Job) -> &str {
    job.sources.files.first().map_or("", |file| file.text.as_str())
}

fn shown(cells: &[Value]) -> Vec<String> {
    cells.iter().map(ToString::to_string).collect()
}

fn failed(path: &Path, error: std::io::Error) -> FileError {
    FileError::Failed { file: path.display().to_string(), error }
}
