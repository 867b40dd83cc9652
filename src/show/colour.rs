//! The one place that decides colour. Whether there is any is the `colored` crate's: a terminal, and no NO_COLOR.

use colored::{ColoredString, Colorize};

/// What a text means, as far as its colour goes. Colour only repeats what words say.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Ink {
    /// A heading.
    Heading,
    /// Recommended.
    Good,
    /// Usable.
    Plain,
    /// Barred.
    Bad,
    /// Open.
    Waiting,
    /// References and sources.
    Faint,
}

/// The text in its colour.
pub fn paint(text: &str, ink: Ink) -> ColoredString {
    match ink {
        Ink::Heading => text.bold(),
        Ink::Good => text.green().bold(),
        Ink::Plain => text.normal(),
        Ink::Bad => text.red(),
        Ink::Waiting => text.yellow(),
        Ink::Faint => text.dimmed(),
    }
}
