//! The verdicts, collected once more from the recorded facts, and held against the recorded ones.

use super::applied::{Applied, sentence_cells};
use super::apply::Met;
use super::facts::Facts;
use super::problem::Problems;
use super::shapes::FindingShape;
use super::terms::{Term, Terms};
use crate::engine::Cell;
use crate::job::Job;
use crate::language::{Finding, Piece, Type, Value};
use crate::record::{Record, RecordedFact, RecordedGround};
use crate::relations::Placed;
use crate::verdict::{
    Beaten, Established, FewestFillers, FillerVerdict, JobStamp, JointReport, Level, Measured, OpenQuestion,
    ProgramStamp, Report, RulebookStamp, Standing, Verdict, Vocabulary, about_fillers_in_use, asked_sentence,
    decisive, fewest, is_said, whole_sentence,
};
use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// What the verdicts are collected from.
pub(super) struct Collected<'c, 'a, 'r> {
    pub facts: &'c Facts<'r>,
    pub terms: &'c mut Terms,
    pub shapes: &'c [FindingShape<'r>],
    pub applied: &'c [Applied<'a>],
    pub recorded: &'c [&'a RecordedFact],
    pub vocabulary: &'c Vocabulary,
    pub job: &'c Job,
}

/// Holds the recorded verdicts against those that the recorded facts give. How many there are.
pub(super) fn report(
    mut collected: Collected<'_, '_, '_>,
    record: &Record,
    problems: &mut Problems,
) -> usize {
    let report = collected.report();
    let count = report.joints.iter().map(|joint| joint.verdicts.len()).sum();
    let Ok(mut expected) = serde_json::to_value(&report) else { return count };
    expected["program"] = serde_json::json!({
        "name": record.program.name,
        "version": record.program.version,
    });
    differ("the report", &expected, &record.report, problems);
    count
}

