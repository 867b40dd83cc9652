//! An explanation as a graph of sentences: plain data, without layout. How it is made of recorded grounds is in `build.rs`.

use crate::engine::FactId;
use crate::verdict::Measured;
use serde::Serialize;

/// What a node is.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A derived fact.
    Conclusion,
    /// A finding applied to facts.
    Finding,
    /// A fact of the job or of a table.
    Fact,
    /// Something that was looked for and is not there.
    Absence,
    /// A number over many facts.
    Aggregate,
    /// Arithmetic, or a condition with its numbers.
    Working,
    /// A question that nobody has answered.
    Question,
    /// An authority.
    Source,
}

/// A node of an explanation.
#[derive(Clone, Debug, Serialize)]
pub struct Node {
    /// Its number; the position in the list.
    pub id: usize,
    /// What it is.
    pub kind: Kind,
    /// The sentence.
    pub text: String,
    /// The finding's id, for a finding.
    pub finding: Option<String>,
    /// Authorities, joined by "; ".
    pub cite: Option<String>,
    /// The file it stands in: a rule file, or the job file.
    pub file: Option<String>,
    /// The line there, from one.
    pub line: Option<usize>,
    /// Whether it waits on an unanswered question.
    pub open: bool,
    /// The points of a curve between which a value was read.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<CurvePoint>,
    /// The sentence where less is shown: without what stands in the rulebook beside the numbers.
    #[serde(skip)]
    pub short: Option<String>,
    /// Told to an auditor alone: a bare figure that a condition shows again, a condition on words, something that was
    /// rightly not found.
    #[serde(skip)]
    pub detail: bool,
    /// Not opened, though there is more behind it.
    #[serde(skip)]
    pub closed: bool,
    /// A finding that could have given something absent, and does not apply.
    #[serde(skip)]
    pub missed: bool,
    /// The fact that it states.
    #[serde(skip)]
    pub(super) fact: Option<FactId>,
}

impl Node {
    /// A node that says nothing yet.
    pub(super) fn of(kind: Kind) -> Self {
        Node {
            id: 0,
            kind,
            text: String::new(),
            finding: None,
            cite: None,
            file: None,
            line: None,
            open: false,
            points: Vec::new(),
            short: None,
            detail: false,
            closed: false,
            missed: false,
            fact: None,
        }
    }
}

/// Part of a derivation, in sentences. Edges run from what follows to what it rests on.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Explanation {
    /// The nodes; conclusions asked about come first.
    pub nodes: Vec<Node>,
    /// From, to, and in which role.
    pub edges: Vec<(usize, usize, EdgeRole)>,
    /// The nodes that were asked about.
    #[serde(skip)]
    pub roots: Vec<usize>,
}

/// What the end of an edge is to its beginning.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum EdgeRole {
    /// The finding that gives a conclusion.
    Finding,
    /// The computation that gives a row.
    Computed,
    /// A premise.
    Given,
    /// What must not hold.
    Unless,
    /// A named value.
    Let,
    /// A condition.
    Where,
    /// One of the facts that a number or an absence is about.
    Member,
    /// A step of a computation.
    Step,
    /// How a value was read from a curve.
    Curve,
    /// An authority.
    Source,
    /// A finding that could give something absent.
    Attempt,
    /// What fails in it.
    Fails,
    /// What it waits for.
    Waits,
    /// What stands there in its place.
    Instead,
}

impl EdgeRole {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            EdgeRole::Finding => "finding",
            EdgeRole::Computed => "computed",
            EdgeRole::Given => "given",
            EdgeRole::Unless => "unless",
            EdgeRole::Let => "let",
            EdgeRole::Where => "where",
            EdgeRole::Member => "member",
            EdgeRole::Step => "step",
            EdgeRole::Curve => "curve",
            EdgeRole::Source => "source",
            EdgeRole::Attempt => "attempt",
            EdgeRole::Fails => "fails",
            EdgeRole::Waits => "waits",
            EdgeRole::Instead => "instead",
        }
    }
}

/// A point of a curve that a value was read from.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct CurvePoint {
    /// What goes in.
    pub at: Measured,
    /// What comes out.
    pub value: Measured,
    /// The rule file.
    pub file: String,
    /// The line there, from one.
    pub line: usize,
}
