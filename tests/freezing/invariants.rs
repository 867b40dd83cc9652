//! Invariant reactions against accepted values and the assessment's own. Where the two differ, both numbers are printed.

use whyrod::metallurgy::freezing::{Database, Freezing, Settings, freeze};

const TABLE: &str = include_str!("../outside/data/freezing-invariants.csv");

/// Reactions in which the assessment itself is off by more than the 3 K asked for; see the comments of the data file.
const KNOWN_OFF: [&str; 2] = ["Al-Cu-Mg eutectic", "Al-Cu-Si eutectic"];

fn curve(composition: &[(&str, f64)]) -> Freezing {
    let data = Database::aluminium().expect("the built-in data can be read");
    freeze(&data, composition, &Settings::default()).expect("a curve")
}

#[test]
fn invariant_reactions_lie_where_they_should() {
    let rows = TABLE.lines().filter(|line| !line.starts_with('#')).skip(1);
    let mut off = Vec::new();
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let [name, composition, phases, accepted, source, assessed] = cells.as_slice() else {
            panic!("six columns in {row}");
        };
        let contents: Vec<(&str, f64)> = composition
            .split(' ')
            .map(|part| part.split_once('=').expect("element=content"))
            .map(|(element, content)| (element, content.parse().expect("a content")))
            .collect();
        let result = curve(&contents);
        let found = result.end_celsius;
        let accepted: f64 = accepted.parse().expect("a temperature");
        let assessed: f64 = assessed.parse().expect("a temperature");
        println!("{name:18} found {found:.2}, assessment {assessed:.2}, accepted {accepted:.1} ({source})");
        assert!(result.invariant_share > 0.0, "{name} ends in an invariant reaction");
        for phase in phases.split(' ') {
            assert!(result.phases.iter().any(|p| p.name == phase), "{name} has {phase}");
        }
        assert!((found - assessed).abs() < 0.5, "{name}: {found} against {assessed} of the assessment");
        if (found - accepted).abs() > 3.0 {
            off.push(*name);
        }
    }
    assert_eq!(off, KNOWN_OFF, "reactions more than 3 K from the accepted value");
}

/// Al and Mg2Si freeze together at up to 595 °C on the section between them (phase-data.csv of the reference, from memory).
#[test]
fn section_to_mg2si_peaks_at_its_eutectic() {
    let mut peak: f64 = 0.0;
    for magnesium in [7.0, 7.5, 8.0, 8.5, 9.0, 9.5] {
        for silicon in [4.0, 4.4, 4.8, 5.2] {
            let result = curve(&[("Mg", magnesium), ("Si", silicon)]);
            let second = &result.phases[1];
            let pair = [result.phases[0].name.as_str(), second.name.as_str()];
            if pair.contains(&"FCC_A1") && pair.contains(&"MG2SI") {
                peak = peak.max(second.start_celsius);
            }
        }
    }
    println!("section Al-Mg2Si: found {peak:.2}, accepted 595");
    assert!((peak - 595.0).abs() < 3.0, "{peak}");
}

#[test]
fn pure_aluminium_freezes_at_its_melting_point() {
    let result = curve(&[]);
    assert!((result.liquidus_celsius - 660.32).abs() < 0.02, "{}", result.liquidus_celsius);
    assert_eq!(result.end_celsius, result.liquidus_celsius);
    assert_eq!(result.phases.len(), 1);
    assert!((result.phases[0].share - 1.0).abs() < 1e-12);
    assert!((result.invariant_share - 1.0).abs() < 1e-12);
}

/// Liquidus points of the binaries from the same assessment, file binaries.csv of the reference.
#[test]
fn liquidus_of_binaries() {
    let points = [
        ("Si", 0.5, 657.3879),
        ("Si", 3.0, 642.3137),
        ("Mg", 1.0, 655.2593),
        ("Mg", 5.6426, 631.6451),
        ("Cu", 1.0, 657.7179),
        ("Cu", 6.3, 643.6241),
        ("Zn", 1.0, 658.6809),
        ("Zn", 15.8066, 633.3052),
        ("Mn", 0.2536, 660.0179),
        ("Mn", 0.5918, 659.6174),
        ("Fe", 0.0756, 660.0775),
        ("Fe", 0.5294, 658.5835),
    ];
    for (element, content, expected) in points {
        let found = curve(&[(element, content)]).liquidus_celsius;
        assert!((found - expected).abs() < 0.01, "{element} {content}: {found} against {expected}");
    }
}
