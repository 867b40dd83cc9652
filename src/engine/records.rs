//! What is written down while facts are derived: for each row, the findings and premise rows that yield it, in one
//! flat list of numbers. Reading it back as grounds is done in `derivation.rs`.

use super::index::NONE;

/// How much of the derivation is written down.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Recording {
    /// Every instance of every finding that yields a fact.
    Everything,
    /// The first instance that yields a fact.
    First,
    /// Nothing; facts and their status only.
    Nothing,
}

/// Where a record says its row comes from. Numbers below are findings.
const TABLE: u32 = u32::MAX;
const GIVEN: u32 = u32::MAX - 1;
const UNANSWERED: u32 = u32::MAX - 2;
const COMPUTED: u32 = u32::MAX - 3;

/// How many words every record begins with: its link, and where the row comes from.
pub(super) const LEAD: usize = 2;

/// A record read back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum GroundRecord<'a> {
    /// A row of a table, by its position.
    Table(usize),
    /// A fact of the caller, by its position.
    Given(usize),
    /// A question without an answer.
    Unanswered,
    /// Pairs of input and row that the program computed from.
    Computed(&'a [u32]),
    /// A finding and what follows in the list: its premise rows.
    Finding(u32, &'a [u32]),
}

/// Records, each linked to the one before it of the same row.
#[derive(Clone, Debug, Default)]
pub(super) struct Records {
    words: Vec<u32>,
    count: usize,
}

impl Records {
    /// Writes a finding's instance, drafted as [`LEAD`] words of which the last is the finding, and the premise rows.
    /// `latest` is the row's latest record and becomes this one.
    #[inline]
    pub(super) fn finding(&mut self, latest: &mut u32, draft: &mut [u32]) {
        draft[0] = *latest;
        *latest = self.words.len() as u32;
        self.words.extend_from_slice(draft);
        self.count += 1;
    }

    /// Writes a row of a table.
    pub(super) fn table(&mut self, latest: &mut u32, index: usize) {
        self.begin(latest, TABLE);
        self.words.push(index as u32);
    }

    /// Writes a fact of the caller.
    pub(super) fn given(&mut self, latest: &mut u32, index: usize) {
        self.begin(latest, GIVEN);
        self.words.push(index as u32);
    }

    /// Writes a question without an answer.
    pub(super) fn unanswered(&mut self, latest: &mut u32) {
        self.begin(latest, UNANSWERED);
    }

    /// Writes what a row was computed from, as pairs of input and row.
    pub(super) fn computed(&mut self, latest: &mut u32, premises: &[u32]) {
        self.begin(latest, COMPUTED);
        self.words.push(premises.len() as u32);
        self.words.extend_from_slice(premises);
    }

    #[inline]
    fn begin(&mut self, latest: &mut u32, kind: u32) {
        let at = self.words.len() as u32;
        self.words.push(*latest);
        self.words.push(kind);
        *latest = at;
        self.count += 1;
    }

    /// The records of a row, the first written first.
    pub(super) fn of(&self, latest: u32) -> Vec<GroundRecord<'_>> {
        let mut found = Vec::new();
        let mut at = latest;
        while at != NONE {
            let words = &self.words[at as usize..];
            found.push(match words[1] {
                TABLE => GroundRecord::Table(words[2] as usize),
                GIVEN => GroundRecord::Given(words[2] as usize),
                UNANSWERED => GroundRecord::Unanswered,
                COMPUTED => GroundRecord::Computed(&words[3..3 + words[2] as usize]),
                finding => GroundRecord::Finding(finding, &words[LEAD..]),
            });
            at = words[0];
        }
        found.reverse();
        found
    }

    /// Visits the findings among the records of a row.
    pub(super) fn findings_of(&self, latest: u32, mut visit: impl FnMut(u32)) {
        let mut at = latest;
        while at != NONE {
            let [before, kind] = [self.words[at as usize], self.words[at as usize + 1]];
            if kind < COMPUTED {
                visit(kind);
            }
            at = before;
        }
    }

    /// How many records.
    pub(super) fn count(&self) -> usize {
        self.count
    }

    /// Whether the list has outgrown the numbers that link it.
    pub(super) fn is_full(&self) -> bool {
        self.words.len() >= (NONE - 1_000_000) as usize
    }

    /// Gives back room that was kept for more records.
    pub(super) fn shrink(&mut self) {
        self.words.shrink_to_fit();
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.words.capacity() * size_of::<u32>()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn records_of_a_row_come_back_in_the_order_written() {
        let mut records = Records::default();
        let (mut one, mut other) = (NONE, NONE);
        records.table(&mut one, 4);
        records.finding(&mut other, &mut [NONE, 2, 10, 11]);
        records.finding(&mut one, &mut [NONE, 3, 12]);
        records.computed(&mut one, &[0, 5]);
        let read = records.of(one);
        assert_eq!(read.len(), 3);
        assert_eq!(read[0], GroundRecord::Table(4));
        assert!(matches!(read[1], GroundRecord::Finding(3, [12, ..])));
        assert_eq!(read[2], GroundRecord::Computed(&[0, 5]));
        assert_eq!(records.count(), 4);
    }
}