impl Collected<'_, '_, '_> {
    fn cell(&self, fact: usize, role: usize) -> Option<Term> {
        self.facts.all[fact].cells[role]
    }

    fn text(&self, fact: usize, role: usize) -> String {
        self.cell(fact, role).map_or(String::new(), |term| self.terms.value(term).to_string())
    }

    fn is_known(&self, fact: usize) -> bool {
        !self.facts.all[fact].open
    }

    /// The facts of a relation about a joint and a filler, which stand in these of its roles.
    fn about<const N: usize>(
        &self,
        placed: &Placed<N>,
        [joint, filler]: [usize; 2],
        pair: [Term; 2],
    ) -> Vec<usize> {
        let roles = [placed.roles[joint], placed.roles[filler]];
        let mut facts = self.facts.with_cell(placed.relation, roles[0], pair[0]).to_vec();
        facts.retain(|fact| self.cell(*fact, roles[1]) == Some(pair[1]));
        self.in_order(facts)
    }

    /// Facts of a relation in the order of their cells, which nobody can turn round in a record.
    fn in_order(&self, mut facts: Vec<usize>) -> Vec<usize> {
        facts.sort_by(|one, other| self.facts.compare(*one, *other, self.terms));
        facts
    }

    /// How many verdicts rest on facts of which each is marked or not.
    pub fn resting(&mut self, marked: &[bool]) -> usize {
        let words = self.vocabulary;
        let mut count = 0;
        for joint in &self.job.joints {
            for filler in &self.job.available {
                let pair = [&joint.name, filler].map(|name| self.terms.term(&Value::Symbol(name.clone())));
                if self.about(&words.candidate, [0, 1], pair).is_empty() {
                    continue;
                }
                let facts = [
                    self.about(&words.candidate, [0, 1], pair),
                    self.about(&words.barred, [0, 1], pair),
                    self.about(&words.usable, [0, 1], pair),
                    self.about(&words.recommended, [0, 1], pair),
                    self.about(&words.beats, [0, 2], pair),
                    self.about(&words.standing, [0, 1], pair),
                ];
                count += usize::from(facts.iter().flatten().any(|fact| marked[*fact]));
            }
        }
        count
    }

    fn report(&mut self) -> Report {
        let fillers: Vec<String> = self.job.available.iter().map(|name| name.to_string()).collect();
        let criteria = self.criteria();
        let plainly = self.plainly();
        let mut joints = Vec::new();
        for joint in &self.job.joints {
            let mut rows: Vec<(usize, FillerVerdict, Vec<usize>)> = Vec::new();
            for (place, filler) in fillers.iter().enumerate() {
                let pair = [Value::Symbol(joint.name.clone()), Value::Symbol(filler.as_str().into())];
                let pair = pair.map(|name| self.terms.term(&name));
                if self.about(&self.vocabulary.candidate, [0, 1], pair).is_empty() {
                    continue;
                }
                let (verdict, waits) = self.verdict(filler, pair, &criteria);
                rows.push((place, verdict, waits));
            }
            let open = self.open(&rows);
            let mut verdicts: Vec<FillerVerdict> = rows.into_iter().map(|(_, verdict, _)| verdict).collect();
            verdicts.sort_by_key(|verdict| verdict.verdict);
            let recommended = verdicts.iter().filter(|verdict| verdict.verdict == Verdict::Recommended);
            let mut report = JointReport {
                joint: joint.name.to_string(),
                between: [joint.between[0].to_string(), joint.between[1].to_string()],
                recommended: recommended.map(|verdict| verdict.filler.clone()).collect(),
                decisive: None,
                verdicts,
                open,
                whatever: Vec::new(),
                by_sample: false,
            };
            report.decisive = decisive(&report, &plainly);
            joints.push(report);
        }
        let rulebook = self.facts.rulebook;
        let fewest = fewest(&fillers, &self.stock(&fillers), &joints);
        Report {
            cautions: self.cautions(&fillers, &joints, &fewest),
            program: ProgramStamp { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") },
            rulebook: RulebookStamp {
                fingerprint: rulebook.fingerprint.clone(),
                findings: rulebook.findings.len(),
            },
            job: JobStamp {
                title: self.job.title.clone().unwrap_or_default(),
                fingerprint: self.job.fingerprint.clone(),
            },
            fewest_fillers: fewest,
            joints,
        }
    }

    /// The criteria in the order in which they count.
    fn criteria(&self) -> Vec<(Term, String)> {
        let place = &self.vocabulary.place;
        let [criterion, value] = place.roles;
        let rank = |fact: usize| match self.cell(fact, value).map(|term| self.terms.value(term)) {
            Some(Value::Number(quantity)) => quantity.base,
            _ => f64::MAX,
        };
        let mut ranked: Vec<usize> = self.facts.of(place.relation).collect();
        ranked.sort_by(|a, b| {
            rank(*a)
                .total_cmp(&rank(*b))
                .then_with(|| self.text(*a, criterion).cmp(&self.text(*b, criterion)))
        });
        let named = |fact: usize| Some((self.cell(fact, criterion)?, self.text(fact, criterion)));
        ranked.into_iter().filter_map(named).collect()
    }

    fn plainly(&self) -> HashMap<String, String> {
        let Some(plainly) = &self.vocabulary.plainly else { return HashMap::new() };
        let [criterion, reason] = plainly.roles;
        let facts = self.in_order(self.facts.of(plainly.relation).collect()).into_iter();
        facts.map(|fact| (self.text(fact, criterion), self.text(fact, reason))).collect()
    }

    /// The verdict on a filler at a joint, and the facts whose openness it waits on.
    fn verdict(
        &mut self,
        filler: &str,
        pair: [Term; 2],
        criteria: &[(Term, String)],
    ) -> (FillerVerdict, Vec<usize>) {
        let words = self.vocabulary;
        let barred = self.about(&words.barred, [0, 1], pair);
        let usable = self.about(&words.usable, [0, 1], pair);
        let recommended = self.about(&words.recommended, [0, 1], pair);
        let unjudged = self.about(&words.unjudged, [0, 1], pair);
        let any_known = |facts: &[usize]| facts.iter().any(|fact| self.is_known(*fact));
        let verdict = Verdict::of(Established {
            barred: any_known(&barred),
            unjudged: any_known(&unjudged),
            usable: any_known(&usable),
            recommended: any_known(&recommended),
        });
        let [_, winner, _, on] = words.beats.roles;
        let beats = self.about(&words.beats, [0, 2], pair).into_iter().filter(|fact| self.is_known(*fact));
        let beaten_by: BTreeSet<Beaten> = beats
            .map(|fact| Beaten { filler: self.text(fact, winner), criterion: self.text(fact, on) })
            .collect();
        let standings = self.standings(filler, pair, criteria);
        let verdict = FillerVerdict {
            filler: filler.to_owned(),
            verdict,
            standings,
            beaten_by: beaten_by.into_iter().collect(),
        };
        (verdict, [barred, usable, recommended].concat())
    }

    fn standings(&mut self, filler: &str, pair: [Term; 2], criteria: &[(Term, String)]) -> Vec<Standing> {
        let words = self.vocabulary;
        let [_, _, of_standing, level] = words.standing.roles;
        let [_, _, of_graded, grade] = words.graded.roles;
        let [.., of_unjudged] = words.unjudged.roles;
        let unjudged = self.about(&words.unjudged, [0, 1], pair);
        let standing = self.about(&words.standing, [0, 1], pair);
        let graded = self.about(&words.graded, [0, 1], pair);
        let mut standings = Vec::new();
        for (criterion, name) in criteria {
            let on = |facts: &[usize], role: usize| -> Vec<usize> {
                facts.iter().copied().filter(|fact| self.cell(*fact, role) == Some(*criterion)).collect()
            };
            if on(&unjudged, of_unjudged).into_iter().any(|fact| self.is_known(fact)) {
                standings.push(Standing::unjudged(filler, name));
                continue;
            }
            let here = on(&standing, of_standing);
            if here.is_empty() {
                continue;
            }
            let known = here.iter().copied().find(|fact| self.is_known(*fact));
            let grades = on(&graded, of_graded);
            // A known level is explained by the first grade that set it, an open one by the last of the worst that may come.
            let by = match known {
                Some(fact) => grades.into_iter().find(|other| {
                    self.is_known(*other) && self.cell(*other, grade) == self.cell(fact, level)
                }),
                None => grades
                    .into_iter()
                    .filter(|other| !self.is_known(*other))
                    .max_by_key(|other| Level::severity(&self.text(*other, grade))),
            };
            let level = known
                .map_or(Level::Open, |fact| Level::given(&self.text(fact, level)).unwrap_or(Level::Unjudged));
            let by = by.and_then(|fact| self.first_finding(fact));
            let (finding, value, says) = match by {
                Some((finding, value, says)) => (Some(finding.id.clone()), value, says),
                None => (None, None, None),
            };
            standings.push(Standing { criterion: name.clone(), standing: level, finding, value, says });
        }
        standings
    }

    /// The first finding that yields a fact: itself, the first number of its sentence, and the sentence.
    fn first_finding(&mut self, fact: usize) -> Option<(&'_ Finding, Option<Measured>, Option<String>)> {
        let number = self.recorded[fact].by.iter().find_map(|ground| match ground {
            RecordedGround::Finding(number) => Some(*number),
            _ => None,
        })?;
        let applied = self.applied.get(number)?;
        let shape = self.shapes.get(applied.finding)?;
        let cells = sentence_cells(applied, self.terms);
        let says = whole_sentence(shape.finding, &cells);
        Some((shape.finding, first_number(shape.finding, &cells), says))
    }

    /// How hard each filler is to get, from 0.
    fn stock(&self, fillers: &[String]) -> Vec<usize> {
        let Some(placed) = self.vocabulary.stock_level.as_ref().filter(|_| !self.job.lists_stock()) else {
            return vec![0; fillers.len()];
        };
        let [filler, level] = placed.roles;
        let levels: HashMap<String, String> = self
            .facts
            .of(placed.relation)
            .map(|fact| (self.text(fact, filler), self.text(fact, level)))
            .collect();
        let severity = |filler| Level::severity(levels.get(filler).map_or("", String::as_str));
        fillers.iter().map(severity).collect()
    }

    /// Cautions by what they are about, each sentence once.
    fn cautions(
        &mut self,
        fillers: &[String],
        joints: &[JointReport],
        fewest: &FewestFillers,
    ) -> Vec<String> {
        let placed = &self.vocabulary.caution;
        let in_use = about_fillers_in_use(joints, fewest);
        let [joint, about] = placed.roles;
        let known = self
            .facts
            .of(placed.relation)
            .filter(|fact| self.is_known(*fact))
            .filter(|fact| is_said(&self.text(*fact, joint), &self.text(*fact, about), fillers, &in_use))
            .collect();
        let mut known = self.in_order(known);
        known.sort_by_key(|fact| self.text(*fact, placed.roles[1]));
        let mut cautions = Vec::new();
        for fact in known {
            if let Some((_, _, Some(says))) = self.first_finding(fact)
                && !cautions.contains(&says)
            {
                cautions.push(says);
            }
        }
        cautions
    }

    /// The questions that verdicts of a joint wait on.
    fn open(&self, rows: &[(usize, FillerVerdict, Vec<usize>)]) -> Vec<OpenQuestion> {
        let mut decides: BTreeMap<(String, String), Vec<String>> = BTreeMap::new();
        for (_, row, waits) in rows {
            if !matches!(row.verdict, Verdict::Usable | Verdict::Open) {
                continue;
            }
            let questions: BTreeSet<(String, String)> = self
                .questions(waits)
                .into_iter()
                .filter_map(|fact| {
                    let relation = &self.facts.rulebook.relations[self.facts.all[fact].relation.index()];
                    asked_sentence(relation, &self.facts.shown(fact, self.terms))
                })
                .collect();
            for asked in questions {
                decides.entry(asked).or_default().push(row.filler.clone());
            }
        }
        let mut open: Vec<OpenQuestion> = decides
            .into_iter()
            .map(|((question, path), decides)| OpenQuestion { question, path, decides, answers: Vec::new() })
            .collect();
        open.sort_by(|a, b| b.decides.len().cmp(&a.decides.len()).then_with(|| a.path.cmp(&b.path)));
        open
    }

    /// The unanswered questions behind open facts.
    fn questions(&self, facts: &[usize]) -> Vec<usize> {
        let mut waiting = facts.to_vec();
        let mut seen = BTreeSet::new();
        let mut questions = Vec::new();
        while let Some(fact) = waiting.pop() {
            if self.is_known(fact) || !seen.insert(fact) {
                continue;
            }
            for ground in &self.recorded[fact].by {
                match ground {
                    RecordedGround::Table(_) | RecordedGround::Job(_) => {}
                    RecordedGround::Unanswered => questions.push(fact),
                    RecordedGround::Computed(computation) => {
                        let there = |fact: &&usize| **fact < self.recorded.len();
                        waiting.extend(computation.from.iter().filter(there));
                    }
                    RecordedGround::Finding(number) => {
                        let judged = self.applied.get(*number).and_then(|applied| applied.judged.as_ref());
                        for met in judged.into_iter().flat_map(|judged| &judged.met) {
                            match met {
                                Met::Given(fact) => waiting.push(*fact),
                                Met::Unless { open, .. } => waiting.extend(open),
                                Met::Aggregate(_, over) => waiting.extend(over),
                                Met::Let(_) | Met::Where { .. } => {}
                            }
                        }
                    }
                }
            }
        }
        questions
    }
}

