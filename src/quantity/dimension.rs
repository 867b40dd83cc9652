//! Dimensions and their algebra. Units with names and factors live in `unit.rs`.

use std::fmt;

/// Exponents over the base quantities, and whether the value is a point on a scale (an absolute temperature).
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Dimension {
    length: i8,
    mass: i8,
    time: i8,
    current: i8,
    temperature: i8,
    mass_percent: i8,
    angle: i8,
    /// A point on the temperature scale rather than a difference: it may be compared, shifted by a difference, and
    /// subtracted from another point, and nothing else.
    point: bool,
    /// A part of a whole, which is shown in per cent, where a plain number is not. Only what has no other dimension is one.
    share: bool,
}

const fn of(length: i8, mass: i8, time: i8, current: i8, temperature: i8, mass_percent: i8) -> Dimension {
    Dimension { length, mass, time, current, temperature, mass_percent, angle: 0, point: false, share: false }
}

impl Dimension {
    /// A plain number.
    pub const RATIO: Dimension = of(0, 0, 0, 0, 0, 0);
    /// A part of a whole. It is kept apart from a plain number, so that one sentence never speaks of both 0.03 and 12.5 %.
    pub const SHARE: Dimension = Dimension { share: true, ..Dimension::RATIO };
    /// Mass of an element in a hundred of the alloy.
    pub const MASS_PERCENT: Dimension = of(0, 0, 0, 0, 0, 1);
    /// A point on the temperature scale.
    pub const TEMPERATURE: Dimension = Dimension { point: true, ..of(0, 0, 0, 0, 1, 0) };
    /// A difference between two temperatures.
    pub const TEMPERATURE_DIFFERENCE: Dimension = of(0, 0, 0, 0, 1, 0);
    /// Length.
    pub const LENGTH: Dimension = of(1, 0, 0, 0, 0, 0);
    /// Area.
    pub const AREA: Dimension = of(2, 0, 0, 0, 0, 0);
    /// Volume.
    pub const VOLUME: Dimension = of(3, 0, 0, 0, 0, 0);
    /// Plane angle. It is kept apart from a plain number, so that an angle is never taken for a ratio.
    pub const ANGLE: Dimension = Dimension { angle: 1, ..of(0, 0, 0, 0, 0, 0) };
    /// Force.
    pub const FORCE: Dimension = of(1, 1, -2, 0, 0, 0);
    /// Stress or pressure.
    pub const STRESS: Dimension = of(-1, 1, -2, 0, 0, 0);
    /// Electric current.
    pub const CURRENT: Dimension = of(0, 0, 0, 1, 0, 0);
    /// Electric potential.
    pub const POTENTIAL: Dimension = of(2, 1, -3, -1, 0, 0);
    /// Time.
    pub const TIME: Dimension = of(0, 0, 1, 0, 0, 0);
    /// Mass.
    pub const MASS: Dimension = of(0, 1, 0, 0, 0, 0);
    /// Speed.
    pub const SPEED: Dimension = of(1, 0, -1, 0, 0, 0);
    /// Volume flow.
    pub const VOLUME_FLOW: Dimension = of(3, 0, -1, 0, 0, 0);
    /// Energy per length, as in heat input (the same exponents as a force).
    pub const ENERGY_PER_LENGTH: Dimension = of(1, 1, -2, 0, 0, 0);

