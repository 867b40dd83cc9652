//! Dimensions of formulas, checked before anything runs. A `%` is a share or a mass per cent, and a `K` a temperature or a
//! difference: what the other side is decides.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::source::Span;
use super::super::tree::*;
use super::checker::*;
use super::scope::Scope;
use crate::quantity::Dimension;
use crate::quantity::{Quantity, Unit, UnitLookup, parse_number};

type Formula = (Expression, Dimension);

impl Checker<'_> {
    /// The formula of a `let`. A lone figure with two readings is read as the trial at hand says.
    pub(super) fn let_formula(&mut self, item: &ExpressionItem, scope: &mut Scope) -> Option<Formula> {
        if let Some((_, second)) = two_readings(item) {
            let reading = scope.readings.get(scope.next_reading).copied().unwrap_or(0);
            scope.next_reading += 1;
            if reading == 1 {
                return self.formula(item, Some(second.dimension()), scope);
            }
        }
        self.formula(item, None, scope)
    }

    /// A number that stands by itself, without variables.
    pub(super) fn fixed(&mut self, item: &ExpressionItem) -> Option<Quantity> {
        match item {
            ExpressionItem::Number { .. } | ExpressionItem::Negated(_) => {}
            _ => {
                self.report(Diagnostic::new(item.span(), "a value is one figure", "not a figure"));
                return None;
            }
        }
        match self.formula(item, None, &mut Scope::default())?.0 {
            Expression::Constant(quantity) => Some(quantity),
            Expression::Negated(inner) => match *inner {
                Expression::Constant(quantity) => {
                    Some(Quantity::from_base(-quantity.base, quantity.dimension))
                }
                _ => None,
            },
            _ => None,
        }
    }

    /// The variable that stands for a named value in this finding.
    pub(super) fn value_variable(&mut self, written: &Written, scope: &mut Scope) -> Option<VariableId> {
        if let Some(id) = scope.find(&written.text) {
            scope.see(id);
            return Some(id);
        }
        let Some(value) = self.value_named(&written.text) else {
            let message = format!("no value is called \"{}\"", written.text);
            let mut diagnostic = Diagnostic::new(written.span, message, "not known");
            let near = nearest(&written.text, self.values.iter().map(|value| value.name.as_str()));
            diagnostic = match near {
                _ if self.is_word(&written.text) || self.is_word(&written.text.replace('-', " ")) => {
                    diagnostic.help("it is a word of a list: words are compared with \"is\" and \"is not\"")
                }
                Some(near) => diagnostic.help(format!("did you mean \"{near}\"?")),
                None => diagnostic
                    .help("a variable begins with a capital letter; a value is declared under `values`"),
            };
            self.report(diagnostic);
            return None;
        };
        Some(self.use_value(value, written.span, scope))
    }

    /// Brings a named value into a finding.
    pub(super) fn use_value(&mut self, value: ValueId, span: Span, scope: &mut Scope) -> VariableId {
        let named = &self.values[value.index()];
        let (name, dimension) = (named.name.clone(), named.quantity.dimension);
        let id = scope.add(&name, Type::Number(dimension), span);
        scope.bound.insert(id);
        scope.values.push((id, value));
        // Used here and given where it is declared: never once alone.
        scope.see(id);
        scope.see(id);
        id
    }

    /// The first of two formulas that has a value.
    pub(super) fn either(
        &mut self,
        first: &ExpressionItem,
        second: &ExpressionItem,
        scope: &mut Scope,
    ) -> Option<Formula> {
        let ((a, x), (b, y)) = self.both(first, second, scope, |other| other)?;
        if x != y {
            let (x, y) = (article(&x.to_string()), article(&y.to_string()));
            let message = format!("{x} cannot stand in for {y}");
            self.report(Diagnostic::new(second.span(), message, format!("this is {y}")));
            return None;
        }
        Some((Expression::Call(Function::Either, vec![a, b]), x))
    }

    /// Both sides of a comparison; the side with two readings follows the other.
    pub(super) fn compared(
        &mut self,
        left: &ExpressionItem,
        right: &ExpressionItem,
        scope: &mut Scope,
    ) -> Option<(Expression, Expression)> {
        let (a, b) = self.both(left, right, scope, |other| other)?;
        if a.1 != b.1 {
            let (x, y) = (article(&a.1.to_string()), article(&b.1.to_string()));
            let mut diagnostic =
                Diagnostic::new(right.span(), format!("{x} is compared with {y}"), format!("this is {y}"))
                    .also(left.span(), format!("this is {x}"));
            let bare = matches!(right, ExpressionItem::Number { unit: None, .. });
            if bare {
                diagnostic = diagnostic.help(unit_hint(a.1));
            }
            self.report(diagnostic);
            return None;
        }
        Some((a.0, b.0))
    }

    /// Two formulas of which one may be read by the other's dimension.
    fn both(
        &mut self,
        left: &ExpressionItem,
        right: &ExpressionItem,
        scope: &mut Scope,
        expected: impl Fn(Dimension) -> Dimension,
    ) -> Option<(Formula, Formula)> {
        if follows_the_other(left) && !follows_the_other(right) {
            let right = self.formula(right, None, scope);
            let left = self.formula(left, right.as_ref().map(|right| expected(right.1)), scope);
            Some((left?, right?))
        } else {
            let left = self.formula(left, None, scope);
            let right = self.formula(right, left.as_ref().map(|left| expected(left.1)), scope);
            Some((left?, right?))
        }
    }

    /// A formula and its dimension. `wanted` only decides figures with two readings.
    fn formula(
        &mut self,
        item: &ExpressionItem,
        wanted: Option<Dimension>,
        scope: &mut Scope,
    ) -> Option<Formula> {
        match item {
            ExpressionItem::Number { number, unit, span } => {
                self.figure(number, unit.as_deref(), *span, wanted)
            }
            ExpressionItem::Value(written) => {
                let id = self.value_variable(written, scope)?;
                match scope.variables[id.index()].ty {
                    Type::Number(dimension) => Some((Expression::Variable(id), dimension)),
                    _ => None,
                }
            }
            ExpressionItem::Variable(written) => {
                let id = self.variable(written, scope)?;
                match scope.variables[id.index()].ty {
                    Type::Number(dimension) => Some((Expression::Variable(id), dimension)),
                    Type::Range(_) => {
                        self.report(
                            Diagnostic::new(
                                written.span,
                                format!("\"{}\" is a range", written.text),
                                "one number is needed here",
                            )
                            .help(format!("take lowest({0}), highest({0}) or middle({0})", written.text)),
                        );
                        None
                    }
                    other => {
                        let what = self.described(other);
                        self.report(
                            Diagnostic::new(
                                written.span,
                                format!("\"{}\" is {what}, not a number", written.text),
                                "a number is needed here",
                            )
                            .help("names and words are compared with \"is\" and \"is not\""),
                        );
                        None
                    }
                }
            }
            ExpressionItem::Negated(inner) => {
                let (inner, dimension) = self.formula(inner, wanted, scope)?;
                Some((Expression::Negated(Box::new(inner)), dimension))
            }
            ExpressionItem::Binary { operator, left, right } => {
                self.binary(item, *operator, left, right, wanted, scope)
            }
            ExpressionItem::Call { name, arguments, span } => self.call(name, arguments, *span, scope),
        }
    }

    fn figure(
        &mut self,
        number: &str,
        unit: Option<&str>,
        span: Span,
        wanted: Option<Dimension>,
    ) -> Option<Formula> {
        let value = match parse_number(number) {
            Ok(value) => value,
            Err(error) => {
                self.report(Diagnostic::new(span, error.to_string(), "here"));
                return None;
            }
        };
        let Some(symbol) = unit else {
            // A bare number beside a share is one.
            let dimension =
                if wanted == Some(Dimension::SHARE) { Dimension::SHARE } else { Dimension::RATIO };
            return Some((Expression::Constant(Quantity::from_base(value, dimension)), dimension));
        };
        let unit = match Unit::lookup(symbol) {
            Some(UnitLookup::One(unit)) => unit,
            Some(UnitLookup::Either(first, second)) => {
                if wanted == Some(second.dimension()) {
                    second
                } else {
                    first
                }
            }
            None => {
                let mut diagnostic =
                    Diagnostic::new(span, format!("unknown unit \"{symbol}\""), "not a unit");
                if let Some(near) = Unit::nearest(symbol) {
                    diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
                }
                self.report(diagnostic);
                return None;
            }
        };
        let quantity = Quantity::new(value, unit);
        Some((Expression::Constant(quantity), quantity.dimension))
    }

    fn binary(
        &mut self,
        item: &ExpressionItem,
        operator: Operator,
        left: &ExpressionItem,
        right: &ExpressionItem,
        wanted: Option<Dimension>,
        scope: &mut Scope,
    ) -> Option<Formula> {
        let ((a, x), (b, y)) = match operator {
            // A shift of a temperature is a difference; otherwise both sides of a sum are alike.
            Operator::Plus | Operator::Minus => self.both(left, right, scope, |other| {
                if other.is_point() { Dimension::TEMPERATURE_DIFFERENCE } else { other }
            })?,
            // In a product the plain reading is the first one: 50 % of something is a share.
            Operator::Times | Operator::Over => {
                let wanted = wanted.filter(|_| two_readings(left).is_some() && two_readings(right).is_none());
                let left = match wanted {
                    Some(wanted) if matches!(right, ExpressionItem::Number { unit: None, .. }) => {
                        self.formula(left, Some(wanted), scope)
                    }
                    _ => self.formula(left, Some(Dimension::TEMPERATURE_DIFFERENCE), scope),
                };
                let right = self.formula(right, Some(Dimension::TEMPERATURE_DIFFERENCE), scope);
                (left?, right?)
            }
        };
        let dimension = match operator {
            Operator::Plus => x.plus(y),
            Operator::Minus => x.minus(y),
            Operator::Times => x.times(y),
            Operator::Over => x.over(y),
        };
        match dimension {
            Ok(dimension) => Some((Expression::Binary(operator, Box::new(a), Box::new(b)), dimension)),
            Err(error) => {
                self.report(
                    Diagnostic::new(item.span(), error.to_string(), "in this formula")
                        .also(left.span(), article(&x.to_string()))
                        .also(right.span(), article(&y.to_string())),
                );
                None
            }
        }
    }

    fn call(
        &mut self,
        name: &Written,
        arguments: &[ExpressionItem],
        span: Span,
        scope: &mut Scope,
    ) -> Option<Formula> {
        const FUNCTIONS: [(&str, Function, usize); 7] = [
            ("lowest", Function::Lowest, 1),
            ("highest", Function::Highest, 1),
            ("middle", Function::Middle, 1),
            ("smaller", Function::Smaller, 2),
            ("larger", Function::Larger, 2),
            ("magnitude", Function::Magnitude, 1),
            ("root", Function::Root, 1),
        ];

        if let Some(index) = self.curves.iter().position(|curve| curve.name == name.text) {
            let from = self.curves[index].from;
            if !self.argument_count(name, arguments, 1, span) {
                return None;
            }
            let (argument, dimension) = self.formula(&arguments[0], Some(from), scope)?;
            if dimension != from {
                let (found, needed) = (article(&dimension.to_string()), article(&from.to_string()));
                self.report(Diagnostic::new(
                    arguments[0].span(),
                    format!("the curve \"{}\" is read at {needed}, and this is {found}", name.text),
                    format!("this is {found}"),
                ));
                return None;
            }
            return Some((Expression::Curve(CurveId::new(index), Box::new(argument)), self.curves[index].to));
        }
        let Some((_, function, count)) = FUNCTIONS.iter().find(|(known, _, _)| *known == name.text) else {
            let known = FUNCTIONS
                .iter()
                .map(|(known, _, _)| *known)
                .chain(self.curves.iter().map(|curve| curve.name.as_str()));
            let mut diagnostic = Diagnostic::new(
                name.span,
                format!("\"{}\" is neither a curve nor a function", name.text),
                "not known",
            );
            if let Some(near) = nearest(&name.text, known) {
                diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
            }
            self.report(diagnostic);
            return None;
        };
        if !self.argument_count(name, arguments, *count, span) {
            return None;
        }
        match function {
            Function::Lowest | Function::Highest | Function::Middle => {
                let range = match &arguments[0] {
                    ExpressionItem::Variable(written) => {
                        let id = self.variable(written, scope)?;
                        match scope.variables[id.index()].ty {
                            Type::Range(dimension) => Some((id, dimension)),
                            _ => None,
                        }
                    }
                    _ => None,
                };
                let Some((id, dimension)) = range else {
                    self.report(Diagnostic::new(
                        arguments[0].span(),
                        format!("\"{}\" is taken of a range", name.text),
                        "not a range",
                    ));
                    return None;
                };
                Some((Expression::Call(*function, vec![Expression::Variable(id)]), dimension))
            }
            Function::Smaller | Function::Larger => {
                let ((a, x), (b, y)) = self.both(&arguments[0], &arguments[1], scope, |other| other)?;
                if x != y {
                    let (x, y) = (article(&x.to_string()), article(&y.to_string()));
                    self.report(Diagnostic::new(
                        span,
                        format!("{x} and {y} cannot be compared"),
                        "in this call",
                    ));
                    return None;
                }
                Some((Expression::Call(*function, vec![a, b]), x))
            }
            Function::Either => None,
            Function::Magnitude => {
                let (argument, dimension) = self.formula(&arguments[0], None, scope)?;
                Some((Expression::Call(*function, vec![argument]), dimension))
            }
            Function::Root => {
                let (argument, dimension) = self.formula(&arguments[0], None, scope)?;
                match dimension.root() {
                    Ok(dimension) => Some((Expression::Call(*function, vec![argument]), dimension)),
                    Err(error) => {
                        self.report(Diagnostic::new(
                            span,
                            error.to_string(),
                            article(&dimension.to_string()),
                        ));
                        None
                    }
                }
            }
        }
    }

    fn argument_count(
        &mut self,
        name: &Written,
        arguments: &[ExpressionItem],
        count: usize,
        span: Span,
    ) -> bool {
        if arguments.len() != count {
            self.report(Diagnostic::new(
                span,
                format!("\"{}\" takes {count} value{}", name.text, if count == 1 { "" } else { "s" }),
                format!("{} given", arguments.len()),
            ));
        }
        arguments.len() == count
    }
}

/// Whether what a figure means hangs on what it stands beside: a bare number, or one in a unit of two meanings.
fn follows_the_other(item: &ExpressionItem) -> bool {
    match item {
        ExpressionItem::Number { unit: None, .. } => true,
        ExpressionItem::Negated(inner) => follows_the_other(inner),
        _ => two_readings(item).is_some(),
    }
}

/// The two units that a figure may be in, where it is one figure with a unit of two meanings.
fn two_readings(item: &ExpressionItem) -> Option<(Unit, Unit)> {
    match item {
        ExpressionItem::Number { unit: Some(symbol), .. } => match Unit::lookup(symbol)? {
            UnitLookup::Either(first, second) => Some((first, second)),
            UnitLookup::One(_) => None,
        },
        ExpressionItem::Negated(inner) => two_readings(inner),
        _ => None,
    }
}
