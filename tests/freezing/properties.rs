//! Properties that hold for every composition within alloy limits, on random compositions; and the errors at their edge.

use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use whyrod::metallurgy::freezing::{Database, Freezing, FreezingError, Settings, freeze};

/// Largest contents, mass per cent: the widest of wrought, cast and filler alloys.
const LIMITS: [(&str, f64); 6] =
    [("Si", 13.0), ("Mg", 6.0), ("Cu", 7.0), ("Zn", 8.0), ("Mn", 1.5), ("Fe", 1.0)];

/// Each element is absent, spread evenly, or rare.
fn composition() -> impl Strategy<Value = [(&'static str, f64); 6]> {
    let one = |(element, limit): (&'static str, f64)| {
        prop_oneof![
            1 => Just((element, 0.0)),
            2 => (0.0..=1.0).prop_map(move |part: f64| (element, limit * part)),
            1 => (0.0..=1.0).prop_map(move |part: f64| (element, limit * part.powi(4))),
        ]
    };
    LIMITS.map(one)
}

fn holds(result: &Freezing) -> Result<(), TestCaseError> {
    prop_assert!(result.balance_residual < 1e-9, "balance {}", result.balance_residual);
    for pair in result.path.windows(2) {
        prop_assert!(pair[1].celsius <= pair[0].celsius);
        prop_assert!(pair[1].solid_fraction >= pair[0].solid_fraction);
    }
    let shares: f64 = result.phases.iter().map(|p| p.share).sum();
    prop_assert!((shares + result.last_liquid - 1.0).abs() < 1e-9, "shares {shares}");
    prop_assert!(result.last_liquid <= 0.00101);
    prop_assert!(result.phases.iter().all(|p| p.share > -1e-9));
    let first = result.path.first().map(|p| p.celsius);
    prop_assert_eq!(first, Some(result.liquidus_celsius));
    prop_assert!(result.end_celsius > 150.0 && result.end_celsius <= result.liquidus_celsius);
    for phase in &result.phases {
        let sum: f64 = phase.mean_composition.iter().sum();
        prop_assert!((sum - 1.0).abs() < 1e-9 || phase.share < 1e-12);
    }
    Ok(())
}

/// Runs `cases` random compositions and returns those that stalled.
fn run(cases: u32) -> Vec<String> {
    let data = Database::aluminium().expect("the built-in data can be read");
    let stalled = std::cell::RefCell::new(Vec::new());
    let mut runner = TestRunner::new_with_rng(
        Config::with_cases(cases),
        proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
    );
    let outcome =
        runner.run(&composition(), |contents| match freeze(&data, &contents, &Settings::default()) {
            Ok(result) => holds(&result),
            Err(FreezingError::Stalled { known, reason, celsius }) => {
                prop_assert!(known.balance_residual < 1e-9);
                prop_assert!(!known.path.is_empty());
                let solid = known.path.last().map_or(0.0, |p| p.solid_fraction);
                stalled
                    .borrow_mut()
                    .push(format!("{contents:?}: {reason} ({celsius:.1} °C, solid {solid:.4})"));
                Ok(())
            }
            Err(other) => Err(TestCaseError::fail(other.to_string())),
        });
    outcome.unwrap_or_else(|e| panic!("{e}"));
    stalled.into_inner()
}

#[test]
fn random_compositions_freeze() {
    let stalled = run(300);
    assert!(stalled.is_empty(), "{}", stalled.join("\n"));
}

/// The long run, on fixed random numbers.
#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn ten_thousand_random_compositions_freeze_at_length() {
    let stalled = run(10_000);
    println!("{} of 10000 stalled\n{}", stalled.len(), stalled.join("\n"));
    assert!(stalled.is_empty(), "{} of 10000 stalled", stalled.len());
}

