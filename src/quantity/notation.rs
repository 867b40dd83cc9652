//! Reading quantities as they are written in rulebooks and jobs.

use super::{Dimension, Interval, Quantity, Unit, UnitLookup};
use std::fmt;

/// Why a text is not the quantity that was expected.
#[derive(Clone, Debug, PartialEq)]
pub enum NotationError {
    /// Not a number at all, or not finite.
    NotANumber(String),
    /// No such unit; the nearest known one, if any is near.
    UnknownUnit(String, Option<&'static str>),
    /// A number without a unit where one is needed.
    MissingUnit(Dimension),
    /// A unit of another dimension.
    WrongDimension {
        /// The unit as written.
        unit: String,
        /// What the unit measures.
        found: Dimension,
        /// What was expected.
        expected: Dimension,
    },
    /// A range whose ends are the wrong way round.
    EndsSwapped,
    /// A figure that nothing is measured in: a nothing with a sign, or one beyond all measure.
    NoMeasure(String),
}

impl fmt::Display for NotationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotationError::NotANumber(text) => write!(f, "\"{text}\" is not a number"),
            NotationError::UnknownUnit(unit, Some(near)) => {
                write!(f, "unknown unit \"{unit}\"; did you mean \"{near}\"?")
            }
            NotationError::UnknownUnit(unit, None) => write!(f, "unknown unit \"{unit}\""),
            NotationError::MissingUnit(dimension) => {
                let example = Unit::usual(*dimension).map_or("", Unit::symbol);
                write!(f, "a {dimension} needs a unit, such as {example}")
            }
            NotationError::WrongDimension { unit, found, expected } => {
                write!(f, "\"{unit}\" is a unit of {found}, and a {expected} is expected here")
            }
            NotationError::EndsSwapped => f.write_str("the range starts above its end"),
            NotationError::NoMeasure(text) => write!(
                f,
                "\"{text}\" is no figure that anything is measured in: it is neither 0 nor between 1e-30 and 1e30 in size"
            ),
        }
    }
}

impl std::error::Error for NotationError {}

/// What a figure may be where it is not 0: far beyond anything that is measured, and far from the ends of what a number in
/// the machine can hold.
const MEASURABLE: std::ops::RangeInclusive<f64> = 1e-30..=1e30;

/// A decimal number that something may measure, or a fraction such as `1/8` or `1-1/2` as inches are written.
pub fn parse_number(text: &str) -> Result<f64, NotationError> {
    let bad = || NotationError::NotANumber(text.to_owned());
    let plain = |part: &str| -> Option<f64> {
        let digits = part.strip_prefix(['-', '+', '−']).unwrap_or(part);
        let shaped = digits.starts_with(|c: char| c.is_ascii_digit())
            && digits.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | 'e' | 'E' | '-' | '+'));
        let value: f64 = shaped.then(|| part.replace('−', "-").parse().ok())??;
        value.is_finite().then_some(value)
    };
    if let Some((above, below)) = text.split_once('/') {
        let (whole, above) = match above.split_once(['-', ' ']) {
            Some((whole, above)) if !whole.is_empty() => (plain(whole).ok_or_else(bad)?, above),
            _ => (0.0, above),
        };
        let above = plain(above).ok_or_else(bad)?;
        let below = plain(below).filter(|below| *below > 0.0).ok_or_else(bad)?;
        return measurable(whole + above / below, text);
    }
    measurable(plain(text).ok_or_else(bad)?, text)
}

fn measurable(value: f64, text: &str) -> Result<f64, NotationError> {
    let is_nothing = value == 0.0 && value.is_sign_positive();
    if is_nothing || MEASURABLE.contains(&value.abs()) {
        return Ok(value);
    }
    Err(NotationError::NoMeasure(text.to_owned()))
}

fn split_unit(text: &str) -> (&str, &str) {
    let text = text.trim();
    let numeric = |c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | '−' | '/' | ' ');
    let mut end = text.len();
    let mut rest = text.char_indices().peekable();
    while let Some((at, c)) = rest.next() {
        let exponent = matches!(c, 'e' | 'E')
            && rest.peek().is_some_and(|(_, next)| next.is_ascii_digit() || matches!(next, '-' | '+'));
        if !numeric(c) && !exponent {
            end = at;
            break;
        }
    }
    (text[..end].trim(), text[end..].trim())
}

fn find_unit(symbol: &str, expected: Option<Dimension>) -> Result<Unit, NotationError> {
    let Some(lookup) = Unit::lookup(symbol) else {
        return Err(NotationError::UnknownUnit(symbol.to_owned(), Unit::nearest(symbol)));
    };
    let (first, second) = match lookup {
        UnitLookup::One(unit) => (unit, unit),
        UnitLookup::Either(a, b) => (a, b),
    };
    match expected {
        None => Ok(first),
        Some(dimension) => {
            [first, second].into_iter().find(|unit| unit.dimension() == dimension).ok_or_else(|| {
                NotationError::WrongDimension {
                    unit: symbol.to_owned(),
                    found: first.dimension(),
                    expected: dimension,
                }
            })
        }
    }
}

