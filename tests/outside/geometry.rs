//! What a job says of a joint's shape reaches the pools: sizes, passes, the two sides, and what is taken instead.

use crate::support::program::*;
use serde_json::Value;

/// A job of one joint between two parts, with more lines for the parts and the joint.
fn job(parts: [&str; 2], joint: &str) -> String {
    let [first, second] = parts;
    format!(
        "[parts.first]\n{first}\n[parts.second]\n{second}\n\n[[joints]]\nname = \"seam\"\n\
         between = [\"first\", \"second\"]\n{joint}\n\n[service]\nsustained-temperature = \"20 °C\"\n\
         lowest-temperature = \"0 °C\"\nexposure = \"dry\"\nfinish = \"none\"\nforming = \"none\"\n\
         heat-treatment = \"none\"\n"
    )
}

const THIN: &str = "alloy = \"6061\"\nthickness = \"3 mm\"";
const THICK: &str = "alloy = \"6061\"\nthickness = \"10 mm\"";

fn on_job(arguments: &[&str], job: &str, status: i32) -> Ended {
    let folder = folder();
    let path = write(folder.path(), "job.toml", job);
    let path = path.to_str().expect("a path");
    let arguments: Vec<&str> =
        arguments.iter().map(|word| if *word == "JOB" { path } else { word }).collect();
    run(arguments).with_status(status)
}

/// Every sentence of the derivation of a filler's verdict.
fn told(job: &str, filler: &str) -> Vec<String> {
    let answer = on_job(&["why", "JOB", filler, "--json", "--all"], job, 0).json();
    let answers = if answer.is_array() { list(&answer).clone() } else { vec![answer] };
    answers
        .iter()
        .flat_map(|answer| list(&answer["derivation"]["nodes"]).clone())
        .map(|node| text(&node["text"]))
        .collect()
}

#[track_caller]
fn tells(sentences: &[String], beginning: &str) {
    assert!(
        sentences.iter().any(|sentence| sentence.starts_with(beginning)),
        "nothing begins with \"{beginning}\" in {sentences:#?}"
    );
}

fn chosen(job: &str) -> Value {
    on_job(&["choose", "JOB", "--json"], job, 0).json()
}

fn standing(report: &Value, filler: &str, criterion: &str) -> (String, String) {
    let verdicts = list(&report["joints"][0]["verdicts"]);
    let verdict = verdicts.iter().find(|verdict| verdict["filler"] == filler).expect("the filler");
    let standings = list(&verdict["standings"]);
    let found = standings.iter().find(|standing| standing["criterion"] == criterion).expect("the criterion");
    (text(&found["standing"]), text(&found["says"]))
}

/// The rows of tests/outside/data/dilution.csv for a square butt of 3 mm, through a job file: 82 % without a gap, 61 % with one of
/// 1.5 mm.
#[test]
fn a_gap_thins_the_pool() {
    let butt = |more: &str| job([THIN, THIN], &format!("weld = \"square butt\"\nprocess = \"GTAW\"\n{more}"));
    let close = told(&butt("gap = \"0 mm\"\npenetration = \"3 mm\"\ncap-height = \"1 mm\""), "4043");
    tells(&close, "81.82 % of the whole pool at seam is melted base metal");
    let open = told(&butt("gap = \"1.5 mm\"\npenetration = \"2.25 mm\"\ncap-height = \"1 mm\""), "4043");
    tells(&open, "61.36 % of the whole pool at seam is melted base metal");
    tells(&open, "filler: 1.5 mm × 3 mm + ⅔ × 6 mm × 1 mm = 8.5 mm²");
    let left_out = told(&butt("penetration = \"2.25 mm\""), "4043");
    tells(&left_out, "left out of the job: the gap usual for such a weld is taken");
}

