//! What a recording says: as one JSON object at its end, and in sentences meanwhile.

use bench::live::watch::{Outlook, State};
use serde::Serialize;

use super::abort::Abort;

/// What `record --json` prints at the end.
#[derive(Debug, Clone, Serialize)]
pub struct Recorded {
    /// Lamp.
    pub lamp: String,
    /// Run.
    pub run: String,
    /// Variant.
    pub variant: Option<String>,
    /// Log, inside the lamp folder.
    pub log: String,
    /// Bench sheet, inside the lamp folder.
    pub sheet: String,
    /// Where the lines came from.
    pub source: String,
    /// Where the times came from, in words; `None` where no row came.
    pub time_from: Option<&'static str>,
    /// Samples written.
    pub samples_written: u64,
    /// Samples that could not be written.
    pub samples_lost: u64,
    /// Lines that held no sample.
    pub lines_left_out: u64,
    /// Samples whose time was not after the one before.
    pub samples_out_of_order: u64,
    /// Whether a run was gone on with.
    pub resumed: bool,
    /// Pause before the first sample of a run that was gone on with, s.
    pub gap_s: Option<f64>,
    /// Half a line that was cut off its end, bytes.
    pub cut_bytes: u64,
    /// Plateaus.
    pub plateaus: Vec<PlateauSeen>,
    /// Highest reading of the board sensor, degC.
    pub highest_sensor_c: Option<f64>,
    /// When to break off.
    pub abort: Option<Abort>,
    /// Samples above that.
    pub samples_above_abort: u64,
    /// Whether the last sample was above it.
    pub ended_above_abort: bool,
    /// Why it ended.
    pub ended_by: String,
    /// What happened meanwhile.
    pub notices: Vec<String>,
}

/// A plateau as it was seen while it ran.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateauSeen {
    /// Number, from 1.
    pub plateau: usize,
    /// Drive current, A, where known.
    pub drive_current_a: Option<f64>,
    /// How long it was held, s.
    pub held_s: f64,
    /// Last reading of the board sensor, degC.
    pub sensor_c: Option<f64>,
    /// What it settles to, degC; `None` where it was too short to tell.
    pub settled_c: Option<f64>,
    /// 95 % interval of that, degC.
    pub settled_interval_c: Option<[f64; 2]>,
    /// How much longer it would take, min.
    pub minutes_more: Option<f64>,
}

/// A number that is one.
pub fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

impl PlateauSeen {
    /// By the last state of a plateau and what was told of its end.
    pub fn of(state: &State, outlook: Option<&Outlook>) -> Self {
        let outlook = outlook.filter(|outlook| outlook.plateau == state.plateau);
        Self {
            plateau: state.plateau,
            drive_current_a: finite(state.drive_a),
            held_s: state.reading.time_s - state.began_s,
            sensor_c: finite(state.reading.sensor_c),
            settled_c: outlook.map(|outlook| outlook.settled_c),
            settled_interval_c: outlook.map(|outlook| outlook.interval_c),
            minutes_more: outlook.map(|outlook| outlook.minutes_more),
        }
    }
}

/// How things are, in a sentence.
pub fn answer(state: Option<&State>, outlook: Option<&Outlook>, watched: bool) -> String {
    let Some(state) = state else { return "No sample yet.".to_owned() };
    if !watched {
        return "Recording; no column is known as the board sensor, so nothing is watched.".to_owned();
    }
    let Some(sensor_c) = finite(state.reading.sensor_c) else {
        return "The board sensor gives no usable reading.".to_owned();
    };
    let place = match (state.plateau, finite(state.drive_a)) {
        (0, _) => "Lamp off".to_owned(),
        (number, Some(drive_a)) => format!("Plateau {number} at {}", amperes(drive_a)),
        (number, None) => format!("Plateau {number}"),
    };
    let rest = match outlook.filter(|outlook| outlook.plateau == state.plateau && state.plateau > 0) {
        Some(found) if found.minutes_more == 0.0 => {
            format!("settled, {:.1} +- {} degC", found.settled_c, doubt(found.doubt_k()))
        }
        Some(found) => format!(
            "settles to {:.1} +- {} degC in about {}",
            found.settled_c,
            doubt(found.doubt_k()),
            minutes(found.minutes_more)
        ),
        None if state.plateau == 0 => slope(state.slope_k_per_min),
        None => format!("{}, too early to say what it settles to", slope(state.slope_k_per_min)),
    };
    format!("{place}: {sensor_c:.1} degC, {rest}.")
}

/// A current without digits that say nothing.
fn amperes(value: f64) -> String {
    let text = format!("{value:.3}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    format!("{} A", if short.is_empty() { "0" } else { short })
}

fn doubt(value: f64) -> String {
    if value < 10.0 { format!("{:.1}", value.max(0.1)) } else { format!("{value:.0}") }
}

fn minutes(value: f64) -> String {
    match value {
        more if more < 1.0 => "1 min".to_owned(),
        more if more < 90.0 => format!("{:.0} min", more.ceil()),
        more if more < 6000.0 => format!("{:.1} h", more / 60.0),
        _ => "more than 100 h".to_owned(),
    }
}

fn slope(k_per_min: f64) -> String {
    match k_per_min {
        none if none.is_nan() => "no slope yet".to_owned(),
        still if still.abs() < 0.05 => "steady within 0.05 K/min".to_owned(),
        up if up > 0.0 => format!("rising by {up:.1} K/min"),
        down => format!("falling by {:.1} K/min", -down),
    }
}

#[cfg(test)]
mod tests {
    use bench::live::reading::Reading;

    use super::*;

    #[test]
    fn the_sentence_says_plateau_reading_end_and_time() {
        let reading = Reading { time_s: 100.0, sensor_c: 52.12, ambient_c: 22.0, drive_a: 1.05 };
        let state = State {
            reading,
            rise_k: 30.12,
            slope_k_per_min: 0.42,
            plateau: 3,
            drive_a: 1.0501,
            began_s: 0.0,
        };
        let outlook = Outlook {
            plateau: 3,
            settled_c: 53.4,
            interval_c: [53.1, 53.7],
            minutes_more: 3.2,
            begins_s: None,
        };
        assert_eq!(
            answer(Some(&state), Some(&outlook), true),
            "Plateau 3 at 1.05 A: 52.1 degC, settles to 53.4 +- 0.3 degC in about 4 min."
        );
        let early = Outlook { plateau: 2, ..outlook };
        assert!(answer(Some(&state), Some(&early), true).contains("rising by 0.4 K/min, too early"));
    }
}
