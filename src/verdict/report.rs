//! The shapes of the contract: what `choose --json` writes. Filled in `collect.rs`.

use super::level::Level;
use crate::quantity::{Quantity, Unit};
use serde::Serialize;
use std::collections::BTreeMap;

/// The answer to a job.
#[derive(Clone, Debug, Serialize)]
pub struct Report {
    /// Which program answered.
    pub program: ProgramStamp,
    /// By which rules.
    pub rulebook: RulebookStamp,
    /// About what.
    pub job: JobStamp,
    /// Joints in the order of the job file.
    pub joints: Vec<JointReport>,
    /// The smallest set of fillers that serves every joint that can be served.
    pub fewest_fillers: FewestFillers,
    /// What to mind, once each.
    pub cautions: Vec<String>,
}

/// Name and version.
#[derive(Clone, Debug, Serialize)]
pub struct ProgramStamp {
    /// `whyrod`.
    pub name: &'static str,
    /// Its version.
    pub version: &'static str,
}

/// Which rulebook.
#[derive(Clone, Debug, Serialize)]
pub struct RulebookStamp {
    /// SHA-256 of its texts.
    pub fingerprint: String,
    /// How many findings it has.
    pub findings: usize,
}

/// Which job.
#[derive(Clone, Debug, Serialize)]
pub struct JobStamp {
    /// Its title; empty where it has none.
    pub title: String,
    /// SHA-256 of its file.
    pub fingerprint: String,
}

/// The answer for one joint.
#[derive(Clone, Debug, Serialize)]
pub struct JointReport {
    /// The joint.
    pub joint: String,
    /// The two parts.
    pub between: [String; 2],
    /// Fillers that nothing bars and nothing beats.
    pub recommended: Vec<String>,
    /// What decided for the recommended filler, where one is recommended.
    pub decisive: Option<Decisive>,
    /// Every candidate: recommended ones first, then usable, open, unjudged, barred.
    pub verdicts: Vec<FillerVerdict>,
    /// Unanswered questions that some verdict waits on, the one that decides most fillers first.
    pub open: Vec<OpenQuestion>,
    /// Where answers are missing of which none could change the recommendation, where they would stand.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub whatever: Vec<String>,
    /// Whether that was found by trying some numbers, not all that can differ.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub by_sample: bool,
}

/// What decided for the recommended filler.
#[derive(Clone, Debug, Serialize)]
pub struct Decisive {
    /// The criterion.
    pub criterion: String,
    /// Why, in a welder's words, where the rulebook has them.
    pub plainly: Option<String>,
    /// What was found of the recommended filler on it.
    pub says: String,
    /// How many other fillers it stops by itself: `beaten` and `barred_alone` together.
    pub against: usize,
    /// Usable fillers that are beaten on it.
    pub beaten: usize,
    /// Fillers that it bars and nothing else does.
    pub barred_alone: usize,
    /// Fillers that are barred on it and on something else as well.
    pub barred_with_others: usize,
}

impl Decisive {
    /// What it decides, of so many other fillers, as a sentence that begins with `subject`; `None` where it decides nothing.
    pub fn sentence(&self, subject: &str, others: usize) -> Option<String> {
        let against = match self.against {
            0 => return None,
            1 if others == 1 => "the one other filler".to_owned(),
            1 => format!("one of {others} other fillers"),
            all if all == others => format!("all {others} others"),
            some => format!("{some} of {others} others"),
        };
        let how = match (self.beaten, self.barred_alone) {
            (_, 0) => String::new(),
            (0, 1) => ", which is barred on it alone".to_owned(),
            (0, _) => ", which are barred on it alone".to_owned(),
            (beaten, barred) => format!(" ({beaten} usable but worse on it, {barred} barred on it alone)"),
        };
        let besides = match self.barred_with_others {
            0 => String::new(),
            1 => "; one more is barred on it, and on something else too".to_owned(),
            more => format!("; {more} more are barred on it, and on something else too"),
        };
        Some(format!("{subject} decides against {against}{how}{besides}."))
    }
}

/// What the program says of a filler at a joint.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Nothing bars it and no other filler beats it.
    Recommended,
    /// Nothing bars it.
    Usable,
    /// It waits on an answer.
    Open,
    /// No finding judges it on some criterion that counts.
    Unjudged,
    /// Something bars it.
    Barred,
}

