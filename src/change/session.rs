//! A rulebook made ready once, by which a job is decided again and again with changed facts. What to change, and what a
//! change means, is found elsewhere.

use super::borders::{bearing_on, standing_for_all};
use super::effort::Efforts;
use super::setting::Setting;
use super::text::{JobText, PlaceError};
use super::tied::joints_are_tied;
use crate::computed::{COMPUTATIONS, FREEZING_OPEN, check_shapes};
use crate::engine::{
    Derivation, EngineError, FactId, GivenFact, Ground, Memory, Program, Recording, Restriction, Status,
    TablesAlone, TermId,
};
use crate::job::{Job, JobErrors, JobReader};
use crate::language::{FindingId, RelationId, Rulebook, Value};
use crate::quantity::Quantity;
use crate::relations::IMPOSSIBLE;
use crate::verdict::{
    Decision, DecisionError, Established, Verdict, Vocabulary, asked, decided, given, impossible,
};
use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

/// A rulebook made ready once: its program planned, what its tables alone yield derived, its keys and names gathered.
/// It holds nothing of any job and may be shared between threads. Pools that were frozen once are not frozen again, as
/// long as the cache has room.
pub struct Session<'r> {
    /// The rules.
    pub rulebook: &'r Rulebook,
    /// Where the relations that carry verdicts stand in them.
    pub vocabulary: Vocabulary,
    pub(super) reader: JobReader<'r>,
    pub(super) efforts: Efforts,
    program: Program<'r>,
    whole: TablesAlone<'r>,
    /// The same without following any freezing: what is known all the same is known for good, a thousand times faster.
    unfrozen: TablesAlone<'r>,
    /// Whether the rules tie joints to each other, so that none can be decided without the others.
    tied: bool,
    /// For each question that is a number and only compared with fixed numbers, answers that stand for all.
    pub(super) standing_for_all: HashMap<RelationId, Vec<Quantity>>,
}

/// Why a changed job cannot be decided.
#[derive(Debug, thiserror::Error)]
pub enum ChangeError {
    /// A setting names a place that is not there.
    #[error(transparent)]
    Place(#[from] PlaceError),
    /// The job that comes out has mistakes.
    #[error(transparent)]
    Job(#[from] JobErrors),
    /// It could not be decided.
    #[error(transparent)]
    Decision(DecisionError),
}

impl From<DecisionError> for ChangeError {
    fn from(error: DecisionError) -> Self {
        match error {
            DecisionError::Impossible(errors) => ChangeError::Job(errors),
            other => ChangeError::Decision(other),
        }
    }
}

impl From<EngineError> for ChangeError {
    fn from(error: EngineError) -> Self {
        ChangeError::Decision(error.into())
    }
}

/// What is found out quickly about one filler at one joint.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Assessment {
    /// The verdict; `None` where the filler is no candidate there.
    pub verdict: Option<Verdict>,
    /// What stands between the filler and a recommendation.
    pub obstacles: BTreeSet<Obstacle>,
}

/// Something that stands between a filler and a recommendation.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Obstacle {
    /// A finding bars it.
    Bar(FindingId),
    /// Its verdict waits on the answer at this path.
    Question(String),
    /// A filler beats it.
    Rival {
        /// The filler that beats it.
        winner: Arc<str>,
        /// On this criterion.
        criterion: Arc<str>,
    },
}

impl Assessment {
    /// Whether the verdict is at least this good.
    pub fn reaches(&self, wanted: Verdict) -> bool {
        self.verdict.is_some_and(|verdict| verdict <= wanted)
    }

    /// Fillers that beat this one.
    pub fn rivals(&self) -> impl Iterator<Item = (&Arc<str>, &Arc<str>)> {
        self.obstacles.iter().filter_map(|obstacle| match obstacle {
            Obstacle::Rival { winner, criterion } => Some((winner, criterion)),
            _ => None,
        })
    }
}

/// A joint and a filler there, with the fillers that it is held against; all of them where these are `None`.
#[derive(Clone, Copy, Debug)]
pub struct Candidacy<'a> {
    /// The joint.
    pub joint: &'a str,
    /// The filler.
    pub filler: &'a str,
    /// The others. With fewer of them an assessment is faster. A filler that is left out beats nobody; and where some standing waits
    /// on an answer, one that is left out may be the one that would settle who is beaten.
    pub rivals: Option<&'a [Arc<str>]>,
}

impl<'r> Session<'r> {
    /// Makes a rulebook ready.
    pub fn new(rulebook: &'r Rulebook) -> Result<Self, DecisionError> {
        Self::with_memory(rulebook, Memory::default())
    }

