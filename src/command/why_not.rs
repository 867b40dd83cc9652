//! `whyrod why-not JOB FILLER`.

use super::why::{Asked, ask};
use super::{Ending, Failure, General};
use crate::explain::why_not;
use crate::verdict::Verdict;
use clap::Args;

/// Arguments of `why-not`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod why-not cyclone.toml 5356
  whyrod why-not cyclone.toml 5356 --joint \"boss seat\" --json

The exit status is 3 where nothing stands against the filler: it is recommended.")]
pub struct Arguments {
    #[command(flatten)]
    asked: Asked,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let answers = ask(&arguments.asked, general, why_not, |answer| {
        let (filler, joint) = (&answer.filler, &answer.joint);
        match answer.verdict {
            Verdict::Recommended => format!("Nothing stands against {filler} at {joint}: it is recommended."),
            Verdict::Barred => format!("{filler} is barred at {joint}:"),
            Verdict::Usable if answer.derivation.nodes.is_empty() => {
                format!("Nothing stands against {filler} at {joint} yet; whether another filler beats it waits on an answer.")
            }
            Verdict::Usable => format!("Nothing bars {filler} at {joint}, but another filler beats it:"),
            Verdict::Open => format!("Whether {filler} may be used at {joint} waits on an answer:"),
        }
    })?;
    let holds = answers.iter().any(|answer| answer.verdict != Verdict::Recommended);
    Ok(if holds { Ending::Done } else { Ending::None })
}
