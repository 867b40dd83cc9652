//! Why something holds: the part of the derivation that leads to a conclusion, told in sentences, as a graph of plain
//! data. How it looks on a page is decided in `show`.

mod authority;
mod build;
mod formula;
mod review;
mod sources;
mod verdict;

pub use authority::{Authority, Known, authority};
pub use build::{Explanation, Extent, Kind, Node, explain};
pub use review::{Place, Review, review};
pub use sources::{Clause, SourceList, Use, Work, sources};
pub use verdict::{Answer, AnswerError, why, why_not};
