//! The sensor reading at which to break off: given, or that of the plan, predicted beside the recording.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::mpsc::{Receiver, channel};
use std::thread;

use bench::plan::{NoPlan, abort_reading};
use lamp::as_built::Lamp;
use lamp::model::GridChoice;
use serde::Serialize;

use super::super::predict::threads;

/// An abort reading with where it comes from; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Abort {
    /// Highest reading of the board sensor, degC.
    pub above_c: f64,
    /// `given` or `predicted`.
    pub from: &'static str,
    /// Which limit it keeps, in words; `None` where it was given.
    pub limit: Option<String>,
    /// That limit, degC.
    pub limit_c: Option<f64>,
}

impl Abort {
    /// The reading that was typed.
    pub fn given(above_c: f64) -> Self {
        Self { above_c, from: "given", limit: None, limit_c: None }
    }

    /// In a sentence.
    pub fn words(&self) -> String {
        let reading = self.above_c;
        match (&self.limit, self.limit_c) {
            (Some(limit), Some(limit_c)) => format!(
                "Break off above {reading:.0} degC at the board sensor: by the plan one lamp in forty within the tolerances has the {limit} at its limit of {limit_c:.0} degC there."
            ),
            _ => format!("Break off above {reading:.1} degC at the board sensor, as given."),
        }
    }
}

/// Predicts on a thread of its own; the answer, or why there is none, comes when it is ready.
pub fn predicted(lamp: Arc<Lamp>, variant: String, stop: Arc<AtomicBool>) -> Receiver<Result<Abort, String>> {
    let (sender, receiver) = channel();
    let work = move || {
        let found = find(&lamp, &variant, &stop);
        // Who asked may have ended.
        let _ = sender.send(found);
    };
    // Without a thread there is no prediction, and the closed channel says so.
    let _ = thread::Builder::new().name("abort".to_owned()).spawn(work);
    receiver
}

/// The abort reading of the plan, of the variant on the bench.
fn find(lamp: &Lamp, variant: &str, stop: &AtomicBool) -> Result<Abort, String> {
    let index = lamp
        .variants
        .iter()
        .position(|known| known.name == variant)
        .ok_or("which variant is on the bench is not told")?;
    let most = threads().min(2);
    let found =
        abort_reading(lamp, index, (&GridChoice::default(), most), stop).map_err(|why| match why {
            NoPlan::Problem(text) => text,
            NoPlan::Cancelled => "stopped".to_owned(),
        })?;
    Ok(Abort {
        above_c: found.above_c,
        from: "predicted",
        limit: Some(found.limit.to_owned()),
        limit_c: Some(found.limit_c),
    })
}
