//! Reads verdicts out of a derivation: one pass over each relation, then the report joint by joint.

use super::Decision;
use super::cautions::{about_fillers_in_use, is_said};
use super::cover::fewest;
use super::decisive::decisive;
use super::level::Level;
use super::report::*;
use super::sentence::{finding_sentence, question_sentence, whole_sentence};
use crate::engine::{Cell, FactId, Ground, Instance, Status, TermId};
use crate::language::{Finding, Piece, Type, Value};
use crate::relations::Placed;
use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

/// What is said of one filler at one joint.
#[derive(Default)]
struct FillerFacts {
    barred: Option<Status>,
    usable: Option<Status>,
    recommended: Option<Status>,
    beaten: Vec<FactId>,
    /// Criteria on which nothing judges it.
    unjudged: HashSet<TermId>,
    /// By criterion: levels with their facts.
    standing: HashMap<TermId, Vec<FactId>>,
    graded: HashMap<TermId, Vec<FactId>>,
    /// Open facts that its verdict waits on.
    waits: Vec<FactId>,
}

type Pair = (TermId, TermId);

struct Collection<'d, 'r> {
    decision: &'d Decision<'r>,
    about: HashMap<Pair, FillerFacts>,
    /// Criteria in the job's order, with their names.
    criteria: Vec<(TermId, String)>,
}

/// The better known of two statuses.
fn firmer(a: Option<Status>, b: Status) -> Option<Status> {
    Some(a.map_or(b, |a| a.min(b)))
}

impl<'d, 'r> Collection<'d, 'r> {
    fn of(decision: &'d Decision<'r>) -> Self {
        let mut collection = Collection { decision, about: HashMap::new(), criteria: Vec::new() };
        let words = &decision.vocabulary;
        let derivation = &decision.derivation;
        for fact in derivation.facts(words.candidate.relation) {
            collection.about.entry(collection.pair(fact, &words.candidate.roles)).or_default();
        }
        collection.each(&words.barred, [0, 1], |about, fact, status| {
            about.barred = firmer(about.barred, status);
            about.waits.push(fact);
        });
        let criterion = words.unjudged.roles[2];
        collection.each(&words.unjudged, [0, 1], |about, fact, status| {
            if status == Status::Known {
                about.unjudged.insert(derivation.term(fact, criterion));
            }
        });
        collection.each(&words.usable, [0, 1], |about, fact, status| {
            about.usable = firmer(about.usable, status);
            about.waits.push(fact);
        });
        collection.each(&words.recommended, [0, 1], |about, fact, status| {
            about.recommended = firmer(about.recommended, status);
            about.waits.push(fact);
        });
        collection.each(&words.beats, [0, 2], |about, fact, status| {
            if status == Status::Known {
                about.beaten.push(fact);
            }
        });
        let criterion = words.standing.roles[2];
        collection.each(&words.standing, [0, 1], |about, fact, _| {
            about.standing.entry(derivation.term(fact, criterion)).or_default().push(fact);
        });
        let criterion = words.graded.roles[2];
        collection.each(&words.graded, [0, 1], |about, fact, _| {
            about.graded.entry(derivation.term(fact, criterion)).or_default().push(fact);
        });
        // In the order of their cells, so that what is shown first does not hang on the order of the job file.
        for about in collection.about.values_mut() {
            for facts in about.standing.values_mut().chain(about.graded.values_mut()) {
                facts.sort_by(|one, other| derivation.compare_facts(*one, *other));
            }
        }
        collection.criteria = decision.criteria();
        collection
    }

    fn pair(&self, fact: FactId, roles: &[usize]) -> Pair {
        (self.decision.derivation.term(fact, roles[0]), self.decision.derivation.term(fact, roles[1]))
    }

    /// Visits the facts of a relation with what is collected about their joint and filler. Facts about fillers that are
    /// no candidates are passed over.
    fn each<const N: usize>(
        &mut self,
        placed: &Placed<N>,
        [joint, filler]: [usize; 2],
        mut visit: impl FnMut(&mut FillerFacts, FactId, Status),
    ) {
        let derivation = &self.decision.derivation;
        for fact in derivation.facts(placed.relation) {
            let pair = self.pair(fact, &[placed.roles[joint], placed.roles[filler]]);
            if let Some(about) = self.about.get_mut(&pair) {
                visit(about, fact, derivation.status(fact));
            }
        }
    }

    fn text(&self, fact: FactId, role: usize) -> String {
        self.decision.derivation.cell(fact, role).map(ToString::to_string).unwrap_or_default()
    }

    fn verdict(about: &FillerFacts) -> Verdict {
        let known = |status: Option<Status>| status == Some(Status::Known);
        Verdict::of(Established {
            barred: known(about.barred),
            unjudged: !about.unjudged.is_empty(),
            usable: known(about.usable),
            recommended: known(about.recommended),
        })
    }

