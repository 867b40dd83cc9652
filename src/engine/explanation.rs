//! How an instance of a finding came about: the values of its variables, what each premise met, the facts that it rests on, and the
//! open questions behind a fact. Sentences are made elsewhere.

use super::bind::{bind, values};
use super::derivation::{Derivation, FactId, Ground, Instance, Status};
use super::evaluate::{Truth, decide};
use super::lookup::Lookup;
use super::plan::{FindingPlan, Sentence};
use super::terms::{Cell, Overlay};
use crate::language::{RelationId, VariableId};
use rustc_hash::FxHashSet;
use std::ops::ControlFlow;

/// What a premise of an instance met.
#[derive(Clone, PartialEq, Debug)]
pub enum Met {
    /// A `given`: the fact.
    Given(FactId),
    /// An `unless`: what was looked for and not found known.
    Unless {
        /// The relation.
        relation: RelationId,
        /// What was looked for in each role; `None` stands for anything.
        sought: Vec<Option<Cell>>,
        /// Facts that could still match; they leave the instance open.
        open: Vec<FactId>,
    },
    /// A `let`: the value.
    Let {
        /// The variable.
        variable: VariableId,
        /// Its value.
        value: Cell,
    },
    /// An aggregate: what it ran over and its value.
    Aggregate {
        /// The variable.
        variable: VariableId,
        /// Facts that match, known or open.
        members: Vec<FactId>,
        /// Its value.
        value: Cell,
    },
    /// A `where`: whether it holds or is open.
    Where(Status),
}

/// An instance with its variables' terms.
struct Binding<'a, 'r> {
    plan: &'a FindingPlan<'r>,
    terms: Overlay<'a>,
    registers: Vec<u32>,
}

impl Derivation<'_> {
    /// Works out the variables of an instance; `None` where the finding does not apply to these facts.
    fn bound(&self, instance: &Instance) -> Option<Binding<'_, '_>> {
        let compiled = &self.program.compiled;
        let plan = compiled.findings.get(instance.finding.index())?;
        let fits = instance.premises.len() == plan.givens.len()
            && plan.givens.iter().zip(&instance.premises).all(|(given, fact)| {
                given.relation == fact.relation.index()
                    && fact.row < self.finished.rows[given.relation].count()
            });
        if !fits {
            return None;
        }
        let premises: Vec<u32> = instance.premises.iter().map(|fact| fact.row).collect();
        let mut terms = Overlay::new(&self.finished.pool);
        let mut registers = Vec::new();
        let (rows, constants) = (&self.finished.rows, &self.finished.constants);
        bind(compiled, plan, rows, &premises, constants, &mut terms, &mut registers)?;
        Some(Binding { plan, terms, registers })
    }

    /// The value of each variable of an instance, those of `let` and aggregates too; `None` for a variable that takes
    /// no single value. Empty where the finding does not apply to these facts.
    pub fn bindings(&self, instance: &Instance) -> Vec<Option<Cell>> {
        let Some(binding) = self.bound(instance) else { return Vec::new() };
        let values = binding.plan.bindable.iter().zip(&binding.registers);
        values.map(|(bindable, term)| bindable.then(|| binding.terms.cell(*term))).collect()
    }

    /// What each premise of an instance met, in the order of the finding's premises. Empty where the finding does not
    /// apply to these facts.
    pub fn premises(&self, instance: &Instance) -> Vec<Met> {
        let Some(binding) = self.bound(instance) else { return Vec::new() };
        binding.plan.premises.iter().map(|sentence| self.met(instance, &binding, sentence)).collect()
    }

    fn met(&self, instance: &Instance, binding: &Binding<'_, '_>, sentence: &Sentence<'_>) -> Met {
        let Binding { terms, registers, .. } = binding;
        match sentence {
            Sentence::Given(slot) => Met::Given(instance.premises[*slot]),
            Sentence::Unless(lookup) => {
                let mut sought = vec![None; self.rulebook().relations[lookup.relation].roles.len()];
                for key in &lookup.key {
                    sought[key.column] = Some(terms.cell(registers[key.register]));
                }
                let open = self.matches(lookup, registers);
                Met::Unless { relation: RelationId::new(lookup.relation), sought, open }
            }
            Sentence::Let { register, .. } => {
                Met::Let { variable: VariableId::new(*register), value: terms.cell(registers[*register]) }
            }
            Sentence::Fold { register, fold } => Met::Aggregate {
                variable: VariableId::new(*register),
                members: self.matches(&fold.members, registers),
                value: terms.cell(registers[*register]),
            },
            Sentence::Where(condition) => {
                match decide(condition, &self.rulebook().curves, &values(registers, terms)) {
                    Truth::Open => Met::Where(Status::Open),
                    Truth::Holds | Truth::Fails => Met::Where(Status::Known),
                }
            }
        }
    }

    fn matches(&self, lookup: &Lookup, registers: &[u32]) -> Vec<FactId> {
        let mut found = Vec::new();
        lookup.visit(&self.finished.rows[lookup.relation], registers, |row, _| {
            found.push(FactId { relation: RelationId::new(lookup.relation), row });
            ControlFlow::Continue(())
        });
        found
    }

    /// The facts an instance rests on: those of its premises, open ones under `unless`, and the members of aggregates.
    pub fn rests_on(&self, instance: &Instance) -> Vec<FactId> {
        let met = self.premises(instance).into_iter();
        met.flat_map(|met| match met {
            Met::Given(fact) => vec![fact],
            Met::Unless { open, .. } => open,
            Met::Aggregate { members, .. } => members,
            Met::Let { .. } | Met::Where(_) => Vec::new(),
        })
        .collect()
    }

    /// The unanswered questions that a fact's openness rests on, in order, each once. Empty for a known fact.
    pub fn open_questions(&self, fact: FactId) -> Vec<FactId> {
        let mut seen = FxHashSet::default();
        let mut waiting = vec![fact];
        let mut questions = Vec::new();
        while let Some(fact) = waiting.pop() {
            if self.status(fact) == Status::Known || !seen.insert(fact) {
                continue;
            }
            for ground in self.grounds(fact) {
                match ground {
                    Ground::Table(_) | Ground::Given(_) => {}
                    Ground::Unanswered => questions.push(fact),
                    Ground::Computed { premises } => waiting.extend(premises),
                    Ground::Finding(instance) => waiting.extend(self.rests_on(&instance)),
                }
            }
        }
        questions.sort_unstable();
        questions.dedup();
        questions
    }
}
