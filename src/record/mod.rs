//! The record of a decided job: job, rules, every fact with its grounds, and the verdicts, in one file that can be checked
//! without running the rules again. Checking it is done in `verify`.

mod budget;
mod form;
mod layout;
mod notation;
mod shape;
mod texts;
mod unique;
mod write;

pub use budget::{Exceeded, RecordBudget};
pub use form::FORM;
pub use shape::*;
pub use texts::Texts;
pub use write::record;

use budget::Limited;
use sha2::{Digest, Sha256};
use std::io::{self, BufReader, Read, Write};

/// SHA-256 of a text, in hexadecimal.
pub fn fingerprint(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Record {
    /// Writes the record as it is filed: JSON, with one fact or applied finding a line. What the reader would refuse by its
    /// size is not written.
    pub fn write(&self, out: impl Write, budget: &RecordBudget) -> io::Result<()> {
        self.fits(budget).map_err(io::Error::other)?;
        layout::write(self, Limited::new(out, budget.bytes))
    }

    /// Whether there are no more facts than may be.
    pub fn fits(&self, budget: &RecordBudget) -> Result<(), Exceeded> {
        let found = self.facts.iter().map(|relation| relation.known.len() + relation.open.len()).sum();
        if found > budget.facts {
            return Err(Exceeded::Facts { found, most: budget.facts });
        }
        Ok(())
    }

    /// The record as it is filed, as a text.
    pub fn text(&self) -> io::Result<String> {
        let mut bytes = Vec::new();
        self.write(&mut bytes, &RecordBudget::default())?;
        String::from_utf8(bytes).map_err(io::Error::other)
    }

    /// Reads a record as it comes in. The error points at line and column.
    pub fn read(from: impl Read, budget: &RecordBudget) -> Result<Record, serde_json::Error> {
        // The limit lies above the buffer, so that it counts what is used.
        let bytes = BufReader::with_capacity(1 << 16, Limited::new(from, budget.bytes));
        serde_json::from_reader(bytes)
    }
}
