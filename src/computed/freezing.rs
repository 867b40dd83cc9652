//! The relations `freezing` and `liquation`: how a weld pool freezes at the ends and in the middle of its dilution, and
//! whether it is further solid than the base metal beside it. The solver is `metallurgy::freezing`.

use super::Shape;
use super::metals::{
    Contents, Pools, Share, contents, elements, melted, nothing, number_in, pools, settled, spread_of,
};
use crate::engine::{Cell, Computation, Inputs, OutputCell, Outputs, TermId, Working};
use crate::language::Value;
use crate::metallurgy::freezing::{
    Database, Freezing, FreezingError, Settings, SteepnessSettings, WINDOW_FROM, WINDOW_TO, freeze, liquation,
};
use crate::metallurgy::mixing::{Melted, Spread, pool_at};
use crate::quantity::{Dimension, Quantity, Unit, format_number};
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::OnceLock;

pub(super) const FREEZING: Computation =
    Computation { relation: "freezing", run: run_freezing, working: freezing_working };
pub(super) const LIQUATION: Computation =
    Computation { relation: "liquation", run: run_liquation, working: liquation_working };

/// The same relations left empty, for runs that follow the freezing of pools themselves.
pub(super) const FREEZING_UNFROZEN: Computation = Computation { run: |_, _| {}, ..FREEZING };
pub(super) const LIQUATION_UNFROZEN: Computation = Computation { run: |_, _| {}, ..LIQUATION };

const FROM: &[(&str, &[&str])] = &[
    ("to-freeze", &["joint", "filler"]),
    ("base-share", &["joint", "alloy", "lowest", "nominal", "highest", "pass"]),
    ("composition", &["alloy", "element", "lowest", "nominal", "highest"]),
    ("filler-composition", &["filler", "element", "lowest", "nominal", "highest"]),
    ("steepness-setting", &["cut-off", "window"]),
];

pub(super) const FREEZING_SHAPE: Shape = Shape {
    relation: "freezing",
    roles: &["joint", "filler", "dilution", "liquidus", "end", "eutectic", "index", "pass"],
    from: FROM,
};

pub(super) const LIQUATION_SHAPE: Shape = Shape {
    relation: "liquation",
    roles: &["joint", "filler", "alloy", "lead", "temperature", "pass"],
    from: FROM,
};

const WANTED: usize = 0;
const SHARE: usize = 1;
const BASE: usize = 2;
const FILLER: usize = 3;
const SETTING: usize = 4;

/// The built-in thermodynamic data, read once.
pub fn database() -> Option<&'static Database> {
    static READ: OnceLock<Option<Database>> = OnceLock::new();
    READ.get_or_init(|| Database::aluminium().ok()).as_ref()
}

/// Freezes a composition in mass per cent by element, with the built-in data. Errors as [`freeze`].
pub fn frozen(composition: &[(String, f64)]) -> Result<Freezing, FreezingError> {
    let named: Vec<(&str, f64)> = composition
        .iter()
        .filter(|(_, content)| *content > 0.0)
        .map(|(element, content)| (element.as_str(), *content))
        .collect();
    freeze(database().ok_or(FreezingError::NoLiquid)?, &named, &Settings::default())
}

/// Results by composition: many joints of a job share theirs.
#[derive(Default)]
struct Oven {
    done: HashMap<Vec<(TermId, u64)>, Option<Rc<Freezing>>>,
}

impl Oven {
    fn freeze(&mut self, inputs: &Inputs<'_>, composition: &[(TermId, f64)]) -> Option<Rc<Freezing>> {
        let key = composition.iter().map(|(element, content)| (*element, content.to_bits())).collect();
        self.done
            .entry(key)
            .or_insert_with(|| {
                let named: Vec<(String, f64)> = composition
                    .iter()
                    .filter_map(|(element, content)| Some((inputs.value(*element)?.to_string(), *content)))
                    .collect();
                frozen(&named).ok().map(Rc::new)
            })
            .clone()
    }
}

