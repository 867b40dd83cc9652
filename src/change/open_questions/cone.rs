//! The open facts behind some others and the questions at their ends, walked once for all of them.

use super::place::QuestionPlace;
use crate::change::session::Session;
use crate::engine::{Derivation, FactId, Ground, Instance, Met, Status};
use crate::language::Origin;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What open facts rest on, as far as that is open.
pub(super) struct DependencyCone {
    /// The facts, those that were asked about first.
    facts: Vec<FactId>,
    numbers: HashMap<FactId, usize>,
    /// For each fact, those that rest on it.
    above: Vec<Vec<usize>>,
    /// The unanswered questions, with their facts.
    questions: BTreeMap<QuestionPlace, Vec<usize>>,
}

impl DependencyCone {
    /// Walks down from some facts.
    pub fn of(
        session: &Session<'_>,
        derivation: &Derivation<'_>,
        roots: impl IntoIterator<Item = FactId>,
    ) -> DependencyCone {
        let mut cone = DependencyCone {
            facts: Vec::new(),
            numbers: HashMap::new(),
            above: Vec::new(),
            questions: BTreeMap::new(),
        };
        roots.into_iter().for_each(|root| {
            cone.number(derivation, root);
        });
        let mut at = 0;
        while let Some(fact) = cone.facts.get(at).copied() {
            let mut below = Vec::new();
            for ground in derivation.grounds(fact) {
                match ground {
                    Ground::Table(_) | Ground::Given(_) => {}
                    Ground::Unanswered => {
                        if let Some(place) = QuestionPlace::of(session, derivation, fact) {
                            cone.questions.entry(place).or_default().push(at);
                        }
                        // Where it is not even known whether the question comes up, it hangs on what that hangs on.
                        below.extend(subjects(derivation, fact));
                    }
                    Ground::Computed { premises } => below.extend(premises),
                    Ground::Finding(instance) => below.extend(consulted(derivation, &instance)),
                }
            }
            for fact in below {
                if let Some(number) = cone.number(derivation, fact)
                    && !cone.above[number].contains(&at)
                {
                    cone.above[number].push(at);
                }
            }
            at += 1;
        }
        cone
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
    pub fn questions(&self) -> impl Iterator<Item = &QuestionPlace> {
        self.questions.keys()
    }

    /// The open facts that hang on the answer to a question.
    pub fn hanging_on(&self, place: &QuestionPlace) -> BTreeSet<FactId> {
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
pub(super) fn consulted(derivation: &Derivation<'_>, instance: &Instance) -> Vec<FactId> {
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
