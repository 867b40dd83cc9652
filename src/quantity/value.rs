//! A number with a dimension, and how it is written with its unit.

use super::dimension::Dimension;
use super::unit::Unit;
use super::written::format_number;

/// A number with its dimension and the unit it is shown in.
///
/// `base` is the value in coherent SI base units of its dimension (metre, kilogram, second, ampere, radian), with three
/// conventions of our own: temperatures are held in degrees Celsius, temperature differences in kelvin, and mass per
/// cent as the number of per cent. A ratio is held as a fraction of one.
#[derive(Clone, Copy, Debug)]
pub struct Quantity {
    /// Value in base units.
    pub base: f64,
    /// What kind of quantity this is.
    pub dimension: Dimension,
    /// The unit it is shown in, where one is known; `None` shows the dimension's usual unit.
    pub unit: Option<Unit>,
}

impl Quantity {
    /// A quantity given in `unit`.
    pub fn new(value: f64, unit: Unit) -> Self {
        Quantity { base: unit.to_base(value), dimension: unit.dimension(), unit: Some(unit) }
    }

    /// A quantity from its base value, shown in the usual unit of its dimension.
    pub fn from_base(base: f64, dimension: Dimension) -> Self {
        Quantity { base, dimension, unit: None }
    }

    /// A plain number.
    pub fn number(value: f64) -> Self {
        Quantity::from_base(value, Dimension::RATIO)
    }

    /// The value expressed in `unit`; `None` where the dimensions differ.
    pub fn value_in(&self, unit: Unit) -> Option<f64> {
        (unit.dimension() == self.dimension).then(|| unit.from_base(self.base))
    }

    /// The same quantity, shown in another unit where that unit fits its dimension.
    pub fn shown_in(self, unit: Option<Unit>) -> Self {
        match unit {
            Some(unit) if unit.dimension() == self.dimension => Quantity { unit: Some(unit), ..self },
            _ => self,
        }
    }

    /// The unit it is shown in: its own, or the usual one of its dimension.
    pub fn shown_unit(&self) -> Option<Unit> {
        self.unit.filter(|unit| unit.dimension() == self.dimension).or_else(|| Unit::usual(self.dimension))
    }

    /// The value in the unit it is shown in.
    pub fn shown_value(&self) -> f64 {
        self.shown_unit().map_or(self.base, |unit| unit.from_base(self.base))
    }

    /// Order of two quantities of one dimension, with values closer than a part in 10¹² taken as equal, so that the
    /// same length written in inches and in millimetres compares equal. `None` where dimensions differ or a value is
    /// not a number.
    pub fn compare(&self, other: &Quantity) -> Option<std::cmp::Ordering> {
        if self.dimension != other.dimension {
            return None;
        }
        let scale = self.base.abs().max(other.base.abs());
        if (self.base - other.base).abs() <= scale * 1e-12 {
            return Some(std::cmp::Ordering::Equal);
        }
        self.base.partial_cmp(&other.base)
    }
}

impl PartialEq for Quantity {
    fn eq(&self, other: &Self) -> bool {
        self.dimension == other.dimension && self.base.to_bits() == other.base.to_bits()
    }
}

impl std::fmt::Display for Quantity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&written(self))
    }
}

fn written(quantity: &Quantity) -> String {
    let number = format_number(quantity.shown_value());
    match quantity.shown_unit().map(Unit::symbol) {
        None => format!("{number} ({})", quantity.dimension),
        Some("") => number,
        Some(symbol) => format!("{number} {symbol}"),
    }
}
