//! What a thermodynamic file says: elements, phases, sublattices, parameters. Reading is in `tdb`, energies in `gibbs`.

use super::expression::{Basis, CompiledExpression};
use std::fmt;

/// Atomic mass of an element, as the file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// Symbol in capitals, as in the file.
    pub symbol: String,
    /// Atomic mass in g/mol.
    pub mass: f64,
}

/// One model parameter of a phase: an end member or an interaction.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Parameter {
    /// For each sublattice the constituents, in alphabetical order.
    pub constituents: Vec<Vec<String>>,
    pub order: usize,
    /// Energy in J per mole of formula unit.
    pub energy: CompiledExpression,
}

/// A phase in the compound energy formalism.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Name in capitals, as in the file.
    pub name: String,
    /// Sites of each sublattice per formula unit.
    pub sites: Vec<f64>,
    /// Constituents of each sublattice; `VA` stands for an empty site.
    pub constituents: Vec<Vec<String>>,
    pub(crate) parameters: Vec<Parameter>,
}

/// The elements and phases of a thermodynamic file.
#[derive(Debug, Clone, PartialEq)]
pub struct Database {
    pub(crate) elements: Vec<Element>,
    pub(crate) phases: Vec<Phase>,
    pub(crate) notes: Vec<String>,
    /// The powers of T that occur in the parameters.
    pub(crate) basis: Basis,
}

/// Why a thermodynamic file could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DatabaseError {
    /// Line on which the faulty statement or word begins, counted from 1.
    pub line: usize,
    /// What should have stood there.
    pub expected: String,
    /// What stands there, shortened to 60 characters.
    pub found: String,
}

impl fmt::Display for DatabaseError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { line, expected, found } = self;
        if found.is_empty() {
            write!(f, "line {line}: expected {expected}")
        } else {
            write!(f, "line {line}: expected {expected}, found '{found}'")
        }
    }
}

impl std::error::Error for DatabaseError {}

impl Database {
    /// Elements of the file, without vacancies and electrons.
    #[must_use]
    pub fn elements(&self) -> &[Element] {
        &self.elements
    }

    /// Phases of the file that the solver can describe.
    #[must_use]
    pub fn phases(&self) -> &[Phase] {
        &self.phases
    }

    /// What the file holds and this reader leaves out, one sentence each.
    #[must_use]
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}
