//! Records: what `record` writes, `verify` accepts; what anybody changes in one is told, or is shown to change nothing.

use super::forgeries::CHANGES;
use crate::support::job_sample::{SMALL, Seeded, WHOLE, job};
use crate::support::memory;
use crate::support::program::library::{decided, rulebook};
use crate::support::program::*;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::language::{Rulebook, SourceFile, read_rulebook, reread_rulebook};
use whyrod::record::*;
use whyrod::verdict::decide_with;
use whyrod::verify::{Checked, Usual, verify};

/// The record of a job as it comes back from a file.
fn recorded(job: &str, rulebook: &Rulebook) -> Record {
    let read =
        read_job("job.toml", job.as_bytes(), rulebook).unwrap_or_else(|errors| panic!("{errors}\n{job}"));
    let decision = decide_with(rulebook, read, Recording::Everything, memory()).expect("the job is decided");
    let written = record(&decision).expect("a record");
    let text = written.text().expect("JSON");
    let back =
        Record::read(text.as_bytes(), &RecordBudget::default()).unwrap_or_else(|error| panic!("{error}"));
    assert!(back == written, "the record does not come back as it was written\n{job}");
    back
}

fn checked(record: &Record) -> Checked {
    static USUAL: OnceLock<[Usual; 2]> = OnceLock::new();
    let usual = |rulebook: &Rulebook| Usual {
        fingerprint: rulebook.fingerprint.clone(),
        called: "the one of these tests".to_owned(),
        files: rulebook.sources.files.clone(),
    };
    let [built_in, small] = USUAL
        .get_or_init(|| [usual(rulebook()), usual(&read_rulebook(&small()).expect("the small rulebook"))]);
    // Compared with rules that are nearly its own, as it is where a record is checked in earnest.
    let usual = if record.rulebook.files.len() > small.files.len() { built_in } else { small };
    verify(record, usual, &RecordBudget::default()).expect("no more than may be")
}

/// The record holds, and there was something to check. How many facts are open.
#[track_caller]
fn holds(record: &Record, about: &str) -> usize {
    let checked = checked(record);
    assert!(checked.holds, "{about}: {:#?}", &checked.problems[..checked.problems.len().min(5)]);
    assert_eq!(checked.remarks, [""; 0], "{about}");
    let counts = checked.counts;
    assert!(counts.known > 2000 && counts.applications > 1000 && counts.computed > 0, "{about}: {counts:?}");
    assert!(
        counts.premises.given > counts.applications / 2 && counts.premises.unless > 100,
        "{about}: {counts:?}"
    );
    assert!(counts.premises.values > 100 && counts.premises.conditions > 100, "{about}: {counts:?}");
    let joints = record.report["joints"].as_array().expect("joints");
    let verdicts: usize = joints.iter().map(|joint| list(&joint["verdicts"]).len()).sum();
    assert_eq!(counts.verdicts, verdicts);
    assert!(verdicts > 0, "{about} has no verdict");
    counts.open
}

#[test]
fn the_record_of_every_example_holds() {
    let mut count = 0;
    for entry in std::fs::read_dir(root().join("examples")).expect("the examples") {
        let path = entry.expect("an example").path();
        if path.extension().is_some_and(|extension| extension == "toml") {
            let text = std::fs::read_to_string(&path).expect("an example");
            let record = recorded(&text, rulebook());
            let size = record.text().expect("JSON").len();
            assert!(size < 5_000_000, "{}: {size} bytes", path.display());
            holds(&record, &path.display().to_string());
            count += 1;
        }
    }
    assert!(count >= 8);
}

fn records_of_random(jobs: u64) {
    let mut open = 0;
    for seed in 0..jobs {
        let job = job(seed, rulebook(), SMALL);
        open += u64::from(holds(&recorded(&job, rulebook()), &job) > 0);
    }
    let least = jobs / 5;
    assert!((least..4 * least).contains(&open), "{open} of {jobs} jobs leave something open");
}

#[test]
fn the_records_of_some_random_jobs_hold() {
    records_of_random(20);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn the_records_of_a_hundred_random_jobs_hold() {
    records_of_random(100);
}

#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn the_records_of_a_thousand_random_jobs_hold_at_length() {
    for seed in 1000..2000 {
        let extent = if seed % 10 == 0 { WHOLE } else { SMALL };
        let job = job(seed, rulebook(), extent);
        holds(&recorded(&job, rulebook()), &job);
    }
}

