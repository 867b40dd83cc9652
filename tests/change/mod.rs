//! Changed jobs and open questions.

mod agreement;
mod dialogue;
mod dialogue_result;
mod left_out;
mod offers;
