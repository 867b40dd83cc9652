//! Orders of cracking that sources publish, and what must hold of the standings whatever the index comes to.

use crate::support::cracking::*;

/// Pairs of an order that come out as published, of all pairs.
fn pairs_right(values: &[f64]) -> (usize, usize) {
    let mut tally = (0, 0);
    for (place, value) in values.iter().enumerate() {
        for later in &values[place + 1..] {
            tally.0 += usize::from(value < later);
            tally.1 += 1;
        }
    }
    tally
}

/// Soysal and Kou, talk abstract: transverse motion tests without filler, 2219 < 2014 < 2024 < 7075 < 6061.
#[test]
fn bare_welds_come_out_in_the_published_order() {
    let alloys: [&[(&str, f64)]; 5] = [
        &[("Cu", 6.3)],
        &[("Si", 0.8), ("Mg", 0.5), ("Cu", 4.4), ("Mn", 0.8)],
        &[("Mg", 1.5), ("Cu", 4.4)],
        &[("Mg", 2.5), ("Cu", 1.6), ("Zn", 5.6)],
        &[("Si", 0.6), ("Mg", 1.0), ("Cu", 0.28), ("Fe", 0.3)],
    ];
    let main: Vec<f64> = alloys.iter().map(|contents| index(&metal(contents))).collect();
    println!("main elements alone: {main:.0?}");
    assert_eq!(pairs_right(&main), (10, 10), "{main:?}");

    // As the rulebook has them frozen, which is not quite the same: it takes registered nominal figures.
    let rulebook = rulebook();
    let alloys = ["2219", "2014", "2024", "7075", "6061"];
    let meant: Vec<f64> =
        alloys.iter().map(|alloy| index(&Seam::bare(rulebook, alloy).base(alloy))).collect();
    println!("as frozen: {meant:.0?}");
    assert_eq!(pairs_right(&meant), (10, 10), "{meant:?}");

    // Why impurities are left out: at half of each maximum the order comes out less well.
    let guessed: Vec<f64> =
        alloys.iter().map(|alloy| index(&Seam::bare(rulebook, alloy).base_with_guesses(alloy))).collect();
    println!("with impurities at half of their limit: {guessed:.0?}");
    assert!(pairs_right(&guessed).0 < 10, "{guessed:?}");
}

/// Soysal and Kou, talk abstract: transverse motion tests of 2024, 4145 < 4043 < 2319. The dilution is not given; at 60 %
/// base metal the index agrees, at 30 % it puts 4043 above 2319.
#[test]
fn fillers_on_2024_come_out_in_the_published_order_where_much_base_metal_melts() {
    let rulebook = rulebook();
    let at = |dilution: f64| -> Vec<f64> {
        ["4145", "4043", "2319"]
            .iter()
            .map(|filler| {
                let seam = Seam::new(rulebook, ["2024", "2024"], filler, NOT_GIVEN);
                index(&seam.pool(["2024", "2024"], dilution))
            })
            .collect()
    };
    for dilution in [0.3, 0.4, 0.5, 0.6, 0.7] {
        println!("{dilution}: {:.0?}", at(dilution));
    }
    assert_eq!(pairs_right(&at(0.6)), (3, 3));
}

#[test]
fn bare_6061_is_worse_than_6061_with_4043() {
    let rulebook = rulebook();
    let bare = Seam::bare(rulebook, "6061");
    let with = Seam::new(rulebook, ["6061", "6061"], "4043", NOT_GIVEN);
    let bare_index = index(&bare.base("6061"));
    for dilution in [0.30, 0.45, 0.60] {
        let pool = index(&with.pool(["6061", "6061"], dilution));
        assert!(pool < bare_index, "at {dilution}: {pool} against {bare_index}");
    }
    assert!(with.number("sensitivity", "worst") < bare.number("sensitivity", "typical"));
    assert_eq!((bare.standing().as_str(), with.standing().as_str()), ("barred", "ample"));
}

/// Mathers 2002, p. 49: no silicon filler on metal of more than 2 % magnesium.
#[test]
fn a_silicon_filler_on_5083_is_barred_for_the_mixture_with_its_amount() {
    let rulebook = rulebook();
    for bases in [["5083", "6061"], ["5083", "5083"]] {
        let seam = Seam::new(rulebook, bases, "4043", NOT_GIVEN);
        let (standing, says) = seam.standing_on("joint strength");
        assert_eq!(standing, "barred", "{bases:?}");
        assert!(says.contains("% Mg2Si"), "{says}");
        assert_ne!(seam.standing(), "barred", "it is not hot cracking that bars it");
    }
}

/// The index puts magnesium-rich metal above bare 6061, against all practice; the standing must not follow it.
#[test]
fn magnesium_rich_metal_is_not_called_worse_than_bare_6061() {
    let rulebook = rulebook();
    let order = ["ample", "adequate", "marginal", "barred"];
    let place = |standing: &str| order.iter().position(|word| *word == standing).expect("a settled standing");
    let bare_6061 = place(&Seam::bare(rulebook, "6061").standing());
    for (alloy, filler) in [("5052", "5356"), ("5083", "5356"), ("5083", "5183"), ("6061", "5356")] {
        let seam = Seam::new(rulebook, [alloy, alloy], filler, NOT_GIVEN);
        assert!(
            index(&seam.pool([alloy, alloy], 0.45)) > 4000.0,
            "the index is high, which is why it is not used"
        );
        assert!(seam.facts("index-worst").is_empty(), "it is not worked out");
        assert!(!seam.facts("no-index").is_empty(), "and told as not valid");
        assert!(place(&seam.standing()) < bare_6061, "{alloy} with {filler}");
    }
    for alloy in ["5052", "5083"] {
        let bare = Seam::new(rulebook, [alloy, alloy], "5356", (1.0, 1.0));
        assert!(place(&bare.standing()) < bare_6061, "{alloy} bare");
    }
}

/// Both measures stand in the sentence, and which of them counts.
#[test]
fn the_sentence_tells_both_measures() {
    let rulebook = rulebook();
    let says = |alloy: &str, filler: &str| {
        Seam::new(rulebook, [alloy, alloy], filler, NOT_GIVEN).standing_on("hot cracking").1
    };
    let agree = says("6061", "4043");
    assert!(agree.contains("crack sensitivity") && agree.contains("steepness index"), "{agree}");
    let index = says("2219", "4043");
    assert!(index.contains("steepness index of 4043") && index.contains("more cautious"), "{index}");
    let curve = says("5083", "5183");
    assert!(curve.contains("the curve alone counts") && curve.contains("not valid"), "{curve}");
}
