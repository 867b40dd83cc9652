//! How answers look: on a terminal, as a drawing, as a graph file. Everything that is said comes from below; the digits of
//! a number are decided in `quantity`, colours in `colour`.

mod answer;
mod ask;
mod change;
mod check;
mod choice;
mod colour;
mod comparison;
mod contrast;
mod curve;
mod drawing;
mod item;
mod page;
mod pool;
mod review;
mod shaken;
mod sources;
mod tree;

pub use answer::{Length, answer, inquiry};
pub use ask::{ending, meaning, opening, question, refused, written};
pub use change::{changes, margins, supposed};
pub use check::checked;
pub use choice::choice;
pub use colour::{Ink, paint};
pub use comparison::comparison;
pub use contrast::contrast;
pub use drawing::{dot, svg};
pub use item::item;
pub use page::{Page, width};
pub use pool::{pool, pool_plot, sweep_table};
pub use review::review;
pub use shaken::shaken;
pub use sources::sources;
pub use tree::Depth;
