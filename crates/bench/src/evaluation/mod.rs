//! What a run says: its plateaus with the rise each settles to, its heat and resistance, what went wrong; and variants side by side
//! ([`comparing`]).
//!
//! A stretch in which the fan's voltage left its level, and what follows another change of course at constant current, is no part of the
//! plateau: the longest undisturbed part is settled, as an approach of its own.

mod columns;
pub mod comparing;
mod fan;
mod heat;
#[cfg(test)]
mod tests;

use std::borrow::Cow;

use lamp::as_built::{Lamp, SitsOn, Variant};
use serde::Serialize;

use crate::anomaly::{Anomaly, Kind, anomalies, voltage_jump};
use crate::approach::Wanted;
use crate::cold_junction;
use crate::mapping::Role;
use crate::plateau::spans::{Least, Span, by_current, by_steps, by_temperature};
use crate::plateau::{Ambient, plateaus};
use crate::run::BenchRun;
use columns::Columns;
use heat::Heat;

/// How far a room temperature that was stated once may be off, K: a room drifts so much in an evening (common practice, no source).
const STATED_AMBIENT_WITHIN_K: f64 = 1.0;
/// Below this part of the largest drive current the lamp is off.
const OFF_PART: f64 = 0.01;
/// With more of its readings out of the logger's range than this a plateau has no settled value.
const SATURATED_PART: f64 = 0.05;
/// Part of a plateau that is left out before a change of course, whose place is not known exactly.
const BEFORE_CHANGE_PART: f64 = 0.02;
/// Sensor and room thermometer may differ by this with the lamp off, K, before it is told as a warning.
const OFF_DIFFERENCE_K: f64 = 0.5;

/// What a run says; the JSON is this, field for field.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct RunFindings {
    /// Plateaus by sensor and time.
    pub plateaus: Vec<PlateauFinding>,
    /// What sensors read above the room with the lamp off.
    pub lamp_off: Vec<OffFinding>,
    /// What there is to say about the whole run.
    pub remarks: Vec<String>,
}

/// A plateau.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateauFinding {
    /// Run.
    pub run: String,
    /// Variant, where the sheet names it.
    pub variant: Option<String>,
    /// Sensor.
    pub sensor: String,
    /// Drive current, A, where known.
    pub drive_current_a: Option<f64>,
    /// Begin, s from the first row.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
    /// Begin of the part that was used, s.
    pub used_from_s: f64,
    /// Its end, s.
    pub used_to_s: f64,
    /// Room, degC: mean of the last quarter of the part used, or as stated.
    pub ambient_c: Option<f64>,
    /// Settled temperature of the sensor in that room, degC.
    pub settled_sensor_c: Option<f64>,
    /// Settled rise above the room, K.
    pub rise_k: Option<f64>,
    /// Low end of its 95 % interval, K.
    pub rise_low_k: Option<f64>,
    /// High end, K.
    pub rise_high_k: Option<f64>,
    /// Standard uncertainty of the rise, K.
    pub rise_standard_k: Option<f64>,
    /// What is left of the approach at its end, K.
    pub remaining_k: Option<f64>,
    /// Whether that is below 0.1 K.
    pub settled: bool,
    /// Time constants of the fitted approach, s, ascending.
    pub time_constants_s: Vec<f64>,
    /// Deviation of the readings from it, K rms.
    pub noise_k: Option<f64>,
    /// The fitted approach as drawn: time, s from the first row, and temperature of the sensor, degC.
    #[serde(skip)]
    pub fitted: Vec<(f64, f64)>,
    /// How much longer to hold until it is, min.
    pub minutes_more: Option<f64>,
    /// Heat, W.
    pub heat_w: Option<f64>,
    /// Half its 95 % interval, W.
    pub heat_doubt_w: Option<f64>,
    /// Standard uncertainty of the heat that a board with the same emitters and meter does not share, W.
    #[serde(skip)]
    pub heat_own_standard_w: f64,
    /// Where the heat is from: "measured voltage" or "emitter sheet".
    pub heat_from: Option<&'static str>,
    /// Thermal resistance from board to ambient, K/W of heat.
    pub resistance_k_per_w: Option<f64>,
    /// Half its 95 % interval, K/W.
    pub resistance_doubt_k_per_w: Option<f64>,
    /// Whether the settled temperature is above the board's limit.
    pub above_board_limit: bool,
    /// When it was begun, h after 1970 by the logger's clock or UTC, where known.
    #[serde(skip)]
    pub begun_h: Option<f64>,
    /// What went wrong.
    pub anomalies: Vec<AnomalyFinding>,
    /// What else there is to say.
    pub remarks: Vec<String>,
}

