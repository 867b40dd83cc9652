//! Arguments that stand for several words: "or" in a premise, "and" or "or" in what an expectation says.

use super::super::diagnostic::Diagnostic;
use super::super::source::Span;
use super::super::tree::*;
use super::Expander;

impl Expander<'_> {
    /// A finding's clauses with every choice written out: a `given` whose argument is bound and then compared, one `unless` for
    /// each word.
    pub(super) fn without_choices(&mut self, clauses: Vec<Clause>) -> Vec<Clause> {
        let mut plain = Vec::with_capacity(clauses.len());
        for clause in clauses {
            match clause {
                Clause::Given(pattern) if !pattern.choices.is_empty() => self.given(pattern, &mut plain),
                Clause::Unless(pattern) if !pattern.choices.is_empty() => {
                    let each = self.each(pattern, false).into_iter();
                    plain.extend(each.map(Clause::Unless));
                }
                Clause::Hence(pattern) if self.wavers(&pattern) => {}
                other => plain.push(other),
            }
        }
        plain
    }

    /// Reports a conclusion that leaves a choice.
    pub(super) fn wavers(&mut self, pattern: &PatternItem) -> bool {
        let Some(choice) = pattern.choices.first() else { return false };
        let diagnostic =
            Diagnostic::new(choice.others[0].span, "a conclusion may not waver", "a second word here");
        self.report(diagnostic.help("write a `hence` line for each"));
        true
    }

    fn given(&mut self, mut pattern: PatternItem, plain: &mut Vec<Clause>) {
        let mut conditions = Vec::new();
        for choice in std::mem::take(&mut pattern.choices) {
            if choice.all {
                self.mixed(choice.others[0].span, "or");
            }
            let first = pattern.arguments[choice.argument].1.clone();
            let last = choice.others.last().map_or(first.span, |word| word.span);
            let span = Span { end: last.end, ..first.span };
            // No variable of a rulebook has such a name: it begins with a small letter. The checker knows it by that.
            let name = format!("one-of-{}", span.start);
            let variable = Written { text: name, quoted: false, span };
            let among = std::iter::once(first).chain(choice.others).collect();
            pattern.arguments[choice.argument].1 = variable.clone();
            let condition = ConditionItem::Among { left: variable, among, negated: false };
            conditions.push(Clause::Where { condition, span });
        }
        plain.push(Clause::Given(pattern));
        plain.append(&mut conditions);
    }

    /// The patterns that a pattern with choices stands for; the words are joined by "and" where `all`.
    pub(super) fn each(&mut self, mut pattern: PatternItem, all: bool) -> Vec<PatternItem> {
        let choices = std::mem::take(&mut pattern.choices);
        let mut patterns = vec![pattern];
        for choice in choices {
            if choice.all != all {
                self.mixed(choice.others[0].span, if all { "and" } else { "or" });
            }
            let further: Vec<PatternItem> = patterns
                .iter()
                .flat_map(|pattern| {
                    choice.others.iter().map(|word| {
                        let mut other = pattern.clone();
                        other.arguments[choice.argument].1 = word.clone();
                        other
                    })
                })
                .collect();
            patterns.extend(further);
        }
        patterns
    }

    fn mixed(&mut self, place: Span, right: &str) {
        let wrong = if right == "or" { "and" } else { "or" };
        let message = format!("words are joined by \"{right}\" here, not by \"{wrong}\"");
        self.report(Diagnostic::new(place, message, format!("joined by \"{wrong}\"")));
    }
}
