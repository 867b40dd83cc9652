//! Job files that are read as they are meant.

mod both_forms;
mod large;
mod reads;
