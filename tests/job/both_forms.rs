//! The same tree, written as TOML and as JSON, is the same job or has the same mistakes.

use crate::support::hand_made_rulebook::*;
use proptest::prelude::*;
use serde_json::{Map, Value};
use whyrod::job::{Job, JobErrors, read_job};

/// A value as TOML writes it on one line. JSON's strings are TOML's basic strings.
fn inline(value: &Value) -> String {
    match value {
        Value::Array(values) => format!("[{}]", values.iter().map(inline).collect::<Vec<_>>().join(", ")),
        Value::Object(entries) => {
            let entry = |(key, value): (&String, &Value)| {
                format!("{} = {}", Value::from(key.as_str()), inline(value))
            };
            format!("{{{}}}", entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
        plain => plain.to_string(),
    }
}

fn as_toml(tree: &Map<String, Value>) -> String {
    tree.iter().map(|(key, value)| format!("{} = {}\n", Value::from(key.as_str()), inline(value))).collect()
}

/// One value out of some; the last, which mostly is a mistake, comes up seldom, so that whole jobs come out good too.
fn one_of(values: &'static [&'static str]) -> impl Strategy<Value = Value> {
    let usual = &values[..(values.len() - 1).max(1)];
    prop_oneof![20 => prop::sample::select(usual), 1 => prop::sample::select(values)]
        .prop_map(|text| serde_json::from_str(text).expect("JSON in the test"))
}

/// A table with some of these keys.
fn table(keys: Vec<(&'static str, BoxedStrategy<Value>)>) -> BoxedStrategy<Value> {
    let entries: Vec<_> = keys
        .into_iter()
        .map(|(key, value)| prop::option::weighted(0.95, value).prop_map(move |value| Some((key, value?))))
        .collect();
    entries
        .prop_map(|entries| {
            Value::Object(entries.into_iter().flatten().map(|(key, value)| (key.to_owned(), value)).collect())
        })
        .boxed()
}

fn tree() -> impl Strategy<Value = Map<String, Value>> {
    let part = || {
        table(vec![
            (
                "alloy",
                one_of(&["3103", "\"6082-T6\"", "\"EN AW-5083\"", "356.0", "\"A356\"", "\"6081\""]).boxed(),
            ),
            ("thickness", one_of(&["\"3 mm\"", "\"1/8 in\"", "\"0.5 in\"", "\"2 mm\"", "3"]).boxed()),
        ])
    };
    let service = || {
        table(vec![
            ("sustained-temperature", one_of(&["\"95 °C\"", "\"203 °F\"", "\"368 K\"", "\"95 mm\""]).boxed()),
            ("exposure", one_of(&["\"dry\"", "\"Sea-Water\"", "\"fresh_water\"", "\"brine\""]).boxed()),
            ("lining", one_of(&["\"a \\\"quoted\\\" word\"", "\"tab\\tand é\"", "\"\""]).boxed()),
        ])
    };
    let joint = || {
        let pairs = &["[\"a\", \"b\"]", "[\"a\", \"a\"]", "[\"b\", \"a\"]", "[\"a\", \"c\"]"];
        let names = &["\"seam\"", "\"seat\"", "\"joint é\"", "\"foot\"", "\"rim\"", "\"ear\""];
        table(vec![
            ("name", one_of(names).boxed()),
            ("between", one_of(pairs).boxed()),
            ("process", one_of(&["141", "\"131\"", "\"gtaw\"", "\"GMAW\""]).boxed()),
            ("dilution", one_of(&["0.4", "\"40..60 %\"", "\"40 %\"", "1.0", "40"]).boxed()),
            ("load", one_of(&["{\"shear\": \"4 kN\", \"length\": \"60 mm\"}"]).boxed()),
            ("service", service()),
        ])
    };
    let choice = table(vec![
        ("available", one_of(&["[\"ER4043\", 5356]", "[\"AlSi12\"]", "[4047, \"4047\"]"]).boxed()),
        ("order", one_of(&["[\"corrosion\", \"hot-cracking\"]", "[\"speed\"]"]).boxed()),
    ]);
    let parts = (part(), part()).prop_map(|(a, b)| serde_json::json!({"a": a, "b": b}));
    let joints = prop::collection::vec(joint(), 1..3).prop_map(Value::from);
    (parts, joints, service(), choice).prop_map(|(parts, joints, service, choice)| {
        let keys = ["parts", "joints", "service", "choice"].map(str::to_owned);
        keys.into_iter().zip([parts, joints, service, choice]).collect()
    })
}

/// What a job comes to, without places; mistakes in a fixed order, since places give them theirs.
fn essence(result: Result<Job, JobErrors>) -> Result<Vec<String>, Vec<String>> {
    match result {
        Ok(job) => Ok(job.facts.iter().map(|fact| format!("{} {:?}", fact.path, fact.cells)).collect()),
        Err(errors) => {
            let mut messages: Vec<String> =
                errors.diagnostics.into_iter().map(|mistake| mistake.message).collect();
            messages.sort();
            Err(messages)
        }
    }
}

#[test]
fn good_trees_are_among_those_tried() {
    use proptest::{strategy::ValueTree, test_runner::TestRunner};
    let (mut runner, tree, book) = (TestRunner::deterministic(), tree(), rulebook());
    let good = (0..200)
        .filter(|_| {
            let tree = tree.new_tree(&mut runner).expect("a tree").current();
            read_job("job.toml", as_toml(&tree).as_bytes(), &book).is_ok()
        })
        .count();
    assert!((20..180).contains(&good), "{good} of 200 trees are jobs");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 800, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn both_forms_say_the_same(tree in tree()) {
        let book = rulebook();
        let toml = as_toml(&tree);
        let json = Value::Object(tree).to_string();
        let from_toml = essence(read_job("job.toml", toml.as_bytes(), &book));
        let from_json = essence(read_job("job.json", json.as_bytes(), &book));
        let syntax = |text: &String| text.contains("is not valid");
        if let Err(messages) = &from_toml {
            prop_assert!(!messages.iter().any(syntax), "{toml}\n{messages:?}");
        }
        prop_assert_eq!(from_toml, from_json, "{}", toml);
    }
}
