//! What users see, on the terminal and as JSON.

mod absent;
mod assembly;
mod contrast;
mod folding;
mod lengths;
mod machine_readable;
mod pool;
mod readme;
mod terminal;
