//! The dialogue of `ask`: what is put and said, what is written into the job file, and the questions as JSON.

use crate::support::program::*;
use crate::support::terminal::*;
use std::fs;
use whyrod::ask::{AskError, FileError, JobFile};
use whyrod::change::{Setting, open_questions};

const CART: &str = "half-answered-cart.toml";

/// Lines of the second text that the first has not, where nothing else differs.
#[track_caller]
fn added(before: &str, after: &str) -> Vec<String> {
    let mut old = before.split('\n').peekable();
    let mut added = Vec::new();
    for line in after.split('\n') {
        match old.next_if_eq(&line) {
            Some(_) => {}
            None => added.push(line.to_owned()),
        }
    }
    assert_eq!(old.next(), None, "a line went away:\n{before}\n---\n{after}");
    added
}

#[test]
fn a_dialogue() {
    let folder = folder();
    let path = write(folder.path(), CART, example(CART));
    let said = ["?", "aged", "age", "?", "later", "?", "clean anodised", "clear anodised"];
    let talk = talk(&path, 80, saying(&said));
    talk.outcome.expect("an open_questions");
    insta::assert_snapshot!(talk.screen);
    insta::assert_snapshot!("a_dialogue_writes", fs::read_to_string(&path).expect("the job file"));
}

#[test]
fn an_answer_is_one_more_line() {
    let folder = folder();
    let before = example(CART);
    let path = write(folder.path(), CART, &before);
    let finish = |question: &str| match question {
        "What finish does every joint get?" => Some("painted".to_owned()),
        _ => Some(String::new()),
    };
    talk(&path, 80, finish).outcome.expect("an open_questions");
    let after = fs::read_to_string(&path).expect("the job file");
    assert_eq!(added(&before, &after), ["finish = \"painted\""]);
}

#[test]
fn joints_may_answer_each_for_itself() {
    let folder = folder();
    let before = example(CART);
    let path = write(folder.path(), CART, &before);
    let talk = talk(&path, 80, |question| match question {
        "What finish does every joint get?" => Some("each".to_owned()),
        "What finish does frame corner get?" => Some("painted".to_owned()),
        "What finish does deck to frame get?" => Some("none".to_owned()),
        _ => Some(String::new()),
    });
    talk.outcome.expect("an open_questions");
    let after = fs::read_to_string(&path).expect("the job file");
    let lines: Vec<String> = added(&before, &after).into_iter().filter(|line| !line.is_empty()).collect();
    assert_eq!(lines, ["[joints.service]", "finish = \"painted\"", "[joints.service]", "finish = \"none\""]);
}

#[test]
fn a_file_keeps_its_manner() {
    let folder = folder();
    let windows = format!("\u{feff}{}", example(CART).replace('\n', "\r\n"));
    let path = write(folder.path(), "windows.toml", &windows);
    let job = job("windows.toml", windows.trim_start_matches('\u{feff}'));
    let mut file = JobFile::new(&path, job).expect("the file");
    let answer: Setting = "service.finish = painted".parse().expect("a setting");
    file.answer(session(), &answer).expect("written");
    let after = fs::read_to_string(&path).expect("the job file");
    assert_eq!(
        after,
        windows.replace("forming = \"none\"\r\n", "forming = \"none\"\r\nfinish = \"painted\"\r\n")
    );

    let json = r#"{
  "parts": {"frame": {"alloy": "6061", "temper": "T6", "thickness": "3 mm"}},
  "joints": [
    {"name": "seam", "between": ["frame", "frame"], "weld": "fillet", "process": "GTAW"}
  ],
  "service": {
    "exposure": "dry"
  }
}
"#;
    let path = write(folder.path(), "job.json", json);
    let mut file = JobFile::new(&path, crate::support::terminal::job("job.json", json)).expect("the file");
    for answer in ["service.finish = painted", "joints.seam.leg = 1/8 in"] {
        file.answer(session(), &answer.parse().expect("a setting")).expect("written");
    }
    insta::assert_snapshot!(fs::read_to_string(&path).expect("the job file"));
}

#[test]
fn words_are_written_as_the_rulebook_spells_them() {
    let folder = folder();
    let path = write(folder.path(), CART, example(CART));
    let mut file = JobFile::new(&path, job(CART, &example(CART))).expect("the file");
    let mut told = |text: &str| {
        let setting: Setting = text.parse().expect("a setting");
        file.answer(session(), &setting).expect("written").to_string()
    };
    assert_eq!(told("service.finish = Clear-Anodised"), "service.finish = \"clear anodised\"");
    assert_eq!(told("parts.deck.temper = h116"), "parts.deck.temper = \"H116\"");
    assert_eq!(told("service.lowest-temperature = -4 °F"), "service.lowest-temperature = \"-4 °F\"");
}

#[test]
fn nothing_is_written_over() {
    let folder = folder();
    let path = write(folder.path(), CART, example(CART));
    let mut file = JobFile::new(&path, job(CART, &example(CART))).expect("the file");
    let again = file.answer(session(), &"service.exposure = dry".parse().expect("a setting"));
    assert!(matches!(again, Err(FileError::Answered { .. })), "{again:?}");
    assert_eq!(fs::read_to_string(&path).expect("the job file"), example(CART));
    // Somebody edits the file while the question stands.
    let edited = example(CART) + "lowest-temperature = \"-5 °C\"\n";
    fs::write(&path, &edited).expect("an edit");
    let late = file.answer(session(), &"service.finish = none".parse().expect("a setting"));
    assert!(matches!(late, Err(FileError::Changed(_))), "{late:?}");
    assert_eq!(fs::read_to_string(&path).expect("the job file"), edited);
    // The same breaks a dialogue off.
    let path = write(folder.path(), "other.toml", example(CART));
    let edit = path.clone();
    let mut first = true;
    let talk = talk(&path, 80, move |_| {
        if std::mem::take(&mut first) {
            fs::write(&edit, "title = \"another\"").expect("an edit");
        }
        // An answer to every question of this job.
        Some("none".to_owned())
    });
    assert!(matches!(talk.outcome, Err(AskError::File(FileError::Changed(_)))));
    assert_eq!(fs::read_to_string(&path).expect("the job file"), "title = \"another\"");
}

