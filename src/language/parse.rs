//! Text to tree, by the grammar in `grammar/why.pest`. Names and types are resolved by the checker.
//!
//! A file is cut into items first, so that a mistake in one item leaves the others readable.

use super::cut::{DEEPEST, before_items, chunks, too_deep, without_comments};
use super::diagnostic::{Diagnostic, nearest};
use super::grammar::{Grammar, Rule};
use super::nodes::ItemReader;
use super::pairs::Drift;
use super::source::Span;
use super::tree::*;
use pest::Parser;
use pest::iterators::Pair;
use std::ops::Range;

const ITEM_WORDS: [&str; 15] = [
    "include",
    "names",
    "words",
    "more",
    "values",
    "relation",
    "question",
    "computed",
    "table",
    "curve",
    "finding",
    "meaning",
    "ladder",
    "background",
    "expectation",
];

/// A formula with more figures and variables than this is refused; each makes the tree one level deeper.
const LONGEST_FORMULA: usize = 500;

/// A finding with more clauses than this is no sentence that anybody reads.
const MOST_CLAUSES: usize = 200;

/// Reads one file into items; what cannot be read is reported, and the rest is kept.
pub(super) fn parse_file(file: u32, text: &str, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    let mut items = Vec::new();
    let chunks = chunks(text);
    if let Some(at) = before_items(&text[..chunks.first().map_or(text.len(), |(start, _)| *start)]) {
        let span = Span { file, start: at.start as u32, end: at.end as u32 };
        let diagnostic =
            Diagnostic::new(span, "this belongs to no item", "indented, and no item stands above it");
        diagnostics.push(diagnostic.help("an item starts in the first column"));
    }
    for (start, end) in chunks {
        let chunk = &text[start..end];
        let place =
            |from: usize, to: usize| Span { file, start: (start + from) as u32, end: (start + to) as u32 };
        let first = chunk.split(|c: char| !(c.is_alphanumeric() || c == '-')).next().unwrap_or("");
        if !ITEM_WORDS.contains(&first) {
            let length = first.len().max(chunk.chars().next().map_or(0, char::len_utf8));
            let mut diagnostic = Diagnostic::new(
                place(0, length),
                "this is not the start of an item",
                format!("an item starts with one of: {}", ITEM_WORDS.join(", ")),
            );
            if let Some(instead) = foreign(chunk).filter(|_| first.is_empty()) {
                diagnostic = diagnostic.help(instead);
            } else if let Some(near) = nearest(first, ITEM_WORDS) {
                diagnostic = diagnostic.help(format!("did you mean \"{near}\"?"));
            } else {
                diagnostic = diagnostic.help("lines that belong to an item are indented under it");
            }
            diagnostics.push(diagnostic);
            continue;
        }
        if let Some(at) = too_deep(chunk) {
            diagnostics.push(Diagnostic::new(
                place(at, at + 1),
                format!("brackets nested more than {DEEPEST} deep"),
                "too deep here",
            ));
            continue;
        }
        let chunk = without_comments(chunk);
        match Grammar::parse(Rule::item, &chunk) {
            Ok(mut pairs) => {
                let Some(pair) = pairs.next() else { continue };
                match too_long(&pair) {
                    Some((message, long)) => {
                        let span = place(long.start, long.end);
                        diagnostics.push(Diagnostic::new(span, message, "one too many"));
                    }
                    None => match (ItemReader { file, base: start as u32 }).item(pair) {
                        Ok(item) => items.push(item),
                        Err(drift) => diagnostics.push(of_drift(drift)),
                    },
                }
            }
            Err(error) => diagnostics.push(syntax_error(&error, &chunk, &place)),
        }
    }
    items
}

/// Reads a text that is one pattern and nothing else.
pub(super) fn parse_pattern(text: &str) -> Result<PatternItem, Diagnostic> {
    let place = |from: usize, to: usize| Span { file: 0, start: from as u32, end: to as u32 };
    if let Some(at) = too_deep(text) {
        return Err(Diagnostic::new(place(at, at + 1), "too many brackets", "too deep here"));
    }
    match Grammar::parse(Rule::asked, text) {
        Ok(mut pairs) => match pairs.next() {
            Some(pair) => ItemReader { file: 0, base: 0 }.pattern(pair).map_err(of_drift),
            None => Err(Diagnostic::new(place(0, text.len()), "this names no fact", "nothing stands here")),
        },
        Err(error) => {
            let mistake = syntax_error(&error, text, &place);
            Err(Diagnostic { message: "this names no fact".to_owned(), ..mistake })
        }
    }
}

