//! Steepness of the freezing curve near its end, the measure of cracking between grains. Thresholds are not judged here.
//!
//! S. Kou, Acta Materialia 88 (2015) 366–374: at a given cooling rate the largest |dT/d(fS^½)| near fS^½ = 1 decides.

use super::outcome::Freezing;

/// Melting point of aluminium in °C, for the closed form of a binary alloy.
pub const MELTING_POINT: f64 = 660.3;

/// How the steepness is taken from a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteepnessSettings {
    /// Largest square root of the solid fraction looked at.
    pub cut_off: f64,
    /// Width of the windows in the square root of the solid fraction. Raw slopes from point to point are meaningless
    /// where two points nearly coincide.
    pub window: f64,
}

impl Default for SteepnessSettings {
    /// Cut-off 0.99 and windows of 0.0025, as in the reference runs.
    fn default() -> Self {
        Self { cut_off: 0.99, window: 0.0025 }
    }
}

/// The steepest window of a freezing curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Steepness {
    /// Largest |ΔT/Δ(fS^½)| in kelvin.
    pub index: f64,
    /// Lower end of the steepest window, in the square root of the solid fraction.
    pub from: f64,
    /// Upper end of it.
    pub to: f64,
}

impl Freezing {
    /// The steepness index: largest fall of temperature per square root of solid fraction, on a uniform grid of windows
    /// up to the cut-off.
    ///
    /// None if the settings leave no window, or the curve ends before the first.
    #[must_use]
    pub fn steepness(&self, settings: &SteepnessSettings) -> Option<Steepness> {
        let SteepnessSettings { cut_off, window } = *settings;
        if !(window > 1e-6 && cut_off <= 1.0 && window <= cut_off) {
            return None;
        }
        let mut steepest: Option<Steepness> = None;
        let mut from = 0.0;
        let mut above = self.temperature_at(0.0)?;
        for count in 1_u32.. {
            let to = f64::from(count) * window;
            // The grid reaches the cut-off itself in spite of rounding.
            if to > cut_off + 1e-9 {
                break;
            }
            let Some(below) = self.temperature_at(to * to) else {
                break;
            };
            let index = (above - below) / window;
            if steepest.is_none_or(|s| index > s.index) {
                steepest = Some(Steepness { index, from, to });
            }
            from = to;
            above = below;
        }
        steepest
    }

    /// Mean steepness |ΔT/Δ(fS^½)| in kelvin between two solid fractions; 0.87 and 0.94 are in use.
    ///
    /// None if the curve does not reach them or they are not in rising order.
    #[must_use]
    pub fn secant(&self, from: f64, to: f64) -> Option<f64> {
        let width = to.sqrt() - from.sqrt();
        let drop = self.temperature_at(from)? - self.temperature_at(to)?;
        (width > 0.0).then(|| drop / width)
    }
}

/// A binary eutectic alloy with straight liquidus and constant partition coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Binary {
    /// Content of the alloying element, mass per cent.
    pub content: f64,
    /// Partition coefficient, between 0 and 1.
    pub partition: f64,
    /// Content of the eutectic liquid, mass per cent.
    pub eutectic_content: f64,
    /// Temperature of the eutectic, °C.
    pub eutectic_celsius: f64,
}

impl Binary {
    /// Slope of the liquidus, K per mass per cent; negative.
    fn liquidus_slope(&self) -> f64 {
        (self.eutectic_celsius - MELTING_POINT) / self.eutectic_content
    }

    /// Solid fraction at which the eutectic begins: 1 − (C0/CE)^(1/(1−k)); 0 for a content beyond the eutectic.
    #[must_use]
    pub fn eutectic_solid_fraction(&self) -> f64 {
        let ratio = (self.content / self.eutectic_content).min(1.0);
        1.0 - ratio.powf(1.0 / (1.0 - self.partition))
    }

    /// Temperature in °C at a solid fraction: T_m + m·C0·(1−fS)^(k−1), the eutectic temperature from where that begins.
    #[must_use]
    pub fn temperature_at(&self, solid_fraction: f64) -> f64 {
        if solid_fraction >= self.eutectic_solid_fraction() {
            return self.eutectic_celsius;
        }
        let enriched = self.content * (1.0 - solid_fraction).powf(self.partition - 1.0);
        MELTING_POINT + self.liquidus_slope() * enriched
    }

    /// Steepness index in kelvin: 2·fS^½·|m|·C0·(1−k)·(1−fS)^(k−2) at the cut-off, or where the eutectic begins before
    /// it.
    #[must_use]
    pub fn steepness(&self, cut_off: f64) -> f64 {
        let root = cut_off.min(self.eutectic_solid_fraction().sqrt());
        let solute = -self.liquidus_slope() * self.content * (1.0 - self.partition);
        2.0 * root * solute * (1.0 - root * root).powf(self.partition - 2.0)
    }

    /// Mean steepness in kelvin between two solid fractions, as [`Freezing::secant`].
    #[must_use]
    pub fn secant(&self, from: f64, to: f64) -> f64 {
        (self.temperature_at(from) - self.temperature_at(to)) / (to.sqrt() - from.sqrt())
    }

    /// Content with the largest index for a cut-off, mass per cent: CE·(1 − cut²)^(1−k).
    #[must_use]
    pub fn worst_content(&self, cut_off: f64) -> f64 {
        self.eutectic_content * (1.0 - cut_off * cut_off).powf(1.0 - self.partition)
    }
}
