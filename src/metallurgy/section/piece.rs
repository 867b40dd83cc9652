//! The simple bodies that a section is put together from: how large each is, and how that is written with its sizes put
//! in. Which bodies make up which weld stands in `weld.rs`.

use crate::quantity::{Dimension, Quantity, format_number};
use std::f64::consts::PI;

/// A body of a section. Sizes in metres, angles in radians; what is welded along a length is an area in square metres,
/// what is round is a volume in cubic metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum SectionPiece {
    /// A strip.
    Strip { across: f64, along: f64 },
    /// A stretch of a symmetric V, from one height above its tip to another.
    Opening { from: f64, to: f64, half_angle: f64 },
    /// A right triangle between its legs.
    Triangle { one: f64, other: f64 },
    /// A bead's raised face, a parabola over its width: two thirds of the rectangle around it.
    Crown { width: f64, height: f64 },
    /// A round filling.
    Cylinder { across: f64, height: f64 },
    /// The wall around a round filling.
    Wall { across: f64, depth: f64, height: f64 },
    /// A raised face on a round filling, a paraboloid: half of the cylinder around it.
    Dome { across: f64, height: f64 },
}

impl SectionPiece {
    /// Its area or volume in base units.
    pub(super) fn amount(&self) -> f64 {
        match *self {
            SectionPiece::Strip { across, along } => across * along,
            SectionPiece::Opening { from, to, half_angle } => (to * to - from * from) * half_angle.tan(),
            SectionPiece::Triangle { one, other } => one * other / 2.0,
            SectionPiece::Crown { width, height } => 2.0 / 3.0 * width * height,
            SectionPiece::Cylinder { across, height } => PI / 4.0 * across * across * height,
            SectionPiece::Wall { across, depth, height } => PI * (across + depth) * depth * height,
            SectionPiece::Dome { across, height } => PI / 8.0 * across * across * height,
        }
    }

    /// How it is worked out, sizes put in.
    fn written(&self) -> String {
        match *self {
            SectionPiece::Strip { across, along } => format!("{} × {}", length(across), length(along)),
            SectionPiece::Opening { from, to, half_angle } => {
                let tangent = format!("tan {}", Quantity::from_base(half_angle, Dimension::ANGLE));
                if from == 0.0 {
                    format!("({})² × {tangent}", length(to))
                } else {
                    format!("(({})² − ({})²) × {tangent}", length(to), length(from))
                }
            }
            SectionPiece::Triangle { one, other } => format!("½ × {} × {}", length(one), length(other)),
            SectionPiece::Crown { width, height } => format!("⅔ × {} × {}", length(width), length(height)),
            SectionPiece::Cylinder { across, height } => {
                format!("π/4 × ({})² × {}", length(across), length(height))
            }
            SectionPiece::Wall { across, depth, height } => {
                format!(
                    "π × ({} + {}) × {} × {}",
                    length(across),
                    length(depth),
                    length(depth),
                    length(height)
                )
            }
            SectionPiece::Dome { across, height } => {
                format!("π/8 × ({})² × {}", length(across), length(height))
            }
        }
    }
}

fn length(metres: f64) -> String {
    Quantity::from_base(metres, Dimension::LENGTH).to_string()
}

/// The metal of one pass, or of a whole weld.
#[derive(Clone, Debug, Default)]
pub(super) struct Metal {
    /// Deposited filler.
    pub filler: Vec<SectionPiece>,
    /// Melted base metal of the first and the second part.
    pub base: [Vec<SectionPiece>; 2],
}

/// Area or volume of some pieces.
pub(super) fn amount(pieces: &[SectionPiece]) -> f64 {
    pieces.iter().map(SectionPiece::amount).sum()
}

impl Metal {
    /// Shares of the two parts in all metal of the pool; `None` where there is no metal.
    pub(super) fn shares(&self) -> Option<[f64; 2]> {
        let [first, second] = [amount(&self.base[0]), amount(&self.base[1])];
        let all = amount(&self.filler) + first + second;
        (all.is_finite() && all > 0.0).then(|| [first / all, second / all])
    }

    /// The arithmetic of [`Metal::shares`], a line for each body of metal and one for each share.
    pub(super) fn written_out(&self, dimension: Dimension) -> Vec<String> {
        let bodies = [
            ("filler", &self.filler),
            ("melted of the first part", &self.base[0]),
            ("melted of the second part", &self.base[1]),
        ];
        let mut lines: Vec<String> = bodies
            .iter()
            .map(|(name, pieces)| {
                let terms: Vec<String> =
                    pieces.iter().filter(|piece| piece.amount() != 0.0).map(SectionPiece::written).collect();
                let total = Quantity::from_base(amount(pieces), dimension);
                if terms.is_empty() {
                    format!("{name}: none")
                } else {
                    format!("{name}: {} = {total}", terms.join(" + "))
                }
            })
            .collect();
        if let Some(shares) = self.shares() {
            let amounts =
                bodies.map(|(_, pieces)| Quantity::from_base(amount(pieces), dimension).to_string());
            for (name, (amount, share)) in ["first", "second"].iter().zip(amounts[1..].iter().zip(shares)) {
                let share = format_number(share * 100.0);
                lines.push(format!(
                    "share of the {name} part: {amount} / ({}) = {share} %",
                    amounts.join(" + ")
                ));
            }
        }
        lines
    }
}
