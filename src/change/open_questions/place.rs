//! Where an open question is answered: its key, and the joint or part that it is about.

use crate::change::adjustable::{self, Values};
use crate::change::session::Session;
use crate::change::setting::Path;
use crate::change::text::JobText;
use crate::engine::{Derivation, FactId, GivenFact};
use crate::job::{About, Job, QuestionKey};
use crate::language::{Origin, Piece, Value};
use std::sync::Arc;

/// An unanswered question about a joint, a part, or the whole job. Places sort in the order of the rulebook's questions.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub(super) struct QuestionPlace {
    /// The first question of the job file's key.
    pub question: usize,
    /// The joint or part.
    pub subject: Option<Arc<str>>,
}

impl QuestionPlace {
    /// The place where a question is answered; `None` where a job file cannot answer it.
    pub fn of(session: &Session<'_>, derivation: &Derivation<'_>, fact: FactId) -> Option<QuestionPlace> {
        let questions = session.reader.questions();
        let key = questions.iter().find(|key| key.relation == fact.relation)?;
        let question = questions.iter().position(|first| same_key(first, key))?;
        let subject = match key.about {
            About::Job => None,
            About::Joint | About::Part => match derivation.cell(fact, 0)? {
                Value::Symbol(name) => Some(name.clone()),
                _ => return None,
            },
        };
        Some(QuestionPlace { question, subject })
    }

    /// Its key in the job file.
    pub fn key<'s>(&self, session: &'s Session<'_>) -> &'s QuestionKey {
        &session.reader.questions()[self.question]
    }

    /// The facts that an answer states; several where more than one question stands at the key.
    pub fn facts(&self, session: &Session<'_>, answer: &Value) -> Vec<GivenFact> {
        let own = self.key(session);
        let cells: Vec<Value> =
            self.subject.iter().cloned().map(Value::Symbol).chain([answer.clone()]).collect();
        let asked = session.reader.questions().iter();
        asked
            .filter(|key| same_key(key, own) && key.answer == own.answer)
            .map(|key| GivenFact { relation: key.relation, cells: cells.clone() })
            .collect()
    }

    /// Whether an answer bears on a joint.
    pub fn bears_on(&self, session: &Session<'_>, job: &Job, joint: &str) -> bool {
        match (self.key(session).about, &self.subject) {
            (About::Joint, Some(subject)) => **subject == *joint,
            (About::Part, Some(part)) => {
                job.joints.iter().any(|known| *known.name == *joint && known.between.contains(part))
            }
            _ => true,
        }
    }

    /// The answers that may stand there.
    pub fn values(&self, session: &Session<'_>, job: &Job, text: &JobText) -> Option<Values> {
        let key = self.key(session);
        let alloy = self.subject.as_ref().filter(|_| key.about == About::Part).and_then(|name| {
            let part = job.parts.iter().find(|part| part.name == *name)?;
            Some((&*key.key, &*part.alloy))
        });
        adjustable::values(session.rulebook, text, &self.path(session), key.answer, alloy)
    }

    /// The path of an answer about this joint or part alone.
    pub fn path(&self, session: &Session<'_>) -> Path {
        let key = self.key(session);
        let (section, last) = (key.section.as_str(), key.key.as_str());
        match (&self.subject, key.about, section) {
            (Some(name), About::Part, "parts") | (Some(name), About::Joint, "joints") => {
                Path::new([section, name, last])
            }
            (Some(name), About::Joint, _) => Path::new(["joints", name, section, last]),
            _ => Path::new([section, last]),
        }
    }

    /// The question in the rulebook's words, about whatever `subject` names.
    pub fn asks(&self, session: &Session<'_>, subject: &str) -> String {
        let relation = &session.rulebook.relations[self.key(session).relation.index()];
        let Origin::Question(question) = &relation.origin else { return String::new() };
        let piece = |piece: &Piece| match piece {
            Piece::Text(text) => text.clone(),
            Piece::Slot(_) => subject.to_owned(),
        };
        question.asks.pieces.iter().map(piece).collect()
    }
}

/// Whether two questions are answered at the same key of the job file.
pub(super) fn same_key(one: &QuestionKey, other: &QuestionKey) -> bool {
    (&one.section, &one.key) == (&other.section, &other.key)
}