    fn standings(&self, filler: &str, about: &FillerFacts) -> Vec<Standing> {
        let words = &self.decision.vocabulary;
        let derivation = &self.decision.derivation;
        let mut standings = Vec::new();
        for (criterion, name) in &self.criteria {
            if about.unjudged.contains(criterion) {
                standings.push(Standing::unjudged(filler, name));
                continue;
            }
            let Some(facts) = about.standing.get(criterion) else { continue };
            let level = words.standing.roles[3];
            let known = facts.iter().find(|fact| derivation.status(**fact) == Status::Known);
            let graded = about.graded.get(criterion).map_or(&[][..], Vec::as_slice);
            let level_role = words.graded.roles[3];
            // A known level is explained by a finding that set it; an open one by the worst that may come.
            let grounds = match known {
                Some(fact) => graded.iter().find(|grade| {
                    derivation.status(**grade) == Status::Known
                        && derivation.term(**grade, level_role) == derivation.term(*fact, level)
                }),
                None => graded
                    .iter()
                    .filter(|grade| derivation.status(**grade) == Status::Open)
                    .max_by_key(|grade| Level::severity(&self.text(**grade, level_role))),
            };
            let instance = grounds.and_then(|fact| first_instance(self.decision, *fact));
            let mut standing = Standing {
                criterion: name.clone(),
                standing: known.map_or(Level::Open, |fact| {
                    Level::given(&self.text(*fact, level)).unwrap_or(Level::Unjudged)
                }),
                finding: None,
                value: None,
                says: None,
            };
            if let Some(instance) = instance {
                let finding = &self.decision.rulebook.findings[instance.finding.index()];
                let bindings = derivation.bindings(&instance);
                standing.finding = Some(finding.id.clone());
                standing.value = first_number(finding, &bindings);
                standing.says = whole_sentence(finding, &bindings);
            }
            standings.push(standing);
        }
        standings
    }

    fn beaten_by(&self, about: &FillerFacts) -> Vec<Beaten> {
        let roles = self.decision.vocabulary.beats.roles;
        let mut beaten: Vec<Beaten> = about
            .beaten
            .iter()
            .map(|fact| Beaten { filler: self.text(*fact, roles[1]), criterion: self.text(*fact, roles[3]) })
            .collect();
        beaten.sort();
        beaten.dedup();
        beaten
    }

    /// Unanswered questions behind the verdicts of a joint.
    fn open(&self, fillers: &[(String, &FillerFacts, Verdict)]) -> Vec<OpenQuestion> {
        let mut decides: BTreeMap<(String, String), BTreeSet<usize>> = BTreeMap::new();
        for (index, (_, about, verdict)) in fillers.iter().enumerate() {
            // A filler that is barred or judged by nothing whatever the answers are waits on none.
            if !matches!(verdict, Verdict::Usable | Verdict::Open) {
                continue;
            }
            for fact in &about.waits {
                for question in self.decision.derivation.open_questions(*fact) {
                    if let Some(asked) = question_sentence(self.decision, question) {
                        decides.entry(asked).or_default().insert(index);
                    }
                }
            }
        }
        let mut open: Vec<OpenQuestion> = decides
            .into_iter()
            .map(|((question, path), indices)| OpenQuestion {
                question,
                path,
                decides: indices.into_iter().map(|index| fillers[index].0.clone()).collect(),
                answers: Vec::new(),
            })
            .collect();
        open.sort_by(|a, b| b.decides.len().cmp(&a.decides.len()).then_with(|| a.path.cmp(&b.path)));
        open
    }

    /// Reasons in a welder's words, by criterion.
    fn plainly(&self) -> HashMap<String, String> {
        let Some(plainly) = &self.decision.vocabulary.plainly else { return HashMap::new() };
        let derivation = &self.decision.derivation;
        let mut facts: Vec<FactId> = derivation.facts(plainly.relation).collect();
        facts.sort_by(|one, other| derivation.compare_facts(*one, *other));
        let facts = facts.into_iter();
        facts.map(|fact| (self.text(fact, plainly.roles[0]), self.text(fact, plainly.roles[1]))).collect()
    }

    /// Cautions by what they are about, each sentence once; the order of parts in the file does not matter.
    fn cautions(&self, fillers: &[String], joints: &[JointReport], fewest: &FewestFillers) -> Vec<String> {
        let derivation = &self.decision.derivation;
        let words = &self.decision.vocabulary.caution;
        let in_use = about_fillers_in_use(joints, fewest);
        let [joint, about] = words.roles;
        let mut facts: Vec<FactId> = derivation
            .facts(words.relation)
            .filter(|fact| derivation.status(*fact) == Status::Known)
            .filter(|fact| is_said(&self.text(*fact, joint), &self.text(*fact, about), fillers, &in_use))
            .collect();
        facts.sort_by(|one, other| derivation.compare_facts(*one, *other));
        facts.sort_by_cached_key(|fact| self.text(*fact, about));
        let mut seen = BTreeSet::new();
        facts
            .into_iter()
            .filter_map(|fact| first_instance(self.decision, fact))
            .map(|instance| {
                let finding = &self.decision.rulebook.findings[instance.finding.index()];
                finding_sentence(finding, &derivation.bindings(&instance))
            })
            .filter(|sentence| seen.insert(sentence.clone()))
            .collect()
    }

