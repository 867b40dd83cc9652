//! Which bodies of filler and of melted base metal each kind of weld has, each drawn in words. Own derivations, plane
//! geometry; how large the sizes are is decided elsewhere. A melt-in is how far the base metal is melted behind the face
//! that the weld lies on.

use super::piece::{Metal, SectionPiece};
use super::{Pass, Point, Size, Weld};

/// The sections, in words a reader can draw from.
pub(super) fn in_words(weld: Weld) -> &'static str {
    match weld {
        Weld::SquareButt => {
            "two straight edges as thick as the thinner part, the gap between them filled, each edge melted back by the \
             melt-in over its whole height, and a parabolic cap over the fused width"
        }
        Weld::SingleV => {
            "a V cut down to the root face and opened by the gap, as deep as the thinner part; the root face and the \
             bevel of each side melted back by the melt-in, and a parabolic cap over the opening"
        }
        Weld::DoubleV => {
            "two equal Vs with the root face between them, opened by the gap; the faces of each side melted back by the \
             melt-in, and a parabolic cap over either opening"
        }
        Weld::Fillet => {
            "a triangle between two equal legs, moved apart by the gap over the throat, a parabolic crown on its face, and \
             each part melted in over its leg, no deeper than it is thick"
        }
        Weld::Lap => {
            "a triangle between the leg on the face of the thicker part and the edge of the thinner one, no higher than \
             that edge, moved apart by the gap over the throat; a parabolic crown, and each part melted in over its side"
        }
        Weld::Corner => {
            "two straight edges that meet at their inner corners and leave a triangle open to the outside, filled up to \
             the leg or to the thickness of the part, the lesser, and moved apart by the gap over the throat; a parabolic \
             crown, and each edge melted in over its side"
        }
        Weld::Edge => {
            "two parts face to face, their edges melted down by the melt-in over their thickness, the gap between them \
             filled as deep, and a parabolic cap over both edges"
        }
        Weld::Plug => {
            "a round hole through the thinner part (the first, where they are alike) filled to a domed face, its wall \
             melted back by the melt-in and the other part melted as deep under the hole; volumes, since it is round"
        }
    }
}

/// The metal of a pass of a weld at one choice of sizes; `None` where the weld has no such pass.
pub(super) fn metal(weld: Weld, pass: Pass, at: &Point) -> Option<Metal> {
    match (weld, pass) {
        (Weld::SingleV, _) => single_v(pass, at),
        (Weld::DoubleV, _) => double_v(pass, at),
        (_, Pass::Root | Pass::Fill) => None,
        (Weld::SquareButt, Pass::Whole) => Some(square_butt(at)),
        (Weld::Fillet, Pass::Whole) => Some(fillet(at)),
        (Weld::Lap, Pass::Whole) => Some(lap(at)),
        (Weld::Corner, Pass::Whole) => Some(corner(at)),
        (Weld::Edge, Pass::Whole) => Some(edge(at)),
        (Weld::Plug, Pass::Whole) => Some(plug(at)),
    }
}

/// The thicker edge is dressed down to the thinner one, as practice asks, so both faces are as high as the thinner part.
fn square_butt(at: &Point) -> Metal {
    let height = at.thinner();
    let gap = at.size(Size::Gap);
    let width = at.given(Size::CapWidth).unwrap_or(gap + at.melt_in[0] + at.melt_in[1]);
    Metal {
        filler: vec![
            SectionPiece::Strip { across: gap, along: height },
            SectionPiece::Crown { width, height: at.size(Size::CapHeight) },
        ],
        base: at.melt_in.map(|depth| vec![SectionPiece::Strip { across: depth, along: height }]),
    }
}

/// A V with its root face below: what lies between two heights above the bottom of the root face.
struct Groove<'p> {
    at: &'p Point,
    face: f64,
}

impl Groove<'_> {
    fn half_angle(&self) -> f64 {
        self.at.size(Size::Bevel) / 2.0
    }

    /// Width of the opening at a height.
    fn width(&self, height: f64) -> f64 {
        self.at.size(Size::Gap) + 2.0 * (height - self.face).max(0.0) * self.half_angle().tan()
    }

    fn band(&self, bottom: f64, top: f64) -> Metal {
        let above = |height: f64| (height - self.face).max(0.0);
        let along_face = top.min(self.face) - bottom.min(self.face);
        let along_bevel = (above(top) - above(bottom)) / self.half_angle().cos();
        Metal {
            filler: vec![
                SectionPiece::Strip { across: self.at.size(Size::Gap), along: top - bottom },
                SectionPiece::Opening { from: above(bottom), to: above(top), half_angle: self.half_angle() },
            ],
            base: self
                .at
                .melt_in
                .map(|depth| vec![SectionPiece::Strip { across: depth, along: along_face + along_bevel }]),
        }
    }

    fn crown(&self, height: f64) -> SectionPiece {
        let width = self.at.given(Size::CapWidth).unwrap_or_else(|| self.width(height));
        SectionPiece::Crown { width, height: self.at.size(Size::CapHeight) }
    }
}

