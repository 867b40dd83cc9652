//! Text to tree, by the grammar in `grammar/why.pest`. Names and types are settled by the checker.
//!
//! A file is cut into items first, so that a mistake in one item leaves the others readable.

use super::cut::{DEEPEST, before_items, chunks, too_deep};
use super::diagnostic::{Diagnostic, nearest};
use super::rulebook::{Aggregate, Cite, Claim, Comparison, Operator, Outside};
use super::source::Span;
use super::tree::*;
use pest::Parser;
use pest::iterators::Pair;
use std::ops::Range;

mod grammar {
    #[derive(pest_derive::Parser)]
    #[grammar = "../grammar/why.pest"]
    pub(super) struct Grammar;
}
use grammar::{Grammar, Rule};

const ITEM_WORDS: [&str; 9] =
    ["include", "words", "relation", "question", "computed", "table", "curve", "finding", "expectation"];

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
            if let Some(near) = nearest(first, ITEM_WORDS) {
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
        match Grammar::parse(Rule::item, chunk) {
            Ok(mut pairs) => {
                let Some(pair) = pairs.next() else { continue };
                match too_long(&pair) {
                    Some((message, long)) => {
                        let span = place(long.start, long.end);
                        diagnostics.push(Diagnostic::new(span, message, "one too many"));
                    }
                    None => items.push(Reader { file, base: start as u32 }.item(pair)),
                }
            }
            Err(error) => diagnostics.push(syntax_error(&error, chunk, &place)),
        }
    }
    items
}

