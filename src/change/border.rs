//! Where on a scale of numbers something begins or ceases to hold, found by halving; and round numbers near that place. What
//! holds is asked of the caller.

use crate::quantity::{Unit, format_number};
use serde::Serialize;

/// Halving stops where the two sides are this close, relative to their size.
const CLOSE: f64 = 1e-7;

/// How far from a border, relative to its size, it is tried whether what holds beside it holds there too. A number that a
/// computation in steps brings, such as the freezing of a pool, may cross a limit to and fro within some parts in a million; the
/// border is shown no finer than that.
const BESIDE: [f64; 5] = [1e-6, 3e-6, 1e-5, 3e-5, 1e-4];

/// A number of so many digits is round, and so many are shown.
const FEW_DIGITS: i32 = 4;

/// A value that is offered lies no further from the border than this part of its size, or of the way to it.
const HAIR: f64 = 0.01;

/// More digits than this are not tried; the border itself is taken then.
const MOST_DIGITS: i32 = 12;

/// A border between the numbers for which something holds and those for which it does not, in the unit of the job file.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Border {
    /// The outermost number for which it holds.
    pub holds: f64,
    /// The number next to it for which it does not; the two differ by a part in 10⁷, or by as much as lies between numbers for
    /// which it holds and others, to and fro.
    pub fails: f64,
    /// Their unit; empty for a plain number.
    #[serde(serialize_with = "symbol")]
    pub unit: Unit,
}

/// A stretch of numbers for which something holds, with its borders; it may have no end on a side.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct Stretch {
    /// The lower border.
    pub lowest: Option<Border>,
    /// The upper border.
    pub highest: Option<Border>,
    /// A number in it.
    #[serde(skip)]
    pub(super) within: f64,
}

fn symbol<S: serde::Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(unit.symbol())
}

