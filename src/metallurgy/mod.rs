//! Arithmetic of the weld: pure functions on quantities, each with its source. Nothing here knows rules, files or pages.

pub mod freezing;
pub mod mixing;
pub mod sampling;
pub mod section;
