//! What about a job could be changed: every fact that its file states or could state about a joint, with the values that may
//! stand there. They follow from the questions of the rulebook and from the keys of the job file. What a change brings is
//! found elsewhere.

use super::session::Session;
use super::setting::{Path, Setting, Written};
use super::text::JobText;
use crate::engine::Status;
use crate::job::{About, QuestionKey};
use crate::language::{Rulebook, Type, Value};
use crate::quantity::{Dimension, Interval, PageUnits, Quantity, Unit, parse_interval, parse_quantity};
use crate::relations::{BASE_ALLOY, GIVEN_DILUTION, Placed, RANKED};
use crate::verdict::Decision;
use serde::Serialize;
use std::sync::Arc;

/// Something about a job that could be changed.
#[derive(Clone, Debug)]
pub(super) struct Adjustable {
    /// Where it stands in the job file.
    pub path: Path,
    /// How hard it is to change: the place of the word in the rulebook's list.
    pub effort: usize,
    /// Changed only where nothing else helps.
    pub last_resort: bool,
    /// What the joint has to stand, which nobody chooses.
    pub given_by_service: bool,
    /// What nobody sets by hand, or what is no remedy: margins mention it, offers do not.
    pub never_offered: bool,
    /// What may stand there.
    pub values: Values,
}

/// The values that an adjustable fact may take.
#[derive(Clone, Debug)]
pub(super) enum Values {
    /// One of some words or names, other than the one that stands there.
    Words(Vec<String>),
    /// Other names, the nearest in the rulebook's list first; there may be many.
    Alloys(Vec<String>),
    /// Numbers, each on a scale of its own.
    Numbers(Vec<Scale>),
    /// The criteria in another order.
    Order(Vec<String>),
}

/// A number that may move.
#[derive(Clone, Debug)]
pub(super) struct Scale {
    path: Path,
    /// The number that stands there now; `None` where none does.
    pub now: Option<f64>,
    /// The unit it is written in.
    pub unit: Unit,
    part: MovingEnd,
}

/// Which number of a value moves.
#[derive(Clone, Copy, Debug)]
enum MovingEnd {
    Whole,
    /// The lower end of a range with this upper end.
    Lowest(f64),
    /// The upper end of a range with this lower end.
    Highest(f64),
}

/// An end of a range.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum End {
    /// The lower one.
    Lowest,
    /// The upper one.
    Highest,
}

/// Where a temperature is looked for, in °C.
const TEMPERATURES: [f64; 13] =
    [-250.0, -150.0, -80.0, -50.0, -20.0, 0.0, 20.0, 40.0, 60.0, 90.0, 140.0, 220.0, 400.0];
/// Where a share is looked for.
const SHARES: [f64; 15] =
    [0.02, 0.06, 0.1, 0.15, 0.2, 0.27, 0.34, 0.42, 0.5, 0.58, 0.66, 0.74, 0.82, 0.9, 0.98];
/// Other numbers are looked for at so many times what they are, and at so many parts of it.
const FACTORS: [f64; 5] = [1.15, 1.4, 1.8, 2.5, 4.0];
/// Sizes in millimetres, and the same numbers of any other unit, where none stands there.
const SIZES: [f64; 13] = [0.3, 0.7, 1.0, 1.5, 2.2, 3.0, 4.0, 6.0, 8.0, 11.0, 16.0, 24.0, 40.0];

impl Scale {
    /// The setting that puts a number there.
    pub fn setting(&self, number: f64) -> Setting {
        let unit = self.unit.symbol();
        let text = match self.part {
            MovingEnd::Whole => format!("{number} {unit}"),
            MovingEnd::Lowest(highest) => format!("{number}..{highest} {unit}"),
            MovingEnd::Highest(lowest) => format!("{lowest}..{number} {unit}"),
        };
        Setting { path: self.path.clone(), value: Written::Text(text.trim_end().to_owned()) }
    }

