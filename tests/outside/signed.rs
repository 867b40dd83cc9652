//! Jobs with the fillers that a metallurgist accepts and refuses (tests/outside/data/signed.json, from memory of guide tables and
//! textbooks): the filler that is named first is one that is accepted, and none that is refused is recommended. Where the rulebook
//! parts from the list the job is named here, with the reason.

use crate::support::memory;
use crate::support::program::{list, root, text};
use serde_json::Value;
use std::collections::BTreeMap;
use whyrod::engine::Recording;
use whyrod::job::JobReader;
use whyrod::verdict::decide_with;

/// Jobs whose first filler is not in the list, and why.
const PARTED: &[(&str, &str)] = &[
    (
        "1060-1060 electrical/dry",
        "1050A, 99.5 % pure as 1070 nearly is, holds what 1060 holds; the list names 1100 and 1070 and 1188 for it. Mathers \
         2002, table 3.3, has 1050 for pure metal.",
    ),
    (
        "2219-6061 dry",
        "The freezing path of the pool with 4043 is steep at every usual dilution, and its 7 % of silicon and copper that heals \
         is not reached; 4145, which the list accepts, and 4047 are left, equal.",
    ),
    (
        "5454-6061 150C",
        "5554 and 4043 are both marginal there, the one on cracking (0.46 on the curve, from 0.40 raised), the other on Mg2Si \
         along 5454; the list takes the hidden fault for the worse. Nothing in a source weighs the two.",
    ),
    (
        "6061-6061 light form",
        "In this square butt so much sheet is melted in that 5356 lies in the range that tears (Mathers 2002, p. 50: 6xxx cracks \
         without filler enough); light forming is borne by 4043 as well.",
    ),
    (
        "6061 load 30kN/120 leg5 EN",
        "With the load factor of 1.5 that EN 1990 gives for variable loads, which is taken where the job gives none, no filler \
         carries the load; with the load as it comes 5356 does.",
    ),
    (
        "1100 H2O2",
        "1050A, which holds less copper than 1100 may, is what pure metal for peroxide is welded with in Europe; 1188 and 1100 \
         are in the list.",
    ),
    (
        "710 dry",
        "4043 and 5356 are both marginal on cracking beside 0.5 % copper and 6.5 % zinc, and both on every shelf: they tie.",
    ),
];

#[test]
fn the_filler_that_is_named_first_is_one_that_a_metallurgist_signs() {
    let data = std::fs::read_to_string(root().join("tests/outside/data/signed.json")).expect("the jobs");
    let jobs: Value = serde_json::from_str(&data).expect("JSON");
    let rulebook = whyrod::built_in().expect("the built-in rulebook");
    let reader = JobReader::new(&rulebook);
    let parted: BTreeMap<&str, &str> = PARTED.iter().copied().collect();
    let (mut accepted, mut wrong) = (0, Vec::new());
    for signed in list(&jobs) {
        let name = text(&signed["name"]);
        let accept: Vec<String> = list(&signed["accept"]).iter().map(text).collect();
        let refuse: Vec<String> = list(&signed["refuse"]).iter().map(text).collect();
        let job = reader.read("signed.json", signed["job"].to_string().as_bytes()).expect("a job");
        let decision = decide_with(&rulebook, job, Recording::First, memory()).expect("a decision");
        let recommended: Vec<String> =
            decision.report().joints.into_iter().flat_map(|joint| joint.recommended).collect();
        assert!(!recommended.iter().any(|filler| refuse.contains(filler)), "{name}: {recommended:?}");
        let agrees = match recommended.first() {
            Some(first) => accept.contains(first),
            None => accept.is_empty() || accept.contains(&"none".to_owned()),
        };
        accepted += usize::from(agrees);
        match (agrees, parted.get(name.as_str())) {
            (true, Some(_)) => wrong.push(format!("{name} agrees now: take it off the list")),
            (false, None) => wrong.push(format!("{name}: {recommended:?}, signed for are {accept:?}")),
            _ => {}
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(accepted >= 70, "{accepted}");
}
