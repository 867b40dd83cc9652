//! Random layered rulebooks: the engine finds the same known and open facts as a naive evaluation, each derivation it
//! records can be checked on its own, and it records every one once.

use proptest::prelude::*;
use std::collections::BTreeSet;
use whyrod::engine::{
    Cell, Derivation, FactId, GivenFact, Ground, Instance, Met, Program, Recording, Status,
};
use whyrod::language::{Pattern, Premise, RelationId, Rulebook, Term, VariableId};
use whyrod::{language, quantity};

mod attempts;
mod naive;
mod sample;
#[allow(dead_code)]
#[path = "../../../src/engine/small_rulebook.rs"]
mod small_rulebook;

use naive::{Naive, Row, key};
use sample::{Choices, RELATIONS, Sample, sample};

fn row_of(derivation: &Derivation<'_>, fact: FactId) -> Row {
    derivation.cells(fact).iter().map(|cell| cell.value().map(key)).collect()
}

fn facts(derivation: &Derivation<'_>, relation: RelationId, status: Status) -> BTreeSet<Row> {
    derivation
        .facts(relation)
        .filter(|fact| derivation.status(*fact) == status)
        .map(|fact| row_of(derivation, fact))
        .collect()
}

/// Checks one recorded instance against the naive judgement of the same rows.
fn check_instance(
    derivation: &Derivation<'_>,
    naive: &mut Naive<'_>,
    fact: FactId,
    instance: &Instance,
) -> Result<(), TestCaseError> {
    let rulebook = derivation.rulebook();
    let finding = &rulebook.findings[instance.finding.index()];
    let rows: Vec<Row> = instance.premises.iter().map(|premise| row_of(derivation, *premise)).collect();
    let judged = naive.judge(finding, &rows);
    prop_assert!(judged.is_some(), "{} does not apply to {:?}", finding.id, rows);
    let Some((status, bindings)) = judged else { return Ok(()) };
    prop_assert_eq!(status, derivation.status(fact));
    let expected = (fact.relation.index(), row_of(derivation, fact));
    prop_assert!(finding.hence.iter().any(|hence| naive.conclusion(hence, &bindings) == expected));
    for (told, bound) in derivation.bindings(instance).iter().zip(&bindings) {
        if let Some(told) = told {
            prop_assert_eq!(told.value().map(key), bound.clone());
        }
    }
    let met = derivation.premises(instance);
    prop_assert_eq!(met.len(), finding.premises.len());
    let mut left_open = false;
    for (met, premise) in met.iter().zip(&finding.premises) {
        match (met, premise) {
            (Met::Given(premise), Premise::Given(pattern)) => {
                prop_assert_eq!(premise.relation, pattern.relation);
                left_open |= derivation.status(*premise) == Status::Open;
            }
            (Met::Unless { relation, open, .. }, Premise::Unless(pattern)) => {
                prop_assert_eq!(*relation, pattern.relation);
                left_open |= !open.is_empty();
            }
            (Met::Let { variable: told, .. }, Premise::Let { variable, .. }) => {
                prop_assert_eq!(told, variable);
            }
            (Met::Aggregate { variable: told, value, .. }, Premise::Aggregate { variable, .. }) => {
                prop_assert_eq!(told, variable);
                // A value that another premise fixed may stand here although the aggregate itself is unknown.
                left_open |= *value == Cell::Unknown || status == Status::Open;
            }
            (Met::Where(met), Premise::Where { .. }) => left_open |= *met == Status::Open,
            other => prop_assert!(false, "premises out of order: {:?}", other),
        }
    }
    prop_assert_eq!(left_open, status == Status::Open);
    Ok(())
}

