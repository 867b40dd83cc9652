//! An explanation as a drawing: an SVG of our own, and the open DOT format of graph tools.

use super::page::whole_words;
use super::tree::{Depth, rows};
use crate::explain::{Explanation, Kind};
use crate::visible::visible;
use std::fmt::Write;

/// The graph in DOT.
pub fn dot(explanation: &Explanation) -> String {
    let quoted = |text: &str| text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n");
    let mut out = String::from("digraph derivation {\n  rankdir=LR;\n  node [fontname=\"sans-serif\"];\n");
    for node in &explanation.nodes {
        let shape = match node.kind {
            Kind::Conclusion => "box, style=bold",
            Kind::Finding => "box, style=rounded",
            Kind::Fact => "box",
            Kind::Absence => "box, style=dashed",
            Kind::Aggregate | Kind::Working => "plaintext",
            Kind::Question => "diamond",
            Kind::Source => "note",
        };
        let label = textwrap::wrap(&visible(&node.text), whole_words(40)).join("\n");
        let _ = writeln!(out, "  n{} [label=\"{}\", shape={shape}];", node.id, quoted(&label));
    }
    for (from, to, role) in &explanation.edges {
        let _ = writeln!(out, "  n{from} -> n{to} [label=\"{}\"];", role.word());
    }
    out.push_str("}\n");
    out
}

const LINE: usize = 17;
const INDENT: usize = 22;
const COLUMNS: usize = 84;
const LETTER: usize = 7;

/// The tree as an SVG: one box a line, rails to the left, the same folding as on the terminal.
pub fn svg(explanation: &Explanation, depth: Depth) -> String {
    let rows = rows(explanation, depth);
    let mut body = String::new();
    let mut top = 12;
    let mut deepest = 0;
    // For each level, where the last box of that level began, so that a rail can be drawn down to the next one.
    let mut began: Vec<usize> = Vec::new();
    for row in &rows {
        let level = row.rails.len();
        let left = 12 + level * INDENT;
        let mut lines: Vec<(String, bool)> = textwrap::wrap(&visible(&row.text), whole_words(COLUMNS))
            .into_iter()
            .map(|line| (line.into_owned(), false))
            .collect();
        if !row.note.is_empty() {
            lines.extend(
                textwrap::wrap(&visible(&row.note), whole_words(COLUMNS + 14))
                    .into_iter()
                    .map(|line| (line.into_owned(), true)),
            );
        }
        let height = lines.len() * LINE + 8;
        let (fill, stroke) = match row.node.kind {
            _ if row.node.open => ("#fff6d6", "#a07400"),
            Kind::Conclusion => ("#e8f0e4", "#3f6b35"),
            Kind::Finding => ("#eef1f6", "#41557a"),
            Kind::Absence => ("#ffffff", "#888888"),
            _ => ("#f7f7f5", "#777777"),
        };
        began.truncate(level);
        if let Some(parent) = level.checked_sub(1).and_then(|parent| began.get(parent)) {
            let (x, y) = (left - INDENT / 2, top + LINE / 2 + 4);
            let _ = writeln!(body, "<path d=\"M{x} {parent} V{y} H{left}\" fill=\"none\" stroke=\"#999\"/>");
        }
        began.push(top + height);
        let box_width = COLUMNS * LETTER + 16;
        let dash = if row.node.kind == Kind::Absence { " stroke-dasharray=\"4 3\"" } else { "" };
        let _ = writeln!(
            body,
            "<rect x=\"{left}\" y=\"{top}\" width=\"{box_width}\" height=\"{height}\" rx=\"3\" fill=\"{fill}\" stroke=\"{stroke}\"{dash}/>"
        );
        for (index, (line, faint)) in lines.iter().enumerate() {
            let (x, y) = (left + 8, top + (index + 1) * LINE - 1);
            let (size, ink) = if *faint { (11, "#666") } else { (13, "#111") };
            let _ = writeln!(
                body,
                "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{ink}\">{}</text>",
                escaped(line)
            );
        }
        top += height + 6;
        deepest = deepest.max(left + box_width);
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" font-family=\"sans-serif\">\n<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n{body}</svg>\n",
        deepest + 12,
        top + 6
    )
}

/// Text of an XML document, with escapes for what is not seen or not allowed there.
pub(super) fn escaped(text: &str) -> String {
    visible(text).replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