    /// Numbers to try, ascending, without the one that stands there.
    pub fn tries(&self) -> Vec<f64> {
        let dimension = self.unit.dimension();
        let in_unit = |base: f64| tidy(self.unit.from_base(base));
        let mut tries: Vec<f64> = if dimension == Dimension::TEMPERATURE {
            TEMPERATURES.iter().map(|celsius| in_unit(*celsius)).collect()
        } else if dimension == Dimension::SHARE {
            SHARES.iter().map(|share| in_unit(*share)).collect()
        } else if let Some(now) = self.now.filter(|now| *now > 0.0) {
            FACTORS.iter().flat_map(|factor| [tidy(now / factor), tidy(now * factor)]).collect()
        } else if dimension == Dimension::LENGTH {
            SIZES.iter().map(|millimetres| in_unit(millimetres / 1000.0)).collect()
        } else {
            SIZES.to_vec()
        };
        match self.part {
            MovingEnd::Whole => {}
            MovingEnd::Lowest(highest) => tries.retain(|number| *number <= highest),
            MovingEnd::Highest(lowest) => tries.retain(|number| *number >= lowest),
        }
        tries.retain(|number| Some(*number) != self.now);
        tries.sort_by(f64::total_cmp);
        tries.dedup();
        tries
    }

    /// Which end of a range moves; `None` where the number is the whole value.
    pub fn end(&self) -> Option<End> {
        match self.part {
            MovingEnd::Whole => None,
            MovingEnd::Lowest(_) => Some(End::Lowest),
            MovingEnd::Highest(_) => Some(End::Highest),
        }
    }

    /// The same scale beginning at another number.
    pub fn from(&self, now: f64) -> Scale {
        Scale { now: Some(now), ..self.clone() }
    }

    /// How far a number is from the one that stands there, as a share of it; a temperature as a share of 100 K.
    pub fn movement(&self, number: f64) -> f64 {
        let Some(now) = self.now else { return 1.0 };
        let whole = match self.unit.dimension() {
            Dimension::TEMPERATURE => self.unit.from_base(100.0) - self.unit.from_base(0.0),
            Dimension::SHARE => self.unit.from_base(1.0),
            _ => now.abs().max(f64::MIN_POSITIVE),
        };
        (number - now).abs() / whole
    }
}

/// A number to try needs few digits.
fn tidy(number: f64) -> f64 {
    format!("{number:.3e}").parse().unwrap_or(number)
}

