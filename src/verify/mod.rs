//! Checking a record without running its rules: a small checker that shares no code with the engine. It confirms that every
//! recorded fact follows from its recorded grounds, that nothing is missing on which an absence rests, and that the
//! recorded verdicts are those of the recorded facts.

mod applied;
mod apply;
mod closure;
mod computed;
mod facts;
mod formula;
mod grounds;
mod problem;
mod report;
mod shapes;
#[cfg(test)]
mod sketch;
mod terms;

pub use applied::Premises;
pub use problem::Problem;

use crate::computed::{COMPUTATIONS, DATA, check_shapes};
use crate::job::{Job, read_job};
use crate::language::{Rulebook, RulebookError, SourceFile, reread_rulebook};
use crate::record::{FORM, Record, RecordedFact, fingerprint};
use crate::verdict::Vocabulary;
use problem::Problems;
use serde::Serialize;

/// What became of a check.
#[derive(Clone, Debug, Serialize)]
pub struct Checked {
    /// Whether everything holds.
    pub holds: bool,
    /// How much was checked.
    pub counts: Counts,
    /// What to know beside: the record is of another version, or of other rules than the ones built in.
    pub remarks: Vec<String>,
    /// What does not hold.
    pub problems: Vec<Problem>,
}

/// How much was checked.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq, Serialize)]
pub struct Counts {
    /// Facts that are known.
    pub known: usize,
    /// Facts that are open.
    pub open: usize,
    /// Statements of the job.
    pub stated: usize,
    /// Rows of tables.
    pub rows: usize,
    /// Questions without an answer.
    pub unanswered: usize,
    /// Findings applied to facts.
    pub applications: usize,
    /// Their premises.
    pub premises: Premises,
    /// Computed facts, each computed again.
    pub computed: usize,
    /// Verdicts.
    pub verdicts: usize,
}

/// The rulebook that a record's own is compared with.
pub struct Usual {
    /// Its fingerprint.
    pub fingerprint: String,
    /// What it is called, such as "the one that this program brings along".
    pub called: String,
}

/// Checks a record. What the recorded rulebook says counts; where it is not the usual one, that is remarked on.
pub fn verify(record: &Record, usual: &Usual) -> Checked {
    let mut problems = Problems::default();
    let mut counts = Counts::default();
    let remarks = remarks(record, usual);
    if let Some((rulebook, job)) = sources(record, &mut problems) {
        derivation(record, &rulebook, &job, &mut counts, &mut problems);
    }
    Checked { holds: problems.all.is_empty(), counts, remarks, problems: problems.all }
}

fn remarks(record: &Record, usual: &Usual) -> Vec<String> {
    let mut remarks = Vec::new();
    let version = env!("CARGO_PKG_VERSION");
    if record.program.version != version {
        remarks.push(format!(
            "the record was written by version {}, and this is version {version}",
            record.program.version
        ));
    }
    if record.rulebook.fingerprint != usual.fingerprint {
        remarks.push(format!("the recorded rulebook is not {}", usual.called));
    }
    remarks
}

/// The recorded rules and the recorded job, read again.
fn sources(record: &Record, problems: &mut Problems) -> Option<(Rulebook, Job)> {
    if record.record != FORM {
        problems.tell("the form of the record", FORM.to_string(), record.record.to_string());
        return None;
    }
    if record.program.name != env!("CARGO_PKG_NAME") {
        problems.tell("the program", env!("CARGO_PKG_NAME"), &record.program.name);
    }
    data(record, problems);
    let files = record.rulebook.files.iter();
    let files: Vec<SourceFile> =
        files.map(|file| SourceFile { name: file.file.clone(), text: file.text.clone() }).collect();
    let rulebook = match reread_rulebook(&files) {
        Ok(rulebook) => rulebook,
        Err(error) => {
            let (place, found) = first_mistake(&error);
            problems.tell_at(place, "the recorded rulebook", "rules without a mistake", found);
            return None;
        }
    };
    same_fingerprint("the recorded rulebook", &rulebook.fingerprint, &record.rulebook.fingerprint, problems);
    if let Err(error) = check_shapes(&rulebook) {
        problems.tell("the recorded rulebook", "relations that this program computes", error.to_string());
        return None;
    }
    let job = match read_job(&record.job.file, record.job.text.as_bytes(), &rulebook) {
        Ok(job) => job,
        Err(errors) => {
            let found = errors.to_string();
            let found = found.lines().next().unwrap_or_default();
            problems.tell("the recorded job", "a job without a mistake", found);
            return None;
        }
    };
    same_fingerprint("the recorded job", &job.fingerprint, &record.job.fingerprint, problems);
    Some((rulebook, job))
}

