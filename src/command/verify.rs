//! `whyrod verify RECORD`.

use super::{Ending, Failure, General, inputs, print_answer};
use crate::record::RecordBudget;
use crate::show::{checked, width};
use crate::verdict::read_ahead;
use crate::verify::verify;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `verify`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod verify cyclone-record.json
  whyrod verify cyclone-record.json --all
  whyrod verify cyclone-record.json --strict
  whyrod record cyclone.toml | whyrod verify - --json

The record's own rulebook is the one that counts; where it is not the one of
this program, what differs is named, and how many verdicts rest on it. The exit
status is 3 where something does not hold.")]
pub struct Arguments {
    /// The record that `whyrod record` wrote; - reads standard input
    record: PathBuf,
    /// Name everything that does not hold, not only the first of it
    #[arg(long)]
    all: bool,
    /// End with status 3 also where the record's rules are not those of this
    /// program, or of --rules
    #[arg(long)]
    strict: bool,
}

/// How many problems are named where not all are asked for.
const FIRST: usize = 12;

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    read_ahead();
    let budget = RecordBudget::default().times(general.budget);
    let record = inputs::record(&arguments.record, &budget)?;
    let outcome = verify(&record, &inputs::usual(general)?, &budget)?;
    print_answer(general, &outcome, || {
        let about = format!("The record of {}", record.job.file);
        checked(&outcome, &about, width(), if arguments.all { usize::MAX } else { FIRST })
    })?;
    let strange = arguments.strict && !outcome.rules.are_usual();
    Ok(if outcome.holds && !strange { Ending::Done } else { Ending::None })
}
