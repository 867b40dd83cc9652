//! Comparison of weld and base metal while the partly melted zone freezes. Whether it matters in practice is not judged here.
//!
//! C. Huang, G. Cao, S. Kou (2007): the partly melted zone can crack if the weld metal is further solid than the base
//! metal at the same temperature while the base metal freezes. The older rule, which compares the two solidus
//! temperatures, is contradicted by measurements.

use super::outcome::Freezing;

/// Solid fraction of the base metal from which the comparison is made. Our own choice: below it the zone is still open to
/// liquid that heals cracks.
pub const WINDOW_FROM: f64 = 0.85;

/// Solid fraction of the base metal up to which the comparison is made. Our own choice: above it hardly any liquid is left.
pub const WINDOW_TO: f64 = 0.99;

/// The weld is read this much above the temperature (kelvin): where both metals freeze by the same reaction at one
/// temperature, they freeze side by side, and the end of it in the weld must not count as a lead.
const JUST_ABOVE: f64 = 0.05;

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

/// Compares weld and base metal over solid fractions of the base from [`WINDOW_FROM`] to [`WINDOW_TO`].
///
/// None if the curve of the base metal is not known over the window, or that of the weld metal not down to the
/// temperatures of the window.
#[must_use]
pub fn liquation(base: &Freezing, weld: &Freezing) -> Option<Liquation> {
    let mut worst: Option<Liquation> = None;
    for point in 0..POINTS {
        let base_solid = WINDOW_FROM + (WINDOW_TO - WINDOW_FROM) * f64::from(point) / f64::from(POINTS - 1);
        let celsius = base.temperature_at(base_solid)?;
        let weld_solid = weld.solid_fraction_at(celsius + JUST_ABOVE);
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
