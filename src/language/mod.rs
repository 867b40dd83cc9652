//! The rule language: text to tree to checked rulebook, with messages that point. No metal, no evaluation.

mod diagnostic;
mod rulebook;
mod source;

pub use diagnostic::{Diagnostic, nearest};
pub use rulebook::*;
pub use source::{SourceFile, Sources, Span, line_and_column};
