//! `whyrod rulebook`: looking after a rulebook.

use super::{Ending, Failure, General, inputs, print_answer};
use crate::explain::{review, sources};
use crate::language::Rulebook;
use crate::show;
use clap::{Args, Subcommand};
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
  whyrod rulebook check --all           name all that no expectation reaches

The exit status is 3 where the rules can be read and an expectation does not
hold. That a finding is reached by no expectation is a remark, unless --strict
is given.")]
    Check {
        /// The folder; the built-in rulebook (or the one of --rules) where left out
        folder: Option<PathBuf>,
        /// Name every finding that no expectation reaches, not only the first
        #[arg(long)]
        all: bool,
        /// End with status 3 also where no expectation reaches a finding
        #[arg(long)]
        strict: bool,
    },
    /// The sources that a rulebook names, and what rests on each, as a page
    #[command(after_help = "\
Examples:
  whyrod rulebook sources my-rules      those of the rulebook in a folder
  whyrod rulebook sources > SOURCES.md  a page to go with the built-in one")]
    Sources {
        /// The folder; the built-in rulebook (or the one of --rules) where left out
        folder: Option<PathBuf>,
    },
}

fn rulebook(folder: Option<&PathBuf>, general: &General) -> Result<Rulebook, Failure> {
    match folder {
        Some(folder) => inputs::rulebook_in(Some(folder), general),
        None => inputs::rulebook(general),
    }
}

pub(super) fn run(arguments: &Arguments, general: &General) -> Result<Ending, Failure> {
    match &arguments.task {
        Task::Check { folder, all, strict } => {
            let review = review(&rulebook(folder.as_ref(), general)?)?;
            print_answer(general, &review, || show::review(&review, show::width(), *all))?;
            let wanting = review.failed().next().is_some()
                || !review.holes.is_empty()
                || *strict && !review.unreached.is_empty();
            Ok(if wanting { Ending::None } else { Ending::Done })
        }
        Task::Sources { folder } => {
            let list = sources(&rulebook(folder.as_ref(), general)?);
            print_answer(general, &list, || show::sources(&list))?;
            Ok(Ending::Done)
        }
    }
}
