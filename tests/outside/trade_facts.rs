//! Facts of the trade that no change of the rules may upset: whole jobs are decided, with every filler looked at. Each fact
//! has its source beside it; "common practice" where every text on the subject says so.

use crate::support::selection::{Asked, Chooser, rulebook};
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::verdict::decide;

const MAGNESIUM_ABOVE_3: [&str; 7] = ["5087", "5183", "5187", "5356", "5556", "5556A", "5654"];
const SILICON: [&str; 4] = ["4043", "4043A", "4047", "4047A"];

/// Dix, Anderson and Shumaker, Corrosion 15(2) 1959: 66 to 177 °C; US patent 9,394,596: above about 3 % magnesium and 65 °C.
#[test]
fn magnesium_above_three_per_cent_is_barred_in_sustained_heat_and_not_in_the_cool() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (first, second) in [("6061", "6061"), ("5052", "5052"), ("3003", "6063")] {
        let cool = chooser.decide(&Asked { sustained: "65 °C", ..Asked::of(first, second) });
        let hot = chooser.decide(&Asked { sustained: "66 °C", ..Asked::of(first, second) });
        for filler in MAGNESIUM_ABOVE_3 {
            assert_eq!(hot.standing(filler, "sustained heat"), "barred", "{filler}, {first} to {second}");
            assert_eq!(cool.standing(filler, "sustained heat"), "ample", "{filler}, {first} to {second}");
        }
    }
}

/// AWS A5.10, note to the guide table (from memory): not above 150 °F; texts in °C say 65 °C, and the colder of the two
/// governs, which is 149 °F.
#[test]
fn the_border_of_sustained_heat_is_the_same_in_fahrenheit() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (sustained, standing) in [("149 °F", "ample"), ("151 °F", "barred")] {
        let choice = chooser.decide(&Asked { sustained, ..Asked::of("6061", "6061") });
        for filler in MAGNESIUM_ABOVE_3 {
            assert_eq!(choice.standing(filler, "sustained heat"), standing, "{filler} at {sustained}");
        }
    }
}

/// Dix, Anderson and Shumaker 1959: 5454, of 2.4 to 3 % magnesium, is free of the limit. AWS A5.10, note (from memory): 5554.
#[test]
fn welds_of_5454_with_5554_stand_the_heat() {
    let rulebook = rulebook();
    let hot = Chooser::new(rulebook).decide(&Asked { sustained: "95 °C", ..Asked::of("5454", "5454") });
    assert_eq!(hot.standing("5554", "sustained heat"), "ample");
    assert!(hot.serves("5554"), "{}", hot.why_barred("5554"));
}

/// On cracking Mathers 2002, table 3.3: 4043 for 6061 and 6063. On strength EN 1999-1-1, table 8.8 (from memory): 210 against
/// 190 MPa for 6082; the American allowances for fillets are 17 against 11.5 ksi.
#[test]
fn silicon_cracks_least_on_6xxx_and_magnesium_carries_more() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for alloy in ["6061", "6063", "6082"] {
        let by_cracking = chooser.decide(&Asked { order: &["hot cracking"], ..Asked::of(alloy, alloy) });
        assert_eq!(by_cracking.standing("4043", "hot cracking"), "ample", "{alloy}");
        assert_ne!(by_cracking.standing("5356", "hot cracking"), "ample", "{alloy}");
        let recommended = by_cracking.recommended();
        assert!(recommended.iter().all(|filler| filler.starts_with('4')), "{alloy}: {recommended:?}");
        let by_strength = chooser.decide(&Asked { order: &["joint strength"], ..Asked::of(alloy, alloy) });
        let recommended = by_strength.recommended();
        assert!(recommended.iter().all(|filler| filler.starts_with('5')), "{alloy}: {recommended:?}");
        assert!(!recommended.is_empty(), "{alloy}");
    }
}

/// The same by figures: a load between the two allowances. 3/8 in of 4043 over 16 in may carry 26.5 kip, of 5356 more.
#[test]
fn a_fillet_of_al_5mg_carries_what_one_of_al_5si_does_not() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    let loaded = |load| chooser.decide(&Asked { load: Some(load), ..Asked::of("6061", "6061") });
    let light = loaded(("10 kN", "200 mm"));
    assert!(light.serves("4043") && light.serves("5356"));
    // 707 mm2 of throat: 51 MPa, between the allowances of 43 and 63 MPa (12.2 and 17.9 ksi over 1.95).
    let between = loaded(("36 kN", "200 mm"));
    assert_eq!(between.standing("4043", "joint strength"), "barred");
    assert!(between.serves("5356"), "{}", between.why_barred("5356"));
}

