//! What a rulebook finds and expects: findings, meanings, ladders, expectations, and the patterns in them.

use super::super::grammar::Rule;
use super::super::pairs::{GrammarPair, Inside, Read};
use super::super::rulebook::{Claim, Comparison};
use super::super::tree::*;
use super::ItemReader;

impl ItemReader {
    pub(super) fn background(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
        let mut item = BackgroundItem { name, variables: Vec::new(), assume: Vec::new() };
        for part in inside.parts {
            match part.as_rule() {
                Rule::variable => item.variables.push(self.written(part)?),
                Rule::assume => item.assume.extend(self.patterns(part)?),
                _ => return self.drift(&part, "a background"),
            }
        }
        Ok(Item::Background(item))
    }

    pub(super) fn expectation(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
        let mut item = ExpectationItem {
            name,
            cites: Vec::new(),
            assume: Vec::new(),
            background: 0,
            claims: Vec::new(),
            rows: Vec::new(),
        };
        for part in inside.parts {
            let claim = match part.as_rule() {
                Rule::cite => {
                    item.cites.push(self.cite(part)?);
                    continue;
                }
                Rule::rows => {
                    item.rows.extend(self.lines(part)?);
                    continue;
                }
                Rule::assume => {
                    item.assume.extend(self.patterns(part)?);
                    continue;
                }
                Rule::hence => Claim::Hence,
                Rule::never => Claim::Never,
                Rule::open => Claim::Open,
                _ => return self.drift(&part, "an expectation"),
            };
            item.claims.extend(self.patterns(part)?.into_iter().map(|pattern| (claim, pattern)));
        }
        Ok(Item::Expectation(item))
    }

    /// Words, line by line.
    fn lines(&self, pair: GrammarPair<'_>) -> Read<Vec<Vec<Written>>> {
        let mut lines: Vec<Vec<Written>> = Vec::new();
        let mut end = 0;
        for cell in self.inside(pair).parts {
            let (input, span) = (cell.get_input(), cell.as_span());
            let new_line = input.get(end..span.start()).is_none_or(|between| between.contains('\n'));
            end = span.start() + span.as_str().trim_end().len();
            let word = self.written(cell)?;
            match lines.last_mut() {
                Some(line) if !new_line => line.push(word),
                _ => lines.push(vec![word]),
            }
        }
        Ok(lines)
    }

    fn patterns(&self, pair: GrammarPair<'_>) -> Read<Vec<PatternItem>> {
        self.inside(pair).parts.map(|pattern| self.pattern(pattern)).collect()
    }

    pub(super) fn meaning(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
        let (heads, reads, cites, clauses) = (Vec::new(), None, Vec::new(), Vec::new());
        let mut item = MeaningItem { name, heads, reads, cites, clauses };
        for part in inside.parts {
            match part.as_rule() {
                Rule::head => item.heads.push(self.head(part)?),
                Rule::reads => item.reads = Some(self.only(part)?),
                Rule::cite => item.cites.push(self.cite(part)?),
                _ => item.clauses.extend(self.clause(part)?),
            }
        }
        Ok(Item::Meaning(item))
    }

    fn head(&self, pair: GrammarPair<'_>) -> Read<Head> {
        let mut inside = self.inside(pair);
        let (role, variable) = (self.written(inside.next()?)?, self.written(inside.next()?)?);
        let kind = inside.parts.next().map(|kind| self.kind(kind)).transpose()?;
        inside.end()?;
        let (range, kind) = kind.map_or((false, None), |(range, kind)| (range, Some(kind)));
        Ok(Head { role, variable, range, kind })
    }

    pub(super) fn ladder(&self, id: Written, mut inside: Inside<'_>) -> Read<Item> {
        let on = inside.next_if(Rule::on).map(|on| self.only(on)).transpose()?;
        let mut item = LadderItem { id, on, parts: Vec::new() };
        for part in inside.parts {
            match part.as_rule() {
                Rule::says => item.parts.push(LadderPart::Says(self.only(part)?)),
                Rule::cite => item.parts.push(LadderPart::Cite(self.cite(part)?)),
                Rule::rung => item.parts.push(LadderPart::Rung(self.rung(part)?)),
                _ => item.parts.extend(self.clause(part)?.into_iter().map(LadderPart::Clause)),
            }
        }
        Ok(Item::Ladder(item))
    }

    fn rung(&self, pair: GrammarPair<'_>) -> Read<Rung> {
        let span = self.span(&pair);
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        let condition = inside.next()?;
        let parts = self.inside(condition).parts;
        let tests = parts.filter(|part| part.as_rule() != Rule::otherwise);
        let tests = tests.map(|test| self.test(test)).collect::<Read<Vec<_>>>()?;
        let values = Some(Vec::new());
        let mut rung = Rung { name, tests, values, says: None, cites: vec![], hence: vec![], span };
        for part in inside.parts {
            match part.as_rule() {
                Rule::nothing => rung.values = None,
                Rule::rung_value => {
                    let value = self.rung_value(part)?;
                    rung.values.get_or_insert_default().push(value);
                }
                Rule::says => rung.says = Some(self.only(part)?),
                Rule::cite => rung.cites.push(self.cite(part)?),
                Rule::hence => rung.hence.extend(self.patterns(part)?),
                _ => return self.drift(&part, "a rung"),
            }
        }
        Ok(rung)
    }

