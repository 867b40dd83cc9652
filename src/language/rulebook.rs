//! The checked rulebook: names resolved, types and dimensions settled. Reading and checking live beside it; evaluation
//! lives in the engine.

use super::budget::Budget;
use super::source::{Sources, Span};
use crate::quantity::{Dimension, Interval, PageUnits, Quantity};
use std::sync::Arc;

/// A set of rule files that passed every check; by default an empty one.
#[derive(Clone, Debug, Default)]
pub struct Rulebook {
    /// The texts it was read from.
    pub sources: Sources,
    /// Closed lists of words.
    pub kinds: Vec<WordKind>,
    /// Numbers with names.
    pub values: Vec<NamedValue>,
    /// Every relation: plain, question or computed.
    pub relations: Vec<Relation>,
    /// Functions given by points.
    pub curves: Vec<Curve>,
    /// The findings, ordered by id.
    pub findings: Vec<Finding>,
    /// Facts of the tables, in source order.
    pub facts: Vec<TableFact>,
    /// Worked checks.
    pub expectations: Vec<Expectation>,
    /// SHA-256 over the names and texts of the files, in hexadecimal.
    pub fingerprint: String,
    /// How much work a derivation by these rules may be.
    pub budget: Budget,
}

impl Rulebook {
    /// The relation of that name.
    pub fn relation(&self, name: &str) -> Option<RelationId> {
        self.relations.iter().position(|relation| relation.name == name).map(RelationId::new)
    }
}

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub struct $name(pub u32);

        impl $name {
            /// From a position in its list.
            pub fn new(index: usize) -> Self {
                $name(index as u32)
            }
            /// Position in its list.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

index!(
    /// Index into [`Rulebook::relations`].
    RelationId
);
index!(
    /// Index into [`Rulebook::findings`].
    FindingId
);
index!(
    /// Index into [`Rulebook::kinds`].
    KindId
);
index!(
    /// Index into [`Rulebook::curves`].
    CurveId
);
index!(
    /// Index into [`Rulebook::values`].
    ValueId
);
index!(
    /// Index into [`Finding::variables`].
    VariableId
);

/// A number with a name, used in findings by that name.
#[derive(Clone, Debug)]
pub struct NamedValue {
    /// Its name.
    pub name: String,
    /// What it is.
    pub quantity: Quantity,
    /// On whose word.
    pub cites: Vec<Cite>,
    /// Its row.
    pub span: Span,
}

/// A closed list of words, such as the criteria.
#[derive(Clone, Debug)]
pub struct WordKind {
    /// Its name.
    pub name: String,
    /// The words as shown to a reader (a space where the rule text has a hyphen).
    pub words: Vec<Arc<str>>,
    /// Whether the premises of a finding mean the same one where they do not say which.
    pub carried: bool,
    /// Where it is declared.
    pub span: Span,
}

/// What a role holds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Type {
    /// A name from an open set: a joint, an alloy, a part.
    Name,
    /// A word of a closed list.
    Word(KindId),
    /// Free text.
    Text,
    /// A quantity.
    Number(Dimension),
    /// A range of quantities.
    Range(Dimension),
}

/// A constant.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A name, word or text.
    Symbol(Arc<str>),
    /// A quantity.
    Number(Quantity),
    /// A range.
    Range(Interval),
}

impl Value {
    /// The quantities in it.
    pub fn quantities(&self) -> impl Iterator<Item = &Quantity> {
        let ends = match self {
            Value::Symbol(_) => [None, None],
            Value::Number(quantity) => [Some(quantity), None],
            Value::Range(range) => [range.lowest.as_ref(), range.highest.as_ref()],
        };
        ends.into_iter().flatten()
    }

    /// The same in the units of a page.
    pub fn in_units(&self, units: &PageUnits) -> Value {
        match self {
            Value::Symbol(text) => Value::Symbol(text.clone()),
            Value::Number(quantity) => Value::Number(units.convert(*quantity)),
            Value::Range(range) => Value::Range(units.convert_range(*range)),
        }
    }
}

impl std::fmt::Display for Value {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Value::Symbol(text) => f.write_str(text),
            Value::Number(quantity) => quantity.fmt(f),
            Value::Range(range) => range.fmt(f),
        }
    }
}

/// A relation's declaration.
#[derive(Clone, Debug)]
pub struct Relation {
    /// Its name.
    pub name: String,
    /// Its roles in order.
    pub roles: Vec<Role>,
    /// Where its facts come from.
    pub origin: Origin,
    /// How one of its facts reads as a sentence; slots are role indices.
    pub reads: Option<Template>,
    /// Authorities given at the declaration.
    pub cites: Vec<Cite>,
    /// Its keys: for the same terms in the roles of one of them, tables hold one row at most.
    pub once: Vec<Vec<usize>>,
    /// The role that counts its turns, where a finding may rest on the absence of earlier facts of the same relation.
    pub turn: Option<usize>,
    /// The declared name.
    pub span: Span,
}

