//! Starts the program; everything it does is in the library, so that tests can reach it.

use mimalloc::MiMalloc;

use std::process::ExitCode;

/// Keeps what it had of the system: grids and fields come and go with every question.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    ExitCode::from(lampwright::run(std::env::args_os()))
}
