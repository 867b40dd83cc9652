//! Checking a record without running its rules: a small checker that shares no code with the engine. It confirms that every
//! recorded fact follows from its recorded grounds, that nothing is missing on which an absence rests, and that the
//! recorded verdicts are those of the recorded facts.

mod applied;
mod apply;
mod closure;
mod computed;
mod effort;
mod facts;
mod formula;
mod grounds;
mod problem;
mod report;
mod shapes;
#[cfg(test)]
mod small_record;
mod terms;
mod whose;

pub use applied::Premises;
pub use problem::Problem;
pub use whose::{DifferentFile, DifferentItem, HowDifferent, Rules};

use crate::computed::{COMPUTATIONS, DATA, check_shapes};
use crate::job::{Job, read_job};
use crate::language::{
    Rulebook, RulebookError, SourceFile, fingerprint as rules_fingerprint, reread_rulebook,
};
use crate::record::{Exceeded, FORM, Record, RecordBudget, RecordedFact, fingerprint};
use crate::verdict::Vocabulary;
use problem::Problems;
use serde::Serialize;

/// What became of a check.
#[derive(Clone, Debug, Serialize)]
pub struct Checked {
    /// Whether everything holds.
    pub holds: bool,
    /// How much was checked.
    pub counts: CheckCounts,
    /// Whose rules these are.
    pub rules: Rules,
    /// What to know beside: the record is of another version, or of other rules than the ones built in.
    pub remarks: Vec<String>,
    /// What does not hold.
    pub problems: Vec<Problem>,
}

/// How much was checked.
#[derive(Clone, Copy, Default, Debug, PartialEq, Eq, Serialize)]
pub struct CheckCounts {
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
    /// Its files.
    pub files: Vec<SourceFile>,
}

/// Checks a record. What the recorded rulebook says counts; where it is not the usual one, what differs is shown, and how many
/// verdicts rest on it.
///
/// # Errors
/// What the record goes beyond.
pub fn verify(record: &Record, usual: &Usual, budget: &RecordBudget) -> Result<Checked, Exceeded> {
    record.fits(budget)?;
    let mut checked = Checked {
        holds: false,
        counts: CheckCounts::default(),
        rules: rules(record, usual),
        remarks: remarks(record, usual),
        problems: Vec::new(),
    };
    let mut problems = Problems::default();
    if let Some((rulebook, job)) = sources(record, &mut problems) {
        derivation(record, (&rulebook, usual), &job, &mut checked, &mut problems, budget)?;
    }
    checked.holds = problems.all.is_empty();
    checked.problems = problems.all;
    Ok(checked)
}

/// The files of the recorded rulebook.
fn files(record: &Record) -> Vec<SourceFile> {
    let files = record.rulebook.files.iter();
    files.map(|file| SourceFile { name: file.file.clone(), text: file.text.clone() }).collect()
}

/// How the recorded rules compare with the usual ones. Their fingerprint is worked out here; what the record says of it is
/// checked with everything else.
fn rules(record: &Record, usual: &Usual) -> Rules {
    let files = files(record);
    let named = files.iter().map(|file| (file.name.as_str(), file.text.as_str()));
    let mut rules = Rules {
        recorded: rules_fingerprint(named),
        usual: usual.fingerprint.clone(),
        called: usual.called.clone(),
        ..Rules::default()
    };
    if !rules.are_usual() {
        (rules.files, rules.items) = whose::compared(&files, &usual.files);
    }
    rules
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
        problems.report("the form of the record", FORM.to_string(), record.record.to_string());
        return None;
    }
    if record.program.name != env!("CARGO_PKG_NAME") {
        problems.report("the program", env!("CARGO_PKG_NAME"), &record.program.name);
    }
    data(record, problems);
    let rulebook = match reread_rulebook(&files(record)) {
        Ok(rulebook) => rulebook,
        Err(error) => {
            let (place, found) = first_mistake(&error);
            problems.report_at(place, "the recorded rulebook", "rules without a mistake", found);
            return None;
        }
    };
    same_fingerprint("the recorded rulebook", &rulebook.fingerprint, &record.rulebook.fingerprint, problems);
    if let Err(error) = check_shapes(&rulebook) {
        problems.report("the recorded rulebook", "relations that this program computes", error.to_string());
        return None;
    }
    let job = match read_job(&record.job.file, record.job.text.as_bytes(), &rulebook) {
        Ok(job) => job,
        Err(errors) => {
            let found = errors.to_string();
            let found = found.lines().next().unwrap_or_default();
            problems.report("the recorded job", "a job without a mistake", found);
            return None;
        }
    };
    same_fingerprint("the recorded job", &job.fingerprint, &record.job.fingerprint, problems);
    Some((rulebook, job))
}

