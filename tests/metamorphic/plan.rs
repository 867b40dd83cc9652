//! Random jobs, and how they are written: in metric units or others, with the sides of a joint either way round, under any
//! names. No tests live here.

use crate::support::memory;
use crate::support::program::library::rulebook;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::collections::BTreeMap;
use std::fmt::Write;
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::verdict::{Verdict, decide_with};

/// Metals that meet in practice, more of them than of those that no filler serves.
const ALLOYS: [&str; 24] = [
    "1050", "1100", "2014", "2024", "2219", "3003", "3004", "3103", "5005", "5052", "5083", "5454", "5754",
    "6005A", "6061", "6063", "6082", "7005", "7020", "319.0", "355.0", "A356.0", "443.0", "514.0",
];

const FILLERS: [&str; 14] = [
    "1100", "2319", "3103", "4043", "4047", "4145", "4643", "4943", "5183", "5356", "5554", "5556", "5654",
    "R-A356.0",
];

pub const CRITERIA: [&str; 9] = [
    "hot cracking",
    "joint strength",
    "forming",
    "corrosion",
    "sustained heat",
    "anodised shade",
    "heat treatment",
    "cold service",
    "common stock",
];

const WELDS: [&str; 8] =
    ["square butt", "single-v butt", "double-v butt", "fillet", "lap", "corner", "edge", "plug"];

/// A random job. Lengths are in twentieths of an inch and loads in tenths of a kilonewton, so that both units have few
/// digits.
#[derive(Clone, Debug)]
pub struct Plan {
    pub joints: Vec<JointPlan>,
    pub stock: Option<Vec<&'static str>>,
    pub order: Vec<&'static str>,
}

#[derive(Clone, Debug)]
pub struct JointPlan {
    pub sides: [Side; 2],
    pub weld: &'static str,
    pub process: &'static str,
    pub leg: u32,
    /// Lowest and highest, in per cent.
    pub dilution: Option<[u32; 2]>,
    pub load: Option<Load>,
    pub service: Service,
}

#[derive(Clone, Debug)]
pub struct Side {
    pub alloy: &'static str,
    pub thickness: u32,
}

#[derive(Clone, Debug)]
pub struct Load {
    pub shear: u32,
    pub length: u32,
}

/// Answers about the service; what is not answered is left out of the job. Temperatures are in °C.
#[derive(Clone, Debug)]
pub struct Service {
    pub sustained: Option<i32>,
    pub lowest: Option<i32>,
    pub exposure: Option<&'static str>,
    pub finish: Option<&'static str>,
    pub forming: Option<&'static str>,
    pub treatment: Option<&'static str>,
}

/// An answer that is given nine times in ten.
fn answered<T: Clone + std::fmt::Debug>(
    values: impl Strategy<Value = T>,
) -> impl Strategy<Value = Option<T>> {
    prop::option::weighted(0.9, values)
}

fn service() -> impl Strategy<Value = Service> {
    let sustained = prop_oneof![Just(20), Just(65), Just(66), Just(95), 20..200];
    let exposure =
        prop::sample::select(vec!["dry", "outdoor", "fresh water", "sea water", "food", "chemical"]);
    let finish = prop::sample::select(vec!["none", "painted", "clear anodised", "colour anodised"]);
    let forming = prop::sample::select(vec!["none", "light", "severe"]);
    let treatment = prop::sample::select(vec!["none", "none", "age", "solution and age"]);
    let answers = (
        answered(sustained),
        answered(-200..20),
        answered(exposure),
        answered(finish),
        answered(forming),
        answered(treatment),
    );
    answers.prop_map(|(sustained, lowest, exposure, finish, forming, treatment)| Service {
        sustained,
        lowest,
        exposure,
        finish,
        forming,
        treatment,
    })
}

fn joint() -> impl Strategy<Value = JointPlan> {
    let side = || {
        (prop::sample::select(ALLOYS.to_vec()), 1..12u32)
            .prop_map(|(alloy, size)| Side { alloy, thickness: size * 2 })
    };
    let second = prop::option::weighted(0.7, side());
    let dilution = prop::option::weighted(0.3, (0..90u32, 0..40u32));
    let load = prop::option::weighted(0.3, (1..800u32, 10..200u32));
    let sizes = (2..12u32, dilution, load);
    let weld = prop_oneof![Just("fillet"), prop::sample::select(WELDS.to_vec())];
    let process = prop::sample::select(vec!["GTAW", "GMAW"]);
    (side(), second, weld, process, sizes, service()).prop_map(
        |(first, second, weld, process, (leg, dilution, load), service)| JointPlan {
            sides: [first.clone(), second.unwrap_or(first)],
            weld,
            process,
            leg,
            dilution: dilution.map(|(lowest, width)| [lowest, (lowest + width).min(100)]),
            load: load.map(|(shear, length)| Load { shear, length }),
            service,
        },
    )
}

/// Random jobs of one or two joints, mostly with a stock of a few fillers: each filler that is looked at is frozen.
pub fn plan() -> impl Strategy<Value = Plan> {
    let stock = prop::option::weighted(0.9, prop::sample::subsequence(FILLERS.to_vec(), 2..6));
    let order = prop::sample::subsequence(CRITERIA.to_vec(), 0..4).prop_shuffle();
    (prop::collection::vec(joint(), 1..3), stock, order).prop_map(|(joints, stock, order)| Plan {
        joints,
        stock,
        order,
    })
}

