//! Which filler rod for an aluminium joint, and why.
pub mod engine;
pub mod language;
pub mod quantity;
