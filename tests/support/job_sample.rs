//! Random jobs from a seed: alloys, tempers and words of the rulebook, sizes of a workshop, and answers left out. The same
//! seed and rulebook give the same text. No tests live here.

#![allow(dead_code)]

use std::fmt::Write;
use whyrod::language::{Rulebook, Type, Value};

/// Numbers that follow from a seed alone (the generator "splitmix64", in the public domain).
pub struct Seeded(u64);

impl Seeded {
    /// Starts at a seed.
    pub fn new(seed: u64) -> Self {
        Seeded(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15))
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A number below `limit`, which is not zero.
    pub fn below(&mut self, limit: usize) -> usize {
        (self.number() % limit as u64) as usize
    }

    /// A number between two ends, both included.
    pub fn between(&mut self, lowest: usize, highest: usize) -> usize {
        lowest + self.below(highest - lowest + 1)
    }

    /// True in so many of a hundred cases.
    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }

    /// One of a list.
    pub fn one_of<'l, T>(&mut self, list: &'l [T]) -> &'l T {
        &list[self.below(list.len())]
    }
}

/// How large the jobs are, and how much they leave out.
#[derive(Clone, Copy)]
pub struct Extent {
    /// Most parts.
    pub parts: usize,
    /// Most joints.
    pub joints: usize,
    /// Most fillers in stock; `None` where the job names no stock.
    pub stock: Option<usize>,
    /// How many of a hundred answers are left out, in a job that leaves some out.
    pub left_out: usize,
}

/// Jobs of one or two joints with a handful of fillers: quick to decide, and still of every kind.
pub const SMALL: Extent = Extent { parts: 3, joints: 2, stock: Some(6), left_out: 25 };

/// Jobs as large as the examples, with all known fillers.
pub const WHOLE: Extent = Extent { parts: 4, joints: 4, stock: None, left_out: 25 };

/// Distinct names in the first role of a relation's table rows that satisfy `keep`.
fn listed(rulebook: &Rulebook, relation: &str, role: usize, keep: impl Fn(&[Value]) -> bool) -> Vec<String> {
    let id = rulebook.relation(relation).expect("a relation of the rulebook");
    let rows = rulebook.facts.iter().filter(|fact| fact.relation == id && keep(&fact.cells));
    let mut names: Vec<String> = rows.map(|fact| fact.cells[role].to_string()).collect();
    names.sort();
    names.dedup();
    names
}

/// The words that a question's answer may be.
fn words(rulebook: &Rulebook, question: &str) -> Vec<String> {
    let id = rulebook.relation(question).expect("a question of the rulebook");
    let answer = rulebook.relations[id.index()].roles.last().expect("a role");
    let Type::Word(kind) = answer.ty else { panic!("{question} is not answered by a word") };
    rulebook.kinds[kind.index()].words.iter().map(|word| word.to_string()).collect()
}

/// A job file.
pub fn job(seed: u64, rulebook: &Rulebook, extent: Extent) -> String {
    let mut random = Seeded::new(seed);
    // Every second job answers all questions.
    let left_out = if random.chance(50) { 0 } else { extent.left_out };
    let mut text = format!("title = \"Sample {seed}\"\n");
    let parts = parts(&mut random, rulebook, extent, left_out, &mut text);
    let shared = random.chance(70);
    for joint in 0..random.between(1, extent.joints) {
        let (first, second) = (random.below(parts), random.below(parts));
        let _ = write!(text, "\n[[joints]]\nname = \"joint {joint}\"\nbetween = [\"part {first}\", ");
        let _ = writeln!(text, "\"part {second}\"]");
        weld(&mut random, rulebook, left_out, &mut text);
        if !shared {
            text.push_str("\n[joints.service]\n");
            service(&mut random, rulebook, left_out, &mut text);
        }
    }
    if shared {
        text.push_str("\n[service]\n");
        service(&mut random, rulebook, left_out, &mut text);
    }
    choice(&mut random, rulebook, extent, &mut text);
    text
}

