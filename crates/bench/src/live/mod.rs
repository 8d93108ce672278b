//! A run while it is recorded: bytes of a logger to whole lines ([`lines`]), lines to rows of plain CSV with their times
//! ([`form`], [`clock`]), rows to temperatures and currents ([`reading`]), and those to the plateau that is running ([`watch`]);
//! the bench sheet that says what the recorded columns are ([`sheet`]). The receiving clock comes in as a value.

pub mod clock;
pub mod form;
pub mod lines;
pub mod reading;
pub mod sheet;
#[cfg(test)]
mod tests;
pub mod watch;
