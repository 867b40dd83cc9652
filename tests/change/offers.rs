//! Changed jobs: what is offered as a change brings the verdict that is promised and nothing less does, margins hold just inside
//! and fail just outside, and a quick seen sees what a whole decision sees.

use crate::support::job_sample::{SMALL, Seeded};
use crate::support::program::library::rulebook;
use crate::support::program::*;
use std::collections::BTreeMap;
use std::sync::OnceLock;
use whyrod::change::{
    Candidacy, Change, JobText, Margin, Path, Session, Setting, Stretch, margins, smallest_changes, suppose,
};
use whyrod::engine::Recording;
use whyrod::job::Job;
use whyrod::verdict::{Decision, Verdict};

fn session() -> &'static Session<'static> {
    static READY: OnceLock<Session<'static>> = OnceLock::new();
    READY.get_or_init(|| Session::new(rulebook()).expect("a session"))
}

fn quiet(_: usize) {}

/// One job of a test, decided.
struct Case {
    name: String,
    decision: Decision<'static>,
    text: JobText,
}

impl Case {
    fn of(name: &str, text: &str) -> Case {
        let job = whyrod::job::read_job(name, text.as_bytes(), rulebook()).expect("a job without mistakes");
        let text = JobText::of(&job).expect("a text");
        let decision = session().decide(job, Recording::Everything).expect("a decision");
        Case { name: name.to_owned(), decision, text }
    }

    fn job(&self) -> Job {
        self.decision.job.clone()
    }

    /// The verdict on a filler at a joint, with some settings; `None` where the job then has mistakes.
    fn verdict(&self, joint: &str, filler: &str, settings: &[Setting]) -> Option<Verdict> {
        let job = session().changed(&self.text, settings).ok()?;
        let report = session().decide(job, Recording::Nothing).expect("a decision").report();
        let here = report.joints.iter().find(|known| known.joint == joint)?;
        here.verdicts.iter().find(|verdict| verdict.filler == filler).map(|verdict| verdict.verdict)
    }

    fn changes(&self, joint: &str, filler: &str, kept: &[Path]) -> Vec<Change> {
        let found = smallest_changes(session(), &self.decision, joint, filler, kept, &quiet);
        found.unwrap_or_else(|error| panic!("{}: {error}", self.name)).offered
    }

    fn margins(&self, joint: &str, filler: &str) -> Vec<Margin> {
        margins(session(), &self.decision, joint, filler, &quiet).expect("margins")
    }
}

/// Settings as a user writes them, from the shape that a change has in JSON.
fn written(set: &BTreeMap<String, String>) -> Vec<Setting> {
    set.iter().map(|(path, value)| format!("{path} = {value}").parse().expect("a setting")).collect()
}

fn examples() -> Vec<Case> {
    let mut names: Vec<_> = std::fs::read_dir(root().join("examples"))
        .expect("examples")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "toml"))
        .collect();
    names.sort();
    assert!(names.len() >= 8);
    names
        .iter()
        .map(|path| Case::of(&path.display().to_string(), &std::fs::read_to_string(path).expect("a job")))
        .collect()
}

fn sample(seed: u64) -> Case {
    Case::of(&format!("sample-{seed}.toml"), &crate::support::job_sample::job(seed, rulebook(), SMALL))
}

/// Holds every change against what it promises: it brings the verdict, and no proper subset does.
fn hold(case: &Case, joint: &str, filler: &str, offered: &[Change]) {
    let now = case.verdict(joint, filler, &[]).expect("a verdict");
    for change in offered {
        let settings = written(&change.set);
        let told = format!("{}: {filler} at {joint} with {settings:?}", case.name);
        assert!((1..=3).contains(&settings.len()), "{told}");
        assert!(change.verdict < now, "{told} is promised {:?} and is {now:?}", change.verdict);
        let moved = suppose(session(), case.job(), &settings, Some(joint)).expect("the change can be made");
        let after = moved
            .joints
            .iter()
            .flat_map(|joint| &joint.fillers)
            .find(|moved| moved.filler == filler)
            .unwrap_or_else(|| panic!("{told}: nothing moved"));
        assert_eq!(after.verdict.after, Some(change.verdict), "{told}");
        for chosen in 1..(1usize << settings.len()) - 1 {
            let some: Vec<Setting> = settings
                .iter()
                .enumerate()
                .filter(|(index, _)| chosen >> index & 1 == 1)
                .map(|(_, setting)| setting.clone())
                .collect();
            let less = case.verdict(joint, filler, &some);
            assert!(less.is_none_or(|less| less > change.verdict), "{told}: {some:?} is enough");
        }
    }
}

