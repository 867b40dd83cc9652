//! Parser for the temperature formulas of a thermodynamic file, such as `-92250+440.4*T-75.9*T*LN(T)+GHSERAL`.

use super::expression::{GibbsExpression, Unworkable};

/// Deeper brackets than this come from a broken file; the limit keeps the recursion off the end of the stack.
const DEEPEST: usize = 48;

/// A fault in a formula: byte offset in the text and what was expected there.
#[derive(Debug)]
pub(crate) struct Fault {
    pub offset: usize,
    pub expected: String,
}

struct Parser<'a, F> {
    text: &'a [u8],
    position: usize,
    depth: usize,
    /// Gives the value of a FUNCTION by name, or says why it has none.
    lookup: F,
}

/// Evaluates `text` to an expression in T; names are resolved by `lookup`.
pub(crate) fn parse<F>(text: &str, lookup: F) -> Result<GibbsExpression, Fault>
where
    F: FnMut(&str) -> Result<GibbsExpression, String>,
{
    let mut parser = Parser { text: text.as_bytes(), position: 0, depth: 0, lookup };
    let value = parser.sum()?;
    match parser.peek() {
        None => Ok(value),
        Some(_) => Err(parser.fault("an operator, or ';' after the formula")),
    }
}

impl<F> Parser<'_, F>
where
    F: FnMut(&str) -> Result<GibbsExpression, String>,
{
    fn fault(&self, expected: impl Into<String>) -> Fault {
        Fault { offset: self.position, expected: expected.into() }
    }

    fn workable(&self, result: Result<GibbsExpression, Unworkable>) -> Result<GibbsExpression, Fault> {
        result.map_err(|reason| self.fault(reason.explain()))
    }

    fn peek(&mut self) -> Option<u8> {
        while self.text.get(self.position).is_some_and(u8::is_ascii_whitespace) {
            self.position += 1;
        }
        self.text.get(self.position).copied()
    }

    fn take(&mut self, byte: u8) -> bool {
        let there = self.peek() == Some(byte);
        self.position += usize::from(there);
        there
    }

    fn sum(&mut self) -> Result<GibbsExpression, Fault> {
        self.depth += 1;
        if self.depth > DEEPEST {
            return Err(self.fault(format!("brackets nested at most {DEEPEST} deep")));
        }
        let mut total = GibbsExpression { lower: 0.0, ..GibbsExpression::constant(0.0) };
        let mut first = true;
        loop {
            let negative = match self.peek() {
                Some(b'+') => {
                    self.position += 1;
                    false
                }
                Some(b'-') => {
                    self.position += 1;
                    true
                }
                _ if first => false,
                _ => break,
            };
            first = false;
            let product = self.product()?;
            let signed = if negative { self.workable(product.scale(-1.0))? } else { product };
            total = self.workable(total.add(&signed))?;
        }
        self.depth -= 1;
        Ok(total)
    }

    fn product(&mut self) -> Result<GibbsExpression, Fault> {
        let mut value = self.factor()?;
        loop {
            if self.take(b'*') {
                let next = self.factor()?;
                value = self.workable(value.multiply(&next))?;
            } else if self.take(b'/') {
                let next = self.factor()?;
                value = self.workable(value.divide(&next))?;
            } else {
                return Ok(value);
            }
        }
    }

    fn factor(&mut self) -> Result<GibbsExpression, Fault> {
        let base = self.atom()?;
        if self.peek() == Some(b'*') && self.text.get(self.position + 1) == Some(&b'*') {
            self.position += 2;
            let exponent = self.exponent()?;
            return self.workable(base.power(exponent));
        }
        Ok(base)
    }

    /// A whole number, bare, signed or in one pair of brackets.
    fn exponent(&mut self) -> Result<i32, Fault> {
        let bracket = self.take(b'(');
        let negative = self.take(b'-');
        if !negative {
            self.take(b'+');
        }
        self.peek();
        let value = self.number()?;
        if bracket && !self.take(b')') {
            return Err(self.fault("')' after the exponent"));
        }
        if value.fract() != 0.0 || value > 64.0 {
            return Err(self.fault("a whole exponent between -64 and 64"));
        }
        #[allow(clippy::cast_possible_truncation)]
        let whole = value as i32;
        Ok(if negative { -whole } else { whole })
    }

    fn atom(&mut self) -> Result<GibbsExpression, Fault> {
        match self.peek() {
            Some(b'(') => {
                self.position += 1;
                let value = self.sum()?;
                if self.take(b')') { Ok(value) } else { Err(self.fault("')'")) }
            }
            Some(b'0'..=b'9' | b'.') => Ok(GibbsExpression::constant(self.number()?)),
            Some(c) if c.is_ascii_alphabetic() || c == b'_' => self.name(),
            _ => Err(self.fault("a number, T, LN(T), a function name or '('")),
        }
    }

    fn number(&mut self) -> Result<f64, Fault> {
        let start = self.position;
        let digits = |parser: &mut Self| {
            while parser.text.get(parser.position).is_some_and(|c| c.is_ascii_digit() || *c == b'.') {
                parser.position += 1;
            }
        };
        digits(self);
        if matches!(self.text.get(self.position), Some(b'E' | b'e' | b'D' | b'd')) {
            let mark = self.position;
            self.position += 1;
            if matches!(self.text.get(self.position), Some(b'+' | b'-')) {
                self.position += 1;
            }
            let exponent = self.position;
            digits(self);
            if exponent == self.position {
                self.position = mark;
            }
        }
        let written: String = self.text[start..self.position]
            .iter()
            .map(|&c| if matches!(c, b'D' | b'd') { 'E' } else { c as char })
            .collect();
        match written.parse::<f64>() {
            Ok(value) if value.is_finite() => Ok(value),
            _ => {
                self.position = start;
                Err(self.fault("a number"))
            }
        }
    }

    fn name(&mut self) -> Result<GibbsExpression, Fault> {
        let start = self.position;
        while self.text.get(self.position).is_some_and(|c| c.is_ascii_alphanumeric() || *c == b'_') {
            self.position += 1;
        }
        let name = String::from_utf8_lossy(&self.text[start..self.position]).to_ascii_uppercase();
        match name.as_str() {
            "T" => Ok(GibbsExpression::single(1.0, 1, 0)),
            "LN" | "LOG" => {
                if self.take(b'(') && self.take(b'T') && self.take(b')') {
                    Ok(GibbsExpression::single(1.0, 0, 1))
                } else {
                    Err(self.fault("(T): a logarithm of the temperature only"))
                }
            }
            "EXP" | "P" => {
                self.position = start;
                Err(self.fault("a formula in T without EXP and without the pressure P"))
            }
            _ => {
                self.take(b'#');
                (self.lookup)(&name).map_err(|expected| Fault { offset: start, expected })
            }
        }
    }
}
