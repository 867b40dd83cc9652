//! From trees to a checked rulebook: every name resolved, every type and dimension resolved, every mistake reported.
//! The order is declarations, then rows and findings against them, then the circles that only the whole shows.

mod checker;
mod circles;
mod declarations;
mod expectations;
mod expressions;
mod findings;
mod names;
mod patterns;
mod scope;
mod tables;

use super::budget::Budget;
use super::diagnostic::Diagnostic;
use super::rulebook::{Pattern, Relation, RelationId, Rulebook};
use super::source::{Sources, Span};
use super::tree::{Item, PatternItem};
use checker::Checker;
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
    let Checker {
        kinds,
        values,
        relations,
        curves,
        mut findings,
        facts,
        expectations,
        diagnostics: found,
        ..
    } = checker;
    let relations: Vec<Relation> = relations.into_iter().map(Arc::unwrap_or_clone).collect();
    diagnostics.extend(found);
    // What could be read is looked through for circles whatever else is wrong, so that one run reports all.
    diagnostics.extend(circles::check(&relations, &findings));
    if !diagnostics.is_empty() {
        diagnostics.sort_by_key(|diagnostic| diagnostic.span);
        diagnostics.dedup();
        return Err((sources, diagnostics));
    }
    findings.sort_by(|a, b| a.id.cmp(&b.id));
    let budget = Budget::default();
    Ok(Rulebook {
        sources,
        kinds,
        values,
        relations,
        curves,
        findings,
        facts,
        expectations,
        fingerprint,
        budget,
    })
}

/// Resolves a pattern of constants and `_` against a rulebook.
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

impl Checker<'_> {
    /// Declarations first, so that files may stand in any order.
    fn declare(&mut self, items: &[Item]) {
        for item in items {
            match item {
                Item::Words { name, carried, words } => self.declare_words(name, *carried, words),
                Item::Names { names, listed } => self.declare_names(names, listed.as_ref()),
                _ => {}
            }
        }
        for item in items {
            match item {
                Item::More { name, words } => self.more_words(name, words),
                Item::Values { cites, rows } => rows.iter().for_each(|row| self.declare_value(row, cites)),
                _ => {}
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
        self.list_names(items);
    }

    fn fill(&mut self, items: &[Item]) {
        let mut ids: HashMap<&str, Span> = HashMap::new();
        items.iter().for_each(|item| {
            if let Item::Table(table) = item {
                self.fill_table(table);
            }
        });
        let mut expectations: HashMap<&str, Span> = HashMap::new();
        for item in items {
            match item {
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
}
