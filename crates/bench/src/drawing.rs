//! A run as it is drawn over time: its traces in the units of the findings, thinned for the window that is looked at.
//!
//! Thinned are the readings as they were logged, and only what is left is turned into degrees: every sensor's law runs one way, so the
//! least and the largest of a column stay its ends. Rows of doubtful time count too, for a drawing shows what is there.

use lamp::as_built::Lamp;
use lamp::sensor_law::SensorLaw;
use serde::Serialize;

use crate::cold_junction::{self, celsius};
use crate::log::unit::{Measured, Unit};
use crate::mapping::{Mapped, Role};
use crate::recording::Pixel;
use crate::run::{BenchRun, measured_by};

/// The most columns that a drawing is given.
pub const MOST_COLUMNS: usize = 2000;

/// What a run drew between two times; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunDrawing {
    /// Begin of the window, s from the first row.
    pub from_s: f64,
    /// Its end, s.
    pub to_s: f64,
    /// Equal columns that the window was divided into.
    pub columns: usize,
    /// Rows in the window.
    pub rows: usize,
    /// Traces in the order of the bench sheet.
    pub traces: Vec<Trace>,
}

/// One channel over time; lists are of the columns in which a value falls.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trace {
    /// Sensor, or column of the log.
    pub name: String,
    /// What it is of, in the bench sheet's words.
    pub is: &'static str,
    /// Unit of the values.
    pub unit: &'static str,
    /// Columns, ascending.
    pub at: Vec<usize>,
    /// Least value in each.
    pub least: Vec<f64>,
    /// Largest value in each.
    pub largest: Vec<f64>,
    /// First value in time.
    pub first: Vec<f64>,
    /// Last value in time.
    pub last: Vec<f64>,
}

impl BenchRun {
    /// The run between two times (s from the first row), in `columns` equal columns (1 to [`MOST_COLUMNS`]). `None` where nothing was
    /// recorded or the window is none.
    #[must_use]
    pub fn drawing(&self, lamp: &Lamp, from_s: f64, to_s: f64, columns: usize) -> Option<RunDrawing> {
        let (sheet, recording) = (self.sheet.as_ref()?, self.recording.as_ref()?);
        if !(from_s.is_finite() && to_s.is_finite() && from_s < to_s) {
            return None;
        }
        let columns = columns.clamp(1, MOST_COLUMNS);
        let traces = recording.channels.iter().enumerate().filter_map(|(index, channel)| {
            let mapped = sheet.channels.iter().find(|mapped| mapped.column == channel.name)?;
            let (unit, law) = shown(mapped, channel.unit, lamp)?;
            let pixels = recording.thinned(index, from_s, to_s, columns);
            // Within a column of the drawing the cold junction is taken as it is first read there.
            let cold = law.and_then(|law| cold_junction::channel_of(sheet, mapped.law.as_ref()?, law));
            let cold = cold.and_then(|cold| {
                let index = recording.channels.iter().position(|channel| channel.name == cold.column)?;
                let (_, law) = shown(cold, recording.channels.get(index)?.unit, lamp)?;
                let pixels = recording.thinned(index, from_s, to_s, columns);
                let of = |pixel: &Option<Pixel>| match (pixel, law) {
                    (None, _) => f64::NAN,
                    (Some(pixel), None) => pixel.first,
                    (Some(pixel), Some(law)) => celsius(law, pixel.first, None),
                };
                Some(pixels.iter().map(of).collect::<Vec<f64>>())
            });
            Some(trace(mapped, unit, law, &pixels, cold.as_deref()))
        });
        Some(RunDrawing {
            from_s,
            to_s,
            columns,
            rows: recording.rows_between(from_s, to_s),
            traces: traces.collect(),
        })
    }
}

/// Unit of a channel as drawn, and the law that leads to it; `None` for a sensor whose output means no temperature.
fn shown(mapped: &Mapped, unit: Option<Unit>, lamp: &Lamp) -> Option<(&'static str, Option<SensorLaw>)> {
    let unit = unit?;
    let is_temperature = matches!(mapped.role, Role::Sensor(_) | Role::Ambient | Role::ColdJunction(_));
    if !is_temperature || unit.measured == Measured::Temperature {
        return Some((unit.measured.base(), None));
    }
    let name = mapped.law.as_ref()?;
    let law = lamp.sensors.iter().find(|sensor| sensor.name == *name)?.law?;
    (measured_by(law) == unit.measured).then_some((Measured::Temperature.base(), Some(law)))
}

fn trace(
    mapped: &Mapped,
    unit: &'static str,
    law: Option<SensorLaw>,
    pixels: &[Option<Pixel>],
    cold_c: Option<&[f64]>,
) -> Trace {
    let name = match &mapped.role {
        Role::Sensor(name) => name.clone(),
        _ => mapped.column.clone(),
    };
    let (mut at, mut least, mut largest, mut first, mut last) = (vec![], vec![], vec![], vec![], vec![]);
    for (column, pixel) in pixels.iter().enumerate() {
        let cold_c = cold_c.map(|cold| cold.get(column).copied().unwrap_or(f64::NAN));
        let value = |read: f64| match law {
            None => Some(read),
            Some(law) => Some(celsius(law, read, cold_c)).filter(|celsius| celsius.is_finite()),
        };
        let Some(Some(ends)) =
            pixel.map(|p| Some([value(p.least)?, value(p.largest)?, value(p.first)?, value(p.last)?]))
        else {
            continue;
        };
        at.push(column);
        // A falling output is least where it is hottest.
        least.push(ends[0].min(ends[1]));
        largest.push(ends[0].max(ends[1]));
        first.push(ends[2]);
        last.push(ends[3]);
    }
    Trace { name, is: mapped.role.word(), unit, at, least, largest, first, last }
}
