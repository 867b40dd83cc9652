//! Looking rows up by some of their columns: chains of rows in ascending order, found by key. Rows themselves are in
//! `rows.rs`.

use super::terms::UNKNOWN;
use hashbrown::HashTable;
use rustc_hash::FxHasher;
use std::hash::Hasher;
use std::sync::Arc;

/// No row, no record.
pub(super) const NONE: u32 = u32::MAX;

/// First and last row under one key.
#[derive(Clone, Copy, Debug)]
struct Chain {
    first: u32,
    last: u32,
}

const EMPTY: Chain = Chain { first: NONE, last: NONE };

/// How a key finds its chain. Terms are numbered densely, so that one column needs no hashing.
#[derive(Clone, Debug)]
enum Chains {
    One(Vec<Chain>),
    Many(HashTable<Chain>),
}

/// An index over some columns. It covers the rows up to the last time it was extended.
#[derive(Clone, Debug)]
pub(super) struct Index {
    /// Shared, because rows are copied whole where many runs begin alike.
    columns: Arc<[usize]>,
    chains: Chains,
    next: Vec<u32>,
    /// Rows with an unknown term among the columns, ascending.
    loose: Vec<u32>,
}

fn hash(columns: &[usize], cell: impl Fn(usize) -> u32) -> u64 {
    let mut state = FxHasher::default();
    for place in 0..columns.len() {
        state.write_u32(cell(place));
    }
    state.finish()
}

impl Index {
    /// An index over these columns (at least one), covering nothing yet.
    pub(super) fn new(columns: Arc<[usize]>) -> Self {
        let chains =
            if columns.len() == 1 { Chains::One(Vec::new()) } else { Chains::Many(HashTable::new()) };
        Index { columns, chains, next: Vec::new(), loose: Vec::new() }
    }

    /// How many rows it covers.
    pub(super) fn covered(&self) -> u32 {
        self.next.len() as u32
    }

    /// Rows with an unknown term among the columns, ascending.
    pub(super) fn loose(&self) -> &[u32] {
        &self.loose
    }

    /// The row after this one in its chain, or [`NONE`].
    #[inline]
    pub(super) fn next(&self, row: u32) -> u32 {
        self.next[row as usize]
    }

    /// Covers rows up to `count`.
    pub(super) fn extend(&mut self, data: &[u32], arity: usize, count: u32) {
        let Index { columns, chains, next, loose } = self;
        for row in next.len() as u32..count {
            next.push(NONE);
            let cell = |row: u32, place: usize| data[row as usize * arity + columns[place]];
            if (0..columns.len()).any(|place| cell(row, place) == UNKNOWN) {
                loose.push(row);
                continue;
            }
            let chain = match chains {
                Chains::One(chains) => {
                    let key = cell(row, 0) as usize;
                    if key >= chains.len() {
                        chains.resize(key + 1, EMPTY);
                    }
                    &mut chains[key]
                }
                Chains::Many(table) => table
                    .entry(
                        hash(columns, |place| cell(row, place)),
                        |chain| (0..columns.len()).all(|place| cell(chain.first, place) == cell(row, place)),
                        |chain| hash(columns, |place| cell(chain.first, place)),
                    )
                    .or_insert(EMPTY)
                    .into_mut(),
            };
            if chain.first == NONE {
                chain.first = row;
            } else {
                next[chain.last as usize] = row;
            }
            chain.last = row;
        }
    }

    /// First row of the chain under a key, or [`NONE`]; `key` gives the term for each of the columns in their order.
    #[inline]
    pub(super) fn first(&self, data: &[u32], arity: usize, key: impl Fn(usize) -> u32) -> u32 {
        match &self.chains {
            Chains::One(chains) => chains.get(key(0) as usize).map_or(NONE, |chain| chain.first),
            Chains::Many(table) => table
                .find(hash(&self.columns, &key), |chain| {
                    self.columns
                        .iter()
                        .enumerate()
                        .all(|(place, column)| data[chain.first as usize * arity + column] == key(place))
                })
                .map_or(NONE, |chain| chain.first),
        }
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        let chains = match &self.chains {
            Chains::One(chains) => chains.capacity() * size_of::<Chain>(),
            Chains::Many(table) => table.allocation_size(),
        };
        chains + (self.next.capacity() + self.loose.capacity()) * size_of::<u32>()
    }
}
