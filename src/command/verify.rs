//! `whyrod verify RECORD`.

use super::{Ending, Failure, General, inputs, print, print_json};
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
  whyrod record cyclone.toml | whyrod verify - --json

The record's own rulebook is the one that counts. The exit status is 3 where
something does not hold.")]
pub struct Arguments {
    /// The record that `whyrod record` wrote; - reads standard input
    record: PathBuf,
    /// Name everything that does not hold, not only the first of it
    #[arg(long)]
    all: bool,
}

/// How many problems are named where not all are asked for.
const FIRST: usize = 12;

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    read_ahead();
    let record = inputs::record(&arguments.record)?;
    let outcome = verify(&record, &inputs::usual(general)?);
    if general.json {
        print_json(&outcome)?;
    } else {
        let about = format!("The record of {}", record.job.file);
        let most = if arguments.all { usize::MAX } else { FIRST };
        print(&checked(&outcome, &about, width(), most))?;
    }
    Ok(if outcome.holds { Ending::Done } else { Ending::None })
}
