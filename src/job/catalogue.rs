//! The alloys or fillers that a rulebook's tables list, found by any accepted spelling. How spellings are built is in
//! `designation.rs`; no alloy is named here.

use super::designation::{Sort, fold, spellings, split_symbol, split_temper, without_product_form};
use crate::language::{RelationId, Rulebook, Value, nearest};
use crate::relations::{ALSO_WRITTEN, BASE_ALLOY, FILLER, FILLER_ALSO_WRITTEN, KnownRelation};
use std::collections::HashMap;
use std::sync::Arc;

/// Names by folded spelling; the surer kinds of match come first and hide the later ones.
#[derive(Debug)]
pub(super) struct Catalogue {
    sort: Sort,
    names: Vec<Arc<str>>,
    steps: [HashMap<String, Vec<usize>>; 5],
}

/// What a designation turned out to be.
#[derive(Debug, PartialEq)]
pub(super) struct Designated {
    pub name: Arc<str>,
    pub temper: Option<String>,
}

/// Why a designation is not one of the catalogue.
#[derive(Debug, PartialEq)]
pub(super) enum Unresolved {
    /// Nothing is written so; the name of the nearest, if one is near.
    Unknown(Option<Arc<str>>),
    /// Several are written so.
    Several(Vec<Arc<str>>),
    /// The chemical symbol in brackets is not that of the number before it.
    Disagrees { name: Arc<str>, symbol: String },
    /// The rulebook does not list the chemical symbol in brackets, so that it cannot be held against the number.
    UnknownSymbol(String),
}

enum Match {
    None,
    One(usize),
    Several(Vec<usize>),
}

impl Catalogue {
    /// From the tables `base-alloy` and `also-written`, or `filler` and `filler-also-written`.
    pub fn of(rulebook: &Rulebook, sort: Sort) -> Self {
        let (listing, others) = match sort {
            Sort::Alloy => (&BASE_ALLOY, &ALSO_WRITTEN),
            Sort::Filler => (&FILLER, &FILLER_ALSO_WRITTEN),
        };
        let names = |known: &'static KnownRelation<1>| known.column(rulebook, 0).filter_map(text);
        let spelt = |role| others.column(rulebook, role).filter_map(text);
        let mut catalogue = Catalogue { sort, names: Vec::new(), steps: Default::default() };
        let mut known = HashMap::new();
        for name in names(listing) {
            if !known.contains_key(&name) {
                known.insert(name.clone(), catalogue.names.len());
                catalogue.names.push(name);
            }
        }
        for (index, name) in catalogue.names.clone().iter().enumerate() {
            catalogue.put(0, fold(name), index);
            for spelling in spellings(name, sort) {
                catalogue.put(3, without_product_form(&spelling).to_owned(), index);
                catalogue.put(1, spelling, index);
            }
        }
        for (name, written) in spelt(0).zip(spelt(1)) {
            let Some(index) = known.get(&name).copied() else { continue };
            for spelling in spellings(&written, sort) {
                catalogue.put(4, without_product_form(&spelling).to_owned(), index);
                catalogue.put(2, spelling, index);
            }
        }
        catalogue
    }

    fn put(&mut self, step: usize, spelling: String, index: usize) {
        let names = self.steps[step].entry(spelling).or_default();
        if !names.contains(&index) {
            names.push(index);
        }
    }

    /// Every canonical name, in the rulebook's order.
    pub fn names(&self) -> &[Arc<str>] {
        &self.names
    }

    /// The name that is written so, and the temper behind it if there is one.
    pub fn resolve(&self, written: &str) -> Result<Designated, Unresolved> {
        let plain = self.resolve_plain(written);
        if let (Err(Unresolved::Unknown(_)), Some((head, temper))) = (&plain, split_temper(written)) {
            return match self.resolve_plain(head) {
                Ok(name) => Ok(Designated { name, temper: Some(temper) }),
                Err(error) => Err(error),
            };
        }
        plain.map(|name| Designated { name, temper: None })
    }

    fn resolve_plain(&self, written: &str) -> Result<Arc<str>, Unresolved> {
        let found = match (self.look_up(written), split_symbol(written)) {
            (Match::None, Some((head, symbol))) => {
                let found = self.look_up(head);
                if let Match::One(index) = found {
                    let agrees = match self.look_up(symbol) {
                        Match::None => return Err(Unresolved::UnknownSymbol(symbol.to_owned())),
                        Match::One(other) => other == index,
                        Match::Several(others) => others.contains(&index),
                    };
                    if !agrees {
                        let name = self.names[index].clone();
                        return Err(Unresolved::Disagrees { name, symbol: symbol.to_owned() });
                    }
                }
                found
            }
            (found, _) => found,
        };
        match found {
            Match::One(index) => Ok(self.names[index].clone()),
            Match::Several(several) => {
                Err(Unresolved::Several(several.into_iter().map(|index| self.names[index].clone()).collect()))
            }
            Match::None => Err(Unresolved::Unknown(self.nearest(written))),
        }
    }

    fn look_up(&self, written: &str) -> Match {
        let spellings = spellings(written, self.sort);
        for (step, names) in self.steps.iter().enumerate() {
            for spelling in &spellings {
                let spelling = if step < 3 { spelling } else { without_product_form(spelling) };
                match names.get(spelling).map(Vec::as_slice) {
                    None => {}
                    Some([one]) => return Match::One(*one),
                    Some(several) => return Match::Several(several.to_vec()),
                }
            }
        }
        Match::None
    }

    fn nearest(&self, written: &str) -> Option<Arc<str>> {
        // Only names that a slip of the fingers could have made are worth comparing.
        let core =
            spellings(written, self.sort).pop().filter(|core| core.len() <= super::LONGEST_COMPARED)?;
        let known = self.steps[1].iter().chain(&self.steps[2]);
        let near = nearest(&core, known.clone().map(|(spelling, _)| spelling.as_str()))?;
        let index = self.steps[1].get(near).or_else(|| self.steps[2].get(near))?.first()?;
        Some(self.names[*index].clone())
    }
}

/// The rows of a relation's tables.
pub(super) fn facts(rulebook: &Rulebook, relation: RelationId) -> impl Iterator<Item = &[Value]> {
    rulebook.facts.iter().filter(move |fact| fact.relation == relation).map(|fact| fact.cells.as_slice())
}

/// A name, word or text as a text.
fn text(value: &Value) -> Option<Arc<str>> {
    match value {
        Value::Symbol(text) => Some(text.clone()),
        Value::Number(_) | Value::Range(_) => None,
    }
}
