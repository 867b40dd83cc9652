//! A published case as a job: one joint, one filler, and what the rulebook makes of it. No tests live here.

#![allow(dead_code)]

use crate::support::memory;
use crate::support::program::library;
use whyrod::computed::frozen;
use whyrod::engine::Recording;
use whyrod::language::{Rulebook, Value};
use whyrod::metallurgy::freezing::{Freezing, SteepnessSettings};
use whyrod::quantity::{Dimension, Quantity};
use whyrod::verdict::{Decision, decide_with};

/// Dilution where a source gives none: an assumption of these tests.
pub const NOT_GIVEN: (f64, f64) = (0.30, 0.60);

pub fn rulebook() -> &'static Rulebook {
    library::rulebook()
}

/// One joint of two alloys, one filler.
pub struct Seam<'r> {
    decision: Decision<'r>,
    filler: String,
}

impl<'r> Seam<'r> {
    pub fn new(rulebook: &'r Rulebook, bases: [&str; 2], filler: &str, dilution: (f64, f64)) -> Self {
        let (from, to) = (dilution.0 * 100.0, dilution.1 * 100.0);
        let text = format!(
            "title = \"a published case\"\n\
             [parts.one]\nalloy = \"{}\"\nthickness = \"3 mm\"\n\
             [parts.two]\nalloy = \"{}\"\nthickness = \"3 mm\"\n\
             [[joints]]\nname = \"seam\"\nbetween = [\"one\", \"two\"]\nweld = \"lap\"\nprocess = \"GMAW\"\n\
             dilution = \"{from}..{to} %\"\n\
             [service]\nsustained-temperature = \"20 °C\"\nlowest-temperature = \"0 °C\"\nexposure = \"dry\"\n\
             finish = \"none\"\nforming = \"none\"\nheat-treatment = \"none\"\n\
             [choice]\navailable = [\"{filler}\"]\n",
            bases[0], bases[1]
        );
        let job = library::reader().read("case.toml", text.as_bytes()).expect("the job has no mistakes");
        let decision =
            decide_with(rulebook, job, Recording::Everything, memory()).expect("the job can be decided");
        Seam { decision, filler: filler.to_owned() }
    }

    pub fn bare(rulebook: &'r Rulebook, base: &str) -> Self {
        Seam::new(rulebook, [base, base], "1100", (1.0, 1.0))
    }

    /// The facts of a relation, as values by role.
    pub fn facts(&self, relation: &str) -> Vec<Vec<Option<Value>>> {
        let id = self.decision.rulebook.relation(relation).expect("the rulebook has this relation");
        let roles = self.decision.rulebook.relations[id.index()].roles.len();
        let derivation = &self.decision.derivation;
        derivation
            .facts(id)
            .map(|fact| (0..roles).map(|role| derivation.cell(fact, role).cloned()).collect())
            .collect()
    }

    pub fn column(&self, relation: &str, role: &str) -> Vec<Value> {
        let id = self.decision.rulebook.relation(relation).expect("the rulebook has this relation");
        let at = self.decision.rulebook.relations[id.index()].roles.iter().position(|r| r.name == role);
        let at = at.expect("the relation has this role");
        self.facts(relation).into_iter().filter_map(|mut cells| cells.swap_remove(at)).collect()
    }

    pub fn number(&self, relation: &str, role: &str) -> Option<f64> {
        self.column(relation, role).iter().filter_map(base).reduce(f64::max)
    }

    pub fn word(&self, relation: &str, role: &str) -> Option<String> {
        self.column(relation, role).first().map(ToString::to_string)
    }

    /// A column of figures by element for one metal, from a relation whose first two roles are the metal and the element.
    fn contents(&self, relation: &str, metal: &str, role: usize) -> Vec<(String, f64)> {
        self.facts(relation)
            .into_iter()
            .filter(|cells| cells[0].as_ref().is_some_and(|name| name.to_string() == metal))
            .filter_map(|cells| Some((cells[1].as_ref()?.to_string(), base(cells[role].as_ref()?)?)))
            .collect()
    }

    /// What a base metal is meant to hold: as the rulebook has it frozen.
    pub fn base(&self, alloy: &str) -> Vec<(String, f64)> {
        self.contents("alloying", alloy, 2)
    }

    /// The same with impurities at half of their limit.
    pub fn base_with_guesses(&self, alloy: &str) -> Vec<(String, f64)> {
        self.contents("composition", alloy, 3)
    }

    /// The pool at a dilution, both sides melting alike.
    pub fn pool(&self, bases: [&str; 2], dilution: f64) -> Vec<(String, f64)> {
        let mut pool: Vec<(String, f64)> = Vec::new();
        for (share, metal) in [
            (dilution / 2.0, self.base(bases[0])),
            (dilution / 2.0, self.base(bases[1])),
            (1.0 - dilution, self.contents("filler-alloying", &self.filler, 2)),
        ] {
            for (element, content) in metal {
                match pool.iter_mut().find(|(known, _)| *known == element) {
                    Some((_, sum)) => *sum += share * content,
                    None => pool.push((element, share * content)),
                }
            }
        }
        pool.sort_by(|a, b| a.0.cmp(&b.0));
        pool
    }

    /// The standing on hot cracking.
    pub fn standing(&self) -> String {
        self.standing_on("hot cracking").0
    }

    pub fn standing_on(&self, criterion: &str) -> (String, String) {
        let report = self.decision.report();
        let standings = &report.joints[0].verdicts[0].standings;
        let found = standings.iter().find(|standing| standing.criterion == criterion).expect("it is graded");
        (found.standing.to_string(), found.says.clone().unwrap_or_default())
    }
}

pub fn base(value: &Value) -> Option<f64> {
    match value {
        Value::Number(quantity) => Some(quantity.base),
        _ => None,
    }
}

pub fn freeze(composition: &[(String, f64)]) -> Freezing {
    let content = |(element, content): &(String, f64)| {
        (element.clone(), Quantity::from_base(*content, Dimension::MASS_PERCENT))
    };
    frozen(&composition.iter().map(content).collect::<Vec<_>>()).expect("this metal can be frozen")
}

pub fn index(composition: &[(String, f64)]) -> f64 {
    freeze(composition).steepness(&SteepnessSettings::default()).expect("the settings leave a window").index
}

pub fn metal(contents: &[(&str, f64)]) -> Vec<(String, f64)> {
    contents.iter().map(|(element, content)| ((*element).to_owned(), *content)).collect()
}
