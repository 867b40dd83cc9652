//! Changed jobs and open questions.

mod agreement;
mod dialogue;
mod dialogue_result;
mod offers;
