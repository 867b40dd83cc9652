//! Questions whose answer may be left out: what the rulebook's reader makes of them, and the job's.

use whyrod::job::read_job;
use whyrod::language::{Origin, RulebookError, read_rulebook_texts};

/// A rulebook with the relations that a job fills, and a question with this sentence.
fn rules(left_out: &str) -> String {
    format!(
        "relation joint(joint: name)\n\
         relation part(part: name, alloy: name)\n\
         relation between(joint: name, first: name, second: name)\n\
         relation base-alloy(alloy: name)\n\
         relation filler(filler: name)\n\
         table base-alloy\n    cite common practice\n    6061\n\
         table filler\n    cite common practice\n    4043\n\
         question gap(joint: name, value: range of length)\n    \
         asks \"How wide is the gap at {{joint}}?\"\n    about joint(joint)\n    at \"joints.gap\"\n    \
         left-out \"{left_out}\"\n"
    )
}

#[test]
fn the_sentence_is_kept_and_the_key_is_known() {
    let text = rules("the parts are taken to touch");
    let rulebook = read_rulebook_texts([("all.why", text.as_str())]).expect("no mistakes");
    let gap = rulebook.relation("gap").expect("the question");
    let Origin::Question(question) = &rulebook.relations[gap.index()].origin else { panic!("a question") };
    assert_eq!(question.left_out.as_deref(), Some("the parts are taken to touch"));
    let job = "[parts.a]\nalloy = \"6061\"\n[[joints]]\nname = \"seam\"\nbetween = [\"a\", \"a\"]\ngap = \"1..2 mm\"\n";
    let job = read_job("job.toml", job.as_bytes(), &rulebook).expect("a job");
    let fact = job.facts.iter().find(|fact| fact.relation == gap).expect("the answer");
    assert_eq!(fact.cells[1].to_string(), "1 to 2 mm");
}

#[test]
fn the_sentence_is_about_no_fact_in_particular() {
    let text = rules("at {joint} the parts are taken to touch");
    let error = read_rulebook_texts([("all.why", text.as_str())]).expect_err("a slot that nothing fills");
    let RulebookError::Mistakes { diagnostics, .. } = error else { panic!("{error}") };
    assert_eq!(diagnostics.len(), 1);
    assert_eq!(diagnostics[0].message, "the sentence has an unknown slot {joint}");
}

#[test]
fn a_misspelt_clause_is_pointed_at() {
    let text = rules("the parts are taken to touch").replace("left-out", "left-aut");
    let error = read_rulebook_texts([("all.why", text.as_str())]).expect_err("an unknown clause");
    let RulebookError::Mistakes { diagnostics, .. } = error else { panic!("{error}") };
    assert!(diagnostics[0].help.as_deref().is_some_and(|help| help.contains("left-out")), "{diagnostics:?}");
}
