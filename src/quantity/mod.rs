//! Numbers with dimensions: what a unit is, how units combine, how a quantity is read and written.
//! Nothing here knows metal, rules or files; every other folder passes numbers around as [`Quantity`].

mod dimension;
mod interval;
mod notation;
mod page;
mod unit;
mod value;
mod written;

pub use dimension::{Dimension, DimensionError};
pub use interval::Interval;
pub use notation::{NotationError, parse_interval, parse_number, parse_quantity};
pub use page::PageUnits;
pub use unit::{Unit, UnitLookup};
pub use value::Quantity;
pub use written::format_number;
