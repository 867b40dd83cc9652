//! Hot cracking by the rulebook against published cases (tests/outside/data/cracking_cases.csv, each row with its source): what the
//! composition curve, the steepness index and the two together make of them. The floors are the counts that were found.
//!
//! Bare welds are run as joints at 100 % dilution; where a source gives no dilution, 30 to 60 % is taken.

use crate::support::comma_separated::cells;
use crate::support::cracking::*;
use std::collections::BTreeMap;
use whyrod::language::Rulebook;
use whyrod::metallurgy::freezing::{Freezing, LiquationSettings, liquation};

const INDEX_RIGHT: usize = 13;
const CURVE_RIGHT: usize = 19;
const TOGETHER_RIGHT: usize = 19;
const BESIDE_RIGHT: usize = 12;

struct Case {
    id: String,
    run: String,
    bases: [String; 2],
    filler: String,
    weld: String,
    expected: String,
    order: String,
    beside: String,
}

fn cases() -> Vec<Case> {
    include_str!("data/cracking_cases.csv")
        .lines()
        .skip(1)
        .map(|line| {
            let mut cells = cells(line).into_iter();
            let mut next = || cells.next().expect("a cell");
            Case {
                id: next(),
                run: next(),
                bases: [next(), next()],
                filler: next(),
                weld: next(),
                expected: next(),
                order: next(),
                beside: next(),
            }
        })
        .collect()
}

/// A case, worked out.
struct Outcome {
    /// Greatest index over the dilution, and whether the rulebook holds it to be valid.
    index: f64,
    valid: bool,
    /// Whether each measure says that the weld tears; none where it says nothing.
    by_curve: Option<bool>,
    by_index: Option<bool>,
    band: String,
    curve: String,
    /// Lead of the weld over the base metal, at its largest over the two sides.
    lead: f64,
    heals: bool,
    standing: String,
}

impl Outcome {
    /// The more cautious of the valid ones.
    fn together(&self) -> Option<bool> {
        match (self.by_curve, self.by_index) {
            (Some(a), Some(b)) => Some(a || b),
            (a, b) => a.or(b),
        }
    }
}

/// The band of an index and whether it counts as tearing, by the rulebook's own table.
fn band(rulebook: &Rulebook, index: f64) -> (String, bool) {
    let id = rulebook.relation("index-band").expect("the bands are there");
    let row = rulebook.facts.iter().filter(|fact| fact.relation == id).find(|fact| {
        let number = |at: usize| base(&fact.cells[at]).expect("a number");
        (number(1)..number(2)).contains(&index)
    });
    let row = row.expect("every index lies in a band");
    (row.cells[0].to_string(), row.cells[3].to_string() != "ample")
}

/// Over which part of the base metal's freezing the weld is compared with it, by the rulebook's own table.
fn window(rulebook: &Rulebook) -> LiquationSettings {
    let id = rulebook.relation("liquation-setting").expect("the settings are there");
    let row = rulebook.facts.iter().find(|fact| fact.relation == id).expect("one row of settings");
    let number = |at: usize| base(&row.cells[at]).expect("a number");
    LiquationSettings { from: number(0), to: number(1), above: number(2) }
}

fn curve_at(rulebook: &Rulebook, name: &str, at: f64) -> f64 {
    let points = &rulebook.curves.iter().find(|curve| curve.name == name).expect("the curve is there").points;
    let after = points.partition_point(|point| point.0 < at).clamp(1, points.len() - 1);
    let ((x0, y0), (x1, y1)) = (points[after - 1], points[after]);
    y0 + (y1 - y0) * ((at - x0) / (x1 - x0)).clamp(0.0, 1.0)
}

