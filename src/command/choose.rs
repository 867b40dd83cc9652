//! `whyrod choose JOB`.

use super::{Ending, Failure, General, inputs, print_answer};
use crate::change::{Session, made_firm, open_questions};
use crate::engine::Recording;
use crate::show::{choice, width};
use crate::verdict::{Verdict, read_ahead};
use clap::Args;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Arguments of `choose`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod choose cyclone.toml
  whyrod choose cyclone.toml --each
  whyrod choose cyclone.toml --json

The exit status is 3 where no filler is usable at some joint.")]
pub struct Arguments {
    /// The job file (TOML or JSON); - reads standard input
    job: PathBuf,
    /// Tell the reason of every filler by itself, also where several share it
    #[arg(long)]
    each: bool,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    read_ahead();
    let rulebook = inputs::rulebook(general)?;
    let decision = inputs::decision(&arguments.job, &rulebook, general, Recording::Everything)?;
    let mut report = decision.report();
    // What is missing may not matter, or may divide the answer: that takes more work, and only where something is open.
    if report.joints.iter().any(|joint| !joint.open.is_empty()) {
        let session = Session::with_memory(&rulebook, decision.derivation.memory())?;
        let open_questions = open_questions(&session, &decision.job, &BTreeSet::new())?;
        made_firm(&mut report, &open_questions);
        decision.cover(&mut report);
    }
    print_answer(general, &report, || choice(&report, &decision.job, width(), arguments.each))?;
    let hopeless = report
        .joints
        .iter()
        .any(|joint| joint.verdicts.iter().all(|verdict| verdict.verdict >= Verdict::Unjudged));
    Ok(if hopeless { Ending::None } else { Ending::Done })
}
