//! The systematic set: jobs made from what a rulebook asks and knows, so that each alloy, each answer and each border has its
//! turn. What is looked for in them is not known here.

use crate::job::{JobReader, QuestionKey};
use crate::language::{Condition, Expression, Origin, Premise, Question, Rulebook, Type, Value};
use crate::quantity::{Dimension, Quantity, Unit};
use crate::relations::{BASE_ALLOY, Placed};
use serde_json::{Map, Value as Json, json};
use std::collections::BTreeSet;

/// One job of the systematic set, which may have many joints.
#[derive(Clone, Debug)]
pub struct SystematicJob {
    /// What makes its service differ from the plain one; empty for that.
    pub answer: String,
    /// The job file, as JSON.
    pub text: String,
}

/// The maker of systematic jobs.
pub struct SystematicSet<'a, 'r> {
    /// What asks.
    pub rulebook: &'r Rulebook,
    /// Its keys and names.
    pub reader: &'a JobReader<'r>,
}

impl SystematicSet<'_, '_> {
    /// The jobs of the systematic set: every alloy joined to itself in a plain service, and one alloy of each kind under every
    /// answer.
    pub fn single(&self) -> Vec<SystematicJob> {
        let alloys: Vec<&str> = self.reader.alloys().iter().map(|alloy| &**alloy).collect();
        let kinds = self.one_of_each_kind(&alloys);
        let plain = self.profile(0);
        let mut trials = vec![SystematicJob { answer: String::new(), text: to_itself(&alloys, &plain) }];
        for key in self.reader.questions() {
            for answer in self.answers(key, true) {
                let mut answers: Vec<(&QuestionKey, Json)> =
                    plain.iter().filter(|(known, _)| known.path != key.path).cloned().collect();
                let written = answer.as_str().map_or_else(|| answer.to_string(), str::to_owned);
                answers.push((key, answer));
                let answer = format!("{} = {written}", key.path);
                trials.push(SystematicJob { answer, text: to_itself(&kinds, &answers) });
            }
        }
        trials
    }

    /// The first alloy of each combination of the words that its row has.
    fn one_of_each_kind<'n>(&self, alloys: &[&'n str]) -> Vec<&'n str> {
        let Some(Placed { relation: listing, .. }) = BASE_ALLOY.find(self.rulebook) else {
            return alloys.to_vec();
        };
        let mut seen = BTreeSet::new();
        let kind = |alloy: &str| {
            let row = self.rulebook.facts.iter().find(|fact| {
                fact.relation == listing && matches!(&fact.cells[0], Value::Symbol(name) if **name == *alloy)
            });
            row.map(|row| row.cells[1..].iter().map(ToString::to_string).collect::<Vec<_>>())
        };
        alloys.iter().copied().filter(|alloy| seen.insert(kind(alloy))).collect()
    }

    /// Each alloy joined to each from its own place in the list on, under several services: in the first every question has its
    /// first answer, in the next its second, and so on, until the longest list of words has been gone through. Alloys take every
    /// other service, turn and turn about; with `kinds`, only one alloy of each kind is taken, and under every service. One job
    /// for each alloy and service.
    pub fn pairs(&self, kinds: bool) -> Vec<SystematicJob> {
        let mut alloys: Vec<&str> = self.reader.alloys().iter().map(|alloy| &**alloy).collect();
        if kinds {
            alloys = self.one_of_each_kind(&alloys);
        }
        let longest = self.reader.questions().iter().filter(|key| self.must_be_answered(key));
        let longest = longest.map(|key| match key.answer {
            Type::Word(kind) => self.rulebook.kinds[kind.index()].words.len(),
            _ => 1,
        });
        let mut jobs = Vec::new();
        for number in 0..longest.max().unwrap_or(1) {
            let answers = self.profile(number);
            let answer = if number == 0 { String::new() } else { format!("answers {}", number + 1) };
            let turn = |place: &usize| kinds || place % 2 == number % 2;
            for (place, first) in alloys.iter().enumerate().filter(|(place, _)| turn(place)) {
                let pairs: Vec<(&str, &str)> = alloys[place..].iter().map(|other| (*first, *other)).collect();
                jobs.push(SystematicJob { answer: answer.clone(), text: job(&pairs, &answers) });
            }
        }
        jobs
    }

    /// The answers of a service: of each question that must be answered the one in this place of its list, round and round.
    fn profile(&self, number: usize) -> Vec<(&QuestionKey, Json)> {
        let asked = self.reader.questions().iter().filter(|key| self.must_be_answered(key));
        let answer = |key| {
            let answers = self.answers(key, number > 0);
            let place = number.checked_rem(answers.len())?;
            Some((key, answers.into_iter().nth(place)?))
        };
        asked.filter_map(answer).collect()
    }

    fn must_be_answered(&self, key: &QuestionKey) -> bool {
        match &self.rulebook.relations[key.relation.index()].origin {
            Origin::Question(question) => question.left_out.is_none(),
            _ => false,
        }
    }

    /// Answers to try: every word of a closed list; for a number, a usual one, and with `all` those at, below and above each
    /// border that a finding names, too.
    fn answers(&self, key: &QuestionKey, all: bool) -> Vec<Json> {
        match key.answer {
            Type::Word(kind) => {
                let words = &self.rulebook.kinds[kind.index()].words;
                words.iter().map(|word| json!(**word)).collect()
            }
            Type::Number(dimension) => {
                let mut numbers = vec![usual(dimension)];
                if all {
                    numbers.extend(self.around_borders(dimension));
                }
                let origin = &self.rulebook.relations[key.relation.index()].origin;
                let taken = |number: &f64| match origin {
                    Origin::Question(Question { takes: Some(takes), .. }) => {
                        takes.range.holds(&Quantity::from_base(*number, dimension))
                    }
                    _ => true,
                };
                let written = |base: f64| match Unit::usual(dimension) {
                    Some(unit) => json!(format!("{} {}", unit.from_base(base), unit.symbol())),
                    None => json!(base),
                };
                numbers.into_iter().filter(taken).map(written).collect()
            }
            Type::Name | Type::Text | Type::Range(_) => Vec::new(),
        }
    }

    /// The numbers of a dimension that findings compare with, those between neighbours, and one beyond each end.
    fn around_borders(&self, dimension: Dimension) -> Vec<f64> {
        let mut borders = Vec::new();
        for premise in self.rulebook.findings.iter().flat_map(|finding| &finding.premises) {
            match premise {
                Premise::Let { formula: Expression::Constant(number), .. } => borders.push(*number),
                Premise::Where { condition: Condition::Compare { left, right, .. }, .. } => {
                    for side in [left, right] {
                        if let Expression::Constant(number) = side {
                            borders.push(*number);
                        }
                    }
                }
                _ => {}
            }
        }
        let mut borders: Vec<f64> = borders
            .into_iter()
            .filter(|number| number.dimension == dimension)
            .map(|number| number.base)
            .collect();
        borders.sort_by(f64::total_cmp);
        borders.dedup();
        let between: Vec<f64> = borders.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0).collect();
        let ends = borders.first().zip(borders.last()).map(|(first, last)| {
            let step = (last - first).abs().max(last.abs() * 0.1);
            [first - step, last + step]
        });
        borders.into_iter().chain(between).chain(ends.into_iter().flatten()).collect()
    }
}

