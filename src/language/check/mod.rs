//! From trees to a checked rulebook: every name resolved, every type and dimension settled, every mistake reported.
//! The order is declarations, then rows and findings against them, then the circles that only the whole shows.

mod circles;
mod declarations;
mod expressions;
mod findings;
mod scope;
mod tables;

use super::budget::Budget;
use super::diagnostic::{Diagnostic, nearest};
use super::rulebook::*;
use super::source::{Sources, Span};
use super::tree::{Item, PatternItem, Written};
use crate::quantity::{Dimension, parse_interval, parse_quantity};
use scope::Scope;
use std::collections::HashMap;
use std::sync::Arc;

/// Checks the items of all files together.
pub(super) fn check(
    sources: Sources,
    items: Vec<Item>,
    fingerprint: String,
    mut diagnostics: Vec<Diagnostic>,
) -> Result<Rulebook, (Sources, Vec<Diagnostic>)> {
    let mut checker = Checker::new(&sources);
    checker.declare(&items);
    checker.fill(&items);
    let Checker { kinds, relations, curves, mut findings, facts, expectations, diagnostics: found, .. } =
        checker;
    let relations: Vec<Relation> = relations.into_iter().map(Arc::unwrap_or_clone).collect();
    diagnostics.extend(found);
    // What could be read is looked through for circles whatever else is wrong, so that one run tells all.
    diagnostics.extend(circles::check(&relations, &findings));
    if !diagnostics.is_empty() {
        diagnostics.sort_by_key(|diagnostic| diagnostic.span);
        diagnostics.dedup();
        return Err((sources, diagnostics));
    }
    findings.sort_by(|a, b| a.id.cmp(&b.id));
    let budget = Budget::default();
    Ok(Rulebook { sources, kinds, relations, curves, findings, facts, expectations, fingerprint, budget })
}

/// Settles a pattern of constants and `_` against a rulebook.
pub(super) fn check_pattern(
    rulebook: &Rulebook,
    sources: &Sources,
    item: &PatternItem,
) -> Result<Pattern, Vec<Diagnostic>> {
    let mut checker = Checker::new(sources);
    checker.kinds.clone_from(&rulebook.kinds);
    for (at, relation) in rulebook.relations.iter().enumerate() {
        checker.relation_index.insert(relation.name.clone(), RelationId::new(at));
        checker.relations.push(Arc::new(relation.clone()));
    }
    checker.claim(item, &mut Scope::default()).ok_or(checker.diagnostics)
}

struct Checker<'s> {
    sources: &'s Sources,
    kinds: Vec<WordKind>,
    /// Shared, so that a pattern can look at its relation while messages are reported.
    relations: Vec<Arc<Relation>>,
    relation_index: HashMap<String, RelationId>,
    curves: Vec<Curve>,
    findings: Vec<Finding>,
    facts: Vec<TableFact>,
    expectations: Vec<Expectation>,
    /// Words written in the rulebook are stored once.
    symbols: HashMap<String, Arc<str>>,
    diagnostics: Vec<Diagnostic>,
}

/// A term settled against a type, or what is wrong with it.
type Settled<T> = Result<T, Box<Diagnostic>>;

impl<'s> Checker<'s> {
    fn new(sources: &'s Sources) -> Self {
        Checker {
            sources,
            kinds: Vec::new(),
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

    fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    fn symbol(&mut self, text: &str) -> Arc<str> {
        if let Some(known) = self.symbols.get(text) {
            return known.clone();
        }
        let symbol: Arc<str> = text.into();
        self.symbols.insert(text.to_owned(), symbol.clone());
        symbol
    }

    /// Declarations first, so that files may stand in any order.
    fn declare(&mut self, items: &[Item]) {
        for item in items {
            if let Item::Words { name, words } = item {
                self.declare_words(name, words);
            }
        }
        for item in items {
            match item {
                Item::Relation(relation) => self.declare_relation(relation),
                Item::Table(table) => self.declare_table(table),
                _ => {}
            }
        }
        for item in items {
            match item {
                Item::Relation(relation) => self.complete_relation(relation),
                Item::Table(table) => {
                    table.once.iter().for_each(|roles| self.set_key(&table.name, roles));
                }
                Item::Curve(curve) => self.declare_curve(curve),
                _ => {}
            }
        }
    }

    fn fill(&mut self, items: &[Item]) {
        let mut ids: HashMap<&str, Span> = HashMap::new();
        let mut expectations: HashMap<&str, Span> = HashMap::new();
        for item in items {
            match item {
                Item::Table(table) => self.fill_table(table),
                Item::Finding(finding) => {
                    if let Some(first) = ids.insert(&finding.id.text, finding.id.span) {
                        self.twice("finding", &finding.id, first);
                    }
                    self.finding(finding);
                }
                Item::Expectation(expectation) => {
                    if let Some(first) = expectations.insert(&expectation.name.text, expectation.name.span) {
                        self.twice("expectation", &expectation.name, first);
                    }
                    self.expectation(expectation);
                }
                _ => {}
            }
        }
        self.repeated_rows();
    }

    fn twice(&mut self, what: &str, name: &Written, first: Span) {
        self.report(
            Diagnostic::new(name.span, format!("{what} \"{}\" stands twice", name.text), "again here")
                .also(first, "first here")
                .help("give one of them another name"),
        );
    }

    /// The relation of a pattern or table; reports an unknown one with the nearest known name.
    fn known_relation(&mut self, name: &Written) -> Option<RelationId> {
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
    fn word(&self, kind: KindId, text: &str) -> Option<Arc<str>> {
        let plain = |text: &str| text.replace('-', " ");
        self.kinds[kind.index()]
            .words
            .iter()
            .find(|word| ***word == *text || plain(word) == plain(text))
            .cloned()
    }

    /// Whether any list knows the word.
    fn is_word(&self, text: &str) -> bool {
        self.kinds.iter().any(|kind| kind.words.iter().any(|word| **word == *text))
    }

    /// How a type is called in messages.
    fn described(&self, ty: Type) -> String {
        match ty {
            Type::Name => "a name".to_owned(),
            Type::Text => "a text".to_owned(),
            Type::Word(kind) => format!("a word of \"{}\"", self.kinds[kind.index()].name),
            Type::Number(dimension) => article(&dimension.to_string()),
            Type::Range(dimension) => format!("a range of {dimension}"),
        }
    }

    /// A constant of a type.
    fn constant(&mut self, written: &Written, ty: Type) -> Settled<Value> {
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
fn article(noun: &str) -> String {
    let vowel = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if vowel { "an" } else { "a" })
}

/// Where a slot's name leads, or the slot as written when it leads nowhere.
fn template(text: &str, mut resolve: impl FnMut(&str) -> Option<usize>) -> Result<Template, String> {
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
fn unit_hint(dimension: Dimension) -> String {
    crate::quantity::Unit::usual(dimension)
        .map_or(String::new(), |unit| format!("write its unit, such as {}", unit.symbol()))
}
