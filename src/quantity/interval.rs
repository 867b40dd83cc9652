//! Ranges of quantities, as alloy limits are written: two ends, either of which may be left open.

use super::{Dimension, Quantity};

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
