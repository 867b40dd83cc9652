//! Hot cracking by the rulebook against published cases (tests/data/cracking_cases.csv, each row with its source): what the
//! composition curve, the steepness index and the two together make of them. The floors are the counts that were found.
//!
//! Bare welds are run as joints at 100 % dilution; where a source gives no dilution, 30 to 60 % is taken.

use std::collections::BTreeMap;
use std::path::Path;
use whyrod::computed::frozen;
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::language::{Rulebook, Value, read_rulebook};
use whyrod::metallurgy::freezing::{Freezing, SteepnessSettings, liquation};
use whyrod::verdict::{Decision, decide};

/// Dilution where a source gives none: an assumption of these tests.
const NOT_GIVEN: (f64, f64) = (0.30, 0.60);

fn rulebook() -> Rulebook {
    read_rulebook(Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/rules")))
        .expect("the rulebook has no mistakes")
}

/// One joint of two alloys, one filler.
struct Seam<'r> {
    decision: Decision<'r>,
    filler: String,
}

impl<'r> Seam<'r> {
    fn new(rulebook: &'r Rulebook, bases: [&str; 2], filler: &str, dilution: (f64, f64)) -> Self {
        let (from, to) = (dilution.0 * 100.0, dilution.1 * 100.0);
        let text = format!(
            "title = \"a published case\"\n\
             [parts.one]\nalloy = \"{}\"\nthickness = \"3 mm\"\n\
             [parts.two]\nalloy = \"{}\"\nthickness = \"3 mm\"\n\
             [[joints]]\nname = \"seam\"\nbetween = [\"one\", \"two\"]\nweld = \"lap\"\nprocess = \"GMAW\"\n\
             dilution = \"{from}..{to} %\"\n\
             [service]\nsustained-temperature = \"20 °C\"\nlowest-temperature = \"0 °C\"\nexposure = \"dry\"\n\
             finish = \"none\"\nforming = \"none\"\nheat-treatment = \"none\"\n\
             [choice]\navailable = [\"{filler}\"]\n",
            bases[0], bases[1]
        );
        let job = read_job("case.toml", text.as_bytes(), rulebook).expect("the job has no mistakes");
        let decision = decide(rulebook, job, Recording::Everything).expect("the job can be decided");
        Seam { decision, filler: filler.to_owned() }
    }

    fn bare(rulebook: &'r Rulebook, base: &str) -> Self {
        Seam::new(rulebook, [base, base], "1100", (1.0, 1.0))
    }

    /// The facts of a relation, as values by role.
    fn facts(&self, relation: &str) -> Vec<Vec<Option<Value>>> {
        let id = self.decision.rulebook.relation(relation).expect("the rulebook has this relation");
        let roles = self.decision.rulebook.relations[id.index()].roles.len();
        let derivation = &self.decision.derivation;
        derivation
            .facts(id)
            .map(|fact| (0..roles).map(|role| derivation.cell(fact, role).cloned()).collect())
            .collect()
    }

    fn column(&self, relation: &str, role: &str) -> Vec<Value> {
        let id = self.decision.rulebook.relation(relation).expect("the rulebook has this relation");
        let at = self.decision.rulebook.relations[id.index()].roles.iter().position(|r| r.name == role);
        let at = at.expect("the relation has this role");
        self.facts(relation).into_iter().filter_map(|mut cells| cells.swap_remove(at)).collect()
    }

    fn number(&self, relation: &str, role: &str) -> Option<f64> {
        self.column(relation, role).iter().filter_map(base).reduce(f64::max)
    }

    fn word(&self, relation: &str, role: &str) -> Option<String> {
        self.column(relation, role).first().map(ToString::to_string)
    }

    /// What a metal holds, by element.
    fn contents(&self, relation: &str, metal: &str) -> Vec<(String, f64)> {
        self.facts(relation)
            .into_iter()
            .filter(|cells| cells[0].as_ref().is_some_and(|name| name.to_string() == metal))
            .filter_map(|cells| Some((cells[1].as_ref()?.to_string(), base(cells[3].as_ref()?)?)))
            .collect()
    }

    /// What a base metal holds, without traces.
    fn base(&self, alloy: &str) -> Vec<(String, f64)> {
        self.without_traces(self.contents("composition", alloy))
    }

    /// As the rulebook has metals frozen.
    fn without_traces(&self, mut contents: Vec<(String, f64)>) -> Vec<(String, f64)> {
        let limit = self.number("trace-limit", "share").expect("the rulebook sets a limit of traces");
        contents.retain(|(_, content)| *content > limit);
        contents
    }

