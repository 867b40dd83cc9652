//! The relations that the fixed keys of a job fill, as a rulebook declares them. Roles are found by name, so that a rulebook may
//! order them as it likes; relations that it does not declare are left out, except those without which there is no job.

use super::JobFact;
use crate::language::{Diagnostic, RelationId, Rulebook, Span, Type, Value};
use crate::quantity::Dimension;

/// What the job puts into a role.
#[derive(Clone, Copy)]
enum Holds {
    Name,
    Criterion,
    Rank,
    Measured,
}

impl Holds {
    fn suits(self, ty: Type) -> bool {
        match self {
            Holds::Name => matches!(ty, Type::Name | Type::Text),
            Holds::Criterion => matches!(ty, Type::Name | Type::Text | Type::Word(_)),
            Holds::Rank => ty == Type::Number(Dimension::RATIO),
            Holds::Measured => matches!(ty, Type::Number(_) | Type::Range(_)),
        }
    }
}

/// A relation that the job fills, and where in it each value goes.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    relation: RelationId,
    places: Vec<usize>,
}

impl Shape {
    /// A fact of these values.
    pub fn fact(&self, values: &[Value], path: &str, span: Span) -> JobFact {
        let mut cells = values.to_vec();
        for (value, place) in values.iter().zip(&self.places) {
            cells[*place] = value.clone();
        }
        JobFact { relation: self.relation, cells, path: path.to_owned(), span }
    }
}

/// The relations that the fixed keys of a job fill.
#[derive(Debug, Default)]
pub(super) struct Shapes {
    pub joint: Option<Shape>,
    pub part: Option<Shape>,
    pub between: Option<Shape>,
    pub dilution: Option<Shape>,
    pub load: Option<Shape>,
    pub stocked: Option<Shape>,
    pub ranked: Option<Shape>,
}

impl Shapes {
    /// Finds them in a rulebook; notes those that are missing and must not be, and those that a job cannot fill.
    pub fn of(rulebook: &Rulebook, diagnostics: &mut Vec<Diagnostic>) -> Self {
        let mut find = |name: &str, roles: &[(&str, Holds)], needed: bool| {
            shape(rulebook, name, roles, needed).unwrap_or_else(|diagnostic| {
                diagnostics.push(*diagnostic);
                None
            })
        };
        use Holds::{Criterion, Measured, Name, Rank};
        Shapes {
            joint: find("joint", &[("joint", Name)], true),
            part: find("part", &[("part", Name), ("alloy", Name)], true),
            between: find("between", &[("joint", Name), ("first", Name), ("second", Name)], true),
            dilution: find("given-dilution", &[("joint", Name), ("range", Measured)], false),
            load: find("load", &[("joint", Name), ("shear", Measured), ("length", Measured)], false),
            stocked: find("stocked", &[("filler", Name)], false),
            ranked: find("ranked", &[("criterion", Criterion), ("rank", Rank)], false),
        }
    }

    /// The relations found.
    pub fn relations(&self) -> impl Iterator<Item = RelationId> {
        let Shapes { joint, part, between, dilution, load, stocked, ranked } = self;
        let shapes = [joint, part, between, dilution, load, stocked, ranked];
        shapes.into_iter().flatten().map(|shape| shape.relation)
    }
}

fn shape(
    rulebook: &Rulebook,
    name: &str,
    roles: &[(&str, Holds)],
    needed: bool,
) -> Result<Option<Shape>, Box<Diagnostic>> {
    let wanted = || {
        let names: Vec<&str> = roles.iter().map(|(role, _)| *role).collect();
        format!("{name}({})", names.join(", "))
    };
    let mistake = |message: String, help: String| {
        Err(Box::new(Diagnostic::new(Span::default(), message, "needed to read this job").help(help)))
    };
    let Some(relation) = rulebook.relation(name) else {
        if !needed {
            return Ok(None);
        }
        let message = format!("this rulebook does not speak of joints: it declares no relation `{name}`");
        return mistake(message, format!("a rulebook for jobs declares {}", wanted()));
    };
    let declared = &rulebook.relations[relation.index()].roles;
    let place = |(wanted, holds): &(&str, Holds)| {
        declared.iter().position(|role| role.name == *wanted && holds.suits(role.ty))
    };
    let places: Option<Vec<usize>> = roles.iter().map(place).collect();
    match places {
        Some(places) if declared.len() == roles.len() => Ok(Some(Shape { relation, places })),
        _ => mistake(
            format!("a job cannot fill the rulebook's relation `{name}` with the roles it has there"),
            format!("a job fills {}", wanted()),
        ),
    }
}

fn declared(rulebook: &Rulebook, relation: &str, role: &str) -> Option<Type> {
    let relation = rulebook.relation(relation)?;
    rulebook.relations[relation.index()].roles.iter().find(|known| known.name == role).map(|role| role.ty)
}

fn measured(rulebook: &Rulebook, relation: &str, role: &str, otherwise: Type) -> Type {
    declared(rulebook, relation, role).filter(|ty| Holds::Measured.suits(*ty)).unwrap_or(otherwise)
}

/// The type of a dilution.
pub(super) fn declared_dilution(rulebook: &Rulebook) -> Type {
    measured(rulebook, "given-dilution", "range", Type::Range(Dimension::SHARE))
}

/// The types of a load's shear force and length.
pub(super) fn declared_load(rulebook: &Rulebook) -> [Type; 2] {
    [
        measured(rulebook, "load", "shear", Type::Number(Dimension::FORCE)),
        measured(rulebook, "load", "length", Type::Number(Dimension::LENGTH)),
    ]
}

/// The type of a criterion: a word, where the rulebook says which there are.
pub(super) fn declared_criterion(rulebook: &Rulebook) -> Type {
    declared(rulebook, "ranked", "criterion").filter(|ty| Holds::Criterion.suits(*ty)).unwrap_or(Type::Name)
}