/// What is longer than it may be in an item, and where it becomes so.
fn too_long(item: &Pair<'_, Rule>) -> Option<(String, Range<usize>)> {
    if item.as_rule() != Rule::finding {
        return None;
    }
    let place = |pair: &Pair<'_, Rule>| pair.as_span().start()..pair.as_span().end();
    if let Some(clause) = item.clone().into_inner().skip(1).nth(MOST_CLAUSES) {
        let clause = place(&clause);
        return Some((
            format!("a finding with more than {MOST_CLAUSES} clauses"),
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
    const CLAUSES: [&str; 19] = [
        "given", "unless", "let", "where", "hence", "says", "cite", "reads", "asks", "about", "at",
        "left-out", "from", "across", "unit", "outside", "assume", "never", "open",
    ];
    match nearest(found, CLAUSES) {
        Some(near) if near != found && found.len() > 2 => {
            diagnostic.help(format!("did you mean \"{near}\"?"))
        }
        _ => diagnostic,
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
        Rule::cell | Rule::bare => "a cell",
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

/// Turns pairs into tree nodes; the grammar guarantees the shapes that are taken for granted here.
struct Reader {
    file: u32,
    base: u32,
}

type Node<'t> = Pair<'t, Rule>;

impl Reader {
    fn span(&self, pair: &Node<'_>) -> Span {
        let span = pair.as_span();
        let trimmed = span.as_str().trim_end().len();
        Span {
            file: self.file,
            start: self.base + span.start() as u32,
            end: self.base + (span.start() + trimmed) as u32,
        }
    }

    fn written(&self, pair: Node<'_>) -> Written {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::word | Rule::choice | Rule::cell => {
                let inner = pair.into_inner().next();
                inner
                    .map_or(Written { text: String::new(), quoted: false, span }, |inner| self.written(inner))
            }
            Rule::text => {
                let inner = pair.into_inner().next().map_or("", |inner| inner.as_str());
                Written { text: unescape(inner), quoted: true, span }
            }
            _ => Written { text: pair.as_str().trim().to_owned(), quoted: false, span },
        }
    }

    fn first(&self, pair: Node<'_>) -> Written {
        let span = self.span(&pair);
        pair.into_inner()
            .next()
            .map_or(Written { text: String::new(), quoted: false, span }, |inner| self.written(inner))
    }

    fn item(&self, pair: Node<'_>) -> Item {
        let rule = pair.as_rule();
        let span = self.span(&pair);
        let mut parts = pair.into_inner().peekable();
        let name = parts
            .next()
            .map_or(Written { text: String::new(), quoted: false, span }, |part| self.written(part));
        match rule {
            Rule::include => Item::Include(name),
            Rule::words => Item::Words { name, words: parts.map(|part| self.written(part)).collect() },
            Rule::table => self.table(name, parts),
            Rule::curve => self.curve(name, parts),
            Rule::finding => self.finding(name, parts),
            Rule::expectation => {
                let mut item = ExpectationItem { name, assume: Vec::new(), claims: Vec::new() };
                for part in parts {
                    let claim = match part.as_rule() {
                        Rule::hence => Claim::Hence,
                        Rule::never => Claim::Never,
                        Rule::open => Claim::Open,
                        _ => {
                            item.assume.extend(part.into_inner().map(|pattern| self.pattern(pattern)));
                            continue;
                        }
                    };
                    item.claims.extend(part.into_inner().map(|pattern| (claim, self.pattern(pattern))));
                }
                Item::Expectation(item)
            }
            _ => {
                let flavour = match rule {
                    Rule::question => Flavour::Question,
                    Rule::computed => Flavour::Computed,
                    _ => Flavour::Plain,
                };
                let roles = parts.next().map_or_else(Vec::new, |roles| self.roles(roles));
                let clauses = parts.filter_map(|part| self.relation_clause(part)).collect();
                Item::Relation(RelationItem { flavour, name, roles, clauses })
            }
        }
    }

    fn relation_clause(&self, part: Node<'_>) -> Option<RelationClause> {
        Some(match part.as_rule() {
            Rule::reads => RelationClause::Reads(self.first(part)),
            Rule::asks => RelationClause::Asks(self.first(part)),
            Rule::at => RelationClause::At(self.first(part)),
            Rule::left_out => RelationClause::LeftOut(self.first(part)),
            Rule::about => RelationClause::About(self.pattern(part.into_inner().next()?)),
            Rule::from => RelationClause::From(part.into_inner().map(|name| self.written(name)).collect()),
            Rule::cite => RelationClause::Cite(self.cite(part)),
            _ => return None,
        })
    }

    fn roles(&self, pair: Node<'_>) -> Vec<RoleItem> {
        pair.into_inner().map(|role| self.role(role)).collect()
    }

    fn role(&self, pair: Node<'_>) -> RoleItem {
        let mut parts = pair.clone().into_inner();
        let name = parts.next().map_or_else(|| self.written(pair.clone()), |part| self.written(part));
        let kind = parts.next().unwrap_or(pair);
        let range = kind.clone().into_inner().any(|part| part.as_rule() == Rule::range_of);
        let kind_name = kind.clone().into_inner().find(|part| part.as_rule() == Rule::name);
        RoleItem { name, range, kind: self.written(kind_name.unwrap_or(kind)) }
    }

    fn cite(&self, pair: Node<'_>) -> CiteItem {
        let span = self.span(&pair);
        let cite = match pair.into_inner().next() {
            Some(part) if part.as_rule() == Rule::text => Cite::Source(self.written(part).text.into()),
            Some(part) if part.as_rule() == Rule::memory => {
                Cite::Memory(part.into_inner().next().map(|text| self.written(text).text.into()))
            }
            _ => Cite::CommonPractice,
        };
        CiteItem { cite, span }
    }

    fn table<'t>(&self, name: Written, parts: impl Iterator<Item = Node<'t>>) -> Item {
        let mut table = TableItem {
            name,
            roles: None,
            reads: None,
            cites: vec![],
            across: None,
            units: vec![],
            cells: vec![],
        };
        for part in parts {
            match part.as_rule() {
                Rule::roles => table.roles = Some(self.roles(part)),
                Rule::reads => table.reads = Some(self.first(part)),
                Rule::cite => table.cites.push(self.cite(part)),
                Rule::across => {
                    let mut words = part.into_inner().map(|word| self.written(word));
                    table.across = words.next().map(|role| (role, words.collect()));
                }
                Rule::unit_of => {
                    let mut words = part.into_inner().map(|word| self.written(word));
                    if let (Some(role), Some(unit)) = (words.next(), words.next()) {
                        table.units.push((role, unit));
                    }
                }
                _ => table.cells.push(self.written(part)),
            }
        }
        Item::Table(table)
    }

    fn curve<'t>(&self, name: Written, mut parts: impl Iterator<Item = Node<'t>>) -> Item {
        let empty = RoleItem { name: name.clone(), range: false, kind: name.clone() };
        let from = parts.next().map_or(empty, |role| self.role(role));
        let to = parts.next().map_or_else(|| name.clone(), |kind| self.written(kind));
        let mut curve = CurveItem { name, from, to, outside: None, cites: vec![], cells: vec![] };
        for part in parts {
            match part.as_rule() {
                Rule::cite => curve.cites.push(self.cite(part)),
                Rule::outside => {
                    curve.outside = part.into_inner().next().map(|how| match how.as_rule() {
                        Rule::outside_none => Outside::None,
                        Rule::outside_extends => Outside::Extends,
                        _ => Outside::Holds,
                    });
                }
                _ => curve.cells.push(self.written(part)),
            }
        }
        Item::Curve(curve)
    }

    fn finding<'t>(&self, id: Written, parts: impl Iterator<Item = Node<'t>>) -> Item {
        let mut finding = FindingItem { id, says: None, cites: vec![], clauses: vec![] };
        for part in parts {
            let span = self.span(&part);
            let rule = part.as_rule();
            match rule {
                Rule::says => finding.says = Some(self.first(part)),
                Rule::cite => finding.cites.push(self.cite(part)),
                _ => {
                    let mut inner = part.into_inner();
                    let Some(head) = inner.next() else { continue };
                    let clause = match rule {
                        Rule::given => Clause::Given(self.pattern(head)),
                        Rule::unless => Clause::Unless(self.pattern(head)),
                        Rule::hence => Clause::Hence(self.pattern(head)),
                        Rule::where_ => Clause::Where { condition: self.condition(head), span },
                        _ => {
                            let variable = self.written(head);
                            let Some(value) = inner.next() else { continue };
                            Clause::Let { variable, value: self.let_value(value), span }
                        }
                    };
                    finding.clauses.push(clause);
                }
            }
        }
        Item::Finding(finding)
    }

    fn pattern(&self, pair: Node<'_>) -> PatternItem {
        let span = self.span(&pair);
        let mut parts = pair.clone().into_inner();
        let name = parts.next().map_or_else(|| self.written(pair), |name| self.written(name));
        let arguments = parts
            .map(|argument| {
                let mut inner = argument.clone().into_inner();
                let first = inner.next().unwrap_or(argument);
                match first.as_rule() {
                    Rule::role_name => {
                        let role = self.written(first);
                        let term = inner.next().map_or_else(|| role.clone(), |term| self.term(term));
                        (Some(role), term)
                    }
                    _ => (None, self.term(first)),
                }
            })
            .collect();
        PatternItem { name, arguments, span }
    }

    fn term(&self, pair: Node<'_>) -> Written {
        let span = self.span(&pair);
        let parts: Vec<Written> = pair.into_inner().map(|part| self.written(part)).collect();
        let quoted = parts.first().is_some_and(|part| part.quoted);
        let text = parts.into_iter().map(|part| part.text).collect::<Vec<_>>().join(" ");
        Written { text, quoted, span }
    }

    fn let_value(&self, pair: Node<'_>) -> LetValue {
        if pair.as_rule() != Rule::aggregate {
            return LetValue::Formula(self.expression(pair));
        }
        let mut how = Aggregate::Count;
        let mut over = None;
        let mut members = None;
        let whole = pair.clone();
        for part in pair.into_inner() {
            match part.as_rule() {
                Rule::fold => {
                    how = match part.as_str().trim() {
                        "sum" => Aggregate::Sum,
                        "least" => Aggregate::Least,
                        _ => Aggregate::Greatest,
                    }
                }
                Rule::variable => over = Some(self.written(part)),
                Rule::pattern => members = Some(self.pattern(part)),
                _ => {}
            }
        }
        LetValue::Aggregate { how, over, members: members.unwrap_or_else(|| self.pattern(whole)) }
    }

    fn condition(&self, pair: Node<'_>) -> ConditionItem {
        if pair.as_rule() == Rule::among {
            let mut negated = false;
            let mut terms = Vec::new();
            for part in pair.into_inner() {
                match part.as_rule() {
                    Rule::not => negated = true,
                    Rule::is | Rule::one_of => {}
                    _ => terms.push(self.written(part)),
                }
            }
            let left = terms.remove(0);
            return ConditionItem::Among { left, among: terms, negated };
        }
        let mut parts = pair.into_inner();
        let (left, comparison, right) = (parts.next(), parts.next(), parts.next());
        let comparison = match comparison.as_ref().map_or("", |part| part.as_str()) {
            "<" => Comparison::Less,
            "<=" | "≤" => Comparison::AtMost,
            ">" => Comparison::More,
            ">=" | "≥" => Comparison::AtLeast,
            "!=" | "≠" => Comparison::Unequal,
            _ => Comparison::Equal,
        };
        let side = |part: Option<Node<'_>>| {
            part.map_or(
                ExpressionItem::Number { number: "0".into(), unit: None, span: Span::default() },
                |part| self.expression(part),
            )
        };
        ConditionItem::Compare { left: side(left), comparison, right: side(right) }
    }

    fn expression(&self, pair: Node<'_>) -> ExpressionItem {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::expression | Rule::product => {
                let mut parts = pair.into_inner();
                let Some(first) = parts.next() else { return zero(span) };
                let mut left = self.expression(first);
                while let (Some(operator), Some(right)) = (parts.next(), parts.next()) {
                    let operator = match operator.as_str().trim() {
                        "+" => Operator::Plus,
                        "-" | "−" => Operator::Minus,
                        "/" => Operator::Over,
                        _ => Operator::Times,
                    };
                    let right = Box::new(self.expression(right));
                    left = ExpressionItem::Binary { operator, left: Box::new(left), right };
                }
                left
            }
            Rule::signed => {
                let mut parts = pair.into_inner();
                match parts.next() {
                    Some(part) if part.as_rule() == Rule::minus => {
                        let inner = parts.next().map_or_else(|| zero(span), |inner| self.expression(inner));
                        ExpressionItem::Negated(Box::new(inner))
                    }
                    Some(part) => self.expression(part),
                    None => zero(span),
                }
            }
            Rule::atom => pair.into_inner().next().map_or_else(|| zero(span), |inner| self.expression(inner)),
            Rule::literal => {
                let mut parts = pair.into_inner();
                let number = parts.next().map_or_else(String::new, |part| part.as_str().to_owned());
                ExpressionItem::Number {
                    number,
                    unit: parts.next().map(|part| part.as_str().to_owned()),
                    span,
                }
            }
            Rule::call => {
                let mut parts = pair.clone().into_inner();
                let name = parts.next().map_or_else(|| self.written(pair), |name| self.written(name));
                ExpressionItem::Call {
                    name,
                    arguments: parts.map(|part| self.expression(part)).collect(),
                    span,
                }
            }
            _ => ExpressionItem::Variable(self.written(pair)),
        }
    }
}

fn zero(span: Span) -> ExpressionItem {
    ExpressionItem::Number { number: "0".into(), unit: None, span }
}

fn unescape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut characters = text.chars();
    while let Some(c) = characters.next() {
        match c {
            '\\' => match characters.next() {
                Some('n') => out.push('\n'),
                Some(other) => out.push(other),
                None => {}
            },
            // A text that runs over several lines reads as one line.
            '\n' => {
                while out.ends_with(' ') {
                    out.pop();
                }
                out.push(' ');
                let rest = characters.as_str().trim_start();
                characters = rest.chars();
            }
            c => out.push(c),
        }
    }
    out
}