/// A named, typed role.
#[derive(Clone, Debug)]
pub struct Role {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub ty: Type,
    /// The relation in which every name that stands here is listed, where that is declared.
    pub listed: Option<RelationId>,
}

/// Where a relation's facts come from.
#[derive(Clone, Debug)]
pub enum Origin {
    /// The job, tables and findings.
    Plain,
    /// The user, who may leave it unanswered.
    Question(Question),
    /// The program; computed from these relations.
    Computed {
        /// Relations it is computed from, in declared order.
        from: Vec<RelationId>,
    },
}

/// What the user is asked. The last role holds the answer; the roles before it say about what.
#[derive(Clone, Debug)]
pub struct Question {
    /// The sentence; slots are role indices.
    pub asks: Template,
    /// The relation whose facts say about what it is asked: for each of this question's roles but the last, the role
    /// of `subject` that fills it.
    pub subject: RelationId,
    /// For each role but the last, the index of the subject's role that fills it.
    pub filled_by: Vec<usize>,
    /// Where the answer stands in the job file, such as `service.sustained-temperature`.
    pub path: String,
    /// What is taken instead where the answer is left out, as a sentence. A question that has it is not open without an
    /// answer: its facts are then simply not there.
    pub left_out: Option<String>,
    /// Which answers make sense, where it holds a number; any other is refused.
    pub takes: Option<Takes>,
}

/// The sensible answers to a question.
#[derive(Clone, Debug)]
pub struct Takes {
    /// From the lowest to the highest, both included.
    pub range: Interval,
    /// Why no others, as a clause.
    pub because: String,
}

/// A curve: piecewise linear through its points.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Its name.
    pub name: String,
    /// What goes in.
    pub from: Dimension,
    /// What comes out.
    pub to: Dimension,
    /// Points in increasing order of the first, in base units.
    pub points: Vec<(f64, f64)>,
    /// Where each point is written.
    pub places: Vec<Span>,
    /// What happens outside the range of the points.
    pub outside: Outside,
    /// Authorities.
    pub cites: Vec<Cite>,
    /// The declared name.
    pub span: Span,
}

impl Curve {
    /// The two points between which the curve is read at `x`, by position; one point twice where its own value is taken.
    /// `None` where the curve has no value.
    pub fn read_between(&self, x: f64) -> Option<(usize, usize)> {
        let last = self.points.len().checked_sub(1)?;
        let above = self.points.partition_point(|point| point.0 < x);
        match self.points.get(above) {
            Some(point) if point.0 == x => Some((above, above)),
            Some(_) if above > 0 => Some((above - 1, above)),
            _ if x.is_nan() => None,
            beyond => match self.outside {
                Outside::None => None,
                Outside::Holds if beyond.is_some() => Some((0, 0)),
                Outside::Holds => Some((last, last)),
                Outside::Extends if last == 0 => None,
                Outside::Extends if beyond.is_some() => Some((0, 1)),
                Outside::Extends => Some((last - 1, last)),
            },
        }
    }
}

/// A curve's behaviour outside the range of its points.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outside {
    /// The value of the nearer end.
    Holds,
    /// No value: a finding that asks for one does not apply.
    None,
    /// The straight line through the last two points.
    Extends,
}

/// A sentence with slots. What a slot index means depends on where the template stands.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Template {
    /// Pieces in order.
    pub pieces: Vec<Piece>,
}

/// A piece of a template.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// Literal text.
    Text(String),
    /// A variable's or role's index.
    Slot(usize),
}

/// An authority.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cite {
    /// A source that was seen.
    Source(Arc<str>),
    /// Known throughout the trade, without one source.
    CommonPractice,
    /// Recalled, not seen; of which source, where that is known.
    Memory(Option<Arc<str>>),
}

impl std::fmt::Display for Cite {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Cite::Source(source) => f.write_str(source),
            Cite::CommonPractice => f.write_str("common practice"),
            Cite::Memory(Some(source)) => write!(f, "from memory: {source}"),
            Cite::Memory(None) => f.write_str("from memory"),
        }
    }
}

/// A row of a table.
#[derive(Clone, Debug)]
pub struct TableFact {
    /// The relation it belongs to.
    pub relation: RelationId,
    /// A value for every role.
    pub cells: Vec<Value>,
    /// The row's own authorities, or its table's.
    pub cites: Arc<[Cite]>,
    /// Where the row stands.
    pub span: Span,
}

/// A variable of a finding.
#[derive(Clone, Debug)]
pub struct Variable {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub ty: Type,
}

/// A finding.
#[derive(Clone, Debug)]
pub struct Finding {
    /// Its id, such as `sustained-heat.sensitised`.
    pub id: String,
    /// What it says to a reader; slots are variable indices.
    pub says: Option<Template>,
    /// Authorities.
    pub cites: Vec<Cite>,
    /// Its variables.
    pub variables: Vec<Variable>,
    /// Premises, in an order in which every variable is bound before it is needed: source order, but that a `where`,
    /// `let` or `unless` is moved behind the premises that bind its variables.
    pub premises: Vec<Premise>,
    /// Conclusions.
    pub hence: Vec<Pattern>,
    /// Whether it only says what a word of the rulebook means, and so needs no authority.
    pub meaning: bool,
    /// The finding's id in the source.
    pub span: Span,
}

