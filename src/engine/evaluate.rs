//! Formulas and conditions: their values when the variables have values, when some are unknown, and when there is
//! no value at all. Which facts are looked at is decided elsewhere.

use crate::language::{
    Comparison, Condition, Curve, Expression, Function, Operator, Term, Value, VariableId,
};
use crate::quantity::{Dimension, Quantity, Unit};
use std::cmp::Ordering;

/// The value of a formula.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Outcome {
    /// A quantity.
    Value(Quantity),
    /// Something, once a question is answered.
    Unknown,
    /// Nothing: a division by zero, a place outside a curve, an end that a range does not have.
    Nothing,
}

/// The truth of a condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Truth {
    /// It holds.
    Holds,
    /// It fails.
    Fails,
    /// It hangs on an unanswered question.
    Open,
}

impl Truth {
    fn of(holds: bool) -> Self {
        if holds { Truth::Holds } else { Truth::Fails }
    }

    fn turned(self) -> Self {
        match self {
            Truth::Holds => Truth::Fails,
            Truth::Fails => Truth::Holds,
            Truth::Open => Truth::Open,
        }
    }
}

/// Evaluates the side of a comparison, which mostly is a variable or a number.
#[inline]
fn side<'v>(
    formula: &Expression,
    curves: &[Curve],
    values: &impl Fn(VariableId) -> Option<&'v Value>,
) -> Outcome {
    match formula {
        Expression::Constant(quantity) => Outcome::Value(*quantity),
        Expression::Variable(variable) => variable_value(values(*variable)),
        formula => evaluate(formula, curves, values),
    }
}

#[inline]
fn variable_value(value: Option<&Value>) -> Outcome {
    match value {
        None => Outcome::Unknown,
        Some(Value::Number(quantity)) => finite(*quantity),
        Some(_) => Outcome::Nothing,
    }
}

/// Evaluates a formula; `values` gives the value of a variable, `None` where it is unknown.
pub fn evaluate<'v>(
    formula: &Expression,
    curves: &[Curve],
    values: &impl Fn(VariableId) -> Option<&'v Value>,
) -> Outcome {
    match formula {
        Expression::Constant(quantity) => Outcome::Value(*quantity),
        Expression::Variable(variable) => variable_value(values(*variable)),
        Expression::Binary(operator, left, right) => {
            let (left, right) = (evaluate(left, curves, values), evaluate(right, curves, values));
            both(left, right, |a, b| binary(*operator, a, b))
        }
        Expression::Negated(inner) => one(evaluate(inner, curves, values), |a| {
            if a.dimension.is_point() { Outcome::Nothing } else { finite(Quantity { base: -a.base, ..a }) }
        }),
        Expression::Call(function, arguments) => call(*function, arguments, curves, values),
        Expression::Curve(curve, at) => one(evaluate(at, curves, values), |a| {
            curves.get(curve.index()).map_or(Outcome::Nothing, |curve| read(curve, a))
        }),
    }
}

/// Decides a condition; `values` gives the value of a variable, `None` where it is unknown.
pub fn decide<'v>(
    condition: &'v Condition,
    curves: &[Curve],
    values: &impl Fn(VariableId) -> Option<&'v Value>,
) -> Truth {
    match condition {
        Condition::Compare { left, comparison, right } => {
            compare(side(left, curves, values), *comparison, side(right, curves, values))
        }
        Condition::Among { left, among, negated } => {
            let value = |term: &'v Term| match term {
                Term::Constant(value) => Some(value),
                Term::Variable(variable) => values(*variable),
                Term::Any => None,
            };
            let left = value(left);
            let truth = is_among(left, among.iter().map(value));
            if *negated { truth.turned() } else { truth }
        }
    }
}

/// Whether `left` is one of `among`, where `None` is something unknown.
pub(super) fn is_among<T: PartialEq>(left: Option<T>, among: impl Iterator<Item = Option<T>>) -> Truth {
    let mut truth = Truth::Fails;
    for candidate in among {
        match (&left, &candidate) {
            (Some(left), Some(candidate)) if left == candidate => return Truth::Holds,
            (Some(_), Some(_)) => {}
            _ => truth = Truth::Open,
        }
    }
    truth
}

