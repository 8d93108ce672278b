//! How a command ends, and the exit status that says so to scripts.

use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Mutex, PoisonError};

use lamp::findings::FindingRemark;
use lamp::model::ModelError;
use serde::Serialize;

/// How a command ended that said on its own all that was to be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Everything is fine.
    Fine,
    /// The lamp fails one of its limits.
    OverLimit,
    /// The input has errors, which were told.
    BadInput,
    /// The machine did not keep everything, which was told.
    NotAllKept,
}

impl Outcome {
    /// The exit status: 0 to 3.
    #[must_use]
    pub fn exit_status(self) -> u8 {
        match self {
            Self::Fine => 0,
            Self::OverLimit => 1,
            Self::BadInput => 2,
            Self::NotAllKept => 3,
        }
    }
}

/// Why a command could not do its work.
#[derive(Debug)]
pub enum Failure {
    /// What was given cannot be used; the remarks say where and why.
    BadInput(Vec<FindingRemark>),
    /// Stopped from the keyboard.
    Cancelled,
    /// A fault of the program, or of the machine under it.
    Fault(String),
}

impl From<ModelError> for Failure {
    fn from(error: ModelError) -> Self {
        match error {
            ModelError::Cancelled => Self::Cancelled,
            ModelError::Problem(text) => Self::bad_input(text),
        }
    }
}

impl Failure {
    /// Input that cannot be used, with one sentence that says why and what is allowed.
    pub fn bad_input(text: impl Into<String>) -> Self {
        Self::BadInput(vec![error_remark(None, text)])
    }

    /// Input that cannot be used: a file, and why.
    pub fn bad_file(file: impl Into<String>, text: impl Into<String>) -> Self {
        Self::BadInput(vec![error_remark(Some(file.into()), text)])
    }

    /// The exit status: 2 for bad input, 3 for a fault, and the shells' usual 130 after a stop from the keyboard.
    #[must_use]
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::BadInput(_) => 2,
            Self::Fault(_) => 3,
            Self::Cancelled => 130,
        }
    }

    /// The object that `--json` prints instead of a result.
    #[must_use]
    pub fn told(&self) -> ToldFailure {
        let (failure, remarks) = match self {
            Self::BadInput(remarks) => ("bad input", remarks.clone()),
            Self::Cancelled => ("cancelled", vec![error_remark(None, "stopped from the keyboard")]),
            Self::Fault(text) => ("internal fault", vec![error_remark(None, text.as_str())]),
        };
        ToldFailure { failure, exit_status: self.exit_status(), remarks }
    }
}

/// What `--json` prints when a command could not do its work.
#[derive(Debug, Serialize)]
pub struct ToldFailure {
    /// `bad input`, `cancelled` or `internal fault`.
    pub failure: &'static str,
    /// The program's exit status.
    pub exit_status: u8,
    /// What was found, where, and what is allowed.
    pub remarks: Vec<FindingRemark>,
}

/// A remark of severity `error` without a line.
pub fn error_remark(file: Option<String>, text: impl Into<String>) -> FindingRemark {
    FindingRemark { severity: "error", file, line: None, column: None, text: text.into() }
}

/// A remark of severity `note` without a place.
pub fn note(text: impl Into<String>) -> FindingRemark {
    FindingRemark { severity: "note", file: None, line: None, column: None, text: text.into() }
}

/// Where the last panic happened, kept by [`guarded`] for its message.
static LAST_PLACE: Mutex<Option<String>> = Mutex::new(None);

/// Runs a command so that a fault inside it ends in a plain message instead of a crash.
///
/// # Errors
///
/// Those of `work`, and [`Failure::Fault`] when it panicked.
pub fn guarded<T>(work: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let before = std::panic::take_hook();
    std::panic::set_hook(Box::new(|fault| {
        let place = fault.location().map(|place| format!("{}:{}", place.file(), place.line()));
        *LAST_PLACE.lock().unwrap_or_else(PoisonError::into_inner) = place;
    }));
    let ended = catch_unwind(AssertUnwindSafe(work));
    std::panic::set_hook(before);
    ended.unwrap_or_else(|cargo| Err(Failure::Fault(fault_text(cargo.as_ref()))))
}

fn fault_text(cargo: &(dyn Any + Send)) -> String {
    let what = cargo
        .downcast_ref::<&str>()
        .map(|text| (*text).to_owned())
        .or_else(|| cargo.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "no message".to_owned());
    let place = LAST_PLACE.lock().unwrap_or_else(PoisonError::into_inner).take();
    let place = place.map(|place| format!(" at {place}")).unwrap_or_default();
    format!("a mistake in the program, not in your lamp{place}: {what}. Your files are as they were.")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_exit_status_3_with_its_place() {
        let ended: Result<(), Failure> = guarded(|| panic!("the floor gave way"));
        let failure = ended.expect_err("it panicked");
        assert_eq!(failure.exit_status(), 3);
        let told = failure.told();
        assert_eq!(told.failure, "internal fault");
        assert!(told.remarks[0].text.contains("the floor gave way"), "{}", told.remarks[0].text);
        assert!(told.remarks[0].text.contains("outcome.rs:"), "{}", told.remarks[0].text);
    }

    #[test]
    fn what_a_command_says_passes_through_unchanged() {
        assert_eq!(guarded(|| Ok(Outcome::OverLimit)).expect("no failure").exit_status(), 1);
        let failure = guarded::<()>(|| Err(Failure::bad_input("no"))).expect_err("bad input");
        assert_eq!(failure.exit_status(), 2);
    }
}
