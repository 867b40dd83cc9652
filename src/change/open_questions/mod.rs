//! The open questions of a job: which of them can still change the result, what every answer would bring, and which decides
//! most. How they are asked is decided elsewhere.
//!
//! The result is the set of recommended fillers of each joint. A joint is settled when no recommendation there is open, or
//! when only words are missing there and each of them ends in the same fillers; and when filling in what is still missing
//! there, in several ways, moves nothing.

mod alternatives;
mod cone;
mod firm;
mod influence;
mod place;
mod reasons;
mod with_answers;

pub use firm::made_firm;

pub use reasons::{Reason, reasons};

use super::adjustable::Values;
use super::session::{ChangeError, Session};
use super::setting::Path;
use super::text::JobText;
use crate::engine::Status;
use crate::job::{About, Job, example};
use crate::language::Type;
use crate::processors::for_each;
use crate::quantity::{Dimension, PageUnits, Unit};
use crate::verdict::rounded;
use alternatives::tried;
use influence::sampled_influence;
use place::{QuestionPlace, same_key};
use serde::Serialize;
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use with_answers::{JobWithAnswers, RecommendedThen};

/// Where a job stands while questions are open.
#[derive(Clone, Debug, Serialize)]
pub struct OpenQuestions {
    /// Open questions that can change the result, the one that decides most first.
    pub questions: Vec<DecidingQuestion>,
    /// Open questions of which it shows only once those are answered whether they matter.
    pub undetermined: Vec<Remaining>,
    /// Open questions that change nothing.
    pub remaining: Vec<Remaining>,
    /// The joints in the order of the job file.
    pub joints: Vec<JointState>,
}

/// An open question that can change the result.
#[derive(Clone, Debug, Serialize)]
pub struct DecidingQuestion {
    /// In the rulebook's words.
    pub question: String,
    /// Where the answer belongs in the job file.
    #[serde(serialize_with = "path_text")]
    pub path: Path,
    /// The joints that it is about; empty where it is about a part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub joints: Vec<String>,
    /// The part that it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// What may be answered.
    #[serde(flatten)]
    pub accepts: Accepts,
    /// Fillers of which it hangs on the answer whether they are recommended.
    pub decides: Vec<String>,
    /// What each answer brings while the other questions stay open.
    pub answers: Vec<Alternative>,
    /// How many recommendations an answer settles on average.
    pub settles: f64,
    #[serde(skip)]
    places: Vec<QuestionPlace>,
}

/// What may be answered.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub enum Accepts {
    /// One of these words.
    Words {
        /// The words.
        words: Vec<String>,
    },
    /// A name; these are known, and others may be given.
    Names {
        /// The known ones.
        names: Vec<String>,
    },
    /// A quantity.
    Quantity {
        /// What is measured.
        measures: String,
        /// The unit most used.
        unit: &'static str,
        /// Every unit that may be written.
        units: Vec<&'static str>,
        /// An answer as one would write it.
        example: String,
        /// Whether a range may be given.
        range: bool,
    },
    /// Free text.
    Text {},
}

/// An answer to a question, or a stretch of answers that bring the same.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Alternative {
    /// The answer.
    pub answer: String,
    /// The value that was tried, where the answer stands for more than one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tried: Option<String>,
    /// What it brings, joint by joint.
    pub outcome: Vec<JointOutcome>,
}

/// What an answer brings at a joint.
#[derive(Clone, PartialEq, Eq, Debug, Serialize)]
pub struct JointOutcome {
    /// The joint.
    pub joint: String,
    /// Fillers that are recommended then.
    pub recommended: Vec<String>,
    /// Fillers of which it is still open whether they are.
    pub open: Vec<String>,
}

/// An open question that is not put.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize)]
pub struct Remaining {
    /// In the rulebook's words.
    pub question: String,
    /// Where an answer would stand in the job file.
    pub path: String,
}

/// Where a joint stands.
#[derive(Clone, Debug, Serialize)]
pub struct JointState {
    /// The joint.
    pub joint: String,
    /// Whether no open question can change which fillers are recommended.
    pub settled: bool,
    /// Whether that was found by trying some numbers among endlessly many, and not by going through all that can differ.
    pub by_sample: bool,
    /// Recommended fillers.
    pub recommended: Vec<String>,
    /// Fillers of which it is open whether they are recommended.
    pub open: Vec<String>,
}

