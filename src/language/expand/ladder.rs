//! A ladder: findings that share what stands above them and exclude each other. The first rung that fits decides, so that each
//! becomes a finding with its own condition and the denial of those above it.

use super::super::diagnostic::Diagnostic;
use super::super::rulebook::Comparison;
use super::super::source::Span;
use super::super::tree::*;
use super::ways::{Literal, borders, literal, opposite, ways};
use super::{Expander, figure};
use crate::quantity::Quantity;
use std::collections::HashSet;

/// Everything above a rung that is said for all of them.
#[derive(Default)]
struct Above {
    clauses: Vec<Clause>,
    hence: Vec<PatternItem>,
    says: Option<Written>,
    cites: Vec<CiteItem>,
    /// Variables that the premises bind.
    bound: HashSet<String>,
}

impl Expander<'_> {
    pub(super) fn ladder(&mut self, item: LadderItem) {
        self.once(&item);
        let mut above = Above::default();
        let mut passed: Vec<Vec<Literal>> = Vec::new();
        let mut closed: Option<Span> = None;
        for part in item.parts {
            match part {
                LadderPart::Clause(Clause::Hence(pattern)) => {
                    if !self.wavers(&pattern) {
                        above.hence.push(pattern);
                    }
                }
                LadderPart::Clause(clause) => {
                    for clause in self.without_choices(vec![clause]) {
                        self.bind(&clause, &mut above.bound);
                        above.clauses.push(clause);
                    }
                }
                LadderPart::Says(says) => above.says = Some(says),
                LadderPart::Cite(cite) => above.cites.push(cite),
                LadderPart::Rung(rung) => {
                    if let Some(last) = closed {
                        self.report(
                            Diagnostic::new(rung.name.span, "no case is left for this rung", "never reached")
                                .also(last, "this one takes the rest"),
                        );
                        continue;
                    }
                    for pattern in &rung.hence {
                        self.wavers(pattern);
                    }
                    let tests: Vec<Literal> =
                        rung.tests.iter().map(|test| literal(test, item.on.as_ref())).collect();
                    self.check_borders(&rung, &tests, &passed);
                    if tests.is_empty() {
                        closed = Some(rung.name.span);
                    }
                    self.rung(&item.id, rung, &tests, &passed, &above);
                    passed.push(tests);
                }
            }
        }
        if closed.is_none() {
            let message = format!("the ladder \"{}\" leaves cases unsaid", item.id.text);
            self.report(Diagnostic::new(item.id.span, message, "no rung takes the rest").help(
                "end with a rung that is `otherwise` (or `above`, `below`); with \": nothing\" it concludes nothing on purpose",
            ));
        }
    }

    /// Writes out a rung.
    fn rung(&mut self, id: &Written, rung: Rung, tests: &[Literal], passed: &[Vec<Literal>], above: &Above) {
        let Some(values) = &rung.values else { return };
        let ways = ways(tests, passed);
        if ways.is_empty() {
            let message = format!("\"rung {}\" is never reached", rung.name.text);
            return self.report(Diagnostic::new(rung.span, message, "the rungs above it take every case"));
        }
        let mut bound = above.bound.clone();
        for test in tests.iter().filter(|test| !test.denied) {
            if let TestKind::Given(pattern) = &test.test.kind {
                self.bind(&Clause::Given(pattern.clone()), &mut bound);
            }
        }
        let mut hence: Vec<PatternItem> = above.hence.iter().chain(&rung.hence).cloned().collect();
        let Some((words, formulas)) = self.values(&rung, values, &hence, &bound) else { return };
        for pattern in &mut hence {
            for (_, written) in &mut pattern.arguments {
                if let Some((_, word)) =
                    words.iter().find(|(name, _)| !written.quoted && *name == written.text)
                {
                    *written = word.clone();
                }
            }
        }
        let says = sentence(&rung, above);
        let (lower, upper) = borders(tests, passed);
        for (number, way) in ways.into_iter().enumerate() {
            let mut clauses = above.clauses.clone();
            let mut says = says.clone();
            for (slot, border) in [("lower", &lower), ("upper", &upper)] {
                let Some(says) = says.as_mut().filter(|says| says.text.contains(&format!("{{{slot}}}")))
                else {
                    continue;
                };
                let Some(border) = border else {
                    let message = format!("\"rung {}\" has no {slot} border", rung.name.text);
                    self.report(Diagnostic::new(
                        says.span,
                        message,
                        format!("{{{slot}}} stands for nothing"),
                    ));
                    continue;
                };
                match border {
                    ExpressionItem::Value(name) => {
                        says.text = says.text.replace(&format!("{{{slot}}}"), &format!("{{{}}}", name.text));
                    }
                    other => {
                        let span = other.span();
                        let variable = Written { text: slot.to_owned(), quoted: false, span };
                        let value = LetValue::Formula(other.clone());
                        clauses.push(Clause::Let { variable, value, span });
                    }
                }
            }
            for literal in way {
                clauses.extend(self.clauses(literal, &above.bound));
            }
            for (name, formula, span) in &formulas {
                let variable = Written { text: name.clone(), quoted: false, span: *span };
                let value = LetValue::Formula(formula.clone());
                clauses.push(Clause::Let { variable, value, span: *span });
            }
            clauses.extend(hence.iter().cloned().map(Clause::Hence));
            if let Some(says) = &mut says {
                for (name, word) in &words {
                    if !self.is_variable(word) {
                        says.text = says.text.replace(&format!("{{{name}}}"), &word.text);
                    }
                }
            }
            let mut id = Written { text: format!("{}.{}", id.text, rung.name.text), ..rung.name.clone() };
            if number > 0 {
                id.text = format!("{}.or-{}", id.text, number + 1);
            }
            let cites = rung.cites.iter().chain(&above.cites).cloned().collect();
            self.plain.push(Item::Finding(FindingItem { id, says, cites, clauses, form: Form::Rung }));
        }
    }

    /// What the values behind a rung's colon stand for: the variables of its conclusions that nothing binds, in their order; words
    /// and formulas apart.
    #[allow(clippy::type_complexity)]
    fn values(
        &mut self,
        rung: &Rung,
        values: &[RungValue],
        hence: &[PatternItem],
        bound: &HashSet<String>,
    ) -> Option<(Vec<(String, Written)>, Vec<(String, ExpressionItem, Span)>)> {
        let mut open: Vec<String> = Vec::new();
        for (_, written) in hence.iter().flat_map(|pattern| &pattern.arguments) {
            let name = &written.text;
            if self.is_variable(written) && !bound.contains(name) && !open.contains(name) {
                open.push(name.clone());
            }
        }
        if open.len() != values.len() {
            let message = format!(
                "\"rung {}\" gives {}, and its conclusions leave open {}",
                rung.name.text,
                match values.len() {
                    0 => "no value".to_owned(),
                    1 => "one value".to_owned(),
                    many => format!("{many} values"),
                },
                if open.is_empty() { "none".to_owned() } else { open.join(", ") }
            );
            self.report(Diagnostic::new(rung.name.span, message, "this rung"));
            return None;
        }
        let (mut words, mut formulas) = (Vec::new(), Vec::new());
        for (name, value) in open.into_iter().zip(values) {
            match value {
                RungValue::Term(word) => words.push((name, word.clone())),
                RungValue::Formula(formula, span) => formulas.push((name, formula.clone(), *span)),
            }
        }
        Some((words, formulas))
    }

    /// A condition as clauses; what a denied `given` would bind stands for anything.
    fn clauses(&mut self, literal: Literal, bound: &HashSet<String>) -> Vec<Clause> {
        let span = literal.test.span;
        let clause = match (literal.test.kind, literal.denied) {
            (TestKind::Given(pattern), false) => Clause::Given(pattern),
            (TestKind::Unless(pattern), false) => Clause::Unless(pattern),
            (TestKind::Given(mut pattern), true) => {
                for (_, written) in &mut pattern.arguments {
                    if self.is_variable(written) && !bound.contains(&written.text) {
                        "_".clone_into(&mut written.text);
                    }
                }
                Clause::Unless(pattern)
            }
            (TestKind::Unless(pattern), true) => Clause::Given(pattern),
            (TestKind::Border { of, holds, border }, denied) => {
                let Some(of) = of else { return Vec::new() };
                let comparison = if denied { opposite(holds) } else { holds };
                let left = ExpressionItem::Variable(of);
                let condition = ConditionItem::Compare { left, comparison, right: border };
                Clause::Where { condition, span }
            }
            (TestKind::Is { left, among }, denied) => {
                let condition = ConditionItem::Among { left, among, negated: denied };
                Clause::Where { condition, span }
            }
        };
        self.without_choices(vec![clause])
    }

    /// Reports a border that stands on the wrong side of the one above it.
    fn check_borders(&mut self, rung: &Rung, tests: &[Literal], passed: &[Vec<Literal>]) {
        let [Literal { test: Test { kind: TestKind::Border { of, holds, border }, span }, .. }] = tests
        else {
            if rung.tests.iter().any(|test| matches!(&test.kind, TestKind::Border { of: None, .. }))
                && tests.iter().any(|literal| matches!(&literal.test.kind, TestKind::Border { of: None, .. }))
            {
                self.no_subject(rung);
            }
            return;
        };
        let Some(of) = of else { return self.no_subject(rung) };
        let Some(value) = self.figure(border) else { return };
        for earlier in passed.iter().rev() {
            let [
                Literal {
                    test: Test { kind: TestKind::Border { of: same, holds: way, border }, span: first },
                    ..
                },
            ] = earlier.as_slice()
            else {
                continue;
            };
            let alike = same.as_ref().is_some_and(|same| same.text == of.text) && way == holds;
            let Some(before) =
                self.figure(border).filter(|before| alike && before.dimension == value.dimension)
            else {
                continue;
            };
            let rising = matches!(holds, Comparison::AtMost | Comparison::Less);
            if if rising { value.base <= before.base } else { value.base >= before.base } {
                let side = if rising { "below" } else { "above" };
                let message = format!("no value reaches \"rung {}\"", rung.name.text);
                let label = format!("ends {side} the border of the rung above it");
                self.report(Diagnostic::new(*span, message, label).also(*first, "the rung above"));
            }
            return;
        }
    }

    fn figure(&self, border: &ExpressionItem) -> Option<Quantity> {
        match border {
            ExpressionItem::Value(name) => self.values.get(&name.text).copied(),
            other => figure(other),
        }
    }

    fn no_subject(&mut self, rung: &Rung) {
        let message = "this border is of nothing";
        self.report(Diagnostic::new(rung.span, message, "which number?").help(
            "write the variable in front of it, or `on` and the variable behind the name of the ladder",
        ));
    }

    fn bind(&self, clause: &Clause, bound: &mut HashSet<String>) {
        match clause {
            Clause::Given(pattern) => {
                let terms = pattern.arguments.iter().map(|(_, written)| written);
                bound.extend(
                    terms.filter(|written| self.is_variable(written)).map(|written| written.text.clone()),
                );
            }
            Clause::Let { variable, .. } => drop(bound.insert(variable.text.clone())),
            _ => {}
        }
    }
}

/// A rung's sentence, with what the ladder says of all rungs behind it.
fn sentence(rung: &Rung, above: &Above) -> Option<Written> {
    match (&rung.says, &above.says) {
        (Some(own), Some(all)) => {
            let text = format!("{} {}", own.text, all.text);
            Some(Written { text, quoted: true, span: own.span })
        }
        (own, all) => own.clone().or_else(|| all.clone()),
    }
}
