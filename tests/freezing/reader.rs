//! The reader of thermodynamic files: what it accepts, and that every fault is an error with its line, never a panic.

use proptest::prelude::*;
use whyrod::metallurgy::freezing::{ALUMINIUM, Database, DatabaseError, FreezingError, Settings, freeze};

const HEAD: &str = "ELEMENT AL FCC_A1 26.982 0 0 !\nELEMENT SI DIAMOND 28.085 0 0 !\n";

fn fault(text: &str) -> DatabaseError {
    Database::read(text).expect_err("a faulty file")
}

#[test]
fn built_in_data_are_complete() {
    let data = Database::aluminium().expect("the built-in data can be read");
    let symbols: Vec<&str> = data.elements().iter().map(|e| e.symbol.as_str()).collect();
    assert_eq!(symbols, ["AL", "CU", "FE", "MG", "MN", "SI", "ZN"]);
    assert_eq!(data.phases().len(), 40);
    assert!(data.notes().is_empty(), "{:?}", data.notes());
    let tau = data.phases().iter().find(|p| p.name == "TAU").expect("the T phase");
    assert_eq!(tau.sites, [26.0, 6.0, 48.0, 1.0]);
}

#[test]
fn faults_name_line_and_expectation() {
    let cases = [
        ("ELEMENT AL FCC_A1 heavy 0 0 !", 1, "atomic mass"),
        ("\n\nNONSENSE 1 2 !", 3, "keyword"),
        ("ELEMENT AL FCC_A1 26.98", 1, "closed with '!'"),
        ("PHASE LIQUID % 0 !", 1, "sublattices"),
        ("PHASE LIQUID % 2 1 -3 !", 1, "sites"),
        ("CONSTITUENT LIQUID : AL : !", 1, "declared before"),
        ("PHASE A % 1 1 !\nPHASE A % 1 1 !", 2, "not been used"),
        ("PHASE A % 2 1 1 !\nCONST A : AL : !", 2, "2 sublattices"),
        ("PHASE A % 1 1 !", 1, "CONSTITUENT statement"),
        ("FUNCTION F 298.15 3*T 6000 N !", 1, "';'"),
        ("FUNCTION F warm 3*T; 6000 N !", 1, "lower temperature"),
        ("FUNCTION F 500 3*T; 400 N !", 1, "upper temperature"),
        ("FUNCTION F 298 3*T; 400 X !", 1, "Y or N"),
    ];
    for (text, line, expected) in cases {
        let error = fault(text);
        assert_eq!(error.line, line, "{text}: {error}");
        assert!(error.expected.contains(expected), "{text}: {error}");
    }
}

#[test]
fn faults_in_formulas_are_found_where_they_stand() {
    let phase = "PHASE LIQUID % 1 1 !\nCONST LIQUID : AL,SI : !\n";
    let cases = [
        ("PARA G(LIQUID,AL;0) 298 +3*\n\n?; 6000 N !", 7, "a number"),
        ("PARA G(LIQUID,AL;0) 298 +MISSING; 6000 N !", 5, "declared FUNCTION"),
        ("PARA G(LIQUID,AL;0) 298 EXP(T); 6000 N !", 5, "without EXP"),
        ("PARA G(LIQUID,AL;0) 298 LN(2*T); 6000 N !", 5, "logarithm"),
        ("PARA G(LIQUID,AL;0) 298 T**0.5; 6000 N !", 5, "whole exponent"),
        ("PARA G(LIQUID,AL;0) 298 (1+T)/(2+T); 6000 N !", 5, "division"),
        ("PARA G(LIQUID,AL;0) 298 1E400; 6000 N !", 5, "a number"),
        ("PARA G(LIQUID,AL;x) 298 1; 6000 N !", 5, "order"),
        ("PARA G(LIQUID,AL:SI;0) 298 1; 6000 N !", 5, "1 sublattices"),
        (
            "FUNCTION A 298 B; 6000 N !\nFUNCTION B 298 A; 6000 N !\nPARA G(LIQUID,AL;0) 298 A; 6000 N !",
            6,
            "refers to itself",
        ),
    ];
    for (text, line, expected) in cases {
        let error = fault(&format!("{HEAD}{phase}{text}"));
        assert_eq!(error.line, line, "{text}: {error}");
        assert!(error.expected.contains(expected), "{text}: {error}");
    }
}