impl PlateauFinding {
    /// Half the 95 % interval of the rise, the wider side, K.
    #[must_use]
    pub fn rise_doubt_k(&self) -> Option<f64> {
        let (rise, low, high) = (self.rise_k?, self.rise_low_k?, self.rise_high_k?);
        Some((rise - low).max(high - rise))
    }
}

/// Something that went wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnomalyFinding {
    /// What kind.
    pub kind: &'static str,
    /// When, s from the first row.
    pub at_s: f64,
    /// What was seen, what it may mean, what to do.
    pub text: String,
}

/// A sensor with the lamp off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OffFinding {
    /// Run.
    pub run: String,
    /// Sensor.
    pub sensor: String,
    /// Begin, s from the first row.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
    /// Sensor less room, median of the later half, K.
    pub above_ambient_k: f64,
    /// How far sensor and room thermometer may differ by that, K: the lamp follows a room that changed by `d` late by 0 to `d`.
    pub error_limit_k: f64,
    /// In words.
    pub text: String,
}

/// What kinds of trouble are called.
#[must_use]
pub fn kind_word(kind: Kind) -> &'static str {
    match kind {
        Kind::StepAtConstantCurrent => "change at constant current",
        Kind::FanLoss => "fan loss",
        Kind::RisingSlope => "rising slope",
        Kind::EmitterLetsGo => "emitter lets go",
        Kind::Saturation => "saturation",
    }
}

/// Evaluates a run of a lamp. Nothing is found in a run with errors.
#[must_use]
pub fn evaluate(run: &BenchRun, lamp: &Lamp) -> RunFindings {
    let mut found = RunFindings::default();
    let (Some(sheet), Some(recording), false) = (&run.sheet, &run.recording, run.has_errors()) else {
        return found;
    };
    let columns = Columns::of(sheet, recording, lamp);
    let variant =
        sheet.variant.as_ref().and_then(|name| lamp.variants.iter().find(|variant| variant.name == *name));
    let named = sheet.channels.iter().filter_map(|mapped| match &mapped.role {
        Role::Sensor(name) => Some((name, &mapped.column)),
        _ => None,
    });
    for (name, column) in named {
        let law = lamp.sensors.iter().find(|sensor| sensor.name == *name).and_then(|sensor| sensor.law);
        if columns.sensors.iter().any(|sensor| sensor.name == *name) {
            continue;
        }
        if law.is_some_and(|law| cold_junction::is_missing(sheet, name, law)) {
            found.remarks.push(format!(
                "{name} is a thermocouple and nothing tells the temperature of its cold junction, so nothing is settled by it: name its column \
                 (is = \"cold junction\"), or write cold_junction = \"22 degC\" in its [[sensor]] of lamp.toml"
            ));
        } else {
            found.remarks.push(format!(
                "column \"{column}\" gives no temperature of {name}, so nothing is settled by it: the sensor needs its law (kind = ...) in \
                 lamp.toml and a column of what it puts out, or a column in degC"
            ));
        }
    }
    if !sheet.channels.iter().any(|mapped| matches!(mapped.role, Role::Sensor(_))) {
        found.remarks.push("no column is a board sensor (is = \"sensor\"), so nothing is settled".to_owned());
    }
    let ambient = match (&columns.ambient, sheet.ambient_c) {
        (Some(column), _) => Some(Ambient::Logged(column)),
        (None, Some(celsius)) => Some(Ambient::Stated { celsius, within_k: STATED_AMBIENT_WITHIN_K }),
        (None, None) => None,
    };
    let Some(ambient) = ambient else {
        if !columns.sensors.is_empty() {
            found.remarks.push(
                "neither a column nor the sheet tells the room's temperature, so there is no rise to count: name the column \
                 (is = \"ambient\"), or write ambient = \"22 degC\" in [run]"
                    .to_owned(),
            );
        }
        return found;
    };
    let begun_h = |span: &Span| recording.start.map(|start| (start.seconds + span.begin_s) / 3600.0);
    for sensor in &columns.sensors {
        let one = OfSensor {
            run: &sheet.name,
            variant_name: sheet.variant.as_deref(),
            variant,
            lamp,
            columns: &columns,
            sensor: &sensor.name,
            temperature_c: &sensor.temperature_c,
            saturated: &sensor.saturated,
            step_k: sensor.step_k,
            ambient,
        };
        let steps: Vec<(f64, f64)> = if sheet.steps.is_empty() {
            sheet.drive_current_a.iter().map(|current| (0.0, *current)).collect()
        } else {
            sheet.steps.iter().map(|step| (step.at_s, step.drive_current_a)).collect()
        };
        let least = Least::default();
        let spans = match &columns.drive_a {
            Some(drive_a) => by_current(&columns.time_s, drive_a, &least),
            None if !steps.is_empty() => by_steps(&columns.time_s, &steps, &least),
            None => by_temperature(&columns.time_s, &sensor.temperature_c, &least),
        };
        let largest = spans.iter().filter_map(|span| span.current_a).map(f64::abs).fold(0.0, f64::max);
        for span in &spans {
            let off = span.current_a.is_some_and(|current| current.abs() <= OFF_PART * largest);
            if off {
                found.lamp_off.extend(one.off(span));
            } else {
                found.plateaus.push(one.plateau(span, begun_h(span)));
            }
        }
        if spans.is_empty() {
            found.remarks.push(format!(
                "{}: no current was held for {:.0} s or longer, so there is no plateau",
                sensor.name, least.dwell_s
            ));
        }
    }
    found
}

