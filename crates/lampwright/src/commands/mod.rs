//! The commands: each reads what it needs, asks the lower layers, and says the answer.

mod bench;
mod check;
mod demo;
mod fit;
mod new;
mod plan;
mod predict;
pub mod record;
mod serve;
mod stopping;
mod verdict;

use std::path::PathBuf;

use lamp::as_built::Lamp;
use lamp::findings::FindingRemark;
use lamp::project::Reading;

use crate::arguments::Command;
use crate::disk::LampFolder;
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, paragraph};

pub use new::starting_files;
pub use plan::lit;
pub use predict::threads;

/// Runs a command.
///
/// # Errors
///
/// When it could not do its work.
pub fn run(command: &Command, console: &Console) -> Result<Outcome, Failure> {
    match command {
        Command::Demo(arguments) => demo::demo(arguments, console),
        Command::New(arguments) => new::new(arguments, console),
        Command::Check(arguments) => check::check(arguments, console),
        Command::Plan(arguments) => plan::plan(arguments, console),
        Command::Bench(arguments) => bench::bench(arguments, console),
        Command::Fit(arguments) => fit::fit(arguments, console),
        Command::Verdict(arguments) => verdict::verdict(arguments, console),
        Command::Predict(arguments) => predict::predict(arguments, console),
        Command::Record(arguments) => record::record(arguments, console),
        Command::Serve(arguments) => serve::serve(arguments, console),
    }
}

/// The lamp, where nothing that was read has an error; the remarks besides.
fn usable(reading: Reading) -> Result<(Lamp, Vec<FindingRemark>), Failure> {
    let errors = reading.has_errors();
    match reading.lamp {
        Some(lamp) if !errors => Ok((lamp, reading.remarks)),
        _ => Err(Failure::BadInput(reading.remarks)),
    }
}

/// Says where results were written, or that the disk refused them.
fn told_where(
    folder: &LampFolder,
    written: std::io::Result<PathBuf>,
    files: &[&str],
    console: &Console,
) -> Result<(), Failure> {
    let place = folder.root().join("results");
    match written {
        Ok(_) if console.json() => Ok(()),
        Ok(_) => console.say(&format!("\nWritten to {}: {}\n", place.display(), files.join(", "))),
        Err(error) => {
            let told = format!("warning: {} cannot be written: {error}", place.display());
            console.aside(&paragraph(&told, console.width(), 4));
            Ok(())
        }
    }
}