    fn test(&self, pair: GrammarPair<'_>) -> Read<Test> {
        let span = self.span(&pair);
        let inner = self.inside(pair).next()?;
        let kind = match inner.as_rule() {
            Rule::given => TestKind::Given(self.only_pattern(inner)?),
            Rule::unless => TestKind::Unless(self.only_pattern(inner)?),
            Rule::border => {
                let mut inside = self.inside(inner);
                let of = inside.next_if(Rule::variable).map(|of| self.written(of)).transpose()?;
                let side = self.inside(inside.next()?).next()?;
                let holds = match side.as_rule() {
                    Rule::up_to => Comparison::AtMost,
                    Rule::under => Comparison::Less,
                    Rule::from_on => Comparison::AtLeast,
                    Rule::over => Comparison::More,
                    _ => return self.drift(&side, "the side of a border"),
                };
                let border = self.expression(inside.next()?)?;
                inside.end()?;
                TestKind::Border { of, holds, border }
            }
            Rule::membership => {
                let mut inside = self.inside(inner);
                let left = self.written(inside.next()?)?;
                inside.next_if(Rule::is);
                let choices = inside.parts.filter(|part| part.as_rule() != Rule::joint);
                TestKind::Is { left, among: choices.map(|choice| self.written(choice)).collect::<Read<_>>()? }
            }
            _ => return self.drift(&inner, "the condition of a rung"),
        };
        Ok(Test { kind, span })
    }

    fn rung_value(&self, pair: GrammarPair<'_>) -> Read<RungValue> {
        let span = self.span(&pair);
        let inner = self.inside(pair).next()?;
        Ok(match inner.as_rule() {
            Rule::text => RungValue::Term(self.written(inner)?),
            Rule::rung_word => {
                let words = self.words(inner)?;
                let text = words.into_iter().map(|word| word.text).collect::<Vec<_>>().join(" ");
                RungValue::Term(Written { text, quoted: false, span })
            }
            Rule::formula => match self.expression(self.inside(inner).next()?)? {
                ExpressionItem::Variable(variable) => RungValue::Term(variable),
                formula => RungValue::Formula(formula, span),
            },
            _ => return self.drift(&inner, "a value of a rung"),
        })
    }

    pub(super) fn finding(&self, id: Written, inside: Inside<'_>) -> Read<Item> {
        let form = Form::Finding;
        let mut finding = FindingItem { id, says: None, cites: vec![], clauses: vec![], form };
        for part in inside.parts {
            match part.as_rule() {
                Rule::says => finding.says = Some(self.only(part)?),
                Rule::cite => finding.cites.push(self.cite(part)?),
                _ => finding.clauses.extend(self.clause(part)?),
            }
        }
        Ok(Item::Finding(finding))
    }

    /// A premise, or one or several conclusions.
    fn clause(&self, part: GrammarPair<'_>) -> Read<Vec<Clause>> {
        let span = self.span(&part);
        Ok(vec![match part.as_rule() {
            Rule::given => Clause::Given(self.only_pattern(part)?),
            Rule::unless => Clause::Unless(self.only_pattern(part)?),
            Rule::hence => return Ok(self.patterns(part)?.into_iter().map(Clause::Hence).collect()),
            Rule::where_ => {
                let mut inside = self.inside(part);
                let condition = self.condition(inside.next()?)?;
                inside.end()?;
                Clause::Where { condition, span }
            }
            Rule::let_ => {
                let mut inside = self.inside(part);
                let variable = self.written(inside.next()?)?;
                let value = self.let_value(inside.next()?)?;
                let value = match (value, inside.next_if(Rule::joint)) {
                    (LetValue::Formula(first), Some(_)) => {
                        LetValue::Either(first, self.expression(inside.next()?)?)
                    }
                    (value, _) => value,
                };
                inside.end()?;
                Clause::Let { variable, value, span }
            }
            _ => return self.drift(&part, "a finding"),
        }])
    }

    pub(super) fn only_pattern(&self, pair: GrammarPair<'_>) -> Read<PatternItem> {
        let mut inside = self.inside(pair);
        let pattern = self.pattern(inside.next()?)?;
        inside.end()?;
        Ok(pattern)
    }

    /// A relation with its terms.
    pub(in super::super) fn pattern(&self, pair: GrammarPair<'_>) -> Read<PatternItem> {
        if pair.as_rule() != Rule::pattern {
            return self.drift(&pair, "the place of a pattern");
        }
        let span = self.span(&pair);
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        let (mut arguments, mut choices) = (Vec::new(), Vec::new());
        for part in inside.parts {
            let (role, mut terms, all) = self.argument(part)?;
            let first = terms.remove(0);
            if !terms.is_empty() {
                choices.push(Choice { argument: arguments.len(), others: terms, all });
            }
            arguments.push((role, first));
        }
        Ok(PatternItem { name, arguments, choices, span })
    }

    /// A role, where one is named, its words, and whether all of them are meant.
    fn argument(&self, pair: GrammarPair<'_>) -> Read<(Option<Written>, Vec<Written>, bool)> {
        let mut inside = self.inside(pair);
        let role = inside.next_if(Rule::role_name).map(|role| self.written(role)).transpose()?;
        let term = inside.next()?;
        inside.end()?;
        let (mut terms, mut all) = (Vec::new(), false);
        for part in self.inside(term).parts {
            match part.as_rule() {
                Rule::joint => all = part.as_str().trim() == "and",
                _ => terms.push(self.simple(part)?),
            }
        }
        Ok((role, terms, all))
    }

    fn simple(&self, pair: GrammarPair<'_>) -> Read<Written> {
        let span = self.span(&pair);
        let parts = self.words(pair)?;
        let quoted = parts.first().is_some_and(|part| part.quoted);
        let text = parts.into_iter().map(|part| part.text).collect::<Vec<_>>().join(" ");
        Ok(Written { text, quoted, span })
    }
}
