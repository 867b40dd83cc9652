//! Small rulebooks and records for the tests of the checker.

use crate::language::{Rulebook, SourceFile, reread_rulebook};
use crate::record::{
    FORM, Record, RecordedCell, RecordedFact, RecordedProgram, RecordedRelation, RecordedRulebook,
    RecordedText,
};

/// The rulebook of one file, "t.why".
pub(super) fn rules(text: &str) -> Rulebook {
    let files = [SourceFile { name: "t.why".to_owned(), text: text.to_owned() }];
    reread_rulebook(&files).unwrap_or_else(|error| panic!("{error:?}"))
}

/// The texts of every record of these tests.
const TEXTS: [&str; 5] = ["a", "b", "c", "rock", "air"];

/// One of the texts as a cell.
pub(super) fn symbol(text: &str) -> RecordedCell {
    let number = TEXTS.iter().position(|known| *known == text);
    RecordedCell::Symbol(number.unwrap_or_else(|| panic!("{text} is not among the texts")))
}

/// A record of nothing but facts: for each relation the known and the open ones.
pub(super) fn record<const N: usize>(relations: [(&str, Vec<RecordedFact>, Vec<RecordedFact>); N]) -> Record {
    let mut count = 0;
    let facts = relations.map(|(relation, known, open)| {
        let first = count;
        count += known.len() + open.len();
        RecordedRelation { relation: relation.to_owned(), first, known, open }
    });
    let text = || RecordedText { file: String::new(), fingerprint: String::new(), text: String::new() };
    Record {
        record: FORM,
        program: RecordedProgram { name: String::new(), version: String::new() },
        job: text(),
        rulebook: RecordedRulebook { fingerprint: String::new(), files: Vec::new() },
        data: Vec::new(),
        texts: TEXTS.map(str::to_owned).into(),
        methods: Vec::new(),
        facts: facts.into(),
        findings: Vec::new(),
        report: serde_json::Value::Null,
    }
}
