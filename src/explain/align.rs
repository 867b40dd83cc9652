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

/// With so many rows nothing is looked for further down.
const ENOUGH: usize = 3;

/// More rows than this are no contrast but a list.
const MOST_ROWS: usize = 6;

/// The numbers that differ behind two grades, those of the grades themselves first, down to what the program computes.
pub(super) fn numbers(decision: &Decision<'_>, grades: [&Grade; 2], fillers: [&str; 2]) -> Vec<Numbers> {
    let mut alignment = Alignment { decision, fillers, rows: Vec::new(), waiting: VecDeque::new() };
    let mut seen = grades.map(|grade| alignment.facts(&grade.instance));
    alignment.lay([&seen[0], &seen[1]]);
    while let Some([first, second]) = alignment.waiting.pop_front() {
        if alignment.rows.len() >= ENOUGH {
            break;
        }
        if let (Some(first), Some(second)) =
            (alignment.finding_behind(first), alignment.finding_behind(second))
        {
            alignment.lay([&alignment.facts(&first), &alignment.facts(&second)]);
        }
    }
    // Grades by different findings may share nothing at once, but something further down.
    for _ in 0..DEEPER {
        if !alignment.rows.is_empty() {
            break;
        }
        seen = seen.map(|seen| alignment.further(seen));
        alignment.lay([&seen[0], &seen[1]]);
    }
    alignment.rows.truncate(MOST_ROWS);
    alignment.rows
}

/// So many steps further down something shared is looked for.
const DEEPER: usize = 3;

/// A fact that a finding looks at.
struct SeenFact {
    instance: Instance,
    /// The place of the premise.
    premise: usize,
    fact: FactId,
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

    /// The facts of the `given` premises and of aggregates.
    fn facts(&self, instance: &Instance) -> Vec<SeenFact> {
        let met = self.decision.derivation.premises(instance);
        let seen = |(premise, met): (usize, Met)| {
            let facts = match met {
                Met::Given(fact) => vec![fact],
                Met::Aggregate { members, .. } => members,
                _ => Vec::new(),
            };
            facts.into_iter().map(move |fact| (premise, fact))
        };
        met.into_iter()
            .enumerate()
            .flat_map(seen)
            .map(|(premise, fact)| SeenFact { instance: instance.clone(), premise, fact })
            .collect()
    }

    /// The facts behind others, each once, with those themselves.
    fn further(&self, seen: Vec<SeenFact>) -> Vec<SeenFact> {
        let mut all = seen;
        for at in 0..all.len() {
            let behind = self.finding_behind(all[at].fact);
            for next in behind.iter().flat_map(|instance| self.facts(instance)) {
                if all.iter().all(|known| known.fact != next.fact) {
                    all.push(next);
                }
            }
        }
        all
    }

    /// Lays facts against each other and notes where partners differ.
    fn lay(&mut self, [firsts, seconds]: [&[SeenFact]; 2]) {
        let mut taken = vec![false; seconds.len()];
        for first in firsts {
            let alone = |facts: &[SeenFact]| {
                facts.iter().filter(|seen| seen.fact.relation == first.fact.relation).count() == 1
            };
            let alone = alone(firsts) && alone(seconds);
            let partner = seconds
                .iter()
                .enumerate()
                .find(|(at, second)| !taken[*at] && self.are_partners(first.fact, second.fact, alone));
            let Some((at, second)) = partner else { continue };
            taken[at] = true;
            if first.fact != second.fact {
                self.differing([first, second]);
                self.waiting.push_back([first.fact, second.fact]);
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
    fn differing(&mut self, [first, second]: [&SeenFact; 2]) {
        let decision = self.decision;
        let relation = first.fact.relation;
        let declared = &decision.rulebook.relations[relation.index()];
        let cells = [first, second].map(|seen| decision.derivation.cells(seen.fact));
        for (role, of) in declared.roles.iter().enumerate() {
            let is_shown = matches!(of.ty, Type::Number(_) | Type::Range(_) | Type::Word(_));
            if !is_shown || cells[0][role] == cells[1][role] {
                continue;
            }
            let looks = [first, second].map(|seen| looks_at(decision, &seen.instance, seen.premise, role));
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
            let values = [0, 1].map(|at: usize| shown(&cells[at][role]));
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
        is_figure(finding, limit).then(|| with_values(decision, finding, &bindings, limit))
    });
    Some(limits.collect())
}
