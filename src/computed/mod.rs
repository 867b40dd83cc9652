//! The registry of computed relations: where the rulebook's relations meet the metallurgy. One file a relation; the
//! arithmetic itself lives in `metallurgy`.

mod freezing;
mod metals;
mod pool;
mod section;

pub use freezing::{database, frozen};

use crate::engine::Computation;
use crate::language::{Origin, Rulebook};

/// Every relation that the program can compute.
pub const COMPUTATIONS: &[Computation] =
    &[pool::COMPUTATION, section::COMPUTATION, freezing::FREEZING, freezing::LIQUATION];

/// The same, but that no pool is frozen.
pub const UNFROZEN: &[Computation] =
    &[pool::COMPUTATION, section::COMPUTATION, freezing::FREEZING_UNFROZEN, freezing::LIQUATION_UNFROZEN];

/// What a computation expects to be declared.
struct Shape {
    relation: &'static str,
    roles: &'static [&'static str],
    from: &'static [(&'static str, &'static [&'static str])],
}

const SHAPES: &[&Shape] =
    &[&pool::SHAPE, &section::SHAPE, &freezing::FREEZING_SHAPE, &freezing::LIQUATION_SHAPE];

/// A computed relation that a rulebook declares otherwise than the program computes it.
#[derive(Clone, Debug, thiserror::Error)]
#[error(
    "the program computes {relation}, declared as\n    computed {relation}({roles})\n        from {from}\nwith\n{inputs}"
)]
pub struct ShapeError {
    relation: &'static str,
    roles: String,
    from: String,
    inputs: String,
}

/// Whether the rulebook declares the computed relations, and what they are computed from, with the roles that the
/// program fills and reads, in that order.
pub fn check_shapes(rulebook: &Rulebook) -> Result<(), ShapeError> {
    let has_roles = |relation: &crate::language::Relation, roles: &[&str]| {
        relation.roles.iter().map(|role| role.name.as_str()).eq(roles.iter().copied())
    };
    for shape in SHAPES {
        let Some(id) = rulebook.relation(shape.relation) else { continue };
        let declared = &rulebook.relations[id.index()];
        let Origin::Computed { from } = &declared.origin else { continue };
        let inputs_fit = from.len() == shape.from.len()
            && from.iter().zip(shape.from).all(|(input, (name, roles))| {
                let input = &rulebook.relations[input.index()];
                input.name == *name && has_roles(input, roles)
            });
        if !inputs_fit || !has_roles(declared, shape.roles) {
            let inputs: Vec<String> =
                shape.from.iter().map(|(name, roles)| format!("    {name}({})", roles.join(", "))).collect();
            return Err(ShapeError {
                relation: shape.relation,
                roles: shape.roles.join(", "),
                from: shape.from.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", "),
                inputs: inputs.join("\n"),
            });
        }
    }
    Ok(())
}
