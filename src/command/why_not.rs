//! `whyrod why-not JOB FILLER`.

use super::progress::Progress;
use super::why::{Asked, ask};
use super::{Ending, Failure, General};
use crate::change::{NotationError, Path, Session, smallest_changes};
use crate::explain::{Answer, why_not};
use crate::show::{changes, width};
use crate::verdict::{Decision, Verdict};
use clap::Args;

/// Arguments of `why-not`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod why-not cyclone.toml 5356
  whyrod why-not cyclone.toml 5356 --joint \"boss seat\" --json
  whyrod why-not cyclone.toml 5356 --keep service.finish --keep parts.shell

The exit status is 3 where nothing stands against the filler: it is recommended.")]
pub struct Arguments {
    #[command(flatten)]
    asked: Asked,
    /// Leave the fact at this path as it is when looking for changes; may be given again
    #[arg(long, value_name = "PATH")]
    keep: Vec<String>,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let kept: Vec<Path> =
        arguments.keep.iter().map(|path| path.parse()).collect::<Result<_, NotationError>>()?;
    let progress = Progress::new();
    let more = |session: &Session<'_>, decision: &Decision<'_>, answer: &mut Answer| {
        let found = smallest_changes(session, decision, &answer.joint, &answer.filler, &kept, &|decided| {
            progress.tell(decided)
        })?;
        let told = changes(&found, answer.verdict, arguments.asked.all, width());
        answer.changes = found.offered;
        Ok(told)
    };
    let answers = ask(&arguments.asked, general, why_not, more, |answer| {
        let (filler, joint) = (&answer.filler, &answer.joint);
        match answer.verdict {
            Verdict::Recommended => format!("Nothing stands against {filler} at {joint}: it is recommended."),
            Verdict::Barred => format!("{filler} is barred at {joint}:"),
            Verdict::Usable if answer.derivation.nodes.is_empty() => {
                format!(
                    "Nothing stands against {filler} at {joint} yet; whether another filler beats it waits on an answer."
                )
            }
            Verdict::Usable => format!("Nothing bars {filler} at {joint}, but another filler beats it:"),
            Verdict::Open => format!("Whether {filler} may be used at {joint} waits on an answer:"),
        }
    })?;
    let holds = answers.iter().any(|answer| answer.verdict != Verdict::Recommended);
    Ok(if holds { Ending::Done } else { Ending::None })
}
