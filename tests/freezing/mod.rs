//! The freezing solver: outside runs, invariants, properties, and the reader of its data.

mod agreement;
mod invariants;
mod orders;
mod properties;
mod reader;
