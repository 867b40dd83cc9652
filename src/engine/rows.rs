//! The rows of one relation: a flat list of term numbers, each row once, those that are known before those that are
//! open, with the indexes that joins look rows up by. What makes a row is decided in `run.rs`.

use super::index::Index;
use super::terms::UNKNOWN;
use hashbrown::HashTable;

/// Rows of one relation.
#[derive(Clone, Debug)]
pub(super) struct Rows {
    arity: usize,
    data: Vec<u32>,
    count: u32,
    known: u32,
    table: HashTable<u32>,
    /// Known rows behind open ones, ascending: a relation that proceeds in turns has them.
    late: Vec<u32>,
    /// Rows with an unknown cell, ascending. They are all open.
    loose: Vec<u32>,
    /// One for every set of columns that a plan looks up by.
    pub(super) indexes: Vec<Index>,
    /// The latest record of each row; empty where nothing is recorded.
    pub(super) latest: Vec<u32>,
}

/// The hash of a row. Rows that differ in the last term alone, by little, lie side by side: terms are numbered
/// in the order they occur, and a finding makes such rows one after the other, so that they share a cache line.
#[inline(always)]
fn hash(mut cells: impl DoubleEndedIterator<Item = u32>) -> u64 {
    const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;
    let Some(last) = cells.next_back() else { return 0 };
    let before =
        cells.fold(0u64, |mixed, cell| (mixed.rotate_left(5) ^ u64::from(cell)).wrapping_mul(SPREAD));
    let block = (before ^ u64::from(last >> 4)).wrapping_mul(SPREAD);
    // The table places by the low bits and distinguishes rows by the seven high ones, which differ within a block.
    let (place, apart) = (u64::from(last & 15), (block >> 24) + u64::from(last & 15) * 8);
    (block >> 32 << 4 | place) | apart << 57
}

impl Rows {
    /// No rows yet; `indexes` are the column sets that will be looked up by.
    pub(super) fn new(arity: usize, indexes: &[Vec<usize>]) -> Self {
        Rows {
            arity,
            data: Vec::new(),
            count: 0,
            known: 0,
            table: HashTable::new(),
            late: Vec::new(),
            loose: Vec::new(),
            indexes: indexes.iter().map(|columns| Index::new(columns.as_slice().into())).collect(),
            latest: Vec::new(),
        }
    }

    /// How many rows.
    pub(super) fn count(&self) -> u32 {
        self.count
    }

    /// Rows below this number are known, the one at it is open. Those behind are open too, but for `late` ones.
    pub(super) fn known(&self) -> u32 {
        self.known
    }

    /// Whether a row is known.
    #[inline]
    pub(super) fn is_known(&self, row: u32) -> bool {
        row < self.known || (!self.late.is_empty() && self.late.binary_search(&row).is_ok())
    }

    /// Whether known rows stand behind open ones.
    #[inline]
    pub(super) fn is_mixed(&self) -> bool {
        !self.late.is_empty()
    }

    /// How many rows are known.
    pub(super) fn known_count(&self) -> usize {
        self.known as usize + self.late.len()
    }

    /// The known rows, then the open ones, each ascending.
    pub(super) fn in_order(&self) -> impl Iterator<Item = u32> + '_ {
        let open = (self.known..self.count).filter(|row| !self.is_known(*row));
        (0..self.known).chain(self.late.iter().copied()).chain(open)
    }

    /// Rows with an unknown cell, ascending.
    pub(super) fn loose(&self) -> &[u32] {
        &self.loose
    }

    /// The place of a row in [`Rows::in_order`].
    pub(super) fn position(&self, row: u32) -> usize {
        let known = self.known as usize;
        match self.late.binary_search(&row) {
            _ if row < self.known => row as usize,
            Ok(at) => known + at,
            Err(before) => self.late.len() + row as usize - before,
        }
    }

    /// The terms of a row.
    #[inline]
    pub(super) fn row(&self, row: u32) -> &[u32] {
        let from = row as usize * self.arity;
        &self.data[from..from + self.arity]
    }

    /// One term of a row.
    #[inline]
    pub(super) fn cell(&self, row: u32, column: usize) -> u32 {
        self.data[row as usize * self.arity + column]
    }

    /// The row with exactly these terms.
    #[inline]
    pub(super) fn find(&self, cells: impl DoubleEndedIterator<Item = u32> + Clone) -> Option<u32> {
        let (data, arity) = (&self.data, self.arity);
        let found = self.table.find(hash(cells.clone()), |row| same(at(data, arity, *row), cells.clone()));
        found.copied()
    }

    /// Adds a row unless it is there, and gives its number and whether it is new.
    #[inline]
    pub(super) fn insert(&mut self, cells: impl AsRef<[u32]>, known: bool) -> (u32, bool) {
        let cells = cells.as_ref();
        let (data, arity) = (&self.data, cells.len());
        debug_assert_eq!(arity, self.arity, "a row of another length");
        let entry = self.table.entry(
            hash(cells.iter().copied()),
            |row| same(at(data, arity, *row), cells.iter().copied()),
            |row| hash(at(data, arity, *row).iter().copied()),
        );
        match entry {
            hashbrown::hash_table::Entry::Occupied(occupied) => {
                let row = *occupied.get();
                if known && row >= self.known {
                    // What was open is known after all.
                    if let Err(at) = self.late.binary_search(&row) {
                        self.late.insert(at, row);
                    }
                }
                (row, false)
            }
            hashbrown::hash_table::Entry::Vacant(vacant) => {
                let row = self.count;
                vacant.insert(row);
                self.data.extend_from_slice(cells);
                self.count += 1;
                if known && self.known == row {
                    self.known += 1;
                } else if known {
                    self.late.push(row);
                } else if cells.contains(&UNKNOWN) {
                    self.loose.push(row);
                }
                (row, true)
            }
        }
    }

    /// Brings an index up to the last row.
    pub(super) fn catch_up(&mut self, index: usize) {
        self.indexes[index].extend(&self.data, self.arity, self.count);
    }

    /// First row of the chain under a key in an index, or `NONE`.
    #[inline]
    pub(super) fn first(&self, index: usize, key: impl Fn(usize) -> u32) -> u32 {
        self.indexes[index].first(&self.data, self.arity, key)
    }

    /// Gives back room that was kept for more rows.
    pub(super) fn shrink(&mut self) {
        self.data.shrink_to_fit();
        self.latest.shrink_to_fit();
    }

    /// Bytes held by rows and indexes.
    pub(super) fn bytes(&self) -> usize {
        let words =
            self.data.capacity() + self.late.capacity() + self.loose.capacity() + self.latest.capacity();
        let indexes: usize = self.indexes.iter().map(Index::bytes).sum();
        words * size_of::<u32>() + self.table.allocation_size() + indexes
    }
}

