//! One finding by itself: its text, what it rests on, what rests on it, and which expectations reach it, as plain data.

use crate::engine::{Memory, Recording};
use crate::language::{Finding, Origin, RelationId, Rulebook, rests_on};
use crate::processors::for_each;
use crate::verdict::{DecisionError, ExpectationRun};
use serde::Serialize;
use std::collections::BTreeSet;

/// A finding, or a ladder or meaning with all that it stands for.
#[derive(Clone, Debug, Serialize)]
pub struct ItemView {
    /// The file.
    pub file: String,
    /// The line at which it begins, from one.
    pub line: usize,
    /// Its text.
    pub text: String,
    /// The findings that it is.
    pub findings: Vec<String>,
    /// The named values that it uses, each with its authority.
    pub values: Vec<String>,
    /// The relations that it rests on, and where their facts come from.
    pub rests_on: Vec<Source>,
    /// The findings that rest on what it concludes.
    pub carries: Vec<String>,
    /// The expectations in which it yields something.
    pub reached_by: Vec<String>,
}

/// A relation and where its facts come from.
#[derive(Clone, Debug, Serialize)]
pub struct Source {
    /// The relation.
    pub relation: String,
    /// How its facts come about: the findings, the files of its tables, or that it is asked or computed.
    pub from: Vec<String>,
}

/// The finding, ladder or meaning of that name, or of one of the findings that it stands for; `None` where there is none.
///
/// # Errors
///
/// Where the expectations cannot be run.
pub fn item(rulebook: &Rulebook, name: &str) -> Result<Option<ItemView>, DecisionError> {
    let whole = format!("{name}.");
    let mut places: Vec<usize> = Vec::new();
    for (place, finding) in rulebook.findings.iter().enumerate() {
        if finding.id == name || finding.id.starts_with(&whole) {
            places.push(place);
        }
    }
    let Some(first) = places.first().map(|place| &rulebook.findings[*place]) else { return Ok(None) };
    let (line, text) = written(rulebook, first);
    let here: Vec<&Finding> = places.iter().map(|place| &rulebook.findings[*place]).collect();
    let concluded: BTreeSet<RelationId> =
        here.iter().flat_map(|finding| &finding.hence).map(|hence| hence.relation).collect();
    let run = ExpectationRun::new(rulebook, Memory::default(), Recording::Everything)?;
    let reached = for_each(&rulebook.expectations, |expectation| {
        run.derive(expectation).map(|derivation| {
            let has = derivation.has_instance();
            places.iter().any(|place| has[*place])
        })
    });
    let mut reached_by = Vec::new();
    for (expectation, reached) in rulebook.expectations.iter().zip(reached) {
        if reached? {
            reached_by.push(expectation.name.clone());
        }
    }
    let carries = rulebook.findings.iter().filter(|finding| {
        let rests = finding.premises.iter().filter_map(rests_on);
        rests.into_iter().any(|(pattern, _)| concluded.contains(&pattern.relation))
    });
    Ok(Some(ItemView {
        file: rulebook.sources.file(first.span).name.clone(),
        line,
        text,
        findings: here.iter().map(|finding| finding.id.clone()).collect(),
        values: values(rulebook, &here),
        rests_on: sources_of(rulebook, &here),
        carries: carries.map(|finding| finding.id.clone()).collect(),
        reached_by,
    }))
}

/// The item that a finding is written in: from the line in the first column to the next such line, without what follows it.
fn written(rulebook: &Rulebook, finding: &Finding) -> (usize, String) {
    let text = &rulebook.sources.file(finding.span).text;
    let at = rulebook.sources.position(finding.span).0 - 1;
    let lines: Vec<&str> = text.lines().collect();
    let begins = |line: &str| line.starts_with(|c: char| c.is_ascii_lowercase());
    let start = (0..=at).rev().find(|place| begins(lines[*place])).unwrap_or(at);
    let end = (start + 1..lines.len()).find(|place| begins(lines[*place])).unwrap_or(lines.len());
    let mut item = lines[start..end].to_vec();
    // Blank lines and remarks in the first column belong to what follows.
    while item.last().is_some_and(|line| line.trim().is_empty() || line.starts_with("--")) {
        item.pop();
    }
    (start + 1, item.join("\n"))
}

fn values(rulebook: &Rulebook, findings: &[&Finding]) -> Vec<String> {
    let used: BTreeSet<usize> = findings
        .iter()
        .flat_map(|finding| finding.named_values())
        .map(crate::language::ValueId::index)
        .collect();
    let told = |place: usize| {
        let value = &rulebook.values[place];
        let cites: Vec<String> = value.cites.iter().map(ToString::to_string).collect();
        format!("{} = {} [{}]", value.name, value.quantity, cites.join("; "))
    };
    used.into_iter().map(told).collect()
}

fn sources_of(rulebook: &Rulebook, findings: &[&Finding]) -> Vec<Source> {
    let rests: BTreeSet<RelationId> = findings
        .iter()
        .flat_map(|finding| finding.premises.iter().filter_map(rests_on))
        .map(|(pattern, _)| pattern.relation)
        .collect();
    let source = |id: RelationId| {
        let relation = &rulebook.relations[id.index()];
        let mut from: BTreeSet<String> = BTreeSet::new();
        match &relation.origin {
            Origin::Question(question) => drop(from.insert(format!("the job, at {}", question.path))),
            Origin::Computed { .. } => drop(from.insert("the program computes it".to_owned())),
            Origin::Plain => {}
        }
        for finding in &rulebook.findings {
            if finding.hence.iter().any(|hence| hence.relation == id) {
                from.insert(finding.id.clone());
            }
        }
        for fact in rulebook.facts.iter().filter(|fact| fact.relation == id) {
            from.insert(format!("table in {}", rulebook.sources.file(fact.span).name));
        }
        if from.is_empty() {
            from.insert("the job".to_owned());
        }
        Source { relation: relation.name.clone(), from: from.into_iter().collect() }
    };
    rests.into_iter().map(source).collect()
}
