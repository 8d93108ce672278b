//! The runs of a lamp folder: bench sheets with their logs, read and joined; and what was understood, for printing.

use std::borrow::Cow;
use std::io::Read;

use lamp::as_built::Lamp;
use lamp::findings::FindingRemark;
use lamp::project::{Folder, MemoryFolder};
use lamp::sensor_law::SensorLaw;
use serde::Serialize;

use crate::cold_junction;
use crate::log::calendar::written;
use crate::log::unit::Measured;
use crate::log::{Detection, Dialect, Wanted, open};
use crate::mapping::{BenchSheet, Mapped, Names, Role, read as read_sheet};
use crate::recording::{Recording, Statistics, held, join};
use crate::sensor::{OutputUnit, output_unit, temperature_c};

/// Folder of bench sheets and logs in a lamp folder.
pub const BENCH_FOLDER: &str = "bench";

/// A lamp folder whose logs can be read piece by piece.
pub trait LogFolder: Folder {
    /// A file's bytes in order, and its size where known; an error says in plain words why not.
    fn open(&self, path: &str) -> Result<(Box<dyn Read + '_>, Option<u64>), String>;
}

impl LogFolder for MemoryFolder {
    fn open(&self, path: &str) -> Result<(Box<dyn Read + '_>, Option<u64>), String> {
        let bytes = self.0.get(path).ok_or("there is no such file")?;
        Ok((Box::new(bytes.as_slice()), Some(bytes.len() as u64)))
    }
}

/// A run: its sheet, and what was recorded.
#[derive(Debug)]
pub struct BenchRun {
    /// Path of the sheet in the lamp folder.
    pub file: String,
    /// The sheet, where it can be used.
    pub sheet: Option<BenchSheet>,
    /// What was recorded, where the logs can be used; channels in the order of the sheet, named by its columns.
    pub recording: Option<Recording>,
    /// How each log is written.
    pub dialects: Vec<(String, Dialect)>,
    /// Everything noticed.
    pub remarks: Vec<FindingRemark>,
}

impl Names {
    /// Those of a lamp.
    #[must_use]
    pub fn of(lamp: &Lamp) -> Self {
        Self {
            variants: lamp.variants.iter().map(|variant| variant.name.clone()).collect(),
            sensors: lamp.sensors.iter().map(|sensor| sensor.name.clone()).collect(),
        }
    }
}

/// Paths of the bench sheets of a lamp folder, sorted.
///
/// # Errors
///
/// In plain words, when there is no folder `bench`.
pub fn sheets(folder: &dyn LogFolder) -> Result<Vec<String>, String> {
    let names = folder.list(BENCH_FOLDER)?;
    Ok(names
        .into_iter()
        .filter(|name| name.ends_with(".toml"))
        .map(|name| format!("{BENCH_FOLDER}/{name}"))
        .collect())
}

/// Reads a sheet and its logs.
#[must_use]
pub fn read(folder: &dyn LogFolder, file: &str, names: &Names) -> BenchRun {
    let mut run = BenchRun {
        file: file.to_owned(),
        sheet: None,
        recording: None,
        dialects: Vec::new(),
        remarks: Vec::new(),
    };
    let error = |file: &str, text: String| FindingRemark {
        severity: "error",
        file: Some(file.to_owned()),
        line: None,
        column: None,
        text,
    };
    let bytes = match folder.read(file) {
        Ok(bytes) => bytes,
        Err(why) => {
            run.remarks.push(error(file, format!("cannot be read: {why}")));
            return run;
        }
    };
    let (sheet, remarks) = read_sheet(file, &bytes, names);
    run.remarks = remarks;
    let Some(sheet) = sheet else { return run };
    let mut parts = Vec::new();
    for log in &sheet.logs {
        let (source, size) = match folder.open(log) {
            Ok(found) => found,
            Err(why) => {
                run.remarks.push(error(log, format!("cannot be read: {why}; it is named in {file}")));
                continue;
            }
        };
        let opened = match open(log, source, size, &sheet.told) {
            Ok(opened) => opened,
            Err(why) => {
                run.remarks.push(error(log, format!("cannot be read: {why}")));
                continue;
            }
        };
        run.dialects.extend(opened.dialect.clone().map(|dialect| (log.clone(), dialect)));
        let wanted = wanted(&sheet, opened.dialect.as_ref());
        let (wanted, faults): (Vec<_>, Vec<_>) = wanted.into_iter().partition(Result::is_ok);
        run.remarks.extend(faults.into_iter().filter_map(Result::err).map(|text| error(log, text)));
        if opened.remarks.iter().any(|remark| remark.severity == "error") {
            run.remarks.extend(opened.remarks);
            continue;
        }
        let wanted: Vec<(usize, Wanted)> = wanted.into_iter().flatten().collect();
        let columns: Vec<Wanted> = wanted.iter().map(|(_, wanted)| *wanted).collect();
        let Some(log_read) = opened.read(&columns) else { continue };
        let (recording, remarks) = Recording::of(log_read, sheet.rules);
        run.remarks.extend(remarks);
        if let Some(mut recording) = recording {
            for (channel, (index, _)) in recording.channels.iter_mut().zip(&wanted) {
                // Files name their columns alike or not; the sheet's name holds.
                channel.name =
                    sheet.channels.get(*index).map_or_else(String::new, |mapped| mapped.column.clone());
            }
            parts.push((log.clone(), recording));
        }
    }
    let complete = parts.len() == sheet.logs.len();
    let (whole, remarks) = join(parts);
    run.remarks.extend(remarks);
    run.recording = whole.filter(|_| complete);
    if let Some(recording) = &mut run.recording {
        leave_out_held(&sheet, recording, file, &mut run.remarks);
    }
    if let Some(recording) = &run.recording {
        units_of_roles(&sheet, recording, file, &mut run.remarks);
    }
    run.sheet = Some(sheet);
    run
}

/// The columns of a log that a sheet names, with the index of the channel; or why there is none.
fn wanted(sheet: &BenchSheet, dialect: Option<&Dialect>) -> Vec<Result<(usize, Wanted), String>> {
    let Some(dialect) = dialect else { return Vec::new() };
    sheet
        .channels
        .iter()
        .enumerate()
        .map(|(index, mapped)| {
            let column = dialect.column(&mapped.column)?;
            Ok((index, Wanted { column, unit: mapped.unit, factor: mapped.factor, range: mapped.range }))
        })
        .collect()
}

/// Leaves out what a channel of temperature was held at before it was read; told for each channel. Currents and voltages of a lamp that is off
/// stand at exactly nothing, and rightly so.
fn leave_out_held(
    sheet: &BenchSheet,
    recording: &mut Recording,
    file: &str,
    remarks: &mut Vec<FindingRemark>,
) {
    for channel in &mut recording.channels {
        let of_temperature = sheet.channels.iter().any(|mapped| {
            mapped.column == channel.name
                && matches!(mapped.role, Role::Sensor(_) | Role::Ambient | Role::ColdJunction(_))
        });
        let Some(found) = held(&channel.values).filter(|_| of_temperature) else { continue };
        channel.values.iter_mut().take(found.rows).for_each(|value| *value = f64::NAN);
        let unit = channel.unit.map_or("", |unit| unit.measured.base());
        remarks.push(FindingRemark {
            severity: "warning",
            file: Some(file.to_owned()),
            line: None,
            column: None,
            text: format!(
                "\"{}\" stands at {} {unit} over the first {} rows, and where it is steadiest afterwards {:.0} of 100 rows differ from the row \
                 before: the logger held that value before it read the channel, so these rows are left out",
                channel.name,
                (found.value * 1e6).round() / 1e6,
                found.rows,
                100.0 * found.changing
            ),
        });
    }
}

/// Whether what a channel measures fits what it is of.
fn units_of_roles(sheet: &BenchSheet, recording: &Recording, file: &str, remarks: &mut Vec<FindingRemark>) {
    for mapped in &sheet.channels {
        let Some(channel) = recording.channel(&mapped.column) else { continue };
        let needed = match mapped.role {
            Role::DriveCurrent => Measured::Current,
            Role::Voltage | Role::FanVoltage => Measured::Voltage,
            Role::Ambient | Role::ColdJunction(_) if mapped.law.is_none() => Measured::Temperature,
            Role::Ambient | Role::ColdJunction(_) | Role::Sensor(_) | Role::Other => {
                if channel.unit.is_none() && mapped.role != Role::Other {
                    remarks.push(unit_remark(file, mapped, "volts, ohms or degrees", "mV"));
                }
                continue;
            }
        };
        match channel.unit {
            None => remarks.push(unit_remark(file, mapped, needed.base(), needed.base())),
            Some(unit) if unit.measured != needed => {
                let text = format!(
                    "\"{}\" is in {}, and {} is a {}",
                    mapped.column,
                    unit.symbol,
                    mapped.role.word(),
                    needed.word()
                );
                remarks.push(FindingRemark {
                    severity: "error",
                    file: Some(file.to_owned()),
                    line: None,
                    column: None,
                    text,
                });
            }
            Some(_) => {}
        }
    }
}

fn unit_remark(file: &str, mapped: &Mapped, what: &str, example: &str) -> FindingRemark {
    FindingRemark {
        severity: "error",
        file: Some(file.to_owned()),
        line: None,
        column: None,
        text: format!(
            "nothing tells whether \"{}\" is in {what} or thousandths of it: write unit = \"{example}\" in its [[channel]]",
            mapped.column
        ),
    }
}

/// What was understood of a run; the JSON is this, field for field.
#[derive(Debug, Clone, Serialize)]
pub struct RunSummary {
    /// Name: of the sheet.
    pub run: String,
    /// One line for headings.
    pub title: String,
    /// Variant tested.
    pub variant: Option<String>,
    /// Notes.
    pub notes: Option<String>,
    /// Logs.
    pub logs: Vec<LogSummary>,
    /// When it began, by UTC or the logger's clock.
    pub start: Option<String>,
    /// Whether that is UTC.
    pub start_is_utc: bool,
    /// Rows.
    pub rows: usize,
    /// From the first row to the last, s.
    pub span_s: f64,
    /// Time between rows as a rule, s.
    pub step_s: Option<f64>,
    /// Gaps.
    pub gaps: Vec<GapSummary>,
    /// How many gaps there are; the list holds the first 100.
    pub gap_count: usize,
    /// Rows with the time of an earlier one.
    pub duplicate_rows: usize,
    /// Rows with a time before an earlier one's.
    pub backward_rows: usize,
    /// Lines that could not be read.
    pub lost_lines: u64,
    /// Room temperature given by the sheet, degC.
    pub ambient_c: Option<f64>,
    /// Fan voltage given by the sheet, V.
    pub fan_voltage_v: Option<f64>,
    /// Drive current given by the sheet, A.
    pub drive_current_a: Option<f64>,
    /// Steps given by the sheet.
    pub steps: Vec<StepSummary>,
    /// Channels in the order of the sheet.
    pub channels: Vec<ChannelSummary>,
    /// Memory of the recording, bytes.
    pub memory_bytes: usize,
    /// What was noticed.
    pub remarks: Vec<FindingRemark>,
}

/// How a log is written.
#[derive(Debug, Clone, Serialize)]
pub struct LogSummary {
    /// Path in the lamp folder.
    pub file: String,
    /// What was found out about it.
    pub detections: Vec<Detection>,
}

/// A pause in the rows.
#[derive(Debug, Clone, Serialize)]
pub struct GapSummary {
    /// When it began, s from the first row.
    pub from_s: f64,
    /// How long it was, s.
    pub length_s: f64,
}

/// A drive current that was set.
#[derive(Debug, Clone, Serialize)]
pub struct StepSummary {
    /// From the first row, s.
    pub at_s: f64,
    /// A.
    pub drive_current_a: f64,
}

/// A channel.
#[derive(Debug, Clone, Serialize)]
pub struct ChannelSummary {
    /// Column of the log.
    pub column: String,
    /// What it is of.
    pub is: &'static str,
    /// Sensor of lamp.toml.
    pub sensor: Option<String>,
    /// Unit of the values below.
    pub unit: String,
    /// Values that can be used.
    pub values: usize,
    /// Rows without a reading.
    pub missing: usize,
    /// Rows whose reading was out of range.
    pub saturated: usize,
    /// Least value.
    pub least: Option<f64>,
    /// Largest value.
    pub largest: Option<f64>,
    /// Mean.
    pub mean: Option<f64>,
    /// The same by the sensor's law, degC, where it has one and the channel is its output.
    pub least_c: Option<f64>,
    /// As `least_c`.
    pub largest_c: Option<f64>,
    /// As `least_c`.
    pub mean_c: Option<f64>,
}

/// Gaps that are listed.
const GAPS_LISTED: usize = 100;

impl BenchRun {
    /// Whether an error stands against using it.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.remarks.iter().any(|remark| remark.severity == "error")
    }

