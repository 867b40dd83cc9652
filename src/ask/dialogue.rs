//! The dialogue: the question that decides most, its answer, and again, until nothing that is open can change the result.

use super::file::{FileError, JobFile};
use crate::change::{
    Accepts, ChangeError, DecidingQuestion, OpenQuestions, Session, Setting, Written, open_questions, reasons,
};
use crate::engine::Recording;
use crate::show;
use crate::verdict::DecisionError;
use std::collections::BTreeSet;
use std::io::{BufRead, Read, Write};

/// Why a dialogue broke off.
#[derive(Debug, thiserror::Error)]
pub enum AskError {
    /// The job cannot be decided.
    #[error(transparent)]
    Change(#[from] ChangeError),
    /// The job file cannot be written.
    #[error(transparent)]
    File(#[from] FileError),
    /// What is said cannot be read or written.
    #[error(transparent)]
    Line(#[from] std::io::Error),
}

impl From<DecisionError> for AskError {
    fn from(error: DecisionError) -> Self {
        AskError::Change(error.into())
    }
}

/// No answer is longer.
const LONGEST_LINE: u64 = 4096;

/// What was said to a question.
enum Reply {
    Why,
    Later,
    Stop,
    JointByJoint,
    Answer(String),
}

/// Asks the open questions of a job, the one that decides most first, and writes each answer into the job file. Ends when
/// nothing that is open can change the result, when everything else was left open, or when the other side has had enough;
/// then shows the result. Gives how it stands then.
pub fn converse(
    session: &Session<'_>,
    file: &mut JobFile,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
    width: usize,
) -> Result<OpenQuestions, AskError> {
    let mut apart = BTreeSet::new();
    let mut left = BTreeSet::new();
    let mut open = open_questions(session, file.job(), &apart)?;
    write!(output, "{}", show::opening(&open, file.job(), width))?;
    'questions: while let Some(asked) = open.questions.iter().find(|asked| !left.contains(&asked.path)) {
        write!(output, "\n{}", show::question(asked, width))?;
        loop {
            match said(asked, input, output)? {
                Reply::Why => {
                    let reasons = reasons(session, file.job(), asked)?;
                    write!(output, "{}", show::meaning(asked, &open, &reasons, width))?;
                }
                Reply::Later => {
                    left.insert(asked.path.clone());
                    continue 'questions;
                }
                Reply::Stop => break 'questions,
                Reply::JointByJoint => {
                    apart.insert(asked.path.kind());
                    break;
                }
                Reply::Answer(text) => {
                    let setting = Setting { path: asked.path.clone(), value: Written::Text(text) };
                    match file.answer(session, &setting) {
                        Ok(setting) => {
                            write!(output, "{}", show::written(&setting.to_string(), width))?;
                            break;
                        }
                        Err(FileError::Refused(error)) => write!(output, "{}", refusal(&error, width))?,
                        Err(error) => return Err(error.into()),
                    }
                }
            }
        }
        open = open_questions(session, file.job(), &apart)?;
    }
    let decision = session.decide(file.job().clone(), Recording::Everything)?;
    write!(output, "\n{}", show::ending(&open, &decision.report(), file.job(), width))?;
    output.flush()?;
    Ok(open)
}

/// Reads what is said to a question. The end of the input ends the dialogue.
fn said(asked: &DecidingQuestion, input: &mut dyn BufRead, output: &mut dyn Write) -> std::io::Result<Reply> {
    write!(output, "> ")?;
    output.flush()?;
    let mut line = Vec::new();
    if input.take(LONGEST_LINE).read_until(b'\n', &mut line)? == 0 {
        writeln!(output)?;
        return Ok(Reply::Stop);
    }
    let line = String::from_utf8_lossy(&line);
    let line = line.trim();
    // Where the rulebook has such a word, the word is meant.
    let is_word = matches!(&asked.accepts, Accepts::Words { words } if words.iter().any(|word| word == line));
    Ok(match line {
        _ if is_word => Reply::Answer(line.to_owned()),
        "?" => Reply::Why,
        "" | "later" => Reply::Later,
        "stop" => Reply::Stop,
        "each" if asked.is_common() => Reply::JointByJoint,
        // Quotation marks are for the file.
        _ => Reply::Answer(match Written::parse(line) {
            Written::Text(text) => text,
            _ => line.to_owned(),
        }),
    })
}

/// Why an answer was not taken, in the words of whoever reads the job file.
fn refusal(error: &ChangeError, width: usize) -> String {
    match error {
        ChangeError::Job(errors) => match errors.diagnostics.first() {
            Some(first) => show::refused(&first.message, first.help.as_deref(), width),
            None => show::refused(&errors.to_string(), None, width),
        },
        other => show::refused(&other.to_string(), None, width),
    }
}
