//! Curves: drawn with characters on a terminal, and as an SVG. What the curves mean is said by the caller.

use super::drawing::escaped;
use std::fmt::Write;

/// A line through points.
pub struct CurveLine<'a> {
    /// What it is, for the legend.
    pub name: &'a str,
    /// Points in the order in which they are joined.
    pub points: &'a [(f64, f64)],
}

/// A diagram: lines over common axes.
pub struct Diagram<'a> {
    /// What it shows.
    pub title: &'a str,
    /// Name and unit of the horizontal axis.
    pub across: &'a str,
    /// Name and unit of the vertical axis.
    pub up: &'a str,
    /// The lines.
    pub lines: Vec<CurveLine<'a>>,
    /// A stretch of the horizontal axis to mark.
    pub marked: Option<(f64, f64)>,
}

struct Frame {
    left: f64,
    right: f64,
    low: f64,
    high: f64,
}

/// Room for all points; `None` where there is nothing to draw.
fn frame(diagram: &Diagram<'_>) -> Option<Frame> {
    let points =
        || diagram.lines.iter().flat_map(|line| line.points).filter(|(x, y)| x.is_finite() && y.is_finite());
    points().next()?;
    let ends = |pick: fn(&(f64, f64)) -> f64| {
        points()
            .map(pick)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
    };
    let ((left, right), (low, high)) = (ends(|point| point.0), ends(|point| point.1));
    let apart = |low: f64, high: f64| if high > low { high } else { low + 1.0 };
    Some(Frame { left, right: apart(left, right), low, high: apart(low, high) })
}

/// Round figures between two ends: a step of 1, 2 or 5 times a power of ten, about `count` of them.
fn ticks(low: f64, high: f64, count: usize) -> Vec<f64> {
    let rough = (high - low) / count.max(1) as f64;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|factor| factor * power)
        .find(|step| *step >= rough)
        .unwrap_or(power);
    let first = (low / step).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    (first..=last).map(|tick| tick as f64 * step).collect()
}

/// The first line of a diagram drawn with characters, about `columns` wide and `rows` high.
pub fn drawn(diagram: &Diagram<'_>, columns: usize, rows: usize) -> String {
    let Some(frame) = frame(diagram) else { return String::new() };
    let Some(line) = diagram.lines.first() else { return String::new() };
    let margin = 8;
    let inner = columns.saturating_sub(margin + 1).max(10);
    let rows = rows.max(4);
    let mut grid = vec![vec![' '; inner]; rows];
    let row_of = |y: f64| ((frame.high - y) / (frame.high - frame.low) * (rows - 1) as f64).round() as usize;
    let mut before: Option<usize> = None;
    for column in 0..inner {
        let x = frame.left + (frame.right - frame.left) * column as f64 / (inner - 1) as f64;
        let Some(y) = at(line.points, x) else { continue };
        let row = row_of(y).min(rows - 1);
        // A steep stretch is drawn as a stroke from the last row to this one.
        let from = before.map_or(row, |before| if before < row { before + 1 } else { row });
        for cell in &mut grid[from.min(row)..row] {
            cell[column] = '│';
        }
        grid[row][column] = if before.is_some_and(|before| before + 1 < row) { '╰' } else { '─' };
        before = Some(row);
    }
    let mut out = format!("{}\n", diagram.up);
    for (index, cells) in grid.iter().enumerate() {
        let y = frame.high - (frame.high - frame.low) * index as f64 / (rows - 1) as f64;
        let label = if index % 3 == 0 || index == rows - 1 { format!("{y:>6.0}") } else { " ".repeat(6) };
        let text: String = cells.iter().collect();
        let _ = writeln!(out, "{label} ┤{}", text.trim_end());
    }
    let axis: String =
        (0..inner).map(|column| if column % (inner / 5).max(1) == 0 { '┴' } else { '─' }).collect();
    let _ = writeln!(out, "{}╰{axis}", " ".repeat(margin - 1));
    let mut numbers = String::new();
    for column in (0..inner).step_by((inner / 5).max(1)) {
        let x = frame.left + (frame.right - frame.left) * column as f64 / (inner - 1) as f64;
        while numbers.chars().count() < margin + column - 1 {
            numbers.push(' ');
        }
        let _ = write!(numbers, "{x:.2}");
    }
    let _ = writeln!(out, "{numbers}\n{}{}", " ".repeat(margin), diagram.across);
    out
}

/// Value of a line at `x`, between its points.
fn at(points: &[(f64, f64)], x: f64) -> Option<f64> {
    let index = points.partition_point(|point| point.0 < x);
    match (index.checked_sub(1).map(|before| points[before]), points.get(index)) {
        (_, Some((at, y))) if (at - x).abs() < 1e-12 => Some(*y),
        (Some((x0, y0)), Some((x1, y1))) => Some(y0 + (y1 - y0) * (x - x0) / (x1 - x0).max(1e-12)),
        (Some((last, y)), None) if x - last < 1e-9 => Some(y),
        _ => None,
    }
}

const PANEL_WIDTH: f64 = 560.0;
const PANEL_HEIGHT: f64 = 320.0;
const STROKES: [&str; 4] = ["#23527c", "#b5521b", "#3f6b35", "#6b4a86"];
const DASHES: [&str; 4] =
    ["", " stroke-dasharray=\"7 4\"", " stroke-dasharray=\"2 3\"", " stroke-dasharray=\"9 3 2 3\""];

