//! `whyrod why-not JOB FILLER`.

use super::progress::Progress;
use super::why::{Asked, about_fact, ask};
use super::{Ending, Failure, General};
use crate::change::{Path, Session, SettingError, smallest_changes};
use crate::explain::{Answer, Presence, why_not};
use crate::show::{changes, width};
use crate::verdict::{Decision, Verdict};
use clap::Args;

/// Arguments of `why-not`.
#[derive(Args, Debug)]
#[command(after_help = "\
Three lengths:
  --brief     one sentence for the booth
  (neither)   what decides, about a screen, down to numbers and sources
  --full      everything for an audit; --depth N cuts it

Examples:
  whyrod why-not cyclone.toml 5356
  whyrod why-not cyclone.toml 5356 --joint \"boss seat\" --brief
  whyrod why-not cyclone.toml --fact 'usable(_, 5356)'
  whyrod why-not cyclone.toml 5356 --keep service.finish --keep parts.shell
  whyrod why-not cyclone.toml 5356 --json

The exit status is 3 where nothing stands against the filler: it is recommended;
or where the fact of --fact holds.")]
pub struct Arguments {
    #[command(flatten)]
    asked: Asked,
    /// Leave the fact at this path as it is when looking for changes; may be given again
    #[arg(long, value_name = "PATH")]
    keep: Vec<String>,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    if let Some(fact) = &arguments.asked.fact {
        let status = about_fact(&arguments.asked, fact, general)?;
        return Ok(if status == Presence::Known { Ending::None } else { Ending::Done });
    }
    let kept: Vec<Path> =
        arguments.keep.iter().map(|path| path.parse()).collect::<Result<_, SettingError>>()?;
    let progress = Progress::new();
    let more = |session: &Session<'_>, decision: &Decision<'_>, answer: &mut Answer| {
        let found = smallest_changes(session, decision, &answer.joint, &answer.filler, &kept, &|decided| {
            progress.report(decided)
        })?;
        let page = changes(&found, &answer.instead, arguments.asked.all, width());
        answer.changes = found.offered;
        Ok(page)
    };
    let answers = ask(&arguments.asked, general, why_not, more, true)?;
    let stands = |answer: &Answer| !answer.listed || answer.verdict != Verdict::Recommended;
    let holds = answers.is_empty() || answers.iter().any(stands);
    Ok(if holds { Ending::Done } else { Ending::None })
}