/// The grammar and the reader of its pairs disagree.
fn of_drift(drift: Drift) -> Diagnostic {
    let message = format!("the program cannot read what its own grammar allows: {}", drift.found);
    Diagnostic::new(drift.span, message, "here").help("this is a mistake of the program; please report it")
}

/// What is longer than it may be in an item, and where it becomes so.
fn too_long(item: &Pair<'_, Rule>) -> Option<(String, Range<usize>)> {
    if !matches!(item.as_rule(), Rule::finding | Rule::meaning | Rule::ladder) {
        return None;
    }
    let place = |pair: &Pair<'_, Rule>| pair.as_span().start()..pair.as_span().end();
    if let Some(clause) = item.clone().into_inner().skip(1).nth(MOST_CLAUSES) {
        let clause = place(&clause);
        return Some((
            format!("a {:?} with more than {MOST_CLAUSES} clauses", item.as_rule()),
            clause.start..clause.start + 1,
        ));
    }
    item.clone().into_inner().find_map(|clause| {
        let mut atoms = clause.into_inner().flatten().filter(|part| part.as_rule() == Rule::atom);
        let atom = atoms.nth(LONGEST_FORMULA)?;
        Some((format!("a formula of more than {LONGEST_FORMULA} figures and variables"), place(&atom)))
    })
}

fn syntax_error(
    error: &pest::error::Error<Rule>,
    chunk: &str,
    place: &dyn Fn(usize, usize) -> Span,
) -> Diagnostic {
    let at = match error.location {
        pest::error::InputLocation::Pos(at) => at,
        pest::error::InputLocation::Span((at, _)) => at,
    };
    // A position on blank space after the last word is shown on that word, where the reader looks.
    let shown = if chunk[at..].trim_start().is_empty() || chunk[at..].starts_with('\n') {
        chunk[..at].trim_end().len().saturating_sub(1)
    } else {
        at
    };
    let shown = (0..=shown).rev().find(|at| chunk.is_char_boundary(*at)).unwrap_or(0);
    let word = chunk[shown..].find(|c: char| c.is_whitespace()).map_or(chunk.len(), |length| shown + length);
    let mut expected: Vec<&str> = match &error.variant {
        pest::error::ErrorVariant::ParsingError { positives, .. } => {
            positives.iter().map(described).collect()
        }
        pest::error::ErrorVariant::CustomError { .. } => Vec::new(),
    };
    expected.retain(|text| !text.is_empty());
    expected.sort_unstable();
    expected.dedup();
    let label = if expected.is_empty() {
        "cannot be read from here".to_owned()
    } else {
        format!("expected {}", expected.join(", or "))
    };
    let found = chunk[shown..].split_whitespace().next().unwrap_or("");
    let diagnostic = Diagnostic::new(
        place(shown, word.max(shown + chunk[shown..].chars().next().map_or(0, char::len_utf8))),
        "this item cannot be read",
        label,
    );
    // What other languages write, and what is written here instead.
    let around =
        &chunk[(0..=shown.saturating_sub(1)).rev().find(|at| chunk.is_char_boundary(*at)).unwrap_or(0)..];
    if let Some(instead) = foreign(found).or_else(|| foreign(around)) {
        return diagnostic.help(instead);
    }
    const CLAUSES: [&str; 29] = [
        "given",
        "unless",
        "let",
        "where",
        "hence",
        "says",
        "cite",
        "reads",
        "asks",
        "about",
        "at",
        "rung",
        "rows",
        "otherwise",
        "throughout",
        "listed",
        "and",
        "or",
        "left-out",
        "takes",
        "from",
        "once",
        "in",
        "across",
        "unit",
        "outside",
        "assume",
        "never",
        "open",
    ];
    match nearest(found, CLAUSES) {
        Some(near) if near != found && found.len() > 2 => {
            diagnostic.help(format!("did you mean \"{near}\"?"))
        }
        _ => diagnostic,
    }
}

