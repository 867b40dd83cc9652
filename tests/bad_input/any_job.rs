//! Whatever the bytes are, reading a job ends, in a job or in mistakes that point into the text.

use crate::support::hand_made_rulebook::*;
use proptest::prelude::*;
use whyrod::job::{JobErrors, read_job};

/// Reads, and checks what every failure must be like.
fn settle(name: &str, bytes: &[u8]) -> Option<JobErrors> {
    let errors = read_job(name, bytes, &rulebook()).err()?;
    assert!(!errors.diagnostics.is_empty(), "a failure without a mistake");
    for diagnostic in &errors.diagnostics {
        for span in std::iter::once(diagnostic.span).chain(diagnostic.others.iter().map(|(span, _)| *span)) {
            let text = &errors.sources.files[span.file as usize].text;
            assert!(span.start <= span.end && span.end as usize <= text.len(), "{diagnostic:?} lies outside");
            assert!(text.is_char_boundary(span.start as usize) && text.is_char_boundary(span.end as usize));
        }
        assert!(!diagnostic.message.is_empty() && diagnostic.message.len() < 1000);
    }
    assert!(!errors.to_string().is_empty());
    Some(errors)
}

fn first(name: &str, bytes: &[u8]) -> String {
    shown(&settle(name, bytes).expect("a mistake"))[0].clone()
}

#[test]
fn nothing_is_not_a_job() {
    for empty in ["", " \n\t ", "\u{feff}", "\r\n"] {
        assert!(first("job.toml", empty.as_bytes()).starts_with("1:1 the job file is empty"), "{empty:?}");
        assert!(first("job.json", empty.as_bytes()).starts_with("1:1 the job file is empty"), "{empty:?}");
    }
    assert!(first("job.toml", b"# only a remark").contains("the job has no parts"));
}

#[test]
fn bytes_that_are_not_text() {
    let bad = first("job.toml", b"title = \"caf\xe9\"\n");
    assert_eq!(bad, "1:13 the job file is not UTF-8 text / save the file with the encoding UTF-8");
    assert!(first("job.toml", b"title = \"\xe2\x82").contains("not UTF-8"));
    let two_byte: Vec<u8> =
        [0xff, 0xfe].into_iter().chain(CYCLONE.bytes().flat_map(|byte| [byte, 0])).collect();
    assert!(first("job.toml", &two_byte).contains("not UTF-8"));
    assert!(settle("job.toml", b"\0\0\0").is_some());
}

#[test]
fn too_large_is_refused_unread() {
    let line = vec![b'x'; 100_000_000];
    let started = std::time::Instant::now();
    assert!(first("job.toml", &line).starts_with("1:1 the job file is too large: more than 4 MB"));
    assert!(started.elapsed() < std::time::Duration::from_secs(1), "it was read all the same");
}

#[test]
fn deep_nesting_does_not_overflow() {
    let many = 100_000;
    for opening in ["[", "{\"a\":", "[{\"a\":"] {
        let message = first("job.json", format!("{{\"title\":{}", opening.repeat(many)).as_bytes());
        assert!(message.contains("brackets nest more than"), "{message}");
    }
    for opening in ["[", "{a=", "[{a="] {
        let message = first("job.toml", format!("title = {}", opening.repeat(many)).as_bytes());
        assert!(message.contains("brackets nest more than"), "{message}");
    }
    // Depth without brackets: dotted keys, alone and in each other's arms.
    let dotted = "a.".repeat(many) + "a";
    assert!(settle("job.toml", format!("{dotted} = 1").as_bytes()).is_some());
    assert!(settle("job.toml", format!("[{dotted}]").as_bytes()).is_some());
    assert!(settle("job.toml", format!("[{}a]\n", "a.".repeat(70)).as_bytes()).is_some());
    let arms = format!("{{{}a=", "a.".repeat(70));
    assert!(settle("job.toml", format!("t = {}1{}", arms.repeat(15), "}".repeat(15)).as_bytes()).is_some());
    // A quote that is never closed must not hide the brackets from the guard.
    assert!(settle("job.toml", format!("t = \"\nt = {}", "[".repeat(many)).as_bytes()).is_some());
    assert!(settle("job.toml", format!("t = '''\nt = {}", "[".repeat(many)).as_bytes()).is_some());
    assert!(settle("job.toml", format!("t = it's\nu = \"\"\" {}", "[".repeat(many)).as_bytes()).is_some());
    assert!(settle("job.json", format!("{{\"t: {}", "[".repeat(many)).as_bytes()).is_some());
}

