//! The relations `freezing` and `liquation`: how a weld pool freezes at the ends and in the middle of its dilution, and
//! whether it is further solid than the base metal beside it. The solver is `metallurgy::freezing`.

mod cache;
mod working;

pub use cache::{Composition, frozen, frozen_by, read_ahead};

use super::ComputedShape;
use super::metals::{
    MetalContents, Share, amounts, elements, known_shares, melted, nothing, number_in, pools, terms,
};
use crate::engine::{Computation, Inputs, OutputCell, Outputs, TermId};
use crate::metallurgy::freezing::{LiquationSettings, SteepnessSettings, liquation};
use crate::metallurgy::mixing::{Spread, pool_at};
use crate::quantity::{Dimension, Quantity, Unit};
use cache::frozen_all;

/// The relations that are made by following how pools freeze.
pub const FROZEN: [&str; 2] = ["freezing", "liquation"];

pub(super) const FREEZING: Computation =
    Computation { relation: FROZEN[0], run: run_freezing, working: working::freezing };
pub(super) const LIQUATION: Computation =
    Computation { relation: FROZEN[1], run: run_liquation, working: working::liquation_lead };

/// The same relations left empty, for runs that follow the freezing of pools themselves.
pub(super) const FREEZING_UNFROZEN: Computation = Computation { run: |_, _| {}, ..FREEZING };
pub(super) const LIQUATION_UNFROZEN: Computation = Computation { run: |_, _| {}, ..LIQUATION };

/// The same relations with everything that freezing would show left unknown.
pub(super) const FREEZING_OPEN: Computation = Computation { run: leave_freezing_open, ..FREEZING };
pub(super) const LIQUATION_OPEN: Computation = Computation { run: leave_liquation_open, ..LIQUATION };

const POOLS: (&str, &[&str]) = ("to-freeze", &["joint", "filler"]);
const SHARES: (&str, &[&str]) = ("base-share", &["joint", "alloy", "lowest", "nominal", "highest", "pass"]);
const BASES: (&str, &[&str]) = ("alloying", &["alloy", "element", "share"]);
const FILLERS: (&str, &[&str]) = ("filler-alloying", &["filler", "element", "share"]);

pub(super) const FREEZING_SHAPE: ComputedShape = ComputedShape {
    relation: "freezing",
    roles: &["joint", "filler", "dilution", "liquidus", "end", "eutectic", "index", "pass"],
    from: &[POOLS, SHARES, BASES, FILLERS, ("steepness-setting", &["cut-off", "window"])],
};

pub(super) const LIQUATION_SHAPE: ComputedShape = ComputedShape {
    relation: "liquation",
    roles: &["joint", "filler", "alloy", "lead", "temperature", "pass"],
    from: &[POOLS, SHARES, BASES, FILLERS, ("liquation-setting", &["from", "to", "above"])],
};

const WANTED: usize = 0;
const SHARE: usize = 1;
const BASE: usize = 2;
const FILLER: usize = 3;
const SETTING: usize = 4;

/// Lowest, nominal and highest of a spread.
const ENDS: [fn(&Spread) -> Quantity; 3] = [|s| s.lowest, |s| s.nominal, |s| s.highest];

/// The numbers of the first row of settings, one for each role.
fn settings<const N: usize>(inputs: &Inputs<'_>) -> Option<[f64; N]> {
    let row = (0..inputs.rows(SETTING)).next()?;
    let mut numbers = [0.0; N];
    for (role, number) in numbers.iter_mut().enumerate() {
        *number = number_in(inputs, SETTING, row, role)?.base;
    }
    Some(numbers)
}

/// The pool of one pass that is to be frozen.
struct PoolPass<'c> {
    joint: TermId,
    filler: TermId,
    pass: TermId,
    /// Base metals, with their shares where these are known.
    shares: &'c [Share],
    amounts: Option<Vec<Spread>>,
    metals: Vec<&'c MetalContents>,
    filler_contents: &'c MetalContents,
    premises: Vec<(usize, usize)>,
}

impl PoolPass<'_> {
    /// Dilution and nominal composition at one end of the dilution.
    fn at(&self, inputs: &Inputs<'_>, end: fn(&Spread) -> Quantity) -> Option<(f64, Composition)> {
        let amounts = self.amounts.as_ref()?;
        let dilution = amounts.iter().map(|share| end(share).base).sum();
        let elements = elements(self.metals.iter().copied().chain([self.filler_contents]));
        let contents = elements.into_iter().map(|element| {
            let filler = self.filler_contents.get(&element).map_or_else(nothing, |(_, content)| *content);
            (element, pool_at(&melted(amounts, &self.metals, element), &filler, end))
        });
        Some((dilution, composition(inputs, contents)))
    }
}

/// Elements by name.
fn composition(inputs: &Inputs<'_>, contents: impl Iterator<Item = (TermId, Quantity)>) -> Composition {
    let mut named: Composition = contents
        .filter(|(_, content)| content.base > 0.0)
        .filter_map(|(element, content)| Some((inputs.value(element)?.to_string(), content)))
        .collect();
    named.sort_by(|a, b| a.0.cmp(&b.0));
    named
}

/// A base metal by itself.
fn alone(inputs: &Inputs<'_>, metal: &MetalContents) -> Composition {
    composition(inputs, metal.iter().map(|(element, (_, content))| (*element, content.nominal)))
}