    /// What was understood.
    #[must_use]
    pub fn summary(&self, lamp: &Lamp) -> RunSummary {
        let sheet = self.sheet.as_ref();
        let empty = Recording::default();
        let recording = self.recording.as_ref().unwrap_or(&empty);
        let time = |row: usize| recording.times_s.get(row).copied().unwrap_or(0.0);
        let gaps = recording.marks.gap.iter().take(GAPS_LISTED).map(|row| {
            let from_s = recording.times_s.get(..row).unwrap_or_default().iter().copied().fold(0.0, f64::max);
            GapSummary { from_s, length_s: time(row) - from_s }
        });
        let file_name = self.file.rsplit('/').next().unwrap_or(&self.file);
        let name = sheet.map_or(file_name.trim_end_matches(".toml"), |sheet| sheet.name.as_str());
        RunSummary {
            run: name.to_owned(),
            title: sheet.map_or(name, |sheet| sheet.title.as_str()).to_owned(),
            variant: sheet.and_then(|sheet| sheet.variant.clone()),
            notes: sheet.and_then(|sheet| sheet.notes.clone()),
            logs: self
                .dialects
                .iter()
                .map(|(file, dialect)| LogSummary {
                    file: file.clone(),
                    detections: dialect.detections.clone(),
                })
                .collect(),
            start: recording.start.map(|start| written(start.seconds)),
            start_is_utc: recording.start.is_some_and(|start| start.utc),
            rows: recording.rows(),
            span_s: recording.span_s(),
            step_s: recording.step_s,
            gaps: gaps.collect(),
            gap_count: recording.marks.gap.rows(),
            duplicate_rows: recording.marks.duplicate.rows(),
            backward_rows: recording.marks.backward.rows(),
            lost_lines: recording.lost_lines,
            ambient_c: sheet.and_then(|sheet| sheet.ambient_c),
            fan_voltage_v: sheet.and_then(|sheet| sheet.fan_voltage_v),
            drive_current_a: sheet.and_then(|sheet| sheet.drive_current_a),
            steps: sheet
                .iter()
                .flat_map(|sheet| &sheet.steps)
                .map(|step| StepSummary { at_s: step.at_s, drive_current_a: step.drive_current_a })
                .collect(),
            channels: sheet
                .iter()
                .flat_map(|sheet| &sheet.channels)
                .filter_map(|mapped| channel_summary(sheet?, mapped, recording, lamp))
                .collect(),
            memory_bytes: recording.bytes(),
            remarks: self.remarks.clone(),
        }
    }
}

