//! The units that a rulebook or a job may write: metric and US customary. Dimensions live in `dimension.rs`.

use super::Dimension;

/// A unit of measurement; a cheap index into a fixed list.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Unit(u8);

struct UnitEntry {
    symbol: &'static str,
    aliases: &'static [&'static str],
    dimension: Dimension,
    factor: f64,
    offset: f64,
}

const fn unit(
    symbol: &'static str,
    aliases: &'static [&'static str],
    dimension: Dimension,
    factor: f64,
) -> UnitEntry {
    UnitEntry { symbol, aliases, dimension, factor, offset: 0.0 }
}

const INCH: f64 = 0.0254;
const POUND: f64 = 0.453_592_37;
const POUND_FORCE: f64 = POUND * 9.806_65;
const KSI: f64 = 1000.0 * POUND_FORCE / (INCH * INCH);
const CUBIC_FOOT: f64 = (12.0 * INCH) * (12.0 * INCH) * (12.0 * INCH);

/// Exact by definition (international yard and pound agreement of 1959; the SI brochure, 9th edition). The first unit
/// of a dimension is its usual one.
#[rustfmt::skip]
const UNITS: &[UnitEntry] = &[
    unit("",      &[], Dimension::RATIO, 1.0),
    unit("%",     &["percent", "pct"], Dimension::SHARE, 0.01),
    unit("%",     &["wt%", "wt.%", "mass%"], Dimension::MASS_PERCENT, 1.0),
    UnitEntry { symbol: "°C", aliases: &["degC", "ºC", "℃"], dimension: Dimension::TEMPERATURE, factor: 1.0, offset: 0.0 },
    UnitEntry { symbol: "°F", aliases: &["degF", "ºF", "℉"], dimension: Dimension::TEMPERATURE, factor: 5.0 / 9.0, offset: -32.0 },
    UnitEntry { symbol: "K", aliases: &["kelvin"], dimension: Dimension::TEMPERATURE, factor: 1.0, offset: -273.15 },
    unit("K",     &["Δ°C", "ΔK", "Cdeg"], Dimension::TEMPERATURE_DIFFERENCE, 1.0),
    unit("Δ°F",   &["Fdeg"], Dimension::TEMPERATURE_DIFFERENCE, 5.0 / 9.0),
    unit("mm",    &[], Dimension::LENGTH, 0.001),
    unit("µm",    &["um", "μm"], Dimension::LENGTH, 1e-6),
    unit("cm",    &[], Dimension::LENGTH, 0.01),
    unit("m",     &[], Dimension::LENGTH, 1.0),
    unit("in",    &["inch", "inches"], Dimension::LENGTH, INCH),
    unit("ft",    &[], Dimension::LENGTH, 12.0 * INCH),
    unit("mm²",   &["mm2", "mm^2"], Dimension::AREA, 1e-6),
    unit("cm²",   &["cm2", "cm^2"], Dimension::AREA, 1e-4),
    unit("in²",   &["in2", "in^2"], Dimension::AREA, INCH * INCH),
    unit("mm³",   &["mm3", "mm^3"], Dimension::VOLUME, 1e-9),
    unit("cm³",   &["cm3", "cm^3"], Dimension::VOLUME, 1e-6),
    unit("°",     &["deg", "º", "degrees"], Dimension::ANGLE, std::f64::consts::PI / 180.0),
    unit("kN",    &[], Dimension::FORCE, 1000.0),
    unit("N",     &[], Dimension::FORCE, 1.0),
    unit("lbf",   &[], Dimension::FORCE, POUND_FORCE),
    unit("kip",   &["kips"], Dimension::FORCE, 1000.0 * POUND_FORCE),
    unit("MPa",   &["N/mm²", "N/mm2"], Dimension::STRESS, 1e6),
    unit("GPa",   &[], Dimension::STRESS, 1e9),
    unit("ksi",   &[], Dimension::STRESS, KSI),
    unit("psi",   &[], Dimension::STRESS, KSI / 1000.0),
    unit("A",     &[], Dimension::CURRENT, 1.0),
    unit("V",     &[], Dimension::POTENTIAL, 1.0),
    unit("mV",    &[], Dimension::POTENTIAL, 0.001),
    unit("s",     &[], Dimension::TIME, 1.0),
    unit("min",   &[], Dimension::TIME, 60.0),
    unit("h",     &[], Dimension::TIME, 3600.0),
    unit("days",  &["day"], Dimension::TIME, 86_400.0),
    unit("kg",    &[], Dimension::MASS, 1.0),
    unit("g",     &[], Dimension::MASS, 0.001),
    unit("lb",    &[], Dimension::MASS, POUND),
    unit("mm/s",  &[], Dimension::SPEED, 0.001),
    unit("mm/min", &[], Dimension::SPEED, 0.001 / 60.0),
    unit("m/min", &[], Dimension::SPEED, 1.0 / 60.0),
    unit("in/min", &["ipm"], Dimension::SPEED, INCH / 60.0),
    unit("L/min", &["l/min"], Dimension::VOLUME_FLOW, 0.001 / 60.0),
    unit("ft³/h", &["ft3/h", "cfh"], Dimension::VOLUME_FLOW, CUBIC_FOOT / 3600.0),
    unit("kJ/mm", &[], Dimension::ENERGY_PER_LENGTH, 1e6),
    unit("J/mm",  &[], Dimension::ENERGY_PER_LENGTH, 1000.0),
    unit("kJ/in", &[], Dimension::ENERGY_PER_LENGTH, 1000.0 / INCH),
];

