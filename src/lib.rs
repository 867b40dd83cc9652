//! Which filler rod for an aluminium joint, and why.
//!
//! Data flows one way: a [`job`] becomes facts, the [`engine`] derives what a rulebook ([`language`]) says of them, with
//! relations [`computed`] by the [`metallurgy`]; [`verdict`] collects what was concluded, [`change`] finds what other facts
//! would bring, [`explain`] tells why, and [`show`] puts it on a page. [`ask`] puts open questions to the user, and a [`record`]
//! files a decision with all that it rests on, and [`verify`] checks one by itself.
//! [`command`] is the thin face over all of it.

pub mod ask;
pub mod change;
pub mod command;
pub mod computed;
pub mod engine;
pub mod explain;
pub mod job;
pub mod language;
pub mod metallurgy;
pub mod mixture;
pub mod processors;
pub mod quantity;
pub mod record;
pub mod show;
pub mod verdict;
pub mod verify;