fn setting(inputs: &Inputs<'_>) -> Option<(usize, SteepnessSettings)> {
    let row = (0..inputs.rows(SETTING)).next()?;
    let number = |role| number_in(inputs, SETTING, row, role).map(|quantity| quantity.base);
    Some((row, SteepnessSettings { cut_off: number(0)?, window: number(1)? }))
}

/// Lowest, nominal and highest dilution, each once.
const ENDS: [fn(&Spread) -> Quantity; 3] = [|s| s.lowest, |s| s.nominal, |s| s.highest];

/// The pool of one pass, with its metals.
struct Pass<'c> {
    pass: TermId,
    shares: Vec<Spread>,
    metals: Vec<&'c Contents>,
    filler: &'c Contents,
    elements: Vec<TermId>,
    premises: Vec<(usize, usize)>,
}

impl Pass<'_> {
    fn composition(&self, end: fn(&Spread) -> Quantity) -> (f64, Vec<(TermId, f64)>) {
        let dilution = self.shares.iter().map(|share| end(share).base).sum();
        let contents = self
            .elements
            .iter()
            .map(|element| {
                let melted: Vec<Melted> = melted(&self.shares, &self.metals, *element);
                let filler = self.filler.get(element).map_or_else(nothing, |(_, content)| *content);
                (*element, pool_at(&melted, &filler, end).base)
            })
            .collect();
        (dilution, contents)
    }
}

/// Calls `visit` for every pass of every pool that is to be frozen. Pools that wait on an answer are handed over without
/// shares, so that what follows from them stays open.
fn each_pass<'c>(
    inputs: &Inputs<'_>,
    pools: &Pools,
    bases: &'c HashMap<TermId, Contents>,
    fillers: &'c HashMap<TermId, Contents>,
    empty: &'c Contents,
    mut visit: impl FnMut(TermId, TermId, &[Share], Option<Pass<'c>>, Vec<(usize, usize)>),
) {
    for row in 0..inputs.rows(WANTED) {
        let (joint, filler) = (inputs.term(WANTED, row, 0), inputs.term(WANTED, row, 1));
        let Some(passes) = pools.get(&joint) else { continue };
        let filler_contents = fillers.get(&filler).unwrap_or(empty);
        for (pass, shares) in passes {
            let metals: Vec<&Contents> =
                shares.iter().map(|share| bases.get(&share.alloy).unwrap_or(empty)).collect();
            let mut premises = vec![(WANTED, row)];
            premises.extend(shares.iter().map(|share| (SHARE, share.row)));
            premises.extend(metals.iter().flat_map(|metal| metal.values()).map(|(row, _)| (BASE, *row)));
            premises.extend(filler_contents.values().map(|(row, _)| (FILLER, *row)));
            let settled = settled(shares).map(|amounts| Pass {
                pass: *pass,
                shares: amounts,
                elements: elements(metals.iter().copied().chain([filler_contents])),
                metals,
                filler: filler_contents,
                premises: premises.clone(),
            });
            visit(joint, filler, shares, settled, premises);
        }
    }
}

fn celsius(value: f64) -> OutputCell<'static> {
    OutputCell::Quantity(Quantity::new(value, Unit::CELSIUS))
}

fn ratio(value: f64) -> OutputCell<'static> {
    OutputCell::Quantity(Quantity::new(value * 100.0, Unit::PERCENT))
}