/// What the plateaus of one sensor have in common.
struct OfSensor<'a> {
    run: &'a str,
    variant_name: Option<&'a str>,
    variant: Option<&'a Variant>,
    lamp: &'a Lamp,
    columns: &'a Columns<'a>,
    sensor: &'a str,
    temperature_c: &'a [f64],
    saturated: &'a [bool],
    step_k: f64,
    ambient: Ambient<'a>,
}

impl OfSensor<'_> {
    fn plateau(&self, span: &Span, begun_h: Option<f64>) -> PlateauFinding {
        let (used, trouble) = self.undisturbed(span);
        let mut finding = PlateauFinding {
            run: self.run.to_owned(),
            variant: self.variant_name.map(str::to_owned),
            sensor: self.sensor.to_owned(),
            drive_current_a: span.current_a,
            from_s: span.begin_s,
            to_s: span.end_s,
            used_from_s: used.begin_s,
            used_to_s: used.end_s,
            ambient_c: self.ambient_late_c(&used),
            settled_sensor_c: None,
            rise_k: None,
            rise_low_k: None,
            rise_high_k: None,
            rise_standard_k: None,
            remaining_k: None,
            time_constants_s: Vec::new(),
            noise_k: None,
            fitted: Vec::new(),
            settled: false,
            minutes_more: None,
            heat_w: None,
            heat_doubt_w: None,
            heat_own_standard_w: 0.0,
            heat_from: None,
            resistance_k_per_w: None,
            resistance_doubt_k_per_w: None,
            above_board_limit: false,
            begun_h,
            anomalies: trouble.iter().map(AnomalyFinding::of).collect(),
            remarks: Vec::new(),
        };
        let (out, all) = self.out_of_range(&used);
        if out > 0 {
            finding
                .remarks
                .push(format!("{out} of {all} readings are out of the logger's range and left out"));
        }
        // A value from readings that stop at an end, or from a course that has no end, would be none.
        let worthless = trouble.iter().any(|one| matches!(one.kind, Kind::Saturation | Kind::RisingSlope));
        if worthless || out as f64 > SATURATED_PART * all as f64 {
            finding.remarks.push("no settled value is told for this plateau".to_owned());
            return finding;
        }
        if used != *span {
            finding.remarks.push(format!(
                "only {:.0} to {:.0} min after the step were used",
                (used.begin_s - span.begin_s) / 60.0,
                (used.end_s - span.begin_s) / 60.0
            ));
        }
        let wanted = Wanted { step_k: self.step_k, ..Wanted::default() };
        let settled = plateaus(&self.columns.time_s, self.temperature_c, self.ambient, &[used], &wanted);
        let Some(plateau) = settled.first() else { return finding };
        finding.remarks.extend(plateau.remarks.iter().cloned());
        let (Ok(rise), Some([low, high])) = (&plateau.rise, plateau.interval_k()) else { return finding };
        finding.rise_k = Some(rise.value);
        (finding.rise_low_k, finding.rise_high_k) = (Some(low), Some(high));
        finding.rise_standard_k = plateau.standard_k();
        finding.remaining_k = Some(rise.remaining_k);
        finding.time_constants_s.clone_from(&rise.time_constants_s);
        finding.noise_k = Some(rise.noise_k);
        finding.fitted.clone_from(&rise.curve);
        finding.settled = rise.is_settled();
        finding.minutes_more = Some(rise.minutes_more).filter(|more| more.is_finite());
        finding.settled_sensor_c = finding.ambient_c.map(|ambient| ambient + rise.value);
        let on_board = |s: &lamp::as_built::Sensor| s.on == SitsOn::Board || s.name != self.sensor;
        let limit_c = self.lamp.board_limit_c.filter(|_| self.lamp.sensors.iter().all(on_board));
        if let (Some(limit_c), Some(celsius)) = (limit_c, finding.settled_sensor_c) {
            finding.above_board_limit = celsius > limit_c;
            if celsius > limit_c {
                finding.remarks.push(format!(
                    "the settled temperature, {celsius:.1} degC, is above the board's limit of {limit_c} degC: lower the current or improve \
                     the cooling"
                ));
            }
        }
        self.add_heat(&mut finding, &used);
        finding
    }

    /// Heat and resistance, where a variant and a current are known.
    fn add_heat(&self, finding: &mut PlateauFinding, used: &Span) {
        let (Some(variant), Some(current_a), Some(celsius), Some(rise_k)) =
            (self.variant, finding.drive_current_a, finding.settled_sensor_c, finding.rise_k)
        else {
            return;
        };
        let voltages: Vec<f64> =
            self.columns.voltages_v.iter().filter_map(|column| late_mean(column, used)).collect();
        let Some(Heat { heat_w, standard_w, own_standard_w, measured, misfit }) =
            heat::heat(variant, current_a, celsius, &voltages)
        else {
            return;
        };
        if misfit {
            let seen: Vec<String> = voltages.iter().map(|v| format!("{v:.2} V")).collect();
            finding.remarks.push(format!(
                "the measured voltage ({}) is neither that of a string nor of one emitter by the sheets, so the heat is the sheets'",
                seen.join(", ")
            ));
        }
        let resistance = rise_k / heat_w;
        let of_rise = finding.rise_doubt_k().unwrap_or(0.0) / heat_w;
        finding.heat_w = Some(heat_w);
        finding.heat_doubt_w = Some(1.96 * standard_w);
        finding.heat_own_standard_w = own_standard_w;
        finding.heat_from = Some(if measured { "measured voltage" } else { "emitter sheet" });
        finding.resistance_k_per_w = Some(resistance);
        finding.resistance_doubt_k_per_w = Some(of_rise.hypot(resistance * 1.96 * standard_w / heat_w));
    }

    /// The longest part of a plateau that nothing disturbed, and what disturbed the rest.
    fn undisturbed(&self, span: &Span) -> (Span, Vec<Anomaly>) {
        let time_s = &self.columns.time_s;
        let least = Least::default();
        let mut trouble = Vec::new();
        let mut parts = Vec::new();
        let mut first = span.first;
        let faults = self.columns.fan_v.as_ref().map(|fan_v| fan::faults(time_s, fan_v, span));
        for fault in faults.unwrap_or_default() {
            parts.extend(part(time_s, span, first, fault.first.checked_sub(1)));
            first = fault.last + 1;
            trouble.push(fault.anomaly);
        }
        parts.extend(part(time_s, span, first, Some(span.last)));
        let mut best: Option<Span> = None;
        for candidate in parts.into_iter().filter(|part| part.end_s - part.begin_s >= least.dwell_s) {
            let ambient = match self.ambient {
                Ambient::Logged(column) => Some(column),
                Ambient::Stated { .. } => None,
            };
            let mut voltages = self.columns.voltages_v.iter();
            let first_v = voltages.next().map(AsRef::as_ref);
            let mut here = anomalies(time_s, self.temperature_c, ambient, first_v, &candidate, &least);
            here.extend(voltages.filter_map(|column| {
                let range = candidate.first..=candidate.last;
                voltage_jump(time_s.get(range.clone())?, column.get(range)?)
            }));
            here.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
            let change = here.iter().find(|one| {
                matches!(one.kind, Kind::StepAtConstantCurrent | Kind::FanLoss | Kind::EmitterLetsGo)
            });
            let until_s = change.map_or(candidate.end_s, |change| {
                change.time_s - BEFORE_CHANGE_PART * (candidate.end_s - candidate.begin_s)
            });
            let last = (candidate.first..=candidate.last).rev().find(|&i| time_s[i] <= until_s);
            let kept = part(time_s, &candidate, candidate.first, last);
            trouble.extend(here);
            let length = |span: &Span| span.end_s - span.begin_s;
            best = match (best, kept) {
                (Some(best), Some(kept)) if length(&best) >= length(&kept) => Some(best),
                (best, kept) => kept.or(best),
            };
        }
        trouble.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
        (best.unwrap_or(*span), trouble)
    }

    /// Readings of a part that are out of the logger's range, and all of it.
    fn out_of_range(&self, used: &Span) -> (usize, usize) {
        let rows = self.saturated.get(used.first..=used.last).unwrap_or_default();
        (rows.iter().filter(|out| **out).count(), rows.len())
    }

    fn ambient_late_c(&self, used: &Span) -> Option<f64> {
        match self.ambient {
            Ambient::Logged(column) => late_mean(column, used),
            Ambient::Stated { celsius, .. } => Some(celsius),
        }
    }

    /// What sensor and room thermometer differ by with the lamp off; only before it was first lit the lamp is at the room's temperature.
    fn off(&self, span: &Span) -> Option<OffFinding> {
        if span.first > 0 {
            return None;
        }
        let middle = usize::midpoint(span.first, span.last);
        let changed_k = match self.ambient {
            Ambient::Logged(column) => {
                let early = Span { last: span.first + (span.last - span.first) / 10, ..*span };
                late_mean(column, span)? - late_mean(column, &early)?
            }
            Ambient::Stated { .. } => 0.0,
        };
        let mut above: Vec<f64> = (middle..=span.last)
            .filter_map(|i| {
                let room = match self.ambient {
                    Ambient::Logged(column) => *column.get(i)?,
                    Ambient::Stated { celsius, .. } => celsius,
                };
                Some(self.temperature_c.get(i)? - room)
            })
            .filter(|above| above.is_finite())
            .collect();
        above.sort_by(f64::total_cmp);
        let above_ambient_k = *above.get(above.len() / 2)?;
        let means = if above_ambient_k.abs() > OFF_DIFFERENCE_K {
            "that much is in every rise below: let the lamp cool longer before the test, put the room's thermometer where the lamp draws its \
             air, or compare both thermometers side by side"
        } else {
            "they agree"
        };
        let text = format!(
            "Run {}: with the lamp off, before the first current, {} and the room's thermometer differed by {:.1} K: {means}",
            self.run,
            self.sensor,
            above_ambient_k.abs()
        );
        Some(OffFinding {
            run: self.run.to_owned(),
            sensor: self.sensor.to_owned(),
            from_s: span.begin_s,
            to_s: span.end_s,
            above_ambient_k,
            error_limit_k: above_ambient_k.abs().max((above_ambient_k + changed_k).abs()),
            text,
        })
    }
}