impl Finding {
    /// The named values that it uses.
    pub fn named_values(&self) -> impl Iterator<Item = ValueId> + '_ {
        self.premises.iter().filter_map(|premise| match premise {
            Premise::Let { value, .. } => *value,
            _ => None,
        })
    }
}

/// A premise.
#[derive(Clone, Debug)]
pub enum Premise {
    /// A fact that must hold.
    Given(Pattern),
    /// A fact that must not hold.
    Unless(Pattern),
    /// A named computation. Where it has no value (division by zero, outside a curve) the finding does not apply.
    Let {
        /// The variable it binds.
        variable: VariableId,
        /// The formula.
        formula: Expression,
        /// The number with a name that it stands for, where it does.
        value: Option<ValueId>,
        /// Its source text, for the explanation.
        span: Span,
    },
    /// A number taken over all facts that match a pattern.
    Aggregate {
        /// The variable it binds.
        variable: VariableId,
        /// How the members combine.
        how: Aggregate,
        /// The variable inside the pattern that is aggregated; `None` for a count.
        over: Option<VariableId>,
        /// The members. Variables bound elsewhere must match; `over` is bound by each member.
        members: Pattern,
        /// Source text.
        span: Span,
    },
    /// A condition.
    Where {
        /// What must hold.
        condition: Condition,
        /// Its source text, for the explanation.
        span: Span,
    },
}

/// How an aggregate combines its members. `Count` and `Sum` of nothing are zero; `Least` and `Greatest` of nothing
/// have no value, and the finding does not apply.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Aggregate {
    /// How many members.
    Count,
    /// Their sum.
    Sum,
    /// The smallest.
    Least,
    /// The largest.
    Greatest,
}

/// A relation with a term for every role.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// The relation.
    pub relation: RelationId,
    /// One term a role.
    pub terms: Vec<Term>,
    /// Where it stands.
    pub span: Span,
}

/// What stands in a role of a pattern.
#[derive(Clone, Debug, PartialEq)]
pub enum Term {
    /// Whatever it is.
    Any,
    /// A variable.
    Variable(VariableId),
    /// A constant.
    Constant(Value),
}

/// A condition.
#[derive(Clone, Debug)]
pub enum Condition {
    /// Two quantities of one dimension are compared.
    Compare {
        /// Left side.
        left: Expression,
        /// The comparison.
        comparison: Comparison,
        /// Right side.
        right: Expression,
    },
    /// A name or word is (or is not) one of these.
    Among {
        /// What is looked at.
        left: Term,
        /// Variables or constants.
        among: Vec<Term>,
        /// True for `is not`.
        negated: bool,
    },
}

/// A comparison of quantities.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Comparison {
    /// Less than.
    Less,
    /// Less than or equal.
    AtMost,
    /// Greater than.
    More,
    /// Greater than or equal.
    AtLeast,
    /// Equal.
    Equal,
    /// Not equal.
    Unequal,
}

/// A formula.
#[derive(Clone, Debug)]
pub enum Expression {
    /// A number.
    Constant(Quantity),
    /// A variable that holds a quantity or (inside `lowest`, `highest`, `middle`) a range.
    Variable(VariableId),
    /// Two formulas and what joins them.
    Binary(Operator, Box<Expression>, Box<Expression>),
    /// The formula with its sign turned.
    Negated(Box<Expression>),
    /// A built-in function of one or two arguments.
    Call(Function, Vec<Expression>),
    /// A curve read at a value.
    Curve(CurveId, Box<Expression>),
}

/// What joins two formulas.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Operator {
    /// Sum.
    Plus,
    /// Difference.
    Minus,
    /// Product.
    Times,
    /// Quotient.
    Over,
}

/// Built-in functions.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Function {
    /// Lower end of a range; no value where the range has none.
    Lowest,
    /// Upper end of a range; no value where the range has none.
    Highest,
    /// Middle of a range with both ends.
    Middle,
    /// The smaller of two.
    Smaller,
    /// The larger of two.
    Larger,
    /// The value without its sign.
    Magnitude,
    /// Square root.
    Root,
    /// The first of two that has a value.
    Either,
}

/// A worked check: with these facts assumed, these conclusions hold, never hold, or stay open.
#[derive(Clone, Debug)]
pub struct Expectation {
    /// What it is about.
    pub name: String,
    /// On whose word it holds, where that is said.
    pub cites: Vec<Cite>,
    /// Facts that are assumed; terms are constants.
    pub assume: Vec<Pattern>,
    /// Patterns without variables, and what is expected of each.
    pub claims: Vec<(Claim, Pattern)>,
    /// Where it stands.
    pub span: Span,
}

/// What an expectation claims of a pattern.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Claim {
    /// Some fact that matches is established.
    Hence,
    /// No fact that matches is established or open.
    Never,
    /// A fact that matches is open.
    Open,
}