/// Common practice; anodising texts (from memory): grey from 1 to 3 % silicon, dark from 4 to 5 %; Mathers 2002, table 3.3:
/// 5654 or 5356 on 5xxx and 6061.
#[test]
fn silicon_weld_metal_shows_after_clear_anodising() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for alloy in ["6060", "6061", "6063", "6082"] {
        let choice = chooser.decide(&Asked { finish: "clear anodised", ..Asked::of(alloy, alloy) });
        for filler in SILICON {
            let shade = choice.standing(filler, "anodised shade");
            assert!(matches!(shade, "barred" | "marginal"), "{alloy} with {filler}: {shade}");
        }
        let shade = choice.standing("5356", "anodised shade");
        assert!(matches!(shade, "ample" | "adequate"), "{alloy} with 5356: {shade}");
        assert!(choice.serves("5356"), "{alloy}: {}", choice.why_barred("5356"));
    }
}

/// Common practice: of what will be anodised and seen, the weld is made with Al-5Mg.
#[test]
fn al_5mg_is_the_choice_for_a_colour_match() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for finish in ["clear anodised", "colour anodised"] {
        for (first, second) in
            [("6061", "6061"), ("6063", "6063"), ("6061", "6063"), ("5005", "6063"), ("5052", "5052")]
        {
            let choice = chooser.decide(&Asked { finish, exposure: "outdoor", ..Asked::of(first, second) });
            assert_eq!(choice.recommended(), ["5356"], "{first} to {second}, {finish}");
        }
    }
}

/// Common practice; AWS A5.10, guide table (from memory): 4043 for each pair, Al-Mg fillers not above 66 °C.
#[test]
fn a_hot_assembly_of_3003_5052_and_6061_ends_with_a_silicon_filler_on_every_joint() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (first, second) in
        [("3003", "5052"), ("3003", "6061"), ("5052", "6061"), ("3003", "3003"), ("6061", "6061")]
    {
        let choice = chooser.decide(&Asked { sustained: "95 °C", ..Asked::of(first, second) });
        assert!(choice.serves("4043"), "{first} to {second}: {}", choice.why_barred("4043"));
        // Joined to itself, Al-Mn metal has a filler of its own, pure aluminium (Mathers 2002, table 3.3), which stands the heat too.
        let best = if (first, second) == ("3003", "3003") { "1100" } else { "4043" };
        assert!(
            choice.recommended().contains(&best.to_owned()),
            "{first} to {second}: {:?}",
            choice.recommended()
        );
        assert!(choice.bars("5356"), "{first} to {second}");
    }
}

/// The same as one job: a single filler covers the whole assembly, and it is Al-Si.
#[test]
fn one_silicon_filler_covers_a_hot_assembly_of_3003_5052_and_6061() {
    let rulebook = rulebook();
    let job = "[parts]\nskin = { alloy = \"3003\", thickness = \"2 mm\" }\nrib = { alloy = \"5052\", thickness = \"3 mm\" }\n\
               frame = { alloy = \"6061\", thickness = \"6 mm\" }\n\
               [service]\nsustained-temperature = \"95 °C\"\nlowest-temperature = \"0 °C\"\nexposure = \"dry\"\n\
               finish = \"none\"\nforming = \"none\"\nheat-treatment = \"none\"\n";
    let joints: String = [("skin", "rib"), ("skin", "frame"), ("rib", "frame"), ("skin", "skin"), ("frame", "frame")]
        .map(|(first, second)| {
            format!(
                "[[joints]]\nname = \"{first} to {second}\"\nbetween = [\"{first}\", \"{second}\"]\nweld = \"fillet\"\n\
                 leg = \"3 mm\"\nprocess = \"GTAW\"\n"
            )
        })
        .concat();
    let job = read_job("assembly.toml", (job.to_owned() + &joints).as_bytes(), rulebook)
        .unwrap_or_else(|errors| panic!("{errors}"));
    let report = decide(rulebook, job, Recording::Nothing).expect("the job is decided").report();
    let fewest = report.fewest_fillers;
    assert_eq!(fewest.fillers.len(), 1, "{:?}", fewest.fillers);
    assert!(SILICON.contains(&fewest.fillers[0].as_str()), "{:?}", fewest.fillers);
    assert_eq!(fewest.covers.len(), 5);
}

