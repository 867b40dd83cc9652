//! What the checker says: one rulebook with one of each mistake, reported in one run.

use std::path::Path;
use whyrod::language::{RulebookError, draw, read_rulebook};

fn messages(folder: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/rulebooks").join(folder);
    match read_rulebook(&path) {
        Err(RulebookError::Mistakes { sources, diagnostics }) => draw(&diagnostics, &sources, false),
        Err(other) => other.to_string(),
        Ok(_) => "no mistake was found".to_owned(),
    }
}

/// Unknown relation, role, word, unit, item; wrong dimension; unbound and once-used names; a range for a number; circles
/// through `unless` and through an aggregate, and a `let` that feeds itself; no authority; an id given twice; rows that do not
/// fit: all of them, with place, reason and the nearest name.
#[test]
fn every_mistake_is_reported_in_one_run() {
    insta::assert_snapshot!(messages("mistakes"));
}
