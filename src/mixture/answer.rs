//! The shapes of the contract: what `pool --json` writes. Filled in `ask.rs`.

use crate::quantity::{Quantity, Unit};
use crate::verdict::rounded;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Quantities are written as numbers in the base unit of their dimension, which the field beside them or its name says.
fn of(quantity: &Quantity) -> f64 {
    rounded(quantity.base)
}

fn number<S: Serializer>(quantity: &Quantity, serializer: S) -> Result<S::Ok, S::Error> {
    of(quantity).serialize(serializer)
}

fn number_if_any<S: Serializer>(quantity: &Option<Quantity>, serializer: S) -> Result<S::Ok, S::Error> {
    quantity.as_ref().map(of).serialize(serializer)
}

fn numbers<S: Serializer>(quantities: &[Quantity], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(quantities.iter().map(of))
}

fn numbers_if_any<S: Serializer, const N: usize>(
    quantities: &Option<[Quantity; N]>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    quantities.as_ref().map(|quantities| quantities.iter().map(of).collect::<Vec<_>>()).serialize(serializer)
}

fn numbers_by_element<S: Serializer>(
    contents: &BTreeMap<String, Quantity>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_map(contents.iter().map(|(element, content)| (element, of(content))))
}

fn pairs<S: Serializer>(path: &[(f64, Quantity)], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(path.iter().map(|(fraction, temperature)| (rounded(*fraction), of(temperature))))
}

fn symbol<S: Serializer>(unit: &Unit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(unit.symbol())
}

/// What is known of a pool.
#[derive(Clone, Debug, Serialize)]
pub struct Mixture {
    /// The base metals, by canonical name; empty where a composition was given.
    pub bases: Vec<String>,
    /// The filler, where there is one.
    pub filler: Option<String>,
    /// Least, middle and largest share of base metal.
    #[serde(serialize_with = "numbers")]
    pub dilution: [Quantity; 3],
    /// Mass per cent by element; aluminium by difference.
    pub composition: BTreeMap<String, ContentRange>,
    /// Magnesium silicide in the nominal pool and what is left over of its parts, in mass per cent.
    pub silicide: Option<Silicide>,
    /// Impurities that the metals may hold and that are left out of the freezing, with the amounts assumed for them.
    #[serde(serialize_with = "numbers_by_element")]
    pub impurities_left_out: BTreeMap<String, Quantity>,
    /// The freezing of the nominal pool.
    pub freezing: Option<FreezingReport>,
    /// Why there is no freezing curve, or not all of it.
    pub freezing_stopped: Option<String>,
    /// The two measures of cracking.
    pub cracking: Cracking,
    /// What a sample over dilution and limits gave, where one was asked for.
    pub sample: Option<Sample>,
}

/// Content of an element, in mass per cent.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct ContentRange {
    /// The least it can be.
    #[serde(serialize_with = "number")]
    pub lowest: Quantity,
    /// What it usually is.
    #[serde(serialize_with = "number")]
    pub nominal: Quantity,
    /// The most it can be.
    #[serde(serialize_with = "number")]
    pub highest: Quantity,
}

/// Magnesium silicide and what is left over, in mass per cent.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Silicide {
    /// Mg2Si.
    #[serde(serialize_with = "number")]
    pub mg2si: Quantity,
    /// Silicon beyond it.
    #[serde(serialize_with = "number")]
    pub free_silicon: Quantity,
    /// Magnesium beyond it.
    #[serde(serialize_with = "number")]
    pub spare_magnesium: Quantity,
}

/// A freezing path.
#[derive(Clone, Debug, Serialize)]
pub struct FreezingReport {
    /// First solid, °C.
    #[serde(serialize_with = "number")]
    pub liquidus: Quantity,
    /// Last liquid, °C.
    #[serde(serialize_with = "number")]
    pub end: Quantity,
    /// Liquid left when a second solid first forms, as a share of all atoms.
    #[serde(serialize_with = "number")]
    pub eutectic_share: Quantity,
    /// Solid fraction (by moles of atoms) against temperature.
    #[serde(serialize_with = "pairs")]
    pub path: Vec<(f64, Quantity)>,
    /// The unit of temperatures.
    #[serde(serialize_with = "symbol")]
    pub unit: Unit,
    /// Solids in the order in which they form.
    pub phases: Vec<PhaseReport>,
    /// Elements of the pool that the data do not describe.
    pub left_out: Vec<String>,
}

/// A solid phase.
#[derive(Clone, Debug, Serialize)]
pub struct PhaseReport {
    /// Its name in the thermodynamic file.
    pub phase: String,
    /// Where it first forms, °C.
    #[serde(serialize_with = "number")]
    pub starts: Quantity,
    /// Its share of all atoms at the end.
    #[serde(serialize_with = "number")]
    pub share: Quantity,
}

/// The two measures of cracking.
#[derive(Clone, Debug, Serialize)]
pub struct Cracking {
    /// Steepness index of the nominal pool; absent where there is no freezing curve.
    #[serde(serialize_with = "number_if_any")]
    pub index: Option<Quantity>,
    /// The unit of the index, a difference of temperature.
    #[serde(serialize_with = "symbol")]
    pub unit: Unit,
    /// Solid fractions between which the curve is steepest.
    pub window: Option<[f64; 2]>,
    /// The largest index over the dilution, and the dilution it stands at.
    #[serde(serialize_with = "numbers_if_any")]
    pub worst: Option<[Quantity; 2]>,
    /// The composition curve of the governing system.
    pub curve: Option<CurveReading>,
    /// Which measure governs by the rulebook, and what it says of that.
    pub governs: Vec<String>,
}

/// A composition curve read at a pool.
#[derive(Clone, Debug, Serialize)]
pub struct CurveReading {
    /// The governing system.
    pub name: String,
    /// Sensitivity of the nominal pool, 0 to 1.
    pub value: f64,
    /// The largest over dilution and limits.
    pub worst: f64,
}

/// A sample of pools over dilution and limits.
#[derive(Clone, Debug, Serialize)]
pub struct Sample {
    /// How many pools.
    pub size: usize,
    /// The seed of the sample.
    pub seed: u64,
    /// How many of them froze to the end.
    pub frozen: usize,
    /// Indices at 10, 50 and 90 % of the sample.
    #[serde(serialize_with = "numbers_if_any")]
    pub index: Option<[Quantity; 3]>,
}

/// A pair with many fillers over dilution.
#[derive(Clone, Debug, Serialize)]
pub struct Sweep {
    /// The base metals.
    pub bases: Vec<String>,
    /// One list a filler, by rising dilution.
    pub fillers: BTreeMap<String, Vec<SweepPoint>>,
}

/// One filler at one dilution.
#[derive(Clone, Debug, Serialize)]
pub struct SweepPoint {
    /// Share of base metal.
    #[serde(serialize_with = "number")]
    pub dilution: Quantity,
    /// Steepness index, where the pool freezes to the end.
    #[serde(serialize_with = "number_if_any")]
    pub index: Option<Quantity>,
    /// Sensitivity on the composition curve, where a system governs.
    pub curve: Option<f64>,
}