fn outcome(rulebook: &Rulebook, case: &Case) -> Outcome {
    let bases = [case.bases[0].as_str(), case.bases[1].as_str()];
    let lead_over = |seam: &Seam<'_>, weld: &Freezing| {
        bases
            .iter()
            .filter_map(|alloy| liquation(&freeze(&seam.base(alloy)), weld, &window(rulebook)))
            .map(|found| found.lead)
            .fold(f64::MIN, f64::max)
    };
    if case.run == "weld" {
        let (element, content) = case.weld.split_once(' ').expect("an element and its content");
        let content: f64 = content.parse().expect("a number");
        // Given is the content of one element; the others are taken as the base metal brings them.
        let seam = Seam::bare(rulebook, bases[0]);
        let mut weld = seam.base(bases[0]);
        weld.retain(|(other, _)| other != element);
        weld.push((element.to_owned(), content));
        let (index, sensitivity) = (index(&weld), curve_at(rulebook, "copper-crack-curve", content));
        let (band, tears) = band(rulebook, index);
        let valid = content >= 1.0;
        return Outcome {
            index,
            valid,
            by_curve: Some(sensitivity >= 0.4),
            by_index: valid.then_some(tears),
            band,
            curve: format!("{sensitivity:.2}"),
            lead: lead_over(&seam, &freeze(&weld)),
            heals: false,
            standing: String::new(),
        };
    }
    let (seam, dilutions) = match case.run.as_str() {
        "bare" => (Seam::bare(rulebook, bases[0]), vec![1.0]),
        _ => {
            let (from, to) = NOT_GIVEN;
            (Seam::new(rulebook, bases, &case.filler, NOT_GIVEN), vec![from, f64::midpoint(from, to), to])
        }
    };
    let worst = dilutions.iter().map(|at| index(&seam.pool(bases, *at))).fold(0.0, f64::max);
    if let Some(found) = seam.number("index-worst", "index") {
        assert!((found - worst).abs() < 1.0, "{}: {found} by the rulebook, {worst} here", case.id);
    }
    let valid = seam.facts("magnesium-rich").is_empty() && seam.facts("little-solute").is_empty();
    let heals = !seam.facts("heals").is_empty();
    let (band, tears) = band(rulebook, worst);
    let weld = freeze(&seam.pool(bases, dilutions[dilutions.len() / 2]));
    let number = |role| seam.number("sensitivity", role);
    Outcome {
        index: worst,
        valid,
        by_curve: seam.word("curve-level", "level").map(|level| level == "marginal"),
        by_index: valid.then_some(tears && !heals),
        band,
        curve: match (number("typical"), number("worst")) {
            (Some(typical), Some(worst)) => format!("{typical:.2}, {worst:.2}"),
            _ => "none".to_owned(),
        },
        lead: lead_over(&seam, &weld),
        heals: bases.iter().all(|alloy| seam.base(alloy).iter().any(|(e, c)| e == "Si" && *c >= 5.0)),
        standing: if case.run == "bare" { String::new() } else { seam.standing() },
    }
}

#[derive(Default)]
struct Tally {
    right: usize,
    of: usize,
}

impl Tally {
    fn count(&mut self, said: Option<bool>, tears: bool) -> &'static str {
        let Some(said) = said else { return "—" };
        self.of += 1;
        self.right += usize::from(said == tears);
        if said == tears { "right" } else { "WRONG" }
    }
}

#[test]
fn published_cases_are_sorted_as_well_as_the_readme_says() {
    let rulebook = rulebook();
    let (mut curve, mut index, mut together, mut beside) =
        (Tally::default(), Tally::default(), Tally::default(), Tally::default());
    let mut skipped = Vec::new();
    let mut bands: BTreeMap<String, Tally> = BTreeMap::new();
    println!(
        "| case | metal | source says | index | band | curve | by index | by curve | together | standing |"
    );
    for case in cases() {
        let what = match case.run.as_str() {
            "bare" => format!("{} bare", case.bases[0]),
            "weld" => format!("Al-{} weld on {}", case.weld, case.bases[0]),
            _ => format!("{} with {}", case.bases[0], case.filler),
        };
        if case.run == "skip" {
            skipped.push(format!("{}: {}", case.id, case.weld));
            continue;
        }
        let found = outcome(rulebook, &case);
        if case.expected != "." {
            let tears = case.expected == "tears";
            let told = [
                index.count(found.by_index, tears),
                curve.count(found.by_curve, tears),
                together.count(found.together(), tears),
            ];
            let valid = if found.valid { found.band.as_str() } else { "not valid" };
            bands.entry(valid.to_owned()).or_default().count(found.by_index.or(found.by_curve), tears);
            println!(
                "| {} | {what} | {} | {:.0} | {valid} | {} | {} | {} | {} | {} |",
                case.id, case.expected, found.index, found.curve, told[0], told[1], told[2], found.standing
            );
        } else {
            println!(
                "| {} | {what} | order {} | {:.0} | {} | {} | | | | {} |",
                case.id, case.order, found.index, found.band, found.curve, found.standing
            );
        }
        if case.beside != "." {
            // The rulebook's border: 7 %, half the window; metal of 5 % silicon and more heals.
            let says = match found.lead {
                _ if found.heals => "heals",
                lead if lead >= 0.07 => "tears",
                lead if lead >= 0.02 => "late",
                _ => "holds",
            };
            let tears = case.beside == "tears";
            let told = beside.count(Some(says == "tears"), tears);
            println!(
                "|   beside | {what} | {} | lead {:.1} % | {says} | {told} |",
                case.beside,
                found.lead * 100.0
            );
        }
    }
    println!("skipped: {}", skipped.join("; "));
    for (band, tally) in &bands {
        println!("{band}: {} of {} right", tally.right, tally.of);
    }
    for (name, tally, floor) in [
        ("index", &index, INDEX_RIGHT),
        ("curve", &curve, CURVE_RIGHT),
        ("together", &together, TOGETHER_RIGHT),
        ("beside", &beside, BESIDE_RIGHT),
    ] {
        println!("{name}: {} of {} right", tally.right, tally.of);
        assert!(tally.right >= floor, "{name}: {} right, fewer than the {floor} of the README", tally.right);
    }
}
