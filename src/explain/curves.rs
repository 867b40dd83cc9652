//! How a value was read from a curve: at what, between which points, where these stand, and on whose authority.

use super::formula::Bindings;
use super::graph::CurvePoint;
use crate::engine::{Cell, Outcome, evaluate};
use crate::language::{Condition, Curve, CurveId, Expression, VariableId};
use crate::quantity::Quantity;
use crate::verdict::{Decision, Measured};

/// The curves that a formula reads, and at what.
fn read_in<'e>(formula: &'e Expression, found: &mut Vec<(CurveId, &'e Expression)>) {
    match formula {
        Expression::Constant(_) | Expression::Variable(_) => {}
        Expression::Negated(inner) => read_in(inner, found),
        Expression::Binary(_, left, right) => [left, right].into_iter().for_each(|side| read_in(side, found)),
        Expression::Call(_, arguments) => arguments.iter().for_each(|argument| read_in(argument, found)),
        Expression::Curve(curve, at) => {
            read_in(at, found);
            found.push((*curve, at));
        }
    }
}

/// The points between which a curve is read at a quantity, one point where that one's value is taken.
fn points(decision: &Decision<'_>, curve: &Curve, at: Quantity) -> Vec<CurvePoint> {
    let (sources, units) = (&decision.rulebook.sources, decision.derivation.units());
    let Some((one, other)) = curve.read_between(at.base) else { return Vec::new() };
    let positions = if one == other { vec![one] } else { vec![one, other] };
    positions
        .into_iter()
        .filter_map(|position| {
            let ((x, y), place) = (*curve.points.get(position)?, *curve.places.get(position)?);
            Some(CurvePoint {
                at: Measured::from(&units.convert(Quantity::from_base(x, curve.from))),
                value: Measured::from(&units.convert(Quantity::from_base(y, curve.to))),
                file: sources.file(place).name.clone(),
                line: sources.position(place).0,
            })
        })
        .collect()
}

fn sentence(curve: &Curve, at: Quantity, points: &[CurvePoint]) -> String {
    let point = |point: &CurvePoint| {
        let figure =
            |measured: &Measured| format!("{} {}", measured.number, measured.unit).trim_end().to_owned();
        format!("{} at {} ({}:{})", figure(&point.value), figure(&point.at), point.file, point.line)
    };
    let ends = [curve.points.first(), curve.points.last()].map(|end| end.map(|end| end.0));
    let where_read = match (points, ends) {
        ([first, second], [Some(lowest), Some(highest)]) if at.base < lowest || at.base > highest => {
            format!("beyond its end, along the line through {} and {}", point(first), point(second))
        }
        ([first, second], _) => format!("between its points {} and {}", point(first), point(second)),
        ([only], [Some(lowest), Some(highest)]) if at.base < lowest || at.base > highest => {
            format!("beyond its end, whose value holds: {}", point(only))
        }
        ([only], _) => format!("at its point {}", point(only)),
        _ => "where it has no value".to_owned(),
    };
    format!("{} read at {at}, {where_read}", curve.name.replace('-', " "))
}

/// A value that a formula read from a curve.
pub(super) struct Reading<'r> {
    /// The curve.
    pub curve: &'r Curve,
    /// What was read, as a sentence.
    pub text: String,
    /// The points between which it was read.
    pub points: Vec<CurvePoint>,
}

/// How each curve in some formulas was read.
pub(super) fn readings<'r>(
    decision: &Decision<'r>,
    formulas: &[&Expression],
    bindings: &Bindings,
) -> Vec<Reading<'r>> {
    let rulebook = decision.rulebook;
    let mut found = Vec::new();
    formulas.iter().for_each(|formula| read_in(formula, &mut found));
    let value = |variable: VariableId| bindings[variable.index()].as_ref().and_then(Cell::value);
    let read = found.into_iter().filter_map(|(curve, at)| {
        let curve = rulebook.curves.get(curve.index())?;
        let Outcome::Value(at) = evaluate(at, &rulebook.curves, &value) else { return None };
        let at = decision.derivation.units().convert(at);
        let points = points(decision, curve, at);
        Some(Reading { curve, text: sentence(curve, at, &points), points })
    });
    read.collect()
}

/// The formulas of a condition.
pub(super) fn sides(condition: &Condition) -> Vec<&Expression> {
    match condition {
        Condition::Compare { left, right, .. } => vec![left, right],
        Condition::Among { .. } => Vec::new(),
    }
}
