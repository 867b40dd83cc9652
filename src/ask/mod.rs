//! The open questions of a job put to whoever sits at the terminal, one by one, and the answers written into the job file.
//! Which question comes next is found in `change`, how it looks is decided in `show`.

mod dialogue;
mod file;

pub use dialogue::{AskError, converse};
pub use file::{FileError, JobFile};
