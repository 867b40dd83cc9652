//! How a value was read from a curve: at what, between which points, where these stand, and on whose authority.

use super::build::Builder;
use super::build::Kind;
use super::formula::Bindings;
use crate::engine::{Cell, Outcome, evaluate};
use crate::language::{Condition, Curve, CurveId, Expression, Rulebook, VariableId};
use crate::quantity::Quantity;
use crate::verdict::Measured;
use serde::Serialize;

/// A point of a curve that a value was read from.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct CurvePoint {
    /// What goes in.
    pub at: Measured,
    /// What comes out.
    pub value: Measured,
    /// The rule file.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
}

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
fn points(rulebook: &Rulebook, curve: &Curve, at: Quantity) -> Vec<CurvePoint> {
    let Some((one, other)) = curve.read_between(at.base) else { return Vec::new() };
    let positions = if one == other { vec![one] } else { vec![one, other] };
    positions
        .into_iter()
        .filter_map(|position| {
            let ((x, y), place) = (*curve.points.get(position)?, *curve.places.get(position)?);
            Some(CurvePoint {
                at: Measured::from(&Quantity::from_base(x, curve.from)),
                value: Measured::from(&Quantity::from_base(y, curve.to)),
                file: rulebook.sources.file(place).name.clone(),
                line: rulebook.sources.position(place).0,
            })
        })
        .collect()
}

fn told(curve: &Curve, at: Quantity, points: &[CurvePoint]) -> String {
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

/// Tells below a node of arithmetic how each curve in it was read.
pub(super) fn tell(
    builder: &mut Builder<'_, '_>,
    below: usize,
    formulas: &[&Expression],
    bindings: &Bindings,
) {
    let rulebook = builder.decision.rulebook;
    let mut found = Vec::new();
    formulas.iter().for_each(|formula| read_in(formula, &mut found));
    let value = |variable: VariableId| bindings[variable.index()].as_ref().and_then(Cell::value);
    for (curve, at) in found {
        let Some(curve) = rulebook.curves.get(curve.index()) else { continue };
        let Outcome::Value(at) = evaluate(at, &rulebook.curves, &value) else { continue };
        let points = points(rulebook, curve, at);
        let node = builder.node(Kind::Working, told(curve, at, &points), false);
        builder.place(node, curve.span);
        builder.cite(node, &curve.cites);
        builder.explanation.nodes[node].detail = true;
        builder.explanation.nodes[node].points = points;
        builder.edge(below, node, "curve");
    }
}

/// The formulas of a condition.
pub(super) fn sides(condition: &Condition) -> Vec<&Expression> {
    match condition {
        Condition::Compare { left, right, .. } => vec![left, right],
        Condition::Among { .. } => Vec::new(),
    }
}
