//! A pool on a terminal and as a plot, and a sweep as a table.

use super::colour::Ink;
use super::curve::{CurveLine, Diagram, drawn, plot};
use super::page::Page;
use crate::mixture::{Mixture, Sweep};
use crate::quantity::{Quantity, Unit, format_number};

/// A number without its unit, which stands in the head of its column or in the sentence.
fn figure(quantity: &Quantity) -> String {
    format_number(quantity.base)
}

fn percent(share: &Quantity) -> String {
    share.shown_in(Some(Unit::PERCENT)).to_string()
}

fn titled(mixture: &Mixture) -> String {
    let bases = if mixture.bases.is_empty() { "given metal".to_owned() } else { mixture.bases.join(" and ") };
    let [low, middle, high] = &mixture.dilution;
    let range = if low == high { String::new() } else { format!(" ({} to {})", percent(low), percent(high)) };
    match &mixture.filler {
        Some(filler) => format!("{bases} with {filler}, {} base metal{range}", percent(middle)),
        None => format!("{bases}, no filler"),
    }
}

/// Lays out a pool.
pub fn pool(mixture: &Mixture, width: usize) -> String {
    let mut page = Page::new(width);
    page.indented(0, &titled(mixture), Ink::Heading);
    page.gap();
    page.indented(
        0,
        &format!("{:<26}{:>9}{:>9}{:>9}", "Mass per cent", "lowest", "nominal", "highest"),
        Ink::Heading,
    );
    let mut contents: Vec<_> =
        mixture.composition.iter().filter(|(_, contents)| contents.highest.base > 0.0).collect();
    contents.sort_by(|a, b| b.1.nominal.base.total_cmp(&a.1.nominal.base).then_with(|| a.0.cmp(b.0)));
    for (element, contents) in contents {
        let [low, middle, high] =
            [contents.lowest, contents.nominal, contents.highest].map(|content| figure(&content));
        page.verbatim(&format!("  {element:<24}{low:>9}{middle:>9}{high:>9}"));
    }
    if let Some(silicide) = &mixture.silicide {
        let spare = if silicide.free_silicon.base >= 0.0 {
            format!("{} % silicon to spare", figure(&silicide.free_silicon))
        } else {
            format!("{} % magnesium to spare", figure(&silicide.spare_magnesium))
        };
        page.indented(2, &format!("of it {} % Mg2Si, {spare}", figure(&silicide.mg2si)), Ink::Plain);
    }
    page.gap();
    freezing(&mut page, mixture, width);
    page.gap();
    cracking(&mut page, mixture);
    page.finish()
}

fn freezing(page: &mut Page, mixture: &Mixture, width: usize) {
    page.indented(0, "Freezing of the nominal pool, no diffusion in the solid", Ink::Heading);
    if let Some(freezing) = &mixture.freezing {
        let text = format!(
            "from {} to {} °C; {} of the atoms freeze after a second solid has begun",
            figure(&freezing.liquidus),
            figure(&freezing.end),
            percent(&freezing.eutectic_share)
        );
        page.indented(2, &text, Ink::Plain);
        for phase in &freezing.phases {
            let line =
                format!("  {:<24}{:>9} °C{:>10}", phase.phase, figure(&phase.starts), percent(&phase.share));
            page.verbatim(&line);
        }
        if !mixture.impurities_left_out.is_empty() {
            let elements: Vec<&str> = mixture.impurities_left_out.keys().map(String::as_str).collect();
            let text =
                format!("left out as impurities, of which only the most is known: {}", elements.join(", "));
            page.indented(2, &text, Ink::Faint);
        }
        if !freezing.left_out.is_empty() {
            let text =
                format!("left out, because the data do not describe them: {}", freezing.left_out.join(", "));
            page.indented(2, &text, Ink::Faint);
        }
        let path = points(&freezing.path);
        let diagram = Diagram {
            title: "",
            across: "solid fraction",
            up: "    °C",
            lines: vec![CurveLine { name: "", points: &path }],
            marked: None,
        };
        page.gap();
        for line in drawn(&diagram, width.min(76), 15).lines() {
            page.verbatim(line);
        }
    }
    if let Some(stopped) = &mixture.freezing_stopped {
        page.indented(2, &format!("the curve is incomplete: {stopped}"), Ink::Waiting);
    }
}

/// A path as a diagram takes it.
fn points(path: &[(f64, Quantity)]) -> Vec<(f64, f64)> {
    path.iter().map(|(fraction, temperature)| (*fraction, temperature.base)).collect()
}