#[test]
fn long_and_many_mistakes_stay_readable() {
    let long = "y".repeat(1_900_000);
    let text = format!(
        "[parts.{long}]\nalloy = \"{long}\"\n[[joints]]\nname = \"j\"\nbetween = [\"{long}\", \"a\"]"
    );
    assert!(settle("job.toml", text.as_bytes()).is_none_or(|errors| errors.to_string().len() < 10_000));
    let many: String = (0..20_000).map(|index| format!("key{index} = 1\n")).collect();
    let errors = settle("job.toml", many.as_bytes()).expect("unknown keys");
    assert_eq!(errors.diagnostics.len(), 101);
    assert_eq!(errors.diagnostics[100].message, "19902 more mistakes follow");
    let joints: String = (0..20_000)
        .map(|index| {
            format!(
                "[parts.p{index}]\nalloy=1\n[[joints]]\nname=\"{index}\"\nbetween=[\"q{index}\", \"z\"]\n"
            )
        })
        .collect();
    assert!(settle("job.toml", joints.as_bytes()).is_some());
}

/// Cuts, doubles, swaps or replaces pieces of a text.
fn mutated(text: &str, edits: &[(usize, usize, u8, String)]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for (at, length, kind, with) in edits {
        if bytes.is_empty() {
            break;
        }
        let at = at % bytes.len();
        let end = (at + length).min(bytes.len());
        let piece = bytes[at..end].to_vec();
        match kind % 4 {
            0 => drop(bytes.drain(at..end)),
            1 => drop(bytes.splice(at..at, piece)),
            2 => drop(bytes.splice(at..end, with.bytes())),
            _ => bytes[at..end].reverse(),
        }
    }
    bytes
}

fn edits() -> impl Strategy<Value = Vec<(usize, usize, u8, String)>> {
    let token = prop_oneof![
        "\\PC{0,6}",
        prop::sample::select(vec![
            "\"",
            "'",
            "[",
            "]",
            "{",
            "}",
            "=",
            "\n",
            "[[joints]]\n",
            "\"\"\"",
            "nan",
            "..",
            "%",
            "°",
            "1e999",
            ".",
            "#",
            "[parts.shell]\n",
            "\\u0000",
            "null",
            ",",
            "(",
            "-T6",
            "\u{0}",
        ])
        .prop_map(str::to_owned),
    ];
    prop::collection::vec((any::<usize>(), 0usize..24, any::<u8>(), token), 1..6)
}

const CYCLONE_JSON: &str = r#"{"title": "t", "parts": {"shell": {"alloy": "EN AW-3103", "temper": "H14",
"thickness": "1.5 mm"}}, "joints": [{"name": "seam", "between": ["shell", "shell"], "weld": "Fillet", "leg": "3 mm",
"dilution": "40..60 %", "load": {"shear": "4 kN", "length": "60 mm"}, "service": {"exposure": "dry"}}],
"service": {"sustained-temperature": "203 °F"}, "choice": {"available": ["ER4043"], "order": ["corrosion"]}}"#;

#[test]
fn the_seeds_of_mutation_are_good() {
    assert!(settle("job.toml", CYCLONE.as_bytes()).is_none());
    assert!(settle("job.json", CYCLONE_JSON.as_bytes()).is_none());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 1500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn arbitrary_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        settle("job.toml", &bytes);
        settle("job.json", &bytes);
    }

    #[test]
    fn arbitrary_text(text in "\\PC{0,200}") {
        settle("job.toml", text.as_bytes());
        settle("job.json", text.as_bytes());
    }

    #[test]
    fn mutated_toml(edits in edits()) {
        settle("job.toml", &mutated(CYCLONE, &edits));
    }

    #[test]
    fn mutated_json(edits in edits()) {
        settle("job.json", &mutated(CYCLONE_JSON, &edits));
    }

    #[test]
    fn arbitrary_values(key in prop::sample::select(vec![
        "parts.shell.alloy", "parts.shell.temper", "service.exposure", "service.sustained-temperature",
        "service.acidity", "title", "choice.available", "choice.order",
    ]), written in "\\PC{0,30}|[0-9A-Za-z .,%°()\\[\\]-]{0,20}") {
        let quoted = serde_json::to_string(&written).expect("a text");
        let value = if key.starts_with("choice") { format!("[{quoted}]") } else { quoted };
        settle("job.toml", format!("{key} = {value}\n").as_bytes());
    }
}
