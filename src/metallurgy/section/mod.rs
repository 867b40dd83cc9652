//! Dilution from the shape of a joint: its cross-section as areas of deposited filler and of base metal melted on each
//! side. Which sizes a joint has, and what is taken where one is not given, is decided elsewhere.

mod piece;
mod weld;

use super::mixing::Spread;
use crate::quantity::{Dimension, Quantity, format_number};
use piece::Metal;

/// A kind of weld.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
#[expect(missing_docs, reason = "each is drawn in words in `weld.rs`")]
pub enum Weld {
    SquareButt,
    SingleV,
    DoubleV,
    Fillet,
    Lap,
    Corner,
    Edge,
    Plug,
}

impl Weld {
    /// Every kind, with the word that a job file has for it.
    pub const ALL: [(&'static str, Weld); 8] = [
        ("square butt", Weld::SquareButt),
        ("single-v butt", Weld::SingleV),
        ("double-v butt", Weld::DoubleV),
        ("fillet", Weld::Fillet),
        ("lap", Weld::Lap),
        ("corner", Weld::Corner),
        ("edge", Weld::Edge),
        ("plug", Weld::Plug),
    ];

    /// The kind of that name.
    pub fn named(name: &str) -> Option<Weld> {
        Weld::ALL.iter().find(|(known, _)| *known == name).map(|(_, weld)| *weld)
    }

    /// Sizes without which its section cannot be drawn.
    pub fn needs(self) -> &'static [Size] {
        match self {
            Weld::SquareButt | Weld::Edge => &[Size::Gap, Size::CapHeight],
            Weld::SingleV | Weld::DoubleV => &[Size::Gap, Size::Bevel, Size::RootFace, Size::CapHeight],
            Weld::Fillet | Weld::Lap | Weld::Corner => &[Size::Gap, Size::Leg, Size::CapHeight],
            Weld::Plug => &[Size::Gap, Size::Hole, Size::CapHeight],
        }
    }

    /// Whether a size has a part in its section.
    pub fn uses(self, size: Size) -> bool {
        let groove = matches!(self, Weld::SingleV | Weld::DoubleV);
        self.needs().contains(&size)
            || (size == Size::CapWidth && self != Weld::Plug)
            || (size == Size::RootPass && groove)
    }

    /// What its section holds, in words.
    pub fn in_words(self) -> &'static str {
        weld::in_words(self)
    }

    /// What the metal of its section is measured in.
    fn dimension(self) -> Dimension {
        if self == Weld::Plug { Dimension::VOLUME } else { Dimension::AREA }
    }
}

/// A size of a section. All are lengths, but for the bevel.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Size {
    /// Clear width between the parts.
    Gap,
    /// Included angle of a V.
    Bevel,
    /// Height of the unbevelled edge under a V.
    RootFace,
    /// How far the weld's face stands proud.
    CapHeight,
    /// Width of the weld's face; worked out from the rest where it is not given.
    CapWidth,
    /// Leg of a fillet.
    Leg,
    /// Height of the root pass; without it a V is one pool.
    RootPass,
    /// Diameter of a plug weld's hole.
    Hole,
}

impl Size {
    /// Every size, with its name.
    pub const ALL: [(&'static str, Size); 8] = [
        ("gap", Size::Gap),
        ("bevel angle", Size::Bevel),
        ("root face", Size::RootFace),
        ("cap height", Size::CapHeight),
        ("cap width", Size::CapWidth),
        ("leg", Size::Leg),
        ("root pass", Size::RootPass),
        ("hole", Size::Hole),
    ];

    /// The size of that name.
    pub fn named(name: &str) -> Option<Size> {
        Size::ALL.iter().find(|(known, _)| *known == name).map(|(_, size)| *size)
    }

    fn name(self) -> &'static str {
        Size::ALL[self as usize].0
    }

    fn dimension(self) -> Dimension {
        if self == Size::Bevel { Dimension::ANGLE } else { Dimension::LENGTH }
    }
}

