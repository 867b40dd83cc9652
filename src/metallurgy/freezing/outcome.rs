//! What a freezing calculation takes and gives: settings, the curve, the phases, the errors. No solving here.

use std::fmt;

/// 0 °C in kelvin.
pub(crate) const ZERO_CELSIUS: f64 = 273.15;

/// Where freezing is taken as finished and how finely it is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Liquid fraction (moles of atoms) at which the calculation stops; 0.001 as in the reference runs.
    pub last_liquid: f64,
    /// Longest step in the natural logarithm of the liquid fraction.
    pub longest_step: f64,
    /// Error of one step allowed in the temperature, in kelvin.
    pub temperature_error: f64,
    /// Distance of the points of the curve in the natural logarithm of the liquid fraction.
    pub spacing: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self { last_liquid: 0.001, longest_step: 0.4, temperature_error: 2e-3, spacing: 0.025 }
    }
}

/// One point of the freezing curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PathPoint {
    /// Solid fraction by moles of atoms.
    pub solid_fraction: f64,
    /// Temperature in °C.
    pub celsius: f64,
}

/// A solid phase that formed.
#[derive(Debug, Clone, PartialEq)]
pub struct FrozenPhase {
    /// Name in the thermodynamic file.
    pub name: String,
    /// Temperature at which it first formed, °C.
    pub start_celsius: f64,
    /// Share of the whole metal by moles of atoms.
    pub share: f64,
    /// Mean composition in mole fractions, in the order of [`Freezing::elements`].
    pub mean_composition: Vec<f64>,
}

/// The result of a Scheil–Gulliver calculation.
#[derive(Debug, Clone, PartialEq)]
pub struct Freezing {
    /// Temperature at which the first solid forms, °C.
    pub liquidus_celsius: f64,
    /// Temperature at the last point of the curve, °C.
    pub end_celsius: f64,
    /// The curve, from liquid to solid; temperature never rises. Linear interpolation is good to 0.2 °C.
    pub path: Vec<PathPoint>,
    /// Phases in the order in which they first formed.
    pub phases: Vec<FrozenPhase>,
    /// Liquid left (moles of atoms) when a second solid first joins the one that began; 0 if none did.
    pub eutectic_share: f64,
    /// Liquid that froze at one temperature, in an invariant reaction, at the end; 0 if none did.
    pub invariant_share: f64,
    /// Liquid not frozen when the calculation stopped.
    pub last_liquid: f64,
    /// Symbols of the elements in the calculation, as in the file.
    pub elements: Vec<String>,
    /// Elements of the composition that the data do not describe; the rest was taken as the whole.
    pub left_out: Vec<String>,
    /// Largest difference, over the elements, between moles put in and moles found in the phases, per mole of metal.
    pub balance_residual: f64,
}

impl Freezing {
    /// Temperature in °C at a solid fraction, by linear interpolation; none outside the curve.
    #[must_use]
    pub fn temperature_at(&self, solid_fraction: f64) -> Option<f64> {
        let last = self.path.last()?;
        if !(0.0..=last.solid_fraction).contains(&solid_fraction) {
            return None;
        }
        let upper = self.path.partition_point(|p| p.solid_fraction < solid_fraction);
        let b = self.path.get(upper)?;
        let Some(a) = upper.checked_sub(1).map(|k| &self.path[k]) else {
            return Some(b.celsius);
        };
        let width = b.solid_fraction - a.solid_fraction;
        let part = if width > 0.0 { (solid_fraction - a.solid_fraction) / width } else { 1.0 };
        Some(a.celsius + part * (b.celsius - a.celsius))
    }

    /// Solid fraction at a temperature in °C: 0 above the liquidus, the last of the curve below its end.
    #[must_use]
    pub fn solid_fraction_at(&self, celsius: f64) -> f64 {
        let below = self.path.partition_point(|p| p.celsius >= celsius);
        let Some(a) = below.checked_sub(1).map(|k| &self.path[k]) else {
            return 0.0;
        };
        let Some(b) = self.path.get(below) else {
            return a.solid_fraction;
        };
        let drop = a.celsius - b.celsius;
        let part = if drop > 0.0 { (a.celsius - celsius) / drop } else { 0.0 };
        a.solid_fraction + part * (b.solid_fraction - a.solid_fraction)
    }
}

/// Why a freezing curve, or the rest of it, is not known.
#[derive(Debug, Clone, PartialEq)]
pub enum FreezingError {
    /// The composition is not one.
    Composition {
        /// What is wrong with it.
        reason: String,
    },
    /// None of the elements is in the data.
    NothingDescribed {
        /// The elements asked for.
        left_out: Vec<String>,
    },
    /// The data have no phase `LIQUID` with all the elements on one sublattice.
    NoLiquid,
    /// A setting is outside its range.
    Setting {
        /// Which, and its range.
        reason: String,
    },
    /// No temperature was found at which a solid begins to form.
    NoLiquidus,
    /// The calculation could not go on; the curve so far is given.
    Stalled {
        /// What stood in the way.
        reason: String,
        /// Temperature reached, °C.
        celsius: f64,
        /// The part that is known.
        known: Box<Freezing>,
    },
}

impl fmt::Display for FreezingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Composition { reason } => write!(f, "composition: {reason}"),
            Self::NothingDescribed { left_out } => {
                write!(f, "the data describe none of the elements ({})", left_out.join(", "))
            }
            Self::NoLiquid => {
                write!(f, "the data have no phase LIQUID with all the elements on one sublattice")
            }
            Self::Setting { reason } => write!(f, "setting: {reason}"),
            Self::NoLiquidus => write!(f, "no temperature was found at which freezing begins"),
            Self::Stalled { reason, celsius, known } => {
                let solid = known.path.last().map_or(0.0, |p| p.solid_fraction);
                write!(f, "stopped at {celsius:.1} °C and solid fraction {solid:.4}: {reason}")
            }
        }
    }
}

impl std::error::Error for FreezingError {}