/// Hands every pass of every pool that is to be frozen to `work`, all at once.
fn with_passes(inputs: &Inputs<'_>, work: impl FnOnce(&[PoolPass<'_>])) {
    let pools = pools(inputs, SHARE);
    let bases = amounts(inputs, BASE, &terms(inputs, SHARE, 1));
    let fillers = amounts(inputs, FILLER, &terms(inputs, WANTED, 1));
    let empty = MetalContents::new();
    let mut passes = Vec::new();
    for row in 0..inputs.rows(WANTED) {
        let (joint, filler) = (inputs.term(WANTED, row, 0), inputs.term(WANTED, row, 1));
        let filler_contents = fillers.get(&filler).unwrap_or(&empty);
        for (pass, shares) in pools.get(&joint).into_iter().flatten() {
            let metals: Vec<&MetalContents> =
                shares.iter().map(|share| bases.get(&share.alloy).unwrap_or(&empty)).collect();
            let mut premises = vec![(WANTED, row)];
            premises.extend(shares.iter().map(|share| (SHARE, share.row)));
            premises.extend(metals.iter().flat_map(|metal| metal.values()).map(|(row, _)| (BASE, *row)));
            premises.extend(filler_contents.values().map(|(row, _)| (FILLER, *row)));
            premises.push((SETTING, 0));
            let amounts = known_shares(shares);
            passes.push(PoolPass {
                joint,
                filler,
                pass: *pass,
                shares,
                amounts,
                metals,
                filler_contents,
                premises,
            });
        }
    }
    work(&passes);
}

fn celsius(value: f64) -> OutputCell<'static> {
    OutputCell::Quantity(Quantity::new(value, Unit::CELSIUS))
}

fn share(value: f64) -> OutputCell<'static> {
    OutputCell::Quantity(Quantity::new(value * 100.0, Unit::PERCENT))
}

fn run_freezing(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let Some([cut_off, window]) = settings(inputs) else { return };
    let settings = SteepnessSettings { cut_off, window };
    with_passes(inputs, |passes| {
        let mut wanted: Vec<(usize, f64)> = Vec::new();
        let mut compositions = Vec::new();
        let mut ahead = Vec::new();
        for (index, pass) in passes.iter().enumerate() {
            for end in ENDS {
                let Some((dilution, composition)) = pass.at(inputs, end) else { continue };
                if wanted.last() != Some(&(index, dilution)) {
                    wanted.push((index, dilution));
                    compositions.push(composition);
                }
            }
            // The base metals are frozen along with the pools; `liquation` asks for them next.
            ahead.extend(pass.metals.iter().map(|metal| alone(inputs, metal)));
            if pass.amounts.is_none() {
                // The pool waits on an answer, and so does all that is known of its freezing.
                let head = [OutputCell::Term(pass.joint), OutputCell::Term(pass.filler)];
                outputs.push(&[&head[..], &[OutputCell::Unknown; 6][..]].concat(), &pass.premises);
            }
        }
        compositions.append(&mut ahead);
        for ((index, dilution), freezing) in
            wanted.into_iter().zip(frozen_all(inputs.memory(), &compositions))
        {
            let pass = &passes[index];
            let Some(freezing) = freezing else { continue };
            let Some(steepest) = freezing.steepness(&settings) else { continue };
            let cells = [
                OutputCell::Term(pass.joint),
                OutputCell::Term(pass.filler),
                share(dilution),
                celsius(freezing.liquidus_celsius),
                celsius(freezing.end_celsius),
                share(freezing.eutectic_share),
                OutputCell::Quantity(Quantity::from_base(steepest.index, Dimension::TEMPERATURE_DIFFERENCE)),
                OutputCell::Term(pass.pass),
            ];
            outputs.push(&cells, &pass.premises);
        }
    });
}

fn leave_freezing_open(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    if inputs.rows(SETTING) == 0 {
        return;
    }
    with_passes(inputs, |passes| {
        for pass in passes {
            let [joint, filler, of_pass] = [pass.joint, pass.filler, pass.pass].map(OutputCell::Term);
            let [dilution, liquidus, end, eutectic, index] = [OutputCell::Unknown; 5];
            let cells = [joint, filler, dilution, liquidus, end, eutectic, index, of_pass];
            outputs.push(&cells, &pass.premises);
        }
    });
}

fn leave_liquation_open(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    if inputs.rows(SETTING) == 0 {
        return;
    }
    with_passes(inputs, |passes| {
        for pass in passes {
            for share in pass.shares {
                let [joint, filler, alloy, of_pass] =
                    [pass.joint, pass.filler, share.alloy, pass.pass].map(OutputCell::Term);
                let [lead, temperature] = [OutputCell::Unknown; 2];
                outputs.push(&[joint, filler, alloy, lead, temperature, of_pass], &pass.premises);
            }
        }
    });
}

fn run_liquation(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let Some([from, to, above]) = settings(inputs) else { return };
    let settings = LiquationSettings { from, to, above };
    with_passes(inputs, |passes| {
        let mut wanted = Vec::new();
        let mut compositions = Vec::new();
        for (index, pass) in passes.iter().enumerate() {
            let Some((_, weld)) = pass.at(inputs, |share| share.nominal) else { continue };
            for (share, metal) in pass.shares.iter().zip(&pass.metals) {
                wanted.push((index, share.alloy));
                compositions.push(weld.clone());
                compositions.push(alone(inputs, metal));
            }
        }
        let frozen = frozen_all(inputs.memory(), &compositions);
        for ((index, alloy), pair) in wanted.into_iter().zip(frozen.chunks_exact(2)) {
            let pass = &passes[index];
            let [Some(weld), Some(base)] = pair else { continue };
            let Some(worst) = liquation(base, weld, &settings) else { continue };
            let cells = [
                OutputCell::Term(pass.joint),
                OutputCell::Term(pass.filler),
                OutputCell::Term(alloy),
                share(worst.lead),
                celsius(worst.celsius),
                OutputCell::Term(pass.pass),
            ];
            outputs.push(&cells, &pass.premises);
        }
    });
}
