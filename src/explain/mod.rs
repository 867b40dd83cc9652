//! Why something holds: the part of the derivation that leads to a conclusion, in sentences, as a graph of plain
//! data. How it looks on a page is decided in `show`.

mod about;
mod absent;
mod align;
mod argument;
mod authority;
mod brief;
mod build;
mod contrast;
mod curves;
mod formula;
mod graph;
mod item;
mod lacking;
mod review;
mod sources;
mod verdict;

pub use absent::{Inquiry, Presence, candidate, inquire};
pub use align::Numbers;
pub use argument::{Argument, Beside};
pub use authority::{Authority, Known, authority};
pub use build::{Extent, explain};
pub use contrast::{Better, Contrast, Difference, OneSided, Side, contrast};
pub use graph::{CurvePoint, EdgeRole, Explanation, Kind, Node};
pub use item::{ItemView, Source, item};
pub use review::{Location, Review, review};
pub use sources::{CitedClause, SourceList, Use, Work, sources};
pub use verdict::{Answer, AnswerError, why, why_not};
