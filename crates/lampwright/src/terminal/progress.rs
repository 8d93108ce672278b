//! A line that says how far long work is; on a terminal only.

use indicatif::{ProgressBar, ProgressStyle};

/// The line.
#[derive(Debug)]
pub struct ProgressLine(ProgressBar);

impl ProgressLine {
    /// A line on standard error; nothing appears where that is no terminal.
    #[must_use]
    pub fn new() -> Self {
        let line = ProgressBar::new(1);
        if let Ok(style) = ProgressStyle::with_template("{pos} of {len}  {wide_msg}") {
            line.set_style(style);
        }
        Self(line)
    }

    /// Says what is being done now.
    pub fn tell(&self, done: usize, total: usize, doing: String) {
        self.0.set_length(total as u64);
        self.0.set_position(done as u64);
        self.0.set_message(doing);
    }

    /// Takes the line away.
    pub fn end(&self) {
        self.0.finish_and_clear();
    }
}

impl Default for ProgressLine {
    fn default() -> Self {
        Self::new()
    }
}
