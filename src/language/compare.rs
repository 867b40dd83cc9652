//! One order of all values, by what they are and not by when they were met, so that whoever must choose among facts chooses
//! alike.

use super::rulebook::Value;
use crate::quantity::Quantity;
use std::cmp::Ordering;

/// Which of two cells comes first: unknown ones, then names in the order of their letters, numbers by size, and ranges by
/// their ends.
pub fn compare_cells(one: Option<&Value>, other: Option<&Value>) -> Ordering {
    let rank = |cell: Option<&Value>| match cell {
        None => 0,
        Some(Value::Symbol(_)) => 1,
        Some(Value::Number(_)) => 2,
        Some(Value::Range(_)) => 3,
    };
    match (one, other) {
        (Some(Value::Symbol(one)), Some(Value::Symbol(other))) => one.cmp(other),
        (Some(Value::Number(one)), Some(Value::Number(other))) => numbers(one, other),
        (Some(Value::Range(one)), Some(Value::Range(other))) => {
            ends(one.lowest, other.lowest).then_with(|| ends(one.highest, other.highest))
        }
        _ => rank(one).cmp(&rank(other)),
    }
}

fn numbers(one: &Quantity, other: &Quantity) -> Ordering {
    // Minus zero is zero.
    (one.base + 0.0).total_cmp(&(other.base + 0.0))
}

fn ends(one: Option<Quantity>, other: Option<Quantity>) -> Ordering {
    match (one, other) {
        (Some(one), Some(other)) => numbers(&one, &other),
        (one, other) => one.is_some().cmp(&other.is_some()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Interval;

    #[test]
    fn every_two_cells_have_an_order() {
        let number = |value: f64| Value::Number(Quantity::number(value));
        let range = |low: Option<f64>, high: Option<f64>| {
            Value::Range(Interval { lowest: low.map(Quantity::number), highest: high.map(Quantity::number) })
        };
        let cells = [
            None,
            Some(Value::Symbol("10".into())),
            Some(Value::Symbol("9".into())),
            Some(number(-1.0)),
            Some(number(0.0)),
            Some(number(10.0)),
            Some(range(None, Some(2.0))),
            Some(range(Some(1.0), None)),
            Some(range(Some(1.0), Some(2.0))),
        ];
        for (at, one) in cells.iter().enumerate() {
            for (place, other) in cells.iter().enumerate() {
                assert_eq!(compare_cells(one.as_ref(), other.as_ref()), at.cmp(&place), "{one:?} {other:?}");
            }
        }
        assert_eq!(compare_cells(Some(&number(-0.0)), Some(&number(0.0))), Ordering::Equal);
    }
}