/// What a change came to.
#[derive(PartialEq, Eq, PartialOrd, Ord, Debug, Clone, Copy)]
enum Came {
    /// The check tells it by name.
    Told,
    /// The numbers are the same and stand beside other units, which no verdict shows.
    OtherUnits,
    /// The same facts rest on the same grounds, under other numbers.
    OtherNumbers,
    /// The program makes exactly this record of the changed rules or job.
    OtherwiseTrue,
    /// It is no record any more.
    Unreadable,
    /// It reads as the same record.
    Same,
}

/// The record without the units in which its numbers are shown.
fn without_units(record: &Record) -> String {
    fn plain(value: &mut serde_json::Value) {
        match value {
            serde_json::Value::Array(list) => match &list[..] {
                [number, unit] if number.is_number() && unit.is_string() => *value = number.clone(),
                _ => list.iter_mut().for_each(plain),
            },
            serde_json::Value::Object(entries) => entries.values_mut().for_each(plain),
            _ => {}
        }
    }
    let mut value = serde_json::to_value(record).expect("JSON");
    plain(&mut value["facts"]);
    plain(&mut value["findings"]);
    value.to_string()
}

/// Every fact with its grounds, told out without numbers, in alphabetical order.
fn told_out(record: &Record) -> Vec<String> {
    let relations = record.facts.iter();
    let facts: Vec<(String, &RecordedFact)> = relations
        .flat_map(|relation| {
            let known = relation.known.iter().map(|fact| ("known", fact));
            known
                .chain(relation.open.iter().map(|fact| ("open", fact)))
                .map(|(status, fact)| (format!("{status} {} {:?}", relation.relation, fact.cells), fact))
        })
        .collect();
    let all = |numbers: &[usize]| {
        let mut told: Vec<&str> = numbers.iter().map(|number| facts[*number].0.as_str()).collect();
        told.sort_unstable();
        told.join(" ")
    };
    let findings = record.findings.iter();
    let applications: Vec<String> = findings
        .flat_map(|finding| finding.applied.iter().map(|application| (&finding.finding, application)))
        .map(|(finding, application)| {
            let met = application.met.iter().map(|met| match met {
                RecordedMet::Given(number) => facts[*number].0.clone(),
                RecordedMet::Unless(absence) => {
                    format!("{} {:?} {}", absence.no, absence.with, all(&absence.open))
                }
                RecordedMet::Aggregate(aggregate) => {
                    format!("{:?} {}", aggregate.value, all(&aggregate.over))
                }
                other => format!("{other:?}"),
            });
            format!("{finding} {} {}", application.open, met.collect::<Vec<_>>().join(" "))
        })
        .collect();
    let ground = |ground: &RecordedGround| match ground {
        RecordedGround::Finding(number) => applications[*number].clone(),
        RecordedGround::Computed(computation) => {
            format!(
                "{} {} {:?}",
                all(&computation.from),
                record.methods[computation.method],
                computation.steps
            )
        }
        other => format!("{other:?}"),
    };
    let mut told: Vec<String> = facts
        .iter()
        .map(|(cells, fact)| {
            let mut grounds: Vec<String> = fact.by.iter().map(ground).collect();
            grounds.sort_unstable();
            format!("{cells} {}", grounds.join(" "))
        })
        .collect();
    told.sort_unstable();
    told
}

/// What became of a change; panics where it went by unseen.
fn came(original: &Record, changed: &Record, names: &[String], about: &str) -> Came {
    let checked = checked(changed);
    if !checked.holds {
        let named = |text: &str| names.iter().any(|name| text.contains(name.as_str()));
        let told = checked.problems.iter().any(|problem| {
            let place = problem.place.as_deref().unwrap_or_default();
            assert!(!problem.about.is_empty() && problem.expected != problem.found, "{problem:?}");
            [problem.about.as_str(), &problem.expected, &problem.found, place].into_iter().any(named)
        });
        assert!(
            told,
            "{about}: none of {names:?} is named in {:#?}",
            &checked.problems[..checked.problems.len().min(8)]
        );
        return Came::Told;
    }
    if changed == original {
        return Came::Same;
    }
    if without_units(changed) == without_units(original) {
        return Came::OtherUnits;
    }
    let rest = |record: &Record| Record { facts: Vec::new(), findings: Vec::new(), ..record.clone() };
    if rest(changed) == rest(original) && told_out(changed) == told_out(original) {
        return Came::OtherNumbers;
    }
    let files = changed.rulebook.files.iter();
    let files: Vec<SourceFile> =
        files.map(|file| SourceFile { name: file.file.clone(), text: file.text.clone() }).collect();
    let rules = reread_rulebook(&files).expect("the changed rules");
    let again = recorded(&changed.job.text, &rules);
    assert!(again == *changed, "{about}: the check lets it pass");
    Came::OtherwiseTrue
}

