//! `whyrod pool`: the shape of the contract, and that its figures are those of the reference runs and of plain mixing.

use assert_cmd::Command;
use serde_json::Value;

fn whyrod(arguments: &[&str]) -> std::process::Output {
    Command::cargo_bin("whyrod")
        .expect("the program is built")
        .args(arguments)
        .output()
        .expect("the program runs")
}

fn pool(arguments: &[&str]) -> Value {
    let output = whyrod(&[&["pool", "--json"], arguments].concat());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("JSON")
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

#[test]
fn the_answer_has_the_shape_of_the_contract() {
    let answer = pool(&["--base", "6061", "--base", "5052", "--filler", "4043", "--dilution", "60%"]);
    for element in ["Al", "Si", "Mg"] {
        for end in ["lowest", "nominal", "highest"] {
            number(&answer["composition"][element][end]);
        }
    }
    let freezing = &answer["freezing"];
    for key in ["liquidus", "end", "eutectic_share"] {
        number(&freezing[key]);
    }
    assert_eq!(freezing["unit"], "°C");
    assert!(freezing["phases"].as_array().is_some_and(|phases| !phases.is_empty()));
    let path = freezing["path"].as_array().expect("a path");
    let points: Vec<(f64, f64)> = path.iter().map(|point| (number(&point[0]), number(&point[1]))).collect();
    assert!(
        points.windows(2).all(|pair| pair[1].0 >= pair[0].0 && pair[1].1 <= pair[0].1),
        "the path turns back"
    );
    number(&answer["cracking"]["index"]);
    assert_eq!(answer["cracking"]["window"].as_array().map(Vec::len), Some(2));
    assert_eq!(answer["cracking"]["curve"]["name"], "silicon");
}

#[test]
fn contents_are_plain_mixing_and_come_to_a_hundred() {
    // Own arithmetic on the nominal compositions of the rulebook: 6061 (0.6 Si) at 60 % with 4043 (5.2 Si) gives 2.44 % Si.
    let answer = pool(&["--base", "6061", "--filler", "4043", "--dilution", "60%"]);
    assert!((number(&answer["composition"]["Si"]["nominal"]) - 2.44).abs() < 1e-4);
    let total: f64 = answer["composition"]
        .as_object()
        .expect("elements")
        .values()
        .map(|content| number(&content["nominal"]))
        .sum();
    assert!((total - 100.0).abs() < 1e-3, "{total}");
}

/// Every tenth reference run with only silicon, magnesium and copper (pycalphad 0.11.2 on COST 507, computed; see the file):
/// temperatures at solid fractions within the 2 °C that the reference calls fair, liquidus within 1 °C.
#[test]
fn a_composition_freezes_as_in_the_reference_runs() {
    let table = include_str!("../outside/data/freezing-runs.csv");
    let mut lines = table.lines().filter(|line| !line.starts_with('#'));
    let head: Vec<&str> = lines.next().expect("a heading").split(',').collect();
    let column = |name: &str| {
        head.iter().position(|known| *known == name).unwrap_or_else(|| panic!("no column {name}"))
    };
    let mut compared = 0;
    for line in lines.step_by(10) {
        let cells: Vec<&str> = line.split(',').collect();
        let content = |element: &str| cells[column(element)].parse::<f64>().unwrap_or(0.0);
        let composition: Vec<String> = ["Si", "Mg", "Cu", "Zn", "Mn", "Fe"]
            .iter()
            .filter(|element| content(element) > 0.0)
            .map(|element| format!("{element} {}", content(element)))
            .collect();
        let answer = pool(&["--composition", &composition.join(", ")]);
        let liquidus: f64 = cells[column("liquidus_C")].parse().expect("a liquidus");
        assert!((number(&answer["freezing"]["liquidus"]) - liquidus).abs() < 1.0, "{line}");
        let path = answer["freezing"]["path"].as_array().expect("a path");
        for fraction in ["0.2", "0.5", "0.8", "0.9"] {
            let Ok(expected) = cells[column(&format!("T_at_{fraction}"))].parse::<f64>() else { continue };
            let wanted: f64 = fraction.parse().expect("a fraction");
            let after =
                path.iter().position(|point| number(&point[0]) >= wanted).expect("the path goes that far");
            let (a, b) = (&path[after.saturating_sub(1)], &path[after]);
            let width = number(&b[0]) - number(&a[0]);
            let part = if width > 0.0 { (wanted - number(&a[0])) / width } else { 1.0 };
            let found = number(&a[1]) + part * (number(&b[1]) - number(&a[1]));
            assert!((found - expected).abs() < 2.0, "{line}: {found} at {fraction}, expected {expected}");
            compared += 1;
        }
    }
    assert!(compared >= 30, "only {compared} points were compared");
}

/// 6061 cracks when it is welded without filler, and 4043 is the cure (Mathers, The welding of aluminium and its alloys, 2002,
/// p. 50); both measures say so.
#[test]
fn bare_6061_is_worse_than_with_4043() {
    let bare = pool(&["--base", "6061"]);
    for dilution in ["30%", "45%", "60%"] {
        let filled = pool(&["--base", "6061", "--filler", "4043", "--dilution", dilution]);
        let index = |answer: &Value| number(&answer["cracking"]["index"]);
        assert!(index(&bare) > 2.0 * index(&filled), "index at {dilution}");
        let curve = |answer: &Value| number(&answer["cracking"]["curve"]["value"]);
        assert!(curve(&bare) > curve(&filled), "curve at {dilution}");
    }
}

#[test]
fn a_sample_is_the_same_each_time() {
    let arguments = ["--base", "6061", "--filler", "4043", "--dilution", "40..60%", "--sample", "12"];
    let (first, second) = (pool(&arguments), pool(&arguments));
    assert_eq!(first["sample"], second["sample"]);
    assert_eq!(first["sample"]["size"], 12);
}

#[test]
fn a_plot_is_never_written_over_unasked() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("pool.svg");
    let path = file.to_str().expect("a name");
    let arguments = ["pool", "--base", "6061", "--filler", "4043", "--dilution", "50%", "--plot", path];
    assert!(whyrod(&arguments).status.success());
    let drawing = std::fs::read_to_string(&file).expect("a drawing");
    assert!(drawing.starts_with("<svg") && drawing.contains("Steepness index over dilution"));
    let again = whyrod(&arguments);
    assert_eq!(again.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&again.stderr).contains("--overwrite"));
    assert!(whyrod(&[&arguments[..], &["--overwrite"]].concat()).status.success());
}