/// Diagrams below each other in one SVG.
pub fn plot(diagrams: &[Diagram<'_>]) -> String {
    let (left, top, below) = (78.0, 44.0, 60.0);
    let mut body = String::new();
    for (index, diagram) in diagrams.iter().enumerate() {
        let origin = index as f64 * (PANEL_HEIGHT + top + below);
        let Some(frame) = frame(diagram) else { continue };
        let px = |x: f64| left + (x - frame.left) / (frame.right - frame.left) * PANEL_WIDTH;
        let py = |y: f64| origin + top + (frame.high - y) / (frame.high - frame.low) * PANEL_HEIGHT;
        let bottom = origin + top + PANEL_HEIGHT;
        let _ = writeln!(
            body,
            "<text x=\"{left}\" y=\"{}\" font-size=\"15\" font-weight=\"bold\">{}</text>",
            origin + 22.0,
            escaped(diagram.title)
        );
        if let Some((from, to)) = diagram.marked {
            let (from, to) = (px(from.max(frame.left)), px(to.min(frame.right)));
            let _ = writeln!(
                body,
                "<rect x=\"{from:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{PANEL_HEIGHT}\" fill=\"#f1e7c8\"/>",
                origin + top,
                (to - from).max(1.5)
            );
        }
        for x in ticks(frame.left, frame.right, 8) {
            let _ = writeln!(
                body,
                "<path d=\"M{0:.1} {bottom} v5\" stroke=\"#444\"/><text x=\"{0:.1}\" y=\"{1:.1}\" font-size=\"12\" text-anchor=\"middle\">{2}</text>",
                px(x),
                bottom + 20.0,
                crate::quantity::format_number(x)
            );
        }
        for y in ticks(frame.low, frame.high, 6) {
            let _ = writeln!(
                body,
                "<path d=\"M{left} {0:.1} H{1}\" stroke=\"#ddd\"/><text x=\"{2}\" y=\"{3:.1}\" font-size=\"12\" text-anchor=\"end\">{4}</text>",
                py(y),
                left + PANEL_WIDTH,
                left - 6.0,
                py(y) + 4.0,
                crate::quantity::format_number(y)
            );
        }
        let _ = writeln!(
            body,
            "<rect x=\"{left}\" y=\"{}\" width=\"{PANEL_WIDTH}\" height=\"{PANEL_HEIGHT}\" fill=\"none\" stroke=\"#444\"/>",
            origin + top
        );
        for (line, (stroke, dash)) in diagram.lines.iter().zip(STROKES.iter().zip(DASHES).cycle()) {
            let path: Vec<String> =
                line.points.iter().map(|(x, y)| format!("{:.1} {:.1}", px(*x), py(*y))).collect();
            let _ = writeln!(
                body,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"1.8\"{dash}/>",
                path.join(" ")
            );
        }
        for (place, (line, (stroke, dash))) in
            diagram.lines.iter().zip(STROKES.iter().zip(DASHES).cycle()).enumerate()
        {
            let x = left + place as f64 * 190.0;
            let y = bottom + 50.0;
            let _ = writeln!(
                body,
                "<path d=\"M{x} {0} h26\" stroke=\"{stroke}\" stroke-width=\"1.8\"{dash}/><text x=\"{1}\" y=\"{y}\" font-size=\"12\">{2}</text>",
                y - 4.0,
                x + 32.0,
                escaped(line.name)
            );
        }
        let _ = writeln!(
            body,
            "<text x=\"{}\" y=\"{}\" font-size=\"12\" text-anchor=\"middle\">{}</text>",
            left + PANEL_WIDTH / 2.0,
            bottom + 36.0,
            escaped(diagram.across)
        );
        let _ = writeln!(
            body,
            "<text transform=\"translate(16 {}) rotate(-90)\" font-size=\"12\" text-anchor=\"middle\">{}</text>",
            origin + top + PANEL_HEIGHT / 2.0,
            escaped(diagram.up)
        );
    }
    let height = diagrams.len() as f64 * (PANEL_HEIGHT + top + below);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{0}\" height=\"{height}\" viewBox=\"0 0 {0} {height}\" font-family=\"sans-serif\" fill=\"#111\">\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{body}</svg>\n",
        left + PANEL_WIDTH + 24.0
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round() {
        let round: Vec<String> = ticks(0.0, 1.0, 5).into_iter().map(crate::quantity::format_number).collect();
        assert_eq!(round, ["0", "0.2", "0.4", "0.6", "0.8", "1"]);
    }

    #[test]
    fn a_falling_line_is_drawn_from_the_upper_left_to_the_lower_right() {
        let points = [(0.0, 640.0), (0.5, 620.0), (1.0, 577.0)];
        let diagram = Diagram {
            title: "",
            across: "solid fraction",
            up: "°C",
            lines: vec![CurveLine { name: "", points: &points }],
            marked: None,
        };
        let text = drawn(&diagram, 60, 10);
        let rows: Vec<&str> = text.lines().collect();
        assert!(rows[1].contains('─') && rows[1].find('─') < rows[10].find('─'), "{text}");
        assert!(rows[1].trim_start().starts_with("640"));
    }

    #[test]
    fn nothing_to_draw_is_no_panic() {
        let diagram = Diagram { title: "", across: "", up: "", lines: Vec::new(), marked: None };
        assert_eq!(drawn(&diagram, 5, 1), "");
        assert!(plot(&[diagram]).starts_with("<svg"));
    }
}
