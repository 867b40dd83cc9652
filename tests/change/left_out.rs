//! What a job leaves out and a derivation works out has a margin as well, and a filler that is merely not listed is judged as if it
//! were.

use crate::support::program::library::rulebook;
use assert_cmd::Command;
use std::io::Write;
use whyrod::change::{End, Margin, Session, margins, with_listed};
use whyrod::engine::Recording;
use whyrod::job::read_job;
use whyrod::verdict::Verdict;

/// A loaded fillet of 8 mm 6061: neither leg nor dilution is given.
const LOADED: &str = r#"
[parts.plate]
alloy = "6061"
temper = "T6"
thickness = "8 mm"

[[joints]]
name = "lug"
between = ["plate", "plate"]
weld = "fillet"
process = "GMAW"
design.code = "EN 1999-1-1"
load.shear = "40 kN"
load.length = "200 mm"

[service]
sustained-temperature = "20 °C"
lowest-temperature = "-10 °C"
exposure = "dry"
finish = "none"
forming = "none"
heat-treatment = "none"
"#;

fn margins_of(text: &str, joint: &str, filler: &str) -> Vec<Margin> {
    let session = Session::new(rulebook()).expect("a session");
    let job = read_job("job.toml", text.as_bytes(), rulebook()).expect("a job");
    let decision = session.decide(job, Recording::Everything).expect("a decision");
    margins(&session, &decision, joint, filler, &|_| {}).expect("margins")
}

#[test]
fn a_dilution_and_a_leg_that_are_worked_out_have_margins() {
    // An Al-Mg filler is eaten up by much base metal (Mathers 2002, p. 50); where the weld is anodised no silicon filler is taken.
    let anodised = LOADED.replace("finish = \"none\"", "finish = \"clear anodised\"");
    let found = margins_of(&anodised, "lug", "5356");
    let of = |path: &str| -> Vec<&Margin> { found.iter().filter(|margin| margin.path == path).collect() };
    let dilution = of("joints.lug.dilution");
    assert!(!dilution.is_empty(), "{found:?}");
    for margin in dilution {
        assert_eq!((margin.now.as_deref(), margin.worked_out.as_deref()), (None, Some("20 to 45 %")));
        assert_eq!(margin.end, Some(End::Highest));
        let up = margin.up.as_ref().expect("the more base metal, the less magnesium");
        assert!(up.border.holds > 45.0 && up.border.holds < 100.0, "{up:?}");
    }
    let found = margins_of(LOADED, "lug", "4043");
    let of = |path: &str| -> Vec<&Margin> { found.iter().filter(|margin| margin.path == path).collect() };
    let leg = of("joints.lug.leg");
    let [leg] = leg.as_slice() else { panic!("{found:?}") };
    let down = leg.down.as_ref().expect("a smaller leg does not carry the load");
    let up = leg.up.as_ref().expect("a larger one is more than the plate bears");
    assert_eq!(down.then.verdict, Verdict::Barred);
    // 1.5 times the 8 mm of the plate: the border of the rulebook (common practice).
    assert_eq!(up.border.holds, 12.0);
    assert_eq!(leg.worked_out.as_deref(), Some("5.404 mm"));
    assert!((down.border.holds - 5.404_102).abs() < 1e-5, "{down:?}");
}

#[test]
fn what_is_given_is_not_worked_out() {
    let given =
        LOADED.replace("process = \"GMAW\"", "process = \"GMAW\"\nleg = \"6 mm\"\ndilution = \"20..45 %\"");
    let found = margins_of(&given, "lug", "4043");
    assert!(found.iter().all(|margin| margin.worked_out.is_none()), "{found:?}");
    let leg = found.iter().find(|margin| margin.path == "joints.lug.leg").expect("the leg's margin");
    assert_eq!(leg.now.as_deref(), Some("6 mm"));
}

#[test]
fn a_filler_that_is_not_listed_is_judged_as_if_it_were() {
    let listing = format!("{LOADED}\n[choice]\navailable = [\"4043\", \"5356\"]\n");
    let mut file = tempfile::Builder::new().suffix(".toml").tempfile().expect("a file");
    file.write_all(listing.as_bytes()).expect("written");
    let path = file.path().to_str().expect("a path");
    let run = |arguments: &[&str]| {
        let mut command = Command::cargo_bin("whyrod").expect("the program is built");
        let output = command.args(arguments).output().expect("it runs");
        (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned())
    };
    let (status, page) = run(&["why-not", path, "2319"]);
    assert_eq!(status, Some(0));
    assert!(page.starts_with("2319 is not among the fillers that the job lists. If it were:"), "{page}");
    assert!(page.contains("2319 is barred at lug on hot cracking"), "{page}");
    let first = page.find("As the job stands, use 4043 there.").expect("what serves");
    let then = page.find("No change of up to three facts").expect("what would change it");
    assert!(first < then, "another filler comes before every other change: {page}");
    let (_, told) = run(&["why", path, "5183", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&told).expect("JSON");
    assert_eq!((&told["listed"], &told["verdict"]), (&false.into(), &"usable".into()));
    let (_, told) = run(&["why", path, "5356", "--json"]);
    let told: serde_json::Value = serde_json::from_str(&told).expect("JSON");
    assert_eq!(told["listed"], true);
    assert_eq!(told["instead"], serde_json::json!(["4043"]));
}

#[test]
fn the_list_grows_by_one() {
    let session = Session::new(rulebook()).expect("a session");
    let read = |text: &str| read_job("job.toml", text.as_bytes(), rulebook()).expect("a job");
    let listing = read(&format!("{LOADED}\n[choice]\navailable = [\"4043\"]\n"));
    let more = with_listed(&session, &listing, "5183").expect("a job").expect("a longer list");
    let names: Vec<&str> = more.available.iter().map(|name| &**name).collect();
    assert_eq!(names, ["4043", "5183"]);
    assert!(with_listed(&session, &listing, "4043").expect("a job").is_none());
    assert!(with_listed(&session, &read(LOADED), "5183").expect("a job").is_none());
}
