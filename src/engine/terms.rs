//! Interned terms: every name, word, quantity and range that occurs in a row, held once and known by a small number.
//! Rows live in `rows.rs`; nothing here knows relations.

use crate::language::Value;
use crate::quantity::{Interval, PageUnits, Quantity};
use hashbrown::HashTable;
use rustc_hash::FxHasher;
use std::hash::{Hash, Hasher};

/// The term in a cell whose value nobody has given yet.
pub(super) const UNKNOWN: u32 = u32::MAX;

/// A term by its number: equal numbers are equal values, within one derivation.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct TermId(pub(super) u32);

impl TermId {
    /// Whether nobody has given the value.
    pub fn is_unknown(self) -> bool {
        self.0 == UNKNOWN
    }
}

/// What stands in a role of a fact.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// A value.
    Value(Value),
    /// A value that hangs on an unanswered question.
    Unknown,
}

impl Cell {
    /// The value, where it is known.
    pub fn value(&self) -> Option<&Value> {
        match self {
            Cell::Value(value) => Some(value),
            Cell::Unknown => None,
        }
    }
}

/// Somewhere that terms are read from and added to: the pool during a run, an overlay of it afterwards.
pub(super) trait Terms {
    /// The value of a term; `None` for the unknown one.
    fn value(&self, id: u32) -> Option<&Value>;
    /// The term of a quantity, added where it is new.
    fn intern_quantity(&mut self, quantity: Quantity) -> u32;
}

/// All terms of a derivation. Quantities are one term when value and dimension agree, whatever their units.
#[derive(Clone, Debug, Default)]
pub(super) struct TermPool {
    values: Vec<Value>,
    table: HashTable<u32>,
    units: PageUnits,
}

/// Minus zero is zero.
fn positive_zero(quantity: Quantity) -> Quantity {
    Quantity { base: quantity.base + 0.0, ..quantity }
}

/// A value as it is kept.
fn canonical(value: &Value) -> Value {
    match value {
        Value::Symbol(text) => Value::Symbol(text.clone()),
        Value::Number(quantity) => Value::Number(positive_zero(*quantity)),
        Value::Range(range) => Value::Range(Interval {
            lowest: range.lowest.map(positive_zero),
            highest: range.highest.map(positive_zero),
        }),
    }
}

fn hash_quantity(quantity: &Quantity, state: &mut FxHasher) {
    quantity.base.to_bits().hash(state);
    quantity.dimension.hash(state);
}

fn hash(value: &Value) -> u64 {
    let mut state = FxHasher::default();
    match value {
        Value::Symbol(text) => text.hash(&mut state),
        Value::Number(quantity) => hash_quantity(quantity, &mut state),
        Value::Range(range) => {
            for end in [&range.lowest, &range.highest].into_iter().flatten() {
                hash_quantity(end, &mut state);
            }
            range.lowest.is_some().hash(&mut state);
        }
    }
    state.finish()
}

impl TermPool {
    /// The term of a value, added where it is new.
    pub(super) fn intern(&mut self, value: &Value) -> u32 {
        self.intern_canonical(canonical(value))
    }

    fn intern_canonical(&mut self, value: Value) -> u32 {
        let hashed = hash(&value);
        let values = &mut self.values;
        match self.table.find(hashed, |id| values[*id as usize] == value) {
            Some(id) => *id,
            None => {
                let id = values.len() as u32;
                values.push(value);
                self.table.insert_unique(hashed, id, |id| hash(&values[*id as usize]));
                id
            }
        }
    }

    /// The term of a value, where it occurs.
    pub(super) fn find(&self, value: &Value) -> Option<u32> {
        let value = canonical(value);
        self.table.find(hash(&value), |id| self.values[*id as usize] == value).copied()
    }

    /// Shows every quantity in the unit that a page has for its kind, those that come later included.
    pub(super) fn convert_to(&mut self, units: PageUnits) {
        self.values.iter_mut().for_each(|value| *value = value.in_units(&units));
        self.units = units;
    }

    /// The units in which quantities are shown.
    pub(super) fn units(&self) -> &PageUnits {
        &self.units
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.values.capacity() * size_of::<Value>() + self.table.allocation_size()
    }
}

impl Terms for TermPool {
    fn value(&self, id: u32) -> Option<&Value> {
        self.values.get(id as usize)
    }

