//! The relations that the fixed keys of a job fill, as a rulebook declares them. Roles are found by name, so that a rulebook may
//! order them as it likes; relations that it does not declare are left out, except those without which there is no job.

use super::JobFact;
use crate::language::{Diagnostic, RelationId, Rulebook, Span, Type, Value};
use crate::quantity::Dimension;
use crate::relations::{self, KnownRelation, Placed};

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
pub(super) struct JobRelation {
    relation: RelationId,
    places: Vec<usize>,
}

impl JobRelation {
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
pub(super) struct JobRelations {
    pub joint: Option<JobRelation>,
    pub part: Option<JobRelation>,
    pub between: Option<JobRelation>,
    pub dilution: Option<JobRelation>,
    pub load: Option<JobRelation>,
    pub stocked: Option<JobRelation>,
    pub ranked: Option<JobRelation>,
}

impl JobRelations {
    /// Finds them in a rulebook; notes those that are missing and must not be, and those that a job cannot fill.
    pub fn of(rulebook: &Rulebook, diagnostics: &mut Vec<Diagnostic>) -> Self {
        use Holds::{Criterion, Measured, Name, Rank};
        let mut reader = Finder { rulebook, diagnostics };
        JobRelations {
            joint: reader.find(&relations::JOINT, [Name], true),
            part: reader.find(&relations::PART, [Name, Name], true),
            between: reader.find(&relations::BETWEEN, [Name, Name, Name], true),
            dilution: reader.find(&relations::GIVEN_DILUTION, [Name, Measured], false),
            load: reader.find(&relations::LOAD, [Name, Measured, Measured], false),
            stocked: reader.find(&relations::STOCKED, [Name], false),
            ranked: reader.find(&relations::RANKED, [Criterion, Rank], false),
        }
    }

    /// The relations found.
    pub fn relations(&self) -> impl Iterator<Item = RelationId> {
        let JobRelations { joint, part, between, dilution, load, stocked, ranked } = self;
        let shapes = [joint, part, between, dilution, load, stocked, ranked];
        shapes.into_iter().flatten().map(|shape| shape.relation)
    }
}

/// Finds relations one by one, and notes what is wrong with them.
struct Finder<'a> {
    rulebook: &'a Rulebook,
    diagnostics: &'a mut Vec<Diagnostic>,
}

impl Finder<'_> {
    fn find<const N: usize>(
        &mut self,
        known: &KnownRelation<N>,
        holds: [Holds; N],
        needed: bool,
    ) -> Option<JobRelation> {
        let name = known.name;
        let Some(relation) = self.rulebook.relation(name) else {
            if needed {
                let message =
                    format!("this rulebook does not speak of joints: it declares no relation `{name}`");
                self.mistake(message, format!("a rulebook for jobs declares {}", known.declared()));
            }
            return None;
        };
        let declared = &self.rulebook.relations[relation.index()].roles;
        let placed = known.find(self.rulebook).filter(|placed| {
            declared.len() == N
                && placed.roles.iter().zip(holds).all(|(place, holds)| holds.suits(declared[*place].ty))
        });
        if placed.is_none() {
            let message =
                format!("a job cannot fill the rulebook's relation `{name}` with the roles it has there");
            self.mistake(message, format!("a job fills {}", known.declared()));
        }
        placed.map(|placed| JobRelation { relation, places: placed.roles.to_vec() })
    }

    fn mistake(&mut self, message: String, help: String) {
        let diagnostic = Diagnostic::new(Span::default(), message, "needed to read this job");
        self.diagnostics.push(diagnostic.help(help));
    }
}

/// The type of a role as a rulebook declares it, where it can hold what a job puts there.
fn declared<const N: usize>(
    rulebook: &Rulebook,
    known: &KnownRelation<N>,
    role: usize,
    holds: Holds,
) -> Option<Type> {
    let Placed { relation, roles } = known.find(rulebook)?;
    Some(rulebook.relations[relation.index()].roles[roles[role]].ty).filter(|ty| holds.suits(*ty))
}

/// The type of a dilution.
pub(super) fn declared_dilution(rulebook: &Rulebook) -> Type {
    let declared = declared(rulebook, &relations::GIVEN_DILUTION, 1, Holds::Measured);
    declared.unwrap_or(Type::Range(Dimension::SHARE))
}

/// The types of a load's shear force and length.
pub(super) fn declared_load(rulebook: &Rulebook) -> [Type; 2] {
    [(1, Dimension::FORCE), (2, Dimension::LENGTH)].map(|(role, dimension)| {
        let declared = declared(rulebook, &relations::LOAD, role, Holds::Measured);
        declared.unwrap_or(Type::Number(dimension))
    })
}

/// The type of a criterion: a word, where the rulebook says which there are.
pub(super) fn declared_criterion(rulebook: &Rulebook) -> Type {
    declared(rulebook, &relations::RANKED, 0, Holds::Criterion).unwrap_or(Type::Name)
}
