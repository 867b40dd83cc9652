//! Ranges of quantities, as alloy limits are written: two ends, either of which may be left open.

use super::{Dimension, Quantity};
use std::cmp::Ordering;

/// A range of one dimension. At least one end is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end, where there is one.
    pub lowest: Option<Quantity>,
    /// Upper end, where there is one.
    pub highest: Option<Quantity>,
}

impl Interval {
    /// The range that holds one value.
    pub fn single(value: Quantity) -> Self {
        Interval { lowest: Some(value), highest: Some(value) }
    }

    /// Whether a quantity of the same dimension lies within, ends included.
    pub fn holds(&self, quantity: &Quantity) -> bool {
        let beyond =
            |end: Option<Quantity>, side| end.is_some_and(|end| quantity.compare(&end) == Some(side));
        quantity.base.is_finite()
            && !beyond(self.lowest, Ordering::Less)
            && !beyond(self.highest, Ordering::Greater)
    }

    /// What the range measures.
    pub fn dimension(&self) -> Dimension {
        self.lowest.or(self.highest).map_or(Dimension::RATIO, |end| end.dimension)
    }
}

impl std::fmt::Display for Interval {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match (self.lowest, self.highest) {
            (Some(low), Some(high)) if low == high => write!(f, "{low}"),
            (Some(low), Some(high)) => {
                let low = low.shown_in(high.shown_unit());
                write!(f, "{} to {high}", super::format_number(low.shown_value()))
            }
            (Some(low), None) => write!(f, "{low} or more"),
            (None, Some(high)) => write!(f, "{high} or less"),
            (None, None) => f.write_str("any"),
        }
    }
}
