//! Formulas, conditions and what a `let` takes.

use super::super::grammar::Rule;
use super::super::pairs::{GrammarPair, Read};
use super::super::rulebook::{Aggregate, Comparison, Operator};
use super::super::tree::*;
use super::ItemReader;

impl ItemReader {
    pub(super) fn let_value(&self, pair: GrammarPair<'_>) -> Read<LetValue> {
        if pair.as_rule() != Rule::aggregate {
            return Ok(LetValue::Formula(self.expression(pair)?));
        }
        let mut inside = self.inside(pair);
        let (how, over) = match inside.next_if(Rule::count) {
            Some(_) => (Aggregate::Count, None),
            None => {
                let fold = inside.next()?;
                let how = match fold.as_str().trim() {
                    "sum" => Aggregate::Sum,
                    "least" => Aggregate::Least,
                    "greatest" => Aggregate::Greatest,
                    _ => return self.drift(&fold, "the place of a sum"),
                };
                (how, Some(self.written(inside.next()?)?))
            }
        };
        let members = self.pattern(inside.next()?)?;
        inside.end()?;
        Ok(LetValue::Aggregate { how, over, members })
    }

    pub(super) fn condition(&self, pair: GrammarPair<'_>) -> Read<ConditionItem> {
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        match inside.of {
            Rule::among => {
                let left = self.written(inside.next()?)?;
                inside.next_if(Rule::is);
                let negated = inside.next_if(Rule::not).is_some();
                inside.next_if(Rule::one_of);
                let among = inside.parts.filter(|part| part.as_rule() != Rule::joint);
                let among = among.map(|choice| self.written(choice)).collect::<Read<_>>()?;
                Ok(ConditionItem::Among { left, among, negated })
            }
            Rule::comparison => {
                let left = self.expression(inside.next()?)?;
                let comparator = inside.next()?;
                let comparison = match comparator.as_str().trim() {
                    "<" => Comparison::Less,
                    "<=" | "≤" => Comparison::AtMost,
                    ">" => Comparison::More,
                    ">=" | "≥" => Comparison::AtLeast,
                    "!=" | "≠" => Comparison::Unequal,
                    "=" => Comparison::Equal,
                    _ => return self.drift(&comparator, "a comparison"),
                };
                let right = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(ConditionItem::Compare { left, comparison, right })
            }
            _ => self.drift(&whole, "the place of a condition"),
        }
    }

    pub(super) fn expression(&self, pair: GrammarPair<'_>) -> Read<ExpressionItem> {
        let span = self.span(&pair);
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        match inside.of {
            Rule::expression | Rule::product => {
                let mut left = self.expression(inside.next()?)?;
                while let Some(operator) = inside.parts.next() {
                    let operator = match operator.as_str().trim() {
                        "+" => Operator::Plus,
                        "-" | "−" => Operator::Minus,
                        "/" => Operator::Over,
                        "*" | "×" => Operator::Times,
                        _ => return self.drift(&operator, "the place of an operator"),
                    };
                    let right = Box::new(self.expression(inside.next()?)?);
                    left = ExpressionItem::Binary { operator, left: Box::new(left), right };
                }
                Ok(left)
            }
            Rule::signed => {
                let negated = inside.next_if(Rule::minus).is_some();
                let atom = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(if negated { ExpressionItem::Negated(Box::new(atom)) } else { atom })
            }
            Rule::atom => {
                let inner = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(inner)
            }
            Rule::literal => {
                let number = inside.next()?.as_str().to_owned();
                let unit = inside.next_if(Rule::unit).map(|unit| unit.as_str().to_owned());
                inside.end()?;
                Ok(ExpressionItem::Number { number, unit, span })
            }
            Rule::call => {
                let name = self.written(inside.next()?)?;
                let arguments = inside.parts.map(|part| self.expression(part)).collect::<Read<_>>()?;
                Ok(ExpressionItem::Call { name, arguments, span })
            }
            Rule::variable => Ok(ExpressionItem::Variable(self.written(whole)?)),
            Rule::name => Ok(ExpressionItem::Value(self.written(whole)?)),
            _ => self.drift(&whole, "a formula"),
        }
    }
}
