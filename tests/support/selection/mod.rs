//! One joint of two alloys as a job, and what the rulebook makes of every filler there. No tests live here.

#![allow(dead_code)]

pub mod rows;

use crate::support::memory;
use crate::support::program::library;
use std::collections::BTreeMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use whyrod::computed::COMPUTATIONS;
use whyrod::engine::{GivenFact, Program, Recording};
use whyrod::language::Rulebook;
use whyrod::verdict::{Decision, FillerVerdict, JointReport, Level, Verdict, Vocabulary};

pub fn rulebook() -> &'static Rulebook {
    library::rulebook()
}

/// What is asked of a joint. Every question about its service is answered, so that no verdict stays open.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Asked {
    pub bases: [String; 2],
    /// A single-v butt; else a fillet with a leg of 5 mm. The plate is 6 mm thick.
    pub butt: bool,
    pub sustained: &'static str,
    pub lowest: &'static str,
    pub exposure: &'static str,
    /// Where the exposure is to a chemical.
    pub chemical: Option<&'static str>,
    pub finish: &'static str,
    pub forming: &'static str,
    /// Where the source speaks of it.
    pub dilution: Option<&'static str>,
    /// Shear and the length of weld that carries it.
    pub load: Option<(&'static str, &'static str)>,
    /// Criteria ranked before the rulebook's own order.
    pub order: &'static [&'static str],
}

impl Asked {
    /// A fillet that stays dry, at room temperature, as welded.
    pub fn of(first: &str, second: &str) -> Self {
        Asked {
            bases: [first.to_owned(), second.to_owned()],
            butt: false,
            sustained: "20 °C",
            lowest: "0 °C",
            exposure: "dry",
            chemical: None,
            finish: "none",
            forming: "none",
            dilution: None,
            load: None,
            order: &[],
        }
    }

    fn job(&self) -> String {
        let weld = if self.butt { "weld = \"single-v butt\"" } else { "weld = \"fillet\"\nleg = \"5 mm\"" };
        let dilution = self.dilution.map(|share| format!("dilution = \"{share}\"\n")).unwrap_or_default();
        let load = self
            .load
            .map(|(shear, length)| format!("load = {{ shear = \"{shear}\", length = \"{length}\" }}\n"));
        let load = load.unwrap_or_default();
        let chemical = self.chemical.map(|name| format!("chemical = \"{name}\"\n")).unwrap_or_default();
        let order: Vec<String> = self.order.iter().map(|criterion| format!("\"{criterion}\"")).collect();
        let choice = match order.is_empty() {
            true => String::new(),
            false => format!("[choice]\norder = [{}]\n", order.join(", ")),
        };
        format!(
            "title = \"a published choice\"\n\
             [parts.one]\nalloy = \"{}\"\nthickness = \"6 mm\"\n\
             [parts.two]\nalloy = \"{}\"\nthickness = \"6 mm\"\n\
             [[joints]]\nname = \"seam\"\nbetween = [\"one\", \"two\"]\n{weld}\nprocess = \"GTAW\"\n{dilution}{load}\
             [service]\nsustained-temperature = \"{}\"\nlowest-temperature = \"{}\"\nexposure = \"{}\"\n\
             finish = \"{}\"\nforming = \"{}\"\nheat-treatment = \"none\"\n{chemical}{choice}",
            self.bases[0],
            self.bases[1],
            self.sustained,
            self.lowest,
            self.exposure,
            self.finish,
            self.forming,
        )
    }
}

/// The rulebook made ready once, for all joints.
pub struct Chooser<'r> {
    pub rulebook: &'r Rulebook,
    program: Program<'r>,
    vocabulary: Vocabulary,
}

impl<'r> Chooser<'r> {
    pub fn new(rulebook: &'r Rulebook) -> Self {
        let program =
            Program::with_memory(rulebook, COMPUTATIONS, memory()).expect("the rulebook can be run");
        let vocabulary = Vocabulary::of(rulebook).expect("the rulebook speaks of verdicts");
        Chooser { rulebook, program, vocabulary }
    }