    /// The pool at a dilution, both sides melting alike, without traces.
    fn pool(&self, bases: [&str; 2], dilution: f64) -> Vec<(String, f64)> {
        let filler = self.contents("filler-composition", &self.filler);
        let mut pool: Vec<(String, f64)> = Vec::new();
        for (share, metal) in [
            (dilution / 2.0, self.contents("composition", bases[0])),
            (dilution / 2.0, self.contents("composition", bases[1])),
            (1.0 - dilution, filler),
        ] {
            for (element, content) in metal {
                match pool.iter_mut().find(|(known, _)| *known == element) {
                    Some((_, sum)) => *sum += share * content,
                    None => pool.push((element, share * content)),
                }
            }
        }
        pool.sort_by(|a, b| a.0.cmp(&b.0));
        self.without_traces(pool)
    }

    /// The standing on hot cracking.
    fn standing(&self) -> String {
        self.standing_on("hot cracking").0
    }

    fn standing_on(&self, criterion: &str) -> (String, String) {
        let report = self.decision.report();
        let standings = &report.joints[0].verdicts[0].standings;
        let found = standings.iter().find(|standing| standing.criterion == criterion).expect("it is graded");
        (found.standing.clone(), found.says.clone().unwrap_or_default())
    }
}

fn base(value: &Value) -> Option<f64> {
    match value {
        Value::Number(quantity) => Some(quantity.base),
        _ => None,
    }
}

fn freeze(composition: &[(String, f64)]) -> Freezing {
    frozen(composition).expect("this metal can be frozen")
}

fn index(composition: &[(String, f64)]) -> f64 {
    freeze(composition).steepness(&SteepnessSettings::default()).expect("the settings leave a window").index
}

fn metal(contents: &[(&str, f64)]) -> Vec<(String, f64)> {
    contents.iter().map(|(element, content)| ((*element).to_owned(), *content)).collect()
}

/// Cells of a line, of which some are quoted.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().expect("one at least").push(letter),
        }
    }
    cells
}

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
            .filter_map(|alloy| liquation(&freeze(&seam.base(alloy)), weld))
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
        let found = outcome(&rulebook, &case);
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

    // With what the rulebook takes for impurities (half of each maximum) 2014 and 2024 change places.
    let rulebook = rulebook();
    let whole: Vec<f64> = ["2219", "2014", "2024", "7075", "6061"]
        .iter()
        .map(|alloy| index(&Seam::bare(&rulebook, alloy).base(alloy)))
        .collect();
    println!("with impurities: {whole:.0?}");
    assert!(pairs_right(&whole).0 >= 9, "{whole:?}");
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
                let seam = Seam::new(&rulebook, ["2024", "2024"], filler, NOT_GIVEN);
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
    let bare = Seam::bare(&rulebook, "6061");
    let with = Seam::new(&rulebook, ["6061", "6061"], "4043", NOT_GIVEN);
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
        let seam = Seam::new(&rulebook, bases, "4043", NOT_GIVEN);
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
    let bare_6061 = place(&Seam::bare(&rulebook, "6061").standing());
    for (alloy, filler) in [("5052", "5356"), ("5083", "5356"), ("5083", "5183"), ("6061", "5356")] {
        let seam = Seam::new(&rulebook, [alloy, alloy], filler, NOT_GIVEN);
        assert!(
            index(&seam.pool([alloy, alloy], 0.45)) > 4000.0,
            "the index is high, which is why it is not used"
        );
        assert!(seam.facts("index-worst").is_empty(), "it is not worked out");
        assert!(!seam.facts("no-index").is_empty(), "and told as not valid");
        assert!(place(&seam.standing()) < bare_6061, "{alloy} with {filler}");
    }
    for alloy in ["5052", "5083"] {
        let bare = Seam::new(&rulebook, [alloy, alloy], "5356", (1.0, 1.0));
        assert!(place(&bare.standing()) < bare_6061, "{alloy} bare");
    }
}

/// Both measures stand in the sentence, and which of them counts.
#[test]
fn the_sentence_tells_both_measures() {
    let rulebook = rulebook();
    let says = |alloy: &str, filler: &str| {
        Seam::new(&rulebook, [alloy, alloy], filler, NOT_GIVEN).standing_on("hot cracking").1
    };
    let agree = says("6061", "4043");
    assert!(agree.contains("crack sensitivity") && agree.contains("steepness index"), "{agree}");
    let index = says("2219", "4043");
    assert!(index.contains("steepness index of 4043") && index.contains("more cautious"), "{index}");
    let curve = says("5083", "5183");
    assert!(curve.contains("the curve alone counts") && curve.contains("not valid"), "{curve}");
}

const INDEX_RIGHT: usize = 13;
const CURVE_RIGHT: usize = 19;
const TOGETHER_RIGHT: usize = 19;
const BESIDE_RIGHT: usize = 12;