#[inline]
fn compare(left: Outcome, comparison: Comparison, right: Outcome) -> Truth {
    match (left, right) {
        (Outcome::Nothing, _) | (_, Outcome::Nothing) => Truth::Fails,
        (Outcome::Unknown, _) | (_, Outcome::Unknown) => Truth::Open,
        (Outcome::Value(left), Outcome::Value(right)) => {
            let Some(order) = left.compare(&right) else { return Truth::Fails };
            Truth::of(match comparison {
                Comparison::Less => order == Ordering::Less,
                Comparison::AtMost => order != Ordering::Greater,
                Comparison::More => order == Ordering::Greater,
                Comparison::AtLeast => order != Ordering::Less,
                Comparison::Equal => order == Ordering::Equal,
                Comparison::Unequal => order != Ordering::Equal,
            })
        }
    }
}

fn one(value: Outcome, apply: impl FnOnce(Quantity) -> Outcome) -> Outcome {
    match value {
        Outcome::Value(value) => apply(value),
        other => other,
    }
}

/// No value on either side outweighs an unknown one: no answer could give the formula a value.
fn both(left: Outcome, right: Outcome, apply: impl FnOnce(Quantity, Quantity) -> Outcome) -> Outcome {
    match (left, right) {
        (Outcome::Nothing, _) | (_, Outcome::Nothing) => Outcome::Nothing,
        (Outcome::Unknown, _) | (_, Outcome::Unknown) => Outcome::Unknown,
        (Outcome::Value(left), Outcome::Value(right)) => apply(left, right),
    }
}

fn finite(quantity: Quantity) -> Outcome {
    if quantity.base.is_finite() { Outcome::Value(quantity) } else { Outcome::Nothing }
}

/// The sum of two quantities, shown in the unit of the first; nothing where dimensions do not add.
pub(super) fn sum(a: Quantity, b: Quantity) -> Outcome {
    binary(Operator::Plus, a, b)
}

/// The unit of an operand whose dimension the result has.
fn own_unit(operand: Quantity, result: Dimension) -> Option<Unit> {
    operand.unit.filter(|_| operand.dimension == result)
}

fn binary(operator: Operator, a: Quantity, b: Quantity) -> Outcome {
    let dimension = match operator {
        Operator::Plus => a.dimension.plus(b.dimension),
        Operator::Minus => a.dimension.minus(b.dimension),
        Operator::Times => a.dimension.times(b.dimension),
        Operator::Over => a.dimension.over(b.dimension),
    };
    let Ok(dimension) = dimension else { return Outcome::Nothing };
    let (base, unit) = match operator {
        Operator::Plus => (a.base + b.base, a.unit),
        Operator::Minus => (a.base - b.base, a.unit),
        // A scaled quantity keeps its unit: half of 50 % is 25 %.
        Operator::Times => (a.base * b.base, own_unit(a, dimension).or(own_unit(b, dimension))),
        Operator::Over => (a.base / b.base, own_unit(a, dimension)),
    };
    finite(Quantity::from_base(base, dimension).shown_in(unit))
}

fn call<'v>(
    function: Function,
    arguments: &[Expression],
    curves: &[Curve],
    values: &impl Fn(VariableId) -> Option<&'v Value>,
) -> Outcome {
    match (function, arguments) {
        (Function::Lowest | Function::Highest | Function::Middle, [Expression::Variable(variable)]) => {
            match values(*variable) {
                None => Outcome::Unknown,
                Some(Value::Range(range)) => {
                    let end = match function {
                        Function::Lowest => range.lowest,
                        Function::Highest => range.highest,
                        _ => range
                            .lowest
                            .zip(range.highest)
                            .map(|(low, high)| Quantity { base: low.base / 2.0 + high.base / 2.0, ..low }),
                    };
                    end.map_or(Outcome::Nothing, finite)
                }
                Some(Value::Number(quantity)) => finite(*quantity),
                Some(Value::Symbol(_)) => Outcome::Nothing,
            }
        }
        (Function::Lowest | Function::Highest | Function::Middle, [inner]) => evaluate(inner, curves, values),
        (Function::Smaller | Function::Larger, [left, right]) => {
            let (left, right) = (evaluate(left, curves, values), evaluate(right, curves, values));
            both(left, right, |a, b| match (a.compare(&b), function) {
                (None, _) => Outcome::Nothing,
                (Some(Ordering::Greater), Function::Smaller) | (Some(Ordering::Less), Function::Larger) => {
                    Outcome::Value(b)
                }
                _ => Outcome::Value(a),
            })
        }
        (Function::Magnitude, [inner]) => {
            one(evaluate(inner, curves, values), |a| finite(Quantity { base: a.base.abs(), ..a }))
        }
        (Function::Root, [inner]) => one(evaluate(inner, curves, values), |a| match a.dimension.root() {
            Ok(dimension) => finite(Quantity::from_base(a.base.sqrt(), dimension)),
            Err(_) => Outcome::Nothing,
        }),
        (Function::Either, [first, second]) => match evaluate(first, curves, values) {
            Outcome::Nothing => evaluate(second, curves, values),
            found => found,
        },
        _ => Outcome::Nothing,
    }
}