/// A quantity such as `65 °C`, `1/8 in` or `40 %`. With `expected`, a unit of another dimension is an error, and a
/// number without a unit is taken only where a ratio or a share is expected.
pub fn parse_quantity(text: &str, expected: Option<Dimension>) -> Result<Quantity, NotationError> {
    let (number, symbol) = split_unit(text);
    let value = parse_number(number).map_err(|error| match error {
        NotationError::NoMeasure(_) => NotationError::NoMeasure(text.trim().to_owned()),
        _ => NotationError::NotANumber(text.trim().to_owned()),
    })?;
    if symbol.is_empty() {
        return match expected {
            None | Some(Dimension::RATIO) => Ok(Quantity::number(value)),
            Some(Dimension::SHARE) => Ok(Quantity::from_base(value, Dimension::SHARE)),
            Some(dimension) => Err(NotationError::MissingUnit(dimension)),
        };
    }
    if expected == Some(Dimension::RATIO) {
        // A plain number may be written in per cent, as a share may be written without.
        return find_unit(symbol, Some(Dimension::SHARE))
            .map(|unit| Quantity::number(unit.to_base(value)))
            .map_err(|error| match error {
                NotationError::WrongDimension { unit, found, .. } => {
                    NotationError::WrongDimension { unit, found, expected: Dimension::RATIO }
                }
                other => other,
            });
    }
    find_unit(symbol, expected).map(|unit| Quantity::new(value, unit))
}

/// A range such as `40..60 %`, `..0.35 %` or `5 mm..`, or one value standing for both ends.
pub fn parse_interval(text: &str, expected: Option<Dimension>) -> Result<Interval, NotationError> {
    let Some((low, high)) = text.split_once("..") else {
        return parse_quantity(text, expected).map(Interval::single);
    };
    let unit_of = |part: &str| split_unit(part).1.to_owned();
    let shared = if unit_of(high).is_empty() { unit_of(low) } else { unit_of(high) };
    let end = |part: &str| -> Result<Option<Quantity>, NotationError> {
        let (number, own) = split_unit(part);
        if number.is_empty() {
            return Ok(None);
        }
        let symbol = if own.is_empty() { shared.as_str() } else { own };
        parse_quantity(&format!("{number} {symbol}"), expected).map(Some)
    };
    let (lowest, highest) = (end(low)?, end(high)?);
    match (lowest, highest) {
        (None, None) => Err(NotationError::NotANumber(text.trim().to_owned())),
        (Some(low), Some(high)) if low.compare(&high) == Some(std::cmp::Ordering::Greater) => {
            Err(NotationError::EndsSwapped)
        }
        (lowest, highest) => Ok(Interval { lowest, highest }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_a_workshop_writes() {
        let inch = parse_quantity("1-1/2 in", Some(Dimension::LENGTH)).expect("a length");
        assert!((inch.base - 0.0381).abs() < 1e-12);
        assert_eq!(parse_quantity("203 °F", Some(Dimension::TEMPERATURE)).expect("a temperature").base, 95.0);
        assert_eq!(parse_quantity("65degC", None).expect("a temperature").base, 65.0);
        let range = parse_interval("40..60 %", Some(Dimension::SHARE)).expect("a range");
        assert_eq!(range.lowest.expect("low").base, 0.4);
        assert_eq!(parse_interval("..0.35", Some(Dimension::RATIO)).expect("a range").lowest, None);
    }

    #[test]
    fn refuses_what_is_not_a_quantity() {
        for text in
            ["-0 mm", "-0.0 °C", "−0", "0/1 in", "1e-320 mm", "1e-31", "1e31 mm", "1e308 kN", "-1e-400"]
        {
            let refused = parse_quantity(text, None);
            assert_eq!(refused.is_err(), text != "0/1 in", "{text:?} was taken for {refused:?}");
        }
        for text in ["", "NaN", "inf", "nan °C", "°C", "1e999 mm", "5 5 mm x", "..", "--3 mm", "1/0 in"] {
            assert!(parse_quantity(text, None).is_err(), "{text:?} was taken for a quantity");
        }
        assert!(matches!(
            parse_quantity("65 mm", Some(Dimension::TEMPERATURE)),
            Err(NotationError::WrongDimension { .. })
        ));
        assert_eq!(parse_interval("60..40 %", Some(Dimension::RATIO)), Err(NotationError::EndsSwapped));
        assert!(matches!(parse_quantity("65 °D", None), Err(NotationError::UnknownUnit(_, Some("°C")))));
    }
}
