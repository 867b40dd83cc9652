//! The open facts behind some others and the questions at their ends, walked once for all of them.

use super::place::Place;
use super::trial::Trials;
use crate::engine::{Derivation, FactId, Ground, Instance, Met, Status};
use crate::language::Origin;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What open facts rest on, as far as that is open.
pub(super) struct Web {
    /// The facts, those that were asked about first.
    facts: Vec<FactId>,
    numbers: HashMap<FactId, usize>,
    /// For each fact, those that rest on it.
    above: Vec<Vec<usize>>,
    /// The unanswered questions, with their facts.
    questions: BTreeMap<Place, Vec<usize>>,
}

impl Web {
    /// Walks down from some facts.
    pub fn of(
        trials: Trials<'_, '_>,
        derivation: &Derivation<'_>,
        roots: impl IntoIterator<Item = FactId>,
    ) -> Web {
        let mut web =
            Web { facts: Vec::new(), numbers: HashMap::new(), above: Vec::new(), questions: BTreeMap::new() };
        roots.into_iter().for_each(|root| {
            web.number(derivation, root);
        });
        let mut at = 0;
        while let Some(fact) = web.facts.get(at).copied() {
            let mut below = Vec::new();
            for ground in derivation.grounds(fact) {
                match ground {
                    Ground::Table(_) | Ground::Given(_) => {}
                    Ground::Unanswered => {
                        if let Some(place) = Place::of(trials.session, derivation, fact) {
                            web.questions.entry(place).or_default().push(at);
                        }
                        // Where it is not even known whether the question comes up, it hangs on what that hangs on.
                        below.extend(subjects(derivation, fact));
                    }
                    Ground::Computed { premises } => below.extend(premises),
                    Ground::Finding(instance) => below.extend(looked_at(derivation, &instance)),
                }
            }
            for fact in below {
                if let Some(number) = web.number(derivation, fact)
                    && !web.above[number].contains(&at)
                {
                    web.above[number].push(at);
                }
            }
            at += 1;
        }
        web
    }

    /// The number of an open fact.
    fn number(&mut self, derivation: &Derivation<'_>, fact: FactId) -> Option<usize> {
        if derivation.status(fact) == Status::Known {
            return None;
        }
        Some(*self.numbers.entry(fact).or_insert_with(|| {
            self.facts.push(fact);
            self.above.push(Vec::new());
            self.facts.len() - 1
        }))
    }

    /// Every unanswered question in it.
    pub fn questions(&self) -> impl Iterator<Item = &Place> {
        self.questions.keys()
    }

    /// The open facts that hang on the answer to a question.
    pub fn hanging_on(&self, place: &Place) -> BTreeSet<FactId> {
        let mut waiting = self.questions.get(place).cloned().unwrap_or_default();
        let mut seen: BTreeSet<usize> = BTreeSet::new();
        while let Some(fact) = waiting.pop() {
            if seen.insert(fact) {
                waiting.extend(&self.above[fact]);
            }
        }
        seen.into_iter().map(|number| self.facts[number]).collect()
    }
}

/// The facts that an instance of a finding rests on or looked at.
pub(super) fn looked_at(derivation: &Derivation<'_>, instance: &Instance) -> Vec<FactId> {
    let facts = derivation.premises(instance).into_iter().flat_map(|met| match met {
        Met::Given(fact) => vec![fact],
        Met::Unless { open, .. } => open,
        Met::Aggregate { members, .. } => members,
        Met::Let { .. } | Met::Where(_) => Vec::new(),
    });
    facts.collect()
}

/// The facts about which a question is asked.
pub(super) fn subjects(derivation: &Derivation<'_>, question: FactId) -> Vec<FactId> {
    let relation = &derivation.rulebook().relations[question.relation.index()];
    let Origin::Question(asked) = &relation.origin else { return Vec::new() };
    let about = |subject: &FactId| {
        let mut roles = asked.filled_by.iter().enumerate();
        roles.all(|(role, of)| derivation.term(*subject, *of) == derivation.term(question, role))
    };
    derivation.facts(asked.subject).filter(about).collect()
}
