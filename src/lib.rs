//! Which filler rod for an aluminium joint, and why.
pub mod job;
pub mod language;
pub mod quantity;
