//! Patterns: which relation is meant, which term fills which role, and which variables they bind.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::tree::*;
use super::checker::*;
use super::scope::Scope;
use std::collections::HashMap;

/// Whether a bare word has the shape of a variable.
fn is_variable_shape(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_uppercase())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
}

/// Whether a name is one that the expander gave.
fn is_made_up(text: &str) -> bool {
    text.starts_with("one-of-")
}

impl Checker<'_> {
    /// For each list of carried words, whether at least two premises or conclusions of a finding leave open which is meant: they
    /// mean the same then.
    pub(super) fn carried(&self, item: &FindingItem) -> Vec<KindId> {
        let mut counts: HashMap<KindId, usize> = HashMap::new();
        for clause in &item.clauses {
            let pattern = match clause {
                Clause::Given(pattern) | Clause::Unless(pattern) | Clause::Hence(pattern) => pattern,
                Clause::Let { value: LetValue::Aggregate { members, .. }, .. } => members,
                _ => continue,
            };
            let Some(id) = self.relation_index.get(&pattern.name.text) else { continue };
            let relation = &self.relations[id.index()];
            for kind in self.left_open(pattern, relation).into_iter().map(|(_, kind)| kind) {
                *counts.entry(kind).or_default() += 1;
            }
        }
        for (index, kind) in self.kinds.iter().enumerate().filter(|(_, kind)| kind.carried) {
            let slot = format!("{{{}}}", kind.name);
            if item.says.as_ref().is_some_and(|says| says.text.contains(&slot)) {
                *counts.entry(KindId::new(index)).or_default() += 1;
            }
        }
        let mut carried: Vec<KindId> =
            counts.into_iter().filter(|(_, count)| *count > 1).map(|(kind, _)| kind).collect();
        carried.sort_unstable();
        carried
    }

    /// Roles of carried words that a pattern does not fill.
    pub(super) fn left_open(&self, pattern: &PatternItem, relation: &Relation) -> Vec<(usize, KindId)> {
        let filled = |place: usize, role: &Role| {
            pattern.arguments.iter().enumerate().any(|(position, (named, _))| match named {
                Some(named) => named.text == role.name,
                None => position == place,
            })
        };
        let roles = relation.roles.iter().enumerate();
        roles
            .filter_map(|(place, role)| match role.ty {
                Type::Word(kind) if self.kinds[kind.index()].carried && !filled(place, role) => {
                    Some((place, kind))
                }
                _ => None,
            })
            .collect()
    }

    /// Resolves a pattern. Reports unknown relations and roles, too many terms, and variables that its place forbids.
    pub(super) fn pattern(
        &mut self,
        item: &PatternItem,
        scope: &mut Scope,
        place: PatternPlace<'_>,
    ) -> Option<Pattern> {
        let relation = self.known_relation(&item.name)?;
        let declared = self.relations[relation.index()].clone();
        if matches!(place, PatternPlace::Hence) && !matches!(declared.origin, Origin::Plain) {
            let why = if matches!(declared.origin, Origin::Question(_)) {
                "the user answers it"
            } else {
                "the program computes it"
            };
            self.report(Diagnostic::new(
                item.span,
                format!("a finding cannot conclude \"{}\"", declared.name),
                why,
            ));
        }
        let placed = self.place_arguments(item, &declared)?;
        let mut terms = vec![Term::Any; declared.roles.len()];
        let mut sound = true;
        for (role, written) in placed {
            match self.term(written, declared.roles[role].ty, scope, place) {
                Some(term) => terms[role] = term,
                None => sound = false,
            }
        }
        if !matches!(place, PatternPlace::Assume | PatternPlace::Claim) {
            for (role, kind) in self.left_open(item, &declared) {
                if let Some(id) = self.carried_variable(kind, item, scope, place) {
                    terms[role] = Term::Variable(id);
                }
            }
        }
        if matches!(place, PatternPlace::Hence | PatternPlace::Assume) && sound && terms.contains(&Term::Any)
        {
            let missing: Vec<&str> = declared
                .roles
                .iter()
                .zip(&terms)
                .filter(|(_, term)| **term == Term::Any)
                .map(|(role, _)| role.name.as_str())
                .collect();
            self.report(Diagnostic::new(
                item.span,
                format!("a value is missing for: {}", missing.join(", ")),
                "every role needs one here",
            ));
            return None;
        }
        sound.then_some(Pattern { relation, terms, span: item.span })
    }

    /// The variable of carried words, where this finding has one.
    pub(super) fn carried_variable(
        &self,
        kind: KindId,
        item: &PatternItem,
        scope: &mut Scope,
        place: PatternPlace<'_>,
    ) -> Option<VariableId> {
        if !scope.carried.contains(&kind) {
            return None;
        }
        let name = &self.kinds[kind.index()].name;
        let id = match (scope.find(name), place) {
            (Some(id), _) => id,
            (None, PatternPlace::Given) => {
                let id = scope.add(name, Type::Word(kind), item.span);
                scope.bound.insert(id);
                id
            }
            (None, _) => return None,
        };
        scope.see(id);
        Some(id)
    }

    /// Which role each argument fills.
    pub(super) fn place_arguments<'i>(
        &mut self,
        item: &'i PatternItem,
        declared: &Relation,
    ) -> Option<Vec<(usize, &'i Written)>> {
        let mut placed: Vec<(usize, &Written)> = Vec::new();
        let mut sound = true;
        for (position, (role, written)) in item.arguments.iter().enumerate() {
            let index = match role {
                Some(role) => {
                    let index = declared.roles.iter().position(|known| known.name == role.text);
                    if index.is_none() {
                        self.unknown_role(role, declared);
                    }
                    index
                }
                None if position < declared.roles.len() => Some(position),
                None => {
                    self.report(Diagnostic::new(
                        written.span,
                        format!("\"{}\" has {} roles", declared.name, declared.roles.len()),
                        "one term too many",
                    ));
                    None
                }
            };
            let Some(index) = index else {
                sound = false;
                continue;
            };
            if placed.iter().any(|(taken, _)| *taken == index) {
                self.report(Diagnostic::new(
                    written.span,
                    format!("the role \"{}\" is filled twice", declared.roles[index].name),
                    "again here",
                ));
                sound = false;
            }
            placed.push((index, written));
        }
        sound.then_some(placed)
    }

    pub(super) fn term(
        &mut self,
        written: &Written,
        ty: Type,
        scope: &mut Scope,
        place: PatternPlace<'_>,
    ) -> Option<Term> {
        let text = written.text.as_str();
        if !written.quoted && text == "_" {
            return Some(Term::Any);
        }
        let constant_place = matches!(place, PatternPlace::Assume | PatternPlace::Claim);
        // What the expander binds has a name that nobody can write.
        let variable = !written.quoted
            && (is_variable_shape(text) && (text.len() == 1 || !self.is_word(text)) || is_made_up(text));
        if let (Type::Number(_), Some(value), false) =
            (ty, self.value_named(text), written.quoted || variable)
        {
            return if constant_place {
                Some(Term::Constant(Value::Number(self.values[value.index()].quantity)))
            } else {
                self.value_variable(written, scope).map(Term::Variable)
            };
        }
        // A range claimed of a number: it lies within.
        if let (Type::Number(dimension), PatternPlace::Claim, true) = (ty, place, text.contains("..")) {
            return match self.constant(written, Type::Range(dimension)) {
                Ok(value) => Some(Term::Constant(value)),
                Err(diagnostic) => {
                    self.report(*diagnostic);
                    None
                }
            };
        }
        if !variable || constant_place {
            return match self.constant(written, ty) {
                Ok(value) => Some(Term::Constant(value)),
                Err(diagnostic) => {
                    self.report(*diagnostic);
                    None
                }
            };
        }
        let id = match scope.find(text) {
            Some(id) => {
                let known = scope.variables[id.index()].ty;
                if known != ty {
                    let (was, now) = (self.described(known), self.described(ty));
                    self.report(
                        Diagnostic::new(
                            written.span,
                            format!("\"{text}\" is {was}, and {now} is needed here"),
                            "does not fit",
                        )
                        .also(scope.seen[id.index()].1, "first here"),
                    );
                    return None;
                }
                if scope.local.contains(&id) {
                    self.report(Diagnostic::new(
                        written.span,
                        format!(
                            "\"{text}\" runs over the facts inside an aggregate and has no one value here"
                        ),
                        "not known here",
                    ));
                    return None;
                }
                id
            }
            None => match place {
                PatternPlace::Given => {
                    let id = scope.add(text, ty, written.span);
                    scope.bound.insert(id);
                    id
                }
                PatternPlace::Members(over) if over == Some(text) => {
                    let id = scope.add(text, ty, written.span);
                    scope.local.insert(id);
                    id
                }
                _ => {
                    self.unbound(written, scope);
                    return None;
                }
            },
        };
        scope.see(id);
        Some(Term::Variable(id))
    }

    pub(super) fn unbound(&mut self, written: &Written, scope: &Scope) {
        let mut diagnostic = Diagnostic::new(
            written.span,
            format!("\"{}\" has no value", written.text),
            "no given and no let of this finding binds it",
        );
        let known = scope
            .bound
            .iter()
            .map(|id| scope.variables[id.index()].name.as_str())
            .collect::<std::collections::BTreeSet<_>>();
        diagnostic = match nearest(&written.text, known) {
            Some(near) => diagnostic.help(format!("did you mean \"{near}\"?")),
            None => diagnostic.help("write _ where it does not matter what it is"),
        };
        self.report(diagnostic);
    }

    /// A variable in a formula or condition.
    pub(super) fn variable(&mut self, written: &Written, scope: &mut Scope) -> Option<VariableId> {
        match scope.find(&written.text).filter(|id| scope.bound.contains(id)) {
            Some(id) => {
                scope.see(id);
                Some(id)
            }
            None => {
                self.unbound(written, scope);
                None
            }
        }
    }
}

/// Where a pattern stands, which decides what its variables may do.
#[derive(Clone, Copy)]
pub(super) enum PatternPlace<'a> {
    Given,
    Unless,
    Hence,
    /// Members of an aggregate, with the variable that runs over them.
    Members(Option<&'a str>),
    Assume,
    Claim,
}