    fn intern_quantity(&mut self, quantity: Quantity) -> u32 {
        self.intern_canonical(Value::Number(positive_zero(quantity)))
    }
}

/// A pool that is read only, with room for terms that an explanation meets and the run did not.
pub(super) struct Overlay<'a> {
    pool: &'a TermPool,
    extra: Vec<Value>,
}

impl<'a> Overlay<'a> {
    /// Nothing added yet.
    pub(super) fn new(pool: &'a TermPool) -> Self {
        Overlay { pool, extra: Vec::new() }
    }

    /// The term of a value, added where it is new.
    pub(super) fn intern(&mut self, value: &Value) -> u32 {
        self.pool.find(value).unwrap_or_else(|| self.intern_extra(canonical(value)))
    }

    /// The term of a value that the pool does not have.
    fn intern_extra(&mut self, value: Value) -> u32 {
        let at = self.extra.iter().position(|known| *known == value).unwrap_or_else(|| {
            self.extra.push(value.in_units(&self.pool.units));
            self.extra.len() - 1
        });
        (self.pool.values.len() + at) as u32
    }

    /// The cell of a term.
    pub(super) fn cell(&self, id: u32) -> Cell {
        self.value(id).map_or(Cell::Unknown, |value| Cell::Value(value.clone()))
    }
}

impl Terms for Overlay<'_> {
    fn value(&self, id: u32) -> Option<&Value> {
        let beyond = (id as usize).checked_sub(self.pool.values.len());
        beyond.map_or_else(|| self.pool.value(id), |at| self.extra.get(at))
    }

    fn intern_quantity(&mut self, quantity: Quantity) -> u32 {
        let value = Value::Number(positive_zero(quantity));
        self.pool.find(&value).unwrap_or_else(|| self.intern_extra(value))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Dimension, Unit};

    #[test]
    fn one_value_in_two_units_is_one_term() {
        let mut pool = TermPool::default();
        let warm = pool.intern(&Value::Number(Quantity::new(203.0, Unit::FAHRENHEIT)));
        let same = pool.intern(&Value::Number(Quantity::new(95.0, Unit::CELSIUS)));
        assert_eq!(warm, same);
    }

    #[test]
    fn dimension_separates_equal_numbers_and_the_sign_of_zero_does_not() {
        let mut pool = TermPool::default();
        let ratio = pool.intern_quantity(Quantity::number(0.0));
        let length = pool.intern_quantity(Quantity::from_base(0.0, Dimension::LENGTH));
        assert_ne!(ratio, length);
        assert_eq!(pool.intern_quantity(Quantity::number(-0.0)), ratio);
    }

    #[test]
    fn an_overlay_adds_without_changing_the_pool() {
        let mut pool = TermPool::default();
        let one = pool.intern_quantity(Quantity::number(1.0));
        let mut overlay = Overlay::new(&pool);
        assert_eq!(overlay.intern_quantity(Quantity::number(1.0)), one);
        let two = overlay.intern_quantity(Quantity::number(2.0));
        assert_eq!(overlay.intern_quantity(Quantity::number(2.0)), two);
        assert_eq!(overlay.cell(two), Cell::Value(Value::Number(Quantity::number(2.0))));
        assert_eq!(pool.value(two), None);
    }

    #[test]
    fn numbers_are_shown_in_the_units_of_the_page() {
        let mut pool = TermPool::default();
        let written = Quantity::new(203.0, Unit::FAHRENHEIT);
        let warm = pool.intern(&Value::Number(Quantity::new(65.0, Unit::CELSIUS)));
        pool.convert_to(PageUnits::written(&[written]));
        let mut overlay = Overlay::new(&pool);
        let later = overlay.intern_quantity(Quantity::new(20.0, Unit::CELSIUS));
        let shown =
            [warm, later].map(|id| overlay.cell(id).value().map(ToString::to_string).unwrap_or_default());
        assert_eq!(shown, ["149 °F", "68 °F"]);
    }

    #[test]
    fn a_share_is_no_number() {
        let mut pool = TermPool::default();
        let half = pool.intern(&Value::Number(Quantity::new(50.0, Unit::PERCENT)));
        assert_ne!(pool.intern_quantity(Quantity::number(0.5)), half);
    }
}
