//! What a recorded row says: board temperature, room, drive current.

use lamp::as_built::Lamp;
use lamp::sensor_law::SensorLaw;

use super::form::{Form, Row};
use crate::cold_junction::{celsius, channel_of};
use crate::log::unit::{Measured, Unit};
use crate::mapping::{BenchSheet, Mapped, Role};
use crate::run::measured_by;

/// A row in the quantities of the bench test; NaN where there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Seconds from 1970-01-01 by the row's own clock.
    pub time_s: f64,
    /// Hottest board sensor, degC.
    pub sensor_c: f64,
    /// The room, degC.
    pub ambient_c: f64,
    /// Drive current, A.
    pub drive_a: f64,
}

/// A column that is looked at.
#[derive(Debug, Clone, Copy)]
struct Looked {
    column: usize,
    unit: Unit,
    factor: f64,
    range: Option<[f64; 2]>,
    law: Option<SensorLaw>,
}

/// Turns rows into readings.
#[derive(Debug, Clone, Default)]
pub struct Reader {
    /// Each with its cold junction, where a column holds it.
    sensors: Vec<(Looked, Option<Looked>)>,
    ambient: Option<Looked>,
    drive: Option<Looked>,
    ambient_c: Option<f64>,
    drive_a: Option<f64>,
    /// What cannot be watched, and why.
    pub remarks: Vec<String>,
}

impl Reader {
    /// By a bench sheet whose columns are those of the form.
    #[must_use]
    pub fn new(sheet: &BenchSheet, form: &Form, lamp: &Lamp) -> Self {
        let mut reader =
            Self { ambient_c: sheet.ambient_c, drive_a: sheet.drive_current_a, ..Self::default() };
        for mapped in &sheet.channels {
            let found = match &mapped.role {
                Role::Sensor(_) | Role::Ambient | Role::DriveCurrent => looked(mapped, form, lamp),
                _ => continue,
            };
            match (found, &mapped.role) {
                (Err(why), _) => reader.remarks.push(why),
                (Ok(column), Role::Sensor(name)) => {
                    let cold = column.law.and_then(|law| channel_of(sheet, name, law));
                    match cold.map(|cold| looked(cold, form, lamp)).transpose() {
                        Ok(cold) => reader.sensors.push((column, cold)),
                        Err(why) => reader.remarks.push(why),
                    }
                }
                (Ok(column), Role::Ambient) => reader.ambient = reader.ambient.or(Some(column)),
                (Ok(column), _) => reader.drive = reader.drive.or(Some(column)),
            }
        }
        reader
    }

    /// Whether a board sensor is watched.
    #[must_use]
    pub fn has_sensor(&self) -> bool {
        !self.sensors.is_empty()
    }

    /// Whether the drive current is known.
    #[must_use]
    pub fn has_drive(&self) -> bool {
        self.drive.is_some() || self.drive_a.is_some()
    }

    /// What a row says.
    #[must_use]
    pub fn read(&self, row: &Row) -> Reading {
        let hottest = self
            .sensors
            .iter()
            .map(|(sensor, cold)| sensor.of_with(row, cold.map(|cold| cold.of(row))))
            .fold(f64::NAN, f64::max);
        Reading {
            time_s: row.time.seconds,
            sensor_c: hottest,
            ambient_c: self.ambient.map_or(self.ambient_c.unwrap_or(f64::NAN), |column| column.of(row)),
            drive_a: self.drive.map_or(self.drive_a.unwrap_or(f64::NAN), |column| column.of(row)),
        }
    }
}

impl Looked {
    fn of(&self, row: &Row) -> f64 {
        self.of_with(row, None)
    }

    /// With the cold junction of the row, degC, where a column holds it.
    fn of_with(&self, row: &Row, cold_c: Option<f64>) -> f64 {
        let read = row.values.get(self.column).copied().unwrap_or(f64::NAN) * self.factor;
        let value = self.unit.to_base(read);
        if self.range.is_some_and(|[low, high]| value <= low || value >= high) {
            return f64::NAN;
        }
        self.law.map_or(value, |law| celsius(law, value, cold_c))
    }
}

fn looked(mapped: &Mapped, form: &Form, lamp: &Lamp) -> Result<Looked, String> {
    let column = form.dialect.column(&mapped.column)?;
    let named = form.dialect.columns.get(column).and_then(|head| head.unit);
    let is = mapped.role.word();
    let unit = mapped.unit.or(named).ok_or_else(|| {
        format!(
            "nothing tells the unit of \"{}\" ({is}), so it is recorded and not watched; write it in the bench sheet",
            mapped.column
        )
    })?;
    let law = mapped
        .law
        .as_ref()
        .and_then(|name| lamp.sensors.iter().find(|sensor| sensor.name == *name)?.law)
        .filter(|law| unit.measured != Measured::Temperature && measured_by(*law) == unit.measured);
    let wanted = if matches!(mapped.role, Role::DriveCurrent) {
        unit.measured == Measured::Current
    } else {
        unit.measured == Measured::Temperature || law.is_some()
    };
    if !wanted {
        return Err(format!(
            "\"{}\" is in {}, and no sensor law of lamp.toml turns that into what it is of ({is}); it is recorded and not watched",
            mapped.column, unit.symbol
        ));
    }
    Ok(Looked { column, unit, factor: mapped.factor, range: mapped.range, law })
}
