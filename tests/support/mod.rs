//! What several tests share. No tests live here.

pub mod comma_separated;
pub mod cracking;
pub mod hand_made_rulebook;
pub mod job_sample;
pub mod program;
pub mod selection;
pub mod terminal;
