//! The checker's own numbering of values, so that equal values are found equal at once. Nothing here knows relations.

use crate::language::Value;
use crate::quantity::{Dimension, PageUnits, Quantity};
use std::collections::HashMap;
use std::sync::Arc;

/// A value by its number.
pub(super) type Term = u32;

/// What makes two values one: units do not count, and minus zero is zero.
#[derive(PartialEq, Eq, Hash)]
enum ValueKey {
    Symbol(Arc<str>),
    Number(u64, Dimension),
    Range([Option<(u64, Dimension)>; 2]),
}

fn key(value: &Value) -> ValueKey {
    let number = |quantity: &Quantity| ((quantity.base + 0.0).to_bits(), quantity.dimension);
    match value {
        Value::Symbol(text) => ValueKey::Symbol(text.clone()),
        Value::Number(quantity) => {
            let (bits, dimension) = number(quantity);
            ValueKey::Number(bits, dimension)
        }
        Value::Range(range) => {
            ValueKey::Range([range.lowest.as_ref().map(number), range.highest.as_ref().map(number)])
        }
    }
}

/// Every value met so far, in the units of the page.
#[derive(Default)]
pub(super) struct Terms {
    values: Vec<Value>,
    known: HashMap<ValueKey, Term>,
    units: PageUnits,
}

impl Terms {
    /// No value yet; all that come are shown in these units.
    pub fn in_units(units: PageUnits) -> Self {
        Terms { units, ..Terms::default() }
    }

    /// The number of a value; a new one where it was not met before.
    pub fn term(&mut self, value: &Value) -> Term {
        let (values, units, next) = (&mut self.values, &self.units, self.known.len() as Term);
        *self.known.entry(key(value)).or_insert_with(|| {
            values.push(value.in_units(units));
            next
        })
    }

    /// The value of a number.
    pub fn value(&self, term: Term) -> &Value {
        &self.values[term as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Interval, Unit};

    #[test]
    fn units_do_not_count_and_dimensions_do() {
        let mut terms = Terms::default();
        let warm = terms.term(&Value::Number(Quantity::new(1.0, Unit::FAHRENHEIT)));
        let same = Quantity::from_base(Unit::FAHRENHEIT.to_base(1.0), Dimension::TEMPERATURE);
        assert_eq!(terms.term(&Value::Number(same)), warm);
        assert_eq!(terms.value(warm).to_string(), "-17.22 °C");
        let page = PageUnits::written(&[Quantity::new(1.0, Unit::FAHRENHEIT)]);
        let mut of_the_page = Terms::in_units(page);
        let term = of_the_page.term(&Value::Number(same));
        assert_eq!(of_the_page.value(term).to_string(), "1 °F");
        let zero = |dimension, base| Value::Number(Quantity::from_base(base, dimension));
        assert_ne!(terms.term(&zero(Dimension::LENGTH, 0.0)), terms.term(&zero(Dimension::RATIO, 0.0)));
        assert_eq!(terms.term(&zero(Dimension::RATIO, -0.0)), terms.term(&zero(Dimension::RATIO, 0.0)));
        let end = Some(Quantity::number(1.0));
        let low = terms.term(&Value::Range(Interval { lowest: end, highest: None }));
        assert_ne!(terms.term(&Value::Range(Interval { lowest: None, highest: end })), low);
    }
}
