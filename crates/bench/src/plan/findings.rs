//! What a plan says.

use serde::Serialize;

/// A plan in numbers and sentences; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanFindings {
    /// Name of the lamp.
    pub lamp: String,
    /// The answer in sentences.
    pub answers: Vec<String>,
    /// Board sensor that is read.
    pub sensor: String,
    /// Room for which readings are expected, degC.
    pub ambient_c: f64,
    /// `mirrored`, `rising` or `random`.
    pub order: &'static str,
    /// Number by which a random order comes again.
    pub seed: Option<u64>,
    /// How often each variant is mounted.
    pub mountings: usize,
    /// Each current is held so long, s.
    pub dwell_s: f64,
    /// What is left of the last approach then, K at most.
    pub settled_within_k: f64,
    /// Before the first current, without power, s.
    pub zero_s: f64,
    /// Time between samples, s.
    pub sampling_interval_s: f64,
    /// Why so.
    pub sampling_reason: String,
    /// The whole test, from the first sample to the last, cooling and mounting included, s.
    pub total_s: f64,
    /// Each variant: what it stores, what to expect, when to break off.
    pub variants: Vec<PlannedVariant>,
    /// The runs in their order.
    pub runs: Vec<PlannedRun>,
    /// What variants differ by, and whether it can be seen.
    pub differences: Vec<PlannedDifference>,
    /// What to do, in order.
    pub check_list: Vec<String>,
    /// What hurts.
    pub cautions: Vec<String>,
    /// What else there is to say.
    pub remarks: Vec<String>,
}

/// A variant of the plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedVariant {
    /// Variant.
    pub variant: String,
    /// One line about it.
    pub title: String,
    /// Heat capacity of board, bond line, heatsink and fins, J/K.
    pub heat_capacity_j_per_k: f64,
    /// Slow time constant, an estimate, s.
    pub slow_s: f64,
    /// The slowest within the tolerances, for which the dwell is, s.
    pub slow_at_most_s: f64,
    /// Fast time constant at the sensor, an estimate, s.
    pub fast_s: f64,
    /// Part of the sensor's rise that comes slowly.
    pub slow_part: f64,
    /// When to break off.
    pub abort: Option<AbortReading>,
    /// What to expect at each current.
    pub expected: Vec<Expected>,
    /// Currents that are not taken, with the reason.
    pub skipped: Vec<Skipped>,
    /// Surfaces that burn within a minute of touch at the nominal current.
    pub hot: Vec<HotSurface>,
}

/// The sensor reading at which a test is broken off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AbortReading {
    /// Sensor.
    pub sensor: String,
    /// Drive current for which it holds, A; at lower ones it is on the careful side.
    pub current_a: f64,
    /// To be kept, degC: one lamp in forty meets its first limit at a lower reading.
    pub above_c: f64,
    /// Reading of the likeliest lamp at its first limit, degC.
    pub likeliest_c: f64,
    /// Output of the sensor at `above_c`, V.
    pub output_v: Option<f64>,
    /// Its resistance there, ohm.
    pub output_ohm: Option<f64>,
    /// The limit that the likeliest lamp meets first: junction, solder or board.
    pub limit: &'static str,
    /// That limit, degC.
    pub limit_c: f64,
}

/// What to expect of a variant at a current. Bands hold 95 % of the lamps drawn from the tolerances.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// Drive current, A.
    pub current_a: f64,
    /// Settled reading of the likeliest lamp, degC.
    pub sensor_c: f64,
    /// Low end of its band, degC.
    pub low_c: f64,
    /// High end, degC.
    pub high_c: f64,
    /// The three as the sensor puts them out, V.
    pub output_v: Option<[f64; 3]>,
    /// The three as resistances, ohm.
    pub output_ohm: Option<[f64; 3]>,
    /// Hottest junction, degC.
    pub junction_c: f64,
    /// High end of its band, degC.
    pub junction_high_c: f64,
    /// Electrical power of the emitters, W.
    pub electrical_w: f64,
    /// Their heat, W.
    pub heat_w: f64,
    /// What further sensors show.
    pub others: Vec<OtherReading>,
}

/// What a further sensor is expected to show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherReading {
    /// Sensor.
    pub sensor: String,
    /// Settled reading of the likeliest lamp, degC.
    pub sensor_c: f64,
    /// Low end of its band, degC.
    pub low_c: f64,
    /// High end, degC.
    pub high_c: f64,
}

/// A current that is not taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Skipped {
    /// Drive current, A.
    pub current_a: f64,
    /// Why not.
    pub why: String,
}

/// A surface that burns.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HotSurface {
    /// Which.
    pub surface: String,
    /// Its hottest place at the nominal current, degC.
    pub hottest_c: f64,
    /// Shortest contact that burns: `1 s`, `10 s` or `1 min`.
    pub burns_within: &'static str,
}

/// One run: one board mounted once.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedRun {
    /// Number, from 1.
    pub run: usize,
    /// Name, also of its bench sheet.
    pub name: String,
    /// Variant.
    pub variant: String,
    /// Which mounting of this variant it is, from 1.
    pub mounting: usize,
    /// Duration from its first sample to its last, s.
    pub duration_s: f64,
    /// Cooling afterwards until metal may be touched, s.
    pub cooling_s: f64,
    /// Its plateaus.
    pub steps: Vec<PlannedStep>,
}

/// One plateau.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedStep {
    /// Number within the run, from 1.
    pub step: usize,
    /// Drive current, A.
    pub current_a: f64,
    /// When it is set, from the run's first sample, s.
    pub start_s: f64,
    /// How long it is held, s.
    pub dwell_s: f64,
    /// Expected settled reading, degC, with its band.
    pub sensor_c: f64,
    /// Low end, degC.
    pub low_c: f64,
    /// High end, degC.
    pub high_c: f64,
    /// Break off above, degC.
    pub abort_above_c: Option<f64>,
}

/// What two variants are expected to differ by at equal current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedDifference {
    /// The one.
    pub variant: String,
    /// The other.
    pub other: String,
    /// Drive current, A.
    pub current_a: f64,
    /// Rise of the one less that of the other, K.
    pub difference_k: f64,
    /// Low end of its band, K.
    pub low_k: f64,
    /// High end, K.
    pub high_k: f64,
    /// What sensor, logger and dwell let one tell apart, K.
    pub told_apart_k: f64,
    /// Whether the difference is larger than that.
    pub seen: bool,
}
