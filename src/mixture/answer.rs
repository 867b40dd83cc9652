//! The shapes of the contract: what `pool --json` writes. Filled in `ask.rs`.

use serde::Serialize;
use std::collections::BTreeMap;

/// What is known of a pool.
#[derive(Clone, Debug, Serialize)]
pub struct Mixture {
    /// The base metals, by canonical name; empty where a composition was given.
    pub bases: Vec<String>,
    /// The filler, where there is one.
    pub filler: Option<String>,
    /// Least, middle and largest share of base metal.
    pub dilution: [f64; 3],
    /// Mass per cent by element; aluminium by difference.
    pub composition: BTreeMap<String, Contents>,
    /// Magnesium silicide in the nominal pool and what is left over of its parts, in mass per cent.
    pub silicide: Option<Silicide>,
    /// Impurities that the metals may hold and that are left out of the freezing, with the amounts assumed for them.
    pub impurities_left_out: BTreeMap<String, f64>,
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
pub struct Contents {
    /// The least it can be.
    pub lowest: f64,
    /// What it usually is.
    pub nominal: f64,
    /// The most it can be.
    pub highest: f64,
}

/// Magnesium silicide and what is left over, in mass per cent.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Silicide {
    /// Mg2Si.
    pub mg2si: f64,
    /// Silicon beyond it.
    pub free_silicon: f64,
    /// Magnesium beyond it.
    pub spare_magnesium: f64,
}

/// A freezing path.
#[derive(Clone, Debug, Serialize)]
pub struct FreezingReport {
    /// First solid, °C.
    pub liquidus: f64,
    /// Last liquid, °C.
    pub end: f64,
    /// Liquid left when a second solid first forms, as a share of all atoms.
    pub eutectic_share: f64,
    /// Solid fraction (by moles of atoms) against temperature.
    pub path: Vec<(f64, f64)>,
    /// `°C`.
    pub unit: &'static str,
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
    pub starts: f64,
    /// Its share of all atoms at the end.
    pub share: f64,
}

/// The two measures of cracking.
#[derive(Clone, Debug, Serialize)]
pub struct Cracking {
    /// Steepness index of the nominal pool; absent where there is no freezing curve.
    pub index: Option<f64>,
    /// `K`: the index is a difference of temperature.
    pub unit: &'static str,
    /// Solid fractions between which the curve is steepest.
    pub window: Option<[f64; 2]>,
    /// The largest index over the dilution, and the dilution it stands at.
    pub worst: Option<[f64; 2]>,
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
    pub index: Option<[f64; 3]>,
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
    pub dilution: f64,
    /// Steepness index, where the pool freezes to the end.
    pub index: Option<f64>,
    /// Sensitivity on the composition curve, where a system governs.
    pub curve: Option<f64>,
}