    /// The same beside decisions by this rulebook that are made already: pools that were frozen for them are not frozen again.
    pub fn with_memory(rulebook: &'r Rulebook, memory: Memory) -> Result<Self, DecisionError> {
        let vocabulary = Vocabulary::of(rulebook)?;
        check_shapes(rulebook)?;
        let reader = JobReader::new(rulebook);
        let given = reader.relations();
        let program = Program::with_memory(rulebook, COMPUTATIONS, memory)?;
        let whole = program.tables_alone(&given, Recording::Everything)?;
        let unfrozen = Program::new(rulebook, FREEZING_OPEN)?.tables_alone(&given, Recording::Everything)?;
        let efforts = Efforts::new(rulebook);
        let decided = vocabulary.recommended.relation;
        let standing_for_all = reader
            .questions()
            .iter()
            .filter_map(|key| Some((key.relation, standing_for_all(rulebook, key.relation, decided)?)))
            .collect();
        let tied = joints_are_tied(rulebook, &bearing_on(rulebook, decided));
        Ok(Session {
            tied,
            standing_for_all,
            rulebook,
            vocabulary,
            reader,
            efforts,
            program,
            whole,
            unfrozen,
        })
    }

    /// Decides a job, as [`crate::verdict::decide`] does.
    pub fn decide(&self, job: Job, recording: Recording) -> Result<Decision<'r>, DecisionError> {
        let derivation = self.program.derive(&given(&job.facts), recording)?;
        decided(self.rulebook, job, derivation, self.vocabulary.clone())
    }

    /// Refuses a job whose answers cannot be true together.
    pub fn possible(&self, job: &Job) -> Result<(), ChangeError> {
        // What rests on freezing contradicts no answer.
        let derivation = self.unfrozen.derive(&given(&job.facts), None)?;
        impossible(self.rulebook, job, &derivation).map_or(Ok(()), |errors| Err(errors.into()))
    }

    /// The job of a text with some values changed, re-read.
    pub fn changed(&self, text: &JobText, settings: &[Setting]) -> Result<Job, ChangeError> {
        Ok(self.reader.read(text.name(), text.with(settings)?.as_bytes())?)
    }

    /// The outcome of a job for one filler at one joint. Other joints are left out, since the rules hold each joint by
    /// itself; freezing is followed only where the verdict hangs on it.
    pub fn assess(&self, job: &Job, candidacy: &Candidacy<'_>) -> Result<Assessment, ChangeError> {
        let facts = self.facts_at(job, candidacy.joint);
        let restriction = candidacy.rivals.map(|rivals| {
            self.restriction(std::iter::once(candidacy.filler.into()).chain(rivals.iter().cloned()))
        });
        let without = self.assessment(&self.unfrozen.derive(&facts, restriction.as_ref())?, candidacy);
        let hangs_on_freezing = match without.verdict {
            Some(Verdict::Open) => true,
            Some(Verdict::Usable) => candidacy.rivals != Some(&[]) && without.rivals().next().is_none(),
            _ => false,
        };
        if hangs_on_freezing {
            Ok(self.assessment(&self.whole.derive(&facts, restriction.as_ref())?, candidacy))
        } else {
            Ok(without)
        }
    }

    /// Everything that follows about one joint with some facts more, for these fillers or all. Other joints are left out, as in
    /// [`Session::assess`]. Without freezing, whatever rests on it is open.
    pub(super) fn at_joint(
        &self,
        job: &Job,
        joint: &str,
        more: &[GivenFact],
        fillers: Option<&[Arc<str>]>,
        freezing: bool,
    ) -> Result<Derivation<'r>, EngineError> {
        let mut facts = self.facts_at(job, joint);
        facts.extend_from_slice(more);
        let restriction = fillers.map(|fillers| self.restriction(fillers.iter().cloned()));
        if freezing { &self.whole } else { &self.unfrozen }.derive(&facts, restriction.as_ref())
    }

    /// Only these fillers.
    fn restriction(&self, fillers: impl Iterator<Item = Arc<str>>) -> Restriction {
        Restriction {
            relation: self.vocabulary.candidate.relation,
            role: self.vocabulary.candidate.roles[1],
            names: fillers.map(Value::Symbol).collect(),
        }
    }

    /// The facts of a job without those about other joints, unless the rules tie joints to each other.
    fn facts_at(&self, job: &Job, joint: &str) -> Vec<GivenFact> {
        if self.tied {
            return given(&job.facts);
        }
        given(job.facts.iter().filter(|fact| {
            let roles = &self.rulebook.relations[fact.relation.index()].roles;
            let elsewhere = |value: &Value| matches!(value, Value::Symbol(name) if **name != *joint);
            !roles.iter().zip(&fact.cells).any(|(role, value)| role.name == "joint" && elsewhere(value))
        }))
    }

    /// What a derivation says of a filler at a joint.
    fn assessment(&self, derivation: &Derivation<'r>, candidacy: &Candidacy<'_>) -> Assessment {
        let words = &self.vocabulary;
        let is = |fact: FactId, role: usize, name: &str| matches!(derivation.cell(fact, role), Some(Value::Symbol(text)) if **text == *name);
        let [joint_role, filler_role] = words.candidate.roles;
        let candidate = derivation
            .facts(words.candidate.relation)
            .find(|fact| is(*fact, joint_role, candidacy.joint) && is(*fact, filler_role, candidacy.filler));
        // A job that cannot be has no verdicts.
        let cannot_be = IMPOSSIBLE.find(self.rulebook).is_some_and(|impossible| {
            derivation.facts(impossible.relation).any(|fact| derivation.status(fact) == Status::Known)
        });
        let Some(candidate) = candidate.filter(|_| !cannot_be) else {
            return Assessment { verdict: None, obstacles: BTreeSet::new() };
        };
        let (joint, filler) =
            (derivation.term(candidate, joint_role), derivation.term(candidate, filler_role));
        let about = |relation, joint_role, filler_role| -> Vec<FactId> {
            let here = |fact: &FactId| {
                derivation.term(*fact, joint_role) == joint && derivation.term(*fact, filler_role) == filler
            };
            derivation.facts(relation).filter(here).collect()
        };
        let barred = about(words.barred.relation, words.barred.roles[0], words.barred.roles[1]);
        let usable = about(words.usable.relation, words.usable.roles[0], words.usable.roles[1]);
        let recommended =
            about(words.recommended.relation, words.recommended.roles[0], words.recommended.roles[1]);
        let [_, winner, loser, criterion] = words.beats.roles;
        let beaten = about(words.beats.relation, words.beats.roles[0], loser);
        let unjudged = about(words.unjudged.relation, words.unjudged.roles[0], words.unjudged.roles[1]);
        let holds = |facts: &[FactId]| facts.iter().any(|fact| derivation.status(*fact) == Status::Known);
        let verdict = Verdict::of(Established {
            barred: holds(&barred),
            unjudged: holds(&unjudged),
            usable: holds(&usable),
            recommended: holds(&recommended),
        });
        let mut obstacles = BTreeSet::new();
        for fact in barred.iter().chain(&usable).chain(&recommended) {
            match derivation.status(*fact) {
                Status::Open => obstacles.extend(
                    derivation
                        .open_questions(*fact)
                        .into_iter()
                        .filter_map(|question| asked(derivation, question))
                        .map(|(asks, _)| Obstacle::Question(asks)),
                ),
                Status::Known if barred.contains(fact) => {
                    obstacles.extend(bars(derivation, *fact).into_iter().map(Obstacle::Bar));
                }
                Status::Known => {}
            }
        }
        let name = |term: TermId| match derivation.value(term) {
            Some(Value::Symbol(text)) => text.clone(),
            other => other.map(ToString::to_string).unwrap_or_default().into(),
        };
        obstacles.extend(beaten.iter().filter(|fact| derivation.status(**fact) == Status::Known).map(
            |fact| Obstacle::Rival {
                winner: name(derivation.term(*fact, winner)),
                criterion: name(derivation.term(*fact, criterion)),
            },
        ));
        Assessment { verdict: Some(verdict), obstacles }
    }
}

/// The findings behind a bar: not the one that merely says that a barred grade bars, but those that gave the grade.
fn bars(derivation: &Derivation<'_>, barred: FactId) -> BTreeSet<FindingId> {
    let findings = |fact: FactId| {
        derivation.grounds(fact).into_iter().filter_map(|ground| match ground {
            Ground::Finding(instance) => Some(instance),
            _ => None,
        })
    };
    let mut found = BTreeSet::new();
    for instance in findings(barred) {
        let below: Vec<FindingId> = instance
            .premises
            .iter()
            .flat_map(|premise| findings(*premise))
            .map(|inner| inner.finding)
            .collect();
        if below.is_empty() {
            found.insert(instance.finding);
        }
        found.extend(below);
    }
    found
}
