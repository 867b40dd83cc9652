//! How much work a derivation by a rulebook may be. Counting is the engine's.

/// How much work one derivation may be. The defaults are far above any job, and end a hopeless one within a minute or so.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Budget {
    /// Facts, known and open.
    pub facts: u64,
    /// Recorded instances of findings.
    pub instances: u64,
    /// Rows looked at while premises are joined.
    pub steps: u64,
}

impl Default for Budget {
    fn default() -> Self {
        Budget { facts: 20_000_000, instances: 60_000_000, steps: 1_500_000_000 }
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
        }
    }
}
