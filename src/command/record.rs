//! `whyrod record JOB`.

use super::{Ending, Failure, General, inputs, to_output, write_new};
use crate::engine::Recording;
use crate::record::{RecordBudget, record};
use crate::verdict::read_ahead;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `record`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod record cyclone.toml -o cyclone-record.json
  whyrod verify cyclone-record.json

The record is JSON and holds the job, the rulebook, every fact with all that
yields it, and the verdicts. `whyrod verify` checks one step by step.")]
pub struct Arguments {
    /// The job file (TOML or JSON); - reads standard input
    job: PathBuf,
    /// Write into this file instead of standard output
    #[arg(short, long, value_name = "FILE.json")]
    output: Option<PathBuf>,
    /// Write over a file that is there
    #[arg(long, requires = "output")]
    overwrite: bool,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    read_ahead();
    let rulebook = inputs::rulebook(general)?;
    let decision = inputs::decision(&arguments.job, &rulebook, general, Recording::Everything)?;
    let (record, budget) = (record(&decision)?, RecordBudget::default().times(general.budget));
    match &arguments.output {
        Some(path) => write_new(path, arguments.overwrite, |out| record.write(out, &budget))?,
        None => {
            // What is too large for a reader is refused before any of it is out.
            record.write(std::io::sink(), &budget)?;
            to_output(|out| record.write(out, &budget))?;
        }
    }
    Ok(Ending::Done)
}
