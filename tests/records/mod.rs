//! Records: written, checked, forged.

mod command;
mod forgeries;
mod refusals;
mod rules;
mod whole;
