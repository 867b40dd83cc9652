//! How a filler does on a criterion: the levels that findings give, from best to worst, and what stands where none is given.

use serde::{Serialize, Serializer};
use std::fmt;

/// A level, or why there is none.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Level {
    /// More than is needed.
    Ample,
    /// As much as is needed.
    Adequate,
    /// Only just enough.
    Marginal,
    /// Not enough: the filler is out.
    Barred,
    /// It waits on an answer.
    Open,
    /// No finding says anything.
    Unjudged,
}

impl Level {
    /// The levels that a rulebook gives, from best to worst; its words for them are these.
    pub const GIVEN: [Level; 4] = [Level::Ample, Level::Adequate, Level::Marginal, Level::Barred];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Level::Ample => "ample",
            Level::Adequate => "adequate",
            Level::Marginal => "marginal",
            Level::Barred => "barred",
            Level::Open => "open",
            Level::Unjudged => "unjudged",
        }
    }

    /// The level that a rulebook gives by a word.
    pub fn given(word: &str) -> Option<Level> {
        Self::GIVEN.into_iter().find(|level| level.word() == word)
    }

    /// How bad the level is that a rulebook gives by a word, from 0. What is no such word, as where none stands, is worse than any.
    pub fn severity(word: &str) -> usize {
        Self::GIVEN.iter().position(|level| level.word() == word).unwrap_or(Self::GIVEN.len())
    }
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl Serialize for Level {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}
