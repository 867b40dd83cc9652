//! The record of a decided job: job, rules, every fact with its grounds, and the verdicts, in one file that can be checked
//! without running the rules again. Checking it is done in `verify`.

mod layout;
mod shape;
mod write;

pub use shape::*;
pub use write::record;

use sha2::{Digest, Sha256};

/// SHA-256 of a text, in hexadecimal.
pub fn fingerprint(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Record {
    /// The record as it is filed: JSON, with one fact or applied finding a line.
    pub fn text(&self) -> Result<String, serde_json::Error> {
        layout::written(self)
    }

    /// Reads a record. The error points at line and column.
    pub fn read(text: &str) -> Result<Record, serde_json::Error> {
        serde_json::from_str(text)
    }
}
