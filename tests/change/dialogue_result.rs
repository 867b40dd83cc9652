//! Asking ends where the full job ends: answers are taken out of jobs, asked for and given again. What is not asked for may
//! be filled in with anything: of words every one was tried before the asking stopped, of numbers only some, so that a few
//! fillings may still move the result; how few is held here.

use crate::support::job_sample::{SMALL, Seeded};
use crate::support::program::library::rulebook;
use crate::support::terminal::*;
use std::path::Path;
use toml_edit::DocumentMut;
use whyrod::change::{JobText, OpenQuestions, Setting, Written, open_questions};
use whyrod::engine::Recording;
use whyrod::job::Job;
use whyrod::language::Type;
use whyrod::quantity::Dimension;

/// Joints that are settled, with what is recommended at each joint.
fn result(ended: &OpenQuestions) -> Vec<(&str, bool, &[String])> {
    ended.joints.iter().map(|joint| (&*joint.joint, joint.settled, &*joint.recommended)).collect()
}

/// What was counted over some jobs.
#[derive(Default, Debug)]
struct Counted {
    /// Answers taken out.
    taken: usize,
    /// Questions put.
    put: usize,
    /// Times that what was not asked for was filled in.
    filled: usize,
    /// Times that this moved the result.
    moved: usize,
}

/// Takes some answers out, has them asked for, and looks whether it ends where the full job ends.
fn asked_again(folder: &Path, text: &str, random: &mut Seeded, fillings: usize, counted: &mut Counted) {
    let full = job("full.toml", text);
    let document: DocumentMut = text.parse().expect("TOML");
    let taken: Vec<Vec<String>> =
        answers(&document).into_iter().map(|(keys, _)| keys).filter(|_| random.chance(50)).collect();
    let path = crate::support::program::write(folder, "job.toml", without(&document, &taken));
    let talk = talk(&path, 10_000, as_in(&full));
    let ended = talk.outcome.unwrap_or_else(|error| panic!("{error}\n{text}"));
    let wanted = open_questions(session(), &full, &Default::default()).expect("the full job");
    // Where the full job has no answer either, the question is left open, and others may come to matter.
    if !talk.left_open {
        assert_eq!(result(&ended), result(&wanted), "{text}\n{}", talk.screen);
    }
    // Nothing that was not said before stands in the file, and nothing that stood there went away.
    let (before, after) = (job("job.toml", &without(&document, &taken)), &talk.job);
    for fact in &after.facts {
        let same = |known: &&whyrod::job::JobFact| {
            (known.relation, known.cells[0].to_string()) == (fact.relation, fact.cells[0].to_string())
        };
        assert!(full.facts.iter().filter(same).any(|known| known.cells == fact.cells), "{fact:?}\n{text}");
    }
    assert!(before.facts.iter().all(|fact| after.facts.iter().any(|now| now.cells == fact.cells)), "{text}");
    if ended.joints.iter().all(|joint| joint.settled) {
        assert!(ended.questions.is_empty());
        for _ in 0..fillings {
            counted.filled += 1;
            counted.moved += usize::from(moves(after, &ended, random));
        }
    }
    counted.taken += taken.len();
    counted.put += talk.put.len();
}

/// Answers at random what was left open, and tells whether other fillers are recommended then.
fn moves(job: &Job, ended: &OpenQuestions, random: &mut Seeded) -> bool {
    let settings: Vec<Setting> = ended
        .remaining
        .iter()
        .map(|open| {
            let path: whyrod::change::Path = open.path.parse().expect("a path");
            let key = questions().iter().find(|key| key.path == path.kind()).expect("a question");
            let value = match key.answer {
                Type::Word(kind) => random.one_of(&rulebook().kinds[kind.index()].words).to_string(),
                Type::Number(Dimension::TEMPERATURE) => format!("{} °C", random.between(0, 300) as i64 - 200),
                Type::Number(Dimension::LENGTH) => format!("{} mm", random.between(1, 300) as f64 / 10.0),
                _ => (*random.one_of(&["O", "F", "T4", "T6", "H14", "H32"])).to_owned(),
            };
            Setting { path, value: Written::Text(value) }
        })
        .collect();
    let text = JobText::of(job).expect("a text");
    let changed = session().changed(&text, &settings).unwrap_or_else(|error| panic!("{error}"));
    // Two temperatures drawn apart may be the wrong way round: such a job is refused.
    let Ok(decision) = session().decide(changed, Recording::Nothing) else { return false };
    let report = decision.report();
    let moved =
        report.joints.iter().zip(&ended.joints).find(|(told, now)| told.recommended != now.recommended);
    if let Some((told, now)) = moved {
        let settings: Vec<String> = settings.iter().map(ToString::to_string).collect();
        let (joint, settings) = (&told.joint, settings.join(", "));
        println!(
            "{joint}: {:?} instead of {:?} with {settings}\n{}",
            told.recommended,
            now.recommended,
            text_of(job)
        );
    }
    moved.is_some()
}

fn text_of(job: &Job) -> &str {
    &job.sources.files[0].text
}

/// Examples by name, all of them or the small ones.
fn examples_end_as_the_full_job(is_wanted: impl Fn(&str) -> bool, least: usize) {
    let folder = crate::support::program::folder();
    let mut random = Seeded::new(7);
    let mut counted = Counted::default();
    for entry in std::fs::read_dir(crate::support::program::root().join("examples")).expect("examples") {
        let path = entry.expect("an entry").path();
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        if name.ends_with(".toml") && is_wanted(&name) {
            let text = std::fs::read_to_string(&path).expect("an example");
            asked_again(folder.path(), &text, &mut random, 2, &mut counted);
        }
    }
    println!("{counted:?}");
    assert!(counted.put > least && counted.put < counted.taken, "{counted:?}");
    assert!(counted.filled >= least / 2 && counted.moved == 0, "{counted:?}");
}

#[test]
fn some_examples_end_as_the_full_job() {
    examples_end_as_the_full_job(|name| name.starts_with(['k', 'l']), 4);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn every_example_ends_as_the_full_job() {
    examples_end_as_the_full_job(|_| true, 10);
}

fn random_jobs_end(seeds: std::ops::Range<u64>) {
    let jobs = (seeds.end - seeds.start) as usize;
    let folder = crate::support::program::folder();
    let mut counted = Counted::default();
    for seed in seeds {
        let text = crate::support::job_sample::job(seed, rulebook(), SMALL);
        asked_again(folder.path(), &text, &mut Seeded::new(seed + 1000), 2, &mut counted);
    }
    println!("{counted:?}");
    assert!(counted.put > jobs && counted.put < counted.taken, "{counted:?}");
    assert!(counted.filled > jobs && counted.moved * 50 <= counted.filled, "{counted:?}");
}

#[test]
fn some_random_jobs_end_as_the_full_job() {
    random_jobs_end(0..14);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn random_jobs_end_as_the_full_job() {
    random_jobs_end(0..100);
}

#[test]
fn nothing_is_asked_of_a_full_job() {
    for example in ["hot-grain-dryer.toml", "kite-reel.toml"] {
        let text = crate::support::program::example(example);
        let ended = open_questions(session(), &job(example, &text), &Default::default()).expect("an ended");
        assert!(ended.questions.is_empty(), "{example}: {:?}", ended.questions[0].question);
        assert!(ended.joints.iter().all(|joint| joint.settled));
    }
}