/// Changes a record in every way, so many times each, and counts what became of it.
fn change_all(original: &Record, times: u64) -> BTreeMap<&'static str, BTreeMap<Came, usize>> {
    let mut counts: BTreeMap<&str, BTreeMap<Came, usize>> = BTreeMap::new();
    for (kind, (name, change)) in CHANGES.iter().enumerate() {
        let mut made = 0;
        for seed in 0..times * 4 {
            let mut random = Seeded::new(seed * 1000 + kind as u64);
            let mut changed = original.clone();
            let Some(names) = change(&mut changed, &mut random) else { continue };
            assert!(changed != *original, "{name}, seed {seed}, changes nothing");
            let came = came(original, &changed, &names, &format!("{name}, seed {seed}"));
            *counts.entry(name).or_default().entry(came).or_default() += 1;
            made += 1;
            if made == times {
                break;
            }
        }
    }
    counts
}

/// Kinds of change that may be true of other rules, of another job, or of the same numbers.
const MAY_BE_TRUE: [&str; 5] = [
    "a rule file left out, with the fingerprint",
    "a figure of the rules, with its fingerprint",
    "a figure of the job, with its fingerprint",
    "two facts with each other's cells",
    "a unit",
];

fn judged(counts: &BTreeMap<&str, BTreeMap<Came, usize>>, least: usize) {
    let told = |came: &BTreeMap<Came, usize>| came.get(&Came::Told).copied().unwrap_or(0);
    for (name, came) in counts {
        assert!(told(came) > 0, "{name} is never told: {came:?}");
        assert!(came.len() == 1 || MAY_BE_TRUE.contains(name), "{name}: {came:?}");
    }
    let all: usize = counts.values().flat_map(|came| came.values()).sum();
    let told: usize = counts.values().map(told).sum();
    assert!(all >= least && told * 10 >= all * 9, "{told} of {all} told: {counts:#?}");
}

fn forged_in_a_record(times: u64) {
    // Some questions are open in it, and it is written in inches, so that everything a record can hold is there.
    let job = example("half-answered-cart.toml").replace("\"3 mm\"", "\"0.125 in\"")
        + "\n[choice]\navailable = [\"4043\", \"5356\", \"5183\", \"1100\"]\n";
    let counts = change_all(&recorded(&job, rulebook()), times);
    assert_eq!(counts.len(), CHANGES.len(), "some kind of change found nothing to change: {counts:#?}");
    judged(&counts, 40 * times as usize);
}

