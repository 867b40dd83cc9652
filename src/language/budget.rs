//! How large a rulebook may be, and how much work a derivation by it. Counting is the reader's and the engine's.

/// How large a rulebook may be, and how much work one derivation by it. The defaults are far above any rulebook and any job, and end
/// a hopeless derivation within a minute or so.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Budget {
    /// Facts, known and open.
    pub facts: u64,
    /// Recorded instances of findings.
    pub instances: u64,
    /// Rows looked at while premises are joined.
    pub steps: u64,
    /// Files and folders of a rulebook.
    pub files: u64,
    /// Bytes of one rule file.
    pub file_bytes: u64,
    /// Bytes of all rule files together.
    pub rulebook_bytes: u64,
}

impl Default for Budget {
    fn default() -> Self {
        Budget {
            facts: 20_000_000,
            instances: 60_000_000,
            steps: 600_000_000,
            files: 10_000,
            file_bytes: 8 << 20,
            rulebook_bytes: 64 << 20,
        }
    }
}

impl Budget {
    /// So many times as much.
    pub fn times(self, factor: u32) -> Self {
        let factor = u64::from(factor);
        Budget {
            facts: self.facts.saturating_mul(factor),
            instances: self.instances.saturating_mul(factor),
            steps: self.steps.saturating_mul(factor),
            files: self.files.saturating_mul(factor),
            file_bytes: self.file_bytes.saturating_mul(factor),
            rulebook_bytes: self.rulebook_bytes.saturating_mul(factor),
        }
    }
}
