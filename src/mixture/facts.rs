//! The facts of a pool that belongs to no job: relations are found by name and filled role by role.

use crate::engine::GivenFact;
use crate::language::{Rulebook, Value};

/// Name of the joint that stands for the pool.
pub(super) const JOINT: &str = "the pool";
/// Name of the filler where there is none.
pub(super) const NO_FILLER: &str = "no filler";
/// Name of the metal whose composition was given.
pub(super) const GIVEN_METAL: &str = "the metal";

pub(super) fn name(text: &str) -> Value {
    Value::Symbol(text.into())
}

/// A fact with a value for every role; `None` where the rulebook has no such relation or other roles.
pub(super) fn fact(rulebook: &Rulebook, relation: &str, values: &[(&str, Value)]) -> Option<GivenFact> {
    let id = rulebook.relation(relation)?;
    let cells = rulebook.relations[id.index()]
        .roles
        .iter()
        .map(|role| values.iter().find(|(name, _)| *name == role.name).map(|(_, value)| value.clone()))
        .collect::<Option<Vec<Value>>>()?;
    Some(GivenFact { relation: id, cells })
}
