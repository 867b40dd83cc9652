//! FUNCTION statements and temperature ranges: text to expressions, with references resolved. No phases here.

use super::database::DatabaseError;
use super::expression::{GibbsExpression, PolynomialPiece};
use super::formula;
use super::statement::Statement;
use std::collections::HashMap;

/// Upper limit of validity when a file leaves it to the default, in kelvin.
const DEFAULT_UPPER: f64 = 6000.0;

/// The formulas of one FUNCTION or PARAMETER with their limits of temperature in kelvin.
#[derive(Debug, Clone)]
pub(crate) struct Ranges {
    lower: f64,
    /// Byte span of the formula in the statement, and its upper limit.
    formulas: Vec<(usize, usize, f64)>,
}

impl Ranges {
    /// Reads `298.15 formula; 700 Y formula; 6000 N` from byte `from` on.
    pub(crate) fn read(statement: &Statement, from: usize) -> Result<Self, DatabaseError> {
        let text = &statement.text;
        let blank = |c: char| c.is_whitespace() || c == ',';
        let skip = |at: usize| at + (text[at..].len() - text[at..].trim_start_matches(blank).len());
        let number_end = |at: usize| {
            let stop = |c: char| !(c.is_ascii_digit() || c == '.');
            let mantissa = at + text[at..].find(stop).unwrap_or(text.len() - at);
            let exponent = text[mantissa..].strip_prefix(['E', 'e']);
            exponent.map_or(mantissa, |rest| {
                let signed = rest.strip_prefix(['+', '-']).unwrap_or(rest);
                let digits = signed.find(|c: char| !c.is_ascii_digit()).unwrap_or(signed.len());
                text.len() - signed.len() + digits
            })
        };
        let start = skip(from);
        let end = number_end(start);
        let Ok(lower) = text[start..end].parse::<f64>() else {
            return Err(statement.error(start, "the lower temperature limit in kelvin"));
        };
        let mut formulas = Vec::new();
        let mut at = end;
        let mut floor = lower;
        loop {
            let Some(semicolon) = text[at..].find(';').map(|k| at + k) else {
                return Err(statement.error(at, "a formula closed with ';'"));
            };
            let limit = skip(semicolon + 1);
            let limit_end = number_end(limit);
            let upper = if limit == limit_end {
                DEFAULT_UPPER.max(floor)
            } else {
                match text[limit..limit_end].parse::<f64>() {
                    Ok(value) if value >= floor => value,
                    _ => return Err(statement.error(limit, "an upper temperature limit above the lower one")),
                }
            };
            formulas.push((at, semicolon, upper));
            floor = upper;
            let mark = skip(limit_end);
            match text[mark..].chars().next() {
                Some('Y' | 'y') => at = mark + 1,
                Some('N' | 'n') | None => return Ok(Self { lower, formulas }),
                _ => return Err(statement.error(mark, "Y or N after the temperature limit")),
            }
        }
    }
}

enum FunctionEntry {
    Unread(Statement, Ranges),
    InProgress(Statement, Ranges),
    Known(GibbsExpression),
}

/// All FUNCTION statements of a file, evaluated when first used.
#[derive(Default)]
pub(crate) struct Functions {
    entries: HashMap<String, FunctionEntry>,
}

impl Functions {
    pub(crate) fn declare(&mut self, statement: &Statement, body: usize) -> Result<(), DatabaseError> {
        let text = &statement.text;
        let start = body + (text[body..].len() - text[body..].trim_start().len());
        let length = text[start..].find(char::is_whitespace).unwrap_or(text.len() - start);
        let name = text[start..start + length].to_ascii_uppercase();
        if name.is_empty() {
            return Err(statement.error(start, "the name of the function"));
        }
        let ranges = Ranges::read(statement, start + length)?;
        self.entries.insert(name, FunctionEntry::Unread(statement.clone(), ranges));
        Ok(())
    }

    /// Evaluates the formulas of `statement`; functions they name are evaluated first, without recursion.
    pub(crate) fn evaluate(
        &mut self,
        statement: &Statement,
        ranges: &Ranges,
    ) -> Result<GibbsExpression, DatabaseError> {
        let mut waiting = self.unread(statement, ranges);
        while let Some(name) = waiting.last().cloned() {
            match self.entries.remove(&name) {
                Some(FunctionEntry::Unread(inner, inner_ranges)) => {
                    let needed = self.unread(&inner, &inner_ranges);
                    self.entries.insert(name, FunctionEntry::InProgress(inner, inner_ranges));
                    waiting.extend(needed);
                }
                Some(FunctionEntry::InProgress(inner, inner_ranges)) => {
                    // Still in progress while its own formula is read, so that a circle is seen.
                    self.entries
                        .insert(name.clone(), FunctionEntry::InProgress(inner.clone(), inner_ranges.clone()));
                    let value = self.assemble(&inner, &inner_ranges)?;
                    self.entries.insert(name, FunctionEntry::Known(value));
                    waiting.pop();
                }
                Some(known) => {
                    self.entries.insert(name, known);
                    waiting.pop();
                }
                None => {
                    waiting.pop();
                }
            }
        }
        self.assemble(statement, ranges)
    }

    /// Names in the formulas of `statement` that are declared but not yet evaluated.
    fn unread(&self, statement: &Statement, ranges: &Ranges) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for &(from, to, _) in &ranges.formulas {
            let text = &statement.text[from..to];
            for name in text.split(|c: char| !(c.is_ascii_alphanumeric() || c == '_')) {
                let name = name.to_ascii_uppercase();
                if matches!(self.entries.get(&name), Some(FunctionEntry::Unread(..)))
                    && !names.contains(&name)
                {
                    names.push(name);
                }
            }
        }
        names
    }

    fn assemble(&self, statement: &Statement, ranges: &Ranges) -> Result<GibbsExpression, DatabaseError> {
        let mut pieces: Vec<PolynomialPiece> = Vec::new();
        let mut floor = f64::NEG_INFINITY;
        let last = ranges.formulas.len() - 1;
        for (k, &(from, to, upper)) in ranges.formulas.iter().enumerate() {
            let lookup = |name: &str| match self.entries.get(name) {
                Some(FunctionEntry::Known(value)) => Ok(value.clone()),
                Some(FunctionEntry::InProgress(..)) => {
                    Err(format!("a function other than {name}, which refers to itself"))
                }
                _ => Err("the name of a declared FUNCTION".to_string()),
            };
            let value = formula::parse(&statement.text[from..to], lookup)
                .map_err(|fault| statement.error(from + fault.offset, fault.expected))?;
            // The last formula is continued beyond its limit, as assessments are used in practice.
            let upper = if k == last { f64::INFINITY } else { upper };
            for piece in value.pieces {
                let reached = pieces.last().map_or(floor, |p| p.upper);
                if piece.upper > reached && reached < upper {
                    pieces.push(PolynomialPiece { upper: piece.upper.min(upper), terms: piece.terms });
                }
            }
            floor = upper;
        }
        Ok(GibbsExpression { lower: ranges.lower, pieces })
    }
}