    /// How hard each filler is to get, from 0: all of what the job lists as its stock is there.
    fn stock(&self, fillers: &[String]) -> Vec<usize> {
        let Some(placed) =
            self.decision.vocabulary.stock_level.as_ref().filter(|_| !self.decision.job.lists_stock())
        else {
            return vec![0; fillers.len()];
        };
        let [filler, level] = placed.roles;
        let levels: HashMap<String, String> = self
            .decision
            .derivation
            .facts(placed.relation)
            .map(|fact| (self.text(fact, filler), self.text(fact, level)))
            .collect();
        let severity = |filler| Level::severity(levels.get(filler).map_or("", String::as_str));
        fillers.iter().map(severity).collect()
    }
}

/// The first finding that yields a fact.
fn first_instance(decision: &Decision<'_>, fact: FactId) -> Option<Instance> {
    decision.derivation.grounds(fact).into_iter().find_map(|ground| match ground {
        Ground::Finding(instance) => Some(instance),
        _ => None,
    })
}

/// The first number of a finding's sentence: by convention of the rulebook, what the standing is measured by. Where it is
/// not known, no later number stands in for it.
fn first_number(finding: &Finding, bindings: &[Option<Cell>]) -> Option<Measured> {
    let slot = finding.says.as_ref()?.pieces.iter().find_map(|piece| match piece {
        Piece::Slot(slot) if matches!(finding.variables[*slot].ty, Type::Number(_)) => Some(*slot),
        _ => None,
    })?;
    match bindings.get(slot)? {
        Some(Cell::Value(Value::Number(quantity))) => Some(Measured::from(quantity)),
        _ => None,
    }
}

pub(super) fn report(decision: &Decision<'_>) -> Report {
    let collection = Collection::of(decision);
    let fillers: Vec<String> = decision.job.available.iter().map(|name| name.to_string()).collect();
    // Names to terms, by the candidates themselves.
    let mut terms: HashMap<(String, String), Pair> = HashMap::new();
    let roles = decision.vocabulary.candidate.roles;
    for fact in decision.derivation.facts(decision.vocabulary.candidate.relation) {
        let names = (collection.text(fact, roles[0]), collection.text(fact, roles[1]));
        terms.insert(names, collection.pair(fact, &roles));
    }
    let plainly = collection.plainly();
    let mut joints = Vec::new();
    for joint in &decision.job.joints {
        let rows: Vec<(String, &FillerFacts, Verdict)> = fillers
            .iter()
            .filter_map(|filler| {
                let pair = terms.get(&(joint.name.to_string(), filler.clone()))?;
                let about = collection.about.get(pair)?;
                Some((filler.clone(), about, Collection::verdict(about)))
            })
            .collect();
        let open = collection.open(&rows);
        let mut verdicts: Vec<FillerVerdict> = rows
            .iter()
            .map(|(filler, about, verdict)| FillerVerdict {
                filler: filler.clone(),
                verdict: *verdict,
                standings: collection.standings(filler, about),
                beaten_by: collection.beaten_by(about),
            })
            .collect();
        verdicts.sort_by_key(|verdict| verdict.verdict);
        let mut report = JointReport {
            joint: joint.name.to_string(),
            between: [joint.between[0].to_string(), joint.between[1].to_string()],
            recommended: verdicts
                .iter()
                .filter(|verdict| verdict.verdict == Verdict::Recommended)
                .map(|verdict| verdict.filler.clone())
                .collect(),
            verdicts,
            open,
            whatever: Vec::new(),
            by_sample: false,
            decisive: None,
        };
        report.decisive = decisive(&report, &plainly);
        joints.push(report);
    }
    let fewest = fewest(&fillers, &collection.stock(&fillers), &joints);
    Report {
        cautions: collection.cautions(&fillers, &joints, &fewest),
        program: ProgramStamp { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") },
        rulebook: RulebookStamp {
            fingerprint: decision.rulebook.fingerprint.clone(),
            findings: decision.rulebook.findings.len(),
        },
        job: JobStamp {
            title: decision.job.title.clone().unwrap_or_default(),
            fingerprint: decision.job.fingerprint.clone(),
        },
        fewest_fillers: fewest,
        joints,
    }
}

/// Works out again what follows from the verdicts of all joints together: what decides, the fewest fillers, and which cautions
/// are said.
pub(super) fn cover(decision: &Decision<'_>, report: &mut Report) {
    let collection = Collection::of(decision);
    let fillers: Vec<String> = decision.job.available.iter().map(|name| name.to_string()).collect();
    let plainly = collection.plainly();
    for joint in &mut report.joints {
        joint.decisive = decisive(joint, &plainly);
    }
    report.fewest_fillers = fewest(&fillers, &collection.stock(&fillers), &report.joints);
    report.cautions = collection.cautions(&fillers, &report.joints, &report.fewest_fillers);
}
