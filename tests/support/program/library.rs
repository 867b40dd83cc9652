//! Deciding jobs through the library, for tests that look at many of them. No tests live here.

use crate::support::memory;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;
use whyrod::engine::{Cell, FactId, Recording};
use whyrod::job::JobReader;
use whyrod::language::{Rulebook, Value, read_rulebook};
use whyrod::verdict::{Decision, Verdict, decide_with};

/// The built-in rulebook, read once.
pub fn rulebook() -> &'static Rulebook {
    static READ: OnceLock<Rulebook> = OnceLock::new();
    READ.get_or_init(|| read_rulebook(&super::built_in()).expect("the built-in rulebook"))
}

/// What the built-in rulebook accepts in jobs, gathered once.
pub fn reader() -> &'static JobReader<'static> {
    static READY: OnceLock<JobReader<'static>> = OnceLock::new();
    READY.get_or_init(|| JobReader::new(rulebook()))
}

/// A job, decided by the built-in rulebook, with everything that it rests on.
#[track_caller]
pub fn decided(job: &str) -> Decision<'static> {
    decided_with(job, Recording::Everything)
}

/// A job, decided by the built-in rulebook, for its verdicts alone.
#[track_caller]
pub fn settled(job: &str) -> Decision<'static> {
    decided_with(job, Recording::Nothing)
}

#[track_caller]
fn decided_with(job: &str, recording: Recording) -> Decision<'static> {
    let job = reader().read("job.toml", job.as_bytes()).unwrap_or_else(|errors| panic!("{errors}\n{job}"));
    decide_with(rulebook(), job, recording, memory()).expect("the job is decided")
}

/// A joint and a filler.
pub type Pair = (String, String);

/// The verdict on every filler at every joint.
pub fn verdicts(decision: &Decision<'_>) -> BTreeMap<Pair, Verdict> {
    let report = decision.report();
    let mut found = BTreeMap::new();
    for joint in &report.joints {
        for verdict in &joint.verdicts {
            found.insert((joint.joint.clone(), verdict.filler.clone()), verdict.verdict);
        }
    }
    found
}

/// The pairs with a verdict.
pub fn with_verdict(decision: &Decision<'_>, wanted: Verdict) -> BTreeSet<Pair> {
    verdicts(decision).into_iter().filter(|(_, verdict)| *verdict == wanted).map(|(pair, _)| pair).collect()
}

/// The facts of a relation, with a closure that reads their cells by the names of the roles.
pub fn facts<'d>(decision: &'d Decision<'_>, relation: &str) -> Vec<Fact<'d>> {
    let id = decision.rulebook.relation(relation).unwrap_or_else(|| panic!("no relation {relation}"));
    let roles: &[_] = &decision.rulebook.relations[id.index()].roles;
    let found = decision.derivation.facts(id);
    found
        .map(|fact| Fact {
            id: fact,
            cells: roles.iter().map(|role| role.name.as_str()).zip(decision.derivation.cells(fact)).collect(),
        })
        .collect()
}

/// A fact with its cells by the names of their roles.
pub struct Fact<'d> {
    /// Which fact it is.
    pub id: FactId,
    cells: BTreeMap<&'d str, Cell>,
}

impl Fact<'_> {
    /// A name or word.
    #[track_caller]
    pub fn name(&self, role: &str) -> String {
        self.value(role).to_string()
    }

    /// A value that is known.
    #[track_caller]
    pub fn value(&self, role: &str) -> &Value {
        match &self.cells[role] {
            Cell::Value(value) => value,
            Cell::Unknown => panic!("{role} is not known"),
        }
    }
}
