//! What the computations read of a joint's metals: shares of the pool and contents by element, from input rows.

use crate::engine::{Cell, Inputs, TermId};
use crate::language::Value;
use crate::metallurgy::mixing::{Melted, Spread};
use crate::quantity::{Dimension, Quantity};
use std::collections::{BTreeMap, HashMap, HashSet};

/// A content of none.
pub(super) fn nothing() -> Spread {
    let none = Quantity::from_base(0.0, Dimension::MASS_PERCENT);
    Spread { lowest: none, nominal: none, highest: none }
}

/// The quantity in a role of a row, where it is known.
pub(super) fn number_in(inputs: &Inputs<'_>, input: usize, row: usize, role: usize) -> Option<Quantity> {
    match inputs.value(inputs.term(input, row, role)) {
        Some(Value::Number(quantity)) => Some(*quantity),
        _ => None,
    }
}

/// Lowest, nominal and highest in three roles of a row from `first` on; `None` where one is unknown.
pub(super) fn spread_in(inputs: &Inputs<'_>, input: usize, row: usize, first: usize) -> Option<Spread> {
    let number = |role| number_in(inputs, input, row, first + role);
    Some(Spread { lowest: number(0)?, nominal: number(1)?, highest: number(2)? })
}

/// The same of cells in an explanation.
pub(super) fn spread_of(cells: &[Cell], first: usize) -> Option<Spread> {
    let number = |role: usize| match cells.get(first + role) {
        Some(Cell::Value(Value::Number(quantity))) => Some(*quantity),
        _ => None,
    };
    Some(Spread { lowest: number(0)?, nominal: number(1)?, highest: number(2)? })
}

/// Contents of one metal by element, with the rows they come from.
pub(super) type MetalContents = BTreeMap<TermId, (usize, Spread)>;

/// The wanted metals of an input `…(metal, element, lowest, nominal, highest)`.
pub(super) fn contents(
    inputs: &Inputs<'_>,
    input: usize,
    wanted: &HashSet<TermId>,
) -> HashMap<TermId, MetalContents> {
    by_metal(inputs, input, wanted, |row| spread_in(inputs, input, row, 2))
}

/// The same of an input `…(metal, element, share)`: one amount each.
pub(super) fn amounts(
    inputs: &Inputs<'_>,
    input: usize,
    wanted: &HashSet<TermId>,
) -> HashMap<TermId, MetalContents> {
    by_metal(inputs, input, wanted, |row| number_in(inputs, input, row, 2).map(single))
}

/// The terms in a role of an input.
pub(super) fn terms(inputs: &Inputs<'_>, input: usize, role: usize) -> HashSet<TermId> {
    (0..inputs.rows(input)).map(|row| inputs.term(input, row, role)).collect()
}

/// One amount as a spread.
pub(super) fn single(amount: Quantity) -> Spread {
    Spread { lowest: amount, nominal: amount, highest: amount }
}

fn by_metal(
    inputs: &Inputs<'_>,
    input: usize,
    wanted: &HashSet<TermId>,
    read: impl Fn(usize) -> Option<Spread>,
) -> HashMap<TermId, MetalContents> {
    let mut metals: HashMap<TermId, MetalContents> = HashMap::new();
    for row in 0..inputs.rows(input) {
        if wanted.contains(&inputs.term(input, row, 0))
            && let Some(spread) = read(row)
        {
            let metal = metals.entry(inputs.term(input, row, 0)).or_default();
            metal.insert(inputs.term(input, row, 1), (row, spread));
        }
    }
    metals
}

/// One base metal's share of a pool.
pub(super) struct Share {
    /// Row of the input.
    pub row: usize,
    pub alloy: TermId,
    /// `None` where it waits on an answer.
    pub amount: Option<Spread>,
}

/// The pools of a joint, one a pass, each with the shares of its base metals.
pub(super) type Pools = HashMap<TermId, BTreeMap<TermId, Vec<Share>>>;

/// Every pool of an input `base-share(joint, alloy, lowest, nominal, highest, pass)`, by joint and pass.
pub(super) fn pools(inputs: &Inputs<'_>, input: usize) -> Pools {
    let mut pools = Pools::new();
    for row in 0..inputs.rows(input) {
        let share =
            Share { row, alloy: inputs.term(input, row, 1), amount: spread_in(inputs, input, row, 2) };
        let joint = pools.entry(inputs.term(input, row, 0)).or_default();
        joint.entry(inputs.term(input, row, 5)).or_default().push(share);
    }
    pools
}

/// The shares, where they are known. Where the dilution waits on an answer, a metal has several shares, or one that is
/// not known: then the pool is not known either.
pub(super) fn known_shares(shares: &[Share]) -> Option<Vec<Spread>> {
    let mut alloys: Vec<TermId> = shares.iter().map(|share| share.alloy).collect();
    alloys.sort_unstable();
    alloys.dedup();
    if alloys.len() != shares.len() {
        return None;
    }
    shares.iter().map(|share| share.amount).collect()
}

/// Every element that one of the metals lists.
pub(super) fn elements<'c>(metals: impl IntoIterator<Item = &'c MetalContents>) -> Vec<TermId> {
    let mut elements: Vec<TermId> = metals.into_iter().flat_map(|metal| metal.keys().copied()).collect();
    elements.sort_unstable();
    elements.dedup();
    elements
}

/// What each base metal brings of one element.
pub(super) fn melted(shares: &[Spread], metals: &[&MetalContents], element: TermId) -> Vec<Melted> {
    shares
        .iter()
        .zip(metals)
        .map(|(share, metal)| Melted {
            share: *share,
            content: metal.get(&element).map_or_else(nothing, |(_, content)| *content),
        })
        .collect()
}
