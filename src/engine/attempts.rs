//! How far findings came towards a fact that is not there: for each finding that could have given it, the premises that
//! were met and those that were not. What a reader is shown of it is decided elsewhere.

use super::bind::{term_of, values};
use super::derivation::{Derivation, FactId};
use super::evaluate::{Outcome, Truth, decide, evaluate};
use super::lookup::{Lookup, agree};
use super::plan::{FindingPlan, Given, Hence, Sentence};
use super::terms::{Cell, Overlay, UNKNOWN};
use crate::language::{Condition, FindingId, Pattern, RelationId, Term};
use std::ops::ControlFlow;

/// A finding that could have given a fact and did not.
#[derive(Clone, PartialEq, Debug)]
pub struct Attempt {
    /// The finding.
    pub finding: FindingId,
    /// The value of each variable that the conclusion or a met premise gives one; `None` for the others.
    pub bindings: Vec<Option<Cell>>,
    /// The facts of the `given` premises before the first that fails, in the order of the text.
    pub premises: Vec<FactId>,
    /// The premises that fail under these values. Every premise before the first of them is met.
    pub failures: Vec<AttemptFailure>,
}

/// A premise that is not met.
#[derive(Clone, PartialEq, Debug)]
pub struct AttemptFailure {
    /// Its place among the finding's premises.
    pub premise: usize,
    /// In which way it fails.
    pub lacks: Lack,
}

/// In which way a premise fails.
#[derive(Clone, PartialEq, Debug)]
pub enum Lack {
    /// A `given` for which there is no fact.
    Fact {
        /// The relation.
        relation: RelationId,
        /// What was looked for in each role; `None` stands for anything.
        sought: Vec<Option<Cell>>,
    },
    /// An `unless` that this fact meets.
    Blocked(FactId),
    /// A `where` that does not hold.
    Condition {
        /// How far two compared numbers are apart, as a share of the larger; `None` where words are compared.
        gap: Option<f64>,
    },
    /// A `let` that has no value (`None`), or another than the conclusion asks for.
    Value(Option<Cell>),
}

/// A search that looked at this many rows ends with what it has: the bindings it gives are met, if not the farthest.
const MOST_ROWS: usize = 400_000;

impl Derivation<'_> {
    /// How far each finding came that could give a fact of this pattern, in the order of the findings. A finding that
    /// gives such a fact, or could still give it once a question is answered, is not among them.
    pub fn attempts(&self, pattern: &Pattern) -> Vec<Attempt> {
        let plans = self.program.compiled.findings.iter().enumerate();
        plans
            .flat_map(|(at, plan)| {
                let hence = plan.hence.iter().filter(|hence| hence.relation == pattern.relation.index());
                hence.filter_map(move |hence| self.attempt(FindingId::new(at), plan, hence, pattern))
            })
            .collect()
    }

    fn attempt(
        &self,
        finding: FindingId,
        plan: &FindingPlan<'_>,
        hence: &Hence,
        pattern: &Pattern,
    ) -> Option<Attempt> {
        let mut search = AttemptSearch::new(self, plan);
        search.conclude(hence, pattern)?;
        if search.go(0) == Way::Through {
            return None;
        }
        let mut best = search.best.take()?;
        search.state = best.state;
        let at = best.first.premise;
        let mut failures = vec![best.first];
        for behind in at + 1..plan.premises.len() {
            failures.extend(search.beside(behind).map(|lacks| AttemptFailure { premise: behind, lacks }));
        }
        best.givens.truncate(best.met);
        Some(Attempt { finding, bindings: search.bindings(), premises: best.givens, failures })
    }
}

/// Whether a search found a way through all premises.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Way {
    Through,
    Stopped,
    Barred,
}

/// Values of variables, and which of them have one. A bound variable may be unknown.
#[derive(Clone)]
struct State {
    registers: Vec<u32>,
    bound: Vec<bool>,
}

/// The farthest that a search came.
struct Best {
    state: State,
    first: AttemptFailure,
    givens: Vec<FactId>,
    met: usize,
    gap: f64,
}

struct AttemptSearch<'a, 'r> {
    derivation: &'a Derivation<'r>,
    plan: &'a FindingPlan<'r>,
    terms: Overlay<'a>,
    state: State,
    givens: Vec<FactId>,
    visited: usize,
    best: Option<Best>,
}

