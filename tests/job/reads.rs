//! What a good job file becomes: facts, names, spellings of alloys and fillers. Mistakes are in `job_mistakes.rs`.

use crate::support::hand_made_rulebook::*;
use whyrod::job::{Job, read_job};
use whyrod::language::Type;

fn good(text: &str) -> Job {
    read(text).unwrap_or_else(|errors| panic!("{errors}"))
}

#[test]
fn the_example_becomes_facts() {
    let (job, book) = (good(CYCLONE), rulebook());
    assert_eq!(job.title.as_deref(), Some("Chaff cyclone for a coffee roaster"));
    let told = |relation| told(&job, &book, relation);
    assert_eq!(told("part"), ["3103 | shell", "6082 | boss"]);
    assert_eq!(told("temper"), ["shell | H14", "boss | T6"]);
    assert_eq!(told("thickness"), ["shell | 1.5 mm", "boss | 0.5 in"]);
    assert_eq!(told("joint"), ["boss seat", "shell seam"]);
    assert_eq!(told("between"), ["boss seat | shell | boss", "shell seam | shell | shell"]);
    assert_eq!(told("weld"), ["boss seat | fillet", "shell seam | single-v butt"]);
    assert_eq!(told("process"), ["boss seat | GTAW"]);
    assert_eq!(told("leg"), ["boss seat | 3 mm"]);
    assert_eq!(told("given-dilution"), ["boss seat | 40 to 60 %", "shell seam | 40 %"]);
    assert_eq!(told("load"), ["60 mm | boss seat | 4 kN"]);
    assert_eq!(told("sustained-temperature"), ["boss seat | 203 °F", "shell seam | 203 °F"]);
    assert_eq!(told("exposure"), ["boss seat | dry", "shell seam | sea water"]);
    assert_eq!(told("limits"), ["boss seat | 0.2 or less", "shell seam | 0.2 or less"]);
    assert_eq!(told("stocked"), ["4043", "5356", "4047"]);
    assert_eq!(told("ranked"), ["sustained heat | 1", "hot cracking | 2"]);
    assert_eq!(told("lining"), Vec::<String>::new());
}

#[test]
fn every_fact_says_where_it_stands() {
    let job = good(CYCLONE);
    let mut places: Vec<String> = job
        .facts
        .iter()
        .map(|fact| {
            let (line, column) = job.sources.position(fact.span);
            format!("{}:{line}:{column} {}", fact.path, job.sources.text(fact.span))
        })
        .collect();
    places.sort();
    for expected in [
        "parts.alloy:4:9 \"EN AW-3103\"",
        "parts.temper:9:9 \"6082-T6\"",
        "joints.between:14:11 [\"shell\", \"boss\"]",
        "joints.process:17:11 141",
        "service.exposure:28:12 \"sea-water\"",
        "service.exposure:32:12 \"dry\"",
        "joints.load:19:8 { shear = \"4 kN\", length = \"60 mm\" }",
        "choice.order:37:28 \"Hot Cracking\"",
    ] {
        assert!(places.iter().any(|place| place == expected), "{expected} is not among {places:#?}");
    }
}

#[test]
fn the_job_keeps_its_names_in_file_order_and_the_fingerprint_of_its_bytes() {
    let job = good(CYCLONE);
    assert_eq!(job.parts.iter().map(|part| &*part.name).collect::<Vec<_>>(), ["shell", "boss"]);
    assert_eq!((&*job.parts[1].alloy, job.parts[1].written.as_str()), ("6082", "6082-T6"));
    assert_eq!(job.joints.iter().map(|joint| &*joint.name).collect::<Vec<_>>(), ["boss seat", "shell seam"]);
    assert_eq!(job.available.iter().map(|name| &**name).collect::<Vec<_>>(), ["4043", "5356", "4047"]);
    assert_eq!(job.order.iter().map(|name| &**name).collect::<Vec<_>>(), ["sustained heat", "hot cracking"]);
    assert_eq!(job.file, "job.toml");
    // By Python's hashlib over the same bytes.
    assert_eq!(job.fingerprint, "e4723a809d118338fd9cd8fde7e296ad5fdc8a662298449e0522b5122ce1f0c4");
    let with_mark = read_job("job.toml", format!("\u{feff}{CYCLONE}").as_bytes(), &rulebook());
    let with_mark = with_mark.unwrap_or_else(|errors| panic!("{errors}"));
    assert_ne!(with_mark.fingerprint, job.fingerprint);
    assert_eq!(with_mark.facts, job.facts);
}

