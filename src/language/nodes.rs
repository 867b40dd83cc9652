//! Pairs of the grammar to tree nodes. The grammar guarantees the shapes that are taken for granted here.

use super::parse::grammar::Rule;
use super::rulebook::{Aggregate, Cite, Claim, Comparison, Operator, Outside};
use super::source::Span;
use super::tree::*;
use pest::iterators::Pair;

/// Turns the pairs of one item into tree nodes.
pub(super) struct Reader {
    /// Index of the file.
    pub file: u32,
    /// Offset of the item in it.
    pub base: u32,
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

    pub fn item(&self, pair: Node<'_>) -> Item {
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
            Rule::once => RelationClause::Once(self.words(part)),
            Rule::in_turns => RelationClause::InTurns(self.first(part)),
            Rule::takes => self.takes(part)?,
            _ => return None,
        })
    }

    fn words(&self, pair: Node<'_>) -> Vec<Written> {
        pair.into_inner().map(|name| self.written(name)).collect()
    }

    /// A range in one or two words, and the reason.
    fn takes(&self, pair: Node<'_>) -> Option<RelationClause> {
        let mut words = self.words(pair);
        let reason = words.pop()?;
        let (first, last) = (words.first()?, words.last()?);
        let span = Span { end: last.span.end, ..first.span };
        let text = words.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ");
        Some(RelationClause::Takes(Written { text, quoted: false, span }, reason))
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
            once: vec![],
            cells: vec![],
        };
        for part in parts {
            match part.as_rule() {
                Rule::roles => table.roles = Some(self.roles(part)),
                Rule::reads => table.reads = Some(self.first(part)),
                Rule::cite => table.cites.push(self.cite(part)),
                Rule::once => table.once.push(self.words(part)),
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

    pub fn pattern(&self, pair: Node<'_>) -> PatternItem {
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