/// The first number of a finding's sentence.
fn first_number(finding: &Finding, cells: &[Option<Cell>]) -> Option<Measured> {
    let slots = finding.says.iter().flat_map(|says| &says.pieces).filter_map(|piece| match piece {
        Piece::Slot(slot) => Some(*slot),
        Piece::Text(_) => None,
    });
    let slot = slots.into_iter().find(|slot| matches!(finding.variables[*slot].ty, Type::Number(_)))?;
    match cells.get(slot)? {
        Some(Cell::Value(Value::Number(quantity))) => Some(Measured::from(quantity)),
        _ => None,
    }
}

/// Names every place where two trees differ.
fn differ(about: &str, expected: &Json, found: &Json, problems: &mut Problems) {
    let written = |value: &Json| match value {
        Json::Null => "nothing".to_owned(),
        value => value.to_string(),
    };
    match (expected, found) {
        (Json::Object(left), Json::Object(right)) => {
            let keys: BTreeSet<&String> = left.keys().chain(right.keys()).collect();
            for key in keys {
                let about = format!("{about}, {key}");
                match (left.get(key), right.get(key)) {
                    (Some(left), Some(right)) => differ(&about, left, right, problems),
                    (Some(left), None) => problems.report(about, written(left), "not there"),
                    (None, right) => {
                        problems.report(about, "not there", right.map_or_else(String::new, written))
                    }
                }
            }
        }
        (Json::Array(left), Json::Array(right)) if left.len() == right.len() => {
            for (at, (left, right)) in left.iter().zip(right).enumerate() {
                // What a list is about is shown by name where there is one.
                let name = ["joint", "filler", "criterion", "path"].iter().find_map(|key| left[key].as_str());
                let name = name.map_or_else(|| (at + 1).to_string(), str::to_owned);
                differ(&format!("{about}, {name}"), left, right, problems);
            }
        }
        (left, right) if left == right => {}
        (left, right) => problems.report(about, written(left), written(right)),
    }
}