/// Common practice; MIL-HDBK-5 and ASM Handbook vol. 6, tables of weldability (from memory).
#[test]
fn nothing_serves_2024_or_7075() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (first, second) in [("2024", "2024"), ("7075", "7075"), ("2024", "6061"), ("5083", "7075")] {
        let choice = chooser.decide(&Asked::of(first, second));
        assert!(choice.looked_at() > 30);
        assert!(choice.serving().is_empty(), "{first} to {second}: {:?}", choice.serving());
    }
}

/// Mathers 2002, p. 49: no silicon filler on metal above 2 % magnesium, its Mg2Si embrittles the weld.
#[test]
fn no_silicon_filler_serves_5083() {
    let rulebook = rulebook();
    let choice = Chooser::new(rulebook).decide(&Asked::of("5083", "5083"));
    for filler in SILICON {
        assert!(choice.bars(filler), "{filler}");
    }
    for filler in ["5183", "5356", "5556"] {
        assert!(choice.serves(filler), "{filler}: {}", choice.why_barred(filler));
    }
}

/// AWS A5.10, note to the guide table (from memory): 5654 on 5254 and 5652 for hydrogen peroxide, not above 66 °C.
#[test]
fn filler_5654_is_the_one_for_hydrogen_peroxide() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (first, second) in [("5652", "5652"), ("5254", "5652")] {
        let asked = Asked {
            exposure: "chemical",
            chemical: Some("hydrogen peroxide"),
            order: &["corrosion"],
            ..Asked::of(first, second)
        };
        let choice = chooser.decide(&asked);
        assert_eq!(choice.recommended(), ["5654"], "{first} to {second}");
        assert_eq!(choice.serving(), ["5654"], "{first} to {second}");
        let hot = chooser.decide(&Asked { sustained: "66 °C", ..asked });
        assert_eq!(hot.standing("5654", "sustained heat"), "barred", "{first} to {second}");
    }
}

/// Journal of the Electrochemical Society, 1982, doi 10.1149/1.2124317: in nitric acid 5052 corrodes more than 1100 and 1060;
/// Horn and Diekmann, ASTM STP 19581S, 1992: the purer the better.
#[test]
fn purer_weld_metal_stands_nitric_acid_better() {
    let rulebook = rulebook();
    let asked = Asked { exposure: "chemical", chemical: Some("nitric acid"), ..Asked::of("1060", "1060") };
    let choice = Chooser::new(rulebook).decide(&asked);
    assert_eq!(choice.standing("1188", "corrosion"), "ample");
    assert_eq!(choice.standing("5554", "corrosion"), "adequate");
    for filler in SILICON {
        assert_eq!(choice.standing(filler, "corrosion"), "marginal", "{filler}");
    }
}

/// 46 CFR 182.730(b)(4): no aluminium of more than 0.6 % copper for piping of vessels, so that 2319 welds fall outside.
#[test]
fn weld_metal_with_copper_is_barred_in_sea_water() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for alloy in ["5086", "6061", "3003"] {
        let choice = chooser.decide(&Asked { exposure: "sea water", ..Asked::of(alloy, alloy) });
        for filler in ["2319", "4145"] {
            assert_eq!(choice.standing(filler, "corrosion"), "barred", "{alloy} with {filler}");
        }
    }
}

/// Mathers 2002, table 3.3: fillers for salt water; each serves, and none of those named is put behind by potential alone.
#[test]
fn fillers_named_for_salt_water_serve_there() {
    let rulebook = rulebook();
    let chooser = Chooser::new(rulebook);
    for (alloy, filler) in [
        ("1100", "1050A"),
        ("2219", "2319"),
        ("3103", "1050A"),
        ("5052", "5554"),
        ("5083", "5183"),
        ("5086", "5183"),
        ("5454", "5554"),
        ("5456", "5556"),
        ("6061", "4043"),
        ("6063", "4043"),
        ("6082", "4043"),
        ("7005", "5356"),
        ("7039", "5356"),
    ] {
        let choice = chooser.decide(&Asked { exposure: "sea water", ..Asked::of(alloy, alloy) });
        assert!(choice.serves(filler), "{alloy} with {filler}: {}", choice.why_barred(filler));
    }
}