impl<'a, 'r> AttemptSearch<'a, 'r> {
    fn new(derivation: &'a Derivation<'r>, plan: &'a FindingPlan<'r>) -> Self {
        let mut state =
            State { registers: vec![UNKNOWN; plan.registers], bound: vec![false; plan.registers] };
        for (register, at) in &plan.constants {
            state.registers[*register] = derivation.finished.constants[*at];
            state.bound[*register] = true;
        }
        let terms = Overlay::new(&derivation.finished.pool);
        AttemptSearch { derivation, plan, terms, state, givens: Vec::new(), visited: 0, best: None }
    }

    /// Gives the conclusion's variables the pattern's values; `None` where the finding concludes otherwise.
    fn conclude(&mut self, hence: &Hence, pattern: &Pattern) -> Option<()> {
        for (register, term) in hence.registers.iter().zip(&pattern.terms) {
            let Term::Constant(value) = term else { continue };
            let term = self.terms.intern(value);
            if self.state.bound[*register] && self.state.registers[*register] != term {
                return None;
            }
            self.state.registers[*register] = term;
            self.state.bound[*register] = true;
        }
        Some(())
    }

    fn bindings(&self) -> Vec<Option<Cell>> {
        let variables = self.plan.bindable.len();
        let bound = self.state.bound.iter().zip(&self.state.registers).take(variables);
        bound.map(|(bound, term)| bound.then(|| self.terms.cell(*term))).collect()
    }

    /// Goes on at a premise with the values as they are.
    fn go(&mut self, at: usize) -> Way {
        let plan = self.plan;
        match plan.premises.get(at) {
            None => self.judged_again(),
            Some(Sentence::Given(slot)) => self.given(at, &plan.givens[*slot]),
            Some(Sentence::Let { register, .. } | Sentence::Fold { register, .. }) => {
                let before = (self.state.registers[*register], self.state.bound[*register]);
                let way = match self.check(at) {
                    Some(lacks) => self.failed(at, lacks),
                    None => self.go(at + 1),
                };
                (self.state.registers[*register], self.state.bound[*register]) = before;
                way
            }
            Some(Sentence::Unless(_) | Sentence::Where(_)) => match self.check(at) {
                Some(lacks) => self.failed(at, lacks),
                None => self.go(at + 1),
            },
        }
    }

    /// At the end of a way every check is made once more: a later `given` may have supplied what an earlier one left unknown.
    fn judged_again(&mut self) -> Way {
        let before = self.state.clone();
        for at in 0..self.plan.premises.len() {
            if let Some(lacks) = self.check(at) {
                self.failed(at, lacks);
                self.state = before;
                return Way::Barred;
            }
        }
        self.state = before;
        Way::Through
    }

    fn given(&mut self, at: usize, given: &Given) -> Way {
        let rows = &self.derivation.finished.rows[given.relation];
        let mut any = false;
        for row in 0..rows.count() {
            self.visited += 1;
            if self.visited > MOST_ROWS {
                return Way::Stopped;
            }
            let Some(changed) = self.meet(given, row) else { continue };
            any = true;
            self.givens.push(FactId { relation: RelationId::new(given.relation), row });
            let way = self.go(at + 1);
            self.givens.pop();
            self.undo(changed);
            if way != Way::Barred {
                return way;
            }
        }
        if any { Way::Barred } else { self.failed(at, self.no_fact(given)) }
    }

    /// Takes a row for a `given` and gives back which registers had what before; `None` where it does not fit.
    fn meet(&mut self, given: &Given, row: u32) -> Option<Vec<(usize, u32, bool)>> {
        let rows = &self.derivation.finished.rows[given.relation];
        let mut changed = Vec::new();
        for term in &given.terms {
            let cell = rows.cell(row, term.column);
            let (held, bound) = (self.state.registers[term.register], self.state.bound[term.register]);
            if bound && agree(held, cell).is_none() {
                self.undo(changed);
                return None;
            }
            if !bound || held == UNKNOWN {
                changed.push((term.register, held, bound));
                self.state.registers[term.register] = cell;
                self.state.bound[term.register] = true;
            }
        }
        Some(changed)
    }

    fn undo(&mut self, changed: Vec<(usize, u32, bool)>) {
        for (register, held, bound) in changed.into_iter().rev() {
            self.state.registers[register] = held;
            self.state.bound[register] = bound;
        }
    }

