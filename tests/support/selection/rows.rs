//! A published choice, and how it is read: which alloys, which fillers, which job. No tests live here.
//!
//! - A list of alloys (`1060|1070|1080`) is read as those of them that the rulebook knows; in rows that are only counted, as
//!   the first four of these.
//! - A family is read as the first four alloys of it in the order of the rulebook's tables, without those that the rulebook
//!   holds to be not fusion welded at all: `5xxx` by the first digit of wrought alloys, `Al-Si castings` as castings of the
//!   families silicon and silicon magnesium, `Al-Mg castings` as those of the family magnesium.
//! - A row that says a filler is required is read as welds that are all base metal, where none may serve.
//! - `any` is read as the first such alloy of 1xxx, 3xxx, 5xxx and 6xxx.
//! - A family of fillers (`4XXX`, `Type 5`) is served by any filler of it; the types are those that EN 1999-1-1 lists.

use super::{Asked, Chooser};
use crate::support::comma_separated::cells;
use crate::support::program::library::reader;
use whyrod::language::{Rulebook, Value};

/// Most alloys that stand for a family.
const MOST: usize = 4;

/// A row of the table, as the source has it.
#[derive(Debug)]
pub struct Row {
    pub id: String,
    pub bases: [String; 2],
    pub recommended: String,
    pub excluded: String,
    pub criterion: String,
    pub condition: String,
    pub source: String,
    pub confidence: String,
}

impl Row {
    /// Whether a disagreement fails the build.
    pub fn is_sure(&self) -> bool {
        self.confidence.ends_with("high")
    }
}

pub fn rows() -> Vec<Row> {
    let table = include_str!("../../outside/data/selection.csv");
    let rows = table.lines().skip(1).map(|line| {
        let cells: [String; 10] = cells(line).try_into().expect("ten cells");
        let [id, first, second, recommended, excluded, criterion, condition, source, how, confidence] = cells;
        assert_eq!(how.starts_with("memory"), confidence.starts_with("memory"), "{id}");
        let bases = [first, second];
        Row { id, bases, recommended, excluded, criterion, condition, source, confidence }
    });
    rows.collect()
}

/// What the rulebook's tables say of alloys and fillers, as far as a row needs it.
pub struct Known<'r> {
    rulebook: &'r Rulebook,
    /// Base alloys and their families, in the order of the tables.
    alloys: Vec<(String, String)>,
    fillers: Vec<String>,
}

impl<'r> Known<'r> {
    pub fn new(chooser: &Chooser<'r>) -> Self {
        let known = Known { rulebook: chooser.rulebook, alloys: Vec::new(), fillers: Vec::new() };
        let unwelded: Vec<String> =
            chooser.holds("not-welded").into_iter().map(|mut cells| cells.swap_remove(0)).collect();
        let alloys = known.column("base-alloy", 0).into_iter().zip(known.column("base-alloy", 1));
        let alloys = alloys.filter(|(alloy, _)| !unwelded.contains(alloy)).collect();
        Known { alloys, fillers: known.column("filler", 0), ..known }
    }

    fn column(&self, relation: &str, role: usize) -> Vec<String> {
        let id = self.rulebook.relation(relation).expect("the rulebook has this relation");
        let facts = self.rulebook.facts.iter().filter(|fact| fact.relation == id);
        facts.map(|fact| fact.cells[role].to_string()).collect()
    }

    /// What a metal is meant to hold of an element, in per cent.
    fn content(&self, relation: &str, metal: &str, element: &str) -> f64 {
        let id = self.rulebook.relation(relation).expect("the rulebook has this relation");
        let facts = self.rulebook.facts.iter().filter(|fact| fact.relation == id);
        let mut held =
            facts.filter(|fact| fact.cells[0].to_string() == metal && fact.cells[1].to_string() == element);
        match held.next().map(|fact| &fact.cells[2]) {
            Some(Value::Number(share)) => share.base,
            _ => 0.0,
        }
    }

    fn first(&self, most: usize, is_of_it: impl Fn(&str, &str) -> bool) -> Vec<String> {
        let found = self.alloys.iter().filter(|(alloy, family)| is_of_it(alloy, family));
        found.map(|(alloy, _)| alloy.clone()).take(most).collect()
    }

    fn wrought(&self, digit: char, most: usize) -> Vec<String> {
        self.first(most, |alloy, _| !alloy.contains('.') && alloy.starts_with(digit))
    }