#[test]
fn what_is_left_out_is_said() {
    let text = format!(
        "{HEAD}TYPE_DEFINITION % SEQ * !\nSPECIES X AL1SI1 !\nPHASE LIQUID:L % 1 1 !\nCONST LIQUID:L : AL,SI : !\n\
         PHASE BCC % 1 1 !\nCONST BCC : AL,XE : !\nPARA TC(LIQUID,AL;0) 298 500; 6000 N !\n\
         PARA G(OTHER,AL;0) 298 500; 6000 N !\nPARA G(LIQUID,*;0) 298 500; 6000 N !\n"
    );
    let data = Database::read(&text).expect("a file");
    let notes = data.notes().join("\n");
    assert!(notes.contains("magnetic energy of LIQUID"), "{notes}");
    assert!(notes.contains("Parameters of OTHER"), "{notes}");
    assert!(notes.contains("BCC is left out"), "{notes}");
    assert!(notes.contains("LIQUID is left out: it uses wild cards"), "{notes}");
    assert_eq!(freeze(&data, &[("Si", 5.0)], &Settings::default()), Err(FreezingError::NoLiquid));
}

/// A binary eutectic of ideal solutions, whose liquidus is known in closed form.
#[test]
fn a_file_of_the_user_is_followed() {
    let text = format!(
        "{HEAD}FUNCTION MELT 298.15 10711-11.4752*T; 900 Y 10711-11.4752*T; 6000 N !\n\
         PHASE LIQUID % 1 1 !\nCONST LIQUID : AL,SI : !\nPHASE PURE % 1 1 !\nCONST PURE : AL : !\n\
         PARA G(LIQUID,AL;0) 298.15 MELT#; 6000 N !\nPARA G(LIQUID,SI;0) 298.15 0; 6000 N !\n\
         PARA G(PURE,AL;0) 298.15 0; 6000 N !\n"
    );
    let data = Database::read(&text).expect("a file");
    let composition = [("Si", 10.0)];
    let error =
        freeze(&data, &composition, &Settings::default()).expect_err("pure aluminium alone cannot end it");
    let FreezingError::Stalled { known, .. } = error else {
        panic!("{error}");
    };
    let x = 90.0 / 26.982 / (90.0 / 26.982 + 10.0 / 28.085);
    // 10711 − 11.4752·T + R·T·ln x = 0.
    let liquidus = |x: f64| 10711.0 / (11.4752 - 8.3145 * x.ln()) - 273.15;
    assert!((known.liquidus_celsius - liquidus(x)).abs() < 1e-6, "{}", known.liquidus_celsius);
    let half = known.temperature_at(0.5).expect("inside");
    assert!((half - liquidus((x - 0.5) / 0.5)).abs() < 0.02, "{half}");
}

#[test]
fn deep_or_long_junk_is_refused() {
    let phase = "PHASE LIQUID % 1 1 !\nCONST LIQUID : AL,SI : !\n";
    let deep = format!("{HEAD}{phase}PARA G(LIQUID,AL;0) 298 {}; 6000 N !", "(".repeat(100_000));
    assert!(fault(&deep).expected.contains("nested"), "{}", fault(&deep));
    let mut chain = String::from(HEAD) + phase;
    for k in (0..20_000).rev() {
        chain += &format!("FUNCTION F{k} 298 F{}+1; 6000 N !\n", k + 1);
    }
    chain += "FUNCTION F20000 298 1; 6000 N !\nPARA G(LIQUID,AL;0) 298 F0; 6000 N !\n";
    assert!(Database::read(&chain).is_ok());
    let power = format!(
        "{HEAD}{phase}FUNCTION A 298 T+LN(T)+1; 6000 N !\nPARA G(LIQUID,AL;0) 298 A**64*A**64; 6000 N !"
    );
    assert!(fault(&power).line > 4);
    let unclosed = "x".repeat(100_000_000);
    assert!(fault(&unclosed).expected.contains("closed"));
    let open = "!".repeat(10_000_000);
    assert!(Database::read(&open).expect("empty").phases().is_empty());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,400}") {
        let read = Database::read(&text);
        prop_assert!(read.is_err() || read.is_ok_and(|d| d.phases().is_empty()));
    }

    /// The built-in file with a stretch overwritten either still reads or is refused with a line inside it.
    #[test]
    fn no_damage_makes_the_reader_panic(at in 0.0_f64..1.0, length in 1_usize..60, junk in "[ -~\n]{0,40}") {
        let start = (at * (ALUMINIUM.len() - 100) as f64) as usize;
        let mut damaged = ALUMINIUM.to_string();
        damaged.replace_range(start..start + length, &junk);
        if let Err(error) = Database::read(&damaged) {
            prop_assert!(error.line >= 1 && error.line <= damaged.lines().count());
            prop_assert!(!error.expected.is_empty());
        }
    }
}
