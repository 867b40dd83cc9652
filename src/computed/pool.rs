//! The relation `pool`: what a weld pool holds of each element. The mixing itself is `metallurgy::mixing`.

use super::Shape;
use crate::engine::{Cell, Computation, Inputs, OutputCell, Outputs, TermId, Working};
use crate::language::Value;
use crate::metallurgy::mixing::{Melted, Spread, pool_content, written_out};
use crate::quantity::{Dimension, Quantity};
use std::collections::{BTreeMap, HashMap};

pub(super) const COMPUTATION: Computation = Computation { relation: "pool", run, working };

pub(super) const SHAPE: Shape = Shape {
    relation: "pool",
    roles: &["joint", "filler", "element", "lowest", "nominal", "highest"],
    from: &[
        ("candidate", &["joint", "filler"]),
        ("base-share", &["joint", "alloy", "lowest", "nominal", "highest"]),
        ("composition", &["alloy", "element", "lowest", "nominal", "highest"]),
        ("filler-composition", &["filler", "element", "lowest", "nominal", "highest"]),
    ],
};

const CANDIDATE: usize = 0;
const SHARE: usize = 1;
const BASE: usize = 2;
const FILLER: usize = 3;

/// Rows of an input by their first term, in order of appearance.
fn by_first(inputs: &Inputs<'_>, input: usize) -> HashMap<TermId, Vec<usize>> {
    let mut rows: HashMap<TermId, Vec<usize>> = HashMap::new();
    for row in 0..inputs.rows(input) {
        rows.entry(inputs.term(input, row, 0)).or_default().push(row);
    }
    rows
}

/// The spread in the last three roles of a row; `None` where one is unknown.
fn spread(inputs: &Inputs<'_>, input: usize, row: usize) -> Option<Spread> {
    let number = |role| match inputs.value(inputs.term(input, row, role)) {
        Some(Value::Number(quantity)) => Some(*quantity),
        _ => None,
    };
    Some(Spread { lowest: number(2)?, nominal: number(3)?, highest: number(4)? })
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
        if let Some(spread) = spread(inputs, input, row) {
            let metal = metals.entry(inputs.term(input, row, 0)).or_default();
            metal.insert(inputs.term(input, row, 1), (row, spread));
        }
    }
    metals
}

fn run(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let shares = by_first(inputs, SHARE);
    let bases = contents(inputs, BASE);
    let fillers = contents(inputs, FILLER);
    let empty = Contents::new();
    for candidate in 0..inputs.rows(CANDIDATE) {
        let (joint, filler) = (inputs.term(CANDIDATE, candidate, 0), inputs.term(CANDIDATE, candidate, 1));
        let Some(melted) = shares.get(&joint) else { continue };
        let filler_contents = fillers.get(&filler).unwrap_or(&empty);
        let metals: Vec<(usize, &Contents)> = melted
            .iter()
            .map(|row| (*row, bases.get(&inputs.term(SHARE, *row, 1)).unwrap_or(&empty)))
            .collect();
        let mut elements: Vec<TermId> =
            metals.iter().flat_map(|(_, metal)| metal.keys()).chain(filler_contents.keys()).copied().collect();
        elements.sort_unstable();
        elements.dedup();
        // Where the dilution waits on an answer, a metal has several shares, or none that is known: then the pool is
        // not known either.
        let mut alloys: Vec<TermId> = melted.iter().map(|row| inputs.term(SHARE, *row, 1)).collect();
        alloys.sort_unstable();
        alloys.dedup();
        let settled: Option<Vec<Spread>> = (alloys.len() == melted.len())
            .then(|| melted.iter().map(|row| spread(inputs, SHARE, *row)).collect())
            .flatten();
        for element in elements {
            let mut premises = vec![(CANDIDATE, candidate)];
            premises.extend(melted.iter().map(|row| (SHARE, *row)));
            premises.extend(
                metals.iter().filter_map(|(_, metal)| metal.get(&element)).map(|(row, _)| (BASE, *row)),
            );
            premises.extend(filler_contents.get(&element).map(|(row, _)| (FILLER, *row)));
            let mut cells = vec![OutputCell::Term(joint), OutputCell::Term(filler), OutputCell::Term(element)];
            match &settled {
                Some(shares) => {
                    let melted: Vec<Melted> = shares
                        .iter()
                        .zip(&metals)
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
            outputs.push(&cells, &premises);
        }
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
    let spread = |cells: &[Cell]| -> Option<Spread> {
        let number = |cell: &Cell| match cell {
            Cell::Value(Value::Number(quantity)) => Some(*quantity),
            _ => None,
        };
        Some(Spread { lowest: number(cells.get(2)?)?, nominal: number(cells.get(3)?)?, highest: number(cells.get(4)?)? })
    };
    let of = |input: usize| premises.iter().filter(move |(from, _)| *from == input).map(|(_, cells)| cells);
    let filler_name = text(cells.get(1));
    let filler = of(FILLER).next().and_then(|cells| spread(cells)).unwrap_or_else(nothing);
    let mut names = Vec::new();
    let mut melted = Vec::new();
    for share in of(SHARE) {
        let Some(amount) = spread(share) else {
            return Working { method, cites, steps: vec!["the dilution waits on an answer".to_owned()] };
        };
        let content =
            of(BASE).find(|base| base.first() == share.get(1)).and_then(|base| spread(base)).unwrap_or_else(nothing);
        names.push(text(share.get(1)));
        melted.push(Melted { share: amount, content });
    }
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Working { method, cites, steps: written_out(&names, &melted, &filler_name, &filler) }
}