/// A family of units that are used together.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum System {
    Metric,
    Customary,
}

/// US customary units; the first of a dimension is the one that goes with the others.
const CUSTOMARY: &[&str] =
    &["°F", "Δ°F", "in", "ft", "in²", "kip", "lbf", "ksi", "psi", "lb", "in/min", "ft³/h", "kJ/in"];

/// What a unit's symbol stands for where nothing else is known: `%` and `K` have two meanings, and the dimension that
/// is expected decides.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnitLookup {
    /// One unit has that symbol.
    One(Unit),
    /// A share or a mass per cent; a temperature or a difference. The first is taken where nothing decides.
    Either(Unit, Unit),
}

impl Unit {
    /// Mass per cent.
    pub const MASS_PERCENT: Unit = Unit(2);
    /// Per cent of a whole.
    pub const PERCENT: Unit = Unit(1);
    /// Degrees Celsius.
    pub const CELSIUS: Unit = Unit(3);
    /// Degrees Fahrenheit.
    pub const FAHRENHEIT: Unit = Unit(4);

    fn entry(self) -> &'static UnitEntry {
        &UNITS[self.0 as usize]
    }

    fn all() -> impl Iterator<Item = Unit> {
        (0..UNITS.len()).map(|index| Unit(index as u8))
    }

    /// The unit (or the two units) written as `symbol`.
    pub fn lookup(symbol: &str) -> Option<UnitLookup> {
        let mut found = Unit::all().filter(|unit| {
            let entry = unit.entry();
            !symbol.is_empty() && (entry.symbol == symbol || entry.aliases.contains(&symbol))
        });
        let first = found.next()?;
        Some(found.next().map_or(UnitLookup::One(first), |second| UnitLookup::Either(first, second)))
    }

    /// The unit written as `symbol` that measures `dimension`.
    pub fn for_dimension(symbol: &str, dimension: Dimension) -> Option<Unit> {
        match Unit::lookup(symbol)? {
            UnitLookup::One(unit) => (unit.dimension() == dimension).then_some(unit),
            UnitLookup::Either(a, b) => [a, b].into_iter().find(|unit| unit.dimension() == dimension),
        }
    }

    /// The usual unit of a dimension, where it has one.
    pub fn usual(dimension: Dimension) -> Option<Unit> {
        Unit::all().find(|unit| unit.dimension() == dimension)
    }

    /// The system it belongs to; `None` for what both have in common, such as a per cent or an hour.
    pub(super) fn system(self) -> Option<System> {
        let in_common = [
            Dimension::RATIO,
            Dimension::SHARE,
            Dimension::MASS_PERCENT,
            Dimension::ANGLE,
            Dimension::TIME,
            Dimension::CURRENT,
            Dimension::POTENTIAL,
        ];
        match CUSTOMARY.contains(&self.symbol()) {
            true => Some(System::Customary),
            false => (!in_common.contains(&self.dimension())).then_some(System::Metric),
        }
    }

    /// The US customary unit of a dimension, where there is one.
    pub(super) fn customary(dimension: Dimension) -> Option<Unit> {
        CUSTOMARY.iter().find_map(|symbol| Unit::for_dimension(symbol, dimension))
    }

    /// Every unit of a dimension, the usual one first.
    pub fn measuring(dimension: Dimension) -> impl Iterator<Item = Unit> {
        Unit::all().filter(move |unit| unit.dimension() == dimension)
    }

    /// Every symbol and alias, for suggestions.
    pub fn symbols() -> impl Iterator<Item = &'static str> {
        UNITS
            .iter()
            .flat_map(|entry| std::iter::once(entry.symbol).chain(entry.aliases.iter().copied()))
            .filter(|symbol| !symbol.is_empty())
    }

    /// The symbol or alias that was most likely meant by an unknown one, if any is near. Between two that are equally
    /// near, one of a single character is the less likely: °C, not °, for °D.
    pub fn nearest(symbol: &str) -> Option<&'static str> {
        Unit::symbols()
            .map(|known| {
                let single = known.chars().count() == 1;
                (strsim::damerau_levenshtein(known, symbol), single, known)
            })
            .filter(|(distance, _, known)| *distance <= 2 && *distance < known.chars().count().max(2))
            .min()
            .map(|(_, _, known)| known)
    }

    /// How the unit is written.
    pub fn symbol(self) -> &'static str {
        self.entry().symbol
    }

    /// What it measures.
    pub fn dimension(self) -> Dimension {
        self.entry().dimension
    }

    /// Value in base units of `value` in this unit.
    pub fn to_base(self, value: f64) -> f64 {
        let entry = self.entry();
        (value + entry.offset) * entry.factor
    }

    /// Value in this unit of a value in base units.
    pub fn from_base(self, base: f64) -> f64 {
        let entry = self.entry();
        base / entry.factor - entry.offset
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constants_name_the_units_they_say() {
        assert_eq!(Unit::MASS_PERCENT.dimension(), Dimension::MASS_PERCENT);
        assert_eq!(Unit::PERCENT.symbol(), "%");
        assert_eq!(Unit::CELSIUS.symbol(), "°C");
        assert_eq!(Unit::FAHRENHEIT.symbol(), "°F");
    }

    #[test]
    fn customary_units_convert_exactly() {
        // 150 °F = 65.56 °C and 17 ksi = 117.2 MPa: handbook conversions (ISO 80000, from memory).
        let fahrenheit = Unit::lookup("°F");
        let Some(UnitLookup::One(fahrenheit)) = fahrenheit else { panic!("°F is one unit") };
        assert!((fahrenheit.to_base(150.0) - 65.555_555_555_555_6).abs() < 1e-9);
        let ksi = Unit::for_dimension("ksi", Dimension::STRESS).expect("ksi is known");
        assert!((ksi.to_base(17.0) / 1e6 - 117.21).abs() < 0.01);
    }

    #[test]
    fn percent_is_decided_by_what_is_expected() {
        assert_eq!(Unit::for_dimension("%", Dimension::MASS_PERCENT), Some(Unit::MASS_PERCENT));
        assert_eq!(Unit::for_dimension("%", Dimension::SHARE), Some(Unit::PERCENT));
        assert!(matches!(Unit::lookup("%"), Some(UnitLookup::Either(_, _))));
    }
}