    /// Names a rulebook may write, in the order they are listed to a reader. `force` comes before
    /// `energy-per-length`, which has the same exponents: a joule per metre is a newton.
    pub const NAMED: &'static [(&'static str, Dimension)] = &[
        ("ratio", Dimension::RATIO),
        ("share", Dimension::SHARE),
        ("mass-percent", Dimension::MASS_PERCENT),
        ("temperature", Dimension::TEMPERATURE),
        ("temperature-difference", Dimension::TEMPERATURE_DIFFERENCE),
        ("length", Dimension::LENGTH),
        ("area", Dimension::AREA),
        ("volume", Dimension::VOLUME),
        ("angle", Dimension::ANGLE),
        ("force", Dimension::FORCE),
        ("stress", Dimension::STRESS),
        ("current", Dimension::CURRENT),
        ("potential", Dimension::POTENTIAL),
        ("time", Dimension::TIME),
        ("mass", Dimension::MASS),
        ("speed", Dimension::SPEED),
        ("volume-flow", Dimension::VOLUME_FLOW),
        ("energy-per-length", Dimension::ENERGY_PER_LENGTH),
    ];

    /// The dimension of that name.
    pub fn named(name: &str) -> Option<Dimension> {
        Dimension::NAMED.iter().find(|(known, _)| *known == name).map(|(_, dimension)| *dimension)
    }

    /// Whether this is a point on the temperature scale.
    pub fn is_point(self) -> bool {
        self.point
    }

    /// Whether this is a plain number or a share, with no other dimension.
    fn is_bare(self) -> bool {
        Dimension { share: false, ..self } == Dimension::RATIO
    }

    /// Dimension of a product. A share of a share, and a share some number of times, is a share.
    pub fn times(self, other: Dimension) -> Result<Dimension, DimensionError> {
        let product = self.combine(other, 1)?;
        Ok(Dimension { share: (self.share || other.share) && product.is_bare(), ..product })
    }

    /// Dimension of a quotient. A share divided by a number is a share; two shares make a number.
    pub fn over(self, other: Dimension) -> Result<Dimension, DimensionError> {
        let quotient = self.combine(other, -1)?;
        Ok(Dimension { share: self.share && !other.share && quotient.is_bare(), ..quotient })
    }

    fn combine(self, other: Dimension, sign: i8) -> Result<Dimension, DimensionError> {
        if self.point || other.point {
            return Err(DimensionError::PointScaled);
        }
        let add = |a: i8, b: i8| a.checked_add(b.saturating_mul(sign)).ok_or(DimensionError::TooLarge);
        Ok(Dimension {
            length: add(self.length, other.length)?,
            mass: add(self.mass, other.mass)?,
            time: add(self.time, other.time)?,
            current: add(self.current, other.current)?,
            temperature: add(self.temperature, other.temperature)?,
            mass_percent: add(self.mass_percent, other.mass_percent)?,
            angle: add(self.angle, other.angle)?,
            point: false,
            share: false,
        })
    }

    /// Dimension of a square root; every exponent must be even.
    pub fn root(self) -> Result<Dimension, DimensionError> {
        if self.point {
            return Err(DimensionError::PointScaled);
        }
        let half = |a: i8| if a % 2 == 0 { Ok(a / 2) } else { Err(DimensionError::OddRoot) };
        Ok(Dimension {
            length: half(self.length)?,
            mass: half(self.mass)?,
            time: half(self.time)?,
            current: half(self.current)?,
            temperature: half(self.temperature)?,
            mass_percent: half(self.mass_percent)?,
            angle: half(self.angle)?,
            point: false,
            share: self.share,
        })
    }

    /// Dimension of a sum. Points may be shifted by differences but not added to each other.
    pub fn plus(self, other: Dimension) -> Result<Dimension, DimensionError> {
        match (self.point, other.point) {
            (true, true) => Err(DimensionError::PointsAdded),
            (true, false) if other == Dimension::TEMPERATURE_DIFFERENCE => Ok(self),
            (false, true) if self == Dimension::TEMPERATURE_DIFFERENCE => Ok(other),
            _ if self == other => Ok(self),
            _ => Err(DimensionError::Mixed(self, other)),
        }
    }

    /// Dimension of a difference. Two points give a difference.
    pub fn minus(self, other: Dimension) -> Result<Dimension, DimensionError> {
        match (self.point, other.point) {
            (true, true) => Ok(Dimension::TEMPERATURE_DIFFERENCE),
            (true, false) if other == Dimension::TEMPERATURE_DIFFERENCE => Ok(self),
            (false, true) => Err(DimensionError::Mixed(self, other)),
            _ if self == other => Ok(self),
            _ => Err(DimensionError::Mixed(self, other)),
        }
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some((name, _)) = Dimension::NAMED.iter().find(|(_, dimension)| dimension == self) {
            return f.write_str(&name.replace('-', " ").replace("mass percent", "mass per cent"));
        }
        let parts = [
            ("length", self.length),
            ("mass", self.mass),
            ("time", self.time),
            ("current", self.current),
            ("temperature difference", self.temperature),
            ("mass per cent", self.mass_percent),
            ("angle", self.angle),
        ];
        let text: Vec<String> = parts
            .iter()
            .filter(|(_, exponent)| *exponent != 0)
            .map(
                |(name, exponent)| {
                    if *exponent == 1 { (*name).to_owned() } else { format!("{name}^{exponent}") }
                },
            )
            .collect();
        f.write_str(&text.join(" × "))
    }
}

