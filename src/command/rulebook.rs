//! `whyrod rulebook`: looking after a rulebook.

use super::progress::Progress;
use super::{Ending, Failure, General, inputs, print, print_answer};
use crate::compare::{Comparison, Over, compare, shake};
use crate::explain::{item, review, sources};
use crate::language::{Rulebook, nearest};
use crate::show;
use clap::{Args, Subcommand};
use std::path::{Path, PathBuf};

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
    /// What an edit changes: the same jobs decided by two rulebooks
    #[command(after_help = "\
Examples:
  whyrod rulebook compare built-in my-rules             over a systematic set
  whyrod rulebook compare old new job.toml other.toml   over these jobs
  whyrod rulebook compare old new --example 1           the plainest job of group 1
  whyrod rulebook compare old new --all                 every group

The systematic set: every pair of base alloys under three services, with
every filler, and one alloy of each kind under every single answer. Where the
edit can touch it, the freezing of pools is followed for one alloy of each
kind; elsewhere it is left open. The exit status is 3 where a verdict or a
standing differs.")]
    Compare {
        /// The rulebook before the edit: a folder, or `built-in`
        old: PathBuf,
        /// The rulebook after it: a folder, or `built-in`
        new: PathBuf,
        /// Job files to decide by both; the systematic set where left out
        jobs: Vec<PathBuf>,
        /// Name every group, not only the largest
        #[arg(long)]
        all: bool,
        /// Print the job file of this group's example, to try it by itself
        #[arg(long, value_name = "GROUP", value_parser = clap::value_parser!(u32).range(1..), conflicts_with = "json")]
        example: Option<u32>,
    },
    /// A finding by itself: its text, what it rests on, what rests on it, which expectations reach it
    #[command(after_help = "\
Examples:
  whyrod rulebook show corrosion.zinc-weld            a finding
  whyrod rulebook show corrosion.likeness             a ladder, all of its rungs
  whyrod rulebook show corrosion.likeness --rules DIR  of the rulebook in a folder")]
    Show {
        /// The name of a finding, ladder or meaning
        name: String,
    },
    /// What could be removed or shifted and no expectation would notice
    #[command(after_help = "\
Examples:
  whyrod rulebook shake                 the built-in rulebook
  whyrod rulebook shake my-rules --all  name every edit that nobody notices
  whyrod rulebook shake --share 25      move figures by a quarter

Each finding is left out and each figure of a finding is moved up and down, one
at a time; where all expectations still hold, a wrong edit of it would pass.
The exit status is 3 where there is such a finding or figure.")]
    Shake {
        /// The folder; the built-in rulebook (or the one of --rules) where left out
        folder: Option<PathBuf>,
        /// By how many per cent figures are moved
        #[arg(long, default_value_t = 10.0, value_parser = share)]
        share: f64,
        /// Name every edit that nobody notices, not only the first
        #[arg(long)]
        all: bool,
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

/// A part of a figure in per cent.
fn share(text: &str) -> Result<f64, String> {
    match text.trim_end_matches('%').trim().parse::<f64>() {
        Ok(share) if share > 0.0 && share <= 90.0 => Ok(share),
        _ => Err("a number of per cent above 0 and up to 90 is needed".to_owned()),
    }
}

/// One of two rulebooks that are held against each other.
fn side(folder: &Path, general: &General) -> Result<Rulebook, Failure> {
    let folder = (folder.as_os_str() != "built-in").then_some(folder);
    inputs::rulebook_in(folder, general)
}

/// The job file of a group's example.
fn example_file(comparison: &Comparison, number: u32) -> Result<String, Failure> {
    let count = comparison.groups.len();
    let Some(group) = comparison.groups.get(number as usize - 1) else {
        return Err(Failure::message(match count {
            0 => "no verdict differs, so that there is no example".to_owned(),
            1 => "there is one group".to_owned(),
            _ => format!("there are {count} groups"),
        }));
    };
    match &group.example.file {
        Some(file) => Ok(format!("{}\n", serde_json::to_string_pretty(file)?)),
        None => Err(Failure::message(format!(
            "the example is the joint {} of {}",
            group.example.joint, group.example.job
        ))),
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
        Task::Compare { old, new, jobs, all, example } => {
            let [old, new] = [old, new].map(|folder| side(folder, general));
            let (old, new) = (old?, new?);
            let files = jobs.iter().map(|path| inputs::job_text(path)).collect::<Result<Vec<_>, _>>()?;
            let over = if files.is_empty() { Over::Systematic } else { Over::Jobs(files) };
            let progress = Progress::new();
            let comparison = compare(&old, &new, &over, &|done, all| progress.part(done, all))?;
            drop(progress);
            if let Some(number) = example {
                print(&example_file(&comparison, *number)?)?;
                return Ok(Ending::Done);
            }
            print_answer(general, &comparison, || show::comparison(&comparison, show::width(), *all))?;
            Ok(if comparison.same_verdicts() { Ending::Done } else { Ending::None })
        }
        Task::Shake { folder, share, all } => {
            let rulebook = rulebook(folder.as_ref(), general)?;
            let progress = Progress::new();
            let shaken = shake(&rulebook, share / 100.0, &|done, all| progress.part(done, all))?;
            drop(progress);
            print_answer(general, &shaken, || show::shaken(&shaken, show::width(), *all))?;
            let wanting = !shaken.unnoticed_findings.is_empty() || !shaken.unnoticed_moves.is_empty();
            Ok(if wanting { Ending::None } else { Ending::Done })
        }
        Task::Show { name } => {
            let rulebook = inputs::rulebook(general)?;
            let Some(view) = item(&rulebook, name)? else {
                let near = nearest(name, rulebook.findings.iter().map(|finding| finding.id.as_str()));
                let hint = near.map_or(String::new(), |near| format!("; did you mean {near}?"));
                return Err(Failure::message(format!("no finding is called {name}{hint}")));
            };
            print_answer(general, &view, || show::item(&view, show::width()))?;
            Ok(Ending::Done)
        }
        Task::Sources { folder } => {
            let list = sources(&rulebook(folder.as_ref(), general)?);
            print_answer(general, &list, || show::sources(&list))?;
            Ok(Ending::Done)
        }
    }
}