fn read(curve: &Curve, at: Quantity) -> Outcome {
    if at.dimension != curve.from {
        return Outcome::Nothing;
    }
    let (x, points) = (at.base, &curve.points);
    let base = match curve.read_between(x) {
        None => return Outcome::Nothing,
        Some((one, other)) if one == other => points[one].1,
        Some((one, other)) => {
            let ((x0, y0), (x1, y1)) = (points[one], points[other]);
            y0 + (y1 - y0) * ((x - x0) / (x1 - x0))
        }
    };
    finite(Quantity::from_base(base, curve.to))
}

/// The zero of a dimension: the sum of nothing.
pub(super) fn zero(dimension: Dimension) -> Quantity {
    Quantity::from_base(0.0, dimension)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{CurveId, Outside};
    use crate::quantity::{Interval, Unit};

    fn number(value: f64) -> Expression {
        Expression::Constant(Quantity::number(value))
    }

    fn outcome(formula: &Expression, curves: &[Curve]) -> Outcome {
        evaluate(formula, curves, &|_| None)
    }

    #[test]
    fn division_by_zero_has_no_value_even_beside_an_unknown() {
        let quotient = Expression::Binary(Operator::Over, Box::new(number(1.0)), Box::new(number(0.0)));
        assert_eq!(outcome(&quotient, &[]), Outcome::Nothing);
        let beside = Expression::Binary(
            Operator::Times,
            Box::new(Expression::Variable(VariableId(0))),
            Box::new(quotient),
        );
        assert_eq!(outcome(&beside, &[]), Outcome::Nothing);
        assert_eq!(outcome(&Expression::Variable(VariableId(0)), &[]), Outcome::Unknown);
    }

    #[test]
    fn sums_keep_the_left_unit_and_temperatures_only_shift() {
        let warm = Expression::Constant(Quantity::new(150.0, Unit::FAHRENHEIT));
        let more = Expression::Constant(Quantity::from_base(10.0, Dimension::TEMPERATURE_DIFFERENCE));
        let shifted = Expression::Binary(Operator::Plus, Box::new(warm.clone()), Box::new(more));
        let Outcome::Value(value) = outcome(&shifted, &[]) else {
            panic!("a shifted temperature has a value")
        };
        assert_eq!(value.to_string(), "168 °F");
        let doubled = Expression::Binary(Operator::Times, Box::new(warm), Box::new(number(2.0)));
        assert_eq!(outcome(&doubled, &[]), Outcome::Nothing);
    }

    #[test]
    fn a_curve_is_read_between_and_outside_its_points() {
        let curve = |outside| Curve {
            name: "slope".into(),
            from: Dimension::RATIO,
            to: Dimension::RATIO,
            points: vec![(0.0, 0.0), (1.0, 2.0), (2.0, 3.0)],
            places: vec![Default::default(); 3],
            outside,
            cites: vec![],
            span: Default::default(),
        };
        let read =
            |x, outside| outcome(&Expression::Curve(CurveId(0), Box::new(number(x))), &[curve(outside)]);
        let value = |y| Outcome::Value(Quantity::number(y));
        assert_eq!(read(0.5, Outside::None), value(1.0));
        assert_eq!(read(2.0, Outside::None), value(3.0));
        assert_eq!(read(2.5, Outside::None), Outcome::Nothing);
        assert_eq!(read(2.5, Outside::Holds), value(3.0));
        assert_eq!(read(3.0, Outside::Extends), value(4.0));
        assert_eq!(read(-1.0, Outside::Extends), value(-2.0));
    }

    #[test]
    fn a_range_without_an_end_has_no_value_there() {
        let range = Value::Range(Interval { lowest: None, highest: Some(Quantity::number(0.4)) });
        let end = |function| {
            let call = Expression::Call(function, vec![Expression::Variable(VariableId(0))]);
            evaluate(&call, &[], &|_| Some(&range))
        };
        assert_eq!(end(Function::Highest), Outcome::Value(Quantity::number(0.4)));
        assert_eq!(end(Function::Lowest), Outcome::Nothing);
        assert_eq!(end(Function::Middle), Outcome::Nothing);
    }
}
