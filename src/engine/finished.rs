//! What a run leaves behind: rows, terms and records. What they say of facts is read in `derivation.rs`.

use super::records::Records;
use super::rows::Rows;
use super::terms::TermPool;

/// What a run leaves behind.
#[derive(Clone)]
pub(super) struct Finished {
    pub(super) pool: TermPool,
    pub(super) rows: Vec<Rows>,
    pub(super) records: Records,
    pub(super) constants: Vec<u32>,
}

impl Finished {
    /// Gives back room that was kept for more.
    pub(super) fn shrink(mut self) -> Self {
        self.rows.iter_mut().for_each(Rows::shrink);
        self.records.shrink();
        self
    }
}
