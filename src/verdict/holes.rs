//! Holes of a rulebook, found before a job falls into one: rows that others have and one lacks, criteria without a place,
//! criteria that nothing grades, and fillers that nothing judges under some answer. For the last, a systematic set of jobs is
//! decided: every alloy, every answer of every closed question, and numbers at and between the borders that findings name.

use super::systematic::SystematicSet;
use super::vocabulary::Vocabulary;
use super::{DecisionError, finding_sentence, given};
use crate::computed::FREEZING_OPEN;
use crate::engine::{Derivation, FactId, Ground, Program, Recording, Status, TablesAlone};
use crate::job::JobReader;
use crate::language::{RelationId, Rulebook, Span, Term, Type};
use crate::processors::for_each;
use crate::relations::{ALL, INCOMPLETE, Listed, Without};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Something that a rulebook lacks.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Hole {
    /// What is missing, and where it shows, as a sentence.
    pub says: String,
    /// File and line to look at, where one stands for it.
    pub place: Option<(String, usize)>,
}

/// Every hole of a rulebook that decides jobs; none of one about another subject.
pub fn holes(rulebook: &Rulebook) -> Result<Vec<Hole>, DecisionError> {
    let Ok(vocabulary) = Vocabulary::of(rulebook) else { return Ok(Vec::new()) };
    let program = Program::new(rulebook, FREEZING_OPEN)?;
    let alone = program.derive(&[], Recording::First)?;
    let reader = JobReader::new(rulebook);
    let tables = program.tables_alone(&reader.relations(), Recording::Nothing)?;
    let search = HoleSearch { rulebook, vocabulary: &vocabulary, reader: &reader, tables: &tables };
    let mut found = search.misshapen();
    found.extend(search.incomplete(&alone));
    found.extend(search.places(&alone));
    found.extend(search.ungraded_criteria());
    found.extend(search.unjudged()?);
    Ok(found)
}

/// The relations that the program knows and this rulebook does not declare, with what is lost; none for a rulebook about another
/// subject.
pub fn undeclared(rulebook: &Rulebook) -> Vec<(&'static Listed, &'static str)> {
    if Vocabulary::of(rulebook).is_err() {
        return Vec::new();
    }
    let missing = ALL.iter().filter(|known| rulebook.relation(known.name).is_none());
    let lost = missing.filter_map(|known| match known.without {
        Without::Lost(what) => Some((known, what)),
        Without::Nothing => None,
    });
    lost.collect()
}

/// How many of its subjects a relation must have rows for, so that the lack of one is worth reporting.
const NEARLY_ALL: f64 = 0.6;

struct HoleSearch<'a, 'r> {
    rulebook: &'r Rulebook,
    vocabulary: &'a Vocabulary,
    reader: &'a JobReader<'r>,
    /// What no job can touch, derived once for all of them.
    tables: &'a TablesAlone<'r>,
}

impl HoleSearch<'_, '_> {
    fn place(&self, span: Span) -> Option<(String, usize)> {
        let sources = &self.rulebook.sources;
        Some((sources.file(span).name.clone(), sources.position(span).0))
    }

    /// Relations that the program knows with roles that this rulebook's do not have.
    fn misshapen(&self) -> Vec<Hole> {
        let of = |known: &Listed| {
            let declared = &self.rulebook.relations[self.rulebook.relation(known.name)?.index()];
            let has = |role: &&str| declared.roles.iter().any(|own| own.name == **role);
            (!known.roles.iter().all(has)).then(|| Hole {
                says: format!(
                    "the relation {} has other roles than the program knows it with, and so counts as missing: {}({})",
                    known.name,
                    known.name,
                    known.roles.join(", ")
                ),
                place: self.place(declared.span),
            })
        };
        ALL.iter().filter_map(of).collect()
    }

    /// What the rulebook itself concludes to be missing.
    fn incomplete(&self, alone: &Derivation<'_>) -> Vec<Hole> {
        let Some(incomplete) = INCOMPLETE.find(self.rulebook) else { return Vec::new() };
        let known = alone.facts(incomplete.relation).filter(|fact| alone.status(*fact) == Status::Known);
        known.filter_map(|fact| self.concluded(alone, fact)).collect()
    }

    fn concluded(&self, derivation: &Derivation<'_>, fact: FactId) -> Option<Hole> {
        derivation.grounds(fact).into_iter().find_map(|ground| {
            let Ground::Finding(instance) = ground else { return None };
            let finding = &self.rulebook.findings[instance.finding.index()];
            let says = finding_sentence(finding, &derivation.bindings(&instance));
            let row = instance.premises.iter().find_map(|premise| {
                derivation.grounds(*premise).into_iter().find_map(|ground| match ground {
                    Ground::Table(index) => Some(self.rulebook.facts[index].span),
                    _ => None,
                })
            });
            Some(Hole { says, place: self.place(row.unwrap_or(finding.span)) })
        })
    }