fn cracking(page: &mut Page, mixture: &Mixture) {
    page.indented(0, "Cracking as it freezes", Ink::Heading);
    let cracking = &mixture.cracking;
    match (&cracking.index, cracking.window) {
        (Some(index), Some([from, to])) => {
            let text = format!(
                "steepness index {} K, between solid fractions {} and {}",
                figure(index),
                format_number(from),
                format_number(to)
            );
            page.paragraph("  ", "  ", &text, Ink::Plain);
        }
        _ => page.indented(2, "no steepness index: the freezing curve is incomplete", Ink::Waiting),
    }
    if let Some([index, dilution]) = cracking.worst.filter(|_| mixture.dilution[0] != mixture.dilution[2]) {
        let text = format!("at worst {} K, at {} base metal", figure(&index), percent(&dilution));
        page.indented(2, &text, Ink::Plain);
    }
    match &cracking.curve {
        Some(curve) => {
            let text = format!(
                "composition curve of {}: {}, at worst {}",
                curve.name,
                format_number(curve.value),
                format_number(curve.worst)
            );
            page.indented(2, &text, Ink::Plain);
        }
        None => page.indented(2, "no composition curve is drawn for such a pool: it has neither silicon, magnesium, their silicide nor copper enough for one to govern", Ink::Plain),
    }
    for sentence in &cracking.governs {
        page.indented(2, sentence, Ink::Plain);
    }
    if let Some(sample) = &mixture.sample {
        let text = match &sample.index {
            Some([low, middle, high]) => format!(
                "of {} pools sampled over dilution and limits (seed {}), one in ten has an index under {} K, half under {} K, nine in ten under {} K",
                sample.frozen,
                sample.seed,
                figure(low),
                figure(middle),
                figure(high)
            ),
            None => "no sampled pool froze to the end".to_owned(),
        };
        page.indented(2, &text, Ink::Plain);
    }
}

/// The pool's freezing curve, and both measures of cracking over dilution, as an SVG. `sweep` holds the pool's filler.
pub fn pool_plot(mixture: &Mixture, sweep: Option<&Sweep>) -> String {
    let title = titled(mixture);
    let path = mixture.freezing.as_ref().map_or(Vec::new(), |freezing| points(&freezing.path));
    let mut diagrams = vec![Diagram {
        title: &title,
        across: "solid fraction, by atoms",
        up: "temperature, °C",
        lines: vec![CurveLine { name: "freezing, nominal pool", points: &path }],
        marked: None,
    }];
    let swept = sweep.and_then(|sweep| sweep.fillers.values().next());
    let pick = |value: fn(&crate::mixture::SweepPoint) -> Option<f64>| -> Vec<(f64, f64)> {
        let points = swept.map_or(&[][..], Vec::as_slice);
        points.iter().filter_map(|point| Some((point.dilution.base * 100.0, value(point)?))).collect()
    };
    let (index, curve) = (pick(|point| point.index.map(|index| index.base)), pick(|point| point.curve));
    let marked = Some((mixture.dilution[0].base * 100.0, mixture.dilution[2].base * 100.0));
    let measures = [
        ("Steepness index over dilution", "index, K", "steepness index", &index),
        (
            "Composition curve over dilution",
            "sensitivity, 0 to 1",
            "composition curve of the governing system",
            &curve,
        ),
    ];
    for (title, up, name, points) in measures {
        if !points.is_empty() {
            let lines = vec![CurveLine { name, points }];
            diagrams.push(Diagram { title, across: "base metal in the pool, %", up, lines, marked });
        }
    }
    plot(&diagrams)
}

/// A sweep as a table: for each filler and dilution the index, and behind a stroke the curve.
pub fn sweep_table(sweep: &Sweep) -> String {
    let mut page = Page::new(usize::MAX);
    page.indented(
        0,
        &format!(
            "{}: steepness index in K / composition curve, by base metal in the pool",
            sweep.bases.join(" and ")
        ),
        Ink::Heading,
    );
    // A fifth of the dilutions fits on 80 columns; the JSON form has them all.
    let shown = |count: usize| (0..count).step_by((count / 5).max(1));
    let dilutions: Vec<Quantity> = sweep
        .fillers
        .values()
        .next()
        .map_or(Vec::new(), |points| points.iter().map(|p| p.dilution).collect());
    let head: String = shown(dilutions.len()).map(|at| format!("{:>11}", percent(&dilutions[at]))).collect();
    page.verbatim(&format!("{:<10}{head}", "filler"));
    for (filler, points) in &sweep.fillers {
        let cells: String = shown(points.len())
            .map(|at| {
                let show = |value: Option<f64>, digits: usize| {
                    value.map_or("-".to_owned(), |value| format!("{value:.digits$}"))
                };
                format!(
                    "{:>11}",
                    format!(
                        "{} / {}",
                        show(points[at].index.map(|index| index.base), 0),
                        show(points[at].curve, 2)
                    )
                )
            })
            .collect();
        page.verbatim(&format!("{filler:<10}{cells}"));
    }
    page.finish()
}