/// Why two dimensions do not combine.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DimensionError {
    /// Sum, difference or comparison of unlike quantities.
    Mixed(Dimension, Dimension),
    /// A temperature was multiplied, divided or put under a root.
    PointScaled,
    /// Two temperatures were added.
    PointsAdded,
    /// A square root of an odd power.
    OddRoot,
    /// Exponents out of range.
    TooLarge,
}

impl fmt::Display for DimensionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            DimensionError::Mixed(a, b) => write!(f, "{a} does not go with {b}"),
            DimensionError::PointScaled => {
                f.write_str("a temperature cannot be multiplied or divided; a temperature difference can")
            }
            DimensionError::PointsAdded => {
                f.write_str("two temperatures cannot be added; a temperature and a difference can")
            }
            DimensionError::OddRoot => f.write_str("the square root of this quantity has no whole dimension"),
            DimensionError::TooLarge => f.write_str("the powers in this formula are out of range"),
        }
    }
}

impl std::error::Error for DimensionError {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn force_over_area_is_stress() {
        assert_eq!(Dimension::FORCE.over(Dimension::AREA), Ok(Dimension::STRESS));
    }

    #[test]
    fn temperatures_subtract_to_a_difference_and_never_add() {
        let point = Dimension::TEMPERATURE;
        assert_eq!(point.minus(point), Ok(Dimension::TEMPERATURE_DIFFERENCE));
        assert_eq!(point.plus(Dimension::TEMPERATURE_DIFFERENCE), Ok(point));
        assert_eq!(point.plus(point), Err(DimensionError::PointsAdded));
        assert_eq!(point.times(Dimension::RATIO), Err(DimensionError::PointScaled));
    }

    #[test]
    fn an_angle_is_not_a_ratio() {
        assert!(Dimension::ANGLE.plus(Dimension::RATIO).is_err());
        assert_eq!(Dimension::ANGLE.over(Dimension::ANGLE), Ok(Dimension::RATIO));
        assert_eq!(Dimension::named("angle"), Some(Dimension::ANGLE));
    }

    #[test]
    fn a_share_stays_one_under_numbers_and_is_no_number() {
        let (share, ratio, length) = (Dimension::SHARE, Dimension::RATIO, Dimension::LENGTH);
        assert!(share.plus(ratio).is_err());
        assert_eq!(share.times(ratio), Ok(share));
        assert_eq!(ratio.times(share), Ok(share));
        assert_eq!(share.over(ratio), Ok(share));
        assert_eq!(share.over(share), Ok(ratio));
        assert_eq!(length.times(share), Ok(length));
        assert_eq!(length.over(length), Ok(ratio));
        assert_eq!(Dimension::named("share"), Some(share));
    }

    #[test]
    fn mass_percent_is_not_a_ratio() {
        assert!(Dimension::MASS_PERCENT.plus(Dimension::RATIO).is_err());
        assert_eq!(Dimension::MASS_PERCENT.over(Dimension::MASS_PERCENT), Ok(Dimension::RATIO));
    }
}