fn check(sample: &Sample) -> Result<(), TestCaseError> {
    let rulebook = &sample.small.rulebook;
    let program = match Program::new(rulebook, &[]) {
        Ok(program) => program,
        Err(error) => return Err(TestCaseError::reject(error.to_string())),
    };
    let derivation = program.derive(&sample.given, Recording::Everything).expect("the facts fit");
    let mut naive = Naive::new(sample);
    for at in 0..rulebook.relations.len() {
        let relation = RelationId::new(at);
        prop_assert_eq!(&facts(&derivation, relation, Status::Known), &naive.known[at], "known {}", at);
        prop_assert_eq!(&facts(&derivation, relation, Status::Open), &naive.open[at], "open {}", at);
        for fact in derivation.facts(relation) {
            let grounds = derivation.grounds(fact);
            prop_assert!(!grounds.is_empty());
            for ground in &grounds {
                match ground {
                    Ground::Finding(instance) => check_instance(&derivation, &mut naive, fact, instance)?,
                    Ground::Unanswered => prop_assert_eq!(derivation.status(fact), Status::Open),
                    Ground::Table(index) => {
                        let told: Row =
                            rulebook.facts[*index].cells.iter().map(|value| Some(key(value))).collect();
                        prop_assert_eq!(told, row_of(&derivation, fact));
                    }
                    Ground::Given(index) => {
                        let told: Row =
                            sample.given[*index].cells.iter().map(|value| Some(key(value))).collect();
                        prop_assert_eq!(told, row_of(&derivation, fact));
                    }
                    Ground::Computed { .. } => prop_assert!(false, "nothing is computed here"),
                }
            }
            // What is open rests on a question, unless an unknown cell alone left it open.
            for question in derivation.open_questions(fact) {
                prop_assert_eq!(derivation.grounds(question).contains(&Ground::Unanswered), true);
            }
            prop_assert_eq!(
                derivation.open_questions(fact).is_empty(),
                derivation.status(fact) == Status::Known
            );
        }
    }
    prop_assert_eq!(derivation.counts().records, naive.instances);
    let first = program.derive(&sample.given, Recording::First).expect("the facts fit");
    prop_assert_eq!(first.counts().records, first.counts().facts);
    let nothing = program.derive(&sample.given, Recording::Nothing).expect("the facts fit");
    prop_assert_eq!(nothing.counts().records, 0);
    for other in [&first, &nothing] {
        prop_assert_eq!(other.counts().facts, derivation.counts().facts);
        for at in 0..rulebook.relations.len() {
            let rows = |derivation: &Derivation<'_>| -> Vec<Row> {
                derivation.facts(RelationId::new(at)).map(|fact| row_of(derivation, fact)).collect()
            };
            prop_assert_eq!(rows(other), rows(&derivation));
        }
    }
    let again = program.derive(&sample.given, Recording::Everything).expect("the facts fit");
    for at in 0..rulebook.relations.len() {
        for (one, other) in derivation.facts(RelationId::new(at)).zip(again.facts(RelationId::new(at))) {
            prop_assert_eq!(derivation.grounds(one), again.grounds(other));
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn random_rulebooks_derive_what_a_naive_evaluation_does(numbers in proptest::collection::vec(any::<u16>(), 60..700)) {
        check(&sample(&numbers))?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_a_finding_lacks_for_an_absent_fact_is_what_it_lacks(
        numbers in proptest::collection::vec(any::<u16>(), 60..700),
        asked in proptest::collection::vec(any::<u16>(), 40),
    ) {
        attempts::check(&sample(&numbers), &mut Choices::new(&asked))?;
    }
}

/// Damages a rulebook in one place, as no reader of rule texts would let it pass.
fn damage(rulebook: &mut Rulebook, choices: &mut Choices<'_>) {
    let relations = rulebook.relations.len();
    let number = choices.below(rulebook.findings.len());
    let finding = &mut rulebook.findings[number];
    let count = finding.premises.len();
    let any_relation = RelationId::new(choices.below(relations + 1));
    let any_variable = Term::Variable(VariableId::new(choices.below(finding.variables.len() + 2)));
    let mut patterns: Vec<&mut Pattern> = finding.hence.iter_mut().collect();
    patterns.extend(finding.premises.iter_mut().filter_map(|premise| match premise {
        Premise::Given(pattern) | Premise::Unless(pattern) => Some(pattern),
        Premise::Aggregate { members, .. } => Some(members),
        Premise::Let { .. } | Premise::Where { .. } => None,
    }));
    let chosen = choices.below(patterns.len());
    let pattern = &mut *patterns[chosen];
    match choices.below(8) {
        0 => pattern.relation = any_relation,
        // A relation that fits, so that findings come to depend on themselves.
        1 | 2 => {
            let roles = pattern.terms.len();
            let fitting: Vec<usize> =
                (0..relations).filter(|at| rulebook.relations[*at].roles.len() == roles).collect();
            let at = choices.below(fitting.len());
            pattern.relation = fitting.get(at).map_or(any_relation, |at| RelationId::new(*at));
        }
        3 => _ = pattern.terms.pop(),
        4 => {
            let role = choices.below(pattern.terms.len());
            if let Some(term) = pattern.terms.get_mut(role) {
                *term = any_variable;
            }
        }
        5 => pattern.terms.fill(Term::Any),
        6 if count > 0 => _ = finding.premises.remove(choices.below(count)),
        7 if count > 1 => finding.premises.swap(choices.below(count), choices.below(count)),
        _ => rulebook.relations[choices.below(relations)].roles.truncate(1),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn damaged_rulebooks_come_to_an_end_or_an_error(
        numbers in proptest::collection::vec(any::<u16>(), 60..400),
        damages in proptest::collection::vec(any::<u16>(), 10..40),
    ) {
        let mut sample = sample(&numbers);
        let mut choices = Choices::new(&damages);
        for _ in 0..1 + choices.below(3) {
            damage(&mut sample.small.rulebook, &mut choices);
        }
        let Ok(program) = Program::new(&sample.small.rulebook, &[]) else { return Ok(()) };
        let Ok(derivation) = program.derive(&sample.given, Recording::Everything) else { return Ok(()) };
        for at in 0..sample.small.rulebook.relations.len() {
            for fact in derivation.facts(RelationId::new(at)) {
                for ground in derivation.grounds(fact) {
                    let Ground::Finding(instance) = ground else { continue };
                    let finding = &sample.small.rulebook.findings[instance.finding.index()];
                    prop_assert_eq!(derivation.premises(&instance).len(), finding.premises.len());
                }
            }
        }
    }
}

/// Lists of numbers that are always the same.
fn fixed_numbers(lists: usize) -> Vec<Vec<u16>> {
    let mut state = 7u32;
    let mut number = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (state >> 16) as u16
    };
    (0..lists).map(|_| (0..300).map(|_| number()).collect()).collect()
}

#[test]
fn the_samples_lack_something_in_every_way() {
    let lists = fixed_numbers(200);
    let ways: BTreeSet<&str> = lists
        .iter()
        .zip(lists.iter().skip(1))
        .filter_map(|(numbers, asked)| attempts::check(&sample(numbers), &mut Choices::new(asked)).ok())
        .flatten()
        .collect();
    assert_eq!(ways.len(), 6, "{ways:?}");
}

#[test]
fn the_samples_reach_every_kind_of_premise_and_both_kinds_of_facts() {
    let (mut open, mut known, mut kinds) = (0, 0, BTreeSet::new());
    for numbers in fixed_numbers(200) {
        let sample = sample(&numbers);
        let Ok(program) = Program::new(&sample.small.rulebook, &[]) else { continue };
        let derivation = program.derive(&sample.given, Recording::Everything).expect("the facts fit");
        for at in 5..RELATIONS.len() {
            for fact in derivation.facts(RelationId::new(at)) {
                match derivation.status(fact) {
                    Status::Known => known += 1,
                    Status::Open => open += 1,
                }
                for ground in derivation.grounds(fact) {
                    let Ground::Finding(instance) = ground else { continue };
                    kinds.extend(derivation.premises(&instance).iter().map(|met| match met {
                        Met::Given(_) => "given",
                        Met::Unless { open, .. } if open.is_empty() => "unless",
                        Met::Unless { .. } => "unless, open",
                        Met::Let { value: Cell::Unknown, .. } => "let, unknown",
                        Met::Let { .. } => "let",
                        Met::Aggregate { value: Cell::Unknown, .. } => "aggregate, unknown",
                        Met::Aggregate { .. } => "aggregate",
                        Met::Where(Status::Open) => "where, open",
                        Met::Where(Status::Known) => "where",
                    }));
                }
            }
        }
    }
    assert!(known > 500 && open > 200, "{known} known and {open} open facts");
    assert_eq!(kinds.len(), 9, "{kinds:?}");
}
