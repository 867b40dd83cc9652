//! Looking at a complete relation: which rows match the terms at hand, exactly or perhaps, and the value of an aggregate
//! over them. Joins, which enumerate rows one premise after another, are in `join.rs`.

use super::evaluate::{Outcome, sum, zero};
use super::index::NONE;
use super::rows::Rows;
use super::terms::{Terms, UNKNOWN};
use crate::language::{Aggregate, Type, Value};
use crate::quantity::Quantity;
use std::cmp::Ordering;
use std::ops::ControlFlow;

/// How rows that match are found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Access {
    /// Nothing is bound: one row after another.
    Scan,
    /// Everything is bound: the row itself.
    Whole,
    /// By the index of that number.
    Index(usize),
}

/// A column and the register that it must agree with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bound {
    pub(super) column: usize,
    pub(super) register: usize,
}

/// A pattern under `unless` or an aggregate, ready to be looked up.
#[derive(Clone, Debug)]
pub(super) struct Lookup {
    pub(super) relation: usize,
    pub(super) access: Access,
    pub(super) key: Vec<Bound>,
    /// Columns that must agree with each other, where a variable that nothing binds occurs twice.
    pub(super) same: Vec<(usize, usize)>,
}

/// What a lookup under `unless` finds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Probe {
    /// A known row that matches exactly.
    Known,
    /// Rows that match only perhaps: open ones, or by way of an unknown cell.
    Open,
    /// Nothing.
    Nothing,
}

/// How far two terms agree: `None` not at all, otherwise whether exactly.
pub(super) fn agree(left: u32, right: u32) -> Option<bool> {
    if left == UNKNOWN || right == UNKNOWN { Some(false) } else { (left == right).then_some(true) }
}

impl Lookup {
    /// Visits every row that matches, ascending but for rows with unknown cells, and says whether it matches exactly.
    pub(super) fn visit(
        &self,
        rows: &Rows,
        registers: &[u32],
        mut found: impl FnMut(u32, bool) -> ControlFlow<()>,
    ) {
        let mut loosely = |row: u32| -> ControlFlow<()> {
            let mut exact = true;
            let key = self.key.iter().map(|key| (rows.cell(row, key.column), registers[key.register]));
            let same = self.same.iter().map(|(left, right)| (rows.cell(row, *left), rows.cell(row, *right)));
            for (left, right) in key.chain(same) {
                match agree(left, right) {
                    Some(exactly) => exact &= exactly,
                    None => return ControlFlow::Continue(()),
                }
            }
            found(row, exact)
        };
        let unknown_key = self.key.iter().any(|key| registers[key.register] == UNKNOWN);
        match self.access {
            Access::Whole if !unknown_key => {
                let exact = rows.find(self.key.iter().map(|key| registers[key.register]));
                let _ = exact.into_iter().chain(rows.loose().iter().copied()).try_for_each(loosely);
            }
            Access::Index(index) if !unknown_key && rows.indexes[index].covered() == rows.count() => {
                let mut row = rows.first(index, |place| registers[self.key[place].register]);
                while row != NONE {
                    if loosely(row).is_break() {
                        return;
                    }
                    row = rows.indexes[index].next(row);
                }
                let _ = rows.indexes[index].loose().iter().copied().try_for_each(loosely);
            }
            _ => {
                let _ = (0..rows.count()).try_for_each(loosely);
            }
        }
    }

    /// Whether anything matches.
    pub(super) fn probe(&self, rows: &Rows, registers: &[u32]) -> Probe {
        let mut probe = Probe::Nothing;
        self.visit(rows, registers, |row, exact| {
            if exact && rows.is_known(row) {
                probe = Probe::Known;
                return ControlFlow::Break(());
            }
            probe = Probe::Open;
            ControlFlow::Continue(())
        });
        probe
    }

