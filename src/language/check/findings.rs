//! Findings and expectations: variables, their types, and the order in which premises can be looked at.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::tree::*;
use super::checker::*;
use super::declarations::no_authority;
use super::scope::{Scope, in_order, variables_of};
use crate::quantity::Dimension;
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

/// The names of the slots of a sentence.
fn slots(text: &str) -> Vec<&str> {
    text.split('{').skip(1).filter_map(|rest| rest.split_once('}')).map(|(name, _)| name).collect()
}

impl Checker<'_> {
    pub(super) fn finding(&mut self, item: &FindingItem) {
        // A figure such as `let Limit = 3 %` may be a share or a mass per cent; how it is used decides. Each reading is
        // tried until one checks, and the first one's messages are given where none does.
        let before = self.diagnostics.len();
        let mut readings: Vec<usize> = Vec::new();
        let mut first_messages: Option<Vec<Diagnostic>> = None;
        loop {
            let (finding, scope) = self.finding_as_read(item, readings.clone());
            let messages = self.diagnostics.split_off(before);
            if messages.is_empty() {
                self.findings.push(finding);
                return;
            }
            if first_messages.is_none() {
                readings = vec![0; scope.next_reading];
                first_messages = Some(messages);
            }
            // Count through the combinations of two readings each; more than four such figures are not tried.
            let next = readings.iter().position(|reading| *reading == 0).filter(|_| readings.len() <= 4);
            match next {
                Some(at) => {
                    readings[..at].fill(0);
                    readings[at] = 1;
                }
                None => break,
            }
        }
        self.diagnostics.extend(first_messages.into_iter().flatten());
    }

    fn finding_as_read(&mut self, item: &FindingItem, readings: Vec<usize>) -> (Finding, Scope) {
        let mut scope = Scope { readings, carried: self.carried(item), ..Scope::default() };
        if item.cites.is_empty() && item.form != Form::Meaning {
            self.report(no_authority("finding", &item.id));
        }
        // Patterns first: they give most variables their types, wherever the line stands.
        let mut premises: Vec<Option<Premise>> = Vec::new();
        let mut hence = Vec::new();
        for clause in &item.clauses {
            premises.push(match clause {
                Clause::Given(pattern) => {
                    self.pattern(pattern, &mut scope, PatternPlace::Given).map(Premise::Given)
                }
                _ => None,
            });
        }
        let mut waiting: Vec<usize> = (0..item.clauses.len())
            .filter(|index| matches!(item.clauses[*index], Clause::Let { .. }))
            .collect();
        // A `let` may use another that stands below it; those that can be read are, until none is left.
        while !waiting.is_empty() {
            let ready =
                waiting.iter().position(|index| self.let_ready(&item.clauses[*index], &scope)).unwrap_or(0);
            let index = waiting.remove(ready);
            premises[index] = self.let_clause(&item.clauses[index], &mut scope);
        }
        for (index, clause) in item.clauses.iter().enumerate() {
            match clause {
                Clause::Unless(pattern) => {
                    premises[index] =
                        self.pattern(pattern, &mut scope, PatternPlace::Unless).map(Premise::Unless);
                }
                Clause::Where { condition, span } => {
                    premises[index] = self
                        .condition(condition, &mut scope)
                        .map(|condition| Premise::Where { condition, span: *span });
                }
                Clause::Hence(pattern) => {
                    hence.extend(self.pattern(pattern, &mut scope, PatternPlace::Hence))
                }
                _ => {}
            }
        }
        let says = match item.form {
            Form::Meaning => hence.first().and_then(|pattern| self.meant(pattern)),
            _ => self.says(item, &mut scope),
        };
        if !item.clauses.iter().any(|clause| matches!(clause, Clause::Hence(_))) {
            self.report(Diagnostic::new(
                item.id.span,
                format!("the finding \"{}\" concludes nothing", item.id.text),
                "needs a line: hence …",
            ));
        }
        for (variable, (count, span)) in scope.variables.iter().zip(&scope.seen) {
            if *count == 1 && item.form != Form::Rung {
                self.diagnostics.push(
                    Diagnostic::new(
                        *span,
                        format!("\"{}\" stands only once in this finding", variable.name),
                        "used once",
                    )
                    .help("write _ where it does not matter, or quotes around a name with a capital letter"),
                );
            }
        }
        let finding = Finding {
            id: item.id.text.clone(),
            says,
            cites: item.cites.iter().map(|cite| cite.cite.clone()).collect(),
            variables: scope.variables.clone(),
            premises: in_order(premises.into_iter().flatten().collect(), self.value_lets(&scope)),
            hence,
            meaning: item.form == Form::Meaning,
            span: item.id.span,
        };
        (finding, scope)
    }

    /// For each list of carried words, whether at least two premises or conclusions of a finding leave open which is meant: they
    /// mean the same then.
    fn carried(&self, item: &FindingItem) -> Vec<KindId> {
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
    fn left_open(&self, pattern: &PatternItem, relation: &Relation) -> Vec<(usize, KindId)> {
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

    /// The premises that give named values their numbers.
    fn value_lets(&self, scope: &Scope) -> Vec<Premise> {
        let premise = |(variable, value): &(VariableId, ValueId)| {
            let named = &self.values[value.index()];
            let formula = Expression::Constant(named.quantity);
            Premise::Let { variable: *variable, formula, value: Some(*value), span: named.span }
        };
        scope.values.iter().map(premise).collect()
    }

    /// The sentence of a meaning: its relation's, with what fills the roles.
    fn meant(&self, hence: &Pattern) -> Option<Template> {
        let reads = self.relations[hence.relation.index()].reads.as_ref()?;
        let piece = |piece: &Piece| match piece {
            Piece::Text(text) => Piece::Text(text.clone()),
            Piece::Slot(role) => match &hence.terms[*role] {
                Term::Variable(id) => Piece::Slot(id.index()),
                Term::Constant(value) => Piece::Text(value.to_string()),
                Term::Any => Piece::Text("anything".to_owned()),
            },
        };
        Some(Template { pieces: reads.pieces.iter().map(piece).collect() })
    }

    fn says(&mut self, item: &FindingItem, scope: &mut Scope) -> Option<Template> {
        let Some(says) = &item.says else {
            self.report(
                Diagnostic::new(
                    item.id.span,
                    format!("the finding \"{}\" says nothing", item.id.text),
                    "no sentence for a reader",
                )
                .help("add a line: says \"…\""),
            );
            return None;
        };
        for name in slots(&says.text) {
            if scope.find(name).is_none()
                && let Some(value) = self.value_named(name)
            {
                self.use_value(value, says.span, scope);
            }
        }
        let mut used = Vec::new();
        let built = template(&says.text, |name| {
            let id = scope.find(name).filter(|id| !scope.local.contains(id))?;
            used.push(id);
            Some(id.index())
        });
        used.into_iter().for_each(|id| scope.see(id));
        match built {
            Ok(template) => Some(template),
            Err(slot) => {
                let near = nearest(&slot, scope.variables.iter().map(|variable| variable.name.as_str()))
                    .map(str::to_owned);
                self.unknown_slot(says, &slot, near);
                None
            }
        }
    }

    fn let_ready(&self, clause: &Clause, scope: &Scope) -> bool {
        match clause {
            Clause::Let { value: LetValue::Formula(formula), .. } => {
                let mut names = Vec::new();
                variables_of(formula, &mut names);
                names.iter().all(|name| scope.find(name).is_some())
            }
            Clause::Let { value: LetValue::Either(first, second), .. } => {
                let mut names = Vec::new();
                variables_of(first, &mut names);
                variables_of(second, &mut names);
                names.iter().all(|name| scope.find(name).is_some())
            }
            _ => true,
        }
    }

    fn let_clause(&mut self, clause: &Clause, scope: &mut Scope) -> Option<Premise> {
        let Clause::Let { variable, value, span } = clause else { return None };
        if let Some(known) = scope.find(&variable.text) {
            let first = scope.seen[known.index()].1;
            self.report(
                Diagnostic::new(
                    variable.span,
                    format!("\"{}\" has a value already", variable.text),
                    "given another value here",
                )
                .also(first, "first here"),
            );
            return None;
        }
        match value {
            LetValue::Formula(formula) => {
                let (formula, dimension) = self.let_formula(formula, scope)?;
                let id = scope.add(&variable.text, Type::Number(dimension), variable.span);
                scope.see(id);
                scope.bound.insert(id);
                Some(Premise::Let { variable: id, formula, value: None, span: *span })
            }
            LetValue::Either(first, second) => {
                let (formula, dimension) = self.either(first, second, scope)?;
                let id = scope.add(&variable.text, Type::Number(dimension), variable.span);
                scope.see(id);
                scope.bound.insert(id);
                Some(Premise::Let { variable: id, formula, value: None, span: *span })
            }
            LetValue::Aggregate { how, over, members } => {
                let over_known = over.as_ref().and_then(|over| scope.find(&over.text));
                if let (Some(over), Some(_)) = (over, over_known) {
                    self.report(Diagnostic::new(
                        over.span,
                        format!("\"{}\" has a value outside this line; the one that runs over the facts needs a name of its own", over.text),
                        "not free",
                    ));
                    return None;
                }
                let pattern = self.pattern(
                    members,
                    scope,
                    PatternPlace::Members(over.as_ref().map(|over| over.text.as_str())),
                )?;
                let over = match over {
                    None => None,
                    Some(written) => {
                        let Some(id) = scope.find(&written.text) else {
                            self.report(Diagnostic::new(
                                written.span,
                                format!("\"{}\" does not stand in the pattern behind \"of\"", written.text),
                                "nothing to run over",
                            ));
                            return None;
                        };
                        scope.see(id);
                        Some(id)
                    }
                };
                let dimension = match over.map(|id| scope.variables[id.index()].ty) {
                    None => Dimension::RATIO,
                    Some(Type::Number(dimension)) => dimension,
                    Some(other) => {
                        let what = self.described(other);
                        self.report(Diagnostic::new(
                            *span,
                            format!("numbers are needed here, and this is {what}"),
                            "not a number",
                        ));
                        return None;
                    }
                };
                if *how == Aggregate::Sum && dimension.is_point() {
                    self.report(Diagnostic::new(
                        *span,
                        "temperatures cannot be summed",
                        "a sum of temperatures",
                    ));
                    return None;
                }
                let id = scope.add(&variable.text, Type::Number(dimension), variable.span);
                scope.see(id);
                scope.bound.insert(id);
                Some(Premise::Aggregate { variable: id, how: *how, over, members: pattern, span: *span })
            }
        }
    }

    /// Resolves a pattern. Reports unknown relations and roles, too many terms, and variables that its place forbids.
    fn pattern(&mut self, item: &PatternItem, scope: &mut Scope, place: PatternPlace<'_>) -> Option<Pattern> {
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
    fn carried_variable(
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
    fn place_arguments<'i>(
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

    fn term(
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

    fn condition(&mut self, item: &ConditionItem, scope: &mut Scope) -> Option<Condition> {
        match item {
            ConditionItem::Compare { left, comparison, right } => {
                let (left, right) = self.compared(left, right, scope)?;
                Some(Condition::Compare { left, comparison: *comparison, right })
            }
            ConditionItem::Among { left, among, negated } => {
                let id = self.variable(left, scope)?;
                let ty = scope.variables[id.index()].ty;
                let mut terms = Vec::new();
                for written in among {
                    // The left variable is bound, so a name on the right may be another one or a word of its type.
                    terms.push(self.term(written, ty, scope, PatternPlace::Unless)?);
                }
                Some(Condition::Among { left: Term::Variable(id), among: terms, negated: *negated })
            }
        }
    }

    /// A pattern of constants and `_`, as an expectation claims it.
    pub(super) fn claim(&mut self, item: &PatternItem, scope: &mut Scope) -> Option<Pattern> {
        self.pattern(item, scope, PatternPlace::Claim)
    }

    /// A name in an expectation that is in no list where it should be, so that what is said of it could never hold.
    fn unlisted(&self, pattern: &Pattern, written: &PatternItem, assume: &[Pattern]) -> Option<Diagnostic> {
        let roles = &self.relations[pattern.relation.index()].roles;
        let mut names =
            roles.iter().zip(&pattern.terms).filter_map(|(role, term)| match (role.listed, term) {
                (Some(list), Term::Constant(Value::Symbol(name))) if list != pattern.relation => {
                    Some((list, name))
                }
                _ => None,
            });
        names.find_map(|(list, name)| {
            let listed =
                |cells: &[Value]| matches!(cells.first(), Some(Value::Symbol(known)) if known == name);
            let assumed = assume.iter().filter(|known| known.relation == list).any(|known| {
                matches!(known.terms.first(), Some(Term::Constant(Value::Symbol(known))) if known == name)
            });
            let rows = || self.facts.iter().filter(|fact| fact.relation == list);
            if assumed || rows().any(|fact| listed(&fact.cells)) {
                return None;
            }
            let relation = &self.relations[list.index()].name;
            let place = written.arguments.iter().map(|(_, word)| word).find(|word| *word.text == **name);
            let span = place.map_or(written.span, |word| word.span);
            let message = format!("\"{name}\" stands in no row of {relation}");
            let mut diagnostic = Diagnostic::new(span, message, "not known");
            let known: Vec<String> =
                rows().filter_map(|fact| fact.cells.first().map(ToString::to_string)).collect();
            diagnostic = match nearest(name, known.iter().map(String::as_str)) {
                Some(near) => diagnostic.help(format!("did you mean \"{near}\"?")),
                None => diagnostic.help(format!("\"assume {relation}({name}, …)\" adds one for this check")),
            };
            Some(diagnostic)
        })
    }

    pub(super) fn expectation(&mut self, item: &ExpectationItem) {
        let mut scope = Scope::default();
        let mut assume: Vec<Pattern> = Vec::new();
        for (place, written) in item.assume.iter().enumerate() {
            let Some(pattern) = self.pattern(written, &mut scope, PatternPlace::Assume) else { continue };
            let relation = &self.relations[pattern.relation.index()];
            if matches!(relation.origin, Origin::Computed { .. }) {
                let message = format!("\"{}\" cannot be assumed", relation.name);
                self.report(Diagnostic::new(written.span, message, "the program computes it"));
                continue;
            }
            // What an expectation says itself stands in the place of what its background says.
            if matches!(relation.origin, Origin::Question(_)) && place >= item.background {
                let about = pattern.terms.len() - 1;
                assume.retain(|known| {
                    known.relation != pattern.relation || known.terms[..about] != pattern.terms[..about]
                });
            }
            assume.push(pattern);
        }
        let claims: Vec<(Claim, Pattern)> = item
            .claims
            .iter()
            .filter_map(|(claim, pattern)| self.claim(pattern, &mut scope).map(|pattern| (*claim, pattern)))
            .collect();
        let named = assume.iter().zip(&item.assume).chain(
            claims.iter().map(|(_, pattern)| pattern).zip(item.claims.iter().map(|(_, written)| written)),
        );
        let unlisted: Vec<Diagnostic> =
            named.filter_map(|(pattern, written)| self.unlisted(pattern, written, &assume)).collect();
        self.diagnostics.extend(unlisted);
        if item.claims.is_empty() {
            self.report(Diagnostic::new(
                item.name.span,
                "this expectation claims nothing",
                "needs hence, never or open",
            ));
        }
        self.expectations.push(Expectation {
            name: item.name.text.clone(),
            assume,
            claims,
            span: item.name.span,
        });
    }
}

/// Where a pattern stands, which decides what its variables may do.
#[derive(Clone, Copy)]
enum PatternPlace<'a> {
    Given,
    Unless,
    Hence,
    /// Members of an aggregate, with the variable that runs over them.
    Members(Option<&'a str>),
    Assume,
    Claim,
}
