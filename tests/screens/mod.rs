//! What users see, on the terminal and as JSON.

mod absent;
mod assembly;
mod comparison;
mod contrast;
mod curves;
mod decisive;
mod folding;
mod lengths;
mod machine_readable;
mod pool;
mod readme;
mod sentences;
mod terminal;