/// Numbers between the ends of a stretch, and beyond its only one on the side where it holds.
fn inside(stretch: &Stretch) -> Vec<f64> {
    match (stretch.lowest, stretch.highest) {
        (Some(low), Some(high)) => {
            (1..8).map(|part| low.holds + (high.holds - low.holds) * f64::from(part) / 8.0).collect()
        }
        (Some(low), None) => [1.05, 1.3, 1.9].map(|times| low.holds * times).to_vec(),
        (None, Some(high)) => [0.95, 0.7, 0.4].map(|times| high.holds * times).to_vec(),
        (None, None) => Vec::new(),
    }
}

/// Holds the stretches of a change against every filler: each number in them brings the verdict.
fn hold_inside(case: &Case, joint: &str, filler: &str, offered: &[Change]) -> usize {
    let mut tried = 0;
    for change in offered {
        for (path, stretches) in &change.borders {
            for stretch in stretches {
                let unit = stretch.lowest.or(stretch.highest).map_or("", |border| border.unit.symbol());
                for number in inside(stretch) {
                    let mut set = change.set.clone();
                    set.insert(path.clone(), format!("{number} {unit}").trim_end().to_owned());
                    let verdict = case.verdict(joint, filler, &written(&set));
                    let told = format!("{}: {filler} at {joint} with {set:?}", case.name);
                    assert!(verdict.is_none_or(|verdict| verdict <= change.verdict), "{told}: {verdict:?}");
                    tried += usize::from(verdict.is_some());
                }
            }
        }
    }
    tried
}

fn offered_stretches(jobs: u64) {
    let mut tried = 0;
    for seed in 0..jobs {
        let case = sample(seed);
        let joint = case.decision.job.joints[0].name.to_string();
        for filler in fillers(&case, &joint, &mut Seeded::new(seed), NOT_RECOMMENDED) {
            tried += hold_inside(&case, &joint, &filler, &case.changes(&joint, &filler, &[]));
        }
    }
    let examples = examples();
    let vat = examples.iter().find(|case| case.name.ends_with("bleach-vat.toml")).expect("the example");
    tried += hold_inside(vat, "hinge to lid", "5356", &vat.changes("hinge to lid", "5356", &[]));
    assert!(tried > 30, "{tried}");
}

