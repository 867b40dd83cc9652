//! `whyrod rulebook check`.

use super::{Ending, Failure, General, inputs, print, print_json};
use crate::language::read_rulebook;
use crate::verdict::{Checked, check_expectations};
use clap::{Args, Subcommand};
use serde::Serialize;
use std::path::PathBuf;

/// Arguments of `rulebook`.
#[derive(Args, Debug)]
pub struct Arguments {
    #[command(subcommand)]
    task: Task,
}

#[derive(Subcommand, Debug)]
enum Task {
    /// Read a rulebook, report every mistake, and run its expectations
    #[command(after_help = "\
Examples:
  whyrod rulebook check                 the built-in rulebook
  whyrod rulebook check my-rules        the one in a folder

The exit status is 3 where the rules can be read and an expectation does not hold.")]
    Check {
        /// The folder; the built-in rulebook (or the one of --rules) where left out
        folder: Option<PathBuf>,
    },
}

#[derive(Serialize)]
struct Summary<'a> {
    findings: usize,
    relations: usize,
    table_facts: usize,
    fingerprint: &'a str,
    expectations: &'a [Checked],
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    let Task::Check { folder } = &arguments.task;
    let rulebook = match folder {
        Some(folder) => read_rulebook(folder).map_err(|error| inputs::rulebook_failure(&error, general))?,
        None => inputs::rulebook(general)?,
    };
    let checked = check_expectations(&rulebook)?;
    let failed: Vec<&Checked> = checked.iter().filter(|checked| !checked.failures.is_empty()).collect();
    if general.json {
        print_json(&Summary {
            findings: rulebook.findings.len(),
            relations: rulebook.relations.len(),
            table_facts: rulebook.facts.len(),
            fingerprint: &rulebook.fingerprint,
            expectations: &checked,
        })?;
    } else {
        let mut text = format!(
            "{} findings, {} relations, {} facts in tables, {} curves: no mistakes.\n{} of {} expectations hold.\n",
            rulebook.findings.len(),
            rulebook.relations.len(),
            rulebook.facts.len(),
            rulebook.curves.len(),
            checked.len() - failed.len(),
            checked.len()
        );
        for expectation in &failed {
            text.push_str(&format!("\n{} ({}:{})\n", expectation.name, expectation.file, expectation.line));
            for failure in &expectation.failures {
                text.push_str(&format!("  {failure}\n"));
            }
        }
        print(&text)?;
    }
    Ok(if failed.is_empty() { Ending::Done } else { Ending::None })
}