/// Holds a property against random jobs, the same in every run. `METAMORPHIC_CASES` asks for more of them.
pub fn for_random_jobs(property: impl Fn(Plan) -> Result<(), TestCaseError>) {
    let asked = std::env::var("METAMORPHIC_CASES").ok().and_then(|cases| cases.parse().ok());
    let config = Config {
        max_shrink_iters: 200,
        failure_persistence: None,
        ..Config::with_cases(asked.unwrap_or(16))
    };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    if let Err(failure) = runner.run(&plan(), property) {
        panic!("{failure}");
    }
}

/// How a plan is written down.
#[derive(Clone, Copy)]
pub struct Writing {
    /// Inches, °F, pounds and shares of one in the place of millimetres, °C, kilonewtons and per cent.
    pub imperial: bool,
    /// Second side first.
    pub swapped: bool,
    /// Names of joints and parts begin with this.
    pub names: &'static str,
}

pub const PLAIN: Writing = Writing { imperial: false, swapped: false, names: "" };

impl Writing {
    fn length(self, twentieths: u32) -> String {
        match self.imperial {
            true => format!("{} in", f64::from(twentieths) / 20.0),
            false => format!("{} mm", f64::from(twentieths * 127) / 100.0),
        }
    }

    fn temperature(self, celsius: i32) -> String {
        match self.imperial {
            true => format!("{} °F", f64::from(celsius * 18 + 320) / 10.0),
            false => format!("{celsius} °C"),
        }
    }

    fn force(self, tenths: u32) -> String {
        let kilonewtons = f64::from(tenths) / 10.0;
        match self.imperial {
            true => format!("{} lbf", kilonewtons * 1000.0 / 4.448_221_615_260_5),
            false => format!("{kilonewtons} kN"),
        }
    }

    fn dilution(self, [lowest, highest]: [u32; 2]) -> String {
        match self.imperial {
            true => format!("{}..{}", f64::from(lowest) / 100.0, f64::from(highest) / 100.0),
            false => format!("{lowest}..{highest} %"),
        }
    }
}

impl Plan {
    /// The job file.
    pub fn written(&self, writing: Writing) -> String {
        let mut text = "title = \"a random job\"\n".to_owned();
        let names = writing.names;
        for (at, joint) in self.joints.iter().enumerate() {
            for (side, letter) in joint.sides.iter().zip(["a", "b"]) {
                let thickness = writing.length(side.thickness);
                let _ = write!(
                    text,
                    "[parts.\"{names}{at}{letter}\"]\nalloy = \"{}\"\nthickness = \"{thickness}\"\n",
                    side.alloy
                );
            }
        }
        for (at, joint) in self.joints.iter().enumerate() {
            let [first, second] = if writing.swapped { ["b", "a"] } else { ["a", "b"] };
            let _ = write!(
                text,
                "[[joints]]\nname = \"{names}{at}\"\nbetween = [\"{names}{at}{first}\", \"{names}{at}{second}\"]\n\
                 weld = \"{}\"\nprocess = \"{}\"\n",
                joint.weld, joint.process
            );
            if ["fillet", "lap", "corner"].contains(&joint.weld) {
                let _ = writeln!(text, "leg = \"{}\"", writing.length(joint.leg));
            }
            if let Some(dilution) = joint.dilution {
                let _ = writeln!(text, "dilution = \"{}\"", writing.dilution(dilution));
            }
            if let Some(Load { shear, length }) = joint.load {
                let (shear, length) = (writing.force(shear), writing.length(length));
                let _ = writeln!(text, "load = {{ shear = \"{shear}\", length = \"{length}\" }}");
            }
            text += "[joints.service]\n";
            let service = &joint.service;
            for (key, answer) in [
                ("sustained-temperature", service.sustained.map(|celsius| writing.temperature(celsius))),
                ("lowest-temperature", service.lowest.map(|celsius| writing.temperature(celsius))),
                ("exposure", service.exposure.map(str::to_owned)),
                ("finish", service.finish.map(str::to_owned)),
                ("forming", service.forming.map(str::to_owned)),
                ("heat-treatment", service.treatment.map(str::to_owned)),
            ] {
                if let Some(answer) = answer {
                    let _ = writeln!(text, "{key} = \"{answer}\"");
                }
            }
        }
        text += "[choice]\n";
        let quoted = |list: &[&str]| {
            format!("[{}]", list.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", "))
        };
        if let Some(stock) = &self.stock {
            let _ = writeln!(text, "available = {}", quoted(stock));
        }
        if !self.order.is_empty() {
            let _ = writeln!(text, "order = {}", quoted(&self.order));
        }
        text
    }

    /// What is said of every filler at every joint, by the number of the joint.
    pub fn decided(&self, writing: Writing) -> Decided {
        let text = self.written(writing);
        let job = read_job("job.toml", text.as_bytes(), rulebook())
            .unwrap_or_else(|errors| panic!("{errors}\n{text}"));
        let report =
            decide_with(rulebook(), job, Recording::Nothing, memory()).expect("the job is decided").report();
        let mut decided = BTreeMap::new();
        for joint in report.joints {
            let number = joint.joint.strip_prefix(writing.names).expect("the name it was given");
            let number: usize = number.parse().expect("a number");
            for verdict in joint.verdicts {
                let standings = verdict
                    .standings
                    .into_iter()
                    .map(|standing| (standing.criterion, standing.standing.to_string()))
                    .collect();
                decided.insert((number, verdict.filler), Said { verdict: verdict.verdict, standings });
            }
        }
        decided
    }
}

/// What is said of a filler at a joint.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Said {
    pub verdict: Verdict,
    /// By criterion.
    pub standings: BTreeMap<String, String>,
}

/// By the number of the joint and the filler.
pub type Decided = BTreeMap<(usize, String), Said>;
