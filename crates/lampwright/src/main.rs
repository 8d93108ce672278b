//! Starts the program; everything it does is in the library, so that tests can reach it.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(lampwright::run(std::env::args_os()))
}