    /// The alloys that one side of a row stands for; of a list at most so many.
    fn alloys(&self, written: &str, most: usize) -> Result<Vec<String>, String> {
        let cast = |families: &[&str]| {
            self.first(MOST, |alloy, family| alloy.contains('.') && families.contains(&family))
        };
        let rich = |element| self.first(MOST, |alloy, _| self.content("nominal", alloy, element) > 2.0);
        let found = match written {
            "any" => "1356".chars().flat_map(|digit| self.wrought(digit, 1)).collect(),
            "any 5xxx/6xxx" => [self.wrought('5', MOST), self.wrought('6', MOST)].concat(),
            "any alloy with Mg > 2 %" => rich("Mg"),
            "any alloy with Si > 2 %" => rich("Si"),
            "Al-Si castings" => cast(&["silicon", "silicon magnesium"]),
            "Al-Mg castings" => cast(&["magnesium"]),
            "5xxx service > 65 C" => self.wrought('5', MOST),
            "5xxx except 5083" => {
                let family = self.wrought('5', MOST + 1);
                family.into_iter().filter(|alloy| alloy != "5083").take(MOST).collect()
            }
            "5251 (and 5xxx with Mg < 2 %)" => vec!["5251".to_owned()],
            "6061 (pipe)" => vec!["6061".to_owned()],
            "7xxx weldable" => self.wrought('7', MOST),
            // The restraint is no question of the rulebook; a high dilution is given to the job.
            "any (high dilution or restraint)" => self.alloys("any", most)?,
            _ if written.len() == 4 && written.ends_with("xxx") => {
                self.wrought(written.chars().next().expect("a digit"), MOST)
            }
            _ => {
                let named = written.split('|').filter_map(|name| reader().alloy_named(name));
                named.map(|name| name.to_string()).take(most).collect()
            }
        };
        if found.is_empty() { Err(format!("no base alloy of the rulebook is {written}")) } else { Ok(found) }
    }

    fn of_family(&self, digit: char) -> Vec<String> {
        self.fillers.iter().filter(|filler| filler.starts_with(digit)).cloned().collect()
    }

    /// The fillers that a word of a row stands for; none where the rulebook knows none.
    fn fillers(&self, written: &str) -> Vec<String> {
        match written {
            "Type 3" => vec!["3103".to_owned()],
            "Type 4" => vec!["4043A".to_owned(), "4047A".to_owned()],
            "Type 5" => ["5356", "5556A", "5183"].map(str::to_owned).to_vec(),
            "4xxx (Al-Si)" => self.of_family('4'),
            "5xxx (Al-Mg)" => self.of_family('5'),
            "5xxx filler with Mg > 5 %" => {
                let mut fillers = self.of_family('5');
                fillers.retain(|filler| self.content("filler-nominal", filler, "Mg") > 5.0);
                fillers
            }
            "Al-Mg5 type (5356/5056A)" => vec!["5356".to_owned()],
            // Of the row on 5251: the filler of about 2 % magnesium.
            "matching-composition filler" => vec!["5249".to_owned()],
            _ if written.len() == 4 && written.ends_with("XXX") => {
                self.of_family(written.chars().next().expect("a digit"))
            }
            _ => reader().filler_named(written).map(|name| name.to_string()).into_iter().collect(),
        }
    }
}

/// What a row says, in the rulebook's terms.
#[derive(Debug)]
pub struct Reading {
    /// A job for every pair of alloys.
    pub jobs: Vec<Asked>,
    /// Fillers of which one must serve: what the source names first, as far as the rulebook knows it.
    pub serves: Vec<String>,
    /// Fillers that must be barred.
    pub bars: Vec<String>,
    /// Whether none may serve.
    pub none: bool,
    /// Alloys and fillers of its lists that the rulebook does not know.
    pub unknown: Vec<String>,
}

/// Rows that cannot be run whatever the alloys.
fn cannot_be_run(row: &Row) -> Option<&'static str> {
    let says = |text: &str| {
        [&row.criterion, &row.condition, &row.recommended, &row.bases[0]]
            .iter()
            .any(|cell| cell.contains(text))
    };
    if says("regulation") {
        return Some("a regulation on tank cars: no question of the rulebook asks for it");
    }
    if says("grade") && says("approved") {
        return Some("names a grade of approval, no filler");
    }
    if says("oxyfuel") || says("gas welding") && !says("gas-shielded") {
        return Some("gas welding is no process of the rulebook");
    }
    None
}

