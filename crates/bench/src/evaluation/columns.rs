//! The columns of a recording by what they are of, on rising times, outputs of sensors turned into degrees.

use std::borrow::Cow;

use lamp::as_built::Lamp;

use super::Column;
use crate::mapping::{BenchSheet, Mapped, Role};
use crate::recording::Recording;
use crate::run::degrees;

/// Columns by their roles; NaN where missing.
pub struct Columns<'a> {
    /// s from the first row, rising.
    pub time_s: Column<'a>,
    /// Board sensors.
    pub sensors: Vec<SensorColumn>,
    /// The room, degC.
    pub ambient: Option<Column<'a>>,
    /// Drive current, A.
    pub drive_a: Option<Column<'a>>,
    /// Voltages of emitters, V.
    pub voltages_v: Vec<Column<'a>>,
    /// Fan voltage, V.
    pub fan_v: Option<Column<'a>>,
}

/// A board sensor.
pub struct SensorColumn {
    /// Its name in lamp.toml.
    pub name: String,
    /// degC.
    pub temperature_c: Vec<f64>,
    /// Whether a row was out of the logger's range.
    pub saturated: Vec<bool>,
    /// Step of the logger as its readings show it, K; next to nothing where they show none.
    pub step_k: f64,
}

impl<'a> Columns<'a> {
    /// Those of a recording.
    pub fn of(sheet: &BenchSheet, recording: &'a Recording, lamp: &Lamp) -> Self {
        let (time_s, values) = recording.rising();
        let left_out =
            |row: &usize| recording.marks.duplicate.contains(*row) || recording.marks.backward.contains(*row);
        let mut found = Self {
            time_s,
            sensors: Vec::new(),
            ambient: None,
            drive_a: None,
            voltages_v: Vec::new(),
            fan_v: None,
        };
        let celsius_of = |mapped: &Mapped| degrees(sheet, mapped, recording, &values, lamp);
        for (channel, column) in recording.channels.iter().zip(&values) {
            let Some(mapped) = sheet.channels.iter().find(|mapped| mapped.column == channel.name) else {
                continue;
            };
            let column = || column.clone();
            match &mapped.role {
                Role::Sensor(name) => {
                    let Some(celsius) = celsius_of(mapped) else { continue };
                    let rows = (0..channel.values.len()).filter(|row| !left_out(row));
                    found.sensors.push(SensorColumn {
                        name: name.clone(),
                        step_k: step(&celsius),
                        temperature_c: celsius.into_owned(),
                        saturated: rows.map(|row| channel.saturated.contains(row)).collect(),
                    });
                }
                Role::Ambient => {
                    let celsius = celsius_of(mapped).map(Cow::into_owned);
                    found.ambient = found.ambient.or(celsius.map(Cow::Owned));
                }
                Role::DriveCurrent => found.drive_a = found.drive_a.or_else(|| Some(column())),
                Role::Voltage => found.voltages_v.push(column()),
                Role::FanVoltage => found.fan_v = found.fan_v.or_else(|| Some(column())),
                Role::ColdJunction(_) | Role::Other => {}
            }
        }
        found
    }
}

/// The median distance of neighbouring levels; readings of a fine logger lie as close as they may.
fn step(celsius: &[f64]) -> f64 {
    // Levels show in some of the readings as well as in millions.
    let every = celsius.len() / 200_000 + 1;
    let mut levels: Vec<f64> =
        celsius.iter().step_by(every).copied().filter(|value| value.is_finite()).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    let mut steps: Vec<f64> = levels.windows(2).map(|pair| pair[1] - pair[0]).collect();
    steps.sort_by(f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::step;

    /// Source: the definition of a 12-bit converter of 3.3 V behind 10 mV/K: 3.3 / 4096 / 0.010 K.
    #[test]
    fn the_step_of_a_converter_shows_in_its_readings() {
        let step_k = 3.3 / 4096.0 / 0.010;
        let mut readings: Vec<f64> = (0..5000).map(|i| f64::from((i * 37) % 211) * step_k).collect();
        // Levels that were never read lie between.
        readings.push(400.0 * step_k);
        assert!((step(&readings) - step_k).abs() < 1e-9, "{}", step(&readings));
        assert!(step(&[f64::NAN; 4]) == 0.0 && step(&[]) == 0.0);
    }
}