#[test]
fn json_says_the_same_as_toml() {
    let json = r#"{
      "title": "Chaff cyclone for a coffee roaster",
      "parts": {
        "shell": {"alloy": "EN AW-3103", "temper": "H14", "thickness": "1.5 mm"},
        "boss": {"alloy": "6082-T6", "thickness": "1/2 in"}
      },
      "joints": [
        {"name": "boss seat", "between": ["shell", "boss"], "weld": "Fillet", "leg": "3 mm", "process": 141,
         "dilution": "40..60 %", "load": {"shear": "4 kN", "length": "60 mm"}},
        {"name": "shell seam", "between": ["shell", "shell"], "weld": "single v-butt", "dilution": 0.4,
         "service": {"exposure": "sea-water"}}
      ],
      "service": {"sustained-temperature": "203 °F", "exposure": "dry", "acidity": "..0.2"},
      "choice": {"available": ["ER4043", "Al 5356", "R4047"], "order": ["sustained-heat", "Hot Cracking"]}
    }"#;
    let plain = |job: &Job| {
        job.facts
            .iter()
            .map(|fact| (fact.relation, fact.cells.clone(), fact.path.clone()))
            .collect::<Vec<_>>()
    };
    let from_json =
        read_job("job.json", json.as_bytes(), &rulebook()).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(plain(&from_json), plain(&good(CYCLONE)));
    // A brace at the start is enough where the name says nothing.
    let unnamed = read_job("-", json.as_bytes(), &rulebook()).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(unnamed.facts, from_json.facts);
}

fn with_alloy(alloy: &str) -> String {
    format!("[parts.plate]\nalloy = {alloy}\n[[joints]]\nname = \"seam\"\nbetween = [\"plate\", \"plate\"]\n")
}

#[test]
fn alloys_are_known_by_every_usual_spelling() {
    for (written, alloy) in [
        ("3103", "3103"),
        ("AA 3103", "3103"),
        ("AA3103", "3103"),
        ("EN AW-3103", "3103"),
        ("EN AW 3103", "3103"),
        ("EN-AW 3103", "3103"),
        ("AW-3103", "3103"),
        ("en aw-3103", "3103"),
        ("AlMn1", "3103"),
        ("almn1", "3103"),
        ("EN AW-AlMn1", "3103"),
        ("EN AW-3103 [AlMn1]", "3103"),
        ("EN AW-AlMg4,5Mn0,7", "5083"),
        ("A356.0", "A356.0"),
        ("a356", "A356.0"),
        ("356", "356.0"),
        ("EN AC-42100", "A356.0"),
        ("AC-42100", "A356.0"),
        ("42100", "A356.0"),
        ("EN AC-AlSi7Mg0,3", "A356.0"),
        ("EN AW-6082 T6", "6082"),
        ("6082 - T651", "6082"),
        ("5083-O", "5083"),
        ("5083-H116", "5083"),
        ("EN AC-42100 T6", "A356.0"),
    ] {
        let job = good(&with_alloy(&format!("\"{written}\"")));
        assert_eq!(&*job.parts[0].alloy, alloy, "{written}");
    }
    // A bare number is as clear as a text.
    assert_eq!(&*good(&with_alloy("3103")).parts[0].alloy, "3103");
    assert_eq!(&*good(&with_alloy("356.0")).parts[0].alloy, "356.0");
}

