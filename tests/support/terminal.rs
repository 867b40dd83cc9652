//! Somebody at the terminal, for the tests of the dialogue: what is put to them is read off the screen, what they say appears
//! on it. No tests live here.

#![allow(dead_code)]

use crate::support::program::library::rulebook;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufRead, Read, Write};
use std::path::Path;
use std::rc::Rc;
use std::sync::OnceLock;
use toml_edit::{DocumentMut, Item};
use whyrod::ask::{AskError, JobFile, converse};
use whyrod::change::{OpenQuestions, Session};
use whyrod::job::{Job, JobReader, QuestionKey, read_job};
use whyrod::language::{Origin, Piece};

/// The built-in rulebook, made ready once.
pub fn session() -> &'static Session<'static> {
    static READY: OnceLock<Session<'static>> = OnceLock::new();
    READY.get_or_init(|| Session::new(rulebook()).expect("the built-in rulebook decides jobs"))
}

/// A job of the built-in rulebook.
#[track_caller]
pub fn job(name: &str, text: &str) -> Job {
    read_job(name, text.as_bytes(), rulebook()).unwrap_or_else(|errors| panic!("{errors}\n{text}"))
}

/// The questions that a job file may answer and that stay open where it does not.
pub fn questions() -> &'static [QuestionKey] {
    static FOUND: OnceLock<Vec<QuestionKey>> = OnceLock::new();
    FOUND.get_or_init(|| {
        let reader = JobReader::new(rulebook());
        let open = |key: &&QuestionKey| match &rulebook().relations[key.relation.index()].origin {
            Origin::Question(question) => question.left_out.is_none(),
            _ => false,
        };
        reader.questions().iter().filter(open).cloned().collect()
    })
}

/// A question as it is put about a joint or a part.
pub fn put(key: &QuestionKey, subject: &str) -> String {
    let Origin::Question(question) = &rulebook().relations[key.relation.index()].origin else {
        panic!("{} is no question", key.path)
    };
    let piece = |piece: &Piece| match piece {
        Piece::Text(text) => text.clone(),
        Piece::Slot(_) => subject.to_owned(),
    };
    question.asks.pieces.iter().map(piece).collect()
}

/// Every answer in a job file, with the keys that lead to it; joints go by their number.
pub fn answers(document: &DocumentMut) -> Vec<(Vec<String>, String)> {
    let mut found = Vec::new();
    let table = |item: Option<&Item>, above: &[&str], section: &str, found: &mut Vec<_>| {
        let Some(table) = item.and_then(Item::as_table_like) else { return };
        for (key, value) in table.iter() {
            if questions().iter().any(|question| question.section == section && question.key == key) {
                let keys = above.iter().copied().chain([key]).map(str::to_owned).collect();
                found.push((keys, value.as_str().expect("a text").to_owned()));
            }
        }
    };
    if let Some(parts) = document.get("parts").and_then(Item::as_table_like) {
        for (name, part) in parts.iter() {
            table(Some(part), &["parts", name], "parts", &mut found);
        }
    }
    if let Some(joints) = document.get("joints").and_then(Item::as_array_of_tables) {
        for (index, joint) in joints.iter().enumerate() {
            let index = index.to_string();
            let item = Item::Table(joint.clone());
            table(Some(&item), &["joints", &index], "joints", &mut found);
            table(joint.get("service"), &["joints", &index, "service"], "service", &mut found);
        }
    }
    table(document.get("service"), &["service"], "service", &mut found);
    found
}

/// Takes answers out of a job file.
pub fn without(document: &DocumentMut, answers: &[Vec<String>]) -> String {
    let mut document = document.clone();
    for keys in answers {
        let (last, above) = keys.split_last().expect("a key");
        let mut item: &mut Item = document.as_item_mut();
        for key in above {
            item = match key.parse::<usize>() {
                Ok(index) => item.get_mut(index).expect("a joint"),
                Err(_) => item.get_mut(key.as_str()).expect("a table"),
            };
        }
        item.as_table_like_mut().expect("a table").remove(last);
    }
    document.to_string()
}

