//! Comparison of weld and base metal while the partly melted zone freezes. Whether it matters in practice is not judged here.
//!
//! C. Huang, G. Cao, S. Kou (2007): the partly melted zone can crack if the weld metal is further solid than the base
//! metal at the same temperature while the base metal freezes. The older rule, which compares the two solidus
//! temperatures, is contradicted by measurements.

use super::outcome::Freezing;

/// Where and how the two metals are compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LiquationSettings {
    /// Solid fraction of the base metal from which the comparison is made.
    pub from: f64,
    /// Solid fraction of the base metal up to which it is made.
    pub to: f64,
    /// The weld is read this much above the temperature, in kelvin.
    pub above: f64,
}

/// Liquid fraction below which a curve that has ended counts as solid.
const NEARLY_SOLID: f64 = 0.01;

/// Points of the comparison, evenly spaced in the solid fraction of the base metal.
const POINTS: u32 = 141;

/// The least favourable point of the comparison.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Liquation {
    /// Largest lead of the weld metal, solid fraction of the weld less that of the base; negative if it always lags.
    pub lead: f64,
    /// Temperature there, °C.
    pub celsius: f64,
    /// Solid fraction of the base metal there.
    pub base: f64,
    /// Solid fraction of the weld metal there.
    pub weld: f64,
}

impl Liquation {
    /// Whether the criterion says that the partly melted zone can crack.
    #[must_use]
    pub fn can_crack(&self) -> bool {
        self.lead > 0.0
    }
}

/// Compares weld and base metal over the solid fractions of the base that the settings name.
///
/// None if the curve of the base metal is not known over the window, or that of the weld metal not down to the
/// temperatures of the window.
#[must_use]
pub fn liquation(base: &Freezing, weld: &Freezing, settings: &LiquationSettings) -> Option<Liquation> {
    let LiquationSettings { from, to, above } = *settings;
    let mut worst: Option<Liquation> = None;
    for point in 0..POINTS {
        let base_solid = from + (to - from) * f64::from(point) / f64::from(POINTS - 1);
        let celsius = base.temperature_at(base_solid)?;
        let weld_solid = weld.solid_fraction_at(celsius + above);
        if celsius < weld.end_celsius && weld.last_liquid > NEARLY_SOLID {
            return None;
        }
        let lead = weld_solid - base_solid;
        if worst.is_none_or(|w| lead > w.lead) {
            worst = Some(Liquation { lead, celsius, base: base_solid, weld: weld_solid });
        }
    }
    worst
}