/// A number that no finding should mind, in base units: a part of 6 mm, a room.
fn usual(dimension: Dimension) -> f64 {
    match dimension {
        Dimension::LENGTH => 0.006,
        Dimension::TEMPERATURE => 20.0,
        _ => 1.0,
    }
}

/// A job file: each alloy joined to itself, with these answers.
fn to_itself(alloys: &[&str], answers: &[(&QuestionKey, Json)]) -> String {
    let pairs: Vec<(&str, &str)> = alloys.iter().map(|alloy| (*alloy, *alloy)).collect();
    job(&pairs, answers)
}

/// A job file: these alloys joined, with these answers.
fn job(pairs: &[(&str, &str)], answers: &[(&QuestionKey, Json)]) -> String {
    let section = |wanted: &str| -> Map<String, Json> {
        let of = answers.iter().filter(|(key, _)| key.section == wanted);
        of.map(|(key, answer)| (key.key.clone(), answer.clone())).collect()
    };
    let part = |alloy: &str| {
        let mut part = section("parts");
        part.insert("alloy".to_owned(), json!(alloy));
        Json::Object(part)
    };
    let joint = |first: &str, second: &str| {
        let mut joint = section("joints");
        let name = if first == second { first.to_owned() } else { format!("{first} to {second}") };
        joint.insert("name".to_owned(), json!(name));
        joint.insert("between".to_owned(), json!([first, second]));
        Json::Object(joint)
    };
    let alloys: BTreeSet<&str> = pairs.iter().flat_map(|(first, second)| [*first, *second]).collect();
    let parts: Map<String, Json> = alloys.iter().map(|alloy| ((*alloy).to_owned(), part(alloy))).collect();
    let joints: Vec<Json> = pairs.iter().map(|(first, second)| joint(first, second)).collect();
    let mut whole = Map::new();
    whole.insert("parts".to_owned(), Json::Object(parts));
    whole.insert("joints".to_owned(), json!(joints));
    for (key, _) in answers.iter().filter(|(key, _)| !["parts", "joints"].contains(&key.section.as_str())) {
        whole.insert(key.section.clone(), Json::Object(section(&key.section)));
    }
    Json::Object(whole).to_string()
}
