//! `whyrod suppose JOB 'PATH = VALUE' …`.

use super::{Ending, Failure, General, inputs, print_answer};
use crate::change::{ChangeError, Session, Setting, SettingError, suppose};
use crate::show::{supposed, width};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `suppose`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod suppose cyclone.toml 'service.finish = \"clear anodised\"'
  whyrod suppose cyclone.toml 'joints.\"boss seat\".leg = \"5 mm\"' 'parts.shell.alloy = \"3003\"'
  whyrod suppose cyclone.toml 'choice.order = [\"forming\", \"corrosion\"]' --joint \"boss seat\"

Nothing is written to the job file. The exit status is 3 where nothing moves.")]
pub struct Arguments {
    /// The job file (TOML or JSON); - reads standard input
    job: PathBuf,
    /// A place in the job file and its new value; parts and joints go by their name
    #[arg(required = true, value_name = "PATH = VALUE")]
    changes: Vec<String>,
    /// Only this joint; every joint where left out
    #[arg(long, value_name = "NAME")]
    joint: Option<String>,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let settings: Vec<Setting> =
        arguments.changes.iter().map(|text| text.parse()).collect::<Result<_, SettingError>>()?;
    let rulebook = inputs::rulebook(general)?;
    let job = inputs::job(&arguments.job, &rulebook, general)?;
    let session = Session::new(&rulebook)?;
    let answer = suppose(&session, job, &settings, arguments.joint.as_deref())
        .map_err(|error| change_failure(&error, general))?;
    print_answer(general, &answer, || supposed(&answer, width()))?;
    Ok(if answer.moved { Ending::Done } else { Ending::None })
}

/// A change that cannot be made, drawn where it stands in the changed job.
fn change_failure(error: &ChangeError, general: &General) -> Failure {
    match error {
        ChangeError::Job(errors) => inputs::job_failure(errors, "the changed job", general),
        other => Failure::message(other),
    }
}