/// Closes in on the border between a number for which `holds` is true and one for which it is false.
pub(super) fn close_in(mut good: f64, mut bad: f64, holds: impl Fn(f64) -> bool) -> (f64, f64) {
    let from = (good, bad);
    // A border at nothing is not closed in on for ever.
    let least = (good - bad).abs() / 100.0;
    while (good - bad).abs() > CLOSE * good.abs().max(bad.abs()).max(least) {
        let middle = good / 2.0 + bad / 2.0;
        if middle == good || middle == bad {
            break;
        }
        if holds(middle) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    // Where the border is a round number, one side ends on it.
    match round_between(good, bad) {
        Some(round) if holds(round) => (round, bad),
        Some(round) => (good, round),
        None => (still(good, from.0, true, &holds), still(bad, from.1, false, &holds)),
    }
}

/// The number nearest to a border on one of its sides from which on things hold still, as far as `end`.
fn still(border: f64, end: f64, wanted: bool, holds: &impl Fn(f64) -> bool) -> f64 {
    let mut nearest = Some(border);
    for part in BESIDE {
        let number = border + (end - border).signum() * part * border.abs();
        if (number - border).abs() >= (end - border).abs() {
            break;
        }
        match (holds(number) == wanted, nearest) {
            (true, None) => nearest = Some(number),
            (true, Some(_)) => {}
            (false, _) => nearest = None,
        }
    }
    nearest.unwrap_or(end)
}

/// The roundest number of few digits between two that lie close together, both included.
fn round_between(good: f64, bad: f64) -> Option<f64> {
    let between = |round: &f64| (good.min(bad)..=good.max(bad)).contains(round);
    std::iter::once(0.0)
        .chain((1..=FEW_DIGITS).map(|digits| nearest(good, decimals(good, digits))))
        .find(between)
}

/// The nearest number with so many digits behind the point, or in front of it.
fn nearest(value: f64, decimals: i32) -> f64 {
    // Decimal text keeps 0.1 what it is.
    let text = if decimals >= 0 {
        format!("{value:.*}", decimals as usize)
    } else {
        let step = 10f64.powi(-decimals);
        format!("{:.0}", (value / step).round() * step)
    };
    text.parse().unwrap_or(value)
}

/// The nearest number with so many digits that is not below the value, or not above it.
fn rounded(value: f64, decimals: i32, up: bool) -> f64 {
    let near = nearest(value, decimals);
    let step = 10f64.powi(-decimals);
    let moved = match (up, near < value, near > value) {
        (true, true, _) => near + step,
        (false, _, true) => near - step,
        _ => return near,
    };
    nearest(moved, decimals)
}

/// How many decimals a number has when it is written with so many significant digits.
fn decimals(value: f64, digits: i32) -> i32 {
    let magnitude = if value == 0.0 { 0 } else { value.abs().log10().floor() as i32 };
    digits - 1 - magnitude
}

/// The roundest number within a hair of the border, on the side where it holds, for which it does hold; the border's own
/// where there is none. `from` is where the way to the border begins.
pub(super) fn roundest(border: &Border, from: f64, holds: impl Fn(f64) -> bool) -> f64 {
    let up = border.holds > border.fails;
    let way = border.holds.abs().max((border.holds - from).abs());
    for digits in 1..=MOST_DIGITS {
        let candidate = rounded(border.holds, decimals(border.holds, digits), up);
        if (candidate - border.holds).abs() <= HAIR * way && holds(candidate) {
            return candidate;
        }
    }
    border.holds
}

/// A round number between two borders, about in their middle.
pub(super) fn between(low: &Border, high: &Border, holds: impl Fn(f64) -> bool) -> f64 {
    let middle = low.holds / 2.0 + high.holds / 2.0;
    (1..=MOST_DIGITS)
        .map(|digits| nearest(middle, decimals(middle, digits)))
        .find(|number| (low.holds..=high.holds).contains(number) && holds(*number))
        .unwrap_or(low.holds)
}

impl Stretch {
    /// The numbers of the stretch: "65 °C or less", "68.1 % to 76.5 %"; `None` where any number will do.
    pub fn in_words(&self) -> Option<String> {
        match (self.lowest, self.highest) {
            (Some(low), Some(high)) => {
                let number = |border: &Border| {
                    let round = round_between(border.holds, border.fails);
                    let up = border.holds > border.fails;
                    format_number(
                        round
                            .unwrap_or_else(|| rounded(border.holds, decimals(border.holds, FEW_DIGITS), up)),
                    )
                };
                Some(
                    format!("{} to {} {}", number(&low), number(&high), high.unit.symbol())
                        .trim_end()
                        .to_owned(),
                )
            }
            (Some(border), None) | (None, Some(border)) => Some(border.in_words()),
            (None, None) => None,
        }
    }
}

impl Border {
    /// The numbers on the side where it holds: "65 °C or less", "more than 3 mm".
    pub fn in_words(&self) -> String {
        let up = self.holds > self.fails;
        let unit = self.unit.symbol();
        let with_unit = |number: String| if unit.is_empty() { number } else { format!("{number} {unit}") };
        let (or, beyond) = if up { ("or more", "more than") } else { ("or less", "less than") };
        match round_between(self.holds, self.fails) {
            Some(round) if round == self.fails => format!("{beyond} {}", with_unit(format_number(round))),
            round => {
                let shown =
                    round.unwrap_or_else(|| rounded(self.holds, decimals(self.holds, FEW_DIGITS), up));
                format!("{} {or}", with_unit(format_number(shown)))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn border(good: f64, bad: f64, holds: impl Fn(f64) -> bool) -> Border {
        let (holds, fails) = close_in(good, bad, holds);
        Border { holds, fails, unit: Unit::CELSIUS }
    }

    #[test]
    fn halving_ends_beside_the_border() {
        let found = border(20.0, 95.0, |x| x <= 65.0);
        assert!(found.holds <= 65.0 && found.fails > 65.0 && found.fails - found.holds <= CLOSE * 65.1);
        let asked = std::cell::Cell::new(0);
        let found = border(-20.0, 30.0, |x| {
            asked.set(asked.get() + 1);
            x <= 0.0
        });
        assert!(found.holds == 0.0 && found.fails <= CLOSE && asked.get() < 50, "{found:?}");
        let found = border(3.0, 0.1, |x| x > 0.1 + 0.2);
        assert!(found.holds > 0.1 + 0.2 && found.fails <= 0.1 + 0.2);
    }

    #[test]
    fn a_border_that_trembles_is_given_no_finer_than_it_holds_still() {
        // Just beyond 41.2345 it fails, and a little further on it holds once more.
        let holds = |x: f64| x <= 41.2345 || (41.2345 * (1.0 + 5e-6)..41.2345 * (1.0 + 2e-5)).contains(&x);
        let found = border(20.0, 95.0, holds);
        assert!(found.holds <= 41.2345 && found.holds > 41.2344, "{found:?}");
        assert!(found.fails > 41.2345 * (1.0 + 2e-5) && found.fails < 41.237, "{found:?}");
        assert_eq!(found.in_words(), "41.23 °C or less");
    }

    #[test]
    fn the_border_is_put_with_or_without_itself() {
        assert_eq!(border(20.0, 95.0, |x| x <= 65.0).in_words(), "65 °C or less");
        assert_eq!(border(20.0, 95.0, |x| x < 65.0).in_words(), "less than 65 °C");
        assert_eq!(border(95.0, 20.0, |x| x >= 65.0).in_words(), "65 °C or more");
        assert_eq!(border(95.0, 20.0, |x| x > 65.0).in_words(), "more than 65 °C");
        assert_eq!(border(20.0, 95.0, |x| x <= 41.234_567_8).in_words(), "41.23 °C or less");
    }

    #[test]
    fn the_roundest_value_lies_on_the_good_side() {
        for (limit, offered) in [(65.0, 65.0), (41.234_567, 41.0), (0.123_456, 0.123), (1_234.5, 1_230.0)] {
            let holds = |x: f64| x <= limit;
            let found = border(limit / 2.0, limit * 2.0, holds);
            assert_eq!(roundest(&found, limit * 1.001, holds), offered, "{limit}");
        }
        let holds = |x: f64| x < 65.0;
        assert_eq!(roundest(&border(20.0, 95.0, holds), 66.0, holds), 64.9);
        let holds = |x: f64| x >= 5.031_2;
        assert_eq!(roundest(&border(20.0, 1.0, holds), 5.0, holds), 5.04);
    }

    #[test]
    fn a_narrow_window_gets_the_digits_it_needs() {
        let holds = |x: f64| (5.031_15..5.031_9).contains(&x);
        let found = border(5.031_5, 4.0, holds);
        assert_eq!(roundest(&found, 4.0, holds), 5.031_2);
    }
}