/// What a logger reads from a sensor with this law.
pub(crate) fn measured_by(law: SensorLaw) -> Measured {
    match output_unit(law) {
        OutputUnit::Volt => Measured::Voltage,
        OutputUnit::Ohm => Measured::Resistance,
        OutputUnit::DegreesCelsius => Measured::Temperature,
    }
}

/// A channel of a recording in degC, row by row: as it stands, or by its sensor's law, with the cold junction of each row where a column
/// holds it. `values` are those of the recording's channels, in their order. `None` where it means no temperature.
pub(crate) fn degrees<'c>(
    sheet: &BenchSheet,
    mapped: &Mapped,
    recording: &Recording,
    values: &'c [Cow<'_, [f64]>],
    lamp: &Lamp,
) -> Option<Cow<'c, [f64]>> {
    let index = recording.channels.iter().position(|channel| channel.name == mapped.column)?;
    let (measured, column) = (recording.channels.get(index)?.unit?.measured, values.get(index)?);
    if measured == Measured::Temperature {
        return Some(Cow::Borrowed(column));
    }
    let name = mapped.law.as_ref()?;
    let law = lamp.sensors.iter().find(|sensor| sensor.name == *name)?.law?;
    if measured_by(law) != measured || cold_junction::is_missing(sheet, name, law) {
        return None;
    }
    // A thermocouple by whose law a cold junction would be read has none of its own here.
    let cold = match mapped.role {
        Role::ColdJunction(_) => None,
        _ => cold_junction::channel_of(sheet, name, law),
    };
    let cold_c = match cold {
        Some(cold) => Some(degrees(sheet, cold, recording, values, lamp)?),
        None => None,
    };
    Some(Cow::Owned(cold_junction::all_celsius(law, column, cold_c.as_deref())))
}

