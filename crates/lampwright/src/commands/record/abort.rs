//! The sensor reading at which to break off: given, or predicted from the lamp's limits beside the recording.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::mpsc::{Receiver, channel};
use std::thread;

use lamp::abort_reading::abort_readings;
use lamp::as_built::Lamp;
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
                "Break off above {reading:.0} degC at the board sensor: by the prediction the {limit} reaches its limit of {limit_c:.0} degC there."
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

fn find(lamp: &Lamp, variant: &str, stop: &AtomicBool) -> Result<Abort, String> {
    let variant = lamp
        .variants
        .iter()
        .find(|known| known.name == variant)
        .ok_or("which variant is on the bench is not told")?;
    let most = threads().min(2);
    let all = abort_readings(lamp, variant, most, stop).map_err(|error| error.to_string())?;
    let lowest = all.into_iter().min_by(|a, b| a.reading_c.total_cmp(&b.reading_c));
    let found = lowest.ok_or("the lamp states no temperature limit or no board sensor")?;
    // Rounded to the careful side: a reading is not known better.
    Ok(Abort {
        above_c: found.reading_c.floor(),
        from: "predicted",
        limit: Some(found.limit),
        limit_c: Some(found.limit_c),
    })
}
