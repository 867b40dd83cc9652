//! Published figures of strength, bending and heat against what the program makes of a job: tests/outside/data/strength.csv, each row
//! with its source, and worked examples. Rows read with high confidence can fail the build; those that are less sure or "from
//! memory" are only counted. Rows of 6106, which the rulebook does not know, were left out.

use crate::support::program::library::{Fact, decided, facts};
use std::collections::BTreeMap;
use whyrod::language::Value;
use whyrod::quantity::parse_quantity;
use whyrod::verdict::Decision;

/// A number in base units.
fn number(fact: &Fact<'_>, role: &str) -> f64 {
    match fact.value(role) {
        Value::Number(quantity) => quantity.base,
        other => panic!("{role} is no number but {other}"),
    }
}

fn base(text: &str) -> f64 {
    parse_quantity(text, None).unwrap_or_else(|error| panic!("{text}: {error}")).base
}

/// The facts of a relation of which the roles hold these names.
fn those<'d>(decision: &'d Decision<'_>, relation: &str, names: &[(&str, &str)]) -> Vec<Fact<'d>> {
    let mut found = facts(decision, relation);
    found.retain(|fact| names.iter().all(|(role, name)| fact.name(role) == *name));
    found
}

#[track_caller]
fn the_one(decision: &Decision<'_>, relation: &str, names: &[(&str, &str)], role: &str) -> f64 {
    let found = those(decision, relation, names);
    assert_eq!(found.len(), 1, "{relation} {names:?}");
    number(&found[0], role)
}

#[track_caller]
fn near(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} where {expected} is expected, within {within}");
}

/// A row of the table.
struct Row {
    what: String,
    alloy: String,
    temper: String,
    product_or_scheme: String,
    thickness: String,
    expected: String,
    unit: String,
    source: String,
    confidence: String,
}

fn rows() -> Vec<Row> {
    let table = include_str!("data/strength.csv");
    let rows = table.lines().skip(1).map(|line| {
        let cells = crate::support::comma_separated::cells(line);
        let [what, alloy, temper, product_or_scheme, thickness, expected, unit, source, _, confidence] =
            <[String; 10]>::try_from(cells).unwrap_or_else(|cells| panic!("{cells:?}"));
        Row { what, alloy, temper, product_or_scheme, thickness, expected, unit, source, confidence }
    });
    rows.collect()
}

/// One job with a part for every row, and a joint of each part with itself.
fn job(rows: &[Row]) -> String {
    let mut text = String::from("title = \"published figures\"\n[choice]\navailable = [\"4043\"]\n");
    for (place, row) in rows.iter().enumerate() {
        text += &format!("[parts.p{place}]\nalloy = \"{}\"\nthickness = \"{}\"\n", row.alloy, row.thickness);
        if !row.temper.is_empty() {
            text += &format!("temper = \"{}\"\n", row.temper);
        }
    }
    for place in 0..rows.len() {
        text += &format!("[[joints]]\nname = \"j{place}\"\nbetween = [\"p{place}\", \"p{place}\"]\n");
    }
    text
}

