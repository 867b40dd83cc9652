//! The section `choice`: which fillers are to hand, and in which order the criteria count.

use super::designation::Sort;
use super::keys;
use super::shapes::declared_criterion;
use super::shorten;
use super::tree::JobEntry;
use super::walk::Walk;
use crate::language::{Diagnostic, Span, Type, Value};
use std::sync::Arc;

/// What the section says.
#[derive(Debug, Default)]
pub(super) struct Choice {
    pub available: Vec<(Arc<str>, Span)>,
    /// Whether the file lists fillers at all; where it does not, all known ones may be chosen.
    pub restricted: bool,
    pub order: Vec<(Arc<str>, Span)>,
}

impl Walk<'_> {
    /// Reads the section.
    pub fn choice(&mut self, entry: &JobEntry) -> Choice {
        let mut choice = Choice::default();
        let Some(entries) = self.table(&entry.node, "`choice`", None) else { return choice };
        for inner in entries {
            match inner.key.as_str() {
                "available" => {
                    choice.restricted = true;
                    choice.available = self.available(inner);
                }
                "order" => choice.order = self.order(inner),
                _ => self.unknown_key(inner, "`choice`", keys::CHOICE),
            }
        }
        choice
    }

    fn available(&mut self, entry: &JobEntry) -> Vec<(Arc<str>, Span)> {
        let help = "leave the key out to choose among all known fillers";
        let Some(nodes) = self.list(&entry.node, "`available`", Some("write it as [\"…\", \"…\"]"))
        else {
            return Vec::new();
        };
        if nodes.is_empty() {
            let diagnostic = Diagnostic::new(entry.node.span, "`available` names no filler", "empty");
            self.report(diagnostic.help(help));
        }
        let mut found = NamedOnce::default();
        for node in nodes {
            let Some((written, designated)) = self.designation(node, Sort::Filler) else { continue };
            if let Some(temper) = designated.temper {
                let message =
                    format!("\"{}\" carries the temper {temper}, which a filler has not", shorten(&written));
                self.report(Diagnostic::new(node.span, message, "temper behind the filler"));
                continue;
            }
            let name = designated.name.clone();
            if let Some(earlier) = found.add(designated.name, node.span) {
                let message = format!("the filler {name} is named twice");
                let diagnostic = Diagnostic::new(node.span, message, "the same filler again");
                self.report(diagnostic.also(earlier, "first named here"));
            }
        }
        found.listed
    }

    fn order(&mut self, entry: &JobEntry) -> Vec<(Arc<str>, Span)> {
        let Some(nodes) = self.list(&entry.node, "`order`", Some("write it as [\"…\", \"…\"]")) else {
            return Vec::new();
        };
        if nodes.is_empty() {
            let diagnostic = Diagnostic::new(entry.node.span, "`order` names no criterion", "empty");
            self.report(diagnostic.help("leave the key out to rank the criteria as the rulebook does"));
        }
        let ty = declared_criterion(self.rulebook);
        let mut found = NamedOnce::default();
        for node in nodes {
            // A criterion is one line even where the rulebook does not say which there are.
            let ty = if ty == Type::Text { Type::Name } else { ty };
            let Some(Value::Symbol(criterion)) = self.value(node, ty, "choice.order") else { continue };
            if let Some(earlier) = found.add(criterion.clone(), node.span) {
                let message = format!("the criterion \"{}\" is ranked twice", shorten(&criterion));
                let diagnostic = Diagnostic::new(node.span, message, "the same criterion again");
                self.report(diagnostic.also(earlier, "first ranked here"));
            }
        }
        found.listed
    }
}

/// A list without repetitions.
#[derive(Default)]
struct NamedOnce {
    listed: Vec<(Arc<str>, Span)>,
    first: std::collections::HashMap<Arc<str>, Span>,
}

impl NamedOnce {
    /// Adds a name; where it is there already, says where it stood first.
    fn add(&mut self, name: Arc<str>, span: Span) -> Option<Span> {
        if let Some(earlier) = self.first.get(&name) {
            return Some(*earlier);
        }
        self.first.insert(name.clone(), span);
        self.listed.push((name, span));
        None
    }
}
