//! The checker's own arithmetic: formulas, curves and conditions in three truth values, written from the page that teaches
//! the language.

use crate::language::{
    Comparison, Condition, Curve, CurveId, Expression, Function, Operator, Outside, Term, Value, VariableId,
};
use crate::quantity::{Dimension, Quantity};
use std::cmp::Ordering;

/// What a formula is worth.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Worth {
    /// A number.
    Number(Quantity),
    /// A number, once a question is answered.
    Unknown,
    /// No number at all.
    Nothing,
}

/// Whether a condition holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum FormulaTruth {
    Holds,
    Fails,
    Open,
}

impl From<bool> for FormulaTruth {
    fn from(holds: bool) -> Self {
        if holds { FormulaTruth::Holds } else { FormulaTruth::Fails }
    }
}

/// The curves of a rulebook, and the values of a finding's variables; `None` is not known.
pub(super) struct Reckoning<'a> {
    pub curves: &'a [Curve],
    pub value: &'a dyn Fn(VariableId) -> Option<Value>,
}

fn number(base: f64, dimension: Dimension, like: Option<&Quantity>) -> Worth {
    if !base.is_finite() {
        return Worth::Nothing;
    }
    // A result is shown in the unit of the operand that it is of one kind with.
    Worth::Number(Quantity::from_base(base, dimension).shown_in(like.and_then(|like| like.unit)))
}

impl Reckoning<'_> {
    /// What a formula is worth.
    pub fn worth(&self, formula: &Expression) -> Worth {
        match formula {
            Expression::Constant(quantity) => Worth::Number(*quantity),
            Expression::Variable(variable) => match (self.value)(*variable) {
                None => Worth::Unknown,
                Some(Value::Number(quantity)) => number(quantity.base, quantity.dimension, Some(&quantity)),
                Some(Value::Symbol(_) | Value::Range(_)) => Worth::Nothing,
            },
            Expression::Binary(operator, left, right) => {
                self.pair(left, right, |left, right| joined(*operator, left, right))
            }
            Expression::Negated(inner) => self.single(inner, |inner| match inner.dimension.is_point() {
                true => Worth::Nothing,
                false => number(-inner.base, inner.dimension, Some(&inner)),
            }),
            Expression::Curve(curve, at) => self.single(at, |at| self.read_off(*curve, at)),
            Expression::Call(function, arguments) => self.called(*function, arguments),
        }
    }

    fn single(&self, inner: &Expression, then: impl FnOnce(Quantity) -> Worth) -> Worth {
        match self.worth(inner) {
            Worth::Number(quantity) => then(quantity),
            other => other,
        }
    }

    /// Where one side is worth nothing, so is the whole, even if the other is unknown.
    fn pair(
        &self,
        left: &Expression,
        right: &Expression,
        then: impl FnOnce(Quantity, Quantity) -> Worth,
    ) -> Worth {
        match (self.worth(left), self.worth(right)) {
            (Worth::Nothing, _) | (_, Worth::Nothing) => Worth::Nothing,
            (Worth::Number(left), Worth::Number(right)) => then(left, right),
            _ => Worth::Unknown,
        }
    }

    fn called(&self, function: Function, arguments: &[Expression]) -> Worth {
        match (function, arguments) {
            (Function::Lowest | Function::Highest | Function::Middle, [of]) => self.end(function, of),
            (Function::Magnitude, [of]) => {
                self.single(of, |of| number(of.base.abs(), of.dimension, Some(&of)))
            }
            (Function::Root, [of]) => self.single(of, |of| match of.dimension.root() {
                Ok(dimension) => number(of.base.sqrt(), dimension, None),
                Err(_) => Worth::Nothing,
            }),
            (Function::Smaller | Function::Larger, [left, right]) => self.pair(left, right, |left, right| {
                let second = match function {
                    Function::Smaller => Ordering::Less,
                    _ => Ordering::Greater,
                };
                match right.compare(&left) {
                    None => Worth::Nothing,
                    Some(order) => Worth::Number(if order == second { right } else { left }),
                }
            }),
            (Function::Either, [first, second]) => match self.worth(first) {
                Worth::Nothing => self.worth(second),
                found => found,
            },
            _ => Worth::Nothing,
        }
    }

    fn end(&self, function: Function, of: &Expression) -> Worth {
        let Expression::Variable(variable) = of else { return self.worth(of) };
        let range = match (self.value)(*variable) {
            Some(Value::Range(range)) => range,
            _ => return self.worth(of),
        };
        let end = match (function, range.lowest, range.highest) {
            (Function::Lowest, lowest, _) => lowest,
            (Function::Highest, _, highest) => highest,
            (_, Some(low), Some(high)) => Some(Quantity { base: low.base / 2.0 + high.base / 2.0, ..low }),
            _ => None,
        };
        end.map_or(Worth::Nothing, |end| number(end.base, end.dimension, Some(&end)))
    }

    fn read_off(&self, curve: CurveId, at: Quantity) -> Worth {
        let Some(curve) = self.curves.get(curve.index()) else { return Worth::Nothing };
        let (points, x) = (&curve.points, at.base);
        if at.dimension != curve.from {
            return Worth::Nothing;
        }
        let [first, .., last] = &points[..] else {
            // A single point is a curve too.
            return match points[..] {
                [(only, y)] if x == only || curve.outside == Outside::Holds => number(y, curve.to, None),
                _ => Worth::Nothing,
            };
        };
        if (x < first.0 || x > last.0) && curve.outside == Outside::None {
            return Worth::Nothing;
        }
        if x <= first.0 && (x == first.0 || curve.outside == Outside::Holds) {
            return number(first.1, curve.to, None);
        }
        if x > last.0 && curve.outside == Outside::Holds {
            return number(last.1, curve.to, None);
        }
        // The first stretch that ends behind x; the outermost ones go on where the curve does.
        let stretches = points.len() - 1;
        let stretch = (0..stretches).find(|at| x <= points[at + 1].0).unwrap_or(stretches - 1);
        let ((x0, y0), (x1, y1)) = (points[stretch], points[stretch + 1]);
        let y = if x == x1 { y1 } else { y0 + (y1 - y0) * ((x - x0) / (x1 - x0)) };
        number(y, curve.to, None)
    }

    /// Whether a condition holds.
    pub fn truth(&self, condition: &Condition) -> FormulaTruth {
        match condition {
            Condition::Compare { left, comparison, right } => match (self.worth(left), self.worth(right)) {
                (Worth::Nothing, _) | (_, Worth::Nothing) => FormulaTruth::Fails,
                (Worth::Number(left), Worth::Number(right)) => {
                    left.compare(&right).is_some_and(|order| agrees(*comparison, order)).into()
                }
                _ => FormulaTruth::Open,
            },
            Condition::Among { left, among, negated } => {
                let value = |term: &Term| match term {
                    Term::Any => None,
                    Term::Constant(value) => Some(value.clone()),
                    Term::Variable(variable) => (self.value)(*variable),
                };
                let left = value(left);
                let others: Vec<Option<Value>> = among.iter().map(value).collect();
                let found = left.is_some() && others.contains(&left);
                let doubtful = left.is_none() || others.contains(&None);
                match (found, doubtful) {
                    (true, _) => (!negated).into(),
                    (false, true) if !among.is_empty() => FormulaTruth::Open,
                    _ => (*negated).into(),
                }
            }
        }
    }
}

