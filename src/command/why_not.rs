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
    let answers = ask(&arguments.asked, general, why_not)?;
    let holds = answers.iter().any(|answer| answer.verdict != Verdict::Recommended);
    Ok(if holds { Ending::Done } else { Ending::None })
}
