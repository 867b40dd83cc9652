//! `whyrod completions SHELL`.

use super::{Ending, Failure, Line, print};
use clap::{Args, CommandFactory};
use clap_complete::Shell;

/// Arguments of `completions`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  whyrod completions bash > ~/.local/share/bash-completion/completions/whyrod
  whyrod completions fish > ~/.config/fish/completions/whyrod.fish")]
pub struct Arguments {
    /// The shell
    shell: Shell,
}

pub(super) fn run(arguments: &Arguments) -> Result<Ending, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Line::command(), "whyrod", &mut script);
    print(&String::from_utf8_lossy(&script))?;
    Ok(Ending::Done)
}