fn parts(
    random: &mut Seeded,
    rulebook: &Rulebook,
    extent: Extent,
    left_out: usize,
    text: &mut String,
) -> usize {
    let alloys = listed(rulebook, "base-alloy", 0, |_| true);
    let count = random.between(1, extent.parts);
    for part in 0..count {
        let alloy = random.one_of(&alloys);
        let _ = write!(text, "\n[parts.\"part {part}\"]\nalloy = \"{alloy}\"\n");
        let tempers = listed(rulebook, "offered-temper", 1, |cells| cells[0].to_string() == *alloy);
        if !tempers.is_empty() && !random.chance(left_out) {
            let _ = writeln!(text, "temper = \"{}\"", random.one_of(&tempers));
        }
        if !random.chance(left_out) {
            // One plate in five comes from an inch shop.
            let thickness = match random.chance(20) {
                true => format!("{}/16 in", random.between(1, 12)),
                false => format!("{}.{} mm", random.between(1, 20), random.below(10)),
            };
            let _ = writeln!(text, "thickness = \"{thickness}\"");
        }
    }
    count
}

fn weld(random: &mut Seeded, rulebook: &Rulebook, left_out: usize, text: &mut String) {
    let weld = random.one_of(&words(rulebook, "weld")).clone();
    if !random.chance(left_out) {
        let _ = writeln!(text, "weld = \"{weld}\"");
    }
    if ["fillet", "lap", "corner"].contains(&weld.as_str()) && !random.chance(left_out) {
        let _ = writeln!(text, "leg = \"{} mm\"", random.between(2, 10));
    }
    if weld == "plug" && !random.chance(left_out) {
        let _ = writeln!(text, "hole-diameter = \"{} mm\"", random.between(6, 16));
    }
    if !random.chance(left_out) {
        let _ = writeln!(text, "process = \"{}\"", random.one_of(&words(rulebook, "process")));
    }
    if random.chance(20) {
        let lowest = random.between(1, 18) * 5;
        let _ = match random.chance(50) {
            true => writeln!(text, "dilution = \"{lowest} %\""),
            false => writeln!(text, "dilution = \"{lowest}..{} %\"", lowest + random.between(1, 10)),
        };
    }
    if random.chance(15) {
        let _ = writeln!(text, "gap = \"{}..{} mm\"", random.below(2), random.between(2, 3));
    }
    if random.chance(40) {
        let (shear, length) = (random.between(1, 60), random.between(4, 60) * 10);
        let _ = writeln!(text, "load = {{ shear = \"{shear} kN\", length = \"{length} mm\" }}");
    }
}

fn service(random: &mut Seeded, rulebook: &Rulebook, left_out: usize, text: &mut String) {
    if !random.chance(left_out) {
        let temperature = match random.chance(25) {
            true => format!("{} °F", random.between(60, 400)),
            false => format!("{} °C", random.between(15, 200)),
        };
        let _ = writeln!(text, "sustained-temperature = \"{temperature}\"");
    }
    if !random.chance(left_out) {
        let _ = writeln!(text, "lowest-temperature = \"-{} °C\"", random.between(1, 196));
    }
    for (question, usual) in
        [("exposure", "dry"), ("finish", "none"), ("forming", "none"), ("heat-treatment", "none")]
    {
        if random.chance(left_out) {
            continue;
        }
        let answers = words(rulebook, question);
        // Most assemblies ask for nothing out of the ordinary.
        let answer = if random.chance(50) { usual } else { random.one_of(&answers) };
        let _ = writeln!(text, "{question} = \"{answer}\"");
    }
}

fn choice(random: &mut Seeded, rulebook: &Rulebook, extent: Extent, text: &mut String) {
    let quoted =
        |names: &[String]| names.iter().map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", ");
    let mut shuffled = |mut names: Vec<String>, count: usize| {
        for at in (1..names.len()).rev() {
            names.swap(at, random.below(at + 1));
        }
        names.truncate(count);
        names
    };
    let mut lines = String::new();
    if let Some(stock) = extent.stock {
        let fillers = shuffled(listed(rulebook, "filler", 0, |_| true), stock);
        let _ = writeln!(lines, "available = [{}]", quoted(&fillers));
    }
    let criteria = rulebook.kinds.iter().find(|kind| kind.name == "criterion").expect("the criteria");
    let criteria: Vec<String> = criteria.words.iter().map(|word| word.to_string()).collect();
    let order = shuffled(criteria, 4);
    if random.chance(40) {
        let _ = writeln!(lines, "order = [{}]", quoted(&order));
    }
    if !lines.is_empty() {
        let _ = write!(text, "\n[choice]\n{lines}");
    }
}
