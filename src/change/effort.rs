//! How hard the facts of a job are to change, by the rulebook's tables; what may be changed at all is found elsewhere.

use crate::language::{Rulebook, Type};
use crate::relations::{GIVEN_BY_SERVICE, HARD_TO_CHANGE, KnownRelation, NEVER_OFFERED, NEVER_PLATE, Placed};
use std::sync::Arc;

/// How hard each kind of fact is to change, by the rulebook's table `hard-to-change(path, effort)`.
#[derive(Debug)]
pub(super) struct Efforts {
    words: Vec<Arc<str>>,
    by_kind: Vec<(String, usize)>,
    /// What the service demands, and what nobody sets by hand.
    pub given_by_service: Vec<String>,
    pub never_offered: Vec<String>,
    /// Metals that are not sold as plate or section.
    pub never_plate: Vec<String>,
}

impl Efforts {
    pub fn new(rulebook: &Rulebook) -> Self {
        let listed = |known: &KnownRelation<1>| -> Vec<String> {
            known.column(rulebook, 0).map(ToString::to_string).collect()
        };
        let mut efforts = Efforts {
            words: Vec::new(),
            by_kind: Vec::new(),
            given_by_service: listed(&GIVEN_BY_SERVICE),
            never_offered: listed(&NEVER_OFFERED),
            never_plate: listed(&NEVER_PLATE),
        };
        let Some(Placed { relation, roles: [path, effort] }) = HARD_TO_CHANGE.find(rulebook) else {
            return efforts;
        };
        let Type::Word(kind) = rulebook.relations[relation.index()].roles[effort].ty else { return efforts };
        efforts.words = rulebook.kinds[kind.index()].words.clone();
        for fact in rulebook.facts.iter().filter(|fact| fact.relation == relation) {
            let word = fact.cells[effort].to_string();
            let place = efforts.words.iter().position(|known| **known == *word);
            efforts.by_kind.extend(place.map(|place| (fact.cells[path].to_string(), place)));
        }
        efforts
    }

    /// The effort of a kind of fact, and whether it is the last resort. What the table does not name is neither easy nor that.
    pub fn of(&self, kind: &str) -> (usize, bool) {
        let place = self.by_kind.iter().find(|(known, _)| known == kind).map(|(_, place)| *place);
        let place = place.unwrap_or(self.words.len().saturating_sub(1) / 2);
        (place, self.words.len() > 1 && place + 1 == self.words.len())
    }

    /// The word of an effort.
    pub fn word(&self, effort: usize) -> Option<&str> {
        self.words.get(effort).map(|word| &**word)
    }
}