fn channel_summary(
    sheet: &BenchSheet,
    mapped: &Mapped,
    recording: &Recording,
    lamp: &Lamp,
) -> Option<ChannelSummary> {
    let channel = recording.channel(&mapped.column)?;
    let found = channel.statistics();
    let [least_c, largest_c, mean_c] = by_law(sheet, mapped, recording, lamp, &found);
    Some(ChannelSummary {
        column: mapped.column.clone(),
        is: mapped.role.word(),
        sensor: match &mapped.role {
            Role::Sensor(name) => Some(name.clone()),
            _ => None,
        },
        unit: channel.unit.map_or(String::new(), |unit| match unit.measured {
            Measured::Other => unit.symbol.to_owned(),
            measured => measured.base().to_owned(),
        }),
        values: found.values,
        missing: found.missing,
        saturated: found.saturated,
        least: found.least,
        largest: found.largest,
        mean: found.mean,
        least_c,
        largest_c,
        mean_c,
    })
}

/// Least, largest and mean temperature of a channel by its sensor's law, degC; nothing where the law does not read it.
fn by_law(
    sheet: &BenchSheet,
    mapped: &Mapped,
    recording: &Recording,
    lamp: &Lamp,
    found: &Statistics,
) -> [Option<f64>; 3] {
    let unit = recording.channel(&mapped.column).and_then(|channel| channel.unit);
    let law = mapped
        .law
        .as_ref()
        .and_then(|name| Some((name, lamp.sensors.iter().find(|sensor| sensor.name == *name)?.law?)));
    let Some((name, law)) =
        law.filter(|(_, law)| unit.is_some_and(|unit| unit.measured == measured_by(*law)))
    else {
        return [None; 3];
    };
    if cold_junction::channel_of(sheet, name, law).is_none() {
        let at = |value: Option<f64>| temperature_c(law, value?);
        let mut ends = [at(found.least), at(found.largest)];
        // A falling output has its least at the hottest.
        if ends[0] > ends[1] {
            ends.swap(0, 1);
        }
        return [ends[0], ends[1], at(found.mean)];
    }
    // Each row has a cold junction of its own.
    let values: Vec<Cow<'_, [f64]>> =
        recording.channels.iter().map(|channel| Cow::Borrowed(channel.values.as_slice())).collect();
    let Some(celsius) = degrees(sheet, mapped, recording, &values, lamp) else { return [None; 3] };
    let known = || celsius.iter().copied().filter(|celsius| celsius.is_finite());
    let count = known().count() as f64;
    [known().reduce(f64::min), known().reduce(f64::max), (count > 0.0).then(|| known().sum::<f64>() / count)]
}