/// A pool of a weld.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Pass {
    /// All of the weld as one pool.
    Whole,
    /// The first pass, at the root.
    Root,
    /// The passes on top of it. What they melt of the earlier ones is taken to be of their own composition, so it changes
    /// nothing: `C = D·base + D_p·C + (1 − D − D_p)·filler` gives a dilution of `D / (1 − D_p)`, the share of melted base
    /// in the filler and base that are new.
    Fill,
}

impl Pass {
    /// Every pass, with its name.
    pub const ALL: [(&'static str, Pass); 3] =
        [("whole", Pass::Whole), ("root", Pass::Root), ("fill", Pass::Fill)];
}

/// What is known of a joint's section.
#[derive(Clone, Debug)]
pub struct Section {
    weld: Weld,
    thickness: [f64; 2],
    melt_in: [[f64; 3]; 2],
    sizes: [Option<[f64; 3]>; 8],
}

/// Shares of the two parts in the pool of a pass. Lowest and highest are the shares at the sizes at which the whole
/// dilution, both shares together, is lowest and highest; so the two belong together, and need not be the extremes of
/// each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shares {
    /// The pass.
    pub pass: Pass,
    /// Share of the first part.
    pub first: Spread,
    /// Share of the second part.
    pub second: Spread,
}

/// One choice of every size, in base units.
struct Point {
    thickness: [f64; 2],
    melt_in: [f64; 2],
    sizes: [Option<f64>; 8],
}

impl Point {
    /// A size that may be left to the rest.
    fn given(&self, size: Size) -> Option<f64> {
        self.sizes[size as usize]
    }

    /// A size that the weld needs; those are there.
    fn size(&self, size: Size) -> f64 {
        self.given(size).unwrap_or(0.0)
    }

    /// The thinner part, the first where they are alike.
    fn thinner_side(&self) -> usize {
        usize::from(self.thickness[1] < self.thickness[0])
    }

    fn thinner(&self) -> f64 {
        self.thickness[self.thinner_side()]
    }
}

/// Index of the usual value in lowest, usual, highest.
const USUAL: usize = 1;

impl Section {
    /// A section of two parts with their thickness (lengths) and melt-in (lengths behind the face the weld lies on).
    pub fn new(weld: Weld, thickness: [Quantity; 2], melt_in: [Spread; 2]) -> Self {
        let ends = |spread: Spread| [spread.lowest.base, spread.nominal.base, spread.highest.base];
        Section {
            weld,
            thickness: thickness.map(|quantity| quantity.base),
            melt_in: melt_in.map(ends),
            sizes: [None; 8],
        }
    }

    /// The section with a size set.
    pub fn with(mut self, size: Size, value: Spread) -> Self {
        self.sizes[size as usize] = Some([value.lowest.base, value.nominal.base, value.highest.base]);
        self
    }

    /// Whether all sizes that the weld needs are there, and are such as can be drawn.
    fn can_be_drawn(&self) -> bool {
        let size = |size: Size| self.sizes[size as usize];
        let all = self.sizes.iter().flatten().chain(&self.melt_in);
        let sound = all.flatten().all(|value| value.is_finite() && *value >= 0.0);
        let thick = self.thickness.iter().all(|thickness| thickness.is_finite() && *thickness > 0.0);
        let open = size(Size::Bevel)
            .is_none_or(|angles| angles.iter().all(|angle| *angle > 0.0 && *angle < std::f64::consts::PI));
        sound && thick && open && self.weld.needs().iter().all(|needed| size(*needed).is_some())
    }

    /// The point at one end of each axis; the melt-in of both sides is one axis, since one arc melts both.
    fn point(&self, melt_in: usize, end: impl Fn(usize) -> usize) -> Point {
        let mut sizes = [None; 8];
        for (index, (size, ends)) in sizes.iter_mut().zip(&self.sizes).enumerate() {
            *size = ends.map(|ends| ends[end(index)]);
        }
        Point { thickness: self.thickness, melt_in: self.melt_in.map(|ends| ends[melt_in]), sizes }
    }

    fn usual(&self) -> Point {
        self.point(USUAL, |_| USUAL)
    }