    /// Why a premise that is no `given` fails, if it does; a `let` leaves its value behind.
    fn check(&mut self, at: usize) -> Option<Lack> {
        let plan = self.plan;
        let compiled = &self.derivation.program.compiled;
        let curves = &compiled.rulebook.curves;
        let rows = &self.derivation.finished.rows;
        match plan.premises.get(at)? {
            Sentence::Given(_) => None,
            Sentence::Unless(lookup) => self.blocking(lookup).map(Lack::Blocked),
            Sentence::Let { register, formula } => {
                let outcome = evaluate(formula, curves, &values(&self.state.registers, &self.terms));
                self.value(*register, outcome)
            }
            Sentence::Fold { register, fold } => {
                let outcome = fold.value(&rows[fold.members.relation], &self.state.registers, &self.terms);
                self.value(*register, outcome)
            }
            Sentence::Where(condition) => {
                let value = values(&self.state.registers, &self.terms);
                let fails = decide(condition, curves, &value) == Truth::Fails;
                fails.then(|| {
                    let Condition::Compare { left, right, .. } = condition else {
                        return Lack::Condition { gap: None };
                    };
                    let sides = (evaluate(left, curves, &value), evaluate(right, curves, &value));
                    Lack::Condition { gap: apart(sides) }
                })
            }
        }
    }

    fn value(&mut self, register: usize, outcome: Outcome) -> Option<Lack> {
        let Some(term) = term_of(outcome, &mut self.terms) else { return Some(Lack::Value(None)) };
        let held = self.state.registers[register];
        if self.state.bound[register] && agree(held, term).is_none() {
            return Some(Lack::Value(Some(self.terms.cell(term))));
        }
        if !self.state.bound[register] || held == UNKNOWN {
            self.state.registers[register] = term;
            self.state.bound[register] = true;
        }
        None
    }

    /// A known fact that meets an `unless`.
    fn blocking(&self, lookup: &Lookup) -> Option<FactId> {
        let rows = &self.derivation.finished.rows[lookup.relation];
        let mut found = None;
        lookup.visit(rows, &self.state.registers, |row, exact| {
            if exact && rows.is_known(row) {
                found = Some(FactId { relation: RelationId::new(lookup.relation), row });
                return ControlFlow::Break(());
            }
            ControlFlow::Continue(())
        });
        found
    }

    fn no_fact(&self, given: &Given) -> Lack {
        let roles = self.derivation.rulebook().relations[given.relation].roles.len();
        let mut sought = vec![None; roles];
        for term in given.terms.iter().filter(|term| self.state.bound[term.register]) {
            sought[term.column] = Some(self.terms.cell(self.state.registers[term.register]));
        }
        Lack::Fact { relation: RelationId::new(given.relation), sought }
    }

    /// Notes a failure where none was farther, or none as far was nearer.
    fn failed(&mut self, at: usize, lacks: Lack) -> Way {
        let gap = match &lacks {
            Lack::Condition { gap: Some(gap) } => *gap,
            _ => f64::INFINITY,
        };
        let better = self
            .best
            .as_ref()
            .is_none_or(|best| at > best.first.premise || at == best.first.premise && gap < best.gap);
        if better {
            let is_given = |sentence: &&Sentence<'_>| matches!(sentence, Sentence::Given(_));
            self.best = Some(Best {
                state: self.state.clone(),
                first: AttemptFailure { premise: at, lacks },
                givens: self.givens.clone(),
                met: self.plan.premises[..at].iter().filter(is_given).count(),
                gap,
            });
        }
        Way::Barred
    }

    /// Whether a premise behind the first failure fails as well, as far as its variables have values. A `given` that one
    /// row alone meets gives its variables theirs.
    fn beside(&mut self, at: usize) -> Option<Lack> {
        let plan = self.plan;
        let Sentence::Given(slot) = &plan.premises[at] else {
            let ready = plan.premises[at].needs().iter().all(|register| self.state.bound[*register]);
            return if ready { self.check(at) } else { None };
        };
        let given = &plan.givens[*slot];
        let mut fits = Vec::new();
        for row in 0..self.derivation.finished.rows[given.relation].count() {
            if let Some(changed) = self.meet(given, row) {
                self.undo(changed);
                fits.push(row);
                if fits.len() > 1 {
                    return None;
                }
            }
        }
        match fits.first() {
            None => Some(self.no_fact(given)),
            Some(row) => {
                self.meet(given, *row);
                None
            }
        }
    }
}

/// How far two numbers are apart, as a share of the larger.
fn apart(sides: (Outcome, Outcome)) -> Option<f64> {
    let (Outcome::Value(left), Outcome::Value(right)) = sides else { return None };
    let larger = left.base.abs().max(right.base.abs());
    Some(if larger > 0.0 { (left.base - right.base).abs() / larger } else { 0.0 })
}

#[cfg(test)]
mod tests;