fn same_fingerprint(about: &str, expected: &str, found: &str, problems: &mut Problems) {
    if expected != found {
        problems.report(format!("the fingerprint of {about}"), expected, found);
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
        problems.report("the data that computations read", names(&expected), names(&found));
    }
    for data in &record.data {
        same_fingerprint(&data.file, &fingerprint(&data.text), &data.fingerprint, problems);
        if let Some((_, text)) = DATA.iter().find(|(file, text)| *file == data.file && *text != data.text) {
            let lines = text.lines().zip(data.text.lines());
            let same = lines.take_while(|(one, other)| one == other).count();
            let line = |text: &str| text.lines().nth(same).unwrap_or("the end of the file").to_owned();
            let place = Some(format!("{}:{}", data.file, same + 1));
            problems.report_at(
                place,
                "the data that this program computes with",
                line(text),
                line(&data.text),
            );
        }
    }
}

/// So many facts may be looked at whatever the record holds.
const ALWAYS: u64 = 10_000_000;

/// Everything from facts to verdicts.
fn derivation(
    record: &Record,
    (rulebook, usual): (&Rulebook, &Usual),
    job: &Job,
    checked: &mut Checked,
    problems: &mut Problems,
    budget: &RecordBudget,
) -> Result<(), Exceeded> {
    let counts = &mut checked.counts;
    let vocabulary = match Vocabulary::of(rulebook) {
        Ok(vocabulary) => vocabulary,
        Err(error) => {
            problems.report("the recorded rulebook", "relations that carry verdicts", error.to_string());
            return Ok(());
        }
    };
    let mut terms = terms::Terms::in_units(job.units());
    let before = problems.all.len();
    let facts = facts::Facts::read(rulebook, record, &mut terms, problems);
    counts.open = facts.all.iter().filter(|fact| fact.open).count();
    counts.known = facts.all.len() - counts.open;
    if problems.all.len() > before {
        // Facts that do not fit their relations have no numbers to go by.
        return Ok(());
    }
    let shapes = shapes::shapes(rulebook, &mut terms);
    let entries =
        facts.all.len() + record.findings.iter().map(|finding| finding.applied.len()).sum::<usize>();
    facts.effort.allow(ALWAYS + budget.steps.saturating_mul(entries as u64));
    let mut grounds = grounds::Grounds::new(&facts, &record.texts);
    [counts.stated, counts.rows] = grounds.stated(&facts, job, &mut terms, problems);
    counts.unanswered = grounds.unanswered(&facts, &terms, problems);
    let mut comparison = applied::RecordComparison {
        facts: &facts,
        terms: &mut terms,
        texts: &record.texts,
        shapes: &shapes,
        problems,
        premises: Premises::default(),
        applied: Vec::new(),
    };
    if !comparison.read(record) {
        return Ok(());
    }
    let missing = comparison.judge(budget)?;
    grounds.concluded(&mut comparison, &missing);
    (counts.applications, counts.premises) = (comparison.applied.len(), comparison.premises);
    let applied = comparison.applied;
    counts.computed =
        computed::computed(COMPUTATIONS, &facts, record, &mut grounds, &mut terms, problems, budget)?;
    grounds.compare(&facts, &applied, record, &terms, problems);
    grounds.circles(&facts, &terms, problems);
    let relations = record.facts.iter();
    let recorded: Vec<&RecordedFact> =
        relations.flat_map(|relation| relation.known.iter().chain(&relation.open)).collect();
    let rests = (!checked.rules.are_usual()).then(|| {
        let usual = reread_rulebook(&usual.files).ok();
        let touched = whose::Touched::of(&checked.rules.items, rulebook, usual.as_ref());
        whose::resting(touched, &facts, &shapes, &applied, &grounds)
    });
    let mut collected = report::Collected {
        facts: &facts,
        terms: &mut terms,
        shapes: &shapes,
        applied: &applied,
        recorded: &recorded,
        vocabulary: &vocabulary,
        job,
    };
    if let Some([on_items, by_absence]) = rests {
        checked.rules.verdicts = collected.resting(&on_items);
        checked.rules.verdicts_by_absence = collected.resting(&by_absence) - checked.rules.verdicts;
    }
    counts.verdicts = report::report(collected, record, problems);
    Ok(())
}
