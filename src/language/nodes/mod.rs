//! Pairs of the grammar to tree nodes. What the grammar gives and this reader does not expect is an error, so that the two cannot
//! drift apart unseen.

mod declarations;
mod findings;
mod formulas;

use super::grammar::Rule;
use super::pairs::{Drift, GrammarPair, Inside, Read};
use super::source::Span;
use super::tree::*;

/// Turns the pairs of one item into tree nodes.
pub(super) struct ItemReader {
    /// Index of the file.
    pub file: u32,
    /// Offset of the item in it.
    pub base: u32,
}

impl ItemReader {
    fn span(&self, pair: &GrammarPair<'_>) -> Span {
        let span = pair.as_span();
        let trimmed = span.as_str().trim_end().len();
        Span {
            file: self.file,
            start: self.base + span.start() as u32,
            end: self.base + (span.start() + trimmed) as u32,
        }
    }

    fn inside<'t>(&self, pair: GrammarPair<'t>) -> Inside<'t> {
        Inside { of: pair.as_rule(), span: self.span(&pair), parts: pair.into_inner() }
    }

    fn drift<T>(&self, pair: &GrammarPair<'_>, place: &str) -> Read<T> {
        Err(Drift { span: self.span(pair), found: format!("{:?} in {place}", pair.as_rule()) })
    }

    /// A word, name, text or figure, as it is written.
    fn written(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::word | Rule::choice | Rule::cell | Rule::row_cell => self.only(pair),
            Rule::text => {
                let text = unescape(self.inside(pair).next()?.as_str());
                Ok(Written { text, quoted: true, span })
            }
            Rule::name
            | Rule::role_name
            | Rule::dotted
            | Rule::variable
            | Rule::bare
            | Rule::bare_argument => {
                Ok(Written { text: pair.as_str().trim().to_owned(), quoted: false, span })
            }
            _ => self.drift(&pair, "the place of a word"),
        }
    }

    /// The one word inside of a pair.
    fn only(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let mut inside = self.inside(pair);
        let written = self.written(inside.next()?)?;
        inside.end()?;
        Ok(written)
    }

    /// The words inside of a pair.
    fn words(&self, pair: GrammarPair<'_>) -> Read<Vec<Written>> {
        self.inside(pair).parts.map(|name| self.written(name)).collect()
    }

    /// One item of a rule file.
    pub fn item(&self, pair: GrammarPair<'_>) -> Read<Item> {
        let rule = pair.as_rule();
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        if rule == Rule::values {
            return self.values(inside);
        }
        let name = self.written(inside.next()?)?;
        match rule {
            Rule::include => {
                inside.end()?;
                Ok(Item::Include(name))
            }
            Rule::names => self.names(name, inside),
            Rule::words => {
                let carried = inside.next_if(Rule::carried).is_some();
                let words = inside.parts.map(|part| self.written(part)).collect::<Read<_>>()?;
                Ok(Item::Words { name, carried, words })
            }
            Rule::more => {
                let words = inside.parts.map(|part| self.written(part)).collect::<Read<_>>()?;
                Ok(Item::More { name, words })
            }
            Rule::table => self.table(name, inside),
            Rule::curve => self.curve(name, inside),
            Rule::finding => self.finding(name, inside),
            Rule::meaning => self.meaning(name, inside),
            Rule::ladder => self.ladder(name, inside),
            Rule::background => self.background(name, inside),
            Rule::expectation => self.expectation(name, inside),
            Rule::relation => self.relation(Flavour::Plain, name, inside),
            Rule::question => self.relation(Flavour::Question, name, inside),
            Rule::computed => self.relation(Flavour::Computed, name, inside),
            _ => self.drift(&whole, "the place of an item"),
        }
    }
}

fn unescape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut characters = text.chars();
    while let Some(c) = characters.next() {
        match c {
            '\\' => match characters.next() {
                Some('n') => out.push('\n'),
                Some(other) => out.push(other),
                None => {}
            },
            // A text that runs over several lines reads as one line.
            '\n' => {
                while out.ends_with(' ') {
                    out.pop();
                }
                out.push(' ');
                let rest = characters.as_str().trim_start();
                characters = rest.chars();
            }
            c => out.push(c),
        }
    }
    out
}
