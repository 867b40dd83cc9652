//! One joint of a job under supposed answers: which fillers it ends in, and which open questions those still hang on.

use super::cone::{DependencyCone, subjects};
use super::place::QuestionPlace;
use crate::change::session::{ChangeError, Session};
use crate::engine::{Derivation, FactId, GivenFact, Status};
use crate::job::Job;
use crate::language::{Type, Value};
use std::cell::Cell;
use std::sync::Arc;

/// The outcome at a joint.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct RecommendedThen {
    /// Recommended fillers, in the job's order.
    pub recommended: Vec<Arc<str>>,
    /// Fillers of which it is not known whether they are recommended.
    pub open: Vec<Arc<str>>,
}

impl RecommendedThen {
    /// Fillers that are recommended or may become so.
    pub fn possible(&self) -> Vec<Arc<str>> {
        self.recommended.iter().chain(&self.open).cloned().collect()
    }
}

/// At most so many derivations go into running through the words of several questions at one joint.
const MOST_CASES: usize = 150;

/// A job that is tried out with supposed answers.
#[derive(Clone, Copy)]
pub(super) struct JobWithAnswers<'s, 'r> {
    pub session: &'s Session<'r>,
    pub job: &'s Job,
}

impl<'r> JobWithAnswers<'_, 'r> {
    /// Everything that follows about a joint with these answers more.
    pub fn derived(&self, joint: &str, answers: &[GivenFact]) -> Result<Derivation<'r>, ChangeError> {
        Ok(self.session.at_joint(self.job, joint, answers, None, true)?)
    }

    /// The outcome at a joint with these answers more, where no other than these fillers can be recommended there, or
    /// any. What is settled without following any freezing is settled; where `quick` turns out false that is not tried again.
    pub fn outcome(
        &self,
        joint: &str,
        answers: &[GivenFact],
        fillers: Option<&[Arc<str>]>,
        quick: &Cell<bool>,
    ) -> Result<RecommendedThen, ChangeError> {
        let look = |freezing| -> Result<RecommendedThen, ChangeError> {
            let derivation = self.session.at_joint(self.job, joint, answers, fillers, freezing)?;
            Ok(self.outcome_of(&derivation))
        };
        if quick.get() {
            let without = look(false)?;
            if without.open.is_empty() {
                return Ok(without);
            }
            quick.set(false);
        }
        look(true)
    }

    /// The outcome of a derivation about one joint.
    pub fn outcome_of(&self, derivation: &Derivation<'_>) -> RecommendedThen {
        let with = |wanted: Status| {
            let mut fillers: Vec<Arc<str>> =
                self.recommendations(derivation, wanted).map(|(_, name)| name).collect();
            let place = |name: &Arc<str>| self.job.available.iter().position(|known| known == name);
            fillers.sort_by_key(place);
            fillers
        };
        RecommendedThen { recommended: with(Status::Known), open: with(Status::Open) }
    }

    /// The facts that recommend a filler, or leave open whether they do, with the filler.
    pub fn recommendations<'d>(
        &self,
        derivation: &'d Derivation<'_>,
        wanted: Status,
    ) -> impl Iterator<Item = (FactId, Arc<str>)> + 'd {
        let words = &self.session.vocabulary.recommended;
        let role = words.roles[1];
        derivation
            .facts(words.relation)
            .filter(move |fact| derivation.status(*fact) == wanted)
            .map(move |fact| (fact, symbol(derivation, fact, role)))
    }

    /// What keeps recommendations open at a joint.
    pub fn cone(&self, derivation: &Derivation<'_>) -> DependencyCone {
        DependencyCone::of(
            self.session,
            derivation,
            self.recommendations(derivation, Status::Open).map(|(fact, _)| fact),
        )
    }

    /// The questions at a joint that nobody answered, and whether each is known to come up.
    pub fn unanswered(&self, derivation: &Derivation<'_>) -> Vec<(QuestionPlace, bool)> {
        let mut found = Vec::new();
        for key in self.session.reader.questions() {
            let answer = self.session.rulebook.relations[key.relation.index()].roles.len() - 1;
            for fact in derivation.facts(key.relation) {
                if derivation.status(fact) == Status::Open && derivation.cell(fact, answer).is_none() {
                    let comes_up = subjects(derivation, fact)
                        .iter()
                        .any(|subject| derivation.status(*subject) == Status::Known);
                    found.extend(
                        QuestionPlace::of(self.session, derivation, fact).map(|place| (place, comes_up)),
                    );
                }
            }
        }
        found
    }

    /// The fillers that a joint ends in whatever the answers are, found by running through answers that stand for every answer to
    /// the questions it hangs on; `None` where the answers matter, or where a question has no such list.
    pub fn by_cases(
        &self,
        joint: &str,
        derivation: &Derivation<'r>,
    ) -> Result<Option<Vec<Arc<str>>>, ChangeError> {
        self.cases(joint, derivation, &mut Vec::new(), &mut MOST_CASES.clone())
    }

    /// Answers that stand for every answer to a question: each word of a closed list; of a number that is only compared with
    /// fixed ones, those at and between these. `None` where there is no such list.
    pub fn all_answers(&self, place: &QuestionPlace) -> Option<Vec<Value>> {
        let key = place.key(self.session);
        match key.answer {
            Type::Word(kind) => {
                let words = &self.session.rulebook.kinds[kind.index()].words;
                Some(words.iter().cloned().map(Value::Symbol).collect())
            }
            _ => {
                let numbers = self.session.standing_for_all.get(&key.relation)?;
                Some(numbers.iter().copied().map(Value::Number).collect())
            }
        }
    }

    fn cases(
        &self,
        joint: &str,
        derivation: &Derivation<'r>,
        answers: &mut Vec<GivenFact>,
        budget: &mut usize,
    ) -> Result<Option<Vec<Arc<str>>>, ChangeError> {
        let outcome = self.outcome_of(derivation);
        if outcome.open.is_empty() {
            return Ok(Some(outcome.recommended));
        }
        let coming_up: Vec<QuestionPlace> = self
            .unanswered(derivation)
            .into_iter()
            .filter(|(_, comes_up)| *comes_up)
            .map(|(place, _)| place)
            .collect();
        let cone = self.cone(derivation);
        let next = cone.questions().find_map(|place| {
            let all = self.all_answers(place)?;
            coming_up.contains(place).then(|| (place.clone(), all))
        });
        let Some((place, all)) = next else { return Ok(None) };
        let mut ending: Option<Vec<Arc<str>>> = None;
        for answer in all {
            let Some(left) = budget.checked_sub(1) else { return Ok(None) };
            *budget = left;
            let stated = answers.len();
            answers.extend(place.facts(self.session, &answer));
            let below = self.derived(joint, answers)?;
            let found = self.cases(joint, &below, answers, budget)?;
            answers.truncate(stated);
            match (found, &ending) {
                (None, _) => return Ok(None),
                (Some(found), Some(ending)) if found != *ending => return Ok(None),
                (found, _) => ending = found,
            }
        }
        Ok(ending)
    }
}

/// The name in a role of a fact.
pub(super) fn symbol(derivation: &Derivation<'_>, fact: FactId, role: usize) -> Arc<str> {
    match derivation.cell(fact, role) {
        Some(Value::Symbol(name)) => name.clone(),
        other => other.map(ToString::to_string).unwrap_or_default().into(),
    }
}
