//! What users get wrong, from a slip to arbitrary bytes.

mod any_job;
mod any_rules;
mod commands;
mod contradictions;
mod impossible;
mod job_mistakes;
mod limits;
mod rules;
