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
    Names {
        names: Vec<Written>,
        listed: Option<Written>,
    },
    Words {
        name: Written,
        carried: bool,
        words: Vec<Written>,
    },
    /// Further words of a list that is declared elsewhere.
    More {
        name: Written,
        words: Vec<Written>,
    },
    Values {
        cites: Vec<CiteItem>,
        rows: Vec<ValueRow>,
    },
    Relation(RelationItem),
    Table(TableItem),
    Curve(CurveItem),
    Finding(FindingItem),
    Meaning(MeaningItem),
    Ladder(LadderItem),
    Background(BackgroundItem),
    Expectation(ExpectationItem),
}

/// A number with a name.
#[derive(Debug)]
pub(super) struct ValueRow {
    pub name: Written,
    pub value: ExpressionItem,
    pub cite: Option<CiteItem>,
    pub span: Span,
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
    /// What it holds; where it is left out, what the role's own name says.
    pub kind: Option<Written>,
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
    /// Roles that hold the same in every row.
    pub throughout: Vec<(Written, Written)>,
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
    pub form: Form,
}

/// Which item a finding is written as.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Form {
    Finding,
    /// A word of the rulebook: its sentence is its relation's, and it needs no authority.
    Meaning,
    /// A rung of a ladder, whose other rungs may use what it does not.
    Rung,
}

/// A relation and what fills it, in one.
#[derive(Debug)]
pub(super) struct MeaningItem {
    pub name: Written,
    pub heads: Vec<Head>,
    pub reads: Option<Written>,
    pub cites: Vec<CiteItem>,
    pub clauses: Vec<Clause>,
}

/// A role of a meaning and the variable that fills it.
#[derive(Debug)]
pub(super) struct Head {
    pub role: Written,
    pub variable: Written,
    pub range: bool,
    pub kind: Option<Written>,
}

/// Findings that exclude each other, from top to bottom.
#[derive(Debug)]
pub(super) struct LadderItem {
    pub id: Written,
    pub on: Option<Written>,
    pub parts: Vec<LadderPart>,
}

#[derive(Debug)]
pub(super) enum LadderPart {
    Clause(Clause),
    Says(Written),
    Cite(CiteItem),
    Rung(Rung),
}

#[derive(Debug)]
pub(super) struct Rung {
    pub name: Written,
    /// All of them must hold; empty for the last rung, which takes the rest.
    pub tests: Vec<Test>,
    /// `None` where it concludes nothing on purpose.
    pub values: Option<Vec<RungValue>>,
    pub says: Option<Written>,
    pub cites: Vec<CiteItem>,
    pub hence: Vec<PatternItem>,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub(super) struct Test {
    pub kind: TestKind,
    pub span: Span,
}

#[derive(Clone, Debug)]
pub(super) enum TestKind {
    Given(PatternItem),
    Unless(PatternItem),
    /// A number against a border; without a variable, the one that the ladder is on.
    Border {
        of: Option<Written>,
        holds: Comparison,
        border: ExpressionItem,
    },
    Is {
        left: Written,
        among: Vec<Written>,
    },
}

#[derive(Debug)]
pub(super) enum RungValue {
    Term(Written),
    Formula(ExpressionItem, Span),
}

/// What many expectations assume.
#[derive(Debug)]
pub(super) struct BackgroundItem {
    pub name: Written,
    pub variables: Vec<Written>,
    pub assume: Vec<PatternItem>,
}

#[derive(Clone, Debug)]
pub(super) enum Clause {
    Given(PatternItem),
    Unless(PatternItem),
    Let { variable: Written, value: LetValue, span: Span },
    Where { condition: ConditionItem, span: Span },
    Hence(PatternItem),
}

#[derive(Clone, Debug)]
pub(super) enum LetValue {
    Formula(ExpressionItem),
    /// The first of two that has a value.
    Either(ExpressionItem, ExpressionItem),
    Aggregate {
        how: Aggregate,
        over: Option<Written>,
        members: PatternItem,
    },
}

#[derive(Clone, Debug)]
pub(super) enum ConditionItem {
    Compare { left: ExpressionItem, comparison: Comparison, right: ExpressionItem },
    Among { left: Written, among: Vec<Written>, negated: bool },
}

#[derive(Clone, Debug)]
pub(super) struct PatternItem {
    pub name: Written,
    pub arguments: Vec<(Option<Written>, Written)>,
    /// Arguments that stand for several.
    pub choices: Vec<Choice>,
    pub span: Span,
}

/// Further words of an argument.
#[derive(Clone, Debug)]
pub(super) struct Choice {
    /// Which argument.
    pub argument: usize,
    pub others: Vec<Written>,
    /// Joined by "and", not by "or".
    pub all: bool,
}

#[derive(Clone, Debug)]
pub(super) enum ExpressionItem {
    Number {
        number: String,
        unit: Option<String>,
        span: Span,
    },
    Variable(Written),
    /// A number with a name.
    Value(Written),
    Binary {
        operator: Operator,
        left: Box<ExpressionItem>,
        right: Box<ExpressionItem>,
    },
    Negated(Box<ExpressionItem>),
    Call {
        name: Written,
        arguments: Vec<ExpressionItem>,
        span: Span,
    },
}

impl ExpressionItem {
    /// Where the formula stands.
    pub fn span(&self) -> Span {
        match self {
            ExpressionItem::Number { span, .. } | ExpressionItem::Call { span, .. } => *span,
            ExpressionItem::Variable(name) | ExpressionItem::Value(name) => name.span,
            ExpressionItem::Negated(inner) => inner.span(),
            ExpressionItem::Binary { left, right, .. } => Span { end: right.span().end, ..left.span() },
        }
    }
}

#[derive(Debug)]
pub(super) struct ExpectationItem {
    pub name: Written,
    pub cites: Vec<CiteItem>,
    pub assume: Vec<PatternItem>,
    /// How many of `assume` come of a background, and give way to a later answer to the same question.
    pub background: usize,
    pub claims: Vec<(super::rulebook::Claim, PatternItem)>,
    /// Its rows, word by word; the first names variables.
    pub rows: Vec<Vec<Written>>,
}