/// Everything that could be changed about a joint. Facts at `kept` paths, or below them, are left as they are.
pub(super) fn adjustables(
    session: &Session<'_>,
    decision: &Decision<'_>,
    text: &JobText,
    joint: &str,
    kept: &[Path],
) -> Vec<Adjustable> {
    let job = &decision.job;
    let Some(here) = job.joints.iter().find(|known| *known.name == *joint) else { return Vec::new() };
    let mut parts: Vec<&Arc<str>> = here.between.iter().collect();
    parts.dedup();
    let rulebook = session.rulebook;
    let mut found = Vec::new();
    let mut add = |path: Path, values: Option<Values>| {
        if let Some(values) = values
            && !kept.iter().any(|kept| kept.leads_to(&path))
        {
            let kind = path.kind();
            let (effort, last_resort) = session.efforts.of(&kind);
            let given_by_service = session.efforts.given_by_service.contains(&kind);
            let never_offered = session.efforts.never_offered.contains(&kind);
            found.push(Adjustable { path, effort, last_resort, given_by_service, never_offered, values });
        }
    };
    let dilution = Path::new(["joints", joint, "dilution"]);
    let given = GIVEN_DILUTION.find(rulebook);
    let share = Type::Range(Dimension::SHARE);
    add(dilution.clone(), given.and_then(|_| values(rulebook, text, &dilution, share, None)));
    let load = Path::new(["joints", joint, "load"]);
    for (key, dimension) in [("shear", Dimension::FORCE), ("length", Dimension::LENGTH)] {
        let path = Path::new(load.keys().iter().map(String::as_str).chain([key]));
        let stated = text.value(&path).is_some();
        let of = stated.then(|| values(rulebook, text, &path, Type::Number(dimension), None)).flatten();
        add(path, of);
    }
    let questions = session.reader.questions();
    let subjects = |question: &QuestionKey| -> Vec<(Path, Option<&Arc<str>>)> {
        let (section, key) = (question.section.as_str(), question.key.as_str());
        match (question.about, section) {
            (About::Part, "parts") => {
                parts.iter().map(|part| (Path::new(["parts", part, key]), Some(*part))).collect()
            }
            (About::Joint, "joints") => vec![(Path::new(["joints", joint, key]), None)],
            (About::Joint, _) => {
                let own = Path::new(["joints", joint, section, key]);
                let path = if text.value(&own).is_some() { own } else { Path::new([section, key]) };
                vec![(path, None)]
            }
            _ => vec![(Path::new([section, key]), None)],
        }
    };
    for question in questions {
        for (path, part) in subjects(question) {
            // An answer that is not there can be given where it is asked for. What may be left out, and is, is taken from
            // practice; the dilution stands for all of it.
            let subject = if question.about == About::Joint { Some(&here.name) } else { part };
            if text.value(&path).is_none() && !is_open(decision, question, subject) {
                continue;
            }
            let alloy = part.and_then(|part| job.parts.iter().find(|known| known.name == *part));
            let alloy = alloy.map(|part| (&*question.key, &*part.alloy));
            add(path.clone(), values(rulebook, text, &path, question.answer, alloy));
        }
    }
    add(Path::new(["choice", "order"]), order(decision));
    for part in parts {
        let now = job.parts.iter().find(|known| known.name == *part).map(|part| &*part.alloy);
        let mut alloys = near_to(session.reader.alloys(), now.unwrap_or_default());
        // An alloy of the same group: by the words of its row in the rulebook's list of alloys.
        let group = |alloy: &str| group_of(session.rulebook, alloy);
        let own = group(now.unwrap_or_default());
        alloys.retain(|alloy| !session.efforts.never_plate.contains(alloy) && group(alloy) == own);
        add(Path::new(["parts", part, "alloy"]), Some(Values::Alloys(alloys)));
    }
    found
}

/// What the rulebook says of an alloy beside its name: its family, how it is hardened.
fn group_of<'r>(rulebook: &'r Rulebook, alloy: &str) -> Option<&'r [Value]> {
    let Placed { relation, .. } = BASE_ALLOY.find(rulebook)?;
    let named = |value: &Value| matches!(value, Value::Symbol(name) if **name == *alloy);
    let row = rulebook.facts.iter().find(|fact| fact.relation == relation && named(&fact.cells[0]))?;
    Some(&row.cells[1..])
}

/// The names of a list other than one of them, those beside it first.
fn near_to(all: &[Arc<str>], now: &str) -> Vec<String> {
    let place = all.iter().position(|name| **name == *now).unwrap_or(0);
    let mut others: Vec<(usize, &Arc<str>)> =
        all.iter().enumerate().filter(|(_, name)| ***name != *now).collect();
    others.sort_by_key(|(index, _)| index.abs_diff(place));
    others.into_iter().map(|(_, name)| name.to_string()).collect()
}

