//! Random rulebooks and facts, drawn from a list of numbers.

use super::small_rulebook::SmallRulebook;
use whyrod::engine::GivenFact;
use whyrod::language::{Relation, Role, Type};

/// A rulebook with the level of each relation, and the caller's facts.
pub struct Sample {
    pub small: SmallRulebook,
    pub levels: Vec<usize>,
    pub given: Vec<GivenFact>,
}

/// Choices drawn from a list of numbers, so that shrinking the list shrinks the rulebook.
pub struct Choices<'a> {
    numbers: std::slice::Iter<'a, u16>,
}

impl<'a> Choices<'a> {
    pub fn new(numbers: &'a [u16]) -> Self {
        Choices { numbers: numbers.iter() }
    }

    /// A number below `limit`, or zero.
    pub fn below(&mut self, limit: usize) -> usize {
        self.numbers.next().map_or(0, |number| *number as usize % limit.max(1))
    }

    pub fn of<T: Clone>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())].clone()
    }
}

pub const NAMES: [&str; 4] = ["a", "b", "c", "d"];
pub const NUMBERS: [&str; 4] = ["0", "1", "2", "3"];

/// Relations in four levels: given ones, then derived ones with questions about those of the level below.
pub const RELATIONS: [(&str, usize); 13] = [
    ("node name", 0),
    ("edge name name ratio", 0),
    ("size name ratio", 0),
    ("? word name name : node 0", 1),
    ("? load name ratio : node 0", 1),
    ("first name", 1),
    ("near name name", 1),
    ("worth name ratio", 1),
    ("? late name ratio : near 1", 2),
    ("second name name", 2),
    ("weight name name ratio", 2),
    ("third name name name", 3),
    ("sum ratio", 3),
];

pub fn sample(numbers: &[u16]) -> Sample {
    let mut choices = Choices::new(numbers);
    let mut small = SmallRulebook::new(&RELATIONS.map(|(line, _)| line));
    let levels = RELATIONS.map(|(_, level)| level).to_vec();
    let relations = small.rulebook.relations.clone();
    let constant = |choices: &mut Choices<'_>, ty: Type| match ty {
        Type::Number(_) => choices.of(&NUMBERS),
        _ => choices.of(&NAMES),
    };
    for relation in &relations[..9] {
        let count = match relation.name.as_str() {
            "node" => 1 + choices.below(4),
            "word" | "load" | "late" => choices.below(3),
            _ => choices.below(5),
        };
        for _ in 0..count {
            let cells: Vec<&str> =
                relation.roles.iter().map(|role| constant(&mut choices, role.ty)).collect();
            if relation.name != "near" {
                small.fact(&format!("{} {}", relation.name, cells.join(" ")));
            }
        }
    }
    for number in 0..3 + choices.below(14) {
        let mut lines = finding_lines(&mut choices, &relations, &levels);
        lines.retain(|line| !line.is_empty());
        small.finding(&format!("finding.{number}"), &lines.iter().map(String::as_str).collect::<Vec<_>>());
    }
    // Half of the facts come from the caller, some of them a second time.
    let facts = std::mem::take(&mut small.rulebook.facts);
    let mut given = Vec::new();
    for (index, fact) in facts.into_iter().enumerate() {
        if index % 2 == 0 {
            given.push(GivenFact { relation: fact.relation, cells: fact.cells.clone() });
        }
        if index % 3 > 0 || index % 2 == 1 {
            small.rulebook.facts.push(fact);
        }
    }
    Sample { small, levels, given }
}

