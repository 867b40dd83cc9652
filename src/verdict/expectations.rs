//! Running a rulebook's expectations: assumed facts in, claims compared with what follows, and which findings had a part
//! in it.

use super::{DecisionError, fact_sentence};
use crate::computed::{COMPUTATIONS, FREEZING_OPEN, check_shapes};
use crate::engine::{
    Derivation, EngineError, FactId, GivenFact, Memory, Program, Recording, Status, TablesAlone,
};
use crate::language::{Claim, Expectation, FindingId, Pattern, RelationId, Rulebook, Term, Value};
use crate::processors::for_each;
use serde::Serialize;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// An expectation that was run.
#[derive(Clone, Debug, Serialize)]
pub struct CheckedExpectation {
    /// Its name.
    pub name: String,
    /// The file it stands in.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
    /// Claims that do not hold, each in a sentence; empty where all do.
    pub failures: Vec<String>,
}

/// What came of running every expectation of a rulebook.
#[derive(Clone, Debug)]
pub struct Checks {
    /// Each expectation, in the order of the texts.
    pub expectations: Vec<CheckedExpectation>,
    /// The findings that establish nothing in any of them.
    pub unreached: Vec<FindingId>,
}

/// A rulebook made ready for its expectations: what none of them can touch is derived once for all.
pub struct ExpectationRun<'r> {
    rulebook: &'r Rulebook,
    whole: TablesAlone<'r>,
    /// The same without following any freezing: what holds all the same holds for good, a thousand times faster.
    unfrozen: TablesAlone<'r>,
}

impl<'r> ExpectationRun<'r> {
    /// Makes a rulebook ready. What was frozen for another with the same memory is not frozen again.
    pub fn new(rulebook: &'r Rulebook, memory: Memory, recording: Recording) -> Result<Self, DecisionError> {
        check_shapes(rulebook)?;
        let assumed: BTreeSet<RelationId> = rulebook
            .expectations
            .iter()
            .flat_map(|one| &one.assume)
            .map(|pattern| pattern.relation)
            .collect();
        let assumed: Vec<RelationId> = assumed.into_iter().collect();
        let ready = |computations| {
            Program::with_memory(rulebook, computations, memory.clone())?.tables_alone(&assumed, recording)
        };
        let (whole, unfrozen) = (ready(COMPUTATIONS)?, ready(FREEZING_OPEN)?);
        Ok(ExpectationRun { rulebook, whole, unfrozen })
    }

    /// What follows from what an expectation assumes. Pools are frozen only where a claim hangs on it.
    pub fn derive(&self, expectation: &Expectation) -> Result<Derivation<'r>, EngineError> {
        let unfrozen = derived(&self.unfrozen, expectation)?;
        // Of a claim that something is open nothing can be said while freezing is left open.
        let open = expectation.claims.iter().any(|(claim, _)| *claim == Claim::Open);
        if !open && compared(self.rulebook, &unfrozen, expectation).failures.is_empty() {
            return Ok(unfrozen);
        }
        derived(&self.whole, expectation)
    }

    /// Whether an expectation holds.
    pub fn holds(&self, expectation: &Expectation) -> Result<bool, EngineError> {
        let derivation = self.derive(expectation)?;
        Ok(compared(self.rulebook, &derivation, expectation).failures.is_empty())
    }
}

/// Runs every expectation of a rulebook.
pub fn check_expectations(rulebook: &Rulebook) -> Result<Checks, DecisionError> {
    let run = ExpectationRun::new(rulebook, Memory::default(), Recording::Everything)?;
    let checked = for_each(&rulebook.expectations, |expectation| {
        let derivation = run.derive(expectation)?;
        Ok::<_, EngineError>((compared(rulebook, &derivation, expectation), derivation.applied()))
    });
    let mut reached = vec![false; rulebook.findings.len()];
    let mut expectations = Vec::with_capacity(checked.len());
    for one in checked {
        let (checked, applied) = one?;
        for (reached, applied) in reached.iter_mut().zip(applied) {
            *reached |= applied;
        }
        expectations.push(checked);
    }
    let unreached = reached.iter().enumerate().filter(|(_, reached)| !**reached);
    Ok(Checks { expectations, unreached: unreached.map(|(index, _)| FindingId::new(index)).collect() })
}

/// The facts that a claim speaks of. Numbers need not agree to the last bit: 0.55 less 0.52 is 0.03. Where a range is claimed of
/// a number, it must lie within.
fn matching(derivation: &Derivation<'_>, claim: &Pattern) -> Vec<FactId> {
    let number = |term: &Term| match term {
        Term::Constant(value @ (Value::Number(_) | Value::Range(_))) => Some(value.clone()),
        _ => None,
    };
    let without_numbers = Pattern {
        terms: claim
            .terms
            .iter()
            .map(|term| number(term).map_or_else(|| term.clone(), |_| Term::Any))
            .collect(),
        ..claim.clone()
    };
    let mut found = derivation.matching(&without_numbers);
    found.retain(|fact| {
        claim.terms.iter().enumerate().all(|(role, term)| {
            match (number(term), derivation.cell(*fact, role)) {
                (Some(Value::Number(wanted)), Some(Value::Number(value))) => {
                    value.compare(&wanted) == Some(Ordering::Equal)
                }
                (Some(Value::Range(wanted)), Some(Value::Number(value))) => wanted.holds(value),
                (Some(Value::Range(wanted)), Some(Value::Range(value))) => wanted == *value,
                (Some(_), _) => false,
                (None, _) => true,
            }
        })
    });
    found
}

/// Facts told in the place of one that is not there, at most.
const MOST_INSTEAD: usize = 3;

/// What stands in the place of a fact that is not there: the facts that agree with the claim in all but its last terms.
fn instead(derivation: &Derivation<'_>, claim: &Pattern) -> String {
    let mut wider = claim.clone();
    for role in (1..wider.terms.len()).rev() {
        if matches!(wider.terms[role], Term::Any) {
            continue;
        }
        wider.terms[role] = Term::Any;
        let found = matching(derivation, &wider);
        if !found.is_empty() {
            let sentence = |fact: &FactId| {
                let open = derivation.status(*fact) == Status::Open;
                format!("{}{}", fact_sentence(derivation, *fact), if open { " (open)" } else { "" })
            };
            let mut told: Vec<String> = found.iter().map(sentence).collect();
            told.sort();
            let more = told.len().saturating_sub(MOST_INSTEAD);
            told.truncate(MOST_INSTEAD);
            let more = if more > 0 { format!("; and {more} more") } else { String::new() };
            return format!("; instead: {}{more}", told.join("; "));
        }
    }
    String::new()
}

/// Everything that follows from what an expectation assumes.
fn derived<'r>(tables: &TablesAlone<'r>, expectation: &Expectation) -> Result<Derivation<'r>, EngineError> {
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
    tables.derive(&given, None)
}

fn compared(
    rulebook: &Rulebook,
    derivation: &Derivation<'_>,
    expectation: &Expectation,
) -> CheckedExpectation {
    let mut failures = Vec::new();
    for (claim, pattern) in &expectation.claims {
        let matching = matching(derivation, pattern);
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
            let instead =
                if found == "it is not there" { instead(derivation, pattern) } else { String::new() };
            failures.push(format!("{claim} {text}: {found}{instead}"));
        }
    }
    // Names that a claim joins fail in the same words.
    failures.dedup();
    let file = rulebook.sources.file(expectation.span).name.clone();
    let (line, _) = rulebook.sources.position(expectation.span);
    CheckedExpectation { name: expectation.name.clone(), file, line, failures }
}
