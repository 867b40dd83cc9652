//! An explanation as an indented tree. A part that was shown is not shown again but pointed to by its number.

use super::colour::Ink;
use super::page::Page;
use crate::explain::{EdgeRole, Explanation, Kind, Node};
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
pub(super) struct TreeRow<'e> {
    /// For each level above, whether it goes on below this line; then whether this line is the last of its parent.
    pub rails: Vec<bool>,
    pub node: &'e Node,
    /// The sentence, with what stands before and behind it.
    pub text: String,
    /// Where it stands and on whose authority; empty where that was shown already.
    pub note: String,
    /// Whether lines of its own follow.
    pub opened: bool,
}

/// Writes an explanation onto a page.
pub(super) fn branches(page: &mut Page, explanation: &Explanation, depth: Depth) {
    for row in rows(explanation, depth) {
        let (first, rest) = rails(&row.rails);
        let ink = match row.node.kind {
            _ if row.node.open => Ink::Waiting,
            Kind::Conclusion if row.rails.is_empty() => Ink::Heading,
            _ => Ink::Plain,
        };
        if row.rails.is_empty() {
            page.gap();
        }
        page.paragraph(&first, &rest, &row.text, ink);
        if !row.note.is_empty() {
            let under = format!("{rest}{}", if row.opened { "│ " } else { "" });
            page.paragraph(&under, &under, &row.note, Ink::Faint);
        }
    }
}

fn rails(levels: &[bool]) -> (String, String) {
    let Some((last, above)) = levels.split_last() else { return (String::new(), String::new()) };
    let stem: String = above.iter().map(|goes_on| if *goes_on { "│  " } else { "   " }).collect();
    let (first, rest) = if *last { ("├─ ", "│  ") } else { ("╰─ ", "   ") };
    (format!("{stem}{first}"), format!("{stem}{rest}"))
}

/// Children of each node by edge order; sources are written beside their node and are no children.
fn children(explanation: &Explanation) -> Vec<Vec<usize>> {
    let mut children = vec![Vec::new(); explanation.nodes.len()];
    for (from, to, role) in &explanation.edges {
        if *role != EdgeRole::Source {
            children[*from].push(*to);
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
    // A finding that does not apply is called by its name in the line itself.
    let finding = node.finding.clone().filter(|_| !node.missed);
    let parts: Vec<String> = [finding, place, source].into_iter().flatten().collect();
    if parts.is_empty() { String::new() } else { format!("[{}]", parts.join(" · ")) }
}

/// For each node a number that it shares with those that say the same down to the ground.
fn alike(explanation: &Explanation, children: &[Vec<usize>]) -> Vec<usize> {
    let count = explanation.nodes.len();
    let mut class: Vec<Option<usize>> = vec![None; count];
    let mut entered = vec![false; count];
    let mut known: HashMap<(&str, String, bool, Vec<usize>), usize> = HashMap::new();
    for start in 0..count {
        // A stack instead of recursion, because derivations can be deep. A node is settled when it is met again.
        let mut waiting = vec![start];
        while let Some(id) = waiting.last().copied() {
            if class[id].is_some() {
                waiting.pop();
                continue;
            }
            if !std::mem::replace(&mut entered[id], true) {
                waiting.extend(children[id].iter().copied().filter(|child| !entered[*child]));
                continue;
            }
            waiting.pop();
            let node = &explanation.nodes[id];
            // A node of a circle is like no other; numbers beyond the count are such nodes' own.
            let below = children[id].iter().map(|child| class[*child].unwrap_or(count + child)).collect();
            let next = known.len();
            class[id] = Some(*known.entry((&node.text, note(node), node.closed, below)).or_insert(next));
        }
    }
    class.into_iter().map(Option::unwrap_or_default).collect()
}

/// A reference repeats this many letters of a sentence, so that it can be distinguished from others.
const REPEATED: usize = 44;

/// The first words of a sentence.
fn beginning(text: &str) -> String {
    if text.chars().count() <= REPEATED {
        return text.to_owned();
    }
    let mut kept = String::new();
    for word in text.split(' ') {
        if kept.chars().count() + word.chars().count() >= REPEATED {
            break;
        }
        kept.push_str(word);
        kept.push(' ');
    }
    format!("{}…", kept)
}

/// A line before its number is known.
struct Draft {
    id: usize,
    rails: Vec<bool>,
    /// The line that showed the same.
    as_above: Option<usize>,
    cut: bool,
}

pub(super) fn rows(explanation: &Explanation, depth: Depth) -> Vec<TreeRow<'_>> {
    let children = children(explanation);
    let alike = alike(explanation, &children);
    let deepest = match depth {
        Depth::Whole => usize::MAX,
        Depth::Levels(levels) => levels,
    };
    let mut drawn: HashMap<usize, usize> = HashMap::new();
    let mut drafts: Vec<Draft> = Vec::new();
    let mut waiting: Vec<(usize, Vec<bool>, usize)> =
        explanation.roots.iter().rev().map(|root| (*root, Vec::new(), 0)).collect();
    while let Some((id, rails, level)) = waiting.pop() {
        let node = &explanation.nodes[id];
        let below = &children[id];
        let level = level + usize::from(matches!(node.kind, Kind::Conclusion | Kind::Fact | Kind::Question));
        let as_above = drawn.get(&alike[id]).copied();
        let cut =
            as_above.is_none() && level >= deepest && !below.is_empty() && node.kind == Kind::Conclusion;
        let opened = as_above.is_none() && !cut && !below.is_empty();
        if opened {
            drawn.insert(alike[id], drafts.len());
            for (index, child) in below.iter().enumerate().rev() {
                let mut rails = rails.clone();
                rails.push(index + 1 < below.len());
                waiting.push((*child, rails, level));
            }
        }
        drafts.push(Draft { id, rails, as_above, cut });
    }
    let mut referred: Vec<usize> = drafts.iter().filter_map(|draft| draft.as_above).collect();
    referred.sort_unstable();
    referred.dedup();
    let number = |line: usize| referred.binary_search(&line).ok().map(|at| at + 1);
    let row = |(line, draft): (usize, &Draft)| {
        let node = &explanation.nodes[draft.id];
        let mark = number(line).map(|number| format!("({number}) ")).unwrap_or_default();
        let lead = if node.kind == Kind::Finding && !node.missed { "because " } else { "" };
        let open = if node.open && node.kind == Kind::Conclusion { " (open)" } else { "" };
        let tail = match draft.as_above.and_then(number) {
            Some(number) => format!(" (as above, {number})"),
            None if draft.cut || node.closed => " …".to_owned(),
            None => String::new(),
        };
        TreeRow {
            rails: draft.rails.clone(),
            node,
            text: match draft.as_above {
                Some(_) => format!("{lead}{}{tail}", beginning(&node.text)),
                None => format!("{mark}{lead}{}{open}{tail}", node.text),
            },
            note: if draft.as_above.is_some() { String::new() } else { note(node) },
            opened: draft.as_above.is_none() && !draft.cut && !children[draft.id].is_empty(),
        }
    };
    drafts.iter().enumerate().map(row).collect()
}