fn run_freezing(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let Some((setting_row, steepness)) = setting(inputs) else { return };
    let (pools, bases, fillers, empty) =
        (pools(inputs, SHARE), contents(inputs, BASE), contents(inputs, FILLER), Contents::new());
    let mut oven = Oven::default();
    each_pass(inputs, &pools, &bases, &fillers, &empty, |joint, filler, _, pass, mut premises| {
        premises.push((SETTING, setting_row));
        let head = [OutputCell::Term(joint), OutputCell::Term(filler)];
        let Some(pass) = pass else {
            let unknown = [OutputCell::Unknown; 6];
            return outputs.push(&[&head[..], &unknown[..]].concat(), &premises);
        };
        let mut before = None;
        for end in ENDS {
            let (dilution, composition) = pass.composition(end);
            if before == Some(dilution) {
                continue;
            }
            before = Some(dilution);
            let Some(freezing) = oven.freeze(inputs, &composition) else { continue };
            let Some(steepest) = freezing.steepness(&steepness) else { continue };
            let cells = [
                head[0],
                head[1],
                ratio(dilution),
                celsius(freezing.liquidus_celsius),
                celsius(freezing.end_celsius),
                ratio(freezing.eutectic_share),
                OutputCell::Quantity(Quantity::from_base(steepest.index, Dimension::TEMPERATURE_DIFFERENCE)),
                OutputCell::Term(pass.pass),
            ];
            outputs.push(&cells, &premises);
        }
    });
}

fn run_liquation(inputs: &Inputs<'_>, outputs: &mut Outputs<'_>) {
    let (pools, bases, fillers, empty) =
        (pools(inputs, SHARE), contents(inputs, BASE), contents(inputs, FILLER), Contents::new());
    let mut oven = Oven::default();
    each_pass(inputs, &pools, &bases, &fillers, &empty, |joint, filler, shares, pass, premises| {
        let Some(pass) = pass else { return };
        let (_, composition) = pass.composition(|share| share.nominal);
        let Some(weld) = oven.freeze(inputs, &composition) else { return };
        for (share, metal) in shares.iter().zip(&pass.metals) {
            let alone: Vec<(TermId, f64)> =
                metal.iter().map(|(element, (_, content))| (*element, content.nominal.base)).collect();
            let Some(base) = oven.freeze(inputs, &alone) else { continue };
            let Some(worst) = liquation(&base, &weld) else { continue };
            let cells = [
                OutputCell::Term(joint),
                OutputCell::Term(filler),
                OutputCell::Term(share.alloy),
                ratio(worst.lead),
                celsius(worst.celsius),
                OutputCell::Term(pass.pass),
            ];
            outputs.push(&cells, &premises);
        }
        drop(pass.premises);
    });
}

fn text(cell: Option<&Cell>) -> String {
    match cell {
        Some(Cell::Value(value)) => value.to_string(),
        _ => "?".to_owned(),
    }
}

/// The composition at a dilution, worked out from the rows of an explanation: element, content, and the sum written out.
fn composition_of(premises: &[(usize, Vec<Cell>)], end: fn(&Spread) -> Quantity) -> Vec<(String, f64)> {
    let of = |input: usize| premises.iter().filter(move |(from, _)| *from == input).map(|(_, cells)| cells);
    let mut elements: Vec<String> = of(BASE).chain(of(FILLER)).map(|cells| text(cells.get(1))).collect();
    elements.sort();
    elements.dedup();
    elements
        .into_iter()
        .map(|element| {
            let melted: Vec<Melted> = of(SHARE)
                .filter_map(|share| {
                    let content = of(BASE)
                        .find(|base| base.first() == share.get(1) && text(base.get(1)) == element)
                        .and_then(|base| spread_of(base, 2))
                        .unwrap_or_else(nothing);
                    Some(Melted { share: spread_of(share, 2)?, content })
                })
                .collect();
            let filler = of(FILLER)
                .find(|row| text(row.get(1)) == element)
                .and_then(|row| spread_of(row, 2))
                .unwrap_or_else(nothing);
            let content = pool_at(&melted, &filler, end).base;
            (element, content)
        })
        .collect()
}

