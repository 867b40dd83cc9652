//! The relation `section-share`: how much of each pool the two parts of a joint make up, from the joint's cross-section.
//! The areas are drawn in `metallurgy::section`.

use super::ComputedShape;
use super::metals::{spread_in, spread_of};
use crate::engine::{Cell, Computation, Inputs, Memory, OutputCell, Outputs, TermId, Working};
use crate::language::Value;
use crate::metallurgy::mixing::Spread;
use crate::metallurgy::section::{Pass, Section, Size, Weld};
use crate::quantity::Quantity;
use std::collections::HashMap;

pub(super) const COMPUTATION: Computation = Computation { relation: "section-share", run, working };

pub(super) const SHAPE: ComputedShape = ComputedShape {
    relation: "section-share",
    roles: &["joint", "pass", "side", "lowest", "nominal", "highest"],
    from: &[
        ("weld", &["joint", "value"]),
        ("edge-thickness", &["joint", "side", "value"]),
        ("melt-in", &["joint", "side", "lowest", "nominal", "highest"]),
        ("prepared-size", &["joint", "size", "lowest", "nominal", "highest"]),
        ("prepared-angle", &["joint", "lowest", "nominal", "highest"]),
    ],
};

const WELD: usize = 0;
const THICKNESS: usize = 1;
const MELT_IN: usize = 2;
const SIZE: usize = 3;
const ANGLE: usize = 4;

const SIDES: [&str; 2] = ["first", "second"];

/// What one row says of a section.
enum Said {
    Thickness(usize, Quantity),
    MeltIn(usize, Spread),
    Size(Size, Spread),
}

/// Reads a row of an input: `word` is what stands in its second role, `value` what stands in its third.
fn said(input: usize, word: Option<&Value>, value: Option<&Value>, spread: Option<Spread>) -> Option<Said> {
    let word = || match word {
        Some(Value::Symbol(word)) => Some(&**word),
        _ => None,
    };
    let side = || SIDES.iter().position(|side| Some(*side) == word());
    match (input, value) {
        (THICKNESS, Some(Value::Number(thickness))) => Some(Said::Thickness(side()?, *thickness)),
        (MELT_IN, _) => Some(Said::MeltIn(side()?, spread?)),
        (SIZE, _) => Some(Said::Size(Size::named(word()?)?, spread?)),
        (ANGLE, _) => Some(Said::Size(Size::Bevel, spread?)),
        _ => None,
    }
}

/// Where the spread of an input's rows begins.
fn first_of_spread(input: usize) -> usize {
    if input == ANGLE { 1 } else { 2 }
}

/// A section put together from what its rows say, and which of them have a part in it; `None` where something is missing
/// or is said twice.
fn assembled(weld: Weld, said: &[Said]) -> Option<(Section, Vec<bool>)> {
    let only = |found: Vec<Quantity>| <[Quantity; 1]>::try_from(found).ok().map(|[one]| one);
    let thickness = |side: usize| {
        only(
            said.iter()
                .filter_map(|said| match said {
                    Said::Thickness(of, value) if *of == side => Some(*value),
                    _ => None,
                })
                .collect(),
        )
    };
    let melt_in = |side: usize| {
        let found: Vec<Spread> = said
            .iter()
            .filter_map(|said| match said {
                Said::MeltIn(of, value) if *of == side => Some(*value),
                _ => None,
            })
            .collect();
        <[Spread; 1]>::try_from(found).ok().map(|[one]| one)
    };
    let mut section = Section::new(weld, [thickness(0)?, thickness(1)?], [melt_in(0)?, melt_in(1)?]);
    let mut seen: Vec<Size> = Vec::new();
    let mut used = Vec::with_capacity(said.len());
    for said in said {
        if let Said::Size(size, value) = said {
            if seen.contains(size) {
                return None;
            }
            seen.push(*size);
            section = section.with(*size, *value);
            used.push(weld.uses(*size));
        } else {
            used.push(true);
        }
    }
    Some((section, used))
}

