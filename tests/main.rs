//! The tests of the whole program, as one crate: a module for each theme.
//!
//! `cargo test --test checks outside::` runs one theme, `cargo test --test checks -- --ignored` what takes minutes.

mod bad_input;
mod change;
mod engine;
mod freezing;
mod house;
mod job;
mod language;
mod metamorphic;
mod outside;
mod records;
mod screens;
mod support;
