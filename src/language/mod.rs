//! The rule language: text to tree to checked rulebook, with messages that point. No metal, no evaluation.

mod budget;
mod canonical;
mod check;
mod compare;
mod cut;
mod diagnostic;
mod expand;
mod grammar;
mod nodes;
mod order;
mod pairs;
mod parse;
mod read;
mod rulebook;
mod source;
mod tree;

pub use budget::Budget;
pub use canonical::contents;
pub use compare::compare_cells;
pub use diagnostic::{Diagnostic, draw, nearest};
pub use order::{
    Disorder, Layer, RelationGraph, Rests, RestsHow, TurnFault, TurnFinding, Turns, layers, operands_of,
    relation_graph, rests_on, variables_of,
};
pub use read::{
    PatternError, RulebookError, fingerprint, read_pattern, read_rulebook, read_rulebook_texts,
    read_rulebook_within, reread_rulebook,
};
pub use rulebook::*;
pub use source::{SourceFile, Sources, Span, line_and_column};