    /// Whether anything matches, by the shortest way where every register is known and no row has unknown cells.
    #[inline]
    pub(super) fn probe_known(&self, rows: &Rows, registers: &[u32]) -> Probe {
        if rows.count() == 0 {
            return Probe::Nothing;
        }
        if !rows.loose().is_empty() || !self.same.is_empty() || rows.is_mixed() {
            return self.probe(rows, registers);
        }
        let row = match self.access {
            Access::Scan => 0,
            Access::Whole => rows.find(self.key.iter().map(|key| registers[key.register])).unwrap_or(NONE),
            // Known rows come first in their chain, so that the first row decides.
            Access::Index(index) => rows.first(index, |place| registers[self.key[place].register]),
        };
        match row {
            NONE => Probe::Nothing,
            row if row < rows.known() => Probe::Known,
            _ => Probe::Open,
        }
    }
}

/// An aggregate over the rows that match.
#[derive(Clone, Debug)]
pub(super) struct Fold {
    pub(super) how: Aggregate,
    pub(super) members: Lookup,
    /// The column that is aggregated, and what it holds; `None` for a count.
    pub(super) over: Option<(usize, Type)>,
}

impl Fold {
    /// The value of the aggregate.
    pub(super) fn value(&self, rows: &Rows, registers: &[u32], terms: &impl Terms) -> Outcome {
        match self.how {
            Aggregate::Count => self.count(rows, registers),
            Aggregate::Sum => self.sum(rows, registers, terms),
            Aggregate::Least => self.best(rows, registers, terms, Ordering::Less),
            Aggregate::Greatest => self.best(rows, registers, terms, Ordering::Greater),
        }
    }

    fn count(&self, rows: &Rows, registers: &[u32]) -> Outcome {
        let mut count = 0.0;
        let mut open = false;
        self.members.visit(rows, registers, |row, exact| {
            open |= !exact || !rows.is_known(row);
            count += 1.0;
            ControlFlow::Continue(())
        });
        if open { Outcome::Unknown } else { Outcome::Value(Quantity::number(count)) }
    }

    fn sum(&self, rows: &Rows, registers: &[u32], terms: &impl Terms) -> Outcome {
        let Some((column, Type::Number(dimension))) = self.over else { return Outcome::Nothing };
        let mut total: Option<Outcome> = None;
        let mut open = false;
        self.members.visit(rows, registers, |row, exact| {
            open |= !exact || !rows.is_known(row);
            let member = number(rows.cell(row, column), terms);
            total = Some(match (total, member) {
                (None, member) => member,
                (Some(Outcome::Value(total)), Outcome::Value(member)) => sum(total, member),
                (Some(Outcome::Nothing), _) | (_, Outcome::Nothing) => Outcome::Nothing,
                _ => Outcome::Unknown,
            });
            ControlFlow::Continue(())
        });
        match total {
            None => Outcome::Value(zero(dimension)),
            Some(_) if open => Outcome::Unknown,
            Some(total) => total,
        }
    }

    /// The member that beats all others. Open members leave it unknown only if one of them could beat it.
    fn best(&self, rows: &Rows, registers: &[u32], terms: &impl Terms, beats: Ordering) -> Outcome {
        let Some((column, _)) = self.over else { return Outcome::Nothing };
        let mut best: Option<Quantity> = None;
        let mut best_open: Option<Quantity> = None;
        let mut unknown = false;
        let mut misfit = false;
        self.members.visit(rows, registers, |row, exact| {
            let best = if exact && rows.is_known(row) { &mut best } else { &mut best_open };
            match (number(rows.cell(row, column), terms), *best) {
                (Outcome::Unknown, _) => unknown = true,
                (Outcome::Nothing, _) => misfit = true,
                (Outcome::Value(member), Some(leader)) if member.compare(&leader) != Some(beats) => {}
                (Outcome::Value(member), _) => *best = Some(member),
            }
            ControlFlow::Continue(())
        });
        if misfit {
            return Outcome::Nothing;
        }
        match (best, best_open) {
            (None, None) if !unknown => Outcome::Nothing,
            (Some(known), None) if !unknown => Outcome::Value(known),
            (Some(known), Some(open)) if !unknown && open.compare(&known) != Some(beats) => {
                Outcome::Value(known)
            }
            _ => Outcome::Unknown,
        }
    }
}

fn number(term: u32, terms: &impl Terms) -> Outcome {
    match terms.value(term) {
        None => Outcome::Unknown,
        Some(Value::Number(quantity)) => Outcome::Value(*quantity),
        Some(_) => Outcome::Nothing,
    }
}
