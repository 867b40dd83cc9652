//! Facts that are not there: for each finding that could have given one, the premises before the first that fails are met, and
//! that one is not, by the naive judgement of the same rows.

use super::naive::{Naive, Row, key};
use super::row_of;
use super::sample::{Choices, NAMES, NUMBERS, Sample};
use proptest::prelude::*;
use std::collections::BTreeSet;
use whyrod::engine::{Attempt, Cell, Lack, Program, Recording};
use whyrod::language::{
    Expression, Finding, Pattern, Premise, RelationId, Span, Term, Type, Value, VariableId,
};
use whyrod::quantity::Quantity;

/// Relations that findings conclude, by their numbers in the sample.
const DERIVED: [usize; 7] = [5, 6, 7, 9, 10, 11, 12];

/// Checks what is told of absent facts, and tells in which ways the first failing premises failed.
pub fn check(sample: &Sample, choices: &mut Choices<'_>) -> Result<BTreeSet<&'static str>, TestCaseError> {
    let rulebook = &sample.small.rulebook;
    let program = match Program::new(rulebook, &[]) {
        Ok(program) => program,
        Err(error) => return Err(TestCaseError::reject(error.to_string())),
    };
    let derivation = program.derive(&sample.given, Recording::Nothing).expect("the facts fit");
    let mut naive = Naive::new(sample);
    let mut ways = BTreeSet::new();
    for at in DERIVED {
        let relation = RelationId::new(at);
        let constants: Vec<Value> = rulebook.relations[at]
            .roles
            .iter()
            .map(|role| match role.ty {
                Type::Number(_) => {
                    Value::Number(Quantity::number(choices.of(&NUMBERS).parse().expect("a number")))
                }
                _ => Value::Symbol(choices.of(&NAMES).into()),
            })
            .collect();
        let keys: Vec<String> = constants.iter().map(key).collect();
        let could_be =
            |row: &Row| row.iter().zip(&keys).all(|(cell, key)| cell.as_ref().is_none_or(|cell| cell == key));
        if naive.known[at].iter().chain(&naive.open[at]).any(could_be) {
            continue;
        }
        let pattern = Pattern {
            relation,
            terms: constants.into_iter().map(Term::Constant).collect(),
            span: Span::default(),
        };
        let attempts = derivation.attempts(&pattern);
        let could_conclude = |hence: &&Pattern| {
            hence.relation == relation
                && hence.terms.iter().zip(&keys).all(|(term, wanted)| match term {
                    Term::Constant(value) => key(value) == *wanted,
                    _ => true,
                })
                && agrees_with_itself(hence, &keys)
        };
        let expected: usize =
            rulebook.findings.iter().map(|finding| finding.hence.iter().filter(could_conclude).count()).sum();
        prop_assert_eq!(attempts.len(), expected, "a finding that could conclude it is missing");
        for attempt in &attempts {
            let rows: Vec<Row> = attempt.premises.iter().map(|fact| row_of(&derivation, *fact)).collect();
            check_attempt(&mut naive, &rulebook.findings[attempt.finding.index()], attempt, &rows)?;
            ways.insert(match attempt.failures[0].lacks {
                Lack::Fact { .. } => "no fact",
                Lack::Blocked(_) => "blocked",
                Lack::Condition { gap: Some(_) } => "a number",
                Lack::Condition { gap: None } => "a word",
                Lack::Value(None) => "no value",
                Lack::Value(Some(_)) => "another value",
            });
        }
    }
    Ok(ways)
}

/// Whether a conclusion can have these cells where a variable stands twice.
fn agrees_with_itself(hence: &Pattern, keys: &[String]) -> bool {
    hence.terms.iter().zip(keys).all(|(term, wanted)| {
        let Term::Variable(_) = term else { return true };
        hence.terms.iter().zip(keys).all(|(other, key)| other != term || key == wanted)
    })
}

/// Rows of the first `given` premises, where what nobody has told is taken to be what the attempt takes it to be.
fn as_taken(finding: &Finding, attempt: &Attempt, rows: &[Row]) -> Vec<Row> {
    let givens = finding.premises.iter().filter_map(|premise| match premise {
        Premise::Given(pattern) => Some(pattern),
        _ => None,
    });
    let taken = |term: &Term, cell: &Option<String>| match (term, cell) {
        (Term::Variable(variable), None) => match &attempt.bindings[variable.index()] {
            Some(Cell::Value(value)) => Some(key(value)),
            _ => None,
        },
        _ => cell.clone(),
    };
    let row = |(pattern, row): (&Pattern, &Row)| -> Row {
        pattern.terms.iter().zip(row).map(|(term, cell)| taken(term, cell)).collect()
    };
    givens.zip(rows).map(row).collect()
}

/// The first premises of a finding. What a computation leaves unknown has the value that the attempt takes: that of the
/// conclusion, or of a later fact.
fn first_premises(finding: &Finding, attempt: &Attempt, count: usize, unknown: &[usize]) -> Finding {
    let taken = |variable: VariableId| match &attempt.bindings[variable.index()] {
        Some(Cell::Value(Value::Number(quantity))) if unknown.contains(&variable.index()) => Some(*quantity),
        _ => None,
    };
    let premise = |premise: &Premise| match premise {
        Premise::Let { variable, span, .. } | Premise::Aggregate { variable, span, .. } => {
            let constant = taken(*variable).map(|quantity| Premise::Let {
                variable: *variable,
                formula: Expression::Constant(quantity),
                value: None,
                span: *span,
            });
            constant.unwrap_or_else(|| premise.clone())
        }
        _ => premise.clone(),
    };
    Finding { premises: finding.premises[..count].iter().map(premise).collect(), ..finding.clone() }
}

fn check_attempt(
    naive: &mut Naive<'_>,
    finding: &Finding,
    attempt: &Attempt,
    rows: &[Row],
) -> Result<(), TestCaseError> {
    let first = attempt.failures[0].premise;
    let agrees = |bindings: &[Option<String>]| {
        bindings.iter().zip(&attempt.bindings).all(|(judged, told)| match (judged, told) {
            (Some(judged), Some(Cell::Value(told))) => *judged == key(told),
            _ => true,
        })
    };
    let before =
        naive.judge(&first_premises(finding, attempt, first, &[]), &as_taken(finding, attempt, rows));
    prop_assert!(
        before.as_ref().is_some_and(|(_, bindings)| agrees(bindings)),
        "{}: an earlier premise fails",
        finding.id
    );
    let bindings = before.map(|(_, bindings)| bindings).unwrap_or_default();
    let unknown: Vec<usize> = (0..bindings.len()).filter(|at| bindings[*at].is_none()).collect();
    // The failing premise itself stands as it is.
    let mut with = first_premises(finding, attempt, first + 1, &unknown);
    with.premises[first] = finding.premises[first].clone();
    match &finding.premises[first] {
        Premise::Given(pattern) => {
            let at = pattern.relation.index();
            let all: Vec<Row> = naive.known[at].iter().chain(&naive.open[at]).cloned().collect();
            for row in all {
                let mut rows = rows.to_vec();
                rows.push(row);
                let judged = naive.judge(&with, &as_taken(finding, attempt, &rows));
                prop_assert!(
                    judged.is_none_or(|(_, bindings)| !agrees(&bindings)),
                    "{}: a fact is there",
                    finding.id
                );
            }
        }
        _ => {
            let judged = naive.judge(&with, &as_taken(finding, attempt, rows));
            prop_assert!(judged.is_none_or(|(_, bindings)| !agrees(&bindings)), "{}: it is met", finding.id);
        }
    }
    Ok(())
}