fn same_fingerprint(about: &str, expected: &str, found: &str, problems: &mut Problems) {
    if expected != found {
        problems.tell(format!("the fingerprint of {about}"), expected, found);
    }
}

fn first_mistake(error: &RulebookError) -> (Option<String>, String) {
    match error {
        RulebookError::Mistakes { sources, diagnostics } if !diagnostics.is_empty() => {
            let first = &diagnostics[0];
            let place = format!("{}:{}", sources.file(first.span).name, sources.position(first.span).0);
            (Some(place), first.message.clone())
        }
        error => (None, error.to_string()),
    }
}

/// The data that computations read must be those of this program, or nothing computed could be checked.
fn data(record: &Record, problems: &mut Problems) {
    let names = |list: &[&str]| list.join(", ");
    let expected: Vec<&str> = DATA.iter().map(|(file, _)| *file).collect();
    let found: Vec<&str> = record.data.iter().map(|data| data.file.as_str()).collect();
    if expected != found {
        problems.tell("the data that computations read", names(&expected), names(&found));
    }
    for data in &record.data {
        same_fingerprint(&data.file, &fingerprint(&data.text), &data.fingerprint, problems);
        if let Some((_, text)) = DATA.iter().find(|(file, text)| *file == data.file && *text != data.text) {
            let lines = text.lines().zip(data.text.lines());
            let same = lines.take_while(|(one, other)| one == other).count();
            let line = |text: &str| text.lines().nth(same).unwrap_or("the end of the file").to_owned();
            let place = Some(format!("{}:{}", data.file, same + 1));
            problems.tell_at(place, "the data that this program computes with", line(text), line(&data.text));
        }
    }
}

/// Everything from facts to verdicts.
fn derivation(record: &Record, rulebook: &Rulebook, job: &Job, counts: &mut Counts, problems: &mut Problems) {
    let vocabulary = match Vocabulary::of(rulebook) {
        Ok(vocabulary) => vocabulary,
        Err(error) => {
            return problems.tell(
                "the recorded rulebook",
                "relations that carry verdicts",
                error.to_string(),
            );
        }
    };
    let mut terms = terms::Terms::default();
    let told = problems.all.len();
    let facts = facts::Facts::read(rulebook, record, &mut terms, problems);
    counts.open = facts.all.iter().filter(|fact| fact.open).count();
    counts.known = facts.all.len() - counts.open;
    if problems.all.len() > told {
        // Facts that do not fit their relations have no numbers to go by.
        return;
    }
    let shapes = shapes::shapes(rulebook, &mut terms);
    let mut grounds = grounds::Grounds::new(&facts);
    [counts.stated, counts.rows] = grounds.stated(&facts, job, &mut terms, problems);
    counts.unanswered = grounds.unanswered(&facts, &terms, problems);
    let mut comparison = applied::Comparison {
        facts: &facts,
        terms: &mut terms,
        shapes: &shapes,
        problems,
        premises: Premises::default(),
        applied: Vec::new(),
    };
    if !comparison.read(record) {
        return;
    }
    let missing = comparison.judge();
    grounds.concluded(&mut comparison, &missing);
    (counts.applications, counts.premises) = (comparison.applied.len(), comparison.premises);
    let applied = comparison.applied;
    counts.computed = computed::computed(COMPUTATIONS, &facts, record, &mut grounds, &mut terms, problems);
    grounds.compare(&facts, record, &terms, problems);
    grounds.circles(&facts, &terms, problems);
    let relations = record.facts.iter();
    let recorded: Vec<&RecordedFact> =
        relations.flat_map(|relation| relation.known.iter().chain(&relation.open)).collect();
    let collected = report::Collected {
        facts: &facts,
        terms: &mut terms,
        shapes: &shapes,
        applied: &applied,
        recorded: &recorded,
        vocabulary: &vocabulary,
        job,
    };
    counts.verdicts = report::report(collected, record, problems);
}