    /// The words that criteria are.
    fn criteria(&self) -> Vec<String> {
        let placed = &self.vocabulary.place;
        match self.rulebook.relations[placed.relation.index()].roles[placed.roles[0]].ty {
            Type::Word(kind) => {
                self.rulebook.kinds[kind.index()].words.iter().map(ToString::to_string).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Criteria without a place, with several, and places with several criteria.
    fn places(&self, alone: &Derivation<'_>) -> Vec<Hole> {
        let placed = &self.vocabulary.place;
        let declared = self.place(self.rulebook.relations[placed.relation.index()].span);
        let mut of: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        let mut at: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for fact in alone.facts(placed.relation).filter(|fact| alone.status(*fact) == Status::Known) {
            let text = |role: usize| alone.cell(fact, role).map(ToString::to_string).unwrap_or_default();
            let (criterion, place) = (text(placed.roles[0]), text(placed.roles[1]));
            of.entry(criterion.clone()).or_default().insert(place.clone());
            at.entry(place).or_default().insert(criterion);
        }
        let hole = |says: String| Hole { says, place: declared.clone() };
        let listed = |set: &BTreeSet<String>| set.iter().cloned().collect::<Vec<_>>().join(" and ");
        let missing = self.criteria().into_iter().filter(|criterion| !of.contains_key(criterion));
        let missing =
            missing.map(|criterion| hole(format!("the criterion {criterion} has no place in the order")));
        let several = of.iter().filter(|(_, places)| places.len() > 1);
        let several =
            several.map(|(criterion, places)| hole(format!("{criterion} has the places {}", listed(places))));
        let shared = at.iter().filter(|(_, criteria)| criteria.len() > 1);
        let shared = shared.map(|(place, criteria)| {
            hole(format!("{} are both in place {place}: which counts first?", listed(criteria)))
        });
        missing.chain(several).chain(shared).collect()
    }

    /// Criteria for which no finding concludes a grade.
    fn ungraded_criteria(&self) -> Vec<Hole> {
        let graded = &self.vocabulary.graded;
        let mut seen = BTreeSet::new();
        for hence in self.rulebook.findings.iter().flat_map(|finding| &finding.hence) {
            if hence.relation == graded.relation {
                match &hence.terms[graded.roles[2]] {
                    Term::Constant(criterion) => drop(seen.insert(criterion.to_string())),
                    // A finding whose criterion is bound elsewhere may grade any of them.
                    Term::Variable(_) | Term::Any => return Vec::new(),
                }
            }
        }
        let declared = self.place(self.rulebook.relations[graded.relation.index()].span);
        let missing = self.criteria().into_iter().filter(|criterion| !seen.contains(criterion));
        missing
            .map(|criterion| Hole {
                says: format!("no finding grades any filler on {criterion}"),
                place: declared.clone(),
            })
            .collect()
    }

    /// Fillers that nothing judges in some job of the systematic set, each criterion once.
    fn unjudged(&self) -> Result<Vec<Hole>, DecisionError> {
        let words = &self.vocabulary.unjudged;
        let tried =
            for_each(&SystematicSet { rulebook: self.rulebook, reader: self.reader }.single(), |trial| {
                // A job that the rulebook refuses cannot fall into a hole.
                let Ok(job) = self.reader.read("trial.json", trial.text.as_bytes()) else {
                    return Ok(Vec::new());
                };
                let derivation = self.tables.derive(&given(&job.facts), None)?;
                let known = derivation.facts(words.relation);
                let known = known.filter(|fact| derivation.status(*fact) == Status::Known);
                let text =
                    |fact, role| derivation.cell(fact, role).map(ToString::to_string).unwrap_or_default();
                let answer = if trial.answer.is_empty() { "a plain job" } else { trial.answer.as_str() };
                let seen = known.map(|fact| {
                    let [joint, filler, criterion] = words.roles.map(|role| text(fact, role));
                    ((filler, criterion), format!("{joint} to itself, {answer}"))
                });
                Ok(seen.collect())
            });
        // For each filler and criterion: at how many joints, and the first of them.
        let mut found: BTreeMap<(String, String), (usize, String)> = BTreeMap::new();
        for seen in tried {
            let seen: Vec<((String, String), String)> = seen.map_err(DecisionError::Engine)?;
            for (unjudged, example) in seen {
                found.entry(unjudged).or_insert((0, example)).0 += 1;
            }
        }
        let hole = |((filler, criterion), (count, example)): ((String, String), (usize, String))| {
            let times = if count == 1 { "at one joint" } else { &format!("at {count} joints") };
            let lacking = self.lacking(&filler);
            let rows = match lacking.as_slice() {
                [] => "; no finding covers this case".to_owned(),
                tables => format!("; other fillers have rows in {}, it has none", tables.join(", ")),
            };
            Hole {
                says: format!(
                    "nothing judges {filler} on {criterion} {times} tried, the first being {example}{rows}"
                ),
                place: None,
            }
        };
        Ok(found.into_iter().map(hole).collect())
    }

    /// Tables in which nearly all other fillers have a row and this one has none.
    fn lacking(&self, filler: &str) -> Vec<String> {
        let candidates = &self.vocabulary.candidate;
        let role = &self.rulebook.relations[candidates.relation.index()].roles[candidates.roles[1]].name;
        let Some(listing) = self.rulebook.relation(role) else { return Vec::new() };
        let names = |relation: RelationId, column: usize| -> BTreeSet<String> {
            let rows = self.rulebook.facts.iter().filter(|fact| fact.relation == relation);
            rows.filter_map(|fact| fact.cells.get(column).map(ToString::to_string)).collect()
        };
        let all = names(listing, 0);
        let mut lacking = Vec::new();
        for (index, relation) in self.rulebook.relations.iter().enumerate() {
            let Some(column) = relation.roles.iter().position(|known| known.name == *role) else { continue };
            let known = names(RelationId::new(index), column);
            let shared = all.intersection(&known).count();
            if !known.contains(filler) && shared as f64 >= NEARLY_ALL * (all.len() as f64 - 1.0) && shared > 0
            {
                lacking.push(relation.name.clone());
            }
        }
        lacking
    }
}
