//! An explanation as an indented tree. What is told once is not told again but pointed to.

use super::colour::Ink;
use super::page::Page;
use crate::explain::{Explanation, Kind, Node};
use std::collections::HashMap;

/// How deep a tree goes: levels of conclusions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Depth {
    /// Down to tables, sources and the job.
    Whole,
    /// This many levels.
    Levels(usize),
}

/// A line of the tree before it is laid out.
pub(super) struct Row<'e> {
    /// For each level above, whether it goes on below this line; then whether this line is the last of its parent.
    pub rails: Vec<bool>,
    pub node: &'e Node,
    /// What is written before the sentence.
    pub lead: &'static str,
    /// What is written after it.
    pub note: String,
    /// Told further up already.
    pub again: bool,
    /// Cut off by the depth that was asked for.
    pub cut: bool,
}

/// Lays out an explanation.
pub fn tree(explanation: &Explanation, depth: Depth, width: usize) -> String {
    let mut page = Page::new(width);
    for row in rows(explanation, depth) {
        let (first, rest) = rails(&row.rails);
        let mut text = format!("{}{}", row.lead, row.node.text);
        if row.again {
            text.push_str(" (told above)");
        }
        if row.cut {
            text.push_str(" …");
        }
        let ink = match row.node.kind {
            _ if row.node.open => Ink::Waiting,
            Kind::Conclusion if row.rails.is_empty() => Ink::Heading,
            _ => Ink::Plain,
        };
        if row.rails.is_empty() {
            page.gap();
        }
        page.paragraph(&first, &rest, &text, ink);
        if !row.note.is_empty() {
            let under = if row.cut || row.again { rest.clone() } else { format!("{rest}{}", below(explanation, row.node)) };
            page.paragraph(&under, &under, &row.note, Ink::Faint);
        }
    }
    page.finish()
}

/// The rail under a line whose children follow.
fn below(explanation: &Explanation, node: &Node) -> &'static str {
    if children(explanation).get(&node.id).is_some_and(|children| !children.is_empty()) { "│ " } else { "" }
}

fn rails(levels: &[bool]) -> (String, String) {
    let Some((last, above)) = levels.split_last() else { return (String::new(), String::new()) };
    let stem: String = above.iter().map(|goes_on| if *goes_on { "│  " } else { "   " }).collect();
    let (first, rest) = if *last { ("├─ ", "│  ") } else { ("╰─ ", "   ") };
    (format!("{stem}{first}"), format!("{stem}{rest}"))
}

/// Children of each node by edge order; sources are written beside their node and are no children.
fn children(explanation: &Explanation) -> HashMap<usize, Vec<usize>> {
    let mut children: HashMap<usize, Vec<usize>> = HashMap::new();
    for (from, to, role) in &explanation.edges {
        if *role != "source" {
            children.entry(*from).or_default().push(*to);
        }
    }
    children
}

/// Where a node stands and on whose authority.
fn note(node: &Node) -> String {
    let place = match (&node.file, node.line) {
        (Some(file), Some(line)) => Some(format!("{file}:{line}")),
        _ => None,
    };
    let source = node.cite.as_ref().map(|cite| format!("source: {cite}"));
    let parts: Vec<String> = [node.finding.clone(), place, source].into_iter().flatten().collect();
    if parts.is_empty() { String::new() } else { format!("[{}]", parts.join(" · ")) }
}

pub(super) fn rows(explanation: &Explanation, depth: Depth) -> Vec<Row<'_>> {
    let children = children(explanation);
    let deepest = match depth {
        Depth::Whole => usize::MAX,
        Depth::Levels(levels) => levels,
    };
    let mut told = vec![false; explanation.nodes.len()];
    let mut rows = Vec::new();
    // A stack instead of recursion, because derivations can be deep.
    let mut waiting: Vec<(usize, Vec<bool>, usize)> =
        explanation.roots.iter().rev().map(|root| (*root, Vec::new(), 0)).collect();
    while let Some((id, rails, level)) = waiting.pop() {
        let node = &explanation.nodes[id];
        let below = children.get(&id).map_or(&[][..], Vec::as_slice);
        let again = std::mem::replace(&mut told[id], true) && !below.is_empty();
        let level = level + usize::from(matches!(node.kind, Kind::Conclusion | Kind::Fact | Kind::Question));
        let cut = !again && level >= deepest && !below.is_empty() && node.kind == Kind::Conclusion;
        let lead = if node.kind == Kind::Finding { "because " } else { "" };
        let note = if again { String::new() } else { note(node) };
        rows.push(Row { rails: rails.clone(), node, lead, note, again, cut });
        if again || cut {
            continue;
        }
        for (index, child) in below.iter().enumerate().rev() {
            let mut rails = rails.clone();
            rails.push(index + 1 < below.len());
            waiting.push((*child, rails, level));
        }
    }
    rows
}