/// Rows are short: comparing them in place is faster than a call.
#[inline]
fn same(left: &[u32], right: impl Iterator<Item = u32>) -> bool {
    left.iter().zip(right).all(|(left, right)| *left == right)
}

#[inline]
fn at(data: &[u32], arity: usize, row: u32) -> &[u32] {
    let from = row as usize * arity;
    &data[from..from + arity]
}

#[cfg(test)]
mod tests {
    use super::super::index::NONE;
    use super::*;

    #[test]
    fn a_row_is_held_once_and_open_rows_follow_known_ones() {
        let mut rows = Rows::new(2, &[]);
        assert_eq!(rows.insert([1, 2], true), (0, true));
        assert_eq!(rows.insert([1, 2], true), (0, false));
        assert_eq!(rows.insert([1, UNKNOWN], false), (1, true));
        assert_eq!(rows.insert([1, 2], false), (0, false));
        assert_eq!((rows.count(), rows.known(), rows.loose()), (2, 1, &[1][..]));
        assert_eq!(rows.find([1, 2].into_iter()), Some(0));
        assert_eq!(rows.find([2, 1].into_iter()), None);
    }

    #[test]
    fn known_rows_behind_open_ones_still_come_first_in_order() {
        let mut rows = Rows::new(1, &[]);
        let added = [(7, true), (8, false), (9, true), (6, false), (8, true), (5, false)];
        for (cell, known) in added {
            rows.insert([cell], known);
        }
        assert!(rows.is_mixed());
        assert_eq!((rows.count(), rows.known_count()), (5, 3));
        let order: Vec<u32> = rows.in_order().collect();
        assert_eq!(order, [0, 1, 2, 3, 4]);
        assert_eq!(
            (0..5).map(|row| rows.is_known(row)).collect::<Vec<_>>(),
            [true, true, true, false, false]
        );
        rows.insert([4], true);
        assert_eq!(rows.in_order().collect::<Vec<_>>(), [0, 1, 2, 5, 3, 4]);
        assert_eq!((0..6).map(|row| rows.position(row)).collect::<Vec<_>>(), [0, 1, 2, 4, 5, 3]);
    }

    #[test]
    fn a_relation_without_roles_has_one_row_at_most() {
        let mut rows = Rows::new(0, &[]);
        assert_eq!(rows.find([].into_iter()), None);
        assert_eq!(rows.insert([], true), (0, true));
        assert_eq!(rows.insert([], true), (0, false));
        assert_eq!(rows.find([].into_iter()), Some(0));
    }

    #[test]
    fn indexes_list_rows_in_order_and_keep_unknown_keys_apart() {
        for columns in [vec![0], vec![0, 1]] {
            let mut rows = Rows::new(3, std::slice::from_ref(&columns));
            rows.insert([7, 8, 1], true);
            rows.insert([7, 9, 1], true);
            rows.insert([7, 8, 2], true);
            rows.catch_up(0);
            rows.insert([UNKNOWN, 8, 2], false);
            rows.insert([7, 8, 3], false);
            rows.catch_up(0);
            let mut found = Vec::new();
            let mut row = rows.first(0, |column| [7, 8][column]);
            while row != NONE {
                found.push(row);
                row = rows.indexes[0].next(row);
            }
            assert_eq!(found, if columns.len() == 1 { vec![0, 1, 2, 4] } else { vec![0, 2, 4] });
            assert_eq!(rows.indexes[0].loose(), [3]);
            assert_eq!(rows.first(0, |_| 5), NONE);
        }
    }
}
