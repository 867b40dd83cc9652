//! Words, relations, questions, computed relations and curves: what a rulebook declares. Rows and findings are checked
//! against it elsewhere.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::source::Span;
use super::super::tree::*;
use super::checker::*;
use crate::quantity::{Dimension, parse_interval};
use std::sync::Arc;

/// The clauses of a question, each where it was written.
struct QuestionClauses<'t> {
    asks: Option<Template>,
    about: Option<&'t PatternItem>,
    at: Option<String>,
    left_out: Option<String>,
    takes: Option<Takes>,
}

impl Checker<'_> {
    /// Resolves a declared type; unknown ones are reported and read as names so that checking goes on.
    fn kind(&mut self, range: bool, kind: &Written) -> Type {
        if !range && self.names.iter().any(|(name, _)| *name == kind.text) {
            return Type::Name;
        }
        if let Some(dimension) = Dimension::named(&kind.text) {
            return if range { Type::Range(dimension) } else { Type::Number(dimension) };
        }
        if range {
            self.report(Diagnostic::new(
                kind.span,
                format!("\"{}\" has no ranges", kind.text),
                "a dimension is needed here",
            ));
        }
        match kind.text.as_str() {
            "name" => Type::Name,
            "text" => Type::Text,
            other => {
                if let Some(index) = self.kinds.iter().position(|known| known.name == other) {
                    return Type::Word(KindId::new(index));
                }
                let known = Dimension::NAMED
                    .iter()
                    .map(|(name, _)| *name)
                    .chain(["name", "text"])
                    .chain(self.kinds.iter().map(|kind| kind.name.as_str()));
                let mut diagnostic =
                    Diagnostic::new(kind.span, format!("unknown type \"{other}\""), "not a type");
                if let Some(near) = nearest(other, known) {
                    diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
                }
                self.report(diagnostic);
                Type::Name
            }
        }
    }

    /// What a role holds that says nothing about it: the words, or the names, of its own name.
    fn kind_by_name(&mut self, role: &Written) -> Type {
        if let Some(index) = self.kinds.iter().position(|known| known.name == role.text) {
            return Type::Word(KindId::new(index));
        }
        if !self.names.iter().any(|(name, _)| *name == role.text) {
            let message = format!("it is not said what the role \"{}\" holds", role.text);
            self.report(
                Diagnostic::new(role.span, message, "no list of words and no names are called so").help(
                    "write its type behind a colon, such as \"joint: name\" or \"share: mass-percent\"",
                ),
            );
        }
        Type::Name
    }

    fn resolve_roles(&mut self, roles: &[RoleItem]) -> Vec<Role> {
        let mut resolved: Vec<Role> = Vec::new();
        for role in roles {
            if resolved.iter().any(|known| known.name == role.name.text) {
                self.report(Diagnostic::new(
                    role.name.span,
                    format!("the role \"{}\" is declared twice", role.name.text),
                    "again here",
                ));
            }
            let ty = match &role.kind {
                Some(kind) => self.kind(role.range, kind),
                None => self.kind_by_name(&role.name),
            };
            resolved.push(Role { name: role.name.text.clone(), ty, listed: None });
        }
        resolved
    }

    fn add_relation(&mut self, name: &Written, roles: &[RoleItem], origin: Origin) {
        if let Some(first) = self.relation_index.get(&name.text) {
            let first = self.relations[first.index()].span;
            return self.twice("relation", name, first);
        }
        let roles = self.resolve_roles(roles);
        self.relation_index.insert(name.text.clone(), RelationId::new(self.relations.len()));
        self.relations.push(Arc::new(Relation {
            name: name.text.clone(),
            roles,
            origin,
            reads: None,
            cites: Vec::new(),
            once: Vec::new(),
            turn: None,
            span: name.span,
        }));
    }

    /// First pass: name and roles. A question is marked by a placeholder that the second pass completes.
    pub(super) fn declare_relation(&mut self, item: &RelationItem) {
        let origin = match item.flavour {
            Flavour::Plain => Origin::Plain,
            Flavour::Computed => Origin::Computed { from: Vec::new() },
            Flavour::Question => Origin::Question(Question {
                asks: Template::default(),
                subject: RelationId(0),
                filled_by: Vec::new(),
                path: String::new(),
                left_out: None,
                takes: None,
            }),
        };
        self.add_relation(&item.name, &item.roles, origin);
    }

    /// A table with roles declares its relation.
    pub(super) fn declare_table(&mut self, item: &TableItem) {
        let Some(roles) = &item.roles else { return };
        self.add_relation(&item.name, roles, Origin::Plain);
        if let Some(reads) = &item.reads {
            self.set_reads(&item.name, reads);
        }
    }

    /// A key of a relation, which its declaration or one of its tables gives.
    pub(super) fn set_key(&mut self, relation: &Written, roles: &[Written]) {
        let Some(id) = self.relation_index.get(&relation.text).copied() else { return };
        let declared = self.relations[id.index()].clone();
        let mut key = Vec::new();
        for role in roles {
            match declared.roles.iter().position(|known| known.name == role.text) {
                Some(place) => key.push(place),
                None => self.unknown_role(role, &declared),
            }
        }
        key.sort_unstable();
        key.dedup();
        let known = &mut Arc::make_mut(&mut self.relations[id.index()]).once;
        if !known.contains(&key) {
            known.push(key);
        }
    }

    fn set_turn(&mut self, id: RelationId, role: &Written) {
        let declared = self.relations[id.index()].clone();
        match declared.roles.iter().position(|known| known.name == role.text) {
            None => self.unknown_role(role, &declared),
            Some(place) if !matches!(declared.roles[place].ty, Type::Number(_)) => {
                let message = format!("turns are counted by a number, and \"{}\" holds none", role.text);
                self.report(Diagnostic::new(role.span, message, "not a number"));
            }
            Some(place) => Arc::make_mut(&mut self.relations[id.index()]).turn = Some(place),
        }
    }

    /// The sensible range of a question's answers.
    fn range_of_answers(&mut self, id: RelationId, range: &Written, because: &Written) -> Option<Takes> {
        let answer = self.relations[id.index()].roles.last().map(|role| role.ty);
        let Some(Type::Number(dimension) | Type::Range(dimension)) = answer else {
            let message = "only a question that is answered by a number takes a range";
            self.report(Diagnostic::new(range.span, message, "its answers are no numbers"));
            return None;
        };
        match parse_interval(&range.text, Some(dimension)) {
            Ok(range) => Some(Takes { range, because: self.sentence_without_slots(because)? }),
            Err(error) => {
                self.report(Diagnostic::new(range.span, error.to_string(), "here"));
                None
            }
        }
    }

    fn set_reads(&mut self, relation: &Written, reads: &Written) {
        let Some(id) = self.relation_index.get(&relation.text).copied() else { return };
        if let Some(template) = self.role_template(id, reads) {
            Arc::make_mut(&mut self.relations[id.index()]).reads = Some(template);
        }
    }

    fn role_template(&mut self, id: RelationId, text: &Written) -> Option<Template> {
        let roles = &self.relations[id.index()].roles;
        let built = template(&text.text, |name| roles.iter().position(|role| role.name == name));
        match built {
            Ok(template) => Some(template),
            Err(slot) => {
                let near = nearest(&slot, roles.iter().map(|role| role.name.as_str())).map(str::to_owned);
                self.unknown_slot(text, &slot, near);
                None
            }
        }
    }

    /// A sentence about no fact in particular.
    fn sentence_without_slots(&mut self, text: &Written) -> Option<String> {
        match template(&text.text, |_| None) {
            Ok(_) => Some(text.text.clone()),
            Err(slot) => {
                self.unknown_slot(text, &slot, None);
                None
            }
        }
    }

    pub(super) fn unknown_slot(&mut self, text: &Written, slot: &str, near: Option<String>) {
        let mut diagnostic = Diagnostic::new(
            text.span,
            format!("the sentence has an unknown slot {{{slot}}}"),
            "in this sentence",
        );
        if let Some(near) = near {
            diagnostic = diagnostic.help(format!("did you mean {{{near}}}?"));
        }
        self.report(diagnostic);
    }

    /// Second pass: clauses, which may name relations that are declared later.
    pub(super) fn complete_relation(&mut self, item: &RelationItem) {
        let Some(id) = self.relation_index.get(&item.name.text).copied() else { return };
        let (mut asks, mut about, mut at, mut left_out) = (None, None, None, None);
        let (mut takes, mut from) = (None, Vec::new());
        for clause in &item.clauses {
            match clause {
                RelationClause::Reads(text) => self.set_reads(&item.name, text),
                RelationClause::Asks(text) => asks = self.role_template(id, text),
                RelationClause::About(pattern) => about = Some(pattern),
                RelationClause::At(path) => at = Some(path.text.clone()),
                RelationClause::LeftOut(text) => left_out = self.sentence_without_slots(text),
                RelationClause::From(names) => {
                    from = names.iter().filter_map(|name| self.known_relation(name)).collect();
                }
                RelationClause::Once(roles) => self.set_key(&item.name, roles),
                RelationClause::InTurns(role) => self.set_turn(id, role),
                RelationClause::Takes(range, because) => takes = self.range_of_answers(id, range, because),
                RelationClause::Cite(cite) => {
                    Arc::make_mut(&mut self.relations[id.index()]).cites.push(cite.cite.clone())
                }
            }
        }
        match item.flavour {
            Flavour::Plain => {}
            Flavour::Computed => {
                if from.is_empty() {
                    self.report(Diagnostic::new(
                        item.name.span,
                        format!("\"{}\" does not say what it is computed from", item.name.text),
                        "needs a line: from …",
                    ));
                }
                Arc::make_mut(&mut self.relations[id.index()]).origin = Origin::Computed { from };
            }
            Flavour::Question => {
                let question = QuestionClauses { asks, about, at, left_out, takes };
                self.complete_question(item, id, question);
            }
        }
    }

    fn complete_question(&mut self, item: &RelationItem, id: RelationId, clauses: QuestionClauses<'_>) {
        let QuestionClauses { asks, about, at, left_out, takes } = clauses;
        let missing: Vec<&str> = [("asks", asks.is_none()), ("about", about.is_none()), ("at", at.is_none())]
            .iter()
            .filter(|(_, missing)| *missing)
            .map(|(clause, _)| *clause)
            .collect();
        if !missing.is_empty() {
            self.report(Diagnostic::new(
                item.name.span,
                format!("the question \"{}\" lacks: {}", item.name.text, missing.join(", ")),
                "incomplete question",
            ));
        }
        let (Some(asks), Some(about), Some(path)) = (asks, about, at) else { return };
        let Some(subject) = self.known_relation(&about.name) else { return };
        let roles: Vec<String> =
            self.relations[id.index()].roles.iter().map(|role| role.name.clone()).collect();
        let keys = &roles[..roles.len().saturating_sub(1)];
        let mut filled_by = vec![None; keys.len()];
        for (position, (role, term)) in about.arguments.iter().enumerate() {
            let subject_roles = &self.relations[subject.index()].roles;
            let place = match role {
                Some(role) => subject_roles.iter().position(|known| known.name == role.text),
                None => (position < subject_roles.len()).then_some(position),
            };
            let key = keys.iter().position(|key| *key == term.text);
            if let (Some(place), Some(key)) = (place, key) {
                filled_by[key] = Some(place);
            } else if term.text != "_" {
                self.report(Diagnostic::new(
                    term.span,
                    "\"about\" names, for each role of this question but the last, the role that fills it",
                    "does not fit",
                ));
            }
        }
        match filled_by.into_iter().collect::<Option<Vec<usize>>>() {
            Some(filled_by) => {
                Arc::make_mut(&mut self.relations[id.index()]).origin =
                    Origin::Question(Question { asks, subject, filled_by, path, left_out, takes });
            }
            None => self.report(Diagnostic::new(
                about.span,
                format!("it is not said about what \"{}\" is asked", item.name.text),
                "a role of the question is not filled",
            )),
        }
    }

    pub(super) fn declare_curve(&mut self, item: &CurveItem) {
        if let Some(first) =
            self.curves.iter().find(|curve| curve.name == item.name.text).map(|curve| curve.span)
        {
            return self.twice("curve", &item.name, first);
        }
        let dimension = |checker: &mut Self, range: bool, kind: &Written| match checker.kind(range, kind) {
            Type::Number(dimension) => Some(dimension),
            _ => {
                checker.report(Diagnostic::new(
                    kind.span,
                    "a curve runs from a quantity to a quantity",
                    "not a quantity",
                ));
                None
            }
        };
        let from = item.from.kind.as_ref().unwrap_or(&item.from.name);
        let from = dimension(self, item.from.range, from);
        let to = dimension(self, false, &item.to);
        if item.cites.is_empty() {
            self.report(no_authority("curve", &item.name));
        }
        if item.outside.is_none() {
            self.report(
                Diagnostic::new(
                    item.name.span,
                    format!("the curve \"{}\" does not say what holds outside its points", item.name.text),
                    "incomplete curve",
                )
                .help("add a line: outside holds, outside none, or outside extends"),
            );
        }
        let (Some(from), Some(to), Some(outside)) = (from, to, item.outside) else { return };
        let (points, places): (Vec<(f64, f64)>, Vec<Span>) =
            self.curve_points(item, from, to).into_iter().unzip();
        if points.len() < 2 {
            self.report(Diagnostic::new(
                item.name.span,
                "a curve needs two points or more",
                "too few points",
            ));
        }
        self.curves.push(Curve {
            name: item.name.text.clone(),
            from,
            to,
            points,
            places,
            outside,
            cites: item.cites.iter().map(|cite| cite.cite.clone()).collect(),
            span: item.name.span,
        });
    }

    fn curve_points(&mut self, item: &CurveItem, from: Dimension, to: Dimension) -> Vec<((f64, f64), Span)> {
        let mut points: Vec<((f64, f64), Span)> = Vec::new();
        for row in self.rows(&item.cells) {
            let types = [Type::Number(from), Type::Number(to)];
            let Some(values) = self.row_values(&row, &types, &[None, None]) else { continue };
            if let [Some(Value::Number(x)), Some(Value::Number(y))] = values.as_slice() {
                if points.last().is_some_and(|((last, _), _)| *last >= x.base) {
                    self.report(Diagnostic::new(
                        row[0].span,
                        "the points of a curve rise from row to row",
                        "not above the row before",
                    ));
                }
                points.push(((x.base, y.base), row[0].span));
            }
        }
        points
    }
}

pub(super) fn no_authority(what: &str, name: &Written) -> Diagnostic {
    Diagnostic::new(
        name.span,
        format!("the {what} \"{}\" has no authority", name.text),
        "says nothing about its source",
    )
    .help("add a line: cite \"…source…\", cite common practice, or cite memory \"…source…\"")
}
