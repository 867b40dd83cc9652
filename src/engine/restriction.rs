//! Which rows of one relation a derivation is about.

use crate::language::{RelationId, Value};

/// Facts of a relation are drawn only where a role holds one of these names; the others are left out of a run.
#[derive(Clone, Debug)]
pub struct Restriction {
    /// The relation.
    pub relation: RelationId,
    /// The role.
    pub role: usize,
    /// What it may hold.
    pub names: Vec<Value>,
}
