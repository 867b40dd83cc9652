//! Asking about a pool: facts in, the rulebook's composition and curves and the solver's path out.

use super::answer::*;
use super::facts::{GIVEN_METAL, JOINT, NO_FILLER, fact, name};
use super::reader::PoolReader;
use crate::computed::{COMPUTATIONS, Composition, ShapeError, UNFROZEN, check_shapes, frozen, frozen_by};
use crate::engine::{EngineError, GivenFact, Program, Recording};
use crate::language::{Rulebook, Value};
use crate::metallurgy::freezing::{Database, Freezing, FreezingError, SteepnessSettings};
use crate::metallurgy::mixing::{Melted, Spread, pool_at};
use crate::metallurgy::sampling::latin_hypercube;
use crate::quantity::{Dimension, Interval, Quantity, Unit};
use crate::verdict::rounded;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What is asked.
#[derive(Clone, Debug)]
pub struct PoolQuestion {
    /// One or two base alloys, by canonical name; empty where a composition is given.
    pub bases: Vec<String>,
    /// The filler, by canonical name.
    pub filler: Option<String>,
    /// Share of base metal; 100 % where there is no filler.
    pub dilution: Interval,
    /// A composition instead of alloys.
    pub composition: Option<Composition>,
    /// How many pools to sample; 0 for none.
    pub sample: usize,
    /// Thermodynamic data instead of the built-in ones.
    pub data: Option<Arc<Database>>,
}

impl PoolQuestion {
    fn frozen(&self, composition: &[(String, Quantity)]) -> Result<Freezing, FreezingError> {
        match &self.data {
            Some(data) => frozen_by(data, composition),
            None => frozen(composition),
        }
    }

