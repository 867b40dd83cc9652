//! Two derivations laid against each other: facts of the same relation about the same thing, with one filler in the place of
//! the other, and the numbers and words in which they differ.

use super::formula::with_values;
use super::lacking::{is_figure, role_label};
use crate::engine::{Cell, FactId, Ground, Instance, Met};
use crate::language::{Condition, Expression, Finding, Premise, Term, Type, Value};
use crate::verdict::{Decision, shown};
use serde::Serialize;
use std::collections::VecDeque;

/// A finding that grades a filler.
pub(super) struct Grade {
    /// The grade.
    pub fact: FactId,
    /// What gave it.
    pub instance: Instance,
}

/// A number or word in which two derivations differ.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Numbers {
    /// What it is.
    pub what: String,
    /// With each filler.
    pub values: [String; 2],
    /// The figures of the findings that it is compared with.
    pub limits: Vec<String>,
}

/// More rows than this are no contrast but a list.
const MOST_ROWS: usize = 6;

/// The numbers that differ behind two grades, those of the grades themselves first, down to what the program computes.
pub(super) fn numbers(decision: &Decision<'_>, grades: [&Grade; 2], fillers: [&str; 2]) -> Vec<Numbers> {
    let mut alignment = Alignment { decision, fillers, rows: Vec::new(), waiting: VecDeque::new() };
    alignment.instances([&grades[0].instance, &grades[1].instance]);
    while let Some([first, second]) = alignment.waiting.pop_front() {
        if alignment.rows.len() >= MOST_ROWS {
            break;
        }
        if let (Some(first), Some(second)) =
            (alignment.finding_behind(first), alignment.finding_behind(second))
        {
            alignment.instances([&first, &second]);
        }
    }
    alignment.rows.truncate(MOST_ROWS);
    alignment.rows
}

struct Alignment<'d, 'r> {
    decision: &'d Decision<'r>,
    fillers: [&'d str; 2],
    rows: Vec<Numbers>,
    /// Pairs of facts that differ, to be looked behind.
    waiting: VecDeque<[FactId; 2]>,
}

impl Alignment<'_, '_> {
    fn finding_behind(&self, fact: FactId) -> Option<Instance> {
        self.decision.derivation.grounds(fact).into_iter().find_map(|ground| match ground {
            Ground::Finding(instance) => Some(instance),
            _ => None,
        })
    }

    /// The facts of the `given` premises and of aggregates, each with the place of its premise.
    fn facts(&self, instance: &Instance) -> Vec<(usize, FactId)> {
        let met = self.decision.derivation.premises(instance);
        met.iter()
            .enumerate()
            .flat_map(|(at, met)| match met {
                Met::Given(fact) => vec![(at, *fact)],
                Met::Aggregate { members, .. } => members.iter().map(|fact| (at, *fact)).collect(),
                _ => Vec::new(),
            })
            .collect()
    }

    fn instances(&mut self, instances: [&Instance; 2]) {
        let [firsts, seconds] = instances.map(|instance| self.facts(instance));
        let mut taken = vec![false; seconds.len()];
        for (first_at, first) in &firsts {
            let alone = |facts: &[(usize, FactId)]| {
                facts.iter().filter(|(_, fact)| fact.relation == first.relation).count() == 1
            };
            let alone = alone(&firsts) && alone(&seconds);
            let partner = seconds
                .iter()
                .enumerate()
                .find(|(at, (_, second))| !taken[*at] && self.are_partners(*first, *second, alone));
            let Some((at, (second_at, second))) = partner else { continue };
            taken[at] = true;
            if first != second {
                self.differing([(instances[0], *first_at, *first), (instances[1], *second_at, *second)]);
                self.waiting.push_back([*first, *second]);
            }
        }
    }

    /// Whether two facts say something of the same thing: their names agree, but for the fillers; their words as well, unless
    /// each is the only one of its relation.
    fn are_partners(&self, first: FactId, second: FactId, alone: bool) -> bool {
        if first.relation != second.relation {
            return false;
        }
        let roles = &self.decision.rulebook.relations[first.relation.index()].roles;
        let derivation = &self.decision.derivation;
        roles.iter().enumerate().all(|(at, role)| {
            let (one, other) = (derivation.cell(first, at), derivation.cell(second, at));
            let swapped = || {
                let text = |cell: Option<&Value>| cell.map(ToString::to_string);
                text(one).as_deref() == Some(self.fillers[0])
                    && text(other).as_deref() == Some(self.fillers[1])
            };
            match role.ty {
                Type::Name => one == other || swapped(),
                Type::Word(_) => one == other || alone,
                Type::Text | Type::Number(_) | Type::Range(_) => true,
            }
        })
    }

    /// Notes the roles in which two facts differ, as far as one of the findings looks at them.
    fn differing(&mut self, [first, second]: [(&Instance, usize, FactId); 2]) {
        let decision = self.decision;
        let relation = first.2.relation;
        let declared = &decision.rulebook.relations[relation.index()];
        let cells = [first, second].map(|(_, _, fact)| decision.derivation.cells(fact));
        for (role, of) in declared.roles.iter().enumerate() {
            let told = matches!(of.ty, Type::Number(_) | Type::Range(_) | Type::Word(_));
            if !told || cells[0][role] == cells[1][role] {
                continue;
            }
            let looks = [first, second].map(|(instance, at, _)| looks_at(decision, instance, at, role));
            if looks.iter().all(Option::is_none) {
                continue;
            }
            let shared: Vec<Option<Cell>> = cells[0]
                .iter()
                .zip(&cells[1])
                .map(|(one, other)| (one == other).then(|| one.clone()))
                .collect();
            let what = role_label(decision, relation, role, &shared);
            if self.rows.iter().any(|row| row.what == what) {
                continue;
            }
            let values = [0, 1].map(|at: usize| shown(decision.rulebook, of.ty, &cells[at][role]));
            let mut limits: Vec<String> = looks.into_iter().flatten().flatten().collect();
            limits.sort();
            limits.dedup();
            if values[0] != values[1] {
                self.rows.push(Numbers { what, values, limits });
            }
        }
    }
}

/// The figures that a finding compares a role of one of its premises with; `None` where it does not look at the role.
fn looks_at(
    decision: &Decision<'_>,
    instance: &Instance,
    premise: usize,
    role: usize,
) -> Option<Vec<String>> {
    let finding: &Finding = &decision.rulebook.findings[instance.finding.index()];
    let pattern = match &finding.premises[premise] {
        Premise::Given(pattern) | Premise::Aggregate { members: pattern, .. } => pattern,
        _ => return None,
    };
    let variable = match &pattern.terms[role] {
        Term::Any => return None,
        Term::Constant(_) => return Some(Vec::new()),
        Term::Variable(variable) => *variable,
    };
    let bindings = decision.derivation.bindings(instance);
    let is_it = |side: &Expression| matches!(side, Expression::Variable(id) if *id == variable);
    let limits = finding.premises.iter().filter_map(|premise| {
        let Premise::Where { condition: Condition::Compare { left, right, .. }, .. } = premise else {
            return None;
        };
        let limit = match (is_it(left), is_it(right)) {
            (true, _) => right,
            (_, true) => left,
            _ => return None,
        };
        is_figure(finding, limit).then(|| with_values(decision.rulebook, finding, &bindings, limit))
    });
    Some(limits.collect())
}
