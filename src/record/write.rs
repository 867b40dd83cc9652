//! From a decided job to its record. Nothing is worked out here that the derivation does not hold.

use super::fingerprint;
use super::form::FORM;
use super::shape::*;
use super::texts::Texts;
use crate::computed::DATA;
use crate::engine::{FactId, Ground, Instance, Met, Status};
use crate::job::Job;
use crate::language::{FindingId, RelationId, Rulebook, Sources, Span};
use crate::verdict::Decision;
use std::collections::{BTreeMap, HashMap};

/// The record of a job that was decided with everything recorded.
pub fn record(decision: &Decision<'_>) -> Result<Record, serde_json::Error> {
    let writer = Writer::new(decision);
    let (mut methods, mut texts) = (Vec::new(), Texts::default());
    let facts = writer.facts(&mut methods, &mut texts);
    let findings = writer.findings(&mut texts);
    let report = decision.report();
    Ok(Record {
        record: FORM,
        program: RecordedProgram {
            name: report.program.name.to_owned(),
            version: report.program.version.to_owned(),
        },
        job: job(&decision.job),
        rulebook: rulebook(decision.rulebook),
        data: DATA
            .iter()
            .map(|(file, text)| RecordedText {
                file: (*file).to_owned(),
                fingerprint: fingerprint(text),
                text: (*text).to_owned(),
            })
            .collect(),
        texts: texts.all,
        methods,
        facts,
        findings,
        report: serde_json::to_value(&report)?,
    })
}

fn job(job: &Job) -> RecordedText {
    let mut text = job.sources.files.first().map(|file| file.text.clone()).unwrap_or_default();
    // The reader passes over a byte order mark, and the fingerprint is that of the file's bytes.
    if fingerprint(&text) != job.fingerprint {
        text.insert(0, '\u{feff}');
    }
    RecordedText { file: job.file.clone(), fingerprint: job.fingerprint.clone(), text }
}

fn rulebook(rulebook: &Rulebook) -> RecordedRulebook {
    let files = rulebook.sources.files.iter();
    RecordedRulebook {
        fingerprint: rulebook.fingerprint.clone(),
        files: files.map(|file| RecordedRules { file: file.name.clone(), text: file.text.clone() }).collect(),
    }
}

/// By what applications are put in order: the finding, then the places of its facts.
type Order = (usize, Vec<(RelationId, usize)>);

struct Writer<'d, 'r> {
    decision: &'d Decision<'r>,
    /// For each relation, the number of its first fact.
    first: Vec<usize>,
    /// Every application, by finding and in the order of its facts' numbers, and whether it is open.
    applications: BTreeMap<Order, (Vec<FactId>, bool)>,
    numbers: HashMap<Instance, usize>,
    /// The line on which each fact of a table, and of the job, stands.
    table_places: Vec<String>,
    job_places: Vec<String>,
}

impl<'d, 'r> Writer<'d, 'r> {
    fn new(decision: &'d Decision<'r>) -> Self {
        let derivation = &decision.derivation;
        let mut first = Vec::new();
        let mut count = 0;
        let mut applications = BTreeMap::new();
        for relation in 0..decision.rulebook.relations.len() {
            first.push(count);
            for fact in derivation.facts(RelationId::new(relation)) {
                count += 1;
                for ground in derivation.grounds(fact) {
                    if let Ground::Finding(instance) = ground {
                        let open = derivation.status(fact) == Status::Open;
                        let place = |fact: &FactId| (fact.relation, derivation.position(*fact));
                        let order = instance.premises.iter().map(place).collect();
                        applications.insert((instance.finding.index(), order), (instance.premises, open));
                    }
                }
            }
        }
        let numbers = applications
            .iter()
            .enumerate()
            .map(|(number, ((finding, _), (premises, _)))| {
                (Instance { finding: FindingId::new(*finding), premises: premises.clone() }, number)
            })
            .collect();
        let rules = &decision.rulebook.sources;
        let job = &decision.job.sources;
        let place = |sources: &Sources, span: Span| {
            format!("{}:{}", sources.file(span).name, sources.position(span).0)
        };
        Writer {
            decision,
            first,
            applications,
            numbers,
            table_places: decision.rulebook.facts.iter().map(|fact| place(rules, fact.span)).collect(),
            job_places: decision.job.facts.iter().map(|fact| place(job, fact.span)).collect(),
        }
    }

