//! What the language lets a writer say once: values, meanings, ladders, lists in rows, carried words, backgrounds and rows of
//! expectations, and what is said where they are used wrongly.

use whyrod::language::{Rulebook, RulebookError, contents, draw, read_rulebook_texts};
use whyrod::verdict::check_expectations;

const PLAIN: &str = "\
words level: good, fair, poor
relation weighs(thing: name, value: mass)
table weighs
    cite common practice
    anvil   90 kg
    safe    90 kg
    hammer  2 kg
relation judged(thing: name, level: level)
    reads \"{thing} is {level}\"
finding judge.weight.light
    says  \"{T} weighs {M}, up to {Border}\"
    cite  common practice
    given weighs(T, value: M)
    let   Border = 3 kg
    where M <= Border
    hence judged(T, good)
finding judge.weight.heavy
    says  \"{T} weighs {M}, over {Border}\"
    cite  common practice
    given weighs(T, value: M)
    let   Border = 3 kg
    where M > Border
    hence judged(T, poor)
";

const ONCE: &str = "\
names thing
words level: good, fair, poor
relation weighs(thing, value: mass)
table weighs
    cite common practice
    anvil, safe  90 kg
    hammer       2 kg
relation judged(thing, level)
    reads \"{thing} is {level}\"
values
    cite common practice
    light-border = 3 kg
ladder judge.weight on M
    given weighs(T, value: M)
    hence judged(T, Level)
    cite  common practice
    rung  light  up to light-border: good
        says \"{T} weighs {M}, up to {upper}\"
    rung  heavy  above: poor
        says \"{T} weighs {M}, over {lower}\"
";

fn read(text: &str) -> Result<Rulebook, String> {
    read_rulebook_texts([("a.why", text)]).map_err(|error| match error {
        RulebookError::Mistakes { sources, diagnostics } => draw(&diagnostics, &sources, false),
        other => other.to_string(),
    })
}

fn holds(rulebook: &Rulebook) -> Vec<(String, Vec<String>)> {
    let checks = check_expectations(rulebook).expect("they run");
    checks.expectations.into_iter().map(|checked| (checked.name, checked.failures)).collect()
}

#[track_caller]
fn refused(text: &str, part: &str) {
    let told = read(text).expect_err("a mistake");
    assert!(told.contains(part), "{part} is not told in:\n{told}");
}

#[test]
fn what_is_said_once_is_what_was_said_in_full() {
    let (plain, once) = (read(PLAIN).expect("it reads"), read(ONCE).expect("it reads"));
    // The names that a role may hold are all that differs.
    assert_eq!(contents(&plain)["judged"], contents(&once)["judged"]);
    assert_eq!(contents(&plain)["weighs"], contents(&once)["weighs"]);
    let ids =
        |rulebook: &Rulebook| rulebook.findings.iter().map(|finding| finding.id.clone()).collect::<Vec<_>>();
    assert_eq!(ids(&plain), ids(&once));
}

