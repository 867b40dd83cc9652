//! What the checker's search has cost so far, and where it has to stop: a record may bring rules along that would keep it busy
//! without end.

use std::cell::Cell;

/// Facts looked at. Without a limit until one is set.
pub(super) struct Effort {
    left: Cell<u64>,
}

impl Default for Effort {
    fn default() -> Self {
        Effort { left: Cell::new(u64::MAX) }
    }
}

impl Effort {
    /// Allows so many more.
    pub fn allow(&self, many: u64) {
        self.left.set(many);
    }

    /// Counts facts that are to be looked at, and one for the asking; whether that is allowed.
    pub fn spend(&self, many: usize) -> bool {
        let left = self.left.get().saturating_sub(many as u64 + 1);
        self.left.set(left);
        left > 0
    }

    /// Whether nothing is left: what was found since is not to be relied on.
    pub fn is_spent(&self) -> bool {
        self.left.get() == 0
    }
}
