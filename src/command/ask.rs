//! `whyrod ask JOB`.

use super::{Ending, Failure, General, inputs, print_json};
use crate::change::{Session, inquire};
use clap::Args;
use std::collections::BTreeSet;
use std::path::PathBuf;

/// Arguments of `ask`.
#[derive(Args, Debug)]
pub struct Arguments {
    /// The job file (TOML or JSON)
    job: PathBuf,
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let rulebook = inputs::rulebook(general)?;
    let job = inputs::job(&arguments.job, &rulebook, general)?;
    let t = std::time::Instant::now();
    let session = Session::new(&rulebook)?;
    eprintln!("session {:?}", t.elapsed());
    let t = std::time::Instant::now();
    let outlook = inquire(&session, &job, &BTreeSet::new()).map_err(Failure::told)?;
    eprintln!("inquire {:?}", t.elapsed());
    let t = std::time::Instant::now();
    let outlook = inquire(&session, &job, &BTreeSet::new()).map_err(Failure::told)?;
    eprintln!("inquire again {:?}", t.elapsed());
    print_json(&outlook)?;
    Ok(Ending::Done)
}
