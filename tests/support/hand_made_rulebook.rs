//! A small rulebook put together by hand, for the tests of the job file. No tests live here.

#![allow(dead_code)]

use std::sync::Arc;
use whyrod::job::{Job, JobErrors, JobFact, read_job};
use whyrod::language::{
    KindId, Origin, Question, Relation, RelationId, Role, Rulebook, Span, TableFact, Template, Type, Value,
    WordKind,
};
use whyrod::quantity::Dimension;

pub fn words(rulebook: &mut Rulebook, name: &str, words: &[&str]) -> Type {
    let words = words.iter().map(|word| Arc::from(*word)).collect();
    rulebook.kinds.push(WordKind { name: name.to_owned(), words, carried: false, span: Span::default() });
    Type::Word(KindId::new(rulebook.kinds.len() - 1))
}

pub fn relation(rulebook: &mut Rulebook, name: &str, roles: &[(&str, Type)]) -> RelationId {
    let roles =
        roles.iter().map(|(name, ty)| Role { name: (*name).to_owned(), ty: *ty, listed: None }).collect();
    rulebook.relations.push(Relation {
        name: name.to_owned(),
        roles,
        origin: Origin::Plain,
        reads: None,
        once: Vec::new(),
        turn: None,
        cites: Vec::new(),
        span: Span::default(),
    });
    RelationId::new(rulebook.relations.len() - 1)
}

pub fn question(rulebook: &mut Rulebook, name: &str, path: &str, subject: &str, roles: &[(&str, Type)]) {
    let about = rulebook.relation(subject).expect("the subject is declared before the question");
    let id = relation(rulebook, name, roles);
    rulebook.relations[id.index()].origin = Origin::Question(Question {
        asks: Template::default(),
        subject: about,
        filled_by: (0..roles.len() - 1).collect(),
        path: path.to_owned(),
        left_out: None,
        takes: None,
    });
}

pub fn table(rulebook: &mut Rulebook, name: &str, rows: &[&[&str]]) {
    let relation = rulebook.relation(name).expect("the relation is declared before its table");
    for row in rows {
        let cells = row.iter().map(|cell| Value::Symbol(Arc::from(*cell))).collect();
        rulebook.facts.push(TableFact { relation, cells, cites: Arc::from([]), span: Span::default() });
    }
}

