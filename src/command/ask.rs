//! `whyrod ask JOB`.

use super::{Ending, Failure, General, inputs, print_json};
use crate::ask::{AskError, FileError, JobFile, converse};
use crate::change::{ChangeError, OpenQuestions, Session, Setting, SettingError, open_questions};
use crate::show::width;
use crate::verdict::JobStamp;
use clap::Args;
use serde::Serialize;
use std::collections::BTreeSet;
use std::io::IsTerminal;
use std::path::PathBuf;

/// Arguments of `ask`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod ask cyclone.toml
  whyrod ask cyclone.toml --answer 'service.exposure = \"dry\"'
  whyrod ask cyclone.toml --json

Only questions are asked that can change which filler is recommended at some
joint, and the asking stops as soon as none is left. Of words every one is
tried, of numbers some over the usual range. At a question, ? tells
why it matters, \"later\" or an empty line leaves it open, \"stop\" or the end
of input ends it, and \"each\" asks joint by joint what is asked of all joints.
Comments and layout of the job file are kept, and nothing in it is overwritten.

Without a terminal, or with --json, the questions are printed as JSON, with
what each answer would bring; nothing is asked.")]
pub struct Arguments {
    /// The job file (TOML or JSON); - reads standard input, and prints JSON
    job: PathBuf,
    /// Write this answer into the job file before anything is asked
    #[arg(long = "answer", value_name = "PATH = VALUE")]
    answers: Vec<String>,
}

/// The questions as JSON.
#[derive(Serialize)]
struct Questions {
    job: JobStamp,
    #[serde(flatten)]
    open_questions: OpenQuestions,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let answers: Vec<Setting> =
        arguments.answers.iter().map(|text| text.parse()).collect::<Result<_, SettingError>>()?;
    let from_input = arguments.job.as_os_str() == "-";
    let rulebook = inputs::rulebook(general)?;
    let mut job = inputs::job(&arguments.job, &rulebook, general)?;
    let session = Session::new(&rulebook)?;
    if from_input && !answers.is_empty() {
        return Err(Failure::message("there is no file to write an answer into; name the job file"));
    }
    let failed = |error: AskError| failure(&error, general);
    let terminal = std::io::stdin().is_terminal() && std::io::stdout().is_terminal();
    if !from_input && (!answers.is_empty() || (terminal && !general.json)) {
        let mut file = JobFile::new(&arguments.job, job).map_err(|error| failed(error.into()))?;
        for answer in &answers {
            file.answer(&session, answer).map_err(|error| failed(error.into()))?;
        }
        if terminal && !general.json {
            let (mut input, mut output) = (std::io::stdin().lock(), std::io::stdout().lock());
            converse(&session, &mut file, &mut input, &mut output, width()).map_err(failed)?;
            return Ok(Ending::Done);
        }
        job = file.job().clone();
    }
    let open_questions =
        open_questions(&session, &job, &BTreeSet::new()).map_err(|error| failed(error.into()))?;
    let stamp = JobStamp { title: job.title.unwrap_or_default(), fingerprint: job.fingerprint };
    print_json(&Questions { job: stamp, open_questions })?;
    Ok(Ending::Done)
}

/// An answer that the job file cannot take, drawn where it would stand.
fn failure(error: &AskError, general: &General) -> Failure {
    match error {
        AskError::Change(ChangeError::Job(errors))
        | AskError::File(FileError::Refused(ChangeError::Job(errors))) => {
            inputs::job_failure(errors, "the answered job", general)
        }
        other => Failure::message(other),
    }
}