#[test]
fn what_is_forged_in_a_record_twice_is_named() {
    forged_in_a_record(2);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn what_is_forged_in_a_record_is_named() {
    forged_in_a_record(5);
}

fn altered_records(seeds: std::ops::Range<u64>) {
    let jobs = (seeds.end - seeds.start) as usize;
    // Of these kinds some are true of other rules or of another job; what they come to is told above.
    let meaning = CHANGES.iter().filter(|(name, _)| !MAY_BE_TRUE.contains(name));
    assert!(meaning.clone().count() > 40);
    let mut made = BTreeMap::new();
    for seed in seeds {
        let original = recorded(&job(seed, rulebook(), SMALL), rulebook());
        for (name, change) in meaning.clone() {
            for random in 0..20 {
                let mut changed = original.clone();
                let Some(names) = change(&mut changed, &mut Seeded::new(seed * 100 + random)) else {
                    continue;
                };
                let about = format!("job {seed}, {name}, seed {random}");
                assert_eq!(came(&original, &changed, &names, &about), Came::Told, "{about}");
                *made.entry(*name).or_insert(0) += 1;
                break;
            }
        }
    }
    assert!(made.len() > 40, "{made:?}");
    for wanted in ["a value that was computed", "a cell of a row of a table", "grounds in another order"] {
        assert_eq!(made.get(wanted), Some(&jobs), "{made:?}");
    }
}

#[test]
fn one_alteration_of_a_generated_record_is_refused() {
    altered_records(300..301);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn one_alteration_of_any_generated_record_is_refused() {
    altered_records(300..306);
}

fn forged_in_a_small_record(times: u64, least: usize) {
    let rulebook = read_rulebook(&small()).expect("the small rulebook");
    for job in ["job.toml", "half-answered.toml"] {
        let job = std::fs::read_to_string(root().join("tests/rulebooks/small").join(job)).expect("a job");
        judged(&change_all(&recorded(&job, &rulebook), times), least);
    }
}

#[test]
fn what_is_forged_in_a_small_record_is_named() {
    forged_in_a_small_record(6, 190);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn what_is_forged_often_in_a_small_record_is_named() {
    forged_in_a_small_record(25, 800);
}

fn altered_bytes(seeds: u64) {
    let rulebook = read_rulebook(&small()).expect("the small rulebook");
    let job =
        std::fs::read_to_string(root().join("tests/rulebooks/small/half-answered.toml")).expect("a job");
    let original = recorded(&job, &rulebook);
    let text = original.text().expect("JSON");
    let mut counts: BTreeMap<Came, usize> = BTreeMap::new();
    for seed in 0..seeds {
        let mut random = Seeded::new(seed);
        let mut bytes = text.clone().into_bytes();
        let at = random.below(bytes.len());
        match random.below(3) {
            0 => drop(bytes.remove(at)),
            1 => bytes.insert(at, random.between(0x20, 0x7e) as u8),
            _ => bytes[at] = random.between(0x20, 0x7e) as u8,
        }
        let about = format!("seed {seed}, byte {at}");
        let changed = Record::read(&bytes[..], &RecordBudget::default()).ok();
        let came = match changed {
            None => Came::Unreadable,
            Some(changed) if changed == original => Came::Same,
            Some(changed) if changed.program.version != original.program.version => {
                let checked = checked(&changed);
                assert!(!checked.holds && checked.remarks[0].contains("version"), "{about}: {checked:?}");
                Came::Told
            }
            Some(changed) => came(&original, &changed, &[String::new()], &about),
        };
        assert!(came != Came::OtherwiseTrue, "{about}");
        *counts.entry(came).or_default() += 1;
    }
    for wanted in [Came::Told, Came::Unreadable, Came::Same] {
        assert!(counts.get(&wanted).is_some_and(|count| *count > seeds as usize / 150), "{counts:?}");
    }
    assert!(counts.get(&Came::OtherUnits).is_none_or(|count| *count < seeds as usize / 100), "{counts:?}");
}

#[test]
fn some_altered_bytes_are_named_or_change_nothing() {
    altered_bytes(600);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn an_altered_byte_is_named_or_changes_nothing() {
    altered_bytes(3000);
}

fn altered_figures(seeds: u64) {
    let original = recorded(&job(7, rulebook(), SMALL), rulebook());
    let text = original.text().expect("JSON");
    let mut told = 0;
    for seed in 0..seeds {
        let mut random = Seeded::new(seed);
        let mut bytes = text.clone().into_bytes();
        // A figure in the place of a figure, so that it mostly stays readable.
        let figures: Vec<usize> =
            (0..400).map(|_| random.below(bytes.len())).filter(|at| bytes[*at].is_ascii_digit()).collect();
        let at = *random.one_of(&figures);
        bytes[at] = b'0' + (bytes[at] - b'0' + 1 + random.below(9) as u8) % 10;
        let changed = Record::read(&bytes[..], &RecordBudget::default()).ok();
        let Some(changed) = changed.filter(|changed| *changed != original) else { continue };
        let came = came(&original, &changed, &[String::new()], &format!("seed {seed}, byte {at}"));
        told += u64::from(came == Came::Told);
    }
    assert!(told > seeds * 2 / 3, "only {told} changes were readable and told");
}

#[test]
fn some_altered_figures_of_a_whole_record_are_named() {
    altered_figures(15);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn an_altered_figure_of_a_whole_record_is_named_or_changes_nothing() {
    altered_figures(60);
}

#[test]
fn the_record_of_a_job_is_the_same_every_time() {
    let text = || record(&decided(&example("kite-reel.toml"))).expect("a record").text().expect("JSON");
    assert_eq!(text(), text());
}