/// Rows that wait on an answer say nothing: without a size no section is drawn, and the rulebook takes another way.
fn run(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let mut joints: HashMap<TermId, Vec<(usize, usize)>> = HashMap::new();
    for input in [THICKNESS, MELT_IN, SIZE, ANGLE] {
        for row in (0..inputs.rows(input)).filter(|row| !inputs.is_open(input, *row)) {
            joints.entry(inputs.term(input, row, 0)).or_default().push((input, row));
        }
    }
    for row in (0..inputs.rows(WELD)).filter(|row| !inputs.is_open(WELD, *row)) {
        let joint = inputs.term(WELD, row, 0);
        let Some(Value::Symbol(word)) = inputs.value(inputs.term(WELD, row, 1)) else { continue };
        let (Some(weld), Some(rows)) = (Weld::named(word), joints.get(&joint)) else { continue };
        let read: Vec<((usize, usize), Said)> = rows
            .iter()
            .filter_map(|(input, row)| {
                let cell = |role: usize| inputs.value(inputs.term(*input, *row, role));
                let spread =
                    (*input != THICKNESS).then(|| spread_in(inputs, *input, *row, first_of_spread(*input)));
                Some(((*input, *row), said(*input, cell(1), cell(2), spread.flatten())?))
            })
            .collect();
        let (rows, facts): (Vec<(usize, usize)>, Vec<Said>) = read.into_iter().unzip();
        let Some((section, used)) = assembled(weld, &facts) else { continue };
        let mut premises = vec![(WELD, row)];
        premises.extend(rows.iter().zip(used).filter(|(_, used)| *used).map(|(row, _)| *row));
        for shares in section.shares() {
            let pass = Pass::ALL.iter().find(|(_, pass)| *pass == shares.pass).map_or("", |(name, _)| *name);
            for (side, share) in SIDES.iter().zip([shares.first, shares.second]) {
                let mut cells =
                    vec![OutputCell::Term(joint), OutputCell::Symbol(pass), OutputCell::Symbol(side)];
                cells.extend([share.lowest, share.nominal, share.highest].map(OutputCell::Quantity));
                outputs.push(&cells, &premises);
            }
        }
    }
}

fn working(premises: &[(usize, Vec<Cell>)], cells: &[Cell], _: &Memory) -> Working {
    let value = |cells: &[Cell], role: usize| match cells.get(role) {
        Some(Cell::Value(value)) => Some(value.clone()),
        _ => None,
    };
    let word = |cells: &[Cell], role: usize| match value(cells, role) {
        Some(Value::Symbol(word)) => Some(word),
        _ => None,
    };
    let weld = premises
        .iter()
        .find(|(input, _)| *input == WELD)
        .and_then(|(_, cells)| Weld::named(&word(cells, 1)?));
    let pass = word(cells, 1).and_then(|word| Pass::ALL.iter().find(|(name, _)| *name == &*word).copied());
    let facts: Vec<Said> = premises
        .iter()
        .filter_map(|(input, cells)| {
            let spread = spread_of(cells, first_of_spread(*input));
            said(*input, value(cells, 1).as_ref(), value(cells, 2).as_ref(), spread)
        })
        .collect();
    let drawn = weld.and_then(|weld| Some((weld, pass?.1, assembled(weld, &facts)?.0)));
    let Some((weld, pass, section)) = drawn else {
        return Working { method: "cross-section".to_owned(), cites: Vec::new(), steps: Vec::new() };
    };
    let part = match pass {
        Pass::Whole => "",
        Pass::Root => " Of this, the root pass: from the root up to its own height.",
        Pass::Fill => {
            " Of this, all above the root pass; what these passes melt of earlier ones is taken to be of their own \
             composition."
        }
    };
    Working {
        method: format!(
            "cross-section: {}.{part} Share of a part: what is melted of it, in all metal of the pool; lowest and \
             highest at the corners of all ranges",
            weld.in_words()
        ),
        // Plane geometry; where the sizes come from is said at each of them.
        cites: Vec::new(),
        steps: section.written_out(pass),
    }
}