#[test]
fn some_offered_stretches_hold_inside() {
    offered_stretches(3);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn every_offered_stretch_holds_inside() {
    offered_stretches(12);
}

/// Holds every margin against the program: it stands just inside and falls just outside. How many borders there are, and how many
/// of them are as fine as halving goes.
fn hold_margins(case: &Case, joint: &str, filler: &str, margins: &[Margin]) -> (usize, usize) {
    let (mut fine, mut limits) = (0, 0);
    let with = |path: &str, value: &str| {
        case.verdict(joint, filler, &[format!("{path} = {value}").parse().expect("a setting")])
    };
    for margin in margins {
        let told = format!("{}: {filler} at {joint}, {margin:?}", case.name);
        for limit in [&margin.down, &margin.up].into_iter().flatten() {
            assert_eq!(with(&margin.path, &limit.last), Some(Verdict::Recommended), "inside: {told}");
            let beyond = with(&margin.path, &limit.first_beyond);
            assert_eq!(beyond, Some(limit.then.verdict), "outside: {told}");
            assert_ne!(beyond, Some(Verdict::Recommended), "outside: {told}");
            let apart = (limit.border.holds - limit.border.fails).abs();
            let size = limit.border.holds.abs().max(limit.border.fails.abs()).max(1.0);
            // A border is as fine as halving goes, or as what is computed there holds still.
            assert!(apart <= 2.1e-4 * size, "{told}");
            fine += usize::from(apart <= 1.001e-7 * size);
            limits += 1;
        }
        for toppled in &margin.topples {
            assert_eq!(with(&margin.path, &toppled.value), Some(toppled.then.verdict), "{told}");
            assert_ne!(toppled.then.verdict, Verdict::Recommended, "{told}");
        }
    }
    (limits, fine)
}

/// Some fillers of a joint: of each verdict one, chosen by the seed.
fn fillers(case: &Case, joint: &str, random: &mut Seeded, wanted: &[Verdict]) -> Vec<String> {
    let report = case.decision.report();
    let here = report.joints.iter().find(|known| known.joint == joint).expect("the joint");
    wanted
        .iter()
        .filter_map(|wanted| {
            let of: Vec<&str> = here
                .verdicts
                .iter()
                .filter(|verdict| verdict.verdict == *wanted)
                .map(|verdict| verdict.filler.as_str())
                .collect();
            (!of.is_empty()).then(|| (*random.one_of(&of)).to_owned())
        })
        .collect()
}

const NOT_RECOMMENDED: &[Verdict] = &[Verdict::Usable, Verdict::Open, Verdict::Barred];

/// Fillers and joints of a case, held against the program; tells how many changes were offered.
fn held(case: &Case, joints: usize, most: usize, seed: u64) -> usize {
    let mut random = Seeded::new(seed);
    let mut offered = 0;
    let names: Vec<String> = case.decision.job.joints.iter().map(|joint| joint.name.to_string()).collect();
    for joint in names.iter().take(joints) {
        let fillers = fillers(case, joint, &mut random, NOT_RECOMMENDED);
        let first = random.below(fillers.len().max(1));
        for filler in fillers.into_iter().cycle().skip(first).take(most) {
            let changes = case.changes(joint, &filler, &[]);
            hold(case, joint, &filler, &changes);
            offered += changes.len();
        }
    }
    offered
}

fn changes_of_examples(of: usize, joints: usize, fillers: usize) -> usize {
    let cases = examples();
    let drawn = cases.iter().enumerate().filter(|(number, _)| number % of == 0);
    drawn.map(|(seed, case)| held(case, joints, fillers, seed as u64)).sum()
}

#[test]
fn changes_of_some_examples_bring_what_they_promise() {
    // Enough that the test holds something; which fillers are drawn depends on the rules.
    let offered = changes_of_examples(3, 1, 1);
    assert!(offered > 1, "{offered}");
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn changes_of_the_examples_bring_what_they_promise() {
    let offered = changes_of_examples(1, 2, 2);
    assert!(offered > 20, "{offered}");
}

fn changes_of_random(jobs: u64) {
    let offered: usize = (0..jobs).map(|seed| held(&sample(seed), 1, 1, seed)).sum();
    assert!(offered > jobs as usize, "{offered}");
}

#[test]
fn changes_of_some_random_jobs_bring_what_they_promise() {
    changes_of_random(15);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn changes_of_random_jobs_bring_what_they_promise() {
    changes_of_random(100);
}

fn margins_of_examples(of: usize) -> usize {
    let mut count = 0;
    for case in examples().into_iter().step_by(of) {
        let joint = case.decision.job.joints[0].name.to_string();
        for filler in fillers(&case, &joint, &mut Seeded::new(1), &[Verdict::Recommended]) {
            let margins = case.margins(&joint, &filler);
            hold_margins(&case, &joint, &filler, &margins);
            count += margins.len();
        }
    }
    count
}

#[test]
fn margins_of_some_examples_hold_inside_and_fail_outside() {
    let count = margins_of_examples(3);
    assert!(count > 1, "{count}");
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn margins_of_the_examples_hold_inside_and_fail_outside() {
    let count = margins_of_examples(1);
    assert!(count > 10, "{count}");
}

fn margins_of_random(jobs: u64) {
    let mut count = 0;
    let (mut limits, mut fine) = (0, 0);
    for seed in 0..jobs {
        let case = sample(seed);
        let joint = case.decision.job.joints[0].name.to_string();
        for filler in fillers(&case, &joint, &mut Seeded::new(seed), &[Verdict::Recommended]) {
            let margins = case.margins(&joint, &filler);
            let (of, as_fine) = hold_margins(&case, &joint, &filler, &margins);
            count += margins.len();
            (limits, fine) = (limits + of, fine + as_fine);
        }
    }
    assert!(count > jobs as usize / 2, "{count}");
    // What trembles is the exception.
    assert!(fine * 10 > limits * 8, "{fine} of {limits}");
}

#[test]
fn margins_of_some_random_jobs_hold_inside_and_fail_outside() {
    margins_of_random(20);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn margins_of_random_jobs_hold_inside_and_fail_outside() {
    margins_of_random(100);
}

/// More of the same: every joint of jobs with all known fillers.
#[test]
#[ignore = "very long; cargo test --release --test checks at_length -- --ignored"]
fn changes_and_margins_of_many_jobs_at_length() {
    for seed in 100..400 {
        let case = Case::of(
            "sample.toml",
            &crate::support::job_sample::job(seed, rulebook(), crate::support::job_sample::WHOLE),
        );
        held(&case, 4, 3, seed);
        for joint in case.decision.job.joints.iter().map(|joint| joint.name.to_string()) {
            for filler in fillers(&case, &joint, &mut Seeded::new(seed), &[Verdict::Recommended]) {
                hold_margins(&case, &joint, &filler, &case.margins(&joint, &filler));
            }
        }
    }
}

#[test]
fn what_is_kept_is_not_touched() {
    for seed in 0..6 {
        let case = sample(seed);
        let joint = case.decision.job.joints[0].name.to_string();
        for filler in fillers(&case, &joint, &mut Seeded::new(seed), &[Verdict::Barred]) {
            let free = case.changes(&joint, &filler, &[]);
            let Some(first) = free.first() else { continue };
            let kept: Vec<Path> = first.set.keys().map(|path| path.parse().expect("a path")).collect();
            let changes = case.changes(&joint, &filler, &kept);
            for path in first.set.keys() {
                assert!(changes.iter().all(|change| !change.set.contains_key(path)), "{path}");
            }
            hold(&case, &joint, &filler, &changes);
            // A whole section may be kept as well.
            let parts: Path = "parts".parse().expect("a path");
            let changes = case.changes(&joint, &filler, &[parts]);
            assert!(
                changes.iter().flat_map(|change| change.set.keys()).all(|path| !path.starts_with("parts"))
            );
        }
    }
}

#[test]
fn the_same_job_is_offered_the_same_changes() {
    for seed in [3, 8, 21] {
        let (one, other) = (sample(seed), sample(seed));
        let joint = one.decision.job.joints[0].name.to_string();
        for filler in fillers(&one, &joint, &mut Seeded::new(seed), NOT_RECOMMENDED) {
            assert_eq!(one.changes(&joint, &filler, &[]), other.changes(&joint, &filler, &[]));
        }
        for filler in fillers(&one, &joint, &mut Seeded::new(seed), &[Verdict::Recommended]) {
            assert_eq!(one.margins(&joint, &filler), other.margins(&joint, &filler));
        }
    }
}

#[test]
fn a_quick_look_sees_what_a_whole_decision_sees() {
    for seed in 0..40 {
        let case = sample(seed);
        for joint in &case.decision.report().joints {
            for verdict in &joint.verdicts {
                let candidacy = Candidacy { joint: &joint.joint, filler: &verdict.filler, rivals: None };
                let seen = session().assess(&case.decision.job, &candidacy).expect("an assessment");
                assert_eq!(
                    seen.verdict,
                    Some(verdict.verdict),
                    "{seed}: {} at {}",
                    verdict.filler,
                    joint.joint
                );
                let alone =
                    session().assess(&case.decision.job, &Candidacy { rivals: Some(&[]), ..candidacy });
                let alone = alone.expect("an assessment").verdict.expect("a candidate");
                let usable = |verdict: Verdict| verdict <= Verdict::Usable;
                assert_eq!(usable(alone), usable(verdict.verdict), "{seed}: {} alone", verdict.filler);
            }
        }
    }
}

#[test]
fn a_base_metal_that_bars_a_filler_is_changed_last() {
    // Copper in the base metal: no heat, finish or dilution makes 5356 fit for it.
    let case = Case::of(
        "job.toml",
        "[parts.plate]\nalloy = \"5083\"\ntemper = \"O\"\nthickness = \"6 mm\"\n\n[[joints]]\nname = \"seam\"\n\
         between = [\"plate\", \"plate\"]\nweld = \"fillet\"\nleg = \"5 mm\"\nprocess = \"GMAW\"\n\n[service]\n\
         sustained-temperature = \"30 °C\"\nlowest-temperature = \"0 °C\"\nexposure = \"dry\"\nfinish = \"none\"\n\
         forming = \"none\"\nheat-treatment = \"none\"\n",
    );
    let changes = case.changes("seam", "4043", &[]);
    hold(&case, "seam", "4043", &changes);
    let last = changes.iter().position(|change| change.last_resort).unwrap_or(changes.len());
    assert!(changes[last..].iter().all(|change| change.last_resort), "{changes:?}");
}

#[test]
fn suppose_tells_what_moved_and_by_which_findings() {
    let job = std::fs::read_to_string(root().join("examples/hot-grain-dryer.toml")).expect("the example");
    let case = Case::of("dryer.toml", &job);
    let settings = ["service.sustained-temperature = 60 °C".parse().expect("a setting")];
    let moved = suppose(session(), case.job(), &settings, Some("duct to flange")).expect("supposed");
    let filler = moved.joints[0].fillers.iter().find(|moved| moved.filler == "5356").expect("5356 moved");
    assert_eq!(
        (filler.verdict.before, filler.verdict.after),
        (Some(Verdict::Barred), Some(Verdict::Recommended))
    );
    assert_eq!(filler.no_longer[0].finding, "sustained-heat.weld.sensitised");
    assert_eq!(filler.newly[0].finding, "sustained-heat.weld.cool");
    let settings = ["service.sustained-temperature = 95.5 °C".parse().expect("a setting")];
    assert!(!suppose(session(), case.job(), &settings, None).expect("supposed").moved);
}
