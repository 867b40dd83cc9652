//! Records: written, checked, forged.

mod command;
mod forgeries;
mod whole;