fn path_text<S: serde::Serializer>(path: &Path, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(path)
}

impl DecidingQuestion {
    /// Whether the question is put for several joints at once.
    pub fn is_common(&self) -> bool {
        self.places.len() > 1
    }
}

/// What is known of a joint before anything is supposed.
struct Start {
    outcome: RecommendedThen,
    settled: bool,
    by_sample: bool,
    /// The only fillers that may be recommended, where others can be left out.
    fillers: Option<Vec<Arc<str>>>,
    /// For each question that keeps a recommendation open, the fillers that it keeps open.
    waits: BTreeMap<QuestionPlace, BTreeSet<Arc<str>>>,
    unanswered: Vec<(QuestionPlace, bool)>,
}

/// Works out where a job stands. Questions with a path in `apart` are put joint by joint; others that all joints share, and
/// none answers for itself, are put once.
pub fn open_questions(
    session: &Session<'_>,
    job: &Job,
    apart: &BTreeSet<String>,
) -> Result<OpenQuestions, ChangeError> {
    session.possible(job)?;
    let answered = JobWithAnswers { session, job };
    let text = JobText::of(job)?;
    let starts = for_each(&job.joints, |joint| {
        Ok::<_, ChangeError>((joint.name.clone(), start(answered, &text, &joint.name)?))
    });
    let starts = starts.into_iter().collect::<Result<BTreeMap<Arc<str>, Start>, _>>()?;
    let mut deciding: BTreeMap<QuestionPlace, bool> = BTreeMap::new();
    let (mut idle, mut undetermined): (BTreeSet<QuestionPlace>, BTreeSet<QuestionPlace>) = Default::default();
    for start in starts.values() {
        for (place, comes_up) in &start.unanswered {
            match (start.settled, comes_up) {
                (false, _) if start.waits.contains_key(place) => {
                    *deciding.entry(place.clone()).or_default() |= comes_up;
                }
                (true, true) => drop(idle.insert(place.clone())),
                (false, true) => drop(undetermined.insert(place.clone())),
                (_, false) => {}
            }
        }
    }
    let coming_up: Vec<QuestionPlace> =
        deciding.iter().filter(|(_, comes_up)| **comes_up).map(|(place, _)| place.clone()).collect();
    let questions = for_each(&groups(session, job, apart, coming_up), |(path, places)| {
        asked(answered, &text, &starts, path.clone(), places.clone())
    });
    let mut questions = questions.into_iter().collect::<Result<Vec<_>, _>>()?;
    questions.sort_by(|a, b| {
        b.settles
            .total_cmp(&a.settles)
            .then_with(|| distinct(b).cmp(&distinct(a)))
            .then_with(|| a.places.cmp(&b.places))
    });
    let mut listed: BTreeSet<Path> = questions.iter().map(|asked| asked.path.clone()).collect();
    let mut others = |places: BTreeSet<QuestionPlace>| -> Vec<Remaining> {
        let mut groups = groups(session, job, apart, places.into_iter().collect());
        groups.retain(|(path, _)| listed.insert(path.clone()));
        let worded = |(path, places): &(Path, Vec<QuestionPlace>)| Remaining {
            question: wording(session, job, places),
            path: path.to_string(),
        };
        groups.iter().map(worded).collect()
    };
    let (undetermined, remaining) = (others(undetermined), others(idle));
    let joints = job.joints.iter().map(|joint| {
        let start = &starts[&joint.name];
        JointState {
            joint: joint.name.to_string(),
            settled: start.settled,
            by_sample: start.by_sample && start.settled,
            recommended: names(&start.outcome.recommended),
            open: names(&start.outcome.open),
        }
    });
    Ok(OpenQuestions { questions, undetermined, remaining, joints: joints.collect() })
}

fn names(fillers: &[Arc<str>]) -> Vec<String> {
    fillers.iter().map(|name| name.to_string()).collect()
}