    /// All corners of the ranges.
    fn corners(&self) -> impl Iterator<Item = Point> {
        let axes: Vec<usize> =
            (0..8).filter(|index| self.sizes[*index].is_some_and(|ends| ends[0] < ends[2])).collect();
        let melts = self.melt_in.iter().any(|ends| ends[0] < ends[2]);
        (0..1u32 << (axes.len() + usize::from(melts))).map(move |choice| {
            let end = |place: usize| if choice >> place & 1 == 1 { 2 } else { 0 };
            let melt_in = if melts { end(axes.len()) } else { USUAL };
            self.point(melt_in, |index| axes.iter().position(|axis| *axis == index).map_or(USUAL, &end))
        })
    }

    /// The sections at which a pass is least diluted, usual, and most diluted.
    fn extremes(&self, pass: Pass) -> Option<[(Point, Metal, [f64; 2]); 3]> {
        if !self.can_be_drawn() {
            return None;
        }
        let drawn = |point: Point| {
            let metal = weld::metal(self.weld, pass, &point)?;
            let shares = metal.shares()?;
            Some((point, metal, shares))
        };
        let dilution = |(_, _, shares): &(Point, Metal, [f64; 2])| shares[0] + shares[1];
        let usual = drawn(self.usual())?;
        let mut least = drawn(self.usual())?;
        let mut most = drawn(self.usual())?;
        for corner in self.corners().filter_map(drawn) {
            if dilution(&corner) < dilution(&least) {
                least = corner;
            } else if dilution(&corner) > dilution(&most) {
                most = corner;
            }
        }
        Some([least, usual, most])
    }

    /// Shares of the two parts in each pool of the weld, over the corners of all ranges: the whole weld, and where a V is
    /// filled in more than one pass the root pass and the others. Nothing where a size is missing, or where no such
    /// section can be drawn.
    pub fn shares(&self) -> Vec<Shares> {
        let of = |(_, pass): (&'static str, Pass)| {
            let extremes = self.extremes(pass)?;
            let spread = |side: usize| {
                let share = |end: usize| Quantity::from_base(extremes[end].2[side], Dimension::SHARE);
                let [lowest, nominal, highest] = [0, 1, 2].map(share);
                Spread { lowest, nominal, highest }
            };
            Some(Shares { pass, first: spread(0), second: spread(1) })
        };
        Pass::ALL.into_iter().filter_map(of).collect()
    }

    /// The arithmetic of [`Section::shares`] for one pass, written out at the usual sizes, with the sizes at which the
    /// dilution is lowest and highest.
    pub fn written_out(&self, pass: Pass) -> Vec<String> {
        let Some(extremes) = self.extremes(pass) else { return Vec::new() };
        let [least, usual, most] = &extremes;
        let mut lines = usual.1.written_out(self.weld.dimension());
        for (name, end) in [("lowest", least), ("highest", most)] {
            let percent = |share: f64| format_number(share * 100.0);
            let [first, second] = end.2;
            let sizes = self.chosen(&end.0);
            let at = if sizes.is_empty() { "at the sizes above".to_owned() } else { format!("with {sizes}") };
            lines.push(format!(
                "{name} dilution {at}: {} % + {} % = {} %",
                percent(first),
                percent(second),
                percent(first + second)
            ));
        }
        lines
    }

    /// Those sizes of a point that were chosen from a range.
    fn chosen(&self, point: &Point) -> String {
        let show = |value: f64, dimension| Quantity::from_base(value, dimension).to_string();
        let ranging = |ends: &[f64; 3]| ends[0] < ends[2];
        let mut chosen = Vec::new();
        if self.melt_in.iter().any(ranging) {
            let [first, second] = point.melt_in.map(|depth| show(depth, Dimension::LENGTH));
            chosen.push(if first == second {
                format!("a melt-in of {first}")
            } else {
                format!("a melt-in of {first} and {second}")
            });
        }
        for (_, size) in Size::ALL {
            let ends = self.sizes[size as usize];
            if let (Some(_), Some(value)) = (ends.filter(ranging), point.given(size)) {
                chosen.push(format!("a {} of {}", size.name(), show(value, size.dimension())));
            }
        }
        chosen.join(", ")
    }
}
