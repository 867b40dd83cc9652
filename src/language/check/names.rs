//! Words, names and numbers with names: what a rulebook declares before its relations.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::tree::*;
use super::checker::*;
use super::declarations::no_authority;
use crate::quantity::Dimension;
use std::collections::HashSet;
use std::sync::Arc;

impl Checker<'_> {
    pub(super) fn declare_words(&mut self, name: &Written, carried: bool, words: &[Written]) {
        if let Some(first) = self.kinds.iter().find(|kind| kind.name == name.text).map(|kind| kind.span) {
            return self.twice("list of words", name, first);
        }
        if Dimension::named(&name.text).is_some() || ["name", "text", "range"].contains(&name.text.as_str()) {
            self.report(Diagnostic::new(name.span, format!("\"{}\" is a type already", name.text), "taken"));
            return;
        }
        self.kinds.push(WordKind { name: name.text.clone(), words: Vec::new(), carried, span: name.span });
        self.add_words(self.kinds.len() - 1, words);
    }

    /// Further words of a list.
    pub(super) fn more_words(&mut self, name: &Written, words: &[Written]) {
        if let Some(list) = self.kinds.iter().position(|kind| kind.name == name.text) {
            return self.add_words(list, words);
        }
        let mut diagnostic = Diagnostic::new(
            name.span,
            format!("there is no list of words \"{}\"", name.text),
            "not declared",
        );
        if let Some(near) = nearest(&name.text, self.kinds.iter().map(|kind| kind.name.as_str())) {
            diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
        }
        self.report(diagnostic);
    }

    pub(super) fn add_words(&mut self, list: usize, words: &[Written]) {
        let mut known: Vec<Arc<str>> = std::mem::take(&mut self.kinds[list].words);
        let mut seen: HashSet<Arc<str>> = known.iter().cloned().collect();
        for word in words {
            let symbol = self.symbol(&word.text);
            if !seen.insert(symbol.clone()) {
                self.report(Diagnostic::new(
                    word.span,
                    format!("the word \"{}\" is listed twice", word.text),
                    "again here",
                ));
            } else {
                known.push(symbol);
            }
        }
        self.kinds[list].words = known;
    }

    /// Names that roles may hold, and the relation that lists all of them.
    pub(super) fn declare_names(&mut self, names: &[Written], listed: Option<&Written>) {
        for name in names {
            if self.names.iter().any(|(known, _)| *known == name.text) {
                let message = format!("the names \"{}\" are declared twice", name.text);
                self.report(Diagnostic::new(name.span, message, "again here"));
            } else if self.kinds.iter().any(|kind| kind.name == name.text) {
                let message = format!("\"{}\" is a list of words", name.text);
                self.report(Diagnostic::new(name.span, message, "taken"));
            } else {
                self.names.push((name.text.clone(), listed.cloned()));
            }
        }
    }

    /// Which relation lists what stands in a role, now that all relations are known.
    pub(super) fn list_names(&mut self, items: &[Item]) {
        let mut lists: Vec<(String, RelationId)> = Vec::new();
        for (name, listed) in self.names.clone() {
            let Some(listed) = listed else { continue };
            lists.extend(self.known_relation(&listed).map(|relation| (name, relation)));
        }
        let list = |name: &str| lists.iter().find(|(known, _)| known == name).map(|(_, relation)| *relation);
        for item in items {
            let (name, roles) = match item {
                Item::Relation(relation) => (&relation.name, relation.roles.as_slice()),
                Item::Table(TableItem { name, roles: Some(roles), .. }) => (name, roles.as_slice()),
                _ => continue,
            };
            let Some(id) = self.relation_index.get(&name.text).copied() else { continue };
            let declared = Arc::make_mut(&mut self.relations[id.index()]);
            for (role, item) in declared.roles.iter_mut().zip(roles).filter(|(role, _)| role.ty == Type::Name)
            {
                role.listed = list(item.kind.as_ref().map_or(item.name.text.as_str(), |kind| &kind.text));
            }
        }
    }

    /// A number with a name.
    pub(super) fn declare_value(&mut self, row: &ValueRow, cites: &[CiteItem]) {
        if let Some(first) = self.value_named(&row.name.text) {
            let first = self.values[first.index()].span;
            return self.twice("value", &row.name, first);
        }
        let Some(quantity) = self.fixed(&row.value) else { return };
        let cites: Vec<Cite> = match &row.cite {
            Some(own) => vec![own.cite.clone()],
            None => cites.iter().map(|cite| cite.cite.clone()).collect(),
        };
        if cites.is_empty() {
            self.report(no_authority("value", &row.name));
        }
        self.values.push(NamedValue { name: row.name.text.clone(), quantity, cites, span: row.span });
    }
}