#[cfg(unix)]
#[test]
fn a_link_stays_a_link_and_permissions_stay() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = folder();
    let path = write(folder.path(), "real/cart.toml", example(CART));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("permissions");
    let link = folder.path().join("link.toml");
    symlink(&path, &link).expect("a link");
    let mut file = JobFile::new(&link, job("link.toml", &example(CART))).expect("the file");
    file.answer(session(), &"service.finish = none".parse().expect("a setting")).expect("written");
    assert!(fs::symlink_metadata(&link).expect("the link").is_symlink());
    assert_eq!(fs::metadata(&path).expect("the file").permissions().mode() & 0o777, 0o640);
    assert!(fs::read_to_string(&path).expect("the job file").contains("finish = \"none\""));
    assert_eq!(
        fs::read_dir(folder.path().join("real")).expect("the folder").count(),
        1,
        "no file is left behind"
    );
}

#[test]
fn the_end_of_the_input_ends_it() {
    let folder = folder();
    for said in [&[][..], &["stop"]] {
        let path = write(folder.path(), CART, example(CART));
        let talk = talk(&path, 80, saying(said));
        let open_questions = talk.outcome.expect("an open_questions");
        assert!(!open_questions.questions.is_empty());
        assert!(talk.screen.contains("Still open, and able to change this"), "{}", talk.screen);
        assert_eq!(fs::read_to_string(&path).expect("the job file"), example(CART));
    }
}

#[test]
fn what_cannot_be_answered_is_said_with_the_reader_s_words() {
    let folder = folder();
    // The finish is what is asked for first where the treatment is known.
    let before = example(CART).replace("[service]", "[service]\nheat-treatment = \"none\"");
    for (said, told) in [
        ("anodized clear", "Known words are"),
        ("clear anodized", "did you mean \"clear anodised\"?"),
        ("a\u{7}b", "unknown word"),
        (&"x".repeat(5000), "unknown word"),
    ] {
        let path = write(folder.path(), CART, &before);
        let talk = talk(&path, 200, saying(&[said]));
        assert!(talk.screen.to_lowercase().contains(&told.to_lowercase()), "{told}\n{}", talk.screen);
        assert_eq!(fs::read_to_string(&path).expect("the job file"), before);
    }
    let no_heat = example(CART)
        .replace("sustained-temperature = \"35 °C\"\n", "")
        .replace("[service]", "[service]\nfinish = \"none\"");
    let path = write(folder.path(), CART, &no_heat);
    let mut lines = vec!["65", "65 mm", "65 °D", "hot"];
    let talk = talk(&path, 200, move |question| match question {
        "What temperature does every joint hold for long periods?" => {
            (!lines.is_empty()).then(|| lines.remove(0).to_owned())
        }
        _ if lines.len() < 4 => (!lines.is_empty()).then(|| lines.remove(0).to_owned()),
        _ => Some(String::new()),
    });
    insta::assert_snapshot!(talk.screen);
}

#[test]
fn the_questions_come_most_deciding_first_and_always_the_same() {
    let open_questions = |text: &str| {
        open_questions(session(), &job(CART, text), &Default::default()).expect("an open_questions")
    };
    let all = open_questions(&example(CART));
    assert!(all.questions.windows(2).all(|pair| pair[0].settles >= pair[1].settles));
    let (one, other) = (serde_json::to_string(&all), serde_json::to_string(&open_questions(&example(CART))));
    assert_eq!(one.expect("JSON"), other.expect("JSON"));
}

#[test]
fn without_a_terminal_questions_are_json() {
    let path = format!("examples/{CART}");
    let ended = run(["ask", &path]).with_status(0);
    insta::assert_snapshot!(ended.out);
    assert_eq!(run(["ask", &path, "--json"]).out, ended.out);
    let input = example(CART);
    assert_eq!(ended_with(&input).json()["questions"], ended.json()["questions"]);
}

fn ended_with(input: &str) -> Ended {
    ended(program().args(["ask", "-"]).write_stdin(input)).with_status(0)
}

#[test]
fn answers_may_be_given_on_the_command_line() {
    let folder = folder();
    let path = write(folder.path(), CART, example(CART));
    let job = path.to_str().expect("a path");
    let left = run(["ask", job, "--answer", "service.finish = painted"]).with_status(0).json();
    assert!(list(&left["questions"]).iter().all(|question| question["path"] != "service.finish"));
    assert!(fs::read_to_string(&path).expect("the job file").contains("finish = \"painted\""));
    refused(&run(["ask", job, "--answer", "service.finish = none"]), "is answered already: \"painted\"");
    refused(&run(["ask", job, "--answer", "service.heat-treatment = aged"]), "did you mean");
    refused(&run(["ask", job, "--answer", "service.finish"]), "changes nothing");
    let from_input =
        ended(program().args(["ask", "-", "--answer", "service.finish = none"]).write_stdin(example(CART)));
    refused(&from_input, "no file to write an answer into");
}
