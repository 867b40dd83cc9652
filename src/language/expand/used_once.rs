//! Variables that stand only once in a whole ladder, which is usually a slip.

use super::super::diagnostic::Diagnostic;
use super::super::source::Span;
use super::super::tree::*;
use super::Expander;
use std::collections::HashSet;

impl Expander<'_> {
    /// Reports variables that stand only once in the whole ladder: in its single rungs one may be unused.
    pub(super) fn once(&mut self, item: &LadderItem) {
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
