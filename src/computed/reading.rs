//! Spreads as they stand in the rows that go into a computation: three roles in a row, lowest, nominal and highest.

use crate::engine::{Cell, Inputs};
use crate::language::Value;
use crate::metallurgy::mixing::Spread;
use crate::quantity::Quantity;

fn number(value: Option<&Value>) -> Option<Quantity> {
    match value {
        Some(Value::Number(quantity)) => Some(*quantity),
        _ => None,
    }
}

fn spread_from(number: impl Fn(usize) -> Option<Quantity>, first: usize) -> Option<Spread> {
    Some(Spread { lowest: number(first)?, nominal: number(first + 1)?, highest: number(first + 2)? })
}

/// The spread that begins in a role of a row; `None` where a value is unknown.
pub(super) fn spread(inputs: &Inputs<'_>, input: usize, row: usize, first: usize) -> Option<Spread> {
    spread_from(|role| number(inputs.value(inputs.term(input, row, role))), first)
}

/// The same of cells.
pub(super) fn spread_of_cells(cells: &[Cell], first: usize) -> Option<Spread> {
    let value = |role: usize| match cells.get(role) {
        Some(Cell::Value(value)) => Some(value),
        _ => None,
    };
    spread_from(|role| number(value(role)), first)
}
