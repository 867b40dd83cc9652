//! The registry of computed relations: where the rulebook's relations meet the metallurgy. One file a relation; the
//! arithmetic itself lives in `metallurgy`.

mod freezing;
mod metals;
mod pool;
mod section;
mod unjudged;

pub use freezing::{Composition, FROZEN, frozen, frozen_by, read_ahead};

use crate::engine::Computation;
use crate::language::{Origin, Relation, Rulebook, Type};
use crate::metallurgy::freezing::ALUMINIUM;
use crate::quantity::Dimension;

/// Every relation that the program can compute.
pub const COMPUTATIONS: &[Computation] = &[
    pool::COMPUTATION,
    section::COMPUTATION,
    unjudged::COMPUTATION,
    freezing::FREEZING,
    freezing::LIQUATION,
];

/// The same, but that no pool is frozen.
pub const UNFROZEN: &[Computation] = &[
    pool::COMPUTATION,
    section::COMPUTATION,
    unjudged::COMPUTATION,
    freezing::FREEZING_UNFROZEN,
    freezing::LIQUATION_UNFROZEN,
];

/// The same, but that no pool is frozen and whatever rests on its freezing is open: what is known all the same holds
/// however the pools freeze.
pub const FREEZING_OPEN: &[Computation] = &[
    pool::COMPUTATION,
    section::COMPUTATION,
    unjudged::COMPUTATION,
    freezing::FREEZING_OPEN,
    freezing::LIQUATION_OPEN,
];

/// Files that computations read, by name: the thermodynamic data that pools are frozen with.
pub const DATA: &[(&str, &str)] = &[("freezing/aluminium.tdb", ALUMINIUM)];

/// What a computation expects to be declared.
struct ComputedShape {
    relation: &'static str,
    roles: &'static [&'static str],
    from: &'static [(&'static str, &'static [&'static str])],
}

const SHAPES: &[&ComputedShape] =
    &[&pool::SHAPE, &section::SHAPE, &unjudged::SHAPE, &freezing::FREEZING_SHAPE, &freezing::LIQUATION_SHAPE];

/// Relations whose lowest, nominal and highest are of one dimension; their other roles hold names.
const SPREADS: &[(&str, Dimension)] = &[
    ("pool", Dimension::MASS_PERCENT),
    ("base-share", Dimension::SHARE),
    ("composition", Dimension::MASS_PERCENT),
    ("filler-composition", Dimension::MASS_PERCENT),
];

/// A computed relation that a rulebook declares otherwise than the program computes it.
#[derive(Clone, Debug, thiserror::Error)]
pub enum ShapeError {
    /// With other roles, or from other relations.
    #[error(
        "{place}: the program computes {relation}, declared as\n    computed {relation}({roles})\n        from {from}\nwith\n{inputs}"
    )]
    Declared {
        /// Where it is declared: file, line and column.
        place: String,
        /// The relation.
        relation: &'static str,
        /// Its roles as they should be.
        roles: String,
        /// What it is computed from.
        from: String,
        /// The roles of that.
        inputs: String,
    },
    /// The program computes no such relation.
    #[error("{place}: the program computes no relation {relation}; it computes {known}")]
    Unknown {
        /// Where it is declared: file, line and column.
        place: String,
        /// The relation.
        relation: String,
        /// Those that it computes.
        known: String,
    },
}

/// Whether a relation has these roles, in this order, with the dimensions that the program takes for granted.
fn has_roles(relation: &Relation, roles: &[&str]) -> bool {
    let spread = SPREADS.iter().find(|(name, _)| *name == relation.name);
    relation.roles.iter().map(|role| role.name.as_str()).eq(roles.iter().copied())
        && spread.is_none_or(|(_, dimension)| {
            relation.roles.iter().all(|role| match role.name.as_str() {
                "lowest" | "nominal" | "highest" => role.ty == Type::Number(*dimension),
                _ => matches!(role.ty, Type::Name | Type::Word(_)),
            })
        })
}

/// Roles as they are declared.
fn written(relation: &str, roles: &[&str]) -> String {
    let spread = SPREADS.iter().find(|(name, _)| *name == relation);
    let written = roles.iter().map(|role| match (*role, spread) {
        ("lowest" | "nominal" | "highest", Some((_, dimension))) => {
            let named = Dimension::NAMED.iter().find(|(_, known)| known == dimension);
            format!("{role}: {}", named.map_or("", |(name, _)| name))
        }
        _ => (*role).to_owned(),
    });
    written.collect::<Vec<_>>().join(", ")
}

/// Whether the rulebook declares the computed relations, and what they are computed from, with the roles that the
/// program fills and reads, in that order; and no others as computed.
pub fn check_shapes(rulebook: &Rulebook) -> Result<(), ShapeError> {
    for declared in &rulebook.relations {
        let Origin::Computed { from } = &declared.origin else { continue };
        let place = || {
            let (line, column) = rulebook.sources.position(declared.span);
            format!("{}:{line}:{column}", rulebook.sources.file(declared.span).name)
        };
        let Some(shape) = SHAPES.iter().find(|shape| shape.relation == declared.name) else {
            let known: Vec<&str> = SHAPES.iter().map(|shape| shape.relation).collect();
            let (relation, known) = (declared.name.clone(), known.join(", "));
            return Err(ShapeError::Unknown { place: place(), relation, known });
        };
        let inputs_fit = from.len() == shape.from.len()
            && from.iter().zip(shape.from).all(|(input, (name, roles))| {
                let input = &rulebook.relations[input.index()];
                input.name == *name && has_roles(input, roles)
            });
        if !inputs_fit || !has_roles(declared, shape.roles) {
            let inputs =
                shape.from.iter().map(|(name, roles)| format!("    {name}({})", written(name, roles)));
            return Err(ShapeError::Declared {
                place: place(),
                relation: shape.relation,
                roles: written(shape.relation, shape.roles),
                from: shape.from.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", "),
                inputs: inputs.collect::<Vec<_>>().join("\n"),
            });
        }
    }
    Ok(())
}
