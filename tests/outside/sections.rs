//! Dilution from the shape of a joint, against areas worked out by hand and against what must hold of any section.

use proptest::prelude::*;
use whyrod::metallurgy::mixing::Spread;
use whyrod::metallurgy::section::{Pass, Section, Shares, Size, Weld};
use whyrod::quantity::{Dimension, Quantity, parse_quantity};

fn single(text: &str) -> Spread {
    let value = parse_quantity(text, None).expect("a quantity");
    Spread { lowest: value, nominal: value, highest: value }
}

fn millimetres(value: f64) -> Spread {
    single(&format!("{value} mm"))
}

fn range(lowest: f64, highest: f64) -> Spread {
    let of = |value: f64| millimetres(value).nominal;
    Spread { lowest: of(lowest), nominal: of((lowest + highest) / 2.0), highest: of(highest) }
}

fn section(weld: Weld, thickness: [f64; 2], melt_in: [f64; 2]) -> Section {
    Section::new(weld, thickness.map(|value| millimetres(value).nominal), melt_in.map(millimetres))
}

fn of(section: &Section, pass: Pass) -> Shares {
    *section.shares().iter().find(|shares| shares.pass == pass).expect("the weld has such a pass")
}

fn dilution(section: &Section, pass: Pass) -> f64 {
    let shares = of(section, pass);
    shares.first.nominal.base + shares.second.nominal.base
}

/// Both shares, usual, of the whole weld.
fn usual(section: &Section) -> [f64; 2] {
    let shares = of(section, Pass::Whole);
    [shares.first.nominal.base, shares.second.nominal.base]
}

fn close(found: [f64; 2], expected: [f64; 2]) {
    let near = |(a, b): (&f64, &f64)| (a - b).abs() < 1e-9;
    assert!(found.iter().zip(&expected).all(near), "{found:?} where {expected:?} is expected");
}

/// The drawn sections of tests/outside/data/dilution.csv; each row names its source.
#[test]
fn areas_worked_out_by_hand_come_out() {
    let text = include_str!("data/dilution.csv");
    let mut rows = 0;
    for line in text.lines().skip(1) {
        let (joint, rest) = line[1..].split_once("\",").expect("a quoted joint");
        let cells: Vec<&str> = rest.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().ok();
        let thickness = number(1).expect("a thickness");
        let melt_in = number(3).expect("a melt-in");
        let weld = Weld::named(cells[0]).expect("a weld of the contract");
        let mut drawn = section(weld, [thickness; 2], [melt_in; 2]);
        let sizes =
            [(2, Size::Gap), (5, Size::RootFace), (6, Size::Leg), (7, Size::CapWidth), (8, Size::CapHeight)];
        for (at, size) in sizes {
            if let Some(value) = number(at) {
                drawn = drawn.with(size, millimetres(value));
            }
        }
        if let Some(angle) = number(4) {
            drawn = drawn.with(Size::Bevel, single(&format!("{angle} °")));
        }
        let found = dilution(&drawn, Pass::Whole) * 100.0;
        let (base, filler) = (number(9).expect("an area"), number(10).expect("an area"));
        let rounded = number(11).expect("a dilution");
        assert!((found - rounded).abs() <= 0.5, "{joint}: {found} % where {rounded} % is stated");
        // The areas are stated to a tenth of a square millimetre.
        let from_areas = 100.0 * base / (base + filler);
        assert!((found - from_areas).abs() < 0.1, "{joint}: {found} % where the areas give {from_areas} %");
        rows += 1;
    }
    assert_eq!(rows, 10);
}

/// A 60 degree V of 10 mm as in the rows above, filled in more than one pass.
fn groove(melt_in: Spread) -> Section {
    Section::new(Weld::SingleV, [millimetres(10.0).nominal; 2], [melt_in; 2])
        .with(Size::Gap, millimetres(2.0))
        .with(Size::Bevel, single("60 °"))
        .with(Size::RootFace, millimetres(1.5))
        .with(Size::CapHeight, millimetres(1.5))
}

