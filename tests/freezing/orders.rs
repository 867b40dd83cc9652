//! Steepness index of our own curves: reference values, published orders of cracking, peaks of the binaries, closed form.

use whyrod::metallurgy::freezing::{
    Binary, Database, Freezing, LiquationSettings, Settings, SteepnessSettings, freeze, liquation,
};

fn curve(composition: &[(&str, f64)]) -> Freezing {
    let data = Database::aluminium().expect("the built-in data can be read");
    freeze(&data, composition, &Settings::default()).expect("a curve")
}

fn index(composition: &[(&str, f64)], cut_off: f64) -> f64 {
    let settings = SteepnessSettings { cut_off, ..SteepnessSettings::default() };
    let found = curve(composition).steepness(&settings).expect("an index");
    assert!((found.to - found.from - settings.window).abs() < 1e-12);
    assert!(found.to <= cut_off + 1e-9);
    found.index
}

/// Mixes `share` of the base with the rest filler, element by element.
fn mixed<'a>(base: &[(&'a str, f64)], filler: &[(&'a str, f64)], share: f64) -> Vec<(&'a str, f64)> {
    let mut mix: Vec<(&str, f64)> = base.iter().map(|(e, c)| (*e, c * share)).collect();
    for (element, content) in filler {
        match mix.iter_mut().find(|(e, _)| e == element) {
            Some((_, sum)) => *sum += content * (1.0 - share),
            None => mix.push((element, content * (1.0 - share))),
        }
    }
    mix
}

// Nominal compositions without iron, mass per cent.
const A2219: &[(&str, f64)] = &[("Cu", 6.3), ("Mn", 0.3)];
const A2014: &[(&str, f64)] = &[("Cu", 4.4), ("Si", 0.8), ("Mn", 0.8), ("Mg", 0.5)];
const A2024: &[(&str, f64)] = &[("Cu", 4.4), ("Mg", 1.5), ("Mn", 0.6)];
const A7075: &[(&str, f64)] = &[("Zn", 5.6), ("Mg", 2.5), ("Cu", 1.6)];
const A6061: &[(&str, f64)] = &[("Mg", 1.0), ("Si", 0.6), ("Cu", 0.28)];
const F4145: &[(&str, f64)] = &[("Si", 10.0), ("Cu", 4.0)];
const F4043: &[(&str, f64)] = &[("Si", 5.2)];
const F2319: &[(&str, f64)] = &[("Cu", 6.3), ("Mn", 0.3)];

fn rising(named: &[(&str, f64)]) {
    println!("{named:?}");
    for pair in named.windows(2) {
        assert!(pair[0].1 < pair[1].1, "{} before {}: {named:?}", pair[0].0, pair[1].0);
    }
}

/// Order of S. Kou (2015) and Soysal and Kou: 2219 cracks least, 6061 most.
#[test]
fn bare_welds_come_out_in_the_published_order() {
    let alloys = [("2219", A2219), ("2014", A2014), ("2024", A2024), ("7075", A7075), ("6061", A6061)];
    rising(&alloys.map(|(name, composition)| (name, index(composition, 0.99))));
}

/// Order of Soysal and Kou for 2024 at 60 % base metal: filler 4145 best, then 4043, 2319, no filler.
#[test]
fn fillers_for_2024_come_out_in_the_published_order() {
    let of = |filler| index(&mixed(A2024, filler, 0.6), 0.99);
    rising(&[("4145", of(F4145)), ("4043", of(F4043)), ("2319", of(F2319)), ("none", index(A2024, 0.99))]);
}

/// With cut-off 0.98 the binaries peak where experiment puts them (Si 0.7, Cu 2 to 2.5, Mg2Si 1 mass per cent).
#[test]
fn binaries_peak_where_experiment_puts_them() {
    let peak = |of: &dyn Fn(f64) -> Vec<(&'static str, f64)>, top: u32| {
        let contents = (1..=top).map(|k| f64::from(k) * 0.1);
        let indices = contents.map(|content| (content, index(&of(content), 0.98)));
        indices.max_by(|a, b| a.1.total_cmp(&b.1)).expect("a peak").0
    };
    let silicon = peak(&|c| vec![("Si", c)], 20);
    let copper = peak(&|c| vec![("Cu", c)], 50);
    let compound = peak(&|c| vec![("Mg", c * 0.6338), ("Si", c * 0.3662)], 30);
    println!("peaks: Si {silicon:.1}, Cu {copper:.1}, Mg2Si {compound:.1}");
    assert!((silicon - 0.7).abs() < 0.15, "{silicon}");
    assert!((2.0..=2.6).contains(&copper), "{copper}");
    assert!((compound - 1.0).abs() < 0.25, "{compound}");
}

/// The index of every reference row, for both cut-offs, within 5 % or 60 K: it takes the difference of two temperatures
/// that agree to 0.2 K over a window of 0.0025.
#[test]
fn indices_agree_with_the_reference_runs() {
    let rows = include_str!("../outside/data/freezing-runs.csv");
    let mut lines = rows.lines().filter(|line| !line.starts_with('#'));
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let at = |name: &str| header.iter().position(|h| *h == name).expect("a column");
    let mut misses = Vec::new();
    let mut worst: f64 = 0.0;
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        let content = |element: &'static str| (element, cells[at(element)].parse().expect("a content"));
        let composition = ["Si", "Mg", "Cu", "Zn", "Mn", "Fe"].map(content);
        for (cut_off, column) in [(0.99, "index_cut_0.99"), (0.98, "index_cut_0.98")] {
            let expected: f64 = cells[at(column)].parse().expect("an index");
            let gap = (index(&composition, cut_off) - expected).abs();
            worst = worst.max(gap / expected);
            if gap > (0.05 * expected).max(60.0) {
                misses.push(format!("{} cut {cut_off}: off by {gap:.0} of {expected}", cells[0]));
            }
        }
    }
    println!("worst relative difference {worst:.4}");
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// Check values of the closed form, printed to whole kelvins, and of the solid fraction, to four digits.
#[test]
fn closed_form_gives_the_tabulated_values() {
    let (copper, silicon, magnesium) = ((0.17, 33.2, 548.0), (0.13, 12.6, 577.0), (0.43, 34.5, 450.0));
    let table = [
        (2.0, copper, 0.9661, 5408.0, 4053.0, 900.0),
        (4.5, copper, 0.9100, 1976.0, 1976.0, 802.0),
        (6.3, copper, 0.8650, 1284.0, 1284.0, 0.0),
        (0.7, silicon, 0.9639, 3945.0, 3307.0, 712.0),
        (2.0, silicon, 0.8794, 1127.0, 1127.0, 144.0),
        (5.0, silicon, 0.6544, 339.0, 339.0, 0.0),
        (2.0, magnesium, 0.9932, 6447.0, 2167.0, 587.0),
        (5.0, magnesium, 0.9662, 6982.0, 5417.0, 1468.0),
    ];
    for (content, (partition, eutectic_content, eutectic_celsius), solid, wide, narrow, secant) in table {
        let alloy = Binary { content, partition, eutectic_content, eutectic_celsius };
        assert_eq!((alloy.eutectic_solid_fraction() * 1e4).round() / 1e4, solid, "{alloy:?}");
        assert_eq!(alloy.steepness(0.99).round(), wide, "{alloy:?}");
        assert_eq!(alloy.steepness(0.98).round(), narrow, "{alloy:?}");
        assert_eq!(alloy.secant(0.87, 0.94).round(), secant, "{alloy:?}");
    }
    let worst = |(partition, eutectic_content, eutectic_celsius), cut: f64| {
        let alloy = Binary { content: 1.0, partition, eutectic_content, eutectic_celsius };
        (alloy.worst_content(cut) * 100.0).round() / 100.0
    };
    assert_eq!([worst(silicon, 0.99), worst(silicon, 0.98)], [0.42, 0.76]);
    assert_eq!([worst(copper, 0.99), worst(copper, 0.98)], [1.29, 2.28]);
    assert_eq!([worst(magnesium, 0.99), worst(magnesium, 0.98)], [3.70, 5.48]);
}

#[test]
fn secant_of_a_curve_is_the_mean_slope() {
    let copper = curve(&[("Cu", 6.3)]);
    let (a, b) = (copper.temperature_at(0.87).expect("inside"), copper.temperature_at(0.94).expect("inside"));
    let secant = copper.secant(0.87, 0.94).expect("inside");
    assert!((secant - (a - b) / (0.94_f64.sqrt() - 0.87_f64.sqrt())).abs() < 1e-9);
    assert_eq!(copper.secant(0.94, 0.87), None);
    assert_eq!(copper.secant(0.87, 1.1), None);
}

#[test]
fn settings_without_a_window_give_no_index() {
    let copper = curve(&[("Cu", 6.3)]);
    for (cut_off, window) in
        [(0.99, 0.0), (0.99, f64::NAN), (f64::NAN, 0.0025), (0.001, 0.0025), (1.5, 0.0025)]
    {
        assert_eq!(copper.steepness(&SteepnessSettings { cut_off, window }), None, "{cut_off} {window}");
    }
}

/// As in rules/05-hot-cracking/beside-the-weld.why.
const WINDOW: LiquationSettings = LiquationSettings { from: 0.85, to: 0.99, above: 0.05 };

/// A weld richer in solute than the base stays liquid longer and closes the cracks; a leaner one does not.
#[test]
fn liquation_follows_the_solid_fractions() {
    let base = curve(&[("Cu", 4.5)]);
    let rich = liquation(&base, &curve(&[("Cu", 6.3)]), &WINDOW).expect("a comparison");
    assert!(!rich.can_crack(), "{rich:?}");
    let lean = liquation(&base, &curve(&[("Cu", 2.0)]), &WINDOW).expect("a comparison");
    assert!(lean.can_crack(), "{lean:?}");
    assert!((lean.weld - lean.base - lean.lead).abs() < 1e-12);
    let itself = liquation(&base, &base, &WINDOW).expect("a comparison");
    assert!(!itself.can_crack() && itself.lead > -0.01, "{itself:?}");
}

/// Huang, Cao and Kou: filler 4043 at low dilution guards the partly melted zone of 6061 far better than pure aluminium.
#[test]
fn silicon_filler_shortens_the_lead_of_the_weld() {
    let base = curve(A6061);
    let silicon = liquation(&base, &curve(&mixed(A6061, F4043, 0.2)), &WINDOW).expect("a comparison");
    let pure = liquation(&base, &curve(&mixed(A6061, &[], 0.2)), &WINDOW).expect("a comparison");
    assert!(silicon.lead < 0.3 * pure.lead, "{silicon:?} {pure:?}");
}
