//! Time of one changed job in a session, and of the smallest changes and margins of the examples' first joints.

use divan::{Bencher, black_box};
use whyrod::change::{Candidacy, JobText, Session, Setting, margins, smallest_changes};
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::language::{Rulebook, read_rulebook};
use whyrod::verdict::Verdict;

const EXAMPLES: [&str; 4] = ["half-answered-cart", "hot-grain-dryer", "library-balustrade", "oyster-barge"];

fn main() {
    divan::main();
}

fn rulebook() -> Rulebook {
    read_rulebook("rules".as_ref()).expect("the built-in rulebook")
}

fn example(name: &str) -> String {
    std::fs::read_to_string(format!("examples/{name}.toml")).expect("an example")
}

#[divan::bench]
fn make_ready(bencher: Bencher) {
    let rulebook = rulebook();
    bencher.bench(|| Session::new(black_box(&rulebook)).map(|_| ()));
}

/// A fact changed in the text, the job read again, and one filler looked at: alone, or beside all others.
#[divan::bench(args = [false, true])]
fn one_changed_job(bencher: Bencher, beside_all: bool) {
    let rulebook = rulebook();
    let session = Session::new(&rulebook).expect("a session");
    let job = read_job("job.toml", example("hot-grain-dryer").as_bytes(), &rulebook).expect("a job");
    let text = JobText::of(&job).expect("a text");
    let setting: Setting = "service.sustained-temperature = 60 °C".parse().expect("a setting");
    let rivals: Option<&[_]> = if beside_all { None } else { Some(&[]) };
    let question = Candidacy { joint: "duct to flange", filler: "5356", rivals };
    bencher.bench(|| {
        let job = session.changed(&text, std::slice::from_ref(black_box(&setting))).expect("a job");
        session.assess(&job, &question).expect("an assessment")
    });
}

/// Every filler of one verdict at the first joint; freezing is done in the first round and known from then on, so that the
/// whole process is better timed from outside.
#[divan::bench(args = EXAMPLES, sample_count = 5)]
fn smallest(bencher: Bencher, name: &str) {
    let rulebook = rulebook();
    let session = Session::new(&rulebook).expect("a session");
    let job = read_job("job.toml", example(name).as_bytes(), &rulebook).expect("a job");
    let decision = session.decide(job, Recording::Everything).expect("a decision");
    let report = decision.report();
    let here = &report.joints[0];
    let filler = here.verdicts.iter().rfind(|verdict| verdict.verdict != Verdict::Recommended);
    let filler = filler.map_or("4043", |verdict| verdict.filler.as_str());
    bencher.bench(|| smallest_changes(&session, &decision, &here.joint, filler, &[], &|_| ()).map(|_| ()));
}

#[divan::bench(args = EXAMPLES, sample_count = 5)]
fn margin(bencher: Bencher, name: &str) {
    let rulebook = rulebook();
    let session = Session::new(&rulebook).expect("a session");
    let job = read_job("job.toml", example(name).as_bytes(), &rulebook).expect("a job");
    let decision = session.decide(job, Recording::Everything).expect("a decision");
    let report = decision.report();
    let here = &report.joints[0];
    let filler = here.recommended.first().map_or("4043", String::as_str);
    bencher.bench(|| margins(&session, &decision, &here.joint, filler, &|_| ()).map(|_| ()));
}