    fn number(&self, fact: &FactId) -> usize {
        self.first[fact.relation.index()] + self.decision.derivation.position(*fact)
    }

    /// Numbers of facts, ascending, each once.
    fn numbers(&self, facts: &[FactId]) -> Vec<usize> {
        let mut numbers: Vec<usize> = facts.iter().map(|fact| self.number(fact)).collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    }

    fn facts(&self, methods: &mut Vec<String>, texts: &mut Texts) -> Vec<RecordedRelation> {
        let derivation = &self.decision.derivation;
        let mut relations = Vec::new();
        for (index, relation) in self.decision.rulebook.relations.iter().enumerate() {
            let (mut known, mut open) = (Vec::new(), Vec::new());
            for fact in derivation.facts(RelationId::new(index)) {
                let into = if derivation.status(fact) == Status::Known { &mut known } else { &mut open };
                let grounds = derivation.grounds(fact);
                into.push(RecordedFact {
                    cells: derivation.cells(fact).iter().map(|cell| RecordedCell::of(cell, texts)).collect(),
                    by: grounds.iter().map(|ground| self.ground(fact, ground, methods, texts)).collect(),
                });
            }
            if known.len() + open.len() > 0 {
                let (relation, first) = (relation.name.clone(), self.first[index]);
                relations.push(RecordedRelation { relation, first, known, open });
            }
        }
        relations
    }

    fn ground(
        &self,
        fact: FactId,
        ground: &Ground,
        methods: &mut Vec<String>,
        texts: &mut Texts,
    ) -> RecordedGround {
        match ground {
            Ground::Table(at) => RecordedGround::Table(self.table_places[*at].clone()),
            Ground::Given(at) => RecordedGround::Job(self.job_places[*at].clone()),
            Ground::Unanswered => RecordedGround::Unanswered,
            Ground::Finding(instance) => RecordedGround::Finding(self.numbers[instance]),
            Ground::Computed { premises } => {
                let (method, steps) = match self.decision.derivation.working(fact) {
                    Some(working) => (working.method, working.steps),
                    None => Default::default(),
                };
                let method = methods.iter().position(|known| *known == method).unwrap_or_else(|| {
                    methods.push(method);
                    methods.len() - 1
                });
                let steps = steps.iter().map(|step| texts.number(step)).collect();
                RecordedGround::Computed(RecordedComputation { from: self.numbers(premises), method, steps })
            }
        }
    }

    fn findings(&self, texts: &mut Texts) -> Vec<RecordedFinding> {
        let mut findings: Vec<RecordedFinding> = Vec::new();
        for (number, ((index, _), (premises, open))) in self.applications.iter().enumerate() {
            let finding = &self.decision.rulebook.findings[*index];
            if findings.last().is_none_or(|last| last.finding != finding.id) {
                let (finding, first) = (finding.id.clone(), number);
                findings.push(RecordedFinding { finding, first, applied: Vec::new() });
            }
            let instance = Instance { finding: FindingId::new(*index), premises: premises.clone() };
            let met = self.decision.derivation.premises(&instance);
            let met = met.iter().map(|met| self.premise(met, texts)).collect();
            let application = Application { open: *open, met };
            if let Some(last) = findings.last_mut() {
                last.applied.push(application);
            }
        }
        findings
    }

    fn premise(&self, met: &Met, texts: &mut Texts) -> RecordedMet {
        match met {
            Met::Given(fact) => RecordedMet::Given(self.number(fact)),
            Met::Unless { relation, sought, open } => {
                let relation = &self.decision.rulebook.relations[relation.index()];
                let roles = sought.iter().enumerate();
                RecordedMet::Unless(RecordedAbsence {
                    no: texts.number(&relation.name),
                    with: roles
                        .filter_map(|(role, cell)| Some((role, RecordedCell::of(cell.as_ref()?, texts))))
                        .collect(),
                    open: self.numbers(open),
                })
            }
            Met::Let { value, .. } => {
                RecordedMet::Let(RecordedValue { value: RecordedCell::of(value, texts) })
            }
            Met::Aggregate { members, value, .. } => RecordedMet::Aggregate(RecordedAggregate {
                value: RecordedCell::of(value, texts),
                over: self.numbers(members),
            }),
            Met::Where(Status::Known) => RecordedMet::Where(RecordedTruth::Holds),
            Met::Where(Status::Open) => RecordedMet::Where(RecordedTruth::Open),
        }
    }
}