fn finding_lines(choices: &mut Choices<'_>, relations: &[Relation], levels: &[usize]) -> Vec<String> {
    let hence = &relations[choices.of(&[5, 6, 7, 9, 10, 11, 12])];
    let level = RELATIONS
        .iter()
        .position(|(line, _)| *line.trim_start_matches("? ") == full(hence))
        .map(|at| levels[at]);
    let level = level.expect("a relation of the list");
    let upto = |limit: usize| -> Vec<&Relation> {
        relations
            .iter()
            .zip(levels)
            .filter(|(_, level)| **level <= limit)
            .map(|(relation, _)| relation)
            .collect()
    };
    let is_number = |role: &Role| matches!(role.ty, Type::Number(_));
    let mut lines = Vec::new();
    let (mut names, mut numbers): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let computes = choices.below(4);
    // A finding that computes values for its conclusion looks only below, so that nothing grows.
    let looks_at = upto(if computes > 1 { level } else { level - 1 });
    for _ in 0..choices.below(4) {
        let relation = choices.of(&looks_at);
        let terms: Vec<String> = relation
            .roles
            .iter()
            .map(|role| {
                let number = is_number(role);
                match choices.below(8) {
                    6 => "_".to_owned(),
                    7 => choices.of(if number { &NUMBERS } else { &NAMES }).to_owned(),
                    at => {
                        let name = format!("{}{}", if number { "U" } else { "X" }, at % 3);
                        let bound = if number { &mut numbers } else { &mut names };
                        if !bound.contains(&name) {
                            bound.push(name.clone());
                        }
                        name
                    }
                }
            })
            .collect();
        lines.push(format!("given {} {}", relation.name, terms.join(" ")));
    }
    let below = upto(level - 1);
    let loose = |choices: &mut Choices<'_>, relation: &Relation, names: &[String], numbers: &[String]| {
        let terms: Vec<String> = relation
            .roles
            .iter()
            .map(|role| {
                let bound = if is_number(role) { numbers } else { names };
                match choices.below(6) {
                    0 => "_".to_owned(),
                    1 => choices.of(if is_number(role) { &NUMBERS } else { &NAMES }).to_owned(),
                    2 => format!("Free{}", usize::from(is_number(role))),
                    _ if bound.is_empty() => "_".to_owned(),
                    _ => choices.of(bound),
                }
            })
            .collect();
        format!("{} {}", relation.name, terms.join(" "))
    };
    if computes == 0 && !numbers.is_empty() {
        let (left, right) = (choices.of(&numbers), choices.of(&["1", "0", "2"]));
        lines.push(format!("let Made = {left} {} {right}", choices.of(&["+", "-", "*", "/"])));
        numbers.push("Made".to_owned());
    }
    if computes == 1 {
        let how = choices.of(&["count", "sum", "least", "greatest"]);
        let measured: Vec<&Relation> =
            below.iter().rev().copied().filter(|relation| relation.roles.iter().any(is_number)).collect();
        let relation = choices.of(if how == "count" { &below } else { &measured });
        match relation.roles.iter().position(is_number) {
            Some(over) if how != "count" => {
                let members = loose(choices, relation, &names, &numbers);
                let mut words: Vec<&str> = members.split(' ').collect();
                if choices.below(2) == 0 {
                    words[1..].fill("_");
                }
                words[over + 1] = "Over";
                lines.push(format!("let Made = {how} Over of {}", words.join(" ")));
            }
            _ => lines.push(format!("let Made = count of {}", loose(choices, relation, &names, &numbers))),
        }
        numbers.push("Made".to_owned());
        if choices.below(3) == 0 {
            // What was computed is looked up: the join comes before or after the computation, as the plan likes.
            lines.push(format!("given size X0 {}", "Made"));
            if !names.contains(&"X0".to_owned()) {
                names.push("X0".to_owned());
            }
        }
    }
    for _ in 0..choices.below(3) {
        let relation = choices.of(&below);
        lines.push(format!("unless {}", loose(choices, relation, &names, &numbers)));
    }
    if choices.below(2) == 1 && !numbers.is_empty() {
        let (left, other) = (choices.of(&numbers), choices.of(&numbers));
        let right = [other.as_str(), "1"][choices.below(2)];
        lines.push(format!("where {left} {} {right}", choices.of(&["<", "<=", ">", "=", "!="])));
    }
    if choices.below(3) == 1 && !names.is_empty() {
        let (left, right) = (choices.of(&names), choices.of(&names));
        lines.push(format!("where {left} {} {} {right}", choices.of(&["is", "not"]), choices.of(&NAMES)));
    }
    let mut conclusions = vec![hence];
    if choices.below(4) == 1 {
        conclusions.push(hence);
    }
    for hence in conclusions {
        let terms: Vec<String> = hence
            .roles
            .iter()
            .map(|role| {
                let bound = if is_number(role) { &numbers } else { &names };
                match choices.below(6) {
                    0 => choices.of(if is_number(role) { &NUMBERS } else { &NAMES }).to_owned(),
                    _ if bound.is_empty() => {
                        choices.of(if is_number(role) { &NUMBERS } else { &NAMES }).to_owned()
                    }
                    _ => choices.of(bound),
                }
            })
            .collect();
        lines.push(format!("hence {} {}", hence.name, terms.join(" ")));
    }
    lines
}

fn full(relation: &Relation) -> String {
    let roles: Vec<&str> = relation.roles.iter().map(|role| role.name.as_str()).collect();
    format!("{} {}", relation.name, roles.join(" "))
}
