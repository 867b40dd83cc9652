//! The relation `pool`: what a weld pool holds of each element. The mixing itself is `metallurgy::mixing`.

use super::ComputedShape;
use super::metals::{
    MetalContents, contents, elements, known_shares, melted, nothing, pools, spread_of, terms,
};
use crate::engine::{Cell, Computation, Inputs, Memory, OutputCell, Outputs, Working};
use crate::metallurgy::mixing::{Melted, pool_content, written_out};

pub(super) const COMPUTATION: Computation = Computation { relation: "pool", run, working };

pub(super) const SHAPE: ComputedShape = ComputedShape {
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

fn run(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let pools = pools(inputs, SHARE);
    let bases = contents(inputs, BASE, &terms(inputs, SHARE, 1));
    let fillers = contents(inputs, FILLER, &terms(inputs, CANDIDATE, 1));
    let empty = MetalContents::new();
    for candidate in 0..inputs.rows(CANDIDATE) {
        let (joint, filler) = (inputs.term(CANDIDATE, candidate, 0), inputs.term(CANDIDATE, candidate, 1));
        let Some(passes) = pools.get(&joint) else { continue };
        let filler_contents = fillers.get(&filler).unwrap_or(&empty);
        for (pass, shares) in passes {
            let metals: Vec<&MetalContents> =
                shares.iter().map(|share| bases.get(&share.alloy).unwrap_or(&empty)).collect();
            let amounts = known_shares(shares);
            for element in elements(metals.iter().copied().chain([filler_contents])) {
                let mut premises = vec![(CANDIDATE, candidate)];
                premises.extend(shares.iter().map(|share| (SHARE, share.row)));
                premises.extend(
                    metals.iter().filter_map(|metal| metal.get(&element)).map(|(row, _)| (BASE, *row)),
                );
                premises.extend(filler_contents.get(&element).map(|(row, _)| (FILLER, *row)));
                let of_filler = filler_contents.get(&element).map_or_else(nothing, |(_, content)| *content);
                let contents = match &amounts {
                    Some(amounts) => {
                        let pool = pool_content(&melted(amounts, &metals, element), &of_filler);
                        [pool.lowest, pool.nominal, pool.highest].map(OutputCell::Quantity)
                    }
                    None => [OutputCell::Unknown; 3],
                };
                let [joint, filler, element, pass] = [joint, filler, element, *pass].map(OutputCell::Term);
                let [lowest, nominal, highest] = contents;
                outputs.push(&[joint, filler, element, lowest, nominal, highest, pass], &premises);
            }
        }
    }
}

fn working(premises: &[(usize, Vec<Cell>)], cells: &[Cell], _: &Memory) -> Working {
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
    let filler = of(FILLER).next().and_then(|cells| spread_of(cells, 2)).unwrap_or_else(nothing);
    let mut names = Vec::new();
    let mut melted = Vec::new();
    for share in of(SHARE) {
        let Some(amount) = spread_of(share, 2) else {
            return Working { method, cites, steps: vec!["the dilution waits on an answer".to_owned()] };
        };
        let content = of(BASE)
            .find(|base| base.first() == share.get(1))
            .and_then(|base| spread_of(base, 2))
            .unwrap_or_else(nothing);
        names.push(text(share.get(1)));
        melted.push(Melted { share: amount, content });
    }
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Working { method, cites, steps: written_out(&names, &melted, &filler_name, &filler) }
}
