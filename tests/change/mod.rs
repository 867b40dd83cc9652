//! Changed jobs and open questions.

mod dialogue;
mod dialogue_result;
mod offers;
