//! Forged verdicts, and forged texts of rules, job and data. No tests live here.

use super::*;
use serde_json::Value as Json;
use whyrod::language::fingerprint as rules_fingerprint;

const REPORT: &str = "the report";

fn joint<'r>(record: &'r mut Record, random: &mut Seeded) -> &'r mut Json {
    let joints = record.report["joints"].as_array_mut().expect("joints");
    let at = random.below(joints.len());
    &mut joints[at]
}

fn verdict<'r>(record: &'r mut Record, random: &mut Seeded) -> &'r mut Json {
    let verdicts = joint(record, random)["verdicts"].as_array_mut().expect("verdicts");
    let at = random.below(verdicts.len());
    &mut verdicts[at]
}

/// Puts another word of a list in the place of one.
fn other_word(value: &mut Json, words: &[&str], random: &mut Seeded) -> Option<Vec<String>> {
    let word = Json::from(*random.one_of(words));
    (*value != word).then(|| *value = word)?;
    Some(vec![REPORT.to_owned()])
}

/// One of two numbers for a text is one too many: who compares by number finds two names that are one.
pub fn text_twice(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let again = random.one_of(&record.texts).clone();
    record.texts.push(again);
    Some(vec![format!("text {}", record.texts.len() - 1)])
}

pub fn text_changed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let at = random.below(record.texts.len());
    record.texts[at].push_str(" or so");
    Some(vec![String::new()])
}

pub fn verdict_forged(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let verdict = &mut verdict(record, random)["verdict"];
    other_word(verdict, &["recommended", "usable", "barred", "open"], random)
}

pub fn standing_forged(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let standings = verdict(record, random)["standings"].as_array_mut()?;
    if standings.is_empty() {
        return None;
    }
    let at = random.below(standings.len());
    other_word(&mut standings[at]["standing"], &["ample", "adequate", "marginal", "barred", "open"], random)
}

/// Every value of a tree that holds no others.
fn leaves<'j>(tree: &'j mut Json, found: &mut Vec<&'j mut Json>) {
    match tree {
        Json::Array(list) => list.iter_mut().for_each(|inner| leaves(inner, found)),
        Json::Object(entries) => entries.values_mut().for_each(|inner| leaves(inner, found)),
        leaf => found.push(leaf),
    }
}

pub fn report_leaf(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let mut found = Vec::new();
    leaves(&mut record.report, &mut found);
    let at = random.below(found.len());
    *found[at] = match &*found[at] {
        Json::Null => Json::from("something"),
        Json::String(text) => Json::from(format!("{text}s")),
        Json::Number(number) => Json::from(number.as_f64()? + 0.001),
        _ => Json::Null,
    };
    Some(vec![REPORT.to_owned()])
}

/// The way to every list of a tree that is not empty.
fn lists(tree: &Json, path: &mut Vec<String>, found: &mut Vec<Vec<String>>) {
    match tree {
        Json::Array(list) => {
            if !list.is_empty() {
                found.push(path.clone());
            }
            for (at, inner) in list.iter().enumerate() {
                path.push(at.to_string());
                lists(inner, path, found);
                path.pop();
            }
        }
        Json::Object(entries) => {
            for (key, inner) in entries {
                path.push(key.clone());
                lists(inner, path, found);
                path.pop();
            }
        }
        _ => {}
    }
}

pub fn report_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let mut found = Vec::new();
    lists(&record.report, &mut Vec::new(), &mut found);
    let path = random.one_of(&found);
    let mut inner = &mut record.report;
    for key in path {
        inner = match key.parse::<usize>() {
            Ok(at) if inner.is_array() => &mut inner[at],
            _ => &mut inner[key],
        };
    }
    let list = inner.as_array_mut()?;
    list.remove(random.below(list.len()));
    Some(vec![REPORT.to_owned()])
}

pub fn recommendation(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let joint = joint(record, random);
    let filler = random.one_of(joint["verdicts"].as_array()?)["filler"].clone();
    let recommended = joint["recommended"].as_array_mut()?;
    (!recommended.contains(&filler)).then(|| recommended.push(filler))?;
    Some(vec![REPORT.to_owned()])
}