/// How many different things the answers bring.
fn distinct(asked: &DecidingQuestion) -> usize {
    let mut different: Vec<&Vec<JointOutcome>> = Vec::new();
    for alternative in &asked.answers {
        if !different.contains(&&alternative.outcome) {
            different.push(&alternative.outcome);
        }
    }
    different.len()
}

fn start(answered: JobWithAnswers<'_, '_>, text: &JobText, joint: &str) -> Result<Start, ChangeError> {
    let derivation = answered.derived(joint, &[])?;
    let mut outcome = answered.outcome_of(&derivation);
    let unanswered = answered.unanswered(&derivation);
    // Of words every case can be tried, and of numbers that are only compared with fixed ones; of others not, and such a
    // number may count where no open recommendation shows it.
    let endless = |place: &QuestionPlace| {
        matches!(place.key(answered.session).answer, Type::Number(_) | Type::Range(_))
            && answered.all_answers(place).is_none()
    };
    let can_be_tried = !unanswered.iter().any(|(place, comes_up)| *comes_up && endless(place));
    let by_sample = !can_be_tried;
    let recommended_so_far = match outcome.open.is_empty() {
        true => Some(outcome.recommended.clone()),
        false if can_be_tried => answered.by_cases(joint, &derivation)?,
        false => None,
    };
    let Some(recommended_so_far) = recommended_so_far else {
        let cone = answered.cone(&derivation);
        let waits = cone.questions().map(|place| {
            let hanging = cone.hanging_on(place);
            let open = answered.recommendations(&derivation, Status::Open);
            let open = open.filter(|(fact, _)| hanging.contains(fact)).map(|(_, filler)| filler);
            (place.clone(), open.collect())
        });
        let (waits, fillers) = (waits.collect(), Some(outcome.possible()));
        return Ok(Start { outcome, settled: false, by_sample, fillers, waits, unanswered });
    };
    let coming_up: Vec<QuestionPlace> =
        unanswered.iter().filter(|(_, comes_up)| *comes_up).map(|(place, _)| place.clone()).collect();
    let waits = sampled_influence(answered, text, joint, &coming_up, &recommended_so_far)?;
    let moving: BTreeSet<&Arc<str>> = waits.values().flatten().collect();
    outcome.open = answered.job.available.iter().filter(|filler| moving.contains(filler)).cloned().collect();
    outcome.recommended = recommended_so_far.into_iter().filter(|filler| !moving.contains(filler)).collect();
    Ok(Start { outcome, settled: waits.is_empty(), by_sample, fillers: None, waits, unanswered })
}

/// Places that are answered together, each group with its path in the job file, in the order of the rulebook's questions.
fn groups(
    session: &Session<'_>,
    job: &Job,
    apart: &BTreeSet<String>,
    places: Vec<QuestionPlace>,
) -> Vec<(Path, Vec<QuestionPlace>)> {
    let mut groups: Vec<(Path, Vec<QuestionPlace>)> = Vec::new();
    for place in places {
        let key = place.key(session);
        let shared = key.about == About::Joint && key.section != "joints";
        // Where a joint answers for itself, the joints differ.
        let nobody_answers = || {
            let answered = |fact: &crate::job::JobFact| {
                session
                    .reader
                    .questions()
                    .iter()
                    .any(|other| same_key(other, key) && other.relation == fact.relation)
            };
            !job.facts.iter().any(answered)
        };
        let common = shared && !apart.contains(&key.path) && nobody_answers();
        if !common {
            groups.push((place.path(session), vec![place]));
            continue;
        }
        let path = Path::new([key.section.as_str(), key.key.as_str()]);
        if !groups.iter().any(|(known, _)| *known == path) {
            let everywhere = |joint: &crate::job::Joint| QuestionPlace {
                subject: Some(joint.name.clone()),
                ..place.clone()
            };
            groups.push((path, job.joints.iter().map(everywhere).collect()));
        }
    }
    groups
}

/// The question in the rulebook's words, about all the joints or the part that it is put for.
fn wording(session: &Session<'_>, job: &Job, places: &[QuestionPlace]) -> String {
    let Some(first) = places.first() else { return String::new() };
    match &first.subject {
        Some(_) if places.len() > 1 => first.asks(session, "every joint"),
        Some(name) => first.asks(session, name),
        None => first.asks(session, job.title.as_deref().unwrap_or("the job")),
    }
}