impl Verdict {
    /// The verdict that follows from what is established of a filler at a joint. A rulebook may forget that what nobody
    /// judged is not usable; here it is not forgotten.
    pub fn of(established: Established) -> Self {
        match established {
            Established { barred: true, .. } => Verdict::Barred,
            Established { unjudged: true, .. } => Verdict::Unjudged,
            Established { recommended: true, .. } => Verdict::Recommended,
            Established { usable: true, .. } => Verdict::Usable,
            _ => Verdict::Open,
        }
    }

    /// The word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Recommended => "recommended",
            Verdict::Usable => "usable",
            Verdict::Open => "open",
            Verdict::Unjudged => "unjudged",
            Verdict::Barred => "barred",
        }
    }
}

/// What is known to hold of a filler at a joint.
#[derive(Clone, Copy, Default, Debug)]
pub struct Established {
    /// Something bars it.
    pub barred: bool,
    /// No finding judges it on some criterion.
    pub unjudged: bool,
    /// Nothing bars it.
    pub usable: bool,
    /// And no other filler beats it.
    pub recommended: bool,
}

/// One filler at one joint.
#[derive(Clone, Debug, Serialize)]
pub struct FillerVerdict {
    /// The filler.
    pub filler: String,
    /// The verdict.
    pub verdict: Verdict,
    /// How it does on each criterion, in the job's order.
    pub standings: Vec<Standing>,
    /// Usable fillers that beat it, and on what.
    pub beaten_by: Vec<Beaten>,
}

/// How a filler does on a criterion.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Standing {
    /// The criterion.
    pub criterion: String,
    /// The level, or why there is none.
    pub standing: Level,
    /// The finding that set it.
    pub finding: Option<String>,
    /// The first number of the finding's sentence.
    pub value: Option<Measured>,
    /// The finding's sentence.
    pub says: Option<String>,
}

impl Standing {
    /// That no finding says anything of a filler on a criterion.
    pub fn unjudged(filler: &str, criterion: &str) -> Self {
        Standing {
            criterion: criterion.to_owned(),
            standing: Level::Unjudged,
            finding: None,
            value: None,
            says: Some(format!("nothing judges {filler} on {criterion} here")),
        }
    }
}

/// A number in the unit it is shown in.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Measured {
    /// The number, to six significant digits.
    pub number: f64,
    /// Its unit; empty for a plain number.
    pub unit: &'static str,
}

impl From<&Quantity> for Measured {
    fn from(quantity: &Quantity) -> Self {
        Measured {
            number: rounded(quantity.shown_value()),
            unit: quantity.shown_unit().map_or("", Unit::symbol),
        }
    }
}

/// Six significant digits: enough for any figure here, and free of the noise of binary fractions.
pub fn rounded(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

/// A filler that beats another.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Beaten {
    /// The better filler.
    pub filler: String,
    /// The first criterion in the job's order on which the two differ.
    pub criterion: String,
}

/// An unanswered question.
#[derive(Clone, Debug, Serialize)]
pub struct OpenQuestion {
    /// In the rulebook's words.
    pub question: String,
    /// Where the answer belongs in the job file.
    pub path: String,
    /// Fillers whose verdict waits on it.
    pub decides: Vec<String>,
    /// What each answer would bring, where that was worked out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<WhatIf>,
}

/// What an answer, or a stretch of answers, would bring at a joint.
#[derive(Clone, Debug, Serialize)]
pub struct WhatIf {
    /// The answer.
    pub answer: String,
    /// Fillers that are recommended then.
    pub recommended: Vec<String>,
    /// Fillers of which it is still open then.
    pub open: Vec<String>,
}

/// A smallest set of fillers.
#[derive(Clone, PartialEq, Debug, Default, Serialize)]
pub struct FewestFillers {
    /// The set.
    pub fillers: Vec<String>,
    /// The filler of it that serves each joint. A joint that no filler serves is left out.
    pub covers: BTreeMap<String, String>,
    /// What is given up at the joints where it is not the best.
    pub prices: Vec<Price>,
}

/// What is given up at a joint by using a filler that serves others too.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Price {
    /// The joint.
    pub joint: String,
    /// The filler that is used.
    pub filler: String,
    /// The one that is best there.
    pub instead_of: String,
    /// The criterion on which that one beats it.
    pub decided_by: Option<String>,
    /// Where the two differ: criterion, the standing of the filler, and that of the best one.
    pub differs: Vec<(String, String, String)>,
}
