//! Changes of a job whose effect is known beforehand, on the examples and on random jobs: those that must not change what is
//! said of it, and those that make its service harder.
//!
//! `METAMORPHIC_CASES=1000 cargo test --release --test checks metamorphic::` looks at more random jobs.

mod examples;
mod plan;
mod removal;
mod sameness;
mod severity;
mod units;
