//! Which keys a job file may have: the fixed ones of the contract, and one for every question of the rulebook. Reading
//! their values is done elsewhere.

use crate::language::{Origin, RelationId, Rulebook, Type};

/// What an answer is about: what fills the roles before the last.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum About {
    /// The whole job: the question has no other role.
    Job,
    /// A joint.
    Joint,
    /// A part.
    Part,
}

/// A key that a question of the rulebook makes valid.
#[derive(Clone, Debug)]
pub struct QuestionKey {
    /// The question.
    pub relation: RelationId,
    /// The section of the job file in which the answer stands: `parts`, `joints`, `service`, …
    pub section: String,
    /// Its key there.
    pub key: String,
    /// Both, with a dot between.
    pub path: String,
    /// What it is about.
    pub about: About,
    /// What the answer is.
    pub answer: Type,
}

/// Keys of the contract, by section; the first section is the file itself.
pub(super) const FILE: &[&str] = &["title", "parts", "joints", "service", "choice"];
pub(super) const PART: &[&str] = &["alloy"];
pub(super) const JOINT: &[&str] = &["name", "between", "dilution", "load", "service"];
pub(super) const LOAD: &[&str] = &["shear", "length"];
pub(super) const CHOICE: &[&str] = &["available", "order"];

/// Every question whose answer a job can give.
#[derive(Debug)]
pub(super) struct Keys {
    pub questions: Vec<QuestionKey>,
    /// Sections that apply to every joint unless a joint overrides them: `service`, and any other that a question names.
    pub shared: Vec<String>,
}

impl Keys {
    /// The questions of a rulebook.
    pub fn of(rulebook: &Rulebook) -> Self {
        let mut keys = Keys { questions: Vec::new(), shared: vec!["service".to_owned()] };
        for (index, relation) in rulebook.relations.iter().enumerate() {
            let Origin::Question(question) = &relation.origin else { continue };
            let Some((answer, before)) = relation.roles.split_last() else { continue };
            // A path is a section and a key. A question that stands anywhere else cannot be answered from a job file.
            let Some((section, key)) = question.path.split_once('.').filter(|(_, key)| !key.contains('.'))
            else {
                continue;
            };
            // The contract's own keys stay what they are; the facts they give have relations of their own.
            let taken = match section {
                "parts" => PART.contains(&key),
                "joints" => JOINT.contains(&key),
                "service" => false,
                _ => FILE.contains(&section),
            };
            if taken {
                continue;
            }
            let about = match (section, before) {
                ("joints", [_]) => About::Joint,
                ("parts", [_]) => About::Part,
                ("joints" | "parts", _) => continue,
                (_, []) => About::Job,
                (_, [role]) if about_part(rulebook, question, &role.name) => About::Part,
                (_, [_]) => About::Joint,
                _ => continue,
            };
            if !matches!(section, "parts" | "joints") && !keys.shared.iter().any(|known| known == section) {
                keys.shared.push(section.to_owned());
            }
            keys.questions.push(QuestionKey {
                relation: RelationId::new(index),
                section: section.to_owned(),
                key: key.to_owned(),
                path: question.path.clone(),
                about,
                answer: answer.ty,
            });
        }
        keys
    }

    /// The questions that stand at a key, by index.
    pub fn at(&self, section: &str, key: &str) -> Vec<usize> {
        let stands = |question: &QuestionKey| question.section == section && question.key == key;
        (0..self.questions.len()).filter(|index| stands(&self.questions[*index])).collect()
    }

    /// All keys of a section: the fixed ones, then the rulebook's.
    pub fn of_section<'a>(&'a self, section: &str, fixed: &[&'a str]) -> Vec<&'a str> {
        let asked = self.questions.iter().filter(|question| question.section == section);
        let mut all: Vec<&str> = fixed.to_vec();
        for question in asked {
            if !all.contains(&question.key.as_str()) {
                all.push(&question.key);
            }
        }
        all
    }
}

fn about_part(rulebook: &Rulebook, question: &crate::language::Question, role: &str) -> bool {
    let subject = rulebook.relations.get(question.subject.index());
    let filling = subject.and_then(|subject| subject.roles.get(*question.filled_by.first()?));
    role == "part" || filling.is_some_and(|role| role.name == "part")
}
