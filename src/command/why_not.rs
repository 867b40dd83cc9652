//! `whyrod why-not JOB FILLER`.

use super::why::{Asked, about_fact, ask};
use super::{Ending, Failure, General};
use crate::explain::{Presence, why_not};
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
    if let Some(fact) = &arguments.asked.fact {
        let status = about_fact(&arguments.asked, fact, general)?;
        return Ok(if status == Presence::Known { Ending::None } else { Ending::Done });
    }
    let answers = ask(&arguments.asked, general, why_not, true)?;
    let holds = answers.is_empty() || answers.iter().any(|answer| answer.verdict != Verdict::Recommended);
    Ok(if holds { Ending::Done } else { Ending::None })
}