/// What the program has for each part and joint, by relation and what tells its facts apart.
struct Found(BTreeMap<(&'static str, String, String), Vec<f64>>);

impl Found {
    fn of(decision: &Decision<'_>) -> Self {
        let mut found = BTreeMap::<_, Vec<f64>>::new();
        let wanted = [
            ("kept", "part", "product", "tensile", "tensile factor"),
            ("kept", "part", "product", "proof", "proof factor"),
            ("beside-weld", "part", "code", "value", "beside"),
            ("bend-tested", "part", "scheme", "strain", "bend strain"),
            ("most-heat", "joint", "joint", "value", "most heat"),
        ];
        for (relation, about, beside, value, what) in wanted {
            for fact in facts(decision, relation) {
                let key = (what, fact.name(about), fact.name(beside));
                found.entry(key).or_default().push(number(&fact, value));
            }
        }
        // What the European table leaves, in the row that a part is read in.
        let mut left = BTreeMap::<(String, String), Vec<f64>>::new();
        for fact in those(decision, "welded-minimum", &[("code", "EN 1999-1-1")]) {
            left.entry((fact.name("alloy"), fact.name("temper"))).or_default().push(number(&fact, "value"));
        }
        let alloys: BTreeMap<String, String> =
            facts(decision, "part").iter().map(|fact| (fact.name("part"), fact.name("alloy"))).collect();
        for fact in those(decision, "row-read", &[("code", "EN 1999-1-1")]) {
            let part = fact.name("part");
            let values = left[&(alloys[&part].clone(), fact.name("temper"))].clone();
            found.insert(("tensile left", part, String::new()), values);
        }
        Found(found)
    }

    fn values(&self, row: &Row, place: usize) -> Vec<f64> {
        let part = format!("p{place}");
        let key = match row.what.as_str() {
            "tensile factor" => ("tensile factor", part, row.product_or_scheme.clone()),
            "proof factor" => ("proof factor", part, row.product_or_scheme.clone()),
            "tensile left" => ("tensile left", part, String::new()),
            "as welded, US" => ("beside", part, "ADM 2020".to_owned()),
            "bend strain" => ("bend strain", part, row.product_or_scheme.clone()),
            "most heat" => ("most heat", format!("j{place}"), format!("j{place}")),
            other => panic!("no such figure: {other}"),
        };
        self.0.get(&key).cloned().unwrap_or_default()
    }
}

#[test]
fn published_figures_come_out_to_their_printed_precision() {
    let rows = rows();
    let decision = decided(&job(&rows));
    let found = Found::of(&decision);
    let (mut sure, mut others, mut wrong) = (0, BTreeMap::<&str, [usize; 2]>::new(), Vec::new());
    for (place, row) in rows.iter().enumerate() {
        let expected = base(&format!("{} {}", row.expected, row.unit));
        // Half a unit of the last printed digit, and a little for the arithmetic of the computer.
        let digits = row.expected.split_once('.').map_or(0, |(_, digits)| digits.len());
        let last = 0.5 * 0.1_f64.powi(i32::try_from(digits).expect("few digits"));
        let one = base(&format!("1 {}", row.unit)) - base(&format!("0 {}", row.unit));
        // "0.5" and "1" stand in a table of factors that has two digits.
        let within = if row.what.ends_with("factor") { 0.005 } else { last * one } * 1.001;
        let values = found.values(row, place);
        let agrees = values.iter().any(|value| (value - expected).abs() <= within);
        let is_sure = row.confidence == "high";
        if is_sure {
            sure += 1;
        } else {
            others.entry(&row.confidence).or_default()[usize::from(agrees)] += 1;
        }
        if !agrees {
            let Row { what, alloy, temper, expected, unit, source, confidence, .. } = row;
            let text = format!(
                "{what} of {alloy} {temper}: {values:?} for {expected} {unit} ({source}, {confidence})"
            );
            println!("{text}");
            wrong.extend(is_sure.then_some(text));
        }
    }
    println!("{sure} sure rows; of the others [disagree, agree]: {others:?}");
    assert!(sure > 100, "only {sure} sure rows");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A loaded joint of a part with itself.
fn loaded(part: &str, joint: &str) -> Decision<'static> {
    decided(&format!(
        "[parts.a]\n{part}\n[[joints]]\nname = \"seam\"\nbetween = [\"a\", \"a\"]\nprocess = \"GMAW\"\n{joint}\n\
         [choice]\navailable = [\"4043\", \"5356\"]\n"
    ))
}

/// Aluminum Design Manual 2020, part VII, example 27 (read): a lap of 6061-T6, 1/2 in, 3/8 in fillets of 4043, 16 in in all;
/// throat 0.265 in, 12.2 ksi on it, 51.7 kip, 26.5 kip with a safety factor of 1.95. The source rounds the throat and the
/// strength on its way, and so does the check; unrounded it comes to 26.6.
#[test]
fn the_worked_fillet_of_the_design_manual() {
    let part = "alloy = \"6061\"\ntemper = \"T6\"\nthickness = \"0.500 in\"";
    let joint = "weld = \"lap\"\nleg = \"3/8 in\"\nload = { shear = \"26.5 kip\", length = \"16 in\" }\n\
                 design = { code = \"ADM 2020\" }";
    let decision = loaded(part, joint);
    let (inch, ksi, kip) = (base("1 in"), base("1 ksi"), base("1 kip"));
    let throat = the_one(&decision, "throat", &[], "value") / inch;
    near(throat, 0.265, 0.0005);
    let shear = the_one(&decision, "throat-shear", &[("filler", "4043")], "value") / ksi;
    near(shear, 12.2, 0.05);
    let safety = the_one(&decision, "safety", &[], "value");
    near(safety, 1.95, 1e-12);
    // Weld metal alone: 24 ksi of welded base metal are not weaker than 24 ksi of filler, so the fusion face is not checked.
    let used = those(&decision, "utilisation", &[("filler", "4043")]);
    assert_eq!(used.len(), 1);
    assert_eq!(used[0].name("place"), "weld metal");
    let carries = 26.5 * kip / number(&used[0], "value");
    near(carries / kip, 26.6, 0.05);
    let rounded = (throat * 1000.0).round() / 1000.0 * 16.0 * (shear * 10.0).round() / 10.0;
    near(rounded, 51.7, 0.05);
    near(rounded / safety, 26.5, 0.05);
    // Base metal beside the weld, the example: 24 ksi.
    near(the_one(&decision, "weaker-side", &[], "value") / ksi, 24.0, 1e-9);
    // "5356 would raise it": its 35 ksi (from memory) are more than the 24 ksi of the base metal, so the face is checked as well.
    let stronger = the_one(&decision, "most-used", &[("filler", "5356")], "value");
    assert!(stronger < number(&used[0], "value"));
}

/// EN 1999-1-1, 8.6.3 (form from memory; the ratio of the root of 3 to the root of 2 follows from it): across a fillet 1.2247
/// times as much is carried as along it. The US rules make no difference (example 27: both directions at one strength).
#[test]
fn direction_counts_in_the_european_rules_alone() {
    let part = "alloy = \"6082\"\ntemper = \"T6\"\nthickness = \"10 mm\"";
    let of = |direction: &str, code: &str| {
        let joint = format!(
            "weld = \"fillet\"\nload = {{ shear = \"50 kN\", length = \"200 mm\" }}\n\
             load-direction = \"{direction}\"\ndesign = {{ load-factor = 1 }}"
        );
        let names = [("filler", "5356"), ("code", code), ("place", "weld metal")];
        the_one(&loaded(part, &joint), "leg-needed", &names, "value")
    };
    near(of("along", "EN 1999-1-1") / of("across", "EN 1999-1-1"), 1.2247, 0.0001);
    near(of("along", "ADM 2020") / of("across", "ADM 2020"), 1.0, 1e-12);
}

/// Throats of a double fillet under 100 kN over 200 mm, half on each, partial factor 1.25: own arithmetic on the form of
/// EN 1999-1-1 and its table 8.8 (from memory), not published. Held to the digits given.
#[test]
fn throats_by_the_european_form() {
    let cases = [
        ("6082", "5356", 2.10, 2.58),
        ("6082", "4043", 2.33, 2.85),
        ("5083", "5356", 1.84, 2.26),
        ("6060", "4043", 2.95, 3.61),
    ];
    for (alloy, filler, across, along) in cases {
        for (direction, expected) in [("across", across), ("along", along)] {
            let joint = format!(
                "weld = \"fillet\"\nload = {{ shear = \"50 kN\", length = \"200 mm\" }}\n\
                 load-direction = \"{direction}\"\ndesign = {{ code = \"Eurocode 9\", load-factor = 1 }}"
            );
            let decision = loaded(&format!("alloy = \"{alloy}\"\nthickness = \"10 mm\""), &joint);
            let names = [("filler", filler), ("place", "weld metal")];
            let leg = the_one(&decision, "leg-needed", &names, "value");
            near(0.707 * leg / base("1 mm"), expected, 0.006);
        }
    }
}

/// Aluminum Design Manual 2010 and 2015 (from memory; counted among the less sure, and so only told): plate of 5083-H116 over
/// 1.5 in keeps 39 ksi, thinner plate 40 ksi. What must hold is that thickness makes it no stronger.
#[test]
fn thick_plate_keeps_no_more_than_thin() {
    let of = |thickness: &str| {
        let part = format!("alloy = \"5083\"\ntemper = \"H116\"\nthickness = \"{thickness}\"");
        let joint = "weld = \"double-v butt\"\nload = { shear = \"50 kN\", length = \"200 mm\" }";
        let decision = loaded(&part, joint);
        ["ADM 2020", "EN 1999-1-1"].map(|code| the_one(&decision, "weaker-side", &[("code", code)], "value"))
    };
    let (thin, thick) = (of("12 mm"), of("50 mm"));
    println!("12 mm: {thin:?}, 50 mm: {thick:?}");
    assert!(thick.iter().zip(&thin).all(|(thick, thin)| thick < thin));
}

/// Mathers 2002, p. 50 (read): 6xxx cracks if it is welded without filler. EN 1999-1-1, 6.1.6 (memory-high, from memory): the
/// figures beside the weld hold 3 days after welding for 6xxx, 30 for 7xxx. AWS A5.10, note (memory-high, from memory): 4643,
/// not 4043, for 6xxx grooves from 12 mm on that are solution treated and aged.
#[test]
fn facts_of_treatment_and_of_bare_welds() {
    let job = "[parts.a]\nalloy = \"6061\"\ntemper = \"T4\"\nthickness = \"16 mm\"\n[parts.b]\nalloy = \"7020\"\n\
               [[joints]]\nname = \"seam\"\nbetween = [\"a\", \"a\"]\nweld = \"single-v butt\"\nprocess = \"GMAW\"\n\
               [[joints]]\nname = \"other\"\nbetween = [\"b\", \"b\"]\n\
               [service]\nheat-treatment = \"solution and age\"\n[choice]\navailable = [\"4043\", \"4643\"]\n";
    let decision = decided(job);
    assert_eq!(those(&decision, "tears-bare", &[("alloy", "6061")]).len(), 1);
    assert_eq!(those(&decision, "caution", &[("joint", "seam"), ("about", "6061")]).len(), 1);
    let day = base("24 h");
    near(the_one(&decision, "full-strength-after", &[("part", "a")], "value") / day, 3.0, 1e-9);
    near(the_one(&decision, "full-strength-after", &[("part", "b")], "value") / day, 30.0, 1e-9);
    let standing = |filler: &str| {
        let names = [("joint", "seam"), ("filler", filler), ("criterion", "heat treatment")];
        those(&decision, "standing", &names)[0].name("level")
    };
    assert_eq!((standing("4043").as_str(), standing("4643").as_str()), ("marginal", "ample"));
}

/// ASM and NBS data (memory-high, from memory): no transition from tough to brittle; Yuri and others, Cryogenics 41 (2001)
/// (read): 5183 welds of 5083 at 4 K. Nothing is barred in the cold.
#[test]
fn nothing_is_barred_in_the_cold() {
    for lowest in ["-163 °C", "-269 °C"] {
        let decision = decided(&format!(
            "[parts.a]\nalloy = \"5083\"\n[[joints]]\nname = \"seam\"\nbetween = [\"a\", \"a\"]\nweld = \"fillet\"\n\
             process = \"GMAW\"\n[service]\nlowest-temperature = \"{lowest}\"\n"
        ));
        let graded = those(&decision, "standing", &[("criterion", "cold service")]);
        assert!(graded.len() > 30, "{}", graded.len());
        for fact in graded {
            let (filler, level) = (fact.name("filler"), fact.name("level"));
            assert_ne!(level, "barred", "{filler} at {lowest}");
            assert!(!["5183", "5556"].contains(&filler.as_str()) || level == "ample", "{filler}: {level}");
        }
    }
}