    /// What a relation holds whatever the job, as texts by role.
    pub fn holds(&self, relation: &str) -> Vec<Vec<String>> {
        let id = self.rulebook.relation(relation).expect("the rulebook has this relation");
        let roles = self.rulebook.relations[id.index()].roles.len();
        let derivation = self.program.derive(&[], Recording::Nothing).expect("the rulebook can be run");
        let text = |fact, role| derivation.cell(fact, role).map(ToString::to_string).unwrap_or_default();
        derivation.facts(id).map(|fact| (0..roles).map(|role| text(fact, role)).collect()).collect()
    }

    /// Decides every job of a list, on all processors.
    pub fn decide_all(&self, jobs: &[Asked]) -> BTreeMap<Asked, Choice> {
        let threads = std::thread::available_parallelism().map_or(1, usize::from);
        let next = AtomicUsize::new(0);
        let work = || {
            let mut decided = Vec::new();
            while let Some(asked) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                decided.push((asked.clone(), self.decide(asked)));
            }
            decided
        };
        std::thread::scope(|scope| {
            let workers: Vec<_> = (0..threads).map(|_| scope.spawn(work)).collect();
            workers.into_iter().flat_map(|worker| worker.join().expect("every job is decided")).collect()
        })
    }

    /// Every known filler at the joint.
    pub fn decide(&self, asked: &Asked) -> Choice {
        let job = library::reader()
            .read("choice.toml", asked.job().as_bytes())
            .unwrap_or_else(|errors| panic!("{asked:?}: {errors}"));
        let given: Vec<GivenFact> = job
            .facts
            .iter()
            .map(|fact| GivenFact { relation: fact.relation, cells: fact.cells.clone() })
            .collect();
        let derivation = self.program.derive(&given, Recording::First).expect("the job can be decided");
        let vocabulary = self.vocabulary.clone();
        let decision = Decision { rulebook: self.rulebook, job, derivation, vocabulary };
        let report = decision.report().joints.swap_remove(0);
        assert!(report.open.is_empty(), "{asked:?} leaves open: {:?}", report.open);
        Choice { report }
    }
}

/// The verdicts on every filler at one joint.
pub struct Choice {
    report: JointReport,
}

impl Choice {
    pub fn of(&self, filler: &str) -> &FillerVerdict {
        let found = self.report.verdicts.iter().find(|verdict| verdict.filler == filler);
        found.unwrap_or_else(|| panic!("{filler} is no filler of the rulebook"))
    }

    pub fn serves(&self, filler: &str) -> bool {
        matches!(self.of(filler).verdict, Verdict::Recommended | Verdict::Usable)
    }

    pub fn bars(&self, filler: &str) -> bool {
        self.of(filler).verdict == Verdict::Barred
    }

    pub fn recommended(&self) -> &[String] {
        &self.report.recommended
    }

    pub fn serving(&self) -> Vec<&str> {
        let all = self.report.verdicts.iter().map(|verdict| verdict.filler.as_str());
        all.filter(|filler| self.serves(filler)).collect()
    }

    pub fn looked_at(&self) -> usize {
        self.report.verdicts.len()
    }

    /// How a filler stands on a criterion.
    pub fn standing(&self, filler: &str, criterion: &str) -> &str {
        let standings = &self.of(filler).standings;
        let found = standings.iter().find(|standing| standing.criterion == criterion);
        found.unwrap_or_else(|| panic!("{filler} is not graded on {criterion}")).standing.word()
    }

    /// Why a filler is barred, in the rulebook's words.
    pub fn why_barred(&self, filler: &str) -> String {
        let barred = self.of(filler).standings.iter().find(|standing| standing.standing == Level::Barred);
        barred.map_or_else(String::new, |standing| {
            format!("{}: {}", standing.criterion, standing.says.as_deref().unwrap_or_default())
        })
    }
}