/// What stands here instead of a sign or word of another language that the text begins with.
fn foreign(text: &str) -> Option<&'static str> {
    let word = text.split_whitespace().next().unwrap_or("");
    match word {
        "==" => return Some("numbers are compared with \"=\", names and words with \"is\""),
        "<>" => return Some("numbers are compared with \"!=\", names and words with \"is not\""),
        "&&" | "and" => {
            return Some("each premise stands on a line of its own: a finding holds where all of them do");
        }
        "||" | "or" => {
            return Some(
                "\"or\" joins words of one role; findings that differ in more are a ladder, or several findings",
            );
        }
        "not" | "!" => return Some("what must not hold stands behind \"unless\""),
        _ => {}
    }
    let mut characters = text.trim_start().chars();
    match (characters.next()?, characters.next()) {
        ('#', _) | ('/', Some('/')) | ('%', None) => Some("a remark begins with --"),
        ('“' | '”' | '„' | '«' | '»' | '‘' | '’' | '\'', _) => {
            Some("texts stand in straight quotes: \"…\"")
        }
        (',', Some(c)) if c.is_ascii_digit() => Some("a decimal point is a point: 0.9, not 0,9"),
        ('=', Some('=')) => Some("numbers are compared with \"=\", names and words with \"is\""),
        _ => None,
    }
}

fn described(rule: &Rule) -> &'static str {
    match rule {
        Rule::text | Rule::text_inner => "a text in quotes",
        Rule::name | Rule::role_name => "a name in small letters",
        Rule::dotted => "an id such as joint.sound",
        Rule::variable => "a variable (a capital letter first)",
        Rule::roles | Rule::role => "roles such as (joint: name)",
        Rule::kind | Rule::range_of => "a type",
        Rule::pattern => "a relation with its terms in brackets",
        Rule::argument | Rule::term | Rule::bare_argument => "a term",
        Rule::expression
        | Rule::product
        | Rule::signed
        | Rule::atom
        | Rule::call
        | Rule::literal
        | Rule::number => "a formula",
        Rule::minus => "",
        Rule::sum_operator | Rule::product_operator => "an operator",
        Rule::comparator => "a comparison",
        Rule::is => "\"is\"",
        Rule::unit => "a unit",
        Rule::word | Rule::choice => "a word",
        Rule::cell | Rule::bare | Rule::row_cell => "a cell",
        Rule::rung => "rung",
        Rule::rows => "rows",
        Rule::throughout => "throughout",
        Rule::otherwise => "otherwise",
        Rule::border | Rule::side_of | Rule::up_to => "a border, such as \"up to 3 mm\"",
        Rule::under | Rule::from_on | Rule::over | Rule::joint => "",
        Rule::membership => "a variable and \"is\"",
        Rule::condition | Rule::test => "the condition of the rung",
        Rule::head => "a role and what fills it, such as joint: J",
        Rule::value => "a name, \"=\" and a figure",
        Rule::rung_value | Rule::rung_word | Rule::formula => "a value",
        Rule::given => "given",
        Rule::unless => "unless",
        Rule::let_ => "let",
        Rule::where_ => "where",
        Rule::hence => "hence",
        Rule::says => "says",
        Rule::cite => "cite",
        Rule::reads => "reads",
        Rule::asks => "asks",
        Rule::about => "about",
        Rule::at => "at",
        Rule::left_out => "left-out",
        Rule::takes => "takes",
        Rule::once => "once per …",
        Rule::in_turns => "in turns of …",
        Rule::from => "from",
        Rule::across => "across",
        Rule::unit_of => "unit",
        Rule::outside => "outside",
        Rule::assume => "assume",
        Rule::never => "never",
        Rule::open => "open",
        Rule::common_practice => "common practice",
        Rule::memory => "memory",
        Rule::outside_holds => "holds",
        Rule::outside_none => "none",
        Rule::outside_extends => "extends",
        Rule::aggregate | Rule::count | Rule::fold => "count, sum, least or greatest",
        Rule::EOI => "the end of the item",
        _ => "",
    }
}
