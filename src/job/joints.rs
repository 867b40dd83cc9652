//! The section `joints`: names, the two parts, dilution, load, and what the rulebook asks about a joint.

use super::answer::GivenAnswer;
use super::keys::{self, About};
use super::parts::PartRead;
use super::shapes::{declared_dilution, declared_load};
use super::tree::{Content, JobEntry, JobNode};
use super::walk::Walk;
use super::{Joint, shorten};
use crate::language::{Diagnostic, Span, Value};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// A joint as far as it could be read.
#[derive(Debug)]
pub(super) struct JointRead {
    pub name: Option<Arc<str>>,
    pub span: Span,
    pub between: Option<([Arc<str>; 2], Span)>,
    pub dilution: Option<(Value, Span)>,
    pub load: Option<([Value; 2], Span)>,
    pub answers: Vec<GivenAnswer>,
}

impl JointRead {
    /// The joint, where nothing is missing.
    pub fn finished(self) -> Option<Joint> {
        Some(Joint { name: self.name?, between: self.between?.0, span: self.span })
    }
}

impl Walk<'_> {
    /// Reads every joint.
    pub fn joints(&mut self, entry: &JobEntry, parts: &[PartRead]) -> Vec<JointRead> {
        let help = self.advice(
            "write each joint as a section [[joints]], in double brackets",
            "write \"joints\": [{\"name\": \"…\", \"between\": [\"first part\", \"second part\"]}]",
        );
        let Some(nodes) = self.list(&entry.node, "`joints`", Some(help)) else { return Vec::new() };
        if nodes.is_empty() {
            self.missing(entry.key_span, "the job has no joints".to_owned(), help);
        }
        let names: HashSet<&str> = parts.iter().map(|part| &*part.name).collect();
        let joints: Vec<JointRead> =
            nodes.iter().enumerate().map(|(index, node)| self.joint(node, index, parts, &names)).collect();
        self.refuse_lookalikes(
            "joints",
            joints.iter().filter_map(|joint| Some((&**joint.name.as_ref()?, joint.span))),
        );
        let mut first: HashMap<Arc<str>, Span> = HashMap::new();
        for joint in &joints {
            let Some(name) = &joint.name else { continue };
            if let Some(earlier) = first.get(name) {
                let message = format!("two joints are named \"{}\"", shorten(name));
                let diagnostic = Diagnostic::new(joint.span, message, "the same name again")
                    .also(*earlier, "first used here")
                    .help("give every joint a name of its own");
                self.report(diagnostic);
            } else {
                first.insert(name.clone(), joint.span);
            }
        }
        joints
    }

    fn joint(
        &mut self,
        node: &JobNode,
        index: usize,
        parts: &[PartRead],
        names: &HashSet<&str>,
    ) -> JointRead {
        let mut joint = JointRead {
            name: None,
            span: node.span,
            between: None,
            dilution: None,
            load: None,
            answers: Vec::new(),
        };
        let mut what = format!("joint {}", index + 1);
        let Some(entries) = self.table(node, &what, None) else { return joint };
        if let Some(entry) = entries.iter().find(|entry| entry.key == "name") {
            joint.name = self.line(&entry.node, "the name of the joint").map(Arc::from);
            joint.span = entry.node.span;
            if let Some(name) = &joint.name {
                what = format!("joint \"{}\"", shorten(name));
            }
        }
        for entry in entries {
            match entry.key.as_str() {
                "name" => {}
                "between" => joint.between = self.between(entry, &what, parts, names),
                "dilution" => joint.dilution = self.dilution(entry),
                "load" => joint.load = self.load(entry),
                _ if self.answer(entry, "joints", &mut joint.answers) => {}
                section if self.keys.shared.iter().any(|known| known == section) => {
                    for answer in self.section(entry, section) {
                        self.own_answer(answer, &mut joint.answers);
                    }
                }
                _ => {
                    let mut known: Vec<String> =
                        self.keys.of_section("joints", keys::JOINT).into_iter().map(str::to_owned).collect();
                    known.extend(self.keys.shared.iter().filter(|section| *section != "service").cloned());
                    self.unknown_key(entry, &what, &known);
                }
            }
        }
        let name_help = self.advice("add a line such as name = \"seam\"", "add \"name\": \"seam\"");
        let between_help = self.advice(
            "add a line such as between = [\"first part\", \"second part\"]",
            "add \"between\": [\"first part\", \"second part\"]",
        );
        for (key, help) in [("name", name_help), ("between", between_help)] {
            if !entries.iter().any(|entry| entry.key == key) {
                let message = match key {
                    "name" => format!("{what} has no name"),
                    _ => format!("{what} does not say which parts it lies between"),
                };
                self.missing(node.span, message, help);
            }
        }
        joint
    }

    /// Takes an answer that a joint gives in place of the one for the whole job.
    fn own_answer(&mut self, answer: GivenAnswer, answers: &mut Vec<GivenAnswer>) {
        let question = &self.keys.questions[answer.question];
        if question.about == About::Joint {
            answers.push(answer);
            return;
        }
        let message = format!("`{}` is not asked joint by joint", question.path);
        let diagnostic = Diagnostic::new(answer.span, message, "inside a joint")
            .help(format!("write it once, in the section [{}] of the job", question.section));
        self.report(diagnostic);
    }

    fn between(
        &mut self,
        entry: &JobEntry,
        what: &str,
        parts: &[PartRead],
        names: &HashSet<&str>,
    ) -> Option<([Arc<str>; 2], Span)> {
        let help =
            "name the two parts, such as [\"first part\", \"second part\"]; a part may be joined to itself";
        let nodes = self.list(&entry.node, "`between`", Some(help))?;
        let mut found = Vec::new();
        for node in nodes.iter() {
            let Content::Text(name) = &node.value else {
                self.mismatch(node.span, "the name of a part", "a text", &node.value, None);
                continue;
            };
            if names.contains(name.as_str()) {
                found.push(Arc::from(name.as_str()));
            } else if !self.incomplete {
                let near = self.near(name, parts.iter().map(|part| &*part.name)).map(shorten);
                let message = format!("{what} names an unknown part \"{}\"", shorten(name));
                let diagnostic = Diagnostic::new(node.span, message, "no such part in this job");
                let listed: Vec<String> = parts.iter().take(8).map(|part| shorten(&part.name)).collect();
                self.report(match near {
                    Some(near) => diagnostic.help(format!("did you mean \"{near}\"?")),
                    None if listed.is_empty() => diagnostic.help("describe it in a section [parts.NAME]"),
                    None => diagnostic.help(format!("the parts of this job are {}", listed.join(", "))),
                });
            }
        }
        if nodes.len() != 2 {
            let message = format!("a joint lies between two parts, and {what} names {}", nodes.len());
            self.report(Diagnostic::new(entry.node.span, message, "two names are expected").help(help));
        }
        let [first, second] = <[Arc<str>; 2]>::try_from(found).ok()?;
        Some(([first, second], entry.node.span))
    }

    /// The share of melted base metal in the weld pool, one value or a range.
    fn dilution(&mut self, entry: &JobEntry) -> Option<(Value, Span)> {
        let path = "joints.dilution";
        let value = self.value(&entry.node, declared_dilution(self.rulebook), path)?;
        let (lowest, highest) = match &value {
            Value::Number(quantity) => (Some(*quantity), Some(*quantity)),
            Value::Range(range) => (range.lowest, range.highest),
            Value::Symbol(_) => (None, None),
        };
        let (Some(lowest), Some(highest)) = (lowest, highest) else {
            let diagnostic =
                Diagnostic::new(entry.node.span, "a dilution needs both ends", "one end is open")
                    .help("write both ends, such as \"40..60 %\", or one value");
            self.report(diagnostic);
            return None;
        };
        if lowest.base < 0.0 || highest.base > 1.0 {
            let message = "a dilution lies between 0 % and 100 %";
            let diagnostic = Diagnostic::new(entry.node.span, message, "outside that range")
                .help("write a share such as \"40 %\", \"40..60 %\" or 0.4");
            self.report(diagnostic);
            return None;
        }
        Some((value, entry.node.span))
    }

    fn load(&mut self, entry: &JobEntry) -> Option<([Value; 2], Span)> {
        let help = self.advice(
            "write it as { shear = \"4 kN\", length = \"60 mm\" }",
            "write it as {\"shear\": \"4 kN\", \"length\": \"60 mm\"}",
        );
        let entries = self.table(&entry.node, "`load`", Some(help))?;
        let types = declared_load(self.rulebook);
        let mut values = [None, None];
        for inner in entries {
            match keys::LOAD.iter().position(|known| *known == inner.key) {
                Some(place) => {
                    values[place] =
                        self.value(&inner.node, types[place], &format!("joints.load.{}", inner.key));
                }
                None => self.unknown_key(inner, "`load`", keys::LOAD),
            }
        }
        for key in keys::LOAD {
            if !entries.iter().any(|inner| inner.key == *key) {
                self.missing(entry.key_span, format!("the load has no {key}"), help);
            }
        }
        let [shear, length] = values;
        Some(([shear?, length?], entry.node.span))
    }
}
