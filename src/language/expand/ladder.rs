//! A ladder: findings that share what stands above them and exclude each other. The first rung that fits decides, so that each
//! becomes a finding with its own condition and the denial of those above it.

use super::super::diagnostic::Diagnostic;
use super::super::rulebook::Comparison;
use super::super::source::Span;
use super::super::tree::*;
use super::{Expander, figure};
use crate::quantity::Quantity;
use std::collections::HashSet;

/// A condition, and whether it is denied.
#[derive(Clone)]
struct Literal {
    test: Test,
    denied: bool,
    /// Conditions that say the same have the same key, whatever the place they stand in.
    key: String,
}

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
                LadderPart::Clause(Clause::Hence(pattern)) => above.hence.push(pattern),
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

    /// Reports variables that stand only once in the whole ladder: in its single rungs one may be unused.
    fn once(&mut self, item: &LadderItem) {
        let mut seen: Vec<(String, Span, usize)> = Vec::new();
        let mut see = |written: &Written| match seen.iter_mut().find(|(name, ..)| *name == written.text) {
            Some((_, _, count)) => *count += 1,
            None => seen.push((written.text.clone(), written.span, 1)),
        };
        let mut texts: Vec<&str> = Vec::new();
        item.on.iter().for_each(&mut see);
        for part in &item.parts {
            match part {
                LadderPart::Clause(clause) => clause_words(clause, &mut see),
                LadderPart::Says(says) => texts.push(&says.text),
                LadderPart::Cite(_) => {}
                LadderPart::Rung(rung) => {
                    texts.extend(rung.says.as_ref().map(|says| says.text.as_str()));
                    rung.hence.iter().for_each(|pattern| pattern_words(pattern, &mut see));
                    for test in &rung.tests {
                        match &test.kind {
                            TestKind::Given(pattern) | TestKind::Unless(pattern) => {
                                pattern_words(pattern, &mut see)
                            }
                            TestKind::Border { of, border, .. } => {
                                of.iter().for_each(&mut see);
                                formula_words(border, &mut see);
                            }
                            TestKind::Is { left, among } => {
                                std::iter::once(left).chain(among).for_each(&mut see)
                            }
                        }
                    }
                    for value in rung.values.iter().flatten() {
                        match value {
                            RungValue::Term(word) => see(word),
                            RungValue::Formula(formula, _) => formula_words(formula, &mut see),
                        }
                    }
                }
            }
        }
        // What the rungs give their values to stands in the conclusion alone.
        let concluded: HashSet<&str> = item
            .parts
            .iter()
            .flat_map(|part| match part {
                LadderPart::Clause(Clause::Hence(pattern)) => pattern.arguments.as_slice(),
                _ => &[],
            })
            .map(|(_, written)| written.text.as_str())
            .collect();
        for (name, span, count) in &seen {
            let written = Written { text: name.clone(), quoted: false, span: *span };
            let told = texts.iter().any(|text| text.contains(&format!("{{{name}}}")));
            if *count == 1 && !told && !concluded.contains(name.as_str()) && self.is_variable(&written) {
                let message = format!("\"{name}\" stands only once in this ladder");
                self.report(
                    Diagnostic::new(*span, message, "used once").help(
                        "write _ where it does not matter, or quotes around a name with a capital letter",
                    ),
                );
            }
        }
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

fn clause_words(clause: &Clause, see: &mut impl FnMut(&Written)) {
    match clause {
        Clause::Given(pattern) | Clause::Unless(pattern) | Clause::Hence(pattern) => {
            pattern_words(pattern, see)
        }
        Clause::Let { variable, value, .. } => {
            see(variable);
            match value {
                LetValue::Formula(formula) => formula_words(formula, see),
                LetValue::Either(first, second) => {
                    formula_words(first, see);
                    formula_words(second, see);
                }
                LetValue::Aggregate { over, members, .. } => {
                    over.iter().for_each(&mut *see);
                    pattern_words(members, see);
                }
            }
        }
        Clause::Where { condition: ConditionItem::Compare { left, right, .. }, .. } => {
            formula_words(left, see);
            formula_words(right, see);
        }
        Clause::Where { condition: ConditionItem::Among { left, among, .. }, .. } => {
            std::iter::once(left).chain(among).for_each(see);
        }
    }
}

fn pattern_words(pattern: &PatternItem, see: &mut impl FnMut(&Written)) {
    pattern.arguments.iter().for_each(|(_, written)| see(written));
}

fn formula_words(formula: &ExpressionItem, see: &mut impl FnMut(&Written)) {
    match formula {
        ExpressionItem::Number { .. } | ExpressionItem::Value(_) => {}
        ExpressionItem::Variable(name) => see(name),
        ExpressionItem::Negated(inner) => formula_words(inner, see),
        ExpressionItem::Binary { left, right, .. } => {
            formula_words(left, see);
            formula_words(right, see);
        }
        ExpressionItem::Call { arguments, .. } => {
            arguments.iter().for_each(|argument| formula_words(argument, see));
        }
    }
}

/// A test with the ladder's subject put in.
fn literal(test: &Test, on: Option<&Written>) -> Literal {
    let mut test = test.clone();
    let key = match &mut test.kind {
        TestKind::Given(pattern) => format!("given {}", pattern_key(pattern)),
        TestKind::Unless(pattern) => format!("unless {}", pattern_key(pattern)),
        TestKind::Border { of, holds, border } => {
            if of.is_none() {
                *of = on.cloned();
            }
            let of = of.as_ref().map_or("", |of| of.text.as_str());
            format!("{of} {holds:?} {}", formula_key(border))
        }
        TestKind::Is { left, among } => {
            let among: Vec<&str> = among.iter().map(|word| word.text.as_str()).collect();
            format!("{} is {}", left.text, among.join(" or "))
        }
    };
    Literal { test, denied: false, key }
}

fn pattern_key(pattern: &PatternItem) -> String {
    let argument = |(role, written): &(Option<Written>, Written)| {
        format!("{}: {}", role.as_ref().map_or("", |role| role.text.as_str()), written.text)
    };
    let arguments: Vec<String> = pattern.arguments.iter().map(argument).collect();
    let choices: Vec<&str> =
        pattern.choices.iter().flat_map(|choice| &choice.others).map(|word| word.text.as_str()).collect();
    format!("{}({}) {}", pattern.name.text, arguments.join(", "), choices.join(" or "))
}

fn formula_key(formula: &ExpressionItem) -> String {
    match formula {
        ExpressionItem::Number { number, unit, .. } => format!("{number} {}", unit.as_deref().unwrap_or("")),
        ExpressionItem::Variable(name) | ExpressionItem::Value(name) => name.text.clone(),
        ExpressionItem::Negated(inner) => format!("-({})", formula_key(inner)),
        ExpressionItem::Binary { operator, left, right } => {
            format!("({} {operator:?} {})", formula_key(left), formula_key(right))
        }
        ExpressionItem::Call { name, arguments, .. } => {
            let arguments: Vec<String> = arguments.iter().map(formula_key).collect();
            format!("{}({})", name.text, arguments.join(", "))
        }
    }
}

fn opposite(comparison: Comparison) -> Comparison {
    match comparison {
        Comparison::Less => Comparison::AtLeast,
        Comparison::AtMost => Comparison::More,
        Comparison::More => Comparison::AtMost,
        Comparison::AtLeast => Comparison::Less,
        Comparison::Equal => Comparison::Unequal,
        Comparison::Unequal => Comparison::Equal,
    }
}

/// In which ways a rung is reached: its own conditions, and of each rung above it one condition that does not hold, with those in
/// front of it that do.
fn ways(tests: &[Literal], passed: &[Vec<Literal>]) -> Vec<Vec<Literal>> {
    let mut ways: Vec<Vec<Literal>> = vec![Vec::new()];
    for (place, earlier) in passed.iter().enumerate() {
        if is_implied(earlier, &passed[place + 1..]) {
            continue;
        }
        let mut further = Vec::new();
        for way in &ways {
            for failing in 0..earlier.len() {
                let mut way = way.clone();
                way.extend(earlier[..failing].iter().cloned());
                way.push(Literal { denied: true, ..earlier[failing].clone() });
                further.push(way);
            }
        }
        ways = further;
    }
    ways.into_iter().filter_map(|way| consistent(way.into_iter().chain(tests.iter().cloned()))).collect()
}

/// Whether a rung with one border is denied by the denial of a later one on the same side: the last border counts.
fn is_implied(earlier: &[Literal], later: &[Vec<Literal>]) -> bool {
    let [Literal { test: Test { kind: TestKind::Border { of, holds, .. }, .. }, .. }] = earlier else {
        return false;
    };
    later.iter().any(|rung| match rung.as_slice() {
        [Literal { test: Test { kind: TestKind::Border { of: other, holds: way, .. }, .. }, .. }] => {
            let name = |of: &Option<Written>| of.as_ref().map(|of| of.text.clone());
            name(of) == name(other) && holds == way
        }
        _ => false,
    })
}

/// The conditions, each once; `None` where one of them is also denied.
fn consistent(literals: impl Iterator<Item = Literal>) -> Option<Vec<Literal>> {
    let mut kept: Vec<Literal> = Vec::new();
    for literal in literals {
        match kept.iter().find(|known| known.key == literal.key) {
            Some(known) if known.denied != literal.denied => return None,
            Some(_) => {}
            None => kept.push(literal),
        }
    }
    Some(kept)
}

/// The borders between which a rung lies: its own, and that of the rung above it.
fn borders(tests: &[Literal], passed: &[Vec<Literal>]) -> (Option<ExpressionItem>, Option<ExpressionItem>) {
    let border = |literals: &[Literal]| {
        literals.iter().find_map(|literal| match &literal.test.kind {
            TestKind::Border { holds, border, .. } => Some((*holds, border.clone())),
            _ => None,
        })
    };
    let own = border(tests);
    let before = passed.iter().rev().find_map(|rung| border(rung));
    let way = own.as_ref().or(before.as_ref()).map(|(holds, _)| *holds);
    let (own, before) = (own.map(|(_, border)| border), before.map(|(_, border)| border));
    match way {
        Some(Comparison::AtLeast | Comparison::More) => (own, before),
        _ => (before, own),
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
