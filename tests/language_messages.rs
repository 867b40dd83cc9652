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

#[test]
fn every_mistake_is_reported_in_one_run() {
    insta::assert_snapshot!(messages("mistakes"));
}

#[test]
fn circles_are_printed_whole() {
    insta::assert_snapshot!(messages("circles"));
}
