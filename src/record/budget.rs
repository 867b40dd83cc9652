//! How much a record may take: what the writer keeps to, and what reader and checker refuse to go beyond.

use std::io::{self, Read, Write};

/// The most of everything. The usual figures lie far above what jobs of hundreds of joints need.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct RecordBudget {
    /// Bytes of the file.
    pub bytes: u64,
    /// Facts.
    pub facts: usize,
    /// Facts that the checker looks at, for each application and fact that is recorded.
    pub steps: u64,
    /// Applications of one finding that the checker finds and the record does not hold: open ones whose conclusions are
    /// known anyway, and those that are missing.
    pub untold: usize,
}

impl Default for RecordBudget {
    fn default() -> Self {
        RecordBudget { bytes: 4 << 30, facts: 10_000_000, steps: 10_000, untold: 500_000 }
    }
}

impl RecordBudget {
    /// So many times as much of everything.
    pub fn times(self, factor: u32) -> Self {
        RecordBudget {
            bytes: self.bytes.saturating_mul(factor.into()),
            facts: self.facts.saturating_mul(factor as usize),
            steps: self.steps.saturating_mul(factor.into()),
            untold: self.untold.saturating_mul(factor as usize),
        }
    }
}

/// What a record goes beyond.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Exceeded {
    /// The file is too large.
    #[error("the record is larger than {0} bytes; raise the limit with --budget")]
    Bytes(u64),
    /// There are too many facts.
    #[error("the record has {found} facts, more than {most}; raise the limit with --budget")]
    Facts {
        /// How many there are.
        found: usize,
        /// How many there may be.
        most: usize,
    },
    /// The check takes too long.
    #[error(
        "the check stops at {at}, after {most} facts looked at for each that is recorded; raise the limit with --budget"
    )]
    Steps {
        /// The finding or relation that takes so long.
        at: String,
        /// How many steps there may be for each fact and application.
        most: u64,
    },
    /// A finding applies far more often than is recorded.
    #[error(
        "the finding {finding} applies more than {most} times beyond what is recorded; raise the limit with --budget"
    )]
    Applications {
        /// The finding.
        finding: String,
        /// How many times it may.
        most: usize,
    },
}

/// Passes on so many bytes, and then an error.
pub(super) struct Limited<T> {
    pub inner: T,
    pub most: u64,
    pub passed: u64,
}

impl<T> Limited<T> {
    pub fn new(inner: T, most: u64) -> Self {
        Limited { inner, most, passed: 0 }
    }

    fn pass(&mut self, bytes: usize) -> io::Result<usize> {
        self.passed += bytes as u64;
        if self.passed > self.most {
            return Err(io::Error::other(Exceeded::Bytes(self.most)));
        }
        Ok(bytes)
    }
}

impl<R: Read> Read for Limited<R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let bytes = self.inner.read(into)?;
        self.pass(bytes)
    }
}

impl<W: Write> Write for Limited<W> {
    fn write(&mut self, from: &[u8]) -> io::Result<usize> {
        self.pass(from.len())?;
        self.inner.write_all(from)?;
        Ok(from.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.inner.flush()
    }
}