#[test]
fn the_temper_behind_an_alloy_answers_the_question() {
    let book = rulebook();
    assert_eq!(told(&good(&with_alloy("\"en aw-6082 t651\"")), &book, "temper"), ["plate | T651"]);
    let twice = with_alloy("\"6082-T6\"\ntemper = \"t6\"");
    assert_eq!(told(&good(&twice), &book, "temper"), ["plate | T6"]);
}

#[test]
fn fillers_are_known_by_every_usual_spelling() {
    for (written, filler) in [
        ("4043", "4043"),
        ("ER4043", "4043"),
        ("ER 4043", "4043"),
        ("er-4043", "4043"),
        ("R4043", "4043"),
        ("Al 4043", "4043"),
        ("S Al 4043", "4043"),
        ("S Al 4043 (AlSi5)", "4043"),
        ("AlSi5", "4043"),
        ("S AlSi5", "4043"),
        ("AlSi5(A)", "4043A"),
        ("Al 4043A (AlSi5(A))", "4043A"),
        ("ER4043A", "4043A"),
        ("R-A356.0", "R-A356.0"),
        ("RA356.0", "R-A356.0"),
        ("A356.0", "R-A356.0"),
        ("R-A356", "R-A356.0"),
    ] {
        let text = format!("{}[choice]\navailable = [\"{written}\"]\n", with_alloy("3103"));
        assert_eq!(&*good(&text).available[0], filler, "{written}");
    }
}

#[test]
fn without_a_list_every_known_filler_may_be_chosen() {
    let job = good(&with_alloy("3103"));
    assert_eq!(job.available.len(), 7);
    // What the file does not say is not told as its fact; that every filler may be chosen is the rulebook's to conclude.
    assert_eq!(told(&job, &rulebook(), "stocked"), Vec::<String>::new());
}

#[test]
fn a_new_question_makes_a_new_key() {
    let mut book = rulebook();
    let finish = words(&mut book, "surface", &["as welded", "ground flush"]);
    question(&mut book, "surface", "joints.surface", "joint", &[("joint", Type::Name), ("value", finish)]);
    question(&mut book, "shop-humidity", "shop.damp", "joint", &[("value", Type::Text)]);
    question(&mut book, "oven", "shop.oven", "part", &[("part", Type::Name), ("value", Type::Text)]);
    let text = with_alloy("3103") + "surface = \"ground flush\"\n[shop]\ndamp = \"yes\"\noven = \"no\"\n";
    let job = read_job("job.toml", text.as_bytes(), &book).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(told(&job, &book, "surface"), ["seam | ground flush"]);
    assert_eq!(told(&job, &book, "shop-humidity"), ["yes"]);
    assert_eq!(told(&job, &book, "oven"), ["plate | no"]);
    assert!(read(&text).is_err(), "the key is valid under a rulebook that does not ask it");
}

#[test]
fn relations_that_the_rulebook_does_not_declare_are_left_out() {
    let mut book = rulebook();
    for relation in &mut book.relations {
        if ["load", "given-dilution", "stocked", "ranked"].contains(&relation.name.as_str()) {
            relation.name.push_str("-elsewhere");
        }
    }
    let job = read_job("job.toml", CYCLONE.as_bytes(), &book).unwrap_or_else(|errors| panic!("{errors}"));
    assert_eq!(job.order.len(), 2);
    assert!(job.facts.iter().all(|fact| !fact.path.starts_with("choice.") && fact.path != "joints.load"));
    assert!(!job.facts.is_empty());
}

#[test]
fn a_key_of_the_whole_job_is_not_given_joint_by_joint() {
    let mut book = rulebook();
    question(&mut book, "shop-humidity", "service.damp", "joint", &[("value", Type::Text)]);
    let text = with_alloy("3103") + "[joints.service]\ndamp = \"yes\"\n";
    let errors = read_job("job.toml", text.as_bytes(), &book).expect_err("a joint answers for the job");
    let all = shown(&errors);
    assert_eq!(
        all,
        [
            "7:8 `service.damp` is not asked joint by joint / write it once, in the section [service] of the job"
        ]
    );
}
