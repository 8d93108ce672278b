//! What terminal and page show of a run that is recorded: one picture of the moment, and the course so far.

use serde::Serialize;

use super::abort::Abort;
use super::session::Session;
use super::told::{answer, finite};

/// Most points of the course; beyond it every other one goes.
const MOST_POINTS: usize = 6000;
/// Notices that are shown.
const NOTICES: usize = 8;

/// How things are at a moment.
#[derive(Debug, Clone, Serialize)]
pub struct Shown {
    /// Lamp.
    pub lamp: String,
    /// Run.
    pub run: String,
    /// Variant.
    pub variant: Option<String>,
    /// Source, in words.
    pub source: String,
    /// Log, inside the lamp folder.
    pub log: String,
    /// The answer.
    pub answer: String,
    /// What is to be said loudly.
    pub alarm: Option<String>,
    /// What the disk does not take.
    pub trouble: Option<String>,
    /// When to break off.
    pub abort: Option<Abort>,
    /// The same in words, or why there is none.
    pub abort_words: String,
    /// Samples so far.
    pub samples: u64,
    /// Board sensor, degC.
    pub sensor_c: Option<f64>,
    /// Room, degC.
    pub ambient_c: Option<f64>,
    /// Drive current, A.
    pub drive_a: Option<f64>,
    /// Board above room, K.
    pub rise_k: Option<f64>,
    /// Slope, K/min.
    pub slope_k_per_min: Option<f64>,
    /// Number of the plateau; 0 while the lamp is off.
    pub plateau: usize,
    /// What it settles to, degC.
    pub settled_c: Option<f64>,
    /// 95 % interval of that, degC.
    pub settled_interval_c: Option<[f64; 2]>,
    /// How much longer it takes, min.
    pub minutes_more: Option<f64>,
    /// The last notices.
    pub notices: Vec<String>,
    /// Why it ended, once it has.
    pub ended: Option<String>,
}

/// A point of the course.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Point {
    /// Seconds from 1970-01-01 by the rows' clock.
    pub time_s: f64,
    /// Board sensor, degC.
    pub sensor_c: Option<f64>,
    /// Room, degC.
    pub ambient_c: Option<f64>,
    /// Drive current, A.
    pub drive_a: Option<f64>,
}

/// The course so far, thinned.
#[derive(Debug, Clone, Default)]
pub struct Course {
    points: Vec<Point>,
    every: u64,
    taken: u64,
    /// How often it was thinned: then a view reads it anew.
    pub thinned: u64,
}

impl Course {
    /// Adds the last state of a session, where it has a new one.
    pub fn take(&mut self, session: &Session) {
        let Some(state) = session.state else { return };
        let reading = state.reading;
        if self.points.last().is_some_and(|last| last.time_s >= reading.time_s) {
            return;
        }
        self.taken += 1;
        if !self.taken.is_multiple_of(self.every.max(1)) {
            return;
        }
        self.points.push(Point {
            time_s: reading.time_s,
            sensor_c: finite(reading.sensor_c),
            ambient_c: finite(reading.ambient_c),
            drive_a: finite(reading.drive_a),
        });
        if self.points.len() >= MOST_POINTS {
            let mut odd = false;
            self.points.retain(|_| {
                odd = !odd;
                odd
            });
            self.every = 2 * self.every.max(1);
            self.thinned += 1;
        }
    }

    /// The points.
    pub fn points(&self) -> &[Point] {
        &self.points
    }
}

/// What does not change while a run is recorded.
#[derive(Debug, Clone)]
pub struct Heading {
    /// Lamp.
    pub lamp: String,
    /// Run.
    pub run: String,
    /// Variant.
    pub variant: Option<String>,
    /// Source, in words.
    pub source: String,
}

impl Shown {
    /// How a session is now.
    pub fn of(session: &Session, heading: &Heading, abort_missing: &str, notices: &[String]) -> Self {
        let state = session.state;
        let of = |value: fn(&bench::live::watch::State) -> f64| state.as_ref().map(value).and_then(finite);
        let outlook = session
            .outlook
            .as_ref()
            .filter(|outlook| state.is_some_and(|state| state.plateau == outlook.plateau));
        Self {
            lamp: heading.lamp.clone(),
            run: heading.run.clone(),
            variant: heading.variant.clone(),
            source: heading.source.clone(),
            log: session.log(),
            answer: answer(state.as_ref(), session.outlook.as_ref(), session.watches()),
            alarm: session.alarm(),
            trouble: session.trouble(),
            abort: session.abort.clone(),
            abort_words: session
                .abort
                .as_ref()
                .map_or_else(|| abort_missing.to_owned(), super::abort::Abort::words),
            samples: session.samples(),
            sensor_c: of(|state| state.reading.sensor_c),
            ambient_c: of(|state| state.reading.ambient_c),
            drive_a: of(|state| state.reading.drive_a),
            rise_k: of(|state| state.rise_k),
            slope_k_per_min: of(|state| state.slope_k_per_min),
            plateau: state.map_or(0, |state| state.plateau),
            settled_c: outlook.map(|outlook| outlook.settled_c),
            settled_interval_c: outlook.map(|outlook| outlook.interval_c),
            minutes_more: outlook.map(|outlook| outlook.minutes_more),
            notices: notices.iter().rev().take(NOTICES).rev().cloned().collect(),
            ended: None,
        }
    }
}
