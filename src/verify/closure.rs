//! Every way in which a finding applies to the recorded facts, found by the checker's own search. What it finds is compared
//! with the record elsewhere.

use super::apply::{Judged, judge, meet, unify};
use super::facts::Facts;
use super::shapes::{AskedPremise, FindingShape};
use super::terms::{Term, Terms};
use std::collections::BTreeMap;

/// The applications of a finding that hold, by the facts of its `given` premises; one more than `most` at most.
pub(super) fn applications(
    facts: &Facts<'_>,
    terms: &mut Terms,
    shape: &FindingShape<'_>,
    most: usize,
) -> BTreeMap<Vec<usize>, Judged> {
    let mut search = ClosureSearch { facts, terms, shape, most, givens: Vec::new(), found: BTreeMap::new() };
    search.from(0, &vec![None; shape.finding.variables.len()]);
    search.found
}

struct ClosureSearch<'s, 'r> {
    facts: &'s Facts<'r>,
    terms: &'s mut Terms,
    shape: &'s FindingShape<'r>,
    most: usize,
    givens: Vec<usize>,
    found: BTreeMap<Vec<usize>, Judged>,
}

impl ClosureSearch<'_, '_> {
    /// Goes on from a premise with what the ones before it bound. Premises stand behind those that bind their variables, so
    /// that one that fails here fails whatever follows: what is still unknown never decides.
    fn from(&mut self, at: usize, bindings: &[Option<Term>]) {
        if self.facts.effort.is_spent() || self.found.len() > self.most {
            return;
        }
        match self.shape.premises.get(at) {
            None => {
                if let Ok(judged) = judge(self.facts, self.terms, self.shape, &self.givens) {
                    self.found.insert(self.givens.clone(), judged);
                }
            }
            Some(AskedPremise::Given(given)) => {
                for fact in self.facts.candidates(given, bindings) {
                    let mut bindings = bindings.to_vec();
                    if unify(self.facts, given, fact, &mut bindings).is_some() {
                        self.givens.push(fact);
                        self.from(at + 1, &bindings);
                        self.givens.pop();
                    }
                }
            }
            Some(other) => {
                let mut bindings = bindings.to_vec();
                if meet(self.facts, self.terms, other, &mut bindings).is_ok() {
                    self.from(at + 1, &bindings);
                }
            }
        }
    }
}
