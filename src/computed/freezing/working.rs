//! The arithmetic behind a row of `freezing` or `liquation`, worked out again from the rows it came from.

use super::super::metals::{nothing, single, spread_of};
use super::cache::{Composition, frozen_once};
use super::{BASE, ENDS, FILLER, SETTING, SHARE};
use crate::engine::{Cell, InputRow, Memory, Working};
use crate::language::Value;
use crate::metallurgy::freezing::{Freezing, LiquationSettings, SteepnessSettings, liquation};
use crate::metallurgy::mixing::{Melted, Spread, pool_at};
use crate::quantity::{Quantity, format_number};

fn text(cell: Option<&Cell>) -> String {
    match cell {
        Some(Cell::Value(value)) => value.to_string(),
        _ => "?".to_owned(),
    }
}

/// What a metal holds of an element, from a row `…(metal, element, share)`.
fn amount_of(cells: &[Cell]) -> Option<Spread> {
    match cells.get(2) {
        Some(Cell::Value(Value::Number(quantity))) => Some(single(*quantity)),
        _ => None,
    }
}

fn quantity(cells: &[Cell], role: usize) -> Option<Quantity> {
    match cells.get(role) {
        Some(Cell::Value(Value::Number(quantity))) => Some(*quantity),
        _ => None,
    }
}

fn number(cells: &[Cell], role: usize) -> Option<f64> {
    quantity(cells, role).map(|quantity| quantity.base)
}

/// The composition at a dilution, worked out from the rows of an explanation.
fn composition_of(premises: &[InputRow], end: fn(&Spread) -> Quantity) -> Composition {
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
                        .and_then(|base| amount_of(base))
                        .unwrap_or_else(nothing);
                    Some(Melted { share: spread_of(share, 2)?, content })
                })
                .collect();
            let filler = of(FILLER)
                .find(|row| text(row.get(1)) == element)
                .and_then(|row| amount_of(row))
                .unwrap_or_else(nothing);
            (element, pool_at(&melted, &filler, end))
        })
        .filter(|(_, content)| content.base > 0.0)
        .collect()
}

fn listed(composition: &[(String, Quantity)]) -> String {
    let mut sorted: Vec<&(String, Quantity)> = composition.iter().collect();
    sorted.sort_by(|a, b| b.1.base.total_cmp(&a.1.base).then_with(|| a.0.cmp(&b.0)));
    sorted.iter().map(|(element, content)| format!("{element} {content}")).collect::<Vec<_>>().join(", ")
}

fn phases(freezing: &Freezing) -> String {
    let each: Vec<String> = freezing
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
    each.join("; ")
}

const METHOD: &str = "Scheil–Gulliver freezing on Gibbs energies: no diffusion in the solid, equilibrium at the interface, \
                      liquid always mixed; nominal compositions at this dilution";

pub(super) fn freezing(premises: &[InputRow], cells: &[Cell], memory: &Memory) -> Working {
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
        if let Some(freezing) = frozen_once(memory, composition) {
            if !freezing.left_out.is_empty() {
                steps.push(format!(
                    "left out, because the data do not describe them: {}",
                    freezing.left_out.join(", ")
                ));
            }
            steps.push(format!("phases: {}", phases(&freezing)));
            let setting = premises.iter().find(|(input, _)| *input == SETTING).and_then(|(_, cells)| {
                Some(SteepnessSettings { cut_off: number(cells, 0)?, window: number(cells, 1)? })
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

pub(super) fn liquation_lead(premises: &[InputRow], cells: &[Cell], memory: &Memory) -> Working {
    let alloy = text(cells.get(2));
    let weld = composition_of(premises, |share| share.nominal);
    let mut base: Composition = premises
        .iter()
        .filter(|(input, row)| *input == BASE && text(row.first()) == alloy)
        .filter_map(|(_, row)| Some((text(row.get(1)), quantity(row, 2)?)))
        .filter(|(_, content)| content.base > 0.0)
        .collect();
    base.sort_by(|a, b| a.0.cmp(&b.0));
    let mut steps = vec![format!("weld metal: {}", listed(&weld)), format!("{alloy}: {}", listed(&base))];
    let setting = premises.iter().find(|(input, _)| *input == SETTING).map(|(_, row)| row);
    let settings = setting.and_then(|row| {
        Some(LiquationSettings { from: number(row, 0)?, to: number(row, 1)?, above: number(row, 2)? })
    });
    let both = frozen_once(memory, weld).zip(frozen_once(memory, base)).zip(settings);
    if let Some(worst) = both.and_then(|((weld, base), settings)| liquation(&base, &weld, &settings)) {
        steps.push(format!(
            "at {} °C the weld is {} % solid and {alloy} {} %",
            format_number(worst.celsius),
            format_number(worst.weld * 100.0),
            format_number(worst.base * 100.0)
        ));
    }
    let method = "solid fraction of the weld less that of the base metal at the same temperature, at its largest over the \
                  window of the base metal's freezing that the settings name";
    Working { method: method.to_owned(), cites: Vec::new(), steps }
}