/// Changes a random figure of a text that stands on a line that `keep` likes.
fn figure_changed(text: &mut String, random: &mut Seeded, keep: impl Fn(&str) -> bool) -> Option<()> {
    let mut figures = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        if keep(line) {
            figures.extend(line.char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| start + at));
        }
        start += line.len();
    }
    if figures.is_empty() {
        return None;
    }
    let at = *random.one_of(&figures);
    let figure = text.as_bytes()[at] - b'0';
    let other = (figure + 1 + random.below(9) as u8) % 10;
    text.replace_range(at..=at, &other.to_string());
    Some(())
}

pub fn rule_figure(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let at = random.below(record.rulebook.files.len());
    figure_changed(&mut record.rulebook.files[at].text, random, |_| true)?;
    let file = record.rulebook.files[at].file.clone();
    // A name that a background or a table holds may be missed wherever it is used.
    let anywhere = "the recorded rulebook".to_owned();
    Some(vec!["fingerprint of the recorded rulebook".to_owned(), file, anywhere])
}

/// Seals the recorded rules with a fingerprint of their own.
fn seal_rules(record: &mut Record) {
    let files = record.rulebook.files.iter();
    let fingerprint = rules_fingerprint(files.map(|file| (file.file.as_str(), file.text.as_str())));
    record.report["rulebook"]["fingerprint"] = Json::from(fingerprint.clone());
    record.rulebook.fingerprint = fingerprint;
}

pub fn rule_figure_sealed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let at = random.below(record.rulebook.files.len());
    let rules = |line: &str| !line.trim_start().starts_with("--") && !line.contains("cite");
    figure_changed(&mut record.rulebook.files[at].text, random, rules)?;
    seal_rules(record);
    Some(vec![String::new()])
}

pub fn rule_file_left_out(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    record.rulebook.files.remove(random.below(record.rulebook.files.len()));
    seal_rules(record);
    Some(vec![String::new()])
}

pub fn job_figure(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    figure_changed(&mut record.job.text, random, |_| true)?;
    Some(vec!["the recorded job".to_owned()])
}

pub fn job_figure_sealed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    figure_changed(&mut record.job.text, random, |line| line.contains('='))?;
    record.job.fingerprint = fingerprint(&record.job.text);
    record.report["job"]["fingerprint"] = Json::from(record.job.fingerprint.clone());
    Some(vec![String::new()])
}

pub fn fingerprint_changed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let fingerprints =
        [&mut record.rulebook.fingerprint, &mut record.job.fingerprint, &mut record.data[0].fingerprint];
    let at = random.below(3);
    let fingerprint = fingerprints.into_iter().nth(at)?;
    let first = if fingerprint.starts_with('0') { "1" } else { "0" };
    fingerprint.replace_range(0..1, first);
    Some(vec!["the fingerprint of".to_owned()])
}

pub fn data_sealed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    figure_changed(&mut record.data[0].text, random, |_| true)?;
    record.data[0].fingerprint = fingerprint(&record.data[0].text);
    Some(vec!["the data that this program computes with".to_owned()])
}

pub fn program_name(record: &mut Record, _: &mut Seeded) -> Option<Vec<String>> {
    record.program.name.push('x');
    Some(vec!["the program".to_owned()])
}

pub fn unit_changed(record: &mut Record, random: &mut Seeded) -> Option<Vec<String>> {
    let shown = |cell: &RecordedCell| matches!(cell, RecordedCell::Number(RecordedNumber::Shown(..)));
    let number = some_fact(record, random, |fact| fact.cells.iter().any(shown))?;
    let cell = fact(record, number).0.cells.iter_mut().find(|cell| shown(cell))?;
    if let RecordedCell::Number(RecordedNumber::Shown(_, unit)) = cell {
        *unit = match unit.as_str() {
            "mm" => "in".to_owned(),
            "°C" => "°F".to_owned(),
            _ => "kg".to_owned(),
        };
    }
    // Where the value stands in several facts, or something is computed from it, those tell.
    Some(vec![
        format!("fact {number}"),
        "as elsewhere".to_owned(),
        "in base units".to_owned(),
        REPORT.to_owned(),
    ])
}
