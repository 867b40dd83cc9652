//! Why a rulebook or its facts cannot be evaluated. Mistakes in rule texts are found and shown by the language; these
//! are what is left when a rulebook was built by other means, and they take the place of a loop or a panic.

use thiserror::Error;

/// Why nothing was derived.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum EngineError {
    /// A denial, an aggregate, a question or a computed relation stands inside a circle of relations.
    #[error("these relations depend on their own denial, count or computation: {}", .relations.join(", "))]
    Unlayered {
        /// The relations of the circle.
        relations: Vec<String>,
    },
    /// A value computed from a relation feeds that relation again, so that it could grow without end.
    #[error("`{finding}` computes new values of `{relation}` from `{relation}` itself")]
    Growing {
        /// The finding that computes.
        finding: String,
        /// The relation that feeds itself.
        relation: String,
    },
    /// Nothing in the registry computes a relation that is declared as computed.
    #[error("nothing computes the relation `{relation}`")]
    NotComputed {
        /// The relation.
        relation: String,
    },
    /// A computed relation also has facts or findings.
    #[error("`{relation}` is computed by the program and takes no other facts")]
    ComputedElsewhere {
        /// The relation.
        relation: String,
    },
    /// A computation gave a row of the wrong length or named a premise that does not exist.
    #[error("the computation of `{relation}` gave a row that does not fit")]
    MisshapenOutput {
        /// The relation.
        relation: String,
    },
    /// A fact has more or fewer cells than its relation has roles, or no such relation exists.
    #[error("fact {index} of the {list} does not fit its relation")]
    MisshapenFact {
        /// `rulebook` or `job`.
        list: &'static str,
        /// Its position.
        index: usize,
    },
    /// A finding refers to something that does not exist, or uses a variable that nothing binds.
    #[error("the finding `{finding}` is malformed: {problem}")]
    MalformedFinding {
        /// The finding.
        finding: String,
        /// What is wrong with it.
        problem: &'static str,
    },
    /// A relation's declaration refers to something that does not exist.
    #[error("the declaration of `{relation}` is malformed")]
    MalformedRelation {
        /// The relation.
        relation: String,
    },
    /// More work than the budget allows.
    #[error(
        "{} takes more than {limit} {what}: give it premises that say more closely which facts belong together, or raise \
         the limit with --budget", .finding.as_ref().map_or("this derivation".to_owned(), |finding| format!("the finding `{finding}`"))
    )]
    TooMuch {
        /// The finding at work, where one was.
        finding: Option<String>,
        /// Facts, recorded instances, or steps.
        what: &'static str,
        /// How many are allowed.
        limit: u64,
    },
}