fn listed(composition: &[(String, f64)]) -> String {
    let mut sorted: Vec<&(String, f64)> = composition.iter().filter(|(_, content)| *content > 0.0).collect();
    sorted.sort_by(|a, b| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    sorted
        .iter()
        .map(|(element, content)| format!("{element} {} %", format_number(*content)))
        .collect::<Vec<_>>()
        .join(", ")
}

fn phases(freezing: &Freezing) -> String {
    let told: Vec<String> = freezing
        .phases
        .iter()
        .map(|phase| {
            format!(
                "{} from {} °C, {} % of the atoms",
                phase.name,
                format_number(phase.start_celsius),
                format_number(phase.share * 100.0)
            )
        })
        .collect();
    told.join("; ")
}

const METHOD: &str = "Scheil–Gulliver freezing on Gibbs energies: no diffusion in the solid, equilibrium at the interface, \
                      liquid always mixed; nominal compositions at this dilution";

fn freezing_working(premises: &[(usize, Vec<Cell>)], cells: &[Cell]) -> Working {
    let mut steps = Vec::new();
    let wanted = match cells.get(2) {
        Some(Cell::Value(Value::Number(quantity))) => quantity.base,
        _ => {
            return Working {
                method: METHOD.to_owned(),
                cites: Vec::new(),
                steps: vec!["the dilution waits on an answer".into()],
            };
        }
    };
    // Which of the three dilutions this row is.
    let end = ENDS.into_iter().find(|end| {
        let sum: f64 = premises
            .iter()
            .filter(|(input, _)| *input == SHARE)
            .filter_map(|(_, share)| spread_of(share, 2))
            .map(|share| end(&share).base)
            .sum();
        (sum - wanted).abs() < 1e-9
    });
    if let Some(end) = end {
        let composition = composition_of(premises, end);
        steps.push(format!(
            "metal at {} % dilution: {}, the rest aluminium",
            format_number(wanted * 100.0),
            listed(&composition)
        ));
        if let Ok(freezing) = frozen(&composition) {
            if !freezing.left_out.is_empty() {
                steps.push(format!(
                    "left out, because the data do not describe them: {}",
                    freezing.left_out.join(", ")
                ));
            }
            steps.push(format!("phases: {}", phases(&freezing)));
            let setting = premises.iter().find(|(input, _)| *input == SETTING).and_then(|(_, cells)| {
                let number = |role: usize| match cells.get(role) {
                    Some(Cell::Value(Value::Number(quantity))) => Some(quantity.base),
                    _ => None,
                };
                Some(SteepnessSettings { cut_off: number(0)?, window: number(1)? })
            });
            if let Some(steepest) = setting.and_then(|setting| freezing.steepness(&setting)) {
                steps.push(format!(
                    "steepest fall of temperature against the root of the solid fraction: {} K between {} and {}",
                    format_number(steepest.index),
                    format_number(steepest.from),
                    format_number(steepest.to)
                ));
            }
        }
    }
    Working { method: METHOD.to_owned(), cites: Vec::new(), steps }
}

fn liquation_working(premises: &[(usize, Vec<Cell>)], cells: &[Cell]) -> Working {
    let alloy = text(cells.get(2));
    let weld = composition_of(premises, |share| share.nominal);
    let base: Vec<(String, f64)> = premises
        .iter()
        .filter(|(input, row)| *input == BASE && text(row.first()) == alloy)
        .filter_map(|(_, row)| Some((text(row.get(1)), spread_of(row, 2)?.nominal.base)))
        .collect();
    let mut steps = vec![format!("weld metal: {}", listed(&weld)), format!("{alloy}: {}", listed(&base))];
    if let (Ok(weld), Ok(base)) = (frozen(&weld), frozen(&base)) {
        if let Some(worst) = liquation(&base, &weld) {
            steps.push(format!(
                "at {} °C the weld is {} % solid and {alloy} {} %",
                format_number(worst.celsius),
                format_number(worst.weld * 100.0),
                format_number(worst.base * 100.0)
            ));
        }
    }
    let method = format!(
        "solid fraction of the weld less that of the base metal at the same temperature, at its largest while the base \
         metal is {WINDOW_FROM} to {WINDOW_TO} solid (a window of our own choice)"
    );
    Working { method, cites: Vec::new(), steps }
}