/// Answers questions as a full job does: by the sentence in which each may be put. Where joints differ and the question is
/// put for all of them, it is to be put joint by joint.
pub fn as_in(job: &Job) -> impl FnMut(&str) -> Option<String> + 'static {
    let mut known: BTreeMap<String, String> = BTreeMap::new();
    let text = &job.sources.files[0].text;
    for key in questions() {
        let mut told = BTreeSet::new();
        let facts: Vec<_> = job.facts.iter().filter(|fact| fact.relation == key.relation).collect();
        for fact in &facts {
            let answer = text[fact.span.start as usize..fact.span.end as usize].trim_matches('"').to_owned();
            told.insert(answer.clone());
            // A temper may stand behind its alloy.
            let answer = if key.path == "parts.temper" { fact.cells[1].to_string() } else { answer };
            known.insert(put(key, &fact.cells[0].to_string()), answer);
        }
        let alike = told.len() == 1 && facts.len() == job.joints.len();
        let common = if alike { told.into_iter().next() } else { Some("each".to_owned()) };
        known.insert(put(key, "every joint"), common.filter(|_| !facts.is_empty()).unwrap_or_default());
    }
    move |question| Some(known.get(question).cloned().unwrap_or_default())
}

/// Says some lines one after the other, and then nothing more.
pub fn saying(lines: &[&str]) -> impl FnMut(&str) -> Option<String> + 'static {
    let mut lines: Vec<String> = lines.iter().rev().map(|line| (*line).to_owned()).collect();
    move |_| lines.pop()
}

type Screen = Rc<RefCell<String>>;

struct Writer(Screen);

impl Write for Writer {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        // The program writes whole texts.
        self.0.borrow_mut().push_str(std::str::from_utf8(bytes).expect("text"));
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

struct Speaker<F> {
    screen: Screen,
    says: F,
    line: Vec<u8>,
    at: usize,
    put: Rc<RefCell<Vec<String>>>,
}

impl<F: FnMut(&str) -> Option<String>> BufRead for Speaker<F> {
    fn fill_buf(&mut self) -> std::io::Result<&[u8]> {
        if self.at == self.line.len() {
            let screen = self.screen.borrow().clone();
            let question =
                screen.rsplit("\n\n").next().and_then(|last| last.lines().next()).unwrap_or_default();
            self.put.borrow_mut().push(question.to_owned());
            self.at = 0;
            self.line = match (self.says)(question) {
                Some(said) => {
                    self.screen.borrow_mut().push_str(&format!("{said}\n"));
                    format!("{said}\n").into_bytes()
                }
                None => Vec::new(),
            };
        }
        Ok(&self.line[self.at..])
    }

    fn consume(&mut self, count: usize) {
        self.at += count;
    }
}

impl<F: FnMut(&str) -> Option<String>> Read for Speaker<F> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        let mut line = self.fill_buf()?;
        let count = line.read(buffer)?;
        self.consume(count);
        Ok(count)
    }
}

/// How a dialogue went.
pub struct Talk {
    pub outcome: Result<OpenQuestions, AskError>,
    pub screen: String,
    /// The questions to which something was said.
    pub put: Vec<String>,
    /// Whether any of them was left open.
    pub left_open: bool,
    /// The job as the file tells it at the end.
    pub job: Job,
}

/// A dialogue about a job file, with whoever answers by `says`.
pub fn talk(path: &Path, width: usize, says: impl FnMut(&str) -> Option<String> + 'static) -> Talk {
    let name = path.file_name().expect("a name").to_string_lossy().into_owned();
    let read = job(&name, &std::fs::read_to_string(path).expect("a job file"));
    let mut file = JobFile::new(path, read).expect("the file that was read");
    let (screen, put) = (Screen::default(), Rc::new(RefCell::new(Vec::new())));
    let mut input = Speaker { screen: screen.clone(), says, line: Vec::new(), at: 0, put: put.clone() };
    let outcome = converse(session(), &mut file, &mut input, &mut Writer(screen.clone()), width);
    let screen = screen.take();
    let left_open = screen.contains("\n> \n");
    Talk { outcome, screen, put: put.take(), left_open, job: file.job().clone() }
}
