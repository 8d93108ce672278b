//! What is said on the terminal: text for a maker, or one JSON object for a script.

mod air;
mod bench;
mod bench_findings;
mod bond;
mod cautions;
mod contact;
mod copper;
mod copper_places;
mod fabrication;
mod fitted;
mod live;
mod numbers;
mod plan;
mod prediction;
mod progress;
mod remarks;
mod sharing;
mod staircase;
mod text;
mod understood;
mod verdicts;

use std::io::{self, Write};

use serde::Serialize;

use crate::outcome::Failure;

pub use bench::bench_runs;
pub use fabrication::artwork_alone;
pub use fitted::fitted;
pub use live::{LiveScreen, recorded};
pub use plan::plan_text;
pub use prediction::prediction;
pub use progress::ProgressLine;
pub use remarks::{remark_line, remark_lines};
pub use text::{Align, Columns, bold, faint, heading, paragraph};
pub use understood::understood;
pub use verdicts::verdicts;

/// Width of text that goes to a file or a pipe, characters.
const WIDTH_WITHOUT_TERMINAL: usize = 100;
/// No wider than one reads with comfort, characters.
const WIDEST: usize = 110;
const NARROWEST: usize = 30;

/// Where a command speaks: standard output for its answer, standard error for everything beside it.
#[derive(Debug, Clone, Copy)]
pub struct Console {
    json: bool,
    width: usize,
}

impl Console {
    /// A console for text, or for one JSON object.
    #[must_use]
    pub fn new(json: bool) -> Self {
        let width =
            terminal_size::terminal_size().map_or(WIDTH_WITHOUT_TERMINAL, |(width, _)| usize::from(width.0));
        Self { json, width: width.clamp(NARROWEST, WIDEST) }
    }

    /// Whether one JSON object is wanted instead of text.
    #[must_use]
    pub fn json(&self) -> bool {
        self.json
    }

    /// Characters in a line.
    #[must_use]
    pub fn width(&self) -> usize {
        self.width
    }

    /// Says text on standard output. A reader that has gone away (a closed pipe) is no failure.
    ///
    /// # Errors
    ///
    /// [`Failure::Fault`] when the output cannot be written, for example because a disk is full.
    pub fn say(&self, text: &str) -> Result<(), Failure> {
        let mut out = anstream::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
                Err(Failure::Fault(format!("standard output cannot be written: {error}")))
            }
            _ => Ok(()),
        }
    }

    /// Says something beside the answer, on standard error.
    pub fn aside(&self, text: &str) {
        // Nobody is left to tell when this fails.
        let _ = anstream::stderr().lock().write_all(text.as_bytes());
    }

    /// Prints the one JSON object.
    ///
    /// # Errors
    ///
    /// As [`Self::say`].
    pub fn object(&self, object: &impl Serialize) -> Result<(), Failure> {
        self.say(&json_text(object)?)
    }
}

/// An object as indented JSON with a line end.
///
/// # Errors
///
/// [`Failure::Fault`] when it has no JSON form.
pub fn json_text(object: &impl Serialize) -> Result<String, Failure> {
    serde_json::to_string_pretty(object)
        .map(|text| text + "\n")
        .map_err(|error| Failure::Fault(format!("the result has no JSON form: {error}")))
}