#[test]
fn the_root_pass_is_more_diluted_than_the_rest() {
    let drawn = groove(millimetres(1.0)).with(Size::RootPass, millimetres(4.0));
    let (tangent, cosine) = (30f64.to_radians().tan(), 30f64.to_radians().cos());
    // By hand: the root pass is 4 mm high, 1.5 mm of it on the root face.
    let base = 2.0 * (1.5 + 2.5 / cosine);
    let filler = 2.0 * 4.0 + 2.5 * 2.5 * tangent;
    assert!((dilution(&drawn, Pass::Root) - base / (base + filler)).abs() < 1e-9);
    let base = 2.0 * 6.0 / cosine;
    let crown = 2.0 / 3.0 * (2.0 + 2.0 * 8.5 * tangent) * 1.5;
    let filler = 2.0 * 6.0 + (8.5 * 8.5 - 2.5 * 2.5) * tangent + crown;
    assert!((dilution(&drawn, Pass::Fill) - base / (base + filler)).abs() < 1e-9);
    assert!(dilution(&drawn, Pass::Root) > dilution(&drawn, Pass::Whole));
    assert!(dilution(&drawn, Pass::Whole) > dilution(&drawn, Pass::Fill));
    // A root pass as high as the plate is the whole weld.
    let in_one = groove(millimetres(1.0)).with(Size::RootPass, millimetres(10.0));
    assert_eq!(in_one.shares().len(), 1);
}

#[test]
fn ranges_give_the_ends_at_their_corners() {
    let shares = of(&groove(range(1.0, 2.0)), Pass::Whole);
    let whole = |pick: fn(&Spread) -> Quantity| pick(&shares.first).base + pick(&shares.second).base;
    assert!((whole(|spread| spread.lowest) - 0.235).abs() < 0.005);
    assert!((whole(|spread| spread.highest) - 0.381).abs() < 0.005);
    // The wider gap and the shallower melt-in belong to the lowest dilution.
    let both = groove(range(1.0, 2.0)).with(Size::Gap, range(1.0, 3.0));
    let written = both.written_out(Pass::Whole);
    let found = written.iter().find(|line| line.starts_with("lowest")).expect("a line on the lowest");
    assert!(found.contains("a melt-in of 1 mm, a gap of 3 mm"), "{found}");
}

/// Each by hand, in square millimetres (for the plug in cubic ones, without the factor π).
#[test]
fn every_other_weld_as_it_is_drawn() {
    let flat = |weld, thickness, melt_in| {
        section(weld, thickness, melt_in)
            .with(Size::Gap, millimetres(0.0))
            .with(Size::CapHeight, millimetres(0.0))
    };
    // Two Vs of 4 mm around a face of 2 mm at 90 degrees: 2 · 4² of filler, each side 2 + 8·√2 long.
    let double = flat(Weld::DoubleV, [10.0, 12.0], [1.0, 0.5])
        .with(Size::Bevel, single("90 °"))
        .with(Size::RootFace, millimetres(2.0));
    let side = 2.0 + 8.0 * 2f64.sqrt();
    let all = 32.0 + 1.5 * side;
    close(usual(&double), [side / all, 0.5 * side / all]);
    // A 6 mm leg on a 4 mm edge: 12 of filler, 0.5 · 4 melted of the edge and 1 · 6 of the sheet under it.
    let lap = flat(Weld::Lap, [4.0, 8.0], [0.5, 1.0]).with(Size::Leg, millimetres(6.0));
    close(usual(&lap), [2.0 / 20.0, 6.0 / 20.0]);
    // With a gap of 1 mm the sides of 6 and 4 mm, 6·4 / √(6² + 4²) at the throat, move apart.
    let apart = lap.with(Size::Gap, millimetres(1.0));
    let all = 20.0 + 24.0 / 52f64.sqrt();
    close(usual(&apart), [2.0 / all, 6.0 / all]);
    // Edges of 3 and 5 mm under a leg of 5 mm.
    let corner = flat(Weld::Corner, [3.0, 5.0], [1.0, 1.0]).with(Size::Leg, millimetres(5.0));
    close(usual(&corner), [3.0 / 15.5, 5.0 / 15.5]);
    // Edges of 2 and 4 mm, a gap of 1 mm, melted 1.5 mm deep under a cap of 7 mm by 1.5 mm.
    let edge = section(Weld::Edge, [2.0, 4.0], [1.5, 1.5])
        .with(Size::Gap, millimetres(1.0))
        .with(Size::CapHeight, millimetres(1.5));
    close(usual(&edge), [3.0 / 17.5, 6.0 / 17.5]);
    // A hole of 8 mm through 3 mm: 8²/4 · 3 = 48 of filler, a wall of 9 · 1 · 3 = 27, and 8²/4 · 1 = 16 below.
    let plug = flat(Weld::Plug, [6.0, 3.0], [1.0, 1.0]).with(Size::Hole, millimetres(8.0));
    close(usual(&plug), [16.0 / 91.0, 27.0 / 91.0]);
    // A fillet cannot melt more than there is of a thin sheet.
    let fillet = flat(Weld::Fillet, [1.0, 8.0], [2.0, 2.0]).with(Size::Leg, millimetres(6.0));
    close(usual(&fillet), [6.0 / 36.0, 12.0 / 36.0]);
}

