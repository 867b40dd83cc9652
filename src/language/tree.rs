//! The tree that a rule file is read into: what was written, before names and types are settled.

use super::rulebook::{Aggregate, Cite, Comparison, Operator, Outside};
use super::source::Span;

/// A stretch of text with its place.
#[derive(Clone, Debug)]
pub(super) struct Written {
    pub text: String,
    /// Written in quotes.
    pub quoted: bool,
    pub span: Span,
}

#[derive(Debug)]
pub(super) enum Item {
    Include(Written),
    Words { name: Written, words: Vec<Written> },
    Relation(RelationItem),
    Table(TableItem),
    Curve(CurveItem),
    Finding(FindingItem),
    Expectation(ExpectationItem),
}

#[derive(Debug)]
pub(super) struct RelationItem {
    pub flavour: Flavour,
    pub name: Written,
    pub roles: Vec<RoleItem>,
    pub clauses: Vec<RelationClause>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Flavour {
    Plain,
    Question,
    Computed,
}

#[derive(Debug)]
pub(super) enum RelationClause {
    Reads(Written),
    Asks(Written),
    About(PatternItem),
    At(Written),
    LeftOut(Written),
    From(Vec<Written>),
    Cite(CiteItem),
    /// The roles of a key.
    Once(Vec<Written>),
    /// The role that counts its turns.
    InTurns(Written),
    /// The range of sensible answers, as written, and why it is no wider.
    Takes(Written, Written),
}

#[derive(Clone, Debug)]
pub(super) struct RoleItem {
    pub name: Written,
    pub range: bool,
    pub kind: Written,
}

#[derive(Clone, Debug)]
pub(super) struct CiteItem {
    pub cite: Cite,
    pub span: Span,
}

#[derive(Debug)]
pub(super) struct TableItem {
    pub name: Written,
    pub roles: Option<Vec<RoleItem>>,
    pub reads: Option<Written>,
    pub cites: Vec<CiteItem>,
    pub across: Option<(Written, Vec<Written>)>,
    pub units: Vec<(Written, Written)>,
    pub once: Vec<Vec<Written>>,
    pub cells: Vec<Written>,
}

#[derive(Debug)]
pub(super) struct CurveItem {
    pub name: Written,
    pub from: RoleItem,
    pub to: Written,
    pub outside: Option<Outside>,
    pub cites: Vec<CiteItem>,
    pub cells: Vec<Written>,
}

#[derive(Debug)]
pub(super) struct FindingItem {
    pub id: Written,
    pub says: Option<Written>,
    pub cites: Vec<CiteItem>,
    pub clauses: Vec<Clause>,
}

#[derive(Debug)]
pub(super) enum Clause {
    Given(PatternItem),
    Unless(PatternItem),
    Let { variable: Written, value: LetValue, span: Span },
    Where { condition: ConditionItem, span: Span },
    Hence(PatternItem),
}

#[derive(Debug)]
pub(super) enum LetValue {
    Formula(ExpressionItem),
    Aggregate { how: Aggregate, over: Option<Written>, members: PatternItem },
}

#[derive(Debug)]
pub(super) enum ConditionItem {
    Compare { left: ExpressionItem, comparison: Comparison, right: ExpressionItem },
    Among { left: Written, among: Vec<Written>, negated: bool },
}

#[derive(Clone, Debug)]
pub(super) struct PatternItem {
    pub name: Written,
    pub arguments: Vec<(Option<Written>, Written)>,
    pub span: Span,
}

#[derive(Debug)]
pub(super) enum ExpressionItem {
    Number { number: String, unit: Option<String>, span: Span },
    Variable(Written),
    Binary { operator: Operator, left: Box<ExpressionItem>, right: Box<ExpressionItem> },
    Negated(Box<ExpressionItem>),
    Call { name: Written, arguments: Vec<ExpressionItem>, span: Span },
}

impl ExpressionItem {
    /// Where the formula stands.
    pub fn span(&self) -> Span {
        match self {
            ExpressionItem::Number { span, .. } | ExpressionItem::Call { span, .. } => *span,
            ExpressionItem::Variable(name) => name.span,
            ExpressionItem::Negated(inner) => inner.span(),
            ExpressionItem::Binary { left, right, .. } => Span { end: right.span().end, ..left.span() },
        }
    }
}

#[derive(Debug)]
pub(super) struct ExpectationItem {
    pub name: Written,
    pub assume: Vec<PatternItem>,
    pub claims: Vec<(super::rulebook::Claim, PatternItem)>,
}