/// The values that a type allows, other than the one that stands at a path. Names are those that the rulebook's tables list in
/// a role of that name, for the part's alloy.
pub(super) fn values(
    rulebook: &Rulebook,
    text: &JobText,
    path: &Path,
    ty: Type,
    name: Option<(&str, &str)>,
) -> Option<Values> {
    let now = text.value(path).map(|value| value.plain());
    match ty {
        Type::Word(kind) => {
            let now = now.map(|word| word.to_lowercase());
            let words = rulebook.kinds.get(kind.index())?.words.iter().map(|word| word.to_string());
            Some(Values::Words(words.filter(|word| Some(word) != now.as_ref()).collect()))
        }
        Type::Name => {
            let (role, alloy) = name?;
            let mut names = listed(rulebook, role, alloy);
            names.retain(|name| Some(name) != now.as_ref());
            (!names.is_empty()).then_some(Values::Words(names))
        }
        Type::Text => None,
        Type::Number(dimension) => {
            let now = now.and_then(|now| parse_quantity(&now, Some(dimension)).ok());
            Some(Values::Numbers(vec![whole(path, now, dimension, text.units())?]))
        }
        Type::Range(dimension) => {
            let now = now.and_then(|now| parse_interval(&now, Some(dimension)).ok());
            scales(path, now, dimension, text.units()).map(Values::Numbers)
        }
    }
}

/// The unit that a quantity was written in, or that of the page.
fn unit_of(now: Option<&Quantity>, dimension: Dimension, units: &PageUnits) -> Option<Unit> {
    now.and_then(|now| now.unit).or_else(|| units.unit(dimension))
}

fn whole(path: &Path, now: Option<Quantity>, dimension: Dimension, units: &PageUnits) -> Option<Scale> {
    let unit = unit_of(now.as_ref(), dimension, units)?;
    let now = now.map(|now| unit.from_base(now.base));
    Some(Scale { path: path.clone(), now, unit, part: MovingEnd::Whole })
}

/// The ends of a range, each by itself; or the one number that stands, or might stand, for both.
pub(super) fn scales(
    path: &Path,
    now: Option<Interval>,
    dimension: Dimension,
    units: &PageUnits,
) -> Option<Vec<Scale>> {
    let Some(Interval { lowest: Some(low), highest: Some(high) }) =
        now.filter(|now| now.lowest != now.highest)
    else {
        return Some(vec![whole(path, now.and_then(|now| now.lowest), dimension, units)?]);
    };
    let unit = unit_of(Some(&high), dimension, units)?;
    let (low, high) = (tidy_end(unit.from_base(low.base)), tidy_end(unit.from_base(high.base)));
    let scale = |now, part| Scale { path: path.clone(), now: Some(now), unit, part };
    Some(vec![scale(low, MovingEnd::Lowest(high)), scale(high, MovingEnd::Highest(low))])
}

/// An end as it was written: the way there and back through base units may add noise.
fn tidy_end(number: f64) -> f64 {
    format!("{number:.12e}").parse().unwrap_or(number)
}

/// Names that tables list in a role, in rows about an alloy.
fn listed(rulebook: &Rulebook, role: &str, alloy: &str) -> Vec<String> {
    let mut names = Vec::new();
    for fact in &rulebook.facts {
        let roles = &rulebook.relations[fact.relation.index()].roles;
        let at = |name: &str| roles.iter().position(|role| role.name == name);
        let (Some(of), Some(listed)) = (at("alloy"), at(role)) else { continue };
        let text = |place: usize| match &fact.cells[place] {
            Value::Symbol(text) => Some(&**text),
            _ => None,
        };
        if let (Some(own), Some(name)) = (text(of), text(listed))
            && own == alloy
            && !names.iter().any(|known| known == name)
        {
            names.push(name.to_owned());
        }
    }
    names
}

/// Whether a question waits for an answer.
fn is_open(decision: &Decision<'_>, question: &QuestionKey, subject: Option<&Arc<str>>) -> bool {
    let derivation = &decision.derivation;
    derivation.facts(question.relation).filter(|fact| derivation.status(*fact) == Status::Open).any(|fact| {
        match (derivation.cell(fact, 0), subject) {
            (Some(Value::Symbol(name)), Some(subject)) => name == subject,
            _ => subject.is_none(),
        }
    })
}

/// The criteria in the order in which they count now.
fn order(decision: &Decision<'_>) -> Option<Values> {
    RANKED.find(decision.rulebook)?;
    Some(Values::Order(decision.criteria().into_iter().map(|(_, name)| name).collect()))
}
