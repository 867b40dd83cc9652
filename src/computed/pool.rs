//! The relation `pool`: what a weld pool holds of each element. The mixing itself is `metallurgy::mixing`.

use super::Shape;
use super::reading::{spread, spread_of_cells};
use crate::engine::{Cell, Computation, Inputs, OutputCell, Outputs, TermId, Working};
use crate::metallurgy::mixing::{Melted, Spread, pool_content, written_out};
use crate::quantity::{Dimension, Quantity};
use std::collections::{BTreeMap, HashMap};

pub(super) const COMPUTATION: Computation = Computation { relation: "pool", run, working };

pub(super) const SHAPE: Shape = Shape {
    relation: "pool",
    roles: &["joint", "filler", "element", "lowest", "nominal", "highest", "pass"],
    from: &[
        ("candidate", &["joint", "filler"]),
        ("base-share", &["joint", "alloy", "lowest", "nominal", "highest", "pass"]),
        ("composition", &["alloy", "element", "lowest", "nominal", "highest"]),
        ("filler-composition", &["filler", "element", "lowest", "nominal", "highest"]),
    ],
};

const CANDIDATE: usize = 0;
const SHARE: usize = 1;
const BASE: usize = 2;
const FILLER: usize = 3;

/// The role that says of which pass a share is.
const PASS: usize = 5;

/// Rows of base shares by joint and pass, in order of appearance.
fn shares_by_pass(inputs: &Inputs<'_>) -> HashMap<TermId, Vec<(TermId, Vec<usize>)>> {
    let mut joints: HashMap<TermId, Vec<(TermId, Vec<usize>)>> = HashMap::new();
    for row in 0..inputs.rows(SHARE) {
        let passes = joints.entry(inputs.term(SHARE, row, 0)).or_default();
        let pass = inputs.term(SHARE, row, PASS);
        match passes.iter_mut().find(|(known, _)| *known == pass) {
            Some((_, rows)) => rows.push(row),
            None => passes.push((pass, vec![row])),
        }
    }
    joints
}

fn nothing() -> Spread {
    let none = Quantity::from_base(0.0, Dimension::MASS_PERCENT);
    Spread { lowest: none, nominal: none, highest: none }
}

/// Contents of one metal by element, with the rows they come from.
type Contents = BTreeMap<TermId, (usize, Spread)>;

fn contents(inputs: &Inputs<'_>, input: usize) -> HashMap<TermId, Contents> {
    let mut metals: HashMap<TermId, Contents> = HashMap::new();
    for row in 0..inputs.rows(input) {
        if let Some(spread) = spread(inputs, input, row, 2) {
            let metal = metals.entry(inputs.term(input, row, 0)).or_default();
            metal.insert(inputs.term(input, row, 1), (row, spread));
        }
    }
    metals
}

fn run(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let shares = shares_by_pass(inputs);
    let bases = contents(inputs, BASE);
    let fillers = contents(inputs, FILLER);
    let empty = Contents::new();
    for candidate in 0..inputs.rows(CANDIDATE) {
        let (joint, filler) = (inputs.term(CANDIDATE, candidate, 0), inputs.term(CANDIDATE, candidate, 1));
        let filler_contents = fillers.get(&filler).unwrap_or(&empty);
        for (pass, melted) in shares.get(&joint).map_or(&[][..], Vec::as_slice) {
            let metals: Vec<(usize, &Contents)> = melted
                .iter()
                .map(|row| (*row, bases.get(&inputs.term(SHARE, *row, 1)).unwrap_or(&empty)))
                .collect();
            one_pool(inputs, outputs, candidate, *pass, &metals, filler_contents);
        }
    }
}

/// The rows of one pool: a candidate, a pass, the melted metals with their shares, and the filler.
fn one_pool(
    inputs: &Inputs<'_>,
    outputs: &mut Outputs<'_>,
    candidate: usize,
    pass: TermId,
    metals: &[(usize, &Contents)],
    filler_contents: &Contents,
) {
    let (joint, filler) = (inputs.term(CANDIDATE, candidate, 0), inputs.term(CANDIDATE, candidate, 1));
    let mut elements: Vec<TermId> =
        metals.iter().flat_map(|(_, metal)| metal.keys()).chain(filler_contents.keys()).copied().collect();
    elements.sort_unstable();
    elements.dedup();
    // Where the dilution waits on an answer, a metal has several shares, or none that is known: then the pool is not
    // known either.
    let mut alloys: Vec<TermId> = metals.iter().map(|(row, _)| inputs.term(SHARE, *row, 1)).collect();
    alloys.sort_unstable();
    alloys.dedup();
    let settled: Option<Vec<Spread>> = (alloys.len() == metals.len())
        .then(|| metals.iter().map(|(row, _)| spread(inputs, SHARE, *row, 2)).collect())
        .flatten();
    for element in elements {
        let mut premises = vec![(CANDIDATE, candidate)];
        premises.extend(metals.iter().map(|(row, _)| (SHARE, *row)));
        premises
            .extend(metals.iter().filter_map(|(_, metal)| metal.get(&element)).map(|(row, _)| (BASE, *row)));
        premises.extend(filler_contents.get(&element).map(|(row, _)| (FILLER, *row)));
        let mut cells = vec![OutputCell::Term(joint), OutputCell::Term(filler), OutputCell::Term(element)];
        match &settled {
            Some(shares) => {
                let melted: Vec<Melted> = shares
                    .iter()
                    .zip(metals)
                    .map(|(share, (_, metal))| Melted {
                        share: *share,
                        content: metal.get(&element).map_or_else(nothing, |(_, content)| *content),
                    })
                    .collect();
                let filler = filler_contents.get(&element).map_or_else(nothing, |(_, content)| *content);
                let pool = pool_content(&melted, &filler);
                cells.extend([pool.lowest, pool.nominal, pool.highest].map(OutputCell::Quantity));
            }
            None => cells.extend([OutputCell::Unknown; 3]),
        }
        cells.push(OutputCell::Term(pass));
        outputs.push(&cells, &premises);
    }
}

fn working(premises: &[(usize, Vec<Cell>)], cells: &[Cell]) -> Working {
    let method = "dilution: each metal's content times its share of the pool; an element that a metal's limits do not \
                  name counts as none; lowest and highest at the corners of all ranges"
        .to_owned();
    // The authority stands in the rulebook, at the relation's declaration.
    let cites = Vec::new();
    let text = |cell: Option<&Cell>| match cell {
        Some(Cell::Value(value)) => value.to_string(),
        _ => "?".to_owned(),
    };
    let of = |input: usize| premises.iter().filter(move |(from, _)| *from == input).map(|(_, cells)| cells);
    let filler_name = text(cells.get(1));
    let filler = of(FILLER).next().and_then(|cells| spread_of_cells(cells, 2)).unwrap_or_else(nothing);
    let mut names = Vec::new();
    let mut melted = Vec::new();
    for share in of(SHARE) {
        let Some(amount) = spread_of_cells(share, 2) else {
            return Working { method, cites, steps: vec!["the dilution waits on an answer".to_owned()] };
        };
        let content = of(BASE)
            .find(|base| base.first() == share.get(1))
            .and_then(|base| spread_of_cells(base, 2))
            .unwrap_or_else(nothing);
        names.push(text(share.get(1)));
        melted.push(Melted { share: amount, content });
    }
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Working { method, cites, steps: written_out(&names, &melted, &filler_name, &filler) }
}
