//! How fast the engine derives, recording everything, the first ground or nothing, beside two libraries that record
//! nothing: the closure of a random graph, and a table of verdicts looked up under five denials. Prints facts per
//! second and bytes per fact, then hands over to the measuring library.

use std::collections::BTreeSet;
use std::fmt::Display;
use std::hint::black_box;
use std::time::{Duration, Instant};
use whyrod::engine::{Derivation, GivenFact, Program, Recording};
use whyrod::{language, quantity};

mod plain;
#[allow(dead_code)]
#[path = "../../src/engine/small_rulebook.rs"]
mod small_rulebook;

use plain::{Verdicts, closure_by_ascent, closure_by_datafrog, verdicts_by_ascent, verdicts_by_datafrog};
use small_rulebook::SmallRulebook;

const NODES: u32 = 1000;
const RECORDINGS: [Recording; 3] = [Recording::Everything, Recording::First, Recording::Nothing];

/// The same numbers on every run.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, limit: u32) -> u32 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % u64::from(limit)) as u32
    }
}

fn edges(count: usize) -> Vec<(u32, u32)> {
    let mut numbers = Numbers(2026);
    let mut edges = BTreeSet::new();
    while edges.len() < count {
        edges.insert((numbers.below(NODES), numbers.below(NODES)));
    }
    edges.into_iter().collect()
}

fn closure_rulebook() -> SmallRulebook {
    let mut small = SmallRulebook::new(&["edge name name", "path name name"]);
    small.finding("path.edge", &["given edge X Y", "hence path X Y"]);
    small.finding("path.longer", &["given path X Y", "given edge Y Z", "hence path X Z"]);
    small
}

fn closure_facts(small: &SmallRulebook, count: usize) -> Vec<GivenFact> {
    edges(count).iter().map(|(from, to)| small.given(&format!("edge n{from} n{to}"))).collect()
}

fn verdict_rulebook() -> SmallRulebook {
    let mut small = SmallRulebook::new(&[
        "pair name name",
        "filler name ratio",
        "service name ratio",
        "cracks name name",
        "corrodes name name",
        "softens name name",
        "usable name name name name",
        "barred name name name name",
    ]);
    let pair = ["given pair A B", "given filler F N", "given service S L"];
    small.finding(
        "usable",
        &[
            pair[0],
            pair[1],
            pair[2],
            "let M = N * 2",
            "where M > L",
            "unless cracks A F",
            "unless cracks B F",
            "unless corrodes A S",
            "unless corrodes B S",
            "unless softens F S",
            "hence usable A B F S",
        ],
    );
    small.finding("barred", &[pair[0], pair[1], pair[2], "unless usable A B F S", "hence barred A B F S"]);
    small
}

/// 465 pairs of 30 bases, 30 fillers, 10 services, and what speaks against them.
fn verdicts() -> Verdicts {
    let mut numbers = Numbers(7);
    let mut some = |count: usize, left: u32, right: u32| -> Vec<(u32, u32)> {
        let mut chosen = BTreeSet::new();
        while chosen.len() < count {
            chosen.insert((numbers.below(left), numbers.below(right)));
        }
        chosen.into_iter().collect()
    };
    Verdicts {
        cracks: some(120, 30, 30),
        corrodes: some(30, 30, 10),
        softens: some(30, 30, 10),
        pairs: (0..30).flat_map(|a| (a..30).map(move |b| (a, b))).collect(),
        fillers: (0..30).map(|filler| (filler, 1.0 + f64::from(filler % 7))).collect(),
        services: (0..10).map(|service| (service, 1.5 + f64::from(service % 4))).collect(),
    }
}

fn verdict_facts(small: &SmallRulebook, verdicts: &Verdicts) -> Vec<GivenFact> {
    let mut lines = Vec::new();
    let mut two = |relation: &str, rows: &[(u32, u32)], marks: [&str; 2]| {
        let [left, right] = marks;
        lines.extend(rows.iter().map(|(a, b)| format!("{relation} {left}{a} {right}{b}")));
    };
    two("pair", &verdicts.pairs, ["b", "b"]);
    two("cracks", &verdicts.cracks, ["b", "f"]);
    two("corrodes", &verdicts.corrodes, ["b", "s"]);
    two("softens", &verdicts.softens, ["f", "s"]);
    lines.extend(verdicts.fillers.iter().map(|(filler, number)| format!("filler f{filler} {number}")));
    lines.extend(verdicts.services.iter().map(|(service, number)| format!("service s{service} {number}")));
    lines.iter().map(|line| small.given(line)).collect()
}

fn derive<'r>(program: &Program<'r>, facts: &[GivenFact], recording: Recording) -> Derivation<'r> {
    program.derive(facts, recording).expect("the facts fit")
}

fn median(mut run: impl FnMut()) -> Duration {
    let mut times: Vec<Duration> = (0..7)
        .map(|_| {
            let start = Instant::now();
            run();
            start.elapsed()
        })
        .collect();
    times.sort();
    times[times.len() / 2]
}