#[test]
fn elements_outside_the_data_are_named() {
    let data = Database::aluminium().expect("the built-in data can be read");
    let with = freeze(&data, &[("Mg", 5.0), ("Cr", 0.1), ("ti", 0.15), ("Zr", 0.0)], &Settings::default());
    let with = with.expect("a curve");
    assert_eq!(with.left_out, ["Cr", "Ti"]);
    assert_eq!(with.elements, ["AL", "MG"]);
    let without = freeze(&data, &[("Mg", 5.0)], &Settings::default()).expect("a curve");
    assert!(without.left_out.is_empty());
    assert!((with.liquidus_celsius - without.liquidus_celsius).abs() < 0.1);
}

#[test]
fn wrong_compositions_are_refused() {
    let data = Database::aluminium().expect("the built-in data can be read");
    let refused = |contents: &[(&str, f64)], part: &str| {
        let error = freeze(&data, contents, &Settings::default()).expect_err("not a composition");
        assert!(matches!(error, FreezingError::Composition { .. }), "{error}");
        assert!(error.to_string().contains(part), "{error}");
    };
    refused(&[("Si", -1.0)], "outside 0 to 100");
    refused(&[("Si", f64::NAN)], "outside 0 to 100");
    refused(&[("Si", f64::INFINITY)], "outside 0 to 100");
    refused(&[("Si", 60.0), ("Mg", 50.0)], "add up to 110");
    refused(&[("Si", 1.0), ("si", 2.0)], "given twice");
    refused(&[("Sl", 1.0)], "'Sl' is not the symbol");
    refused(&[("", 1.0)], "not the symbol");
    let lead = freeze(&data, &[("Al", 0.0), ("Pb", 100.0)], &Settings::default());
    assert_eq!(lead, Err(FreezingError::NothingDescribed { left_out: vec!["Pb".into()] }));
}

#[test]
fn wrong_settings_are_refused() {
    let data = Database::aluminium().expect("the built-in data can be read");
    let usual = Settings::default();
    for settings in [
        Settings { last_liquid: 0.0, ..usual },
        Settings { longest_step: f64::NAN, ..usual },
        Settings { temperature_error: -1.0, ..usual },
        Settings { spacing: 1e9, ..usual },
    ] {
        let error = freeze(&data, &[("Si", 5.0)], &settings).expect_err("a wrong setting");
        assert!(matches!(error, FreezingError::Setting { .. }), "{error}");
    }
}

/// Far outside alloys the answer is a curve or an error value, never a panic or a broken curve.
#[test]
fn extreme_compositions_do_not_break_the_solver() {
    let data = Database::aluminium().expect("the built-in data can be read");
    let extremes: [&[(&str, f64)]; 9] = [
        &[("Si", 100.0)],
        &[("Mg", 100.0)],
        &[("Zn", 100.0)],
        &[("Al", 0.0), ("Cu", 50.0), ("Zn", 50.0)],
        &[("Si", 50.0), ("Mg", 49.0)],
        &[("Fe", 60.0)],
        &[("Mn", 40.0), ("Fe", 20.0)],
        &[("Mg", 30.0), ("Zn", 30.0), ("Cu", 30.0)],
        &[("Si", 1e-6), ("Mg", 1e-6), ("Cu", 1e-6), ("Zn", 1e-6), ("Mn", 1e-6), ("Fe", 1e-6)],
    ];
    for contents in extremes {
        let curve = match freeze(&data, contents, &Settings::default()) {
            Ok(curve) => curve,
            Err(FreezingError::Stalled { known, reason, .. }) => {
                assert!(!reason.is_empty());
                *known
            }
            Err(error) => {
                assert_eq!(error, FreezingError::NoLiquidus, "{contents:?}");
                continue;
            }
        };
        assert!(curve.path.windows(2).all(|p| p[1].celsius <= p[0].celsius), "{contents:?}");
        assert!(curve.path.iter().all(|p| p.celsius.is_finite()), "{contents:?}");
        assert!(curve.balance_residual < 1e-9, "{contents:?}: {}", curve.balance_residual);
    }
}
