//! A whole job file: what its sections say, put together. They are read in `parts.rs`, `joints.rs` and `choice.rs`, single values in
//! `answer.rs`; facts are made in `facts.rs`.

use super::keys;
use super::tree::JobNode;
use super::walk::Walk;
use super::{JobFact, Joint, Part, facts, shapes};
use crate::language::Span;
use std::sync::Arc;

/// What a job file says.
#[derive(Debug, Default)]
pub(super) struct JobContents {
    pub title: Option<String>,
    pub parts: Vec<Part>,
    pub joints: Vec<Joint>,
    pub available: Vec<Arc<str>>,
    pub order: Vec<Arc<str>>,
    pub facts: Vec<JobFact>,
}

impl Walk<'_> {
    /// Reads the whole file. Where mistakes were found the result is not to be used.
    pub fn read(&mut self, root: JobNode) -> JobContents {
        let mut content = JobContents::default();
        let Some(entries) = self.table(&root, "a job file", None) else { return content };
        let shared: Vec<String> = self.keys.shared.clone();
        let (mut parts, mut joints, mut chosen) = (Vec::new(), Vec::new(), Default::default());
        let mut answers = Vec::new();
        // Parts come first, because joints refer to them wherever they stand in the file.
        for entry in entries.iter().filter(|entry| entry.key == "parts") {
            parts = self.parts(entry);
        }
        for entry in entries {
            match entry.key.as_str() {
                "title" => content.title = self.line(&entry.node, "the title"),
                "parts" => {}
                "joints" => joints = self.joints(entry, &parts),
                "choice" => chosen = self.choice(entry),
                section if shared.iter().any(|known| known == section) => {
                    answers.extend(self.section(entry, section));
                }
                _ => {
                    let mut known: Vec<&str> = keys::FILE.to_vec();
                    known.extend(
                        shared.iter().map(String::as_str).filter(|known| !keys::FILE.contains(known)),
                    );
                    self.unknown_key(entry, "a job file", &known);
                }
            }
        }
        let parts_help = self.advice(
            "give each part a section [parts.NAME] with its alloy",
            "add \"parts\": {\"NAME\": {\"alloy\": \"…\"}}",
        );
        let joints_help = self.advice(
            "give each joint a section [[joints]] with a name and the two parts it lies between",
            "add \"joints\": [{\"name\": \"…\", \"between\": [\"first part\", \"second part\"]}]",
        );
        for (key, help) in [("parts", parts_help), ("joints", joints_help)] {
            if !entries.iter().any(|entry| entry.key == key) {
                self.missing(Span::default(), format!("the job has no {key}"), help);
            }
        }
        let shapes = shapes::JobRelations::of(self.rulebook, &mut self.diagnostics);
        if self.diagnostics.is_empty() {
            content.facts = facts::facts(self, &shapes, &parts, &joints, &answers, &chosen);
            content.available = chosen.available.into_iter().map(|(filler, _)| filler).collect();
            if !chosen.restricted {
                content.available = self.fillers.names().to_vec();
            }
            content.order = chosen.order.into_iter().map(|(criterion, _)| criterion).collect();
            content.parts = parts.into_iter().filter_map(|part| part.finished()).collect();
            content.joints = joints.into_iter().filter_map(|joint| joint.finished()).collect();
        }
        content
    }
}
