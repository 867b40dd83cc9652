//! The command line: arguments to calls to exit status. One file a command; nothing here is worth testing by itself.

mod ask;
mod choose;
mod completions;
mod inputs;
mod pool;
mod progress;
mod record;
mod rulebook;
mod suppose;
mod verify;
mod why;
mod why_not;

use crate::files::{self, Present, WriteError};
use crate::visible::{self, visible};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// How a command ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ending {
    /// Done.
    Done,
    /// Done, and the answer is "none" or "does not hold".
    None,
}

/// An error in what the user gave, as it is printed.
#[derive(Debug)]
pub struct Failure(String);

impl Failure {
    /// An error in words, on one line. It may quote names and files, and a terminal must not obey what stands there.
    fn message(error: impl std::fmt::Display) -> Self {
        Failure::drawn("", error)
    }

    /// The same below mistakes that are drawn, each at its place.
    fn drawn(drawn: &str, error: impl std::fmt::Display) -> Self {
        Failure(format!("{drawn}error: {}\n", visible(&error.to_string())))
    }
}

impl<E: std::error::Error> From<E> for Failure {
    fn from(error: E) -> Self {
        Failure::message(error)
    }
}

const EXAMPLES: &str = "\
Examples:
  whyrod choose cyclone.toml             the filler for each joint, and why
  whyrod why cyclone.toml 4043           the derivation behind a verdict
  whyrod why-not cyclone.toml 5356       what bars it, or what beats it
  whyrod suppose cyclone.toml 'service.finish = \"painted\"'
                                         what moves with another fact
  whyrod ask cyclone.toml                what is still open, question by question
  whyrod pool --base 6061 --filler 4043 --dilution 40..60%
                                         what freezes, and how
  whyrod rulebook check my-rules         read rules and run their expectations

Exit status: 0 done; 1 a mistake in what was given; 2 wrong usage;
3 done, and the answer is \"none\" or \"does not hold\".

Welding can burn, blind, poison and electrocute. The answers here do not
replace the governing code, a qualified procedure, or the judgement of
qualified people.";

/// Which filler rod for an aluminium joint, and why.
#[derive(Parser, Debug)]
#[command(name = "whyrod", version, about, after_help = EXAMPLES)]
struct Line {
    #[command(subcommand)]
    command: Command,
    #[command(flatten)]
    general: General,
}

/// Options of every command.
#[derive(Args, Clone, Debug)]
pub struct General {
    /// Use the rulebook in this folder instead of the built-in one
    #[arg(long, global = true, value_name = "DIR")]
    pub rules: Option<PathBuf>,
    /// Write JSON
    #[arg(long, global = true)]
    pub json: bool,
    /// Allow this many times the usual work and size (facts, recorded instances, steps, bytes read)
    #[arg(long, global = true, value_name = "FACTOR", default_value_t = 1,
          value_parser = clap::value_parser!(u32).range(1..))]
    pub budget: u32,
    /// When to use colour
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto)]
    pub colour: Colour,
}

/// When to use colour.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Which filler for each joint, and the fewest fillers for the whole assembly
    Choose(choose::Arguments),
    /// The derivation of a filler's verdict, down to facts, sources and arithmetic
    Why(why::Arguments),
    /// What bars a filler, or what beats it
    WhyNot(why_not::Arguments),
    /// The job again with some facts changed: what moves, and which findings moved it
    Suppose(suppose::Arguments),
    /// The open questions, the one that decides most first; answers go into the job file
    Ask(ask::Arguments),
    /// Composition, freezing path and cracking measures of a mixture, without a job
    Pool(pool::Arguments),
    /// Write the archived result of a job: the verdicts with all that they rest on
    Record(record::Arguments),
    /// Check every step of a record
    Verify(verify::Arguments),
    /// Look after a rulebook
    Rulebook(rulebook::Arguments),
    /// Print a completion script for a shell
    Completions(completions::Arguments),
}