#[test]
fn without_filler_all_is_base_metal() {
    // The glossary's definition: dilution is greatest, 100 %, where no filler is added.
    let butt = section(Weld::SquareButt, [3.0; 2], [2.0; 2])
        .with(Size::Gap, millimetres(0.0))
        .with(Size::CapHeight, millimetres(0.0));
    close(usual(&butt), [0.5, 0.5]);
    let edge = section(Weld::Edge, [2.0, 6.0], [1.0; 2])
        .with(Size::Gap, millimetres(0.0))
        .with(Size::CapHeight, millimetres(0.0));
    close(usual(&edge), [0.25, 0.75]);
}

#[test]
fn what_cannot_be_drawn_has_no_shares() {
    let open = groove(millimetres(1.0));
    assert_eq!(open.clone().with(Size::Bevel, single("180 °")).shares(), []);
    assert_eq!(open.clone().with(Size::Bevel, single("0 °")).shares(), []);
    let beyond = Quantity::from_base(f64::MAX, Dimension::LENGTH);
    let monstrous = section(Weld::Fillet, [3.0; 2], [1.0; 2])
        .with(Size::Leg, Spread { lowest: beyond, nominal: beyond, highest: beyond })
        .with(Size::Gap, millimetres(0.0))
        .with(Size::CapHeight, millimetres(0.0));
    assert_eq!(monstrous.shares(), []);
    assert_eq!(section(Weld::SingleV, [10.0; 2], [1.0; 2]).shares(), []);
    assert_eq!(section(Weld::Fillet, [0.0, 3.0], [1.0; 2]).with(Size::Leg, millimetres(3.0)).shares(), []);
    let nothing = section(Weld::Fillet, [3.0; 2], [1.0; 2])
        .with(Size::Leg, millimetres(0.0))
        .with(Size::Gap, millimetres(0.0))
        .with(Size::CapHeight, millimetres(0.0));
    assert_eq!(nothing.shares(), []);
}

/// Any section that can be drawn: weld, thickness, melt-in and all sizes in millimetres.
fn any_section() -> impl Strategy<Value = (Weld, [f64; 2], [f64; 2], [f64; 7])> {
    let size = |most: f64| 0.0..most;
    (
        0..Weld::ALL.len(),
        [0.5..30.0, 0.5..30.0],
        [0.05..5.0, 0.05..5.0],
        (size(6.0), 10.0..150.0, size(4.0), size(3.0), 0.5..20.0, 0.5..12.0, 2.0..20.0),
    )
        .prop_map(|(weld, thickness, melt_in, (gap, bevel, face, cap, leg, root, hole))| {
            (Weld::ALL[weld].1, thickness, melt_in, [gap, bevel, face, cap, leg, root, hole])
        })
}

