//! Arithmetic of the weld: pure functions on quantities, each with its source. Nothing here knows rules, files or pages.

pub mod mixing;
pub mod section;
