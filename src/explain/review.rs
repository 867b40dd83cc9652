//! A rulebook looked over: what it holds, whether its expectations hold, on whose word it stands, and what no expectation
//! reaches, as plain data.

use super::authority::{Authority, authority};
use crate::language::Rulebook;
use crate::verdict::{CheckedExpectation, DecisionError, Hole, check_expectations, holes, undeclared};
use serde::Serialize;

/// What there is to say of a rulebook without mistakes.
#[derive(Clone, Debug, Serialize)]
pub struct Review {
    /// How many findings it has.
    pub findings: usize,
    /// How many relations.
    pub relations: usize,
    /// How many facts in tables.
    pub table_facts: usize,
    /// How many curves.
    pub curves: usize,
    /// SHA-256 over the names and texts of its files.
    pub fingerprint: String,
    /// Its expectations, run.
    pub expectations: Vec<CheckedExpectation>,
    /// What it lacks: rows that others have, places, grades.
    pub holes: Vec<Hole>,
    /// What the program knows and it does not declare.
    pub undeclared: Vec<Undeclared>,
    /// How its authority is split, the strongest kind first.
    pub authority: [Authority; 4],
    /// The findings that no expectation reaches: in none of them do they establish anything.
    pub unreached: Vec<Location>,
}

/// A relation that the program knows and a rulebook does not declare.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Undeclared {
    /// The relation with its roles.
    pub relation: String,
    /// What is left out without it.
    pub lost: &'static str,
}

/// Something of a rulebook, and where it stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Location {
    /// The file.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
    /// Its name.
    pub name: String,
}

impl Review {
    /// The expectations that do not hold.
    pub fn failed(&self) -> impl Iterator<Item = &CheckedExpectation> {
        self.expectations.iter().filter(|expectation| !expectation.failures.is_empty())
    }
}

/// Looks a rulebook over.
pub fn review(rulebook: &Rulebook) -> Result<Review, DecisionError> {
    let checks = check_expectations(rulebook)?;
    let mut unreached: Vec<Location> = checks
        .unreached
        .iter()
        .map(|id| {
            let finding = &rulebook.findings[id.index()];
            let (line, _) = rulebook.sources.position(finding.span);
            Location {
                file: rulebook.sources.file(finding.span).name.clone(),
                line,
                name: finding.id.clone(),
            }
        })
        .collect();
    unreached.sort();
    Ok(Review {
        findings: rulebook.findings.len(),
        relations: rulebook.relations.len(),
        table_facts: rulebook.facts.len(),
        curves: rulebook.curves.len(),
        fingerprint: rulebook.fingerprint.clone(),
        expectations: checks.expectations,
        holes: holes(rulebook)?,
        undeclared: undeclared(rulebook)
            .into_iter()
            .map(|(known, lost)| Undeclared {
                relation: format!("{}({})", known.name, known.roles.join(", ")),
                lost,
            })
            .collect(),
        authority: authority(rulebook),
        unreached,
    })
}
