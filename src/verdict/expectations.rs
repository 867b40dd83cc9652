//! Running a rulebook's expectations: assumed facts in, claims compared with what follows.

use super::DecisionError;
use crate::computed::{COMPUTATIONS, check_shapes};
use crate::engine::{GivenFact, Program, Recording, Status};
use crate::language::{Claim, Expectation, Rulebook, Term};
use serde::Serialize;

/// An expectation that was run.
#[derive(Clone, Debug, Serialize)]
pub struct Checked {
    /// Its name.
    pub name: String,
    /// The file it stands in.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
    /// Claims that do not hold, each in a sentence; empty where all do.
    pub failures: Vec<String>,
}

/// Runs every expectation of a rulebook.
pub fn check_expectations(rulebook: &Rulebook) -> Result<Vec<Checked>, DecisionError> {
    check_shapes(rulebook)?;
    let program = Program::new(rulebook, COMPUTATIONS)?;
    rulebook.expectations.iter().map(|expectation| check(rulebook, &program, expectation)).collect()
}

fn check(rulebook: &Rulebook, program: &Program<'_>, expectation: &Expectation) -> Result<Checked, DecisionError> {
    let given: Vec<GivenFact> = expectation
        .assume
        .iter()
        .map(|pattern| GivenFact {
            relation: pattern.relation,
            cells: pattern
                .terms
                .iter()
                .filter_map(|term| match term {
                    Term::Constant(value) => Some(value.clone()),
                    _ => None,
                })
                .collect(),
        })
        .collect();
    let derivation = program.derive(&given, Recording::Nothing)?;
    let mut failures = Vec::new();
    for (claim, pattern) in &expectation.claims {
        let matching = derivation.matching(pattern);
        let known = matching.iter().any(|fact| derivation.status(*fact) == Status::Known);
        let found = match (known, matching.is_empty()) {
            (true, _) => "it is established",
            (false, false) => "it is open",
            (false, true) => "it is not there",
        };
        let holds = match claim {
            Claim::Hence => known,
            Claim::Never => matching.is_empty(),
            Claim::Open => !known && !matching.is_empty(),
        };
        if !holds {
            let claim = match claim {
                Claim::Hence => "hence",
                Claim::Never => "never",
                Claim::Open => "open",
            };
            let text = rulebook.sources.text(pattern.span).split_whitespace().collect::<Vec<_>>().join(" ");
            failures.push(format!("{claim} {text}: {found}"));
        }
    }
    let file = rulebook.sources.file(expectation.span).name.clone();
    let (line, _) = rulebook.sources.position(expectation.span);
    Ok(Checked { name: expectation.name.clone(), file, line, failures })
}