fn asked(
    answered: JobWithAnswers<'_, '_>,
    text: &JobText,
    starts: &BTreeMap<Arc<str>, Start>,
    path: Path,
    places: Vec<QuestionPlace>,
) -> Result<DecidingQuestion, ChangeError> {
    let (session, job) = (answered.session, answered.job);
    let key = places[0].key(session);
    let part = places[0].subject.as_ref().filter(|_| key.about == About::Part);
    let values = places[0].values(session, job, text);
    let bears = |joint: &str| places.iter().any(|place| place.bears_on(session, job, joint));
    let hanging: Vec<(&Arc<str>, &Start)> = job
        .joints
        .iter()
        .map(|joint| (&joint.name, &starts[&joint.name]))
        .filter(|(joint, start)| !start.settled && bears(joint))
        .collect();
    let quick = Cell::new(true);
    let brings = |value: &crate::language::Value| {
        hanging
            .iter()
            .map(|(joint, start)| {
                let own = places.iter().filter(|place| place.bears_on(session, job, joint));
                let answers: Vec<_> = own.flat_map(|place| place.facts(session, value)).collect();
                answered.outcome(joint, &answers, start.fillers.as_deref(), &quick)
            })
            .collect()
    };
    let tried = tried(values.as_ref(), key.answer, &brings)?;
    let open_now: usize = hanging.iter().map(|(_, start)| start.outcome.open.len()).sum();
    let open_then: usize =
        tried.iter().flat_map(|tried| &tried.outcomes).map(|outcome| outcome.open.len()).sum();
    let settles =
        if tried.is_empty() { 0.0 } else { open_now as f64 - open_then as f64 / tried.len() as f64 };
    let waits = |filler: &Arc<str>| {
        let kept_open =
            |start: &Start, place| start.waits.get(place).is_some_and(|open| open.contains(filler));
        hanging.iter().any(|(_, start)| places.iter().any(|place| kept_open(start, place)))
    };
    let outcome = |outcomes: Vec<RecommendedThen>| {
        let joints = hanging.iter().zip(outcomes);
        let at_joint = |((joint, _), outcome): (&(&Arc<str>, &Start), RecommendedThen)| JointOutcome {
            joint: joint.to_string(),
            recommended: names(&outcome.recommended),
            open: names(&outcome.open),
        };
        joints.map(at_joint).collect()
    };
    Ok(DecidingQuestion {
        question: wording(session, job, &places),
        path,
        joints: match key.about {
            About::Joint => places
                .iter()
                .filter_map(|place| place.subject.as_ref())
                .map(|name| name.to_string())
                .collect(),
            _ => Vec::new(),
        },
        part: part.map(|name| name.to_string()),
        accepts: accepts(session, text.units(), key.answer, values),
        decides: job
            .available
            .iter()
            .filter(|filler| waits(filler))
            .map(|filler| filler.to_string())
            .collect(),
        answers: tried
            .into_iter()
            .map(|tried| Alternative {
                answer: tried.answer,
                tried: tried.stands_for,
                outcome: outcome(tried.outcomes),
            })
            .collect(),
        settles: rounded(settles),
        places,
    })
}

fn accepts(session: &Session<'_>, units: &PageUnits, ty: Type, values: Option<Values>) -> Accepts {
    let quantity = |dimension: Dimension, range: bool| Accepts::Quantity {
        measures: dimension.to_string(),
        unit: units.unit(dimension).map_or("", Unit::symbol),
        units: Unit::measuring(dimension).map(Unit::symbol).filter(|symbol| !symbol.is_empty()).collect(),
        example: example(dimension),
        range,
    };
    match ty {
        Type::Word(kind) => {
            let words = &session.rulebook.kinds[kind.index()].words;
            Accepts::Words { words: words.iter().map(|word| word.to_string()).collect() }
        }
        Type::Name => Accepts::Names {
            names: match values {
                Some(Values::Words(names)) => names,
                _ => Vec::new(),
            },
        },
        Type::Text => Accepts::Text {},
        Type::Number(dimension) => quantity(dimension, false),
        Type::Range(dimension) => quantity(dimension, true),
    }
}