    fn index_of(
        &self,
        composition: &[(String, Quantity)],
        steepness: &SteepnessSettings,
    ) -> Option<Quantity> {
        self.frozen(composition).ok()?.steepness(steepness).map(|steepest| difference(steepest.index))
    }
}

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub enum MixtureError {
    /// The rulebook lacks what a pool is worked out from.
    #[error("this rulebook cannot describe a pool: it has no relation {0} with the usual roles")]
    Relation(&'static str),
    /// A computed relation is declared otherwise.
    #[error(transparent)]
    Shape(#[from] ShapeError),
    /// The rules could not be run.
    #[error(transparent)]
    Engine(#[from] EngineError),
    /// A composition that is none.
    #[error("{0}")]
    Composition(String),
}

fn share(base: f64) -> Quantity {
    Quantity::from_base(base, Dimension::SHARE)
}

fn mass_percent(value: f64) -> Quantity {
    Quantity::new(value, Unit::MASS_PERCENT)
}

fn celsius(value: f64) -> Quantity {
    Quantity::new(value, Unit::CELSIUS)
}

fn difference(kelvin: f64) -> Quantity {
    Quantity::from_base(kelvin, Dimension::TEMPERATURE_DIFFERENCE)
}

fn ends(dilution: &Interval) -> [Quantity; 3] {
    let low = dilution.lowest.map_or(0.0, |end| end.base);
    let high = dilution.highest.map_or(1.0, |end| end.base);
    [low, (low + high) / 2.0, high].map(share)
}

/// The elements that a composition may name, aluminium apart.
fn elements(rulebook: &Rulebook) -> Vec<String> {
    let words = rulebook.kinds.iter().find(|kind| kind.name == "element").map(|kind| &kind.words);
    words.into_iter().flatten().filter(|word| &***word != "Al").map(ToString::to_string).collect()
}

/// The facts of a pool with some fillers.
fn given(
    rulebook: &Rulebook,
    question: &PoolQuestion,
    fillers: &[String],
) -> Result<Vec<GivenFact>, MixtureError> {
    let mut facts = Vec::new();
    let mut add = |relation: &'static str, values: &[(&str, Value)]| {
        facts.push(fact(rulebook, relation, values).ok_or(MixtureError::Relation(relation))?);
        Ok::<(), MixtureError>(())
    };
    add("joint", &[("joint", name(JOINT))])?;
    for filler in fillers {
        if filler == NO_FILLER {
            add("candidate", &[("joint", name(JOINT)), ("filler", name(filler))])?;
        } else {
            add("stocked", &[("filler", name(filler))])?;
        }
    }
    if let Some(composition) = &question.composition {
        let whole = Value::Number(Quantity::new(100.0, Unit::PERCENT));
        add(
            "base-share",
            &[
                ("joint", name(JOINT)),
                ("alloy", name(GIVEN_METAL)),
                ("lowest", whole.clone()),
                ("nominal", whole.clone()),
                ("highest", whole),
                ("pass", name("whole")),
            ],
        )?;
        // What is not named is not there: findings that look at it must find that.
        let is_named = |element: &String| composition.iter().any(|(named, _)| named == element);
        for element in elements(rulebook).into_iter().filter(|element| !is_named(element)) {
            let nothing = Value::Number(Quantity::from_base(0.0, Dimension::MASS_PERCENT));
            let cells = [
                ("alloy", name(GIVEN_METAL)),
                ("element", name(&element)),
                ("lowest", nothing.clone()),
                ("nominal", nothing.clone()),
                ("highest", nothing),
            ];
            add("composition", &cells)?;
        }
        for (element, content) in composition {
            let content = Value::Number(*content);
            let alloying =
                [("alloy", name(GIVEN_METAL)), ("element", name(element)), ("share", content.clone())];
            add("alloying", &alloying)?;
            add(
                "composition",
                &[
                    ("alloy", name(GIVEN_METAL)),
                    ("element", name(element)),
                    ("lowest", content.clone()),
                    ("nominal", content.clone()),
                    ("highest", content),
                ],
            )?;
        }
        return Ok(facts);
    }
    let parts: Vec<String> = (0..2).map(|side| format!("side {}", side + 1)).collect();
    for (side, part) in parts.iter().enumerate() {
        let alloy = question.bases.get(side).or(question.bases.first()).map_or("", String::as_str);
        add("part", &[("part", name(part)), ("alloy", name(alloy))])?;
    }
    add("between", &[("joint", name(JOINT)), ("first", name(&parts[0])), ("second", name(&parts[1]))])?;
    add("given-dilution", &[("joint", name(JOINT)), ("range", Value::Range(question.dilution))])?;
    Ok(facts)
}

/// Works out a pool.
pub fn mixture(rulebook: &Rulebook, question: &PoolQuestion) -> Result<Mixture, MixtureError> {
    check_shapes(rulebook)?;
    let filler = question.filler.clone().unwrap_or_else(|| NO_FILLER.to_owned());
    let facts = given(rulebook, question, std::slice::from_ref(&filler))?;
    let derivation = Program::new(rulebook, COMPUTATIONS)?.derive(&facts, Recording::Everything)?;
    let reader = PoolReader { rulebook, derivation: &derivation };
    let mut composition = reader.composition(&filler);
    if question.composition.is_some() {
        composition.retain(|_, contents| contents.highest.base > 0.0);
    }
    let dilution = ends(&question.dilution);
    let nominal =
        mixed(&metals(&reader, question, &filler), &dilution[1], |_, _, contents| contents.nominal.base);
    let steepness = reader.steepness();
    let (path, stopped) = match question.frozen(&nominal) {
        Ok(freezing) => (Some(freezing), None),
        Err(FreezingError::Stalled { reason, celsius, known }) => {
            (Some(*known), Some(format!("stopped at {celsius:.1} °C: {reason}")))
        }
        Err(error) => (None, Some(error.to_string())),
    };
    // A path that is incomplete has no index: its steepest part may be the one that is missing.
    let steepest = path.as_ref().filter(|_| stopped.is_none()).and_then(|path| path.steepness(&steepness));
    let worst = worst_over_dilution(&reader, question, &filler, &steepness)?;
    Ok(Mixture {
        bases: question.bases.clone(),
        filler: question.filler.clone(),
        dilution,
        silicide: reader.silicide(&filler),
        impurities_left_out: composition
            .iter()
            .filter(|(element, contents)| {
                contents.nominal.base > 0.0 && !nominal.iter().any(|(frozen, _)| frozen == *element)
            })
            .map(|(element, contents)| (element.clone(), contents.nominal))
            .collect(),
        freezing: path.as_ref().map(reported),
        freezing_stopped: stopped,
        cracking: Cracking {
            index: steepest.map(|steepest| difference(steepest.index)),
            unit: Unit::usual(Dimension::TEMPERATURE_DIFFERENCE).unwrap_or(Unit::CELSIUS),
            window: steepest.map(|steepest| [rounded(steepest.from.powi(2)), rounded(steepest.to.powi(2))]),
            worst,
            curve: reader.curve(&filler),
            governs: reader.governs(&filler),
        },
        sample: (question.sample > 0).then(|| sampled(&reader, question, &filler, &steepness)),
        composition: with_aluminium(composition),
    })
}

fn with_aluminium(mut composition: BTreeMap<String, ContentRange>) -> BTreeMap<String, ContentRange> {
    let rest = |pick: fn(&ContentRange) -> Quantity| {
        mass_percent(100.0 - composition.values().map(|contents| pick(contents).base).sum::<f64>())
    };
    let aluminium = ContentRange {
        lowest: rest(|c| c.highest),
        nominal: rest(|c| c.nominal),
        highest: rest(|c| c.lowest),
    };
    composition.insert("Al".to_owned(), aluminium);
    composition
}

fn reported(freezing: &Freezing) -> FreezingReport {
    FreezingReport {
        liquidus: celsius(freezing.liquidus_celsius),
        end: celsius(freezing.end_celsius),
        eutectic_share: share(freezing.eutectic_share),
        path: freezing.path.iter().map(|point| (point.solid_fraction, celsius(point.celsius))).collect(),
        unit: Unit::CELSIUS,
        phases: freezing
            .phases
            .iter()
            .map(|phase| PhaseReport {
                phase: phase.name.clone(),
                starts: celsius(phase.start_celsius),
                share: share(phase.share),
            })
            .collect(),
        left_out: freezing.left_out.clone(),
    }
}

/// What each metal of the pool is meant to hold: base metals first, the filler last.
fn metals(
    reader: &PoolReader<'_, '_>,
    question: &PoolQuestion,
    filler: &str,
) -> Vec<BTreeMap<String, ContentRange>> {
    let mut metals: Vec<BTreeMap<String, ContentRange>> = match &question.composition {
        Some(_) => vec![reader.alloying("alloying", "composition", "alloy", GIVEN_METAL)],
        None => question
            .bases
            .iter()
            .map(|base| reader.alloying("alloying", "composition", "alloy", base))
            .collect(),
    };
    metals.push(reader.alloying("filler-alloying", "filler-composition", "filler", filler));
    metals
}

/// The pool at a dilution: every base metal has an equal part in it. `pick` gives what is taken of an element of a metal, in mass
/// per cent.
fn mixed(
    metals: &[BTreeMap<String, ContentRange>],
    dilution: &Quantity,
    pick: impl Fn(usize, &str, &ContentRange) -> f64,
) -> Composition {
    let single = |quantity| Spread { lowest: quantity, nominal: quantity, highest: quantity };
    let bases = metals.len() - 1;
    let part = single(share(dilution.base / bases as f64));
    let elements: BTreeSet<&String> = metals.iter().flat_map(BTreeMap::keys).collect();
    let content = |metal: usize, element: &String| {
        let held = metals[metal].get(element).map_or(0.0, |contents| pick(metal, element, contents));
        single(Quantity::from_base(held, Dimension::MASS_PERCENT))
    };
    let pool = elements.into_iter().map(|element| {
        let melted: Vec<Melted> =
            (0..bases).map(|base| Melted { share: part, content: content(base, element) }).collect();
        (element.clone(), pool_at(&melted, &content(bases, element), |share| share.nominal))
    });
    pool.collect()
}

fn worst_over_dilution(
    reader: &PoolReader<'_, '_>,
    question: &PoolQuestion,
    filler: &str,
    steepness: &SteepnessSettings,
) -> Result<Option<[Quantity; 2]>, MixtureError> {
    let metals = metals(reader, question, filler);
    let mut worst: Option<[Quantity; 2]> = None;
    let mut tried = Vec::new();
    for dilution in ends(&question.dilution) {
        if tried.contains(&dilution) {
            continue;
        }
        tried.push(dilution);
        let pool = mixed(&metals, &dilution, |_, _, contents| contents.nominal.base);
        let index = question.index_of(&pool, steepness);
        if let Some(index) = index.filter(|index| worst.is_none_or(|[most, _]| index.base > most.base)) {
            worst = Some([index, dilution]);
        }
    }
    Ok(worst)
}

const SEED: u64 = 1;

fn sampled(
    reader: &PoolReader<'_, '_>,
    question: &PoolQuestion,
    filler: &str,
    steepness: &SteepnessSettings,
) -> Sample {
    let metals = metals(reader, question, filler);
    let axes: Vec<(usize, String)> = metals
        .iter()
        .enumerate()
        .flat_map(|(index, metal)| metal.keys().map(move |element| (index, element.clone())))
        .collect();
    let [low, _, high] = ends(&question.dilution).map(|end| end.base);
    let mut indices: Vec<f64> = latin_hypercube(axes.len() + 1, question.sample, SEED)
        .into_iter()
        .filter_map(|point| {
            let dilution = low + (high - low) * point[axes.len()];
            let pool = mixed(&metals, &share(dilution), |index, element, contents| {
                let axis = axes.iter().position(|(metal, known)| *metal == index && known == element);
                let (lowest, highest) = (contents.lowest.base, contents.highest.base);
                lowest + (highest - lowest) * axis.map_or(0.5, |axis| point[axis])
            });
            question.index_of(&pool, steepness).map(|index| index.base)
        })
        .collect();
    indices.sort_by(f64::total_cmp);
    let at = |part: f64| difference(indices[((indices.len() - 1) as f64 * part).round() as usize]);
    Sample {
        size: question.sample,
        seed: SEED,
        frozen: indices.len(),
        index: (!indices.is_empty()).then(|| [at(0.1), at(0.5), at(0.9)]),
    }
}

/// Tabulates base metals with fillers over dilutions from 0 to 100 %, in steps of one `steps`th.
pub fn sweep(
    rulebook: &Rulebook,
    bases: &[String],
    fillers: &[String],
    steps: usize,
    data: Option<Arc<Database>>,
) -> Result<Sweep, MixtureError> {
    check_shapes(rulebook)?;
    let program = Program::new(rulebook, UNFROZEN)?;
    let mut table: BTreeMap<String, Vec<SweepPoint>> = BTreeMap::new();
    for step in 0..=steps {
        let dilution = share(step as f64 / steps as f64);
        let question = PoolQuestion {
            bases: bases.to_vec(),
            filler: None,
            dilution: Interval::single(dilution),
            composition: None,
            sample: 0,
            data: data.clone(),
        };
        let derivation = program.derive(&given(rulebook, &question, fillers)?, Recording::Nothing)?;
        let reader = PoolReader { rulebook, derivation: &derivation };
        let steepness = reader.steepness();
        for filler in fillers {
            let pool =
                mixed(&metals(&reader, &question, filler), &dilution, |_, _, contents| contents.nominal.base);
            table.entry(filler.clone()).or_default().push(SweepPoint {
                dilution,
                index: question.index_of(&pool, &steepness),
                curve: reader.curve(filler).map(|curve| curve.value),
            });
        }
    }
    Ok(Sweep { bases: bases.to_vec(), fillers: table })
}
