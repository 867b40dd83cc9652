//! Freezing of weld metal: thermodynamic data, the Scheil–Gulliver curve and what is read from it. No user interface.

mod alloy;
mod database;
mod events;
mod expression;
mod formula;
mod functions;
mod gibbs;
mod index;
mod ledger;
mod linear;
mod liquation;
mod liquid;
mod outcome;
mod pool;
mod scheil;
mod search;
mod solid;
mod statement;
mod step;
mod tdb;

pub use database::{Database, DatabaseError, Element, Phase};
pub use index::{Binary, MELTING_POINT, Steepness, SteepnessSettings};
pub use liquation::{Liquation, LiquationSettings, liquation};
pub use outcome::{Freezing, FreezingError, FrozenPhase, PathPoint, Settings};
pub use scheil::freeze;
pub use tdb::ALUMINIUM;
