//! Formulas and conditions with numbers put in.

use crate::engine::Cell;
use crate::language::{
    Comparison, Condition, Expression, Finding, Function, Operator, Rulebook, Span, Term, Value, VariableId,
};
use crate::verdict::Decision;

/// The text of a `let` or `where` as it stands in the rulebook, without its first word and with single spaces.
pub(super) fn source_text(rulebook: &Rulebook, span: Span) -> String {
    let words: Vec<&str> = rulebook.sources.text(span).split_whitespace().skip(1).collect();
    words.join(" ")
}

/// Values of a finding's variables.
pub(super) type Bindings = [Option<Cell>];

fn variable(finding: &Finding, bindings: &Bindings, id: VariableId) -> String {
    let variable = &finding.variables[id.index()];
    match bindings.get(id.index()).and_then(Option::as_ref) {
        Some(Cell::Value(value)) => value.to_string(),
        Some(Cell::Unknown) | None => variable.name.clone(),
    }
}

/// Whether a formula is one figure as it stands.
pub(super) fn is_figure(expression: &Expression) -> bool {
    matches!(expression, Expression::Constant(_))
}

/// A formula with the values of its variables.
pub(super) fn with_values(
    decision: &Decision<'_>,
    finding: &Finding,
    bindings: &Bindings,
    expression: &Expression,
) -> String {
    let inner = |expression: &Expression| with_values(decision, finding, bindings, expression);
    match expression {
        Expression::Constant(quantity) => decision.derivation.units().convert(*quantity).to_string(),
        Expression::Variable(id) => variable(finding, bindings, *id),
        Expression::Negated(of) => format!("−{}", bracketed(of, inner(of), 3)),
        Expression::Binary(operator, left, right) => {
            let (sign, rank) = match operator {
                Operator::Plus => ("+", 1),
                Operator::Minus => ("−", 1),
                Operator::Times => ("×", 2),
                Operator::Over => ("/", 2),
            };
            // What follows a minus or a slash keeps its brackets at the same rank.
            let behind = if matches!(operator, Operator::Minus | Operator::Over) { rank + 1 } else { rank };
            format!(
                "{} {sign} {}",
                bracketed(left, inner(left), rank),
                bracketed(right, inner(right), behind)
            )
        }
        Expression::Call(Function::Either, arguments) => {
            arguments.iter().map(inner).collect::<Vec<_>>().join(" or ")
        }
        Expression::Call(function, arguments) => {
            let name = match function {
                Function::Lowest => "lowest",
                Function::Highest => "highest",
                Function::Middle => "middle",
                Function::Smaller => "smaller",
                Function::Larger => "larger",
                Function::Magnitude => "magnitude",
                Function::Root => "root",
                Function::Either => "either",
            };
            format!("{name}({})", arguments.iter().map(inner).collect::<Vec<_>>().join(", "))
        }
        Expression::Curve(curve, at) => {
            format!("{}({})", decision.rulebook.curves[curve.index()].name, inner(at))
        }
    }
}

fn bracketed(expression: &Expression, text: String, rank: u8) -> String {
    let own = match expression {
        Expression::Binary(Operator::Plus | Operator::Minus, ..) => 1,
        Expression::Binary(..) => 2,
        _ => 3,
    };
    if own < rank { format!("({text})") } else { text }
}

/// A condition with the values of its variables.
pub(super) fn condition(
    decision: &Decision<'_>,
    finding: &Finding,
    bindings: &Bindings,
    condition: &Condition,
) -> String {
    match condition {
        Condition::Compare { left, comparison, right } => {
            let sign = match comparison {
                Comparison::Less => "<",
                Comparison::AtMost => "≤",
                Comparison::More => ">",
                Comparison::AtLeast => "≥",
                Comparison::Equal => "=",
                Comparison::Unequal => "≠",
            };
            format!(
                "{} {sign} {}",
                with_values(decision, finding, bindings, left),
                with_values(decision, finding, bindings, right)
            )
        }
        Condition::Among { left, among, negated } => {
            let term = |term: &Term| match term {
                Term::Any => "anything".to_owned(),
                Term::Variable(id) => variable(finding, bindings, *id),
                Term::Constant(Value::Number(quantity)) => {
                    decision.derivation.units().convert(*quantity).to_string()
                }
                Term::Constant(value) => value.to_string(),
            };
            let verb = match (negated, among.len()) {
                (false, 1) => "is",
                (false, _) => "is one of",
                (true, 1) => "is not",
                (true, _) => "is none of",
            };
            format!("{} {verb} {}", term(left), among.iter().map(term).collect::<Vec<_>>().join(", "))
        }
    }
}