fn single_v(pass: Pass, at: &Point) -> Option<Metal> {
    let top = at.thinner();
    let groove = Groove { at, face: at.size(Size::RootFace).min(top) };
    let root = at.given(Size::RootPass).filter(|root| *root > 0.0 && *root < top);
    let (bottom, top) = match pass {
        Pass::Whole => (0.0, top),
        Pass::Root => return Some(groove.band(0.0, root?)),
        Pass::Fill => (root?, top),
    };
    let mut metal = groove.band(bottom, top);
    metal.filler.push(groove.crown(top));
    Some(metal)
}

/// The root pass lies in the first V, on the root face; all else, the second V included, counts as filling.
fn double_v(pass: Pass, at: &Point) -> Option<Metal> {
    let thickness = at.thinner();
    let face = at.size(Size::RootFace).min(thickness);
    let depth = (thickness - face) / 2.0;
    let first = Groove { at, face };
    let second = Groove { at, face: 0.0 };
    let root = at.given(Size::RootPass).filter(|root| *root > 0.0 && *root < face + depth);
    let bottom = match pass {
        Pass::Whole => 0.0,
        Pass::Root => return Some(first.band(0.0, root?)),
        Pass::Fill => root?,
    };
    let mut metal = first.band(bottom, face + depth);
    metal.filler.push(first.crown(face + depth));
    let other = second.band(0.0, depth);
    metal.filler.extend(other.filler);
    metal.filler.push(second.crown(depth));
    for (side, more) in metal.base.iter_mut().zip(other.base) {
        side.extend(more);
    }
    Some(metal)
}

/// A triangle between two sides, with its crown. A gap moves the sides apart over the throat.
fn triangle(at: &Point, sides: [f64; 2], depths: [f64; 2]) -> Metal {
    let [one, other] = sides;
    let face = one.hypot(other);
    let throat = if face > 0.0 { one * other / face } else { 0.0 };
    let width = at.given(Size::CapWidth).unwrap_or(face);
    let strip = |side: usize| vec![SectionPiece::Strip { across: depths[side], along: sides[side] }];
    Metal {
        filler: vec![
            SectionPiece::Triangle { one, other },
            SectionPiece::Crown { width, height: at.size(Size::CapHeight) },
            SectionPiece::Strip { across: at.size(Size::Gap), along: throat },
        ],
        base: [strip(0), strip(1)],
    }
}

/// Both parts are melted into their thickness, which ends it.
fn fillet(at: &Point) -> Metal {
    let leg = at.size(Size::Leg);
    triangle(at, [leg, leg], [0, 1].map(|side| at.melt_in[side].min(at.thickness[side])))
}

/// The edge is melted along its sheet, the other part into its thickness.
fn lap(at: &Point) -> Metal {
    let leg = at.size(Size::Leg);
    let edge = at.thinner_side();
    let mut sides = [leg, leg];
    sides[edge] = leg.min(at.thickness[edge]);
    let mut depths = at.melt_in;
    depths[1 - edge] = depths[1 - edge].min(at.thickness[1 - edge]);
    triangle(at, sides, depths)
}

fn corner(at: &Point) -> Metal {
    let leg = at.size(Size::Leg);
    triangle(at, at.thickness.map(|thickness| leg.min(thickness)), at.melt_in)
}

/// The gap is filled as deep as both edges beside it are melted.
fn edge(at: &Point) -> Metal {
    let gap = at.size(Size::Gap);
    let width = at.given(Size::CapWidth).unwrap_or(at.thickness[0] + gap + at.thickness[1]);
    let strip =
        |side: usize| vec![SectionPiece::Strip { across: at.melt_in[side], along: at.thickness[side] }];
    Metal {
        filler: vec![
            SectionPiece::Crown { width, height: at.size(Size::CapHeight) },
            SectionPiece::Strip { across: gap, along: at.melt_in[0].min(at.melt_in[1]) },
        ],
        base: [strip(0), strip(1)],
    }
}

fn plug(at: &Point) -> Metal {
    let across = at.size(Size::Hole);
    let upper = at.thinner_side();
    let lower = 1 - upper;
    let height = at.thickness[upper];
    let mut base = [Vec::new(), Vec::new()];
    base[upper] = vec![SectionPiece::Wall { across, depth: at.melt_in[upper], height }];
    base[lower] = vec![SectionPiece::Cylinder { across, height: at.melt_in[lower].min(at.thickness[lower]) }];
    Metal {
        filler: vec![
            SectionPiece::Cylinder { across, height: height + at.size(Size::Gap) },
            SectionPiece::Dome { across, height: at.size(Size::CapHeight) },
        ],
        base,
    }
}