/// The contract's keys, a few alloys and fillers, and some roles in an unusual order.
pub fn rulebook() -> Rulebook {
    let mut book = Rulebook::default();
    let book_ref = &mut book;
    let criterion =
        words(book_ref, "criterion", &["sustained heat", "hot cracking", "joint strength", "corrosion"]);
    let exposure =
        words(book_ref, "exposure", &["dry", "outdoor", "fresh water", "sea water", "food", "chemical"]);
    let process = words(book_ref, "process", &["GTAW", "GMAW"]);
    let weld = words(
        book_ref,
        "weld",
        &["square butt", "single-v butt", "double-v butt", "fillet", "lap", "corner", "edge", "plug", "slot"],
    );
    let name = Type::Name;
    let length = Type::Number(Dimension::LENGTH);
    relation(book_ref, "base-alloy", &[("alloy", name), ("family", name)]);
    relation(book_ref, "also-written", &[("alloy", name), ("written", Type::Text)]);
    relation(book_ref, "filler", &[("filler", name)]);
    relation(book_ref, "filler-also-written", &[("written", Type::Text), ("filler", name)]);
    relation(book_ref, "process-also-written", &[("process", process), ("written", Type::Text)]);
    relation(book_ref, "joint", &[("joint", name)]);
    relation(book_ref, "part", &[("alloy", name), ("part", name)]);
    relation(book_ref, "between", &[("joint", name), ("first", name), ("second", name)]);
    relation(book_ref, "given-dilution", &[("joint", name), ("range", Type::Range(Dimension::SHARE))]);
    relation(
        book_ref,
        "load",
        &[("length", length), ("joint", name), ("shear", Type::Number(Dimension::FORCE))],
    );
    relation(book_ref, "stocked", &[("filler", name)]);
    relation(book_ref, "ranked", &[("criterion", criterion), ("rank", Type::Number(Dimension::RATIO))]);
    let temperature = Type::Number(Dimension::TEMPERATURE);
    let mut ask = |name: &str, path: &str, subject: &str, answer: Type| {
        question(book_ref, name, path, subject, &[(subject, Type::Name), ("value", answer)]);
    };
    ask("sustained-temperature", "service.sustained-temperature", "joint", temperature);
    ask("exposure", "service.exposure", "joint", exposure);
    ask("lining", "service.lining", "joint", Type::Text);
    ask("limits", "service.acidity", "joint", Type::Range(Dimension::RATIO));
    ask("weld", "joints.weld", "joint", weld);
    ask("process", "joints.process", "joint", process);
    ask("leg", "joints.leg", "joint", length);
    ask("thickness", "parts.thickness", "part", length);
    ask("temper", "parts.temper", "part", name);
    table(
        book_ref,
        "base-alloy",
        &[
            &["3103", "Al-Mn"],
            &["6082", "Al-Mg-Si"],
            &["6061", "Al-Mg-Si"],
            &["5083", "Al-Mg"],
            &["5754", "Al-Mg"],
            &["A356.0", "Al-Si-Mg"],
            &["356.0", "Al-Si-Mg"],
            &["4043", "Al-Si"],
        ],
    );
    table(
        book_ref,
        "also-written",
        &[
            &["3103", "AlMn1"],
            &["6082", "AlSi1MgMn"],
            &["5083", "AlMg4.5Mn0.7"],
            &["A356.0", "EN AC-42100"],
            &["A356.0", "AlSi7Mg0.3"],
            &["356.0", "EN AC-42000"],
        ],
    );
    table(
        book_ref,
        "filler",
        &[&["4043"], &["4043A"], &["4047"], &["5356"], &["5087"], &["5187"], &["R-A356.0"]],
    );
    table(
        book_ref,
        "filler-also-written",
        &[
            &["AlSi5", "4043"],
            &["AlSi5(A)", "4043A"],
            &["AlSi12", "4047"],
            &["AlMg4.5MnZr", "5087"],
            &["AlMg4.5MnZr", "5187"],
        ],
    );
    table(book_ref, "process-also-written", &[&["GTAW", "141"], &["GMAW", "131"]]);
    book
}

/// The job of the contract's example.
pub const CYCLONE: &str = r#"title = "Chaff cyclone for a coffee roaster"

[parts.shell]
alloy = "EN AW-3103"
temper = "H14"
thickness = "1.5 mm"

[parts.boss]
alloy = "6082-T6"
thickness = "1/2 in"

[[joints]]
name = "boss seat"
between = ["shell", "boss"]
weld = "Fillet"
leg = "3 mm"
process = 141
dilution = "40..60 %"
load = { shear = "4 kN", length = "60 mm" }

[[joints]]
name = "shell seam"
between = ["shell", "shell"]
weld = "single v-butt"
dilution = 0.4

[joints.service]
exposure = "sea-water"

[service]
sustained-temperature = "203 °F"
exposure = "dry"
acidity = "..0.2"

[choice]
available = ["ER4043", "Al 5356", "R4047"]
order = ["sustained-heat", "Hot Cracking"]
"#;

pub fn read(text: &str) -> Result<Job, JobErrors> {
    read_job("job.toml", text.as_bytes(), &rulebook())
}

/// Facts of a relation, each as its cells joined by bars.
pub fn told(job: &Job, rulebook: &Rulebook, relation: &str) -> Vec<String> {
    let relation = rulebook.relation(relation).expect("a declared relation");
    let cells = |fact: &JobFact| fact.cells.iter().map(ToString::to_string).collect::<Vec<_>>().join(" | ");
    job.facts.iter().filter(|fact| fact.relation == relation).map(cells).collect()
}

/// Every mistake as `line:column message / help`.
pub fn mistakes(text: &str) -> Vec<String> {
    match read(text) {
        Ok(_) => Vec::new(),
        Err(errors) => shown(&errors),
    }
}

pub fn shown(errors: &JobErrors) -> Vec<String> {
    let one = |diagnostic: &whyrod::language::Diagnostic| {
        let (line, column) = errors.sources.position(diagnostic.span);
        let help = diagnostic.help.as_deref().map(|help| format!(" / {help}")).unwrap_or_default();
        format!("{line}:{column} {}{help}", diagnostic.message)
    };
    errors.diagnostics.iter().map(one).collect()
}
