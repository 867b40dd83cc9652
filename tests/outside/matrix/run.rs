//! Every pair of base alloys in four services, decided with every filler. No tests live here.

use crate::support::memory;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::sync::atomic::{AtomicUsize, Ordering};
use whyrod::computed::COMPUTATIONS;
use whyrod::engine::{GivenFact, Program, Recording, Status};
use whyrod::job::read_job;
use whyrod::language::{Rulebook, Value};
use whyrod::verdict::Vocabulary;

/// What a joint has to stand, with the words of the job file for it. The rest is the same everywhere: a fillet of 5 mm in
/// parts of 6 mm, GTAW, neither formed nor heat treated afterwards, and no load.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Service {
    Dry,
    Hot,
    Sea,
    Anodised,
}

impl Service {
    pub const ALL: [Service; 4] = [Service::Dry, Service::Hot, Service::Sea, Service::Anodised];

    pub fn name(self) -> &'static str {
        match self {
            Service::Dry => "dry",
            Service::Hot => "hot",
            Service::Sea => "sea",
            Service::Anodised => "anodised",
        }
    }

    /// Sustained temperature, exposure and finish.
    fn answers(self) -> [&'static str; 3] {
        match self {
            Service::Dry => ["20 °C", "dry", "none"],
            Service::Hot => ["95 °C", "dry", "none"],
            Service::Sea => ["20 °C", "sea water", "none"],
            Service::Anodised => ["20 °C", "dry", "clear anodised"],
        }
    }
}

/// How many joints make up a job. More take more room, fewer read the tables of the rulebook more often.
const JOINTS: usize = 200;

/// A base alloy of the rulebook.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Alloy {
    pub name: String,
    pub family: String,
}

impl Alloy {
    pub fn is_cast(&self) -> bool {
        self.name.contains('.')
    }
}

/// Two alloys by their places in the list, the first not behind the second.
pub type Pair = (usize, usize);

/// What the rulebook makes of every filler at a joint.
#[derive(Clone, Default, PartialEq, Eq, Debug)]
pub struct Outcome {
    pub usable: BTreeSet<String>,
    pub recommended: BTreeSet<String>,
    /// For each filler that is barred, the criteria that bar it.
    pub barred: BTreeMap<String, BTreeSet<String>>,
}

/// Base alloys in the order of the rulebook's tables.
pub fn alloys(rulebook: &Rulebook) -> Vec<Alloy> {
    let id = rulebook.relation("base-alloy").expect("the rulebook has base alloys");
    let rows = rulebook.facts.iter().filter(|fact| fact.relation == id);
    let mut alloys: Vec<Alloy> = rows
        .map(|fact| Alloy { name: fact.cells[0].to_string(), family: fact.cells[1].to_string() })
        .collect();
    alloys.sort();
    alloys
}

/// All unordered pairs of so many alloys, each with itself as well.
pub fn pairs(alloys: usize) -> Vec<Pair> {
    (0..alloys).flat_map(|first| (first..alloys).map(move |second| (first, second))).collect()
}

fn job(alloys: &[Alloy], joints: &[(Pair, Service)]) -> String {
    let mut text = "title = \"a part of the matrix\"\n".to_owned();
    for (at, alloy) in alloys.iter().enumerate() {
        for side in ["a", "b"] {
            let _ = write!(text, "[parts.{side}{at}]\nalloy = \"{}\"\nthickness = \"6 mm\"\n", alloy.name);
        }
    }
    for (at, ((first, second), service)) in joints.iter().enumerate() {
        let [sustained, exposure, finish] = service.answers();
        let _ = write!(
            text,
            "[[joints]]\nname = \"{at}\"\nbetween = [\"a{first}\", \"b{second}\"]\nweld = \"fillet\"\nleg = \"5 mm\"\n\
             process = \"GTAW\"\n[joints.service]\nsustained-temperature = \"{sustained}\"\n\
             lowest-temperature = \"0 °C\"\nexposure = \"{exposure}\"\nfinish = \"{finish}\"\nforming = \"none\"\n\
             heat-treatment = \"none\"\n"
        );
    }
    text
}

/// Decides joints, on all processors.
pub fn decide(
    rulebook: &Rulebook,
    alloys: &[Alloy],
    joints: &[(Pair, Service)],
) -> BTreeMap<(Pair, Service), Outcome> {
    let program = Program::with_memory(rulebook, COMPUTATIONS, memory()).expect("the rulebook can be run");
    let words = Vocabulary::of(rulebook).expect("the rulebook speaks of verdicts");
    let parts: Vec<&[(Pair, Service)]> = joints.chunks(JOINTS).collect();
    let next = AtomicUsize::new(0);
    let work = || {
        let mut decided = Vec::new();
        while let Some(part) = parts.get(next.fetch_add(1, Ordering::Relaxed)) {
            let outcomes = decide_part(rulebook, &program, &words, &job(alloys, part), part.len());
            decided.extend(part.iter().copied().zip(outcomes));
        }
        decided
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
        workers.into_iter().flat_map(|worker| worker.join().expect("every joint is decided")).collect()
    })
}

fn decide_part(
    rulebook: &Rulebook,
    program: &Program<'_>,
    words: &Vocabulary,
    text: &str,
    joints: usize,
) -> Vec<Outcome> {
    let job = read_job("matrix.toml", text.as_bytes(), rulebook).unwrap_or_else(|errors| panic!("{errors}"));
    let given: Vec<GivenFact> = job
        .facts
        .iter()
        .map(|fact| GivenFact { relation: fact.relation, cells: fact.cells.clone() })
        .collect();
    let derivation = program.derive(&given, Recording::Nothing).expect("the rules run");
    let mut outcomes = vec![Outcome::default(); joints];
    let cells = |relation, roles: &[usize]| -> Vec<Vec<String>> {
        let facts = derivation.facts(relation);
        facts
            .map(|fact| {
                assert_eq!(derivation.status(fact), Status::Known, "every question is answered");
                let cell = |role: &usize| derivation.cell(fact, *role).map(Value::to_string);
                roles.iter().map(|role| cell(role).expect("a known cell")).collect()
            })
            .collect()
    };
    let joint = |cells: &[String]| cells[0].parse::<usize>().expect("the number of a joint");
    for mut pair in cells(words.usable.relation, &words.usable.roles) {
        outcomes[joint(&pair)].usable.insert(pair.swap_remove(1));
    }
    for mut pair in cells(words.recommended.relation, &words.recommended.roles) {
        outcomes[joint(&pair)].recommended.insert(pair.swap_remove(1));
    }
    for barred in cells(words.barred.relation, &words.barred.roles) {
        let by_filler = &mut outcomes[joint(&barred)].barred;
        by_filler.entry(barred[1].clone()).or_default().insert(barred[2].clone());
    }
    outcomes
}
