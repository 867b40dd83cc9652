//! The rule language and rulebooks as such.

mod holes;
mod left_out;
mod messages;
mod other_subject;
mod reached;
mod relations;
mod said_once;
mod sources;
mod threshold;
mod tutorial;
