//! A line on standard error that shows how far a long search has come. Only on a terminal, and gone when the search ends.

use std::io::{IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// A search that takes less is not shown.
const PATIENCE: Duration = Duration::from_millis(800);

/// The line is rewritten after so many jobs.
const STRIDE: usize = 100;

/// Columns of a bar.
const BAR: usize = 30;

/// The progress of a search.
pub struct Progress {
    started: Instant,
    terminal: bool,
    shown: AtomicBool,
}

impl Progress {
    /// Begins.
    pub fn new() -> Self {
        let terminal = std::io::stderr().is_terminal();
        Progress { started: Instant::now(), terminal, shown: AtomicBool::new(false) }
    }

    /// Shows how many changed jobs have been decided.
    pub fn report(&self, decided: usize) {
        if self.terminal && decided.is_multiple_of(STRIDE) && self.started.elapsed() > PATIENCE {
            self.shown.store(true, Ordering::Relaxed);
            // A progress line that cannot be written is not missed.
            let _ = write!(std::io::stderr().lock(), "\r{decided} changed jobs decided …");
        }
    }

    /// Shows how many of so many are done, as a bar.
    pub fn part(&self, done: usize, all: usize) {
        let steps = all.div_ceil(STRIDE).max(1);
        if self.terminal && (done.is_multiple_of(steps) || done == all) && self.started.elapsed() > PATIENCE {
            self.shown.store(true, Ordering::Relaxed);
            let filled = (done * BAR) / all.max(1);
            let bar = format!("{}{}", "█".repeat(filled), "░".repeat(BAR - filled));
            let _ = write!(std::io::stderr().lock(), "\r{bar} {done} of {all} jobs");
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if self.shown.load(Ordering::Relaxed) {
            let _ = write!(std::io::stderr().lock(), "\r{:60}\r", "");
        }
    }
}
