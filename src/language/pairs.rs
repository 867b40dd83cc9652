//! The pairs inside of a pair of the grammar, taken one by one; what is missing or left over is an error.

use super::grammar::Rule;
use super::source::Span;
use pest::iterators::{Pair, Pairs};

/// A pair that the grammar gives where the reader expects another, or none where it expects one: a mistake of the program, not of
/// the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Drift {
    pub span: Span,
    /// What was found, and where.
    pub found: String,
}

pub(super) type GrammarPair<'t> = Pair<'t, Rule>;
pub(super) type Read<T> = Result<T, Drift>;

/// The pairs inside of a pair, taken one by one.
pub(super) struct Inside<'t> {
    pub parts: Pairs<'t, Rule>,
    /// The pair that they stand in, for messages.
    pub of: Rule,
    pub span: Span,
}

impl<'t> Inside<'t> {
    /// The next pair.
    pub fn next(&mut self) -> Read<GrammarPair<'t>> {
        let missing = || Drift { span: self.span, found: format!("nothing more in {:?}", self.of) };
        self.parts.next().ok_or_else(missing)
    }

    /// The next pair where it is by this rule.
    pub fn next_if(&mut self, rule: Rule) -> Option<GrammarPair<'t>> {
        self.parts.peek().filter(|part| part.as_rule() == rule)?;
        self.parts.next()
    }

    /// Errors where a pair is left over.
    pub fn end(mut self) -> Read<()> {
        match self.parts.next() {
            None => Ok(()),
            Some(part) => {
                Err(Drift { span: self.span, found: format!("{:?} in {:?}", part.as_rule(), self.of) })
            }
        }
    }
}
