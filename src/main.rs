//! The binary: a thin face over the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    whyrod::command::run()
}