impl AnomalyFinding {
    fn of(anomaly: &Anomaly) -> Self {
        Self { kind: kind_word(anomaly.kind), at_s: anomaly.time_s, text: anomaly.text.clone() }
    }
}

/// A part of a plateau, from a sample to another; `None` where nothing is left.
fn part(time_s: &[f64], whole: &Span, first: usize, last: Option<usize>) -> Option<Span> {
    let last = last.filter(|last| *last >= first)?;
    if (first, last) == (whole.first, whole.last) {
        return Some(*whole);
    }
    let begin_s = *time_s.get(first)?;
    // Only the plateau's own begin lies between two samples.
    let begin_doubt_s = if first == whole.first { whole.begin_doubt_s } else { 0.0 };
    Some(Span { first, last, begin_s, begin_doubt_s, end_s: *time_s.get(last)?, current_a: whole.current_a })
}

/// Mean of a column over the last quarter of a part; `None` where nothing was read.
fn late_mean(column: &[f64], used: &Span) -> Option<f64> {
    let from = used.last - (used.last - used.first) / 4;
    let known: Vec<f64> =
        column.get(from..=used.last)?.iter().copied().filter(|value| value.is_finite()).collect();
    (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
}

/// A column as the evaluation sees it: borrowed where its values are used as they stand.
type Column<'a> = Cow<'a, [f64]>;
