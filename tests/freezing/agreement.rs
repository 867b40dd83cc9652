//! Agreement of the freezing curves with the reference runs, row by row. Indices and cracking orders are in `orders`.

use std::collections::BTreeMap;
use whyrod::metallurgy::freezing::{Database, Freezing, Settings, freeze};

const ROWS: &str = include_str!("../outside/data/freezing-runs.csv");
const LIQUIDUS_TOLERANCE: f64 = 1.0;
const TOLERANCE: f64 = 2.0;

struct Row<'a> {
    cells: BTreeMap<&'a str, &'a str>,
}

impl<'a> Row<'a> {
    fn number(&self, column: &str) -> Option<f64> {
        self.cells.get(column)?.parse().ok()
    }

    fn name(&self) -> &'a str {
        self.cells["name"]
    }

    fn composition(&self) -> Vec<(&'static str, f64)> {
        ["Si", "Mg", "Cu", "Zn", "Mn", "Fe"]
            .into_iter()
            .map(|element| (element, self.number(element).expect("a content")))
            .collect()
    }

    /// Tabulated solid fractions with their temperatures, up to the fraction of the note.
    fn points(&self) -> Vec<(f64, f64)> {
        let limit = self.number("note").unwrap_or(1.0);
        let of = |column: &&str| Some((column.strip_prefix("T_at_")?.parse().ok()?, self.number(column)?));
        let mut points: Vec<(f64, f64)> = self.cells.keys().filter_map(of).collect();
        points.retain(|(fraction, _)| *fraction <= limit);
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        points
    }

    fn phases(&self) -> Vec<(&'a str, f64)> {
        let pair = |entry: &'a str| {
            let (name, start) = entry.split_once('@').expect("phase@start");
            (name, start.parse().expect("a temperature"))
        };
        self.cells["phases"].split(' ').map(pair).collect()
    }

    fn group(&self) -> &'static str {
        let name = self.name();
        match () {
            () if name.contains("_D") => "weld metal, base with filler",
            () if name.contains("Mg2Si") => "Al-Mg2Si",
            () if name.starts_with("Al-") => "binary",
            () if name.starts_with("Al") => "filler",
            () => "base metal",
        }
    }
}

fn rows() -> Vec<Row<'static>> {
    let mut lines = ROWS.lines().filter(|line| !line.starts_with('#'));
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    lines.map(|line| Row { cells: header.iter().copied().zip(line.split(',')).collect() }).collect()
}

fn frozen(row: &Row) -> Freezing {
    let data = Database::aluminium().expect("the built-in data can be read");
    freeze(&data, &row.composition(), &Settings::default()).unwrap_or_else(|e| panic!("{}: {e}", row.name()))
}

#[derive(Default)]
struct Tally {
    rows: usize,
    points: usize,
    sum: f64,
    worst: f64,
    worst_at: String,
    worst_liquidus: f64,
    worst_start: f64,
    worst_start_at: String,
}

#[test]
fn every_reference_run_is_met() {
    let mut groups: BTreeMap<&str, Tally> = BTreeMap::new();
    let mut misses = Vec::new();
    let all = rows();
    assert_eq!(all.len(), 92, "all reference rows are read");
    for row in &all {
        let result = frozen(row);
        let tally = groups.entry(row.group()).or_default();
        tally.rows += 1;
        let liquidus = (result.liquidus_celsius - row.number("liquidus_C").expect("a liquidus")).abs();
        tally.worst_liquidus = tally.worst_liquidus.max(liquidus);
        if liquidus > LIQUIDUS_TOLERANCE {
            misses.push(format!("{}: liquidus off by {liquidus:.2}", row.name()));
        }
        for (fraction, expected) in row.points() {
            let Some(found) = result.temperature_at(fraction) else {
                misses.push(format!("{}: no temperature at {fraction}", row.name()));
                continue;
            };
            let gap = (found - expected).abs();
            tally.points += 1;
            tally.sum += gap;
            if gap > tally.worst {
                tally.worst = gap;
                tally.worst_at = format!("{} at {fraction}", row.name());
            }
            if gap > TOLERANCE {
                misses.push(format!("{}: {found:.2} at {fraction}, reference {expected:.2}", row.name()));
            }
        }
        let mut expected = row.phases();
        let mut found: Vec<(&str, f64)> =
            result.phases.iter().map(|p| (p.name.as_str(), p.start_celsius)).collect();
        expected.sort_by(|a, b| a.0.cmp(b.0));
        found.sort_by(|a, b| a.0.cmp(b.0));
        let names = |list: &[(&str, f64)]| list.iter().map(|p| p.0.to_string()).collect::<Vec<_>>();
        if names(&expected) == names(&found) {
            for (a, b) in expected.iter().zip(&found) {
                let gap = (a.1 - b.1).abs();
                if gap > tally.worst_start {
                    tally.worst_start = gap;
                    tally.worst_start_at = format!("{} {}", row.name(), a.0);
                }
                if gap > TOLERANCE {
                    misses.push(format!(
                        "{}: {} starts at {:.2}, reference {:.2}",
                        row.name(),
                        a.0,
                        b.1,
                        a.1
                    ));
                }
            }
        } else {
            misses.push(format!("{}: phases {found:?}, reference {expected:?}", row.name()));
        }
    }
    println!(
        "{:30} {:>4} {:>6} {:>9} {:>6} {:>6}  {:32} start",
        "group", "rows", "points", "liquidus", "mean", "worst", "where"
    );
    for (group, t) in &groups {
        println!(
            "{group:30} {:4} {:6} {:9.3} {:6.3} {:6.3}  {:32} {:.2} {}",
            t.rows,
            t.points,
            t.worst_liquidus,
            t.sum / t.points as f64,
            t.worst,
            t.worst_at,
            t.worst_start,
            t.worst_start_at
        );
    }
    assert!(misses.is_empty(), "outside the tolerance:\n{}", misses.join("\n"));
}

#[test]
fn points_are_dense_enough_for_straight_lines() {
    let data = Database::aluminium().expect("the built-in data can be read");
    for row in rows().iter().step_by(4) {
        let coarse = frozen(row);
        let settings = Settings { spacing: 0.002, ..Settings::default() };
        let fine = freeze(&data, &row.composition(), &settings).expect("a curve");
        for k in 0..=998 {
            let fraction = f64::from(k) / 1000.0;
            let (Some(a), Some(b)) = (coarse.temperature_at(fraction), fine.temperature_at(fraction)) else {
                panic!("{}: no temperature at {fraction}", row.name());
            };
            assert!((a - b).abs() < 0.2, "{} at {fraction}: {a} and {b}", row.name());
        }
    }
}

#[test]
fn the_error_allowed_to_a_step_does_not_show() {
    let data = Database::aluminium().expect("the built-in data can be read");
    for row in rows().iter().step_by(5) {
        let usual = frozen(row);
        let settings = Settings { temperature_error: 1e-4, longest_step: 0.1, ..Settings::default() };
        let careful = freeze(&data, &row.composition(), &settings).expect("a curve");
        for (fraction, _) in row.points() {
            let (Some(a), Some(b)) = (usual.temperature_at(fraction), careful.temperature_at(fraction))
            else {
                panic!("{}: no temperature at {fraction}", row.name());
            };
            assert!((a - b).abs() < 0.25, "{} at {fraction}: {a} and {b}", row.name());
        }
    }
}
