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

use clap::{Args, Parser, Subcommand, ValueEnum};
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
pub struct Failure(pub String);

impl Failure {
    /// An error in words. It may quote a file that is no text, and a terminal must not obey what stands there.
    fn told(error: impl std::fmt::Display) -> Self {
        let harmful = |c: char| c.is_control() && c != '\n';
        Failure(format!("error: {}\n", error.to_string().replace(harmful, "?")))
    }
}

impl<E: std::error::Error> From<E> for Failure {
    fn from(error: E) -> Self {
        Failure::told(error)
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
    /// Allow this many times the usual work (facts, recorded instances, steps)
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
    let line = Line::parse();
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
            use std::io::Write;
            // Where messages cannot be written, the status still says it.
            let _ = std::io::stderr().lock().write_all(message.as_bytes());
            ExitCode::from(1)
        }
    }
}

/// Writes to standard output; a reader that went away, as `head` does, is no error.
fn print(text: &str) -> Result<(), Failure> {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(()),
    }
}

fn print_json(value: &impl serde::Serialize) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(value)?;
    text.push('\n');
    print(&text)
}

/// Writes a file, over one that is there only where that is asked for.
fn write_new(path: &Path, text: &str, overwrite: bool) -> Result<(), Failure> {
    use std::io::Write;
    let mut options = std::fs::OpenOptions::new();
    options.write(true);
    if overwrite {
        options.create(true).truncate(true)
    } else {
        options.create_new(true)
    };
    let failed = |error: std::io::Error| {
        let hint = if error.kind() == std::io::ErrorKind::AlreadyExists {
            format!("; {}--overwrite replaces it", another_name(path))
        } else {
            String::new()
        };
        Failure(format!("error: {}: {error}{hint}\n", path.display()))
    };
    options.open(path).and_then(|mut file| file.write_all(text.as_bytes())).map_err(failed)
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