#[test]
fn a_row_of_an_expectation_is_a_check_of_its_own_and_a_background_gives_way() {
    let more = "\
question owner(thing, value: name)
    asks \"Who owns {thing}?\"
    about weighs(thing)
    at \"things.owner\"
    reads \"{value} owns {thing}\"
background owned(T)
    assume owner(T, \"the smith\")
expectation \"weights\"
    rows   Thing   Level
           anvil   poor
           hammer  poor
    assume owned(anvil), owner(anvil, \"the king\")
    hence  judged(Thing, Level), judged(anvil and safe, poor), owner(anvil, \"the king\"), weighs(anvil, 80..100 kg)
    never  owner(anvil, \"the smith\"), judged(Thing, fair or good)
";
    let rulebook = read(&format!("{ONCE}{more}")).expect("it reads");
    let checked = holds(&rulebook);
    assert_eq!(checked[0], ("weights (Thing anvil, Level poor)".to_owned(), Vec::new()));
    assert_eq!(checked[1].0, "weights (Thing hammer, Level poor)");
    let failures = &checked[1].1;
    assert_eq!(failures.len(), 2, "{failures:?}");
    assert!(failures[0].ends_with("it is not there; instead: hammer is good"), "{failures:?}");
}

#[test]
fn carried_words_are_the_same_throughout_a_finding() {
    let more = "\
words pass, carried: root, fill
relation one(thing, value: mass, pass)
relation other(thing, value: mass, pass)
table one
    cite common practice
    anvil  1 kg  root
    anvil  2 kg  fill
table other
    cite common practice
    anvil  10 kg  root
meaning both(thing: T, value: Sum as mass)
    reads \"the {pass} sum of {T} is {Sum}\"
    given one(T, value: A)
    given other(T, value: B)
    let   Sum = A + B
expectation \"no pass is mixed with another\"
    hence both(anvil, 11 kg, root)
    never both(anvil, 12 kg)
";
    let rulebook = read(&format!("{ONCE}{more}")).expect("it reads");
    assert!(holds(&rulebook).iter().all(|(_, failures)| failures.is_empty()), "{:?}", holds(&rulebook));
}

#[test]
fn a_gap_and_an_overlap_cannot_be_written() {
    refused(
        &ONCE.replace("    rung  heavy  above: poor\n        says \"{T} weighs {M}, over {lower}\"\n", ""),
        "leaves cases unsaid",
    );
    let overlap = ONCE.replace(
        "    rung  heavy  above",
        "    rung  middle  up to 2 kg: fair\n        says \"{T}\"\n    rung  heavy  above",
    );
    refused(&overlap, "no value reaches \"rung middle\"");
    refused(&ONCE.replace("above: poor", "above: poor, good"), "\"rung heavy\" gives 2 values");
    let behind = format!("{ONCE}    rung  more  otherwise: fair\n        says \"{{T}}\"\n");
    refused(&behind, "no case is left for this rung");
    refused(&ONCE.replace("{lower}", "{upper}"), "has no upper border");
    refused(&ONCE.replace(" on M", ""), "this border is of nothing");
}

#[test]
fn what_has_no_authority_or_no_meaning_is_refused() {
    let figure = "meaning heavy(thing: T)\n    reads \"{T} is heavy\"\n    given weighs(T, value: M)\n    where M > 50 kg\n";
    refused(&format!("{ONCE}{figure}"), "50 kg in a meaning has no authority");
    refused(
        &ONCE.replace("    cite common practice\n    light-border", "    light-border"),
        "the value \"light-border\" has no authority",
    );
    refused(&ONCE.replace("up to light-border", "up to light-boarder"), "did you mean \"light-border\"?");
    refused(&ONCE.replace("names thing\n", ""), "it is not said what the role \"thing\" holds");
    refused(&ONCE.replace("hammer       2 kg", "hammer  2 kg,"), "a comma, and no further word");
    refused(
        &ONCE.replace("hence judged(T, Level)", "hence judged(T or U, Level)"),
        "a conclusion may not waver",
    );
}

#[test]
fn a_name_that_stands_in_no_list_is_named() {
    let listed = ONCE.replace("names thing\n", "names thing listed in weighs\n");
    let typo = format!("{listed}expectation \"a slip\"\n    never judged(anvli, good)\n");
    refused(&typo, "did you mean \"anvil\"?");
}

#[test]
fn what_other_languages_write_gets_what_to_write_here() {
    let finding = |line: &str| {
        format!(
            "{ONCE}finding a.b\n    says \"{{T}}\"\n    cite common practice\n    given weighs(T, value: M)\n    {line}\n    hence judged(T, good)\n"
        )
    };
    refused(&finding("where M == 3 kg"), "numbers are compared with \"=\"");
    refused(&finding("not judged(T, poor)"), "what must not hold stands behind \"unless\"");
    refused(&finding("where M > 0,9 kg"), "0.9, not 0,9");
    refused(&format!("{ONCE}# a remark\n"), "a remark begins with --");
    refused(&finding("given judged(T, L)\n    where L = poor"), "words are compared with \"is\"");
    refused(&finding("").replace("says \"{T}\"", "says “T”"), "straight quotes");
}