#[test]
fn a_v_has_two_pools_and_the_worse_one_governs() {
    let v =
        |more: &str| job([THICK, THICK], &format!("weld = \"single-v butt\"\nprocess = \"GMAW\"\n{more}"));
    let sentences = told(&v(""), "5356");
    tells(&sentences, "by its section 53.13 % of the root pool at seam is melted base metal");
    tells(&sentences, "by its section 25.");
    // The root takes up so much 6061 that it comes near the range that tears; the passes above it stay clear.
    let (governing, says) = standing(&chosen(&v("")), "5356", "hot cracking");
    assert!(says.contains("root pool"), "{says}");
    let (_, in_one) = standing(&chosen(&v("root-pass = \"10 mm\"")), "5356", "hot cracking");
    assert_ne!(says, in_one, "the root pass makes no difference");
    assert_eq!(governing, "adequate");
}

#[test]
fn a_given_dilution_wins_over_the_section() {
    let given = job([THICK, THICK], "weld = \"single-v butt\"\nprocess = \"GMAW\"\ndilution = \"40 %\"");
    let sentences = told(&given, "4043");
    tells(&sentences, "the job gives the dilution at seam: 40 %");
    assert!(!sentences.iter().any(|sentence| sentence.contains("root pool")), "{sentences:#?}");
}

#[test]
fn without_sizes_the_usual_range_is_taken_and_nothing_is_open() {
    let joint = "weld = \"fillet\"\nprocess = \"GMAW\"";
    let bare = job(["alloy = \"6061\"", "alloy = \"6061\""], joint);
    let report = chosen(&bare);
    let open = list(&report["joints"][0]["open"]);
    assert!(open.iter().all(|question| text(&question["path"]) == "joints.leg"), "{open:#?}");
    let (standing, _) = standing(&report, "4043", "hot cracking");
    assert_eq!(standing, "ample");
    tells(&told(&bare, "4043"), "the whole pool of a fillet weld made with GMAW usually holds 20 % to 45 %");
}

#[test]
fn two_bases_share_the_pool_by_their_melted_areas() {
    let casting = "alloy = \"A356.0\"\nthickness = \"10 mm\"";
    let weld = "weld = \"fillet\"\nleg = \"6 mm\"\nprocess = \"GTAW\"\npenetration = \"1 mm\"";
    let uneven = format!("{weld}\nsecond-penetration = \"0.5 mm\"");
    // Areas: 18 mm² of filler, 6 and 3 mm² melted.
    let sentences = told(&job([casting, THICK], &uneven), "4043");
    tells(&sentences, "A356.0 makes up 22.22 % of the whole pool at seam");
    tells(&sentences, "6061 makes up 11.11 % of the whole pool at seam");
    // A given dilution is shared two to one as well.
    let sentences = told(&job([casting, THICK], &format!("{uneven}\ndilution = \"30 %\"")), "4043");
    tells(&sentences, "A356.0 makes up 20 % of the whole pool at seam");
    tells(&sentences, "6061 makes up 10 % of the whole pool at seam");
}

#[test]
fn a_v_that_cannot_be_drawn_is_cautioned_about() {
    let flat = job([THICK, THICK], "weld = \"single-v butt\"\nprocess = \"GMAW\"\nbevel-angle = \"170 deg\"");
    let report = chosen(&flat);
    let cautions: Vec<String> = list(&report["cautions"]).iter().map(text).collect();
    tells(&cautions, "A V of 170 ° at seam is too flat");
    tells(
        &told(&flat, "4043"),
        "the root pool of a single-v butt weld made with GMAW usually holds 40 % to 60 %",
    );
}

#[test]
fn an_angle_needs_an_angle() {
    let wrong = job([THICK, THICK], "weld = \"single-v butt\"\nprocess = \"GMAW\"\nbevel-angle = \"60 mm\"");
    let said = on_job(&["choose", "JOB"], &wrong, 1).err;
    assert!(said.contains("`joints.bevel-angle`") && said.contains("angle"), "{said}");
    let inches = job([THICK, THICK], "weld = \"single-v butt\"\nprocess = \"GMAW\"\ngap = \"1/16..1/8 in\"");
    chosen(&inches);
}