/// Runs the program on this process's arguments.
pub fn run() -> ExitCode {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(error) => wrong_usage(error).exit(),
    };
    match line.general.colour {
        Colour::Auto => {}
        Colour::Always => colored::control::set_override(true),
        Colour::Never => colored::control::set_override(false),
    }
    let general = &line.general;
    let ended = match &line.command {
        Command::Choose(arguments) => choose::run(arguments, general),
        Command::Why(arguments) => why::run(arguments, general),
        Command::WhyNot(arguments) => why_not::run(arguments, general),
        Command::Suppose(arguments) => suppose::run(arguments, general),
        Command::Ask(arguments) => ask::run(arguments, general),
        Command::Pool(arguments) => pool::run(arguments, general),
        Command::Record(arguments) => record::run(arguments, general),
        Command::Verify(arguments) => verify::run(arguments, general),
        Command::Rulebook(arguments) => rulebook::run(arguments, general),
        Command::Completions(arguments) => completions::run(arguments),
    };
    match ended {
        Ok(Ending::Done) => ExitCode::SUCCESS,
        Ok(Ending::None) => ExitCode::from(3),
        Err(Failure(message)) => {
            // Where messages cannot be written, the status still says it.
            let _ = std::io::stderr().lock().write_all(visible::page(&message).as_bytes());
            ExitCode::from(1)
        }
    }
}

/// The error about arguments that are not understood. It quotes them, so that they are read again as they would be shown.
fn wrong_usage(error: clap::Error) -> clap::Error {
    let given: Vec<OsString> = std::env::args_os().collect();
    let shown: Vec<String> = given.iter().map(|text| visible(&text.to_string_lossy()).into_owned()).collect();
    if shown.iter().zip(&given).all(|(shown, given)| given == shown.as_str()) {
        return error;
    }
    let without = || clap::Error::raw(error.kind(), "the arguments are not understood\n");
    Line::try_parse_from(shown).err().unwrap_or_else(without)
}

/// Writes a page to standard output. This and the messages of [`run`] are the only ways to the terminal.
fn print(page: &str) -> Result<(), Failure> {
    to_output(|out| out.write_all(visible::page(page).as_bytes()))
}

/// Writes to standard output; a reader that went away, as `head` does, is no error.
fn to_output(fill: impl FnOnce(&mut dyn Write) -> std::io::Result<()>) -> Result<(), Failure> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    match fill(&mut out).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

/// Writes an answer: as JSON where that is asked for, or as a page.
fn print_answer(
    general: &General,
    answer: &impl serde::Serialize,
    page: impl FnOnce() -> String,
) -> Result<(), Failure> {
    if general.json { print_json(answer) } else { print(&page()) }
}

fn print_json(value: &impl serde::Serialize) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(value)?;
    text.push('\n');
    to_output(|out| out.write_all(visible::json(&text).as_bytes()))
}

/// Writes a file, over one that is there only where that is asked for.
fn write_new(
    path: &Path,
    overwrite: bool,
    fill: impl FnOnce(&mut dyn Write) -> std::io::Result<()>,
) -> Result<(), Failure> {
    let present = if overwrite { Present::Replaced } else { Present::Stays };
    files::write(path, present, fill).map_err(|error| match error {
        WriteError::Present { .. } => {
            Failure::message(format!("{error}; {}--overwrite replaces it", another_name(path)))
        }
        other => Failure::message(other),
    })
}

/// Advice on a name that is free; nothing where none is found.
fn another_name(path: &Path) -> String {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ending = path.extension().map_or(String::new(), |ending| format!(".{}", ending.to_string_lossy()));
    let free = (2..100)
        .map(|number| path.with_file_name(format!("{stem}-{number}{ending}")))
        .find(|path| !path.exists());
    free.map_or(String::new(), |free| format!("{} is free, and ", free.display()))
}