/// Whether the row says that the metal is not to be welded without filler: read as welds that are all base metal.
fn is_without_filler(row: &Row) -> bool {
    row.recommended == "filler required"
}

/// How a row is read; an error says why it cannot be run.
pub fn read(row: &Row, known: &Known<'_>) -> Result<Reading, String> {
    if let Some(reason) = cannot_be_run(row) {
        return Err(reason.to_owned());
    }
    let most = if row.is_sure() { usize::MAX } else { MOST };
    let first = known.alloys(&row.bases[0], most)?;
    let is_same = row.bases[1] == "same" || row.bases[0] == "any (high dilution or restraint)";
    let mut pairs: Vec<[String; 2]> = Vec::new();
    for one in &first {
        let second = if is_same { vec![one.clone()] } else { known.alloys(&row.bases[1], most)? };
        for other in second {
            if !pairs.iter().any(|[a, b]| [a, b] == [&other, one] || [a, b] == [one, &other]) {
                pairs.push([one.clone(), other]);
            }
        }
    }
    let excluded: Vec<&str> = row.excluded.split(';').filter(|part| !part.is_empty()).collect();
    let without_filler = is_without_filler(row);
    let none = without_filler || excluded.iter().any(|part| part.starts_with("any"));
    let mut bars = Vec::new();
    for part in excluded.into_iter().filter(|part| !none && !part.starts_with("any")) {
        let fillers = known.fillers(part);
        if fillers.is_empty() {
            return Err(format!("no filler of the rulebook is {part}"));
        }
        bars.extend(fillers);
    }
    let serves = row.recommended.split(';').map(|part| known.fillers(part)).find(|found| !found.is_empty());
    if serves.is_none() && !row.recommended.is_empty() && !without_filler {
        return Err(format!("no filler of the rulebook is {}", row.recommended));
    }
    let jobs = pairs.into_iter().map(|bases| job(row, bases)).collect();
    let lists = row.bases.iter().filter(|side| side.contains('|'));
    let alloys = lists.flat_map(|side| side.split('|')).filter(|name| reader().alloy_named(name).is_none());
    let fillers = row.recommended.split(';').filter(|name| !without_filler && !name.is_empty());
    let fillers = fillers.filter(|name| known.fillers(name).is_empty());
    let unknown = alloys.map(str::to_owned).chain(fillers.map(|name| format!("filler {name}"))).collect();
    Ok(Reading { jobs, serves: serves.unwrap_or_default(), bars, none, unknown })
}

/// The job that a row implies for two alloys.
fn job(row: &Row, bases: [String; 2]) -> Asked {
    let mut asked = Asked { bases, ..Asked::of("", "") };
    let criterion = row.criterion.as_str();
    // Table 8.8 of EN 1999-1-1 is on butt welds; pipes, tanks and sheet that is formed after welding are butted.
    asked.butt = criterion.starts_with("design strength")
        || ["pipe", "cryogenic", "ductility"].iter().any(|word| criterion.contains(word));
    match criterion {
        "salt-water corrosion" => asked.exposure = "sea water",
        "best for anodising" | "colour match after anodising" => asked.finish = "clear anodised",
        "best ductility" => asked.forming = "severe",
        "cryogenic (77 K, 4 K) MIG" => asked.lowest = "-196 °C",
        _ => {}
    }
    if row.bases[0].contains("service > 65 C") || row.condition.starts_with("sustained elevated temperature")
    {
        asked.sustained = "95 °C";
    }
    if row.bases[0].contains("high dilution") {
        asked.dilution = Some("60..80 %");
    }
    if is_without_filler(row) {
        asked.dilution = Some("100 %");
    }
    asked.order = match criterion {
        "salt-water corrosion" => &["corrosion"],
        "best for anodising" | "colour match after anodising" => &["anodised shade"],
        "best ductility" => &["forming"],
        "least cracking tendency" => &["hot cracking"],
        "highest strength" | "design strength of weld metal" => &["joint strength"],
        "cryogenic (77 K, 4 K) MIG" => &["cold service"],
        "strength / corrosion / cracking" => &["joint strength", "corrosion", "hot cracking"],
        _ if criterion.contains("strength") => &["joint strength", "hot cracking"],
        _ => &[],
    };
    asked
}
