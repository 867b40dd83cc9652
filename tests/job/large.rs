//! Files as large as are read at all, built to be slow: reading them ends in reasonable time.

use crate::support::hand_made_rulebook::*;
use std::time::{Duration, Instant};
use whyrod::job::read_job;

/// Generous, since tests run unoptimised beside other work; what it catches is time that grows with the square.
const LONGEST: Duration = Duration::from_secs(30);

fn filled(start: &str, piece: &str, end: &str) -> String {
    let room = 3_999_000 - start.len() - end.len();
    format!("{start}{}{end}", piece.repeat(room / piece.len()))
}

#[test]
fn some_large_files_end_soon() {
    end_soon(|number| number % 5 == 4);
}

#[test]
#[ignore = "every seed; cargo test --test checks -- --ignored --skip at_length"]
fn large_files_end_soon() {
    end_soon(|_| true);
}

fn end_soon(is_wanted: impl Fn(usize) -> bool) {
    let rulebook = rulebook();
    let numbered: String = (0..50_000).map(|index| format!("[parts.p{index}]\nalloy=3103\n")).collect();
    let unknown_parts: String = (0..20_000).map(|index| format!("\"q{index}\",")).collect();
    let joints: String =
        (0..30_000).map(|index| format!("[[joints]]\nname=\"{index}\"\nbetween=[\"a\",\"a\"]\n")).collect();
    let service = "[service]\nexposure=\"dry\"\nsustained-temperature=\"95 °C\"\n[parts.a]\nalloy=3103\n";
    let texts = [
        ("job.toml", filled("", "a=1\n", "")),
        ("job.toml", filled("", "[[joints]]\n", "")),
        ("job.toml", filled("", ",", "")),
        ("job.toml", filled("", "\"", "")),
        ("job.toml", filled("", "[", "")),
        ("job.toml", filled("", "[]\n", "")),
        ("job.toml", filled("", "= \n", "")),
        ("job.toml", filled("a=", "\"x\n", "")),
        ("job.toml", filled("title=\"", "\\u0041", "\"")),
        ("job.toml", filled("joints=[", "{},", "]")),
        ("job.toml", filled("joints=[{name=\"x\",between=[", "\"x\",", "]}]")),
        ("job.toml", filled("[choice]\navailable=[", "\"4043\",", "]")),
        ("job.toml", filled("[choice]\norder=[", "\"speed\",", "]")),
        ("job.toml", format!("{numbered}[[joints]]\nname=\"x\"\nbetween=[{unknown_parts}]\n")),
        ("job.toml", format!("{service}{joints}")),
        ("job.json", filled("[", "{},", "{}]")),
        ("job.json", filled("{\"joints\":[", "{\"a\":1},", "{}]}")),
        ("job.json", filled("{\"a\":1", ",\"a\":1", "}")),
        ("job.json", filled("{\"title\":\"", "\\\"", "\"}")),
    ];
    for (_, (name, text)) in texts.into_iter().enumerate().filter(|(number, _)| is_wanted(*number)) {
        let started = Instant::now();
        let result = read_job(name, text.as_bytes(), &rulebook);
        let (took, head) = (started.elapsed(), text.chars().take(40).collect::<String>());
        eprintln!("{took:?} for {head:?}");
        assert!(took < LONGEST, "{took:?} for {head:?}");
        match result {
            Ok(job) => assert_eq!(job.joints.len(), 30_000, "{head:?}"),
            Err(errors) => assert!((1..=101).contains(&errors.diagnostics.len()), "{head:?}"),
        }
    }
}