fn line(name: impl Display, time: Duration, facts: usize, bytes: Option<usize>) {
    let million = facts as f64 / time.as_secs_f64() / 1e6;
    let bytes = bytes.map_or(String::new(), |bytes| format!("{:.0}", bytes as f64 / facts as f64));
    println!(
        "{name:<32} {:>9.1} ms {facts:>9} facts {million:>7.2} M/s {bytes:>5}",
        time.as_secs_f64() * 1e3
    );
}

fn table(name: &str, small: &SmallRulebook, facts: &[GivenFact]) -> usize {
    let program = Program::new(&small.rulebook, &[]).expect("the rulebook is sound");
    let mut derived = 0;
    for recording in RECORDINGS {
        let counts = derive(&program, facts, recording).counts();
        derived = counts.facts;
        let time = median(|| drop(black_box(derive(&program, facts, recording))));
        line(format!("{name}, {recording:?}"), time, counts.facts, Some(counts.bytes()));
    }
    derived
}

fn tables() {
    println!("{:<32} {:>12} {:>15} {:>11} {:>5}", "", "median", "", "", "B/fact");
    for count in [2000, 5000] {
        let small = closure_rulebook();
        let name = format!("closure of {count}");
        let facts = table(&name, &small, &closure_facts(&small, count));
        let edges = edges(count);
        assert_eq!(closure_by_ascent(&edges) + count, facts, "the libraries agree");
        assert_eq!(closure_by_datafrog(&edges) + count, facts, "the libraries agree");
        line(format!("{name}, ascent"), median(|| _ = black_box(closure_by_ascent(&edges))), facts, None);
        line(format!("{name}, datafrog"), median(|| _ = black_box(closure_by_datafrog(&edges))), facts, None);
    }
    let small = verdict_rulebook();
    let verdicts = verdicts();
    let given = verdict_facts(&small, &verdicts);
    let facts = table("verdicts", &small, &given);
    assert_eq!(verdicts_by_ascent(&verdicts) + given.len(), facts, "the libraries agree");
    assert_eq!(verdicts_by_datafrog(&verdicts) + given.len(), facts, "the libraries agree");
    line("verdicts, ascent", median(|| _ = black_box(verdicts_by_ascent(&verdicts))), facts, None);
    line("verdicts, datafrog", median(|| _ = black_box(verdicts_by_datafrog(&verdicts))), facts, None);
}

fn main() {
    tables();
    divan::main();
}

mod closure {
    use super::*;

    const COUNTS: [usize; 2] = [2000, 5000];

    fn whyrod(bencher: divan::Bencher<'_, '_>, count: usize, recording: Recording) {
        let small = closure_rulebook();
        let facts = closure_facts(&small, count);
        let program = Program::new(&small.rulebook, &[]).expect("the rulebook is sound");
        bencher.bench_local(|| derive(&program, &facts, recording));
    }

    #[divan::bench(args = COUNTS, sample_count = 10)]
    fn everything(bencher: divan::Bencher<'_, '_>, count: usize) {
        whyrod(bencher, count, Recording::Everything);
    }

    #[divan::bench(args = COUNTS, sample_count = 10)]
    fn first(bencher: divan::Bencher<'_, '_>, count: usize) {
        whyrod(bencher, count, Recording::First);
    }

    #[divan::bench(args = COUNTS, sample_count = 10)]
    fn nothing(bencher: divan::Bencher<'_, '_>, count: usize) {
        whyrod(bencher, count, Recording::Nothing);
    }

    #[divan::bench(args = COUNTS, sample_count = 10)]
    fn ascent(bencher: divan::Bencher<'_, '_>, count: usize) {
        let edges = edges(count);
        bencher.bench_local(|| closure_by_ascent(&edges));
    }

    #[divan::bench(args = COUNTS, sample_count = 10)]
    fn datafrog(bencher: divan::Bencher<'_, '_>, count: usize) {
        let edges = edges(count);
        bencher.bench_local(|| closure_by_datafrog(&edges));
    }
}

mod verdict {
    use super::*;

    #[divan::bench(args = RECORDINGS, sample_count = 20)]
    fn whyrod(bencher: divan::Bencher<'_, '_>, recording: &Recording) {
        let small = verdict_rulebook();
        let facts = verdict_facts(&small, &verdicts());
        let program = Program::new(&small.rulebook, &[]).expect("the rulebook is sound");
        bencher.bench_local(|| derive(&program, &facts, *recording));
    }

    #[divan::bench(sample_count = 20)]
    fn ascent(bencher: divan::Bencher<'_, '_>) {
        let verdicts = verdicts();
        bencher.bench_local(|| verdicts_by_ascent(&verdicts));
    }

    #[divan::bench(sample_count = 20)]
    fn datafrog(bencher: divan::Bencher<'_, '_>) {
        let verdicts = verdicts();
        bencher.bench_local(|| verdicts_by_datafrog(&verdicts));
    }
}