#[test]
fn a_sweep_has_every_filler_over_the_whole_dilution() {
    let table = pool(&["--base", "6061", "--base", "5052", "--sweep"]);
    let fillers = table["fillers"].as_object().expect("fillers");
    assert!(fillers.len() >= 30);
    for (filler, points) in fillers {
        let points = points.as_array().expect("points");
        assert_eq!(
            (number(&points[0]["dilution"]), number(&points[points.len() - 1]["dilution"])),
            (0.0, 1.0),
            "{filler}"
        );
    }
}

#[test]
fn mistakes_are_told() {
    for (arguments, told) in [
        (vec!["--composition", "Sj 5"], "unknown element"),
        (vec!["--composition", "Si"], "is not an element with its content"),
        (vec!["--composition", "Si 120"], "not a content"),
        (vec!["--composition", "Si NaN"], "not a number"),
        (vec!["--base", "6O61"], "is not one alloy"),
        (vec!["--base", "6061", "--filler", "4043", "--dilution", "140%"], "between 0 and 100 %"),
        (vec!["--base", "6061", "--filler", "4043", "--dilution", "40 mm"], "--dilution"),
        (vec!["--base", "6061", "--data", "Cargo.toml"], "Cargo.toml"),
    ] {
        let output = whyrod(&[&["pool"], arguments.as_slice()].concat());
        let message = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{arguments:?}: {message}");
        assert!(message.contains(told), "{arguments:?}: {message}");
        assert!(output.stdout.is_empty(), "{arguments:?}");
    }
}
