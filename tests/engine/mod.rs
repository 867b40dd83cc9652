//! The engine against a naive evaluation, and the same bytes from the same input.

mod property;
mod same_bytes;
