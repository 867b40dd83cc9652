//! Findings and expectations: variables, their types, and the order in which premises can be looked at.

use super::super::diagnostic::{Diagnostic, nearest};
use super::super::rulebook::*;
use super::super::tree::*;
use super::checker::*;
use super::declarations::no_authority;
use super::patterns::PatternPlace;
use super::scope::{Scope, in_order, variables_of};
use crate::quantity::Dimension;

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
}
