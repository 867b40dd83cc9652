//! What a rulebook declares: relations, tables, curves, words, values.

use super::super::grammar::Rule;
use super::super::pairs::{GrammarPair, Inside, Read};
use super::super::rulebook::{Cite, Outside};
use super::super::source::Span;
use super::super::tree::*;
use super::ItemReader;

impl ItemReader {
    /// Names that are declared, and the relation in which all of them stand.
    pub(super) fn names(&self, first: Written, inside: Inside<'_>) -> Read<Item> {
        let (mut names, mut listed) = (vec![first], None);
        for part in inside.parts {
            match part.as_rule() {
                Rule::listed_in => listed = Some(self.only(part)?),
                _ => names.push(self.written(part)?),
            }
        }
        Ok(Item::Names { names, listed })
    }

    /// Numbers with names. An authority above the first row is that of all rows that have none of their own.
    pub(super) fn values(&self, inside: Inside<'_>) -> Read<Item> {
        let (mut cites, mut rows) = (Vec::new(), Vec::new());
        for part in inside.parts {
            match part.as_rule() {
                Rule::cite => cites.push(self.cite(part)?),
                Rule::value => {
                    let whole = self.span(&part);
                    let mut inside = self.inside(part);
                    let name = self.written(inside.next()?)?;
                    let value = self.expression(inside.next()?)?;
                    let span = Span { end: value.span().end, ..whole };
                    let cite = inside.next_if(Rule::cite).map(|cite| self.cite(cite)).transpose()?;
                    inside.end()?;
                    rows.push(ValueRow { name, value, cite, span });
                }
                _ => return self.drift(&part, "values"),
            }
        }
        Ok(Item::Values { cites, rows })
    }

    pub(super) fn relation(&self, flavour: Flavour, name: Written, mut inside: Inside<'_>) -> Read<Item> {
        let roles = self.roles(inside.next()?)?;
        let clauses = inside.parts.map(|part| self.relation_clause(part)).collect::<Read<_>>()?;
        Ok(Item::Relation(RelationItem { flavour, name, roles, clauses }))
    }

    pub(super) fn relation_clause(&self, part: GrammarPair<'_>) -> Read<RelationClause> {
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
    pub(super) fn takes(&self, pair: GrammarPair<'_>) -> Read<RelationClause> {
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

    pub(super) fn roles(&self, pair: GrammarPair<'_>) -> Read<Vec<RoleItem>> {
        if pair.as_rule() != Rule::roles {
            return self.drift(&pair, "the place of roles");
        }
        self.inside(pair).parts.map(|role| self.role(role)).collect()
    }

    pub(super) fn role(&self, pair: GrammarPair<'_>) -> Read<RoleItem> {
        let mut inside = self.inside(pair);
        let name = self.written(inside.next()?)?;
        let kind = inside.parts.next().map(|kind| self.kind(kind)).transpose()?;
        inside.end()?;
        let (range, kind) = kind.map_or((false, None), |(range, kind)| (range, Some(kind)));
        Ok(RoleItem { name, range, kind })
    }

    /// A type, and whether it is a range of that.
    pub(super) fn kind(&self, pair: GrammarPair<'_>) -> Read<(bool, Written)> {
        let mut inside = self.inside(pair);
        let range = inside.next_if(Rule::range_of).is_some();
        let name = self.written(inside.next()?)?;
        inside.end()?;
        Ok((range, name))
    }

    pub(super) fn cite(&self, pair: GrammarPair<'_>) -> Read<CiteItem> {
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

    pub(super) fn table(&self, name: Written, inside: Inside<'_>) -> Read<Item> {
        let mut table = TableItem {
            name,
            roles: None,
            reads: None,
            cites: vec![],
            across: None,
            units: vec![],
            throughout: vec![],
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
                Rule::throughout => {
                    let mut inside = self.inside(part);
                    table.throughout.push((self.written(inside.next()?)?, self.written(inside.next()?)?));
                    inside.end()?;
                }
                Rule::cell => table.cells.push(self.written(part)?),
                _ => return self.drift(&part, "a table"),
            }
        }
        Ok(Item::Table(table))
    }

    pub(super) fn curve(&self, name: Written, mut inside: Inside<'_>) -> Read<Item> {
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
}