fn agrees(comparison: Comparison, order: Ordering) -> bool {
    match comparison {
        Comparison::Less => order.is_lt(),
        Comparison::AtMost => order.is_le(),
        Comparison::More => order.is_gt(),
        Comparison::AtLeast => order.is_ge(),
        Comparison::Equal => order.is_eq(),
        Comparison::Unequal => order.is_ne(),
    }
}

fn joined(operator: Operator, left: Quantity, right: Quantity) -> Worth {
    let (base, dimension) = match operator {
        Operator::Plus => (left.base + right.base, left.dimension.plus(right.dimension)),
        Operator::Minus => (left.base - right.base, left.dimension.minus(right.dimension)),
        Operator::Times => (left.base * right.base, left.dimension.times(right.dimension)),
        Operator::Over => (left.base / right.base, left.dimension.over(right.dimension)),
    };
    let Ok(dimension) = dimension else { return Worth::Nothing };
    let alike = |operand: &Quantity| operand.unit.is_some() && operand.dimension == dimension;
    let like = match operator {
        Operator::Plus | Operator::Minus => Some(left),
        Operator::Times => [left, right].into_iter().find(alike),
        Operator::Over => Some(left).filter(alike),
    };
    number(base, dimension, like.as_ref())
}

/// The sum of two members of an aggregate.
pub(super) fn added(left: Quantity, right: Quantity) -> Worth {
    joined(Operator::Plus, left, right)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Premise, SourceFile};
    use crate::language::{Rulebook, reread_rulebook};
    use crate::quantity::{Interval, Unit};

    /// A rulebook whose findings are named after a formula's text.
    fn rulebook(premises: &[&str]) -> Rulebook {
        let mut text = "relation a(x: name, v: ratio, w: ratio, r: range of ratio)\nrelation b(x: name)\n\
                        curve c(v: ratio) -> ratio\n    outside extends\n    cite common practice\n    0  0\n    2  4\n    4  2\n\
                        curve h(v: ratio) -> ratio\n    outside holds\n    cite common practice\n    1  3\n    2  4\n\
                        curve n(v: ratio) -> ratio\n    outside none\n    cite common practice\n    1  3\n    2  4\n"
            .to_owned();
        for (at, premise) in premises.iter().enumerate() {
            text += &format!(
                "finding t.f{at}\n    says \"{{X}} {{V}} {{W}} {{R}}\"\n    cite common practice\n    given a(X, v: V, w: W, r: R)\n    \
                 {premise}\n    hence b(X)\n"
            );
        }
        let files = [SourceFile { name: "t.why".to_owned(), text }];
        reread_rulebook(&files).unwrap_or_else(|error| panic!("{error:?}"))
    }

    fn values(v: Option<f64>) -> impl Fn(&Rulebook, usize, VariableId) -> Option<Value> {
        move |rulebook, finding, variable| {
            let number = |value| Value::Number(Quantity::number(value));
            match rulebook.findings[finding].variables[variable.index()].name.as_str() {
                "V" => v.map(number),
                "W" => Some(number(0.0)),
                "R" => Some(Value::Range(Interval { lowest: Some(Quantity::number(1.0)), highest: None })),
                _ => Some(Value::Symbol("thing".into())),
            }
        }
    }

    #[test]
    fn conditions_in_three_truth_values() {
        let cases = [
            ("where c(V) = 3", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where V / W > 1", [FormulaTruth::Fails, FormulaTruth::Open]),
            ("where V * 2 >= 6", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where c(V + 4) = -1", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where c(W - 1) = -2", [FormulaTruth::Holds, FormulaTruth::Holds]),
            ("where h(V) = 4", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where h(W) = 3", [FormulaTruth::Holds, FormulaTruth::Holds]),
            ("where n(V) > 0", [FormulaTruth::Fails, FormulaTruth::Open]),
            ("where lowest(R) = 1", [FormulaTruth::Holds, FormulaTruth::Holds]),
            ("where highest(R) = 1", [FormulaTruth::Fails, FormulaTruth::Fails]),
            ("where middle(R) != 7", [FormulaTruth::Fails, FormulaTruth::Fails]),
            ("where smaller(V, 2) = 2", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where larger(V, 2) = 3", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where magnitude(W - V) = 3", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where root(V * V) = 3", [FormulaTruth::Holds, FormulaTruth::Open]),
            ("where root(W - 4) = 2", [FormulaTruth::Fails, FormulaTruth::Fails]),
            ("where X is one of thing, other", [FormulaTruth::Holds, FormulaTruth::Holds]),
            ("where X is not thing", [FormulaTruth::Fails, FormulaTruth::Fails]),
        ];
        let rulebook = rulebook(&cases.map(|(premise, _)| premise));
        for (at, (premise, wanted)) in cases.iter().enumerate() {
            let name = format!("t.f{at}");
            let finding = rulebook.findings.iter().position(|finding| finding.id == name).expect("a finding");
            let condition = rulebook.findings[finding].premises.iter().find_map(|premise| match premise {
                Premise::Where { condition, .. } => Some(condition),
                _ => None,
            });
            for (v, wanted) in [Some(3.0), None].into_iter().zip(wanted) {
                let value = |variable| values(v)(&rulebook, finding, variable);
                let reckoning = Reckoning { curves: &rulebook.curves, value: &value };
                assert_eq!(reckoning.truth(condition.expect("a condition")), *wanted, "{premise} with {v:?}");
            }
        }
    }

    #[test]
    fn numbers_keep_the_unit_of_what_they_are_of_one_kind_with() {
        let half = Quantity::new(50.0, Unit::PERCENT);
        let shown = |worth| match worth {
            Worth::Number(quantity) => quantity.to_string(),
            other => format!("{other:?}"),
        };
        assert_eq!(shown(joined(Operator::Times, Quantity::number(0.5), half)), "25 %");
        assert_eq!(shown(joined(Operator::Plus, half, half)), "100 %");
        assert_eq!(shown(joined(Operator::Over, half, Quantity::number(0.0))), "Nothing");
        let warm = Quantity::new(20.0, Unit::CELSIUS);
        assert_eq!(shown(joined(Operator::Times, warm, half)), "Nothing");
    }
}
