//! The state of a check: what is declared so far, and the mistakes; and how names, words and constants are resolved against it.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::source::{Sources, Span};
use super::super::tree::Written;
use crate::quantity::{Dimension, parse_interval, parse_quantity};
use std::collections::HashMap;
use std::sync::Arc;

/// Everything that has been read of a rulebook, as it is checked.
pub(super) struct Checker<'s> {
    pub sources: &'s Sources,
    pub kinds: Vec<WordKind>,
    pub values: Vec<NamedValue>,
    /// Names that are declared, each with the relation that lists them.
    pub names: Vec<(String, Option<Written>)>,
    /// Shared, so that a pattern can look at its relation while messages are reported.
    pub relations: Vec<Arc<Relation>>,
    pub relation_index: HashMap<String, RelationId>,
    pub curves: Vec<Curve>,
    pub findings: Vec<Finding>,
    pub facts: Vec<TableFact>,
    pub expectations: Vec<Expectation>,
    /// Words written in the rulebook are stored once.
    pub symbols: HashMap<String, Arc<str>>,
    pub diagnostics: Vec<Diagnostic>,
}

/// A term resolved against a type, or what is wrong with it.
pub(super) type Resolved<T> = Result<T, Box<Diagnostic>>;

impl<'s> Checker<'s> {
    pub fn new(sources: &'s Sources) -> Self {
        Checker {
            sources,
            kinds: Vec::new(),
            values: Vec::new(),
            names: Vec::new(),
            relations: Vec::new(),
            relation_index: HashMap::new(),
            curves: Vec::new(),
            findings: Vec::new(),
            facts: Vec::new(),
            expectations: Vec::new(),
            symbols: HashMap::new(),
            diagnostics: Vec::new(),
        }
    }

    pub fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    pub fn symbol(&mut self, text: &str) -> Arc<str> {
        if let Some(known) = self.symbols.get(text) {
            return known.clone();
        }
        let symbol: Arc<str> = text.into();
        self.symbols.insert(text.to_owned(), symbol.clone());
        symbol
    }

    pub fn twice(&mut self, what: &str, name: &Written, first: Span) {
        self.report(
            Diagnostic::new(name.span, format!("{what} \"{}\" is defined twice", name.text), "again here")
                .also(first, "first here")
                .help("give one of them another name"),
        );
    }

    /// The relation of a pattern or table; reports an unknown one with the nearest known name.
    pub fn known_relation(&mut self, name: &Written) -> Option<RelationId> {
        if let Some(id) = self.relation_index.get(&name.text) {
            return Some(*id);
        }
        let mut diagnostic = Diagnostic::new(
            name.span,
            format!("unknown relation \"{}\"", name.text),
            "not declared in this rulebook",
        );
        if let Some(near) = nearest(&name.text, self.relations.iter().map(|relation| relation.name.as_str()))
        {
            diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
        }
        self.report(diagnostic);
        None
    }

    /// The word of a list that is meant by a text: hyphens and spaces are the same.
    pub fn word(&self, kind: KindId, text: &str) -> Option<Arc<str>> {
        let plain = |text: &str| text.replace('-', " ");
        self.kinds[kind.index()]
            .words
            .iter()
            .find(|word| ***word == *text || plain(word) == plain(text))
            .cloned()
    }

    /// The number of that name.
    pub fn value_named(&self, name: &str) -> Option<ValueId> {
        self.values.iter().position(|known| known.name == name).map(ValueId::new)
    }

    /// Whether any list knows the word.
    pub fn is_word(&self, text: &str) -> bool {
        self.kinds.iter().any(|kind| kind.words.iter().any(|word| **word == *text))
    }

    /// How a type is called in messages.
    pub fn described(&self, ty: Type) -> String {
        match ty {
            Type::Name => "a name".to_owned(),
            Type::Text => "a text".to_owned(),
            Type::Word(kind) => format!("a word of \"{}\"", self.kinds[kind.index()].name),
            Type::Number(dimension) => article(&dimension.to_string()),
            Type::Range(dimension) => format!("a range of {dimension}"),
        }
    }

    /// A constant of a type.
    pub fn constant(&mut self, written: &Written, ty: Type) -> Resolved<Value> {
        let wrong = |message: String| Box::new(Diagnostic::new(written.span, message, "here"));
        match ty {
            Type::Name | Type::Text => Ok(Value::Symbol(self.symbol(&written.text))),
            Type::Word(kind) => self.word(kind, &written.text).map(Value::Symbol).ok_or_else(|| {
                let list = &self.kinds[kind.index()];
                let mut diagnostic = Diagnostic::new(
                    written.span,
                    format!("\"{}\" is not a word of \"{}\"", written.text, list.name),
                    "unknown word",
                );
                let known = || list.words.iter().map(|word| &**word);
                if let Some(near) = nearest(&written.text, known()) {
                    diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
                } else if list.words.len() <= 12 {
                    diagnostic =
                        diagnostic.help(format!("the words are: {}", known().collect::<Vec<_>>().join(", ")));
                }
                Box::new(diagnostic)
            }),
            Type::Number(dimension) => parse_quantity(&written.text, Some(dimension))
                .map(Value::Number)
                .map_err(|error| wrong(error.to_string())),
            Type::Range(dimension) => parse_interval(&written.text, Some(dimension))
                .map(Value::Range)
                .map_err(|error| wrong(error.to_string())),
        }
    }
}

/// "a stress", "an area".
pub(super) fn article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if vowel { "an" } else { "a" })
}

/// Where a slot's name leads, or the slot as written when it leads nowhere.
pub(super) fn template(
    text: &str,
    mut resolve: impl FnMut(&str) -> Option<usize>,
) -> Result<Template, String> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while let Some(open) = rest.find('{') {
        let Some(close) = rest[open..].find('}') else { return Err(rest[open..].to_owned()) };
        let name = &rest[open + 1..open + close];
        if open > 0 {
            pieces.push(Piece::Text(rest[..open].to_owned()));
        }
        pieces.push(Piece::Slot(resolve(name).ok_or_else(|| name.to_owned())?));
        rest = &rest[open + close + 1..];
    }
    if !rest.is_empty() {
        pieces.push(Piece::Text(rest.to_owned()));
    }
    Ok(Template { pieces })
}

/// What a bare number's dimension is called where it lacks its unit.
pub(super) fn unit_hint(dimension: Dimension) -> String {
    crate::quantity::Unit::usual(dimension)
        .map_or(String::new(), |unit| format!("write its unit, such as {}", unit.symbol()))
}
