//! What several tests share. No tests live here.

pub mod comma_separated;
pub mod cracking;
pub mod hand_made_rulebook;
pub mod job_sample;
pub mod program;
pub mod selection;
pub mod terminal;

/// What the computations of one test keep for the others: most tests freeze the same pools.
pub fn memory() -> whyrod::engine::Memory {
    static SHARED: std::sync::OnceLock<whyrod::engine::Memory> = std::sync::OnceLock::new();
    SHARED.get_or_init(whyrod::engine::Memory::default).clone()
}
