//! Pairs of the grammar to tree nodes. What the grammar gives and this reader does not expect is an error, so that the two cannot
//! drift apart unseen.

use super::grammar::Rule;
use super::pairs::{Drift, GrammarPair, Inside, Read};
use super::rulebook::{Aggregate, Cite, Claim, Comparison, Operator, Outside};
use super::source::Span;
use super::tree::*;

/// Turns the pairs of one item into tree nodes.
pub(super) struct ItemReader {
    /// Index of the file.
    pub file: u32,
    /// Offset of the item in it.
    pub base: u32,
}

impl ItemReader {
    fn span(&self, pair: &GrammarPair<'_>) -> Span {
        let span = pair.as_span();
        let trimmed = span.as_str().trim_end().len();
        Span {
            file: self.file,
            start: self.base + span.start() as u32,
            end: self.base + (span.start() + trimmed) as u32,
        }
    }

    fn inside<'t>(&self, pair: GrammarPair<'t>) -> Inside<'t> {
        Inside { of: pair.as_rule(), span: self.span(&pair), parts: pair.into_inner() }
    }

    fn drift<T>(&self, pair: &GrammarPair<'_>, place: &str) -> Read<T> {
        Err(Drift { span: self.span(pair), found: format!("{:?} in {place}", pair.as_rule()) })
    }

    /// A word, name, text or figure, as it is written.
    fn written(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let span = self.span(&pair);
        match pair.as_rule() {
            Rule::word | Rule::choice | Rule::cell => self.only(pair),
            Rule::text => {
                let text = unescape(self.inside(pair).next()?.as_str());
                Ok(Written { text, quoted: true, span })
            }
            Rule::name
            | Rule::role_name
            | Rule::dotted
            | Rule::variable
            | Rule::bare
            | Rule::bare_argument => {
                Ok(Written { text: pair.as_str().trim().to_owned(), quoted: false, span })
            }
            _ => self.drift(&pair, "the place of a word"),
        }
    }

    /// The one word inside of a pair.
    fn only(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let mut inside = self.inside(pair);
        let written = self.written(inside.next()?)?;
        inside.end()?;
        Ok(written)
    }

    /// The words inside of a pair.
    fn words(&self, pair: GrammarPair<'_>) -> Read<Vec<Written>> {
        self.inside(pair).parts.map(|name| self.written(name)).collect()
    }

    /// One item of a rule file.
    pub fn item(&self, pair: GrammarPair<'_>) -> Read<Item> {
        let rule = pair.as_rule();
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        match rule {
            Rule::include => {
                inside.end()?;
                Ok(Item::Include(name))
            }
            Rule::words => {
                let words = inside.parts.map(|part| self.written(part)).collect::<Read<_>>()?;
                Ok(Item::Words { name, words })
            }
            Rule::table => self.table(name, inside),
            Rule::curve => self.curve(name, inside),
            Rule::finding => self.finding(name, inside),
            Rule::expectation => self.expectation(name, inside),
            Rule::relation => self.relation(Flavour::Plain, name, inside),
            Rule::question => self.relation(Flavour::Question, name, inside),
            Rule::computed => self.relation(Flavour::Computed, name, inside),
            _ => self.drift(&whole, "the place of an item"),
        }
    }

    fn expectation(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
        let mut item = ExpectationItem { name, assume: Vec::new(), claims: Vec::new() };
        for part in inside.parts {
            let claim = match part.as_rule() {
                Rule::assume => None,
                Rule::hence => Some(Claim::Hence),
                Rule::never => Some(Claim::Never),
                Rule::open => Some(Claim::Open),
                _ => return self.drift(&part, "an expectation"),
            };
            for pattern in self.inside(part).parts {
                let pattern = self.pattern(pattern)?;
                match claim {
                    None => item.assume.push(pattern),
                    Some(claim) => item.claims.push((claim, pattern)),
                }
            }
        }
        Ok(Item::Expectation(item))
    }

    fn relation(&self, flavour: Flavour, name: Written, mut inside: Inside<'_>) -> Read<Item> {
        let roles = self.roles(inside.next()?)?;
        let clauses = inside.parts.map(|part| self.relation_clause(part)).collect::<Read<_>>()?;
        Ok(Item::Relation(RelationItem { flavour, name, roles, clauses }))
    }

    fn relation_clause(&self, part: GrammarPair<'_>) -> Read<RelationClause> {
        Ok(match part.as_rule() {
            Rule::reads => RelationClause::Reads(self.only(part)?),
            Rule::asks => RelationClause::Asks(self.only(part)?),
            Rule::at => RelationClause::At(self.only(part)?),
            Rule::left_out => RelationClause::LeftOut(self.only(part)?),
            Rule::about => RelationClause::About(self.only_pattern(part)?),
            Rule::from => RelationClause::From(self.words(part)?),
            Rule::cite => RelationClause::Cite(self.cite(part)?),
            Rule::once => RelationClause::Once(self.words(part)?),
            Rule::in_turns => RelationClause::InTurns(self.only(part)?),
            Rule::takes => self.takes(part)?,
            _ => return self.drift(&part, "a relation"),
        })
    }

    /// A range in one or two words, and the reason.
    fn takes(&self, pair: GrammarPair<'_>) -> Read<RelationClause> {
        let whole = pair.clone();
        match self.words(pair)?.as_slice() {
            [range @ .., reason] if !range.is_empty() => {
                let span = Span { end: range[range.len() - 1].span.end, ..range[0].span };
                let text = range.iter().map(|word| word.text.as_str()).collect::<Vec<_>>().join(" ");
                Ok(RelationClause::Takes(Written { text, quoted: false, span }, reason.clone()))
            }
            _ => self.drift(&whole, "a relation"),
        }
    }

    fn roles(&self, pair: GrammarPair<'_>) -> Read<Vec<RoleItem>> {
        if pair.as_rule() != Rule::roles {
            return self.drift(&pair, "the place of roles");
        }
        self.inside(pair).parts.map(|role| self.role(role)).collect()
    }

    fn role(&self, pair: GrammarPair<'_>) -> Read<RoleItem> {
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        let (range, kind) = self.kind(inside.next()?)?;
        inside.end()?;
        Ok(RoleItem { name, range, kind })
    }

    /// A type, and whether it is a range of that.
    fn kind(&self, pair: GrammarPair<'_>) -> Read<(bool, Written)> {
        let mut inside = self.inside(pair);
        let range = inside.next_if(Rule::range_of).is_some();
        let name = self.written(inside.next()?)?;
        inside.end()?;
        Ok((range, name))
    }

    fn cite(&self, pair: GrammarPair<'_>) -> Read<CiteItem> {
        let span = self.span(&pair);
        let part = self.inside(pair).next()?;
        let cite = match part.as_rule() {
            Rule::common_practice => Cite::CommonPractice,
            Rule::text => Cite::Source(self.written(part)?.text.into()),
            Rule::memory => {
                let of = self.inside(part).next_if(Rule::text);
                Cite::Memory(of.map(|text| self.written(text)).transpose()?.map(|text| text.text.into()))
            }
            _ => return self.drift(&part, "a citation"),
        };
        Ok(CiteItem { cite, span })
    }

    fn table(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
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
        for part in inside.parts {
            match part.as_rule() {
                Rule::roles => table.roles = Some(self.roles(part)?),
                Rule::reads => table.reads = Some(self.only(part)?),
                Rule::cite => table.cites.push(self.cite(part)?),
                Rule::once => table.once.push(self.words(part)?),
                Rule::across => {
                    let mut inside = self.inside(part);
                    let role = self.written(inside.next()?)?;
                    let words = inside.parts.map(|word| self.written(word)).collect::<Read<_>>()?;
                    table.across = Some((role, words));
                }
                Rule::unit_of => {
                    let mut inside = self.inside(part);
                    table.units.push((self.written(inside.next()?)?, self.written(inside.next()?)?));
                    inside.end()?;
                }
                Rule::cell => table.cells.push(self.written(part)?),
                _ => return self.drift(&part, "a table"),
            }
        }
        Ok(Item::Table(table))
    }

    fn curve(&self, name: Written, mut inside: Inside<'_>) -> Read<Item> {
        let from = self.role(inside.next()?)?;
        let kind = inside.next()?;
        let to = Written { text: kind.as_str().trim().to_owned(), quoted: false, span: self.span(&kind) };
        let mut curve = CurveItem { name, from, to, outside: None, cites: vec![], cells: vec![] };
        for part in inside.parts {
            match part.as_rule() {
                Rule::cite => curve.cites.push(self.cite(part)?),
                Rule::outside => {
                    let how = self.inside(part).next()?;
                    curve.outside = Some(match how.as_rule() {
                        Rule::outside_none => Outside::None,
                        Rule::outside_extends => Outside::Extends,
                        Rule::outside_holds => Outside::Holds,
                        _ => return self.drift(&how, "what holds outside of a curve"),
                    });
                }
                Rule::cell => curve.cells.push(self.written(part)?),
                _ => return self.drift(&part, "a curve"),
            }
        }
        Ok(Item::Curve(curve))
    }

    fn finding(&self, id: Written, inside: Inside<'_>) -> Read<Item> {
        let mut finding = FindingItem { id, says: None, cites: vec![], clauses: vec![] };
        for part in inside.parts {
            let span = self.span(&part);
            let clause = match part.as_rule() {
                Rule::says => {
                    finding.says = Some(self.only(part)?);
                    continue;
                }
                Rule::cite => {
                    finding.cites.push(self.cite(part)?);
                    continue;
                }
                Rule::given => Clause::Given(self.only_pattern(part)?),
                Rule::unless => Clause::Unless(self.only_pattern(part)?),
                Rule::hence => Clause::Hence(self.only_pattern(part)?),
                Rule::where_ => {
                    let mut inside = self.inside(part);
                    let condition = self.condition(inside.next()?)?;
                    inside.end()?;
                    Clause::Where { condition, span }
                }
                Rule::let_ => {
                    let mut inside = self.inside(part);
                    let (variable, value) = (self.written(inside.next()?)?, self.let_value(inside.next()?)?);
                    inside.end()?;
                    Clause::Let { variable, value, span }
                }
                _ => return self.drift(&part, "a finding"),
            };
            finding.clauses.push(clause);
        }
        Ok(Item::Finding(finding))
    }

    fn only_pattern(&self, pair: GrammarPair<'_>) -> Read<PatternItem> {
        let mut inside = self.inside(pair);
        let pattern = self.pattern(inside.next()?)?;
        inside.end()?;
        Ok(pattern)
    }

    /// A relation with its terms.
    pub fn pattern(&self, pair: GrammarPair<'_>) -> Read<PatternItem> {
        if pair.as_rule() != Rule::pattern {
            return self.drift(&pair, "the place of a pattern");
        }
        let span = self.span(&pair);
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        let arguments = inside.parts.map(|argument| self.argument(argument)).collect::<Read<_>>()?;
        Ok(PatternItem { name, arguments, span })
    }

    fn argument(&self, pair: GrammarPair<'_>) -> Read<(Option<Written>, Written)> {
        let mut inside = self.inside(pair);
        let role = inside.next_if(Rule::role_name).map(|role| self.written(role)).transpose()?;
        let term = self.term(inside.next()?)?;
        inside.end()?;
        Ok((role, term))
    }

    fn term(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let span = self.span(&pair);
        let parts = self.words(pair)?;
        let quoted = parts.first().is_some_and(|part| part.quoted);
        let text = parts.into_iter().map(|part| part.text).collect::<Vec<_>>().join(" ");
        Ok(Written { text, quoted, span })
    }

    fn let_value(&self, pair: GrammarPair<'_>) -> Read<LetValue> {
        if pair.as_rule() != Rule::aggregate {
            return Ok(LetValue::Formula(self.expression(pair)?));
        }
        let mut inside = self.inside(pair);
        let (how, over) = match inside.next_if(Rule::count) {
            Some(_) => (Aggregate::Count, None),
            None => {
                let fold = inside.next()?;
                let how = match fold.as_str().trim() {
                    "sum" => Aggregate::Sum,
                    "least" => Aggregate::Least,
                    "greatest" => Aggregate::Greatest,
                    _ => return self.drift(&fold, "the place of a sum"),
                };
                (how, Some(self.written(inside.next()?)?))
            }
        };
        let members = self.pattern(inside.next()?)?;
        inside.end()?;
        Ok(LetValue::Aggregate { how, over, members })
    }

    fn condition(&self, pair: GrammarPair<'_>) -> Read<ConditionItem> {
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        match inside.of {
            Rule::among => {
                let left = self.written(inside.next()?)?;
                inside.next_if(Rule::is);
                let negated = inside.next_if(Rule::not).is_some();
                inside.next_if(Rule::one_of);
                let among = inside.parts.map(|choice| self.written(choice)).collect::<Read<_>>()?;
                Ok(ConditionItem::Among { left, among, negated })
            }
            Rule::comparison => {
                let left = self.expression(inside.next()?)?;
                let comparator = inside.next()?;
                let comparison = match comparator.as_str().trim() {
                    "<" => Comparison::Less,
                    "<=" | "≤" => Comparison::AtMost,
                    ">" => Comparison::More,
                    ">=" | "≥" => Comparison::AtLeast,
                    "!=" | "≠" => Comparison::Unequal,
                    "=" => Comparison::Equal,
                    _ => return self.drift(&comparator, "a comparison"),
                };
                let right = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(ConditionItem::Compare { left, comparison, right })
            }
            _ => self.drift(&whole, "the place of a condition"),
        }
    }

    fn expression(&self, pair: GrammarPair<'_>) -> Read<ExpressionItem> {
        let span = self.span(&pair);
        let whole = pair.clone();
        let mut inside = self.inside(pair);
        match inside.of {
            Rule::expression | Rule::product => {
                let mut left = self.expression(inside.next()?)?;
                while let Some(operator) = inside.parts.next() {
                    let operator = match operator.as_str().trim() {
                        "+" => Operator::Plus,
                        "-" | "−" => Operator::Minus,
                        "/" => Operator::Over,
                        "*" | "×" => Operator::Times,
                        _ => return self.drift(&operator, "the place of an operator"),
                    };
                    let right = Box::new(self.expression(inside.next()?)?);
                    left = ExpressionItem::Binary { operator, left: Box::new(left), right };
                }
                Ok(left)
            }
            Rule::signed => {
                let negated = inside.next_if(Rule::minus).is_some();
                let atom = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(if negated { ExpressionItem::Negated(Box::new(atom)) } else { atom })
            }
            Rule::atom => {
                let inner = self.expression(inside.next()?)?;
                inside.end()?;
                Ok(inner)
            }
            Rule::literal => {
                let number = inside.next()?.as_str().to_owned();
                let unit = inside.next_if(Rule::unit).map(|unit| unit.as_str().to_owned());
                inside.end()?;
                Ok(ExpressionItem::Number { number, unit, span })
            }
            Rule::call => {
                let name = self.written(inside.next()?)?;
                let arguments = inside.parts.map(|part| self.expression(part)).collect::<Read<_>>()?;
                Ok(ExpressionItem::Call { name, arguments, span })
            }
            Rule::variable => Ok(ExpressionItem::Variable(self.written(whole)?)),
            _ => self.drift(&whole, "a formula"),
        }
    }
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