fn drawn(weld: Weld, thickness: [f64; 2], melt_in: [f64; 2], sizes: [f64; 7]) -> Section {
    let [gap, bevel, face, cap, leg, root, hole] = sizes;
    section(weld, thickness, melt_in)
        .with(Size::Gap, millimetres(gap))
        .with(Size::Bevel, single(&format!("{bevel} °")))
        .with(Size::RootFace, millimetres(face))
        .with(Size::CapHeight, millimetres(cap))
        .with(Size::Leg, millimetres(leg))
        .with(Size::RootPass, millimetres(root))
        .with(Size::Hole, millimetres(hole))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 1000, ..ProptestConfig::default() })]

    #[test]
    fn shares_are_shares((weld, thickness, melt_in, sizes) in any_section()) {
        let section = drawn(weld, thickness, melt_in, sizes);
        let shares = section.shares();
        prop_assert!(!shares.is_empty());
        for of in shares {
            for pick in [|s: &Spread| s.lowest, |s: &Spread| s.nominal, |s: &Spread| s.highest] {
                let (first, second) = (pick(&of.first), pick(&of.second));
                prop_assert_eq!(first.dimension, Dimension::SHARE);
                prop_assert!(first.base >= 0.0 && second.base >= 0.0);
                prop_assert!(first.base + second.base <= 1.0 + 1e-12);
            }
            prop_assert!(section.written_out(of.pass).len() >= 5);
        }
    }

    #[test]
    fn deeper_melting_dilutes_more((weld, thickness, melt_in, sizes) in any_section(), deeper in 1.0..2.0) {
        let shallow = drawn(weld, thickness, melt_in, sizes);
        let deep = drawn(weld, thickness, melt_in.map(|depth| depth * deeper), sizes);
        for of in shallow.shares() {
            prop_assert!(dilution(&deep, of.pass) >= dilution(&shallow, of.pass) - 1e-12);
        }
    }

    /// Mathers, The welding of aluminium and its alloys, 2002, fig. 2.15, p. 30: a small gap dilutes much, a large one
    /// little.
    #[test]
    fn a_wider_gap_dilutes_less((weld, thickness, melt_in, sizes) in any_section(), wider in 0.0..5.0) {
        let narrow = drawn(weld, thickness, melt_in, sizes);
        let mut wide = sizes;
        wide[0] += wider;
        let wide = drawn(weld, thickness, melt_in, wide);
        for of in narrow.shares() {
            prop_assert!(dilution(&wide, of.pass) <= dilution(&narrow, of.pass) + 1e-12);
        }
    }

    #[test]
    fn lowest_usual_and_highest_come_in_order((weld, thickness, melt_in, sizes) in any_section(), more in 0.0..2.0) {
        let [gap, _, _, cap, ..] = sizes;
        let ranging = drawn(weld, thickness, melt_in, sizes)
            .with(Size::Gap, range(gap, gap + more))
            .with(Size::CapHeight, range(cap, cap + more));
        for of in ranging.shares() {
            let whole = |pick: fn(&Spread) -> Quantity| pick(&of.first).base + pick(&of.second).base;
            prop_assert!(whole(|s| s.lowest) <= whole(|s| s.nominal));
            prop_assert!(whole(|s| s.nominal) <= whole(|s| s.highest));
        }
    }

    /// The glossary's rule that the root pass is always much diluted: without a root face it is so at every size.
    #[test]
    fn the_root_of_a_sharp_v_is_diluted_most((_, thickness, melt_in, sizes) in any_section()) {
        let mut sharp = sizes;
        sharp[2] = 0.0;
        let section = drawn(Weld::SingleV, thickness, melt_in, sharp);
        if section.shares().len() == 3 {
            prop_assert!(dilution(&section, Pass::Root) >= dilution(&section, Pass::Fill) - 1e-12);
        }
    }
}
