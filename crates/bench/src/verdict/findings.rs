//! What a verdict says.

use serde::Serialize;

use super::Change;

/// A verdict in numbers and sentences; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerdictFindings {
    /// Variant.
    pub variant: String,
    /// One line about it.
    pub title: String,
    /// Whether plateaus of the bench are in it; else the tolerances alone.
    pub fitted: bool,
    /// The current the lamp is meant to run at, A.
    pub nominal_current_a: f64,
    /// The room, degC.
    pub ambient_c: f64,
    /// The hottest room, degC.
    pub hottest_ambient_c: f64,
    /// Lamps drawn for the bands.
    pub drawn: u32,
    /// The answer in sentences.
    pub answers: Vec<String>,
    /// Whether the likeliest lamp keeps to all limits at the nominal current in the hottest room.
    pub passes: bool,
    /// Highest safe drive current against the room.
    pub safe_currents: Vec<SafeCurrent>,
    /// When the driver must throttle.
    pub throttle: Option<Throttle>,
    /// Light in the room and in the hottest one.
    pub light: Vec<LightFinding>,
    /// How long the light lasts, where ageing tests are typed into the sheet.
    pub life: Vec<LifeFinding>,
    /// The chance that a lamp built so passes.
    pub chance: Option<ChanceFinding>,
    /// What meets its limit first.
    pub weakest: Option<Weakest>,
    /// What a change buys at the hottest junction, the best first.
    pub changes: Vec<Change>,
    /// What else there is to say.
    pub remarks: Vec<String>,
}

/// A point of the curve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SafeCurrent {
    /// Room, degC.
    pub ambient_c: f64,
    /// Highest safe drive current of the likeliest lamp, A.
    pub current_a: f64,
    /// Below this one lamp in forty keeps no more, A.
    pub low_a: f64,
    /// One lamp in forty keeps more than this, A.
    pub high_a: f64,
    /// What limits it: junction, solder, board, current or runaway.
    pub limited_by: &'static str,
    /// At which emitter.
    pub emitter: Option<String>,
}

impl SafeCurrent {
    /// Whether it is that of a room, degC: rooms are told apart by half a degree.
    #[must_use]
    pub fn is_of_room(&self, ambient_c: f64) -> bool {
        (self.ambient_c - ambient_c).abs() < 0.5
    }
}

/// The sensor reading at which the driver must throttle at the nominal current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Throttle {
    /// Sensor.
    pub sensor: String,
    /// Drive current, A.
    pub current_a: f64,
    /// For the junctions alone, degC: at this reading the hottest junction of 39 lamps in 40 is at or below its limit.
    pub reading_c: f64,
    /// Reading of the likeliest lamp when its hottest junction is at the limit, degC.
    pub likeliest_c: f64,
    /// One lamp in forty reads more, degC.
    pub high_c: f64,
    /// The same for whichever of junction, solder and board meets its limit first, degC.
    pub first_limit_reading_c: Option<f64>,
    /// Which that is in the likeliest lamp.
    pub first_limit: Option<&'static str>,
    /// Output of the sensor's law at the reading to be set, V; filled by the program.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub output_v: Option<f64>,
    /// Its resistance there, ohm; filled by the program.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub output_ohm: Option<f64>,
}

impl Throttle {
    /// To be set, degC: so that whichever limit is met first is kept in 39 lamps of 40.
    #[must_use]
    pub fn to_set_c(&self) -> f64 {
        self.first_limit_reading_c.map_or(self.reading_c, |first_c| first_c.min(self.reading_c))
    }
}

/// Light at the nominal current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightFinding {
    /// Room, degC.
    pub ambient_c: f64,
    /// Light of the likeliest lamp, lm.
    pub light_lm: f64,
    /// 2.5 % give less, lm.
    pub low_lm: f64,
    /// 2.5 % give more, lm.
    pub high_lm: f64,
    /// Per watt of the emitters' electrical power, lm/W.
    pub per_watt_lm_per_w: f64,
    /// How far the hottest junction lies above the temperature at which its flux was binned, K; less than 0: cooler, and brighter.
    pub above_binning_k: f64,
    /// That temperature, degC.
    pub binning_junction_c: f64,
}

/// How long the light of the hottest emitter of a class lasts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LifeFinding {
    /// Emitter.
    pub emitter: String,
    /// Room, degC.
    pub ambient_c: f64,
    /// Its solder point, degC.
    pub solder_c: f64,
    /// Part of the light that is left, 0.7 for L70.
    pub part: f64,
    /// As reported: "54000 h", or "> 36000 h" where the tests were too short to say more.
    pub reported: String,
    /// Calculated without the limit, h, where the light falls at all.
    pub calculated_h: Option<f64>,
    /// 39 of 40 lamps last at least so long, h; never more than may be reported.
    pub low_h: Option<f64>,
    /// What must be said.
    pub remarks: Vec<String>,
}

/// The chance that a lamp passes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChanceFinding {
    /// Drive current, A.
    pub current_a: f64,
    /// Room, degC.
    pub ambient_c: f64,
    /// Drawn lamps that keep to every limit.
    pub passed: usize,
    /// All.
    pub of: usize,
    /// Part that passed, 0 to 1.
    pub part: f64,
    /// Low end of its 95 % interval.
    pub low_95: f64,
    /// High end.
    pub high_95: f64,
}

/// What meets its limit first at the nominal current in the hottest room.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weakest {
    /// Junction, solder or board.
    pub limit: &'static str,
    /// At which emitter.
    pub emitter: Option<String>,
    /// How far below its limit, K; less than 0: above.
    pub margin_k: f64,
    /// 2.5 % of lamps have less, K.
    pub low_k: f64,
    /// 2.5 % have more, K.
    pub high_k: f64,
}
