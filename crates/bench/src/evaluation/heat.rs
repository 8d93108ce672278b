//! The heat of a variant's emitters on a plateau: electrical power less light, by conservation of energy.
//!
//! The light is the emitter sheet's. The electrical power is the measured voltage's where a voltage column fits a string or an emitter of
//! the variant, else the sheet's. Junctions are taken at the sensor's temperature and above it by their own resistance, which matters
//! little: some hundredths of the light for 20 K.

use lamp::as_built::{PlacedEmitter, Variant};
use lamp::emitter_physics::{EmitterState, emitter_state, real_junction_to_solder_k_per_w};

/// A measured voltage belongs to a string or an emitter when it is within this part of the sheet's: emitters of one class spread less.
const FITS: f64 = 0.2;
/// Standard uncertainty of a measured electrical power, as a part (common practice of a hand-held meter, no source).
const METER_PART: f64 = 0.005;
/// Standard uncertainty of power in emitters whose string was not measured, as a part (common practice, no source).
const UNMEASURED_PART: f64 = 0.01;
/// Standard uncertainty of the sheet's light, as a part: flux within 7 % of its bin (common practice, no source), its curves besides.
const LIGHT_PART: f64 = 0.05;
/// Least standard uncertainty of the sheet's forward voltage, as a part, where the sheet states no tolerance (common practice, no source).
const SHEET_PART: f64 = 0.02;

/// Standard uncertainty of the light of one board's emitters against another's of the same class, as a part of it: emitters of one bin
/// within 5 %, several to a board (common practice, no source).
const BOARD_LIGHT_PART: f64 = 0.02;

/// Heat with its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heat {
    /// W.
    pub heat_w: f64,
    /// Its standard uncertainty, W.
    pub standard_w: f64,
    /// The part of it that another board with the same emitters and meter does not share, W.
    pub own_standard_w: f64,
    /// Whether the voltage was measured.
    pub measured: bool,
    /// Whether a voltage was given that fits nothing of the variant.
    pub misfit: bool,
}

/// Heat at a drive current (A) and a sensor temperature (degC), with the voltages that were measured, V. `None` without emitters or
/// without current.
#[must_use]
pub fn heat(variant: &Variant, current_a: f64, sensor_c: f64, voltages_v: &[f64]) -> Option<Heat> {
    let states: Vec<EmitterState> =
        variant.emitters.iter().map(|emitter| state(emitter, current_a, sensor_c)).collect();
    let electrical_w: f64 = states.iter().map(|state| state.electrical_w).sum();
    let radiant_w: f64 = states.iter().map(|state| state.radiant_w).sum();
    if !(electrical_w > 0.0 && current_a > 0.0 && sensor_c.is_finite()) {
        return None;
    }
    let paths = paths(variant, current_a, &states);
    let fitting: Vec<(f64, f64)> = voltages_v
        .iter()
        .filter_map(|measured_v| {
            let part = |path: &(f64, f64)| measured_v / path.0;
            let off = |path: &&(f64, f64)| part(path).ln().abs();
            let nearest =
                paths.iter().filter(|path| path.0 > 0.0).min_by(|a, b| off(a).total_cmp(&off(b)))?;
            ((part(nearest) - 1.0).abs() <= FITS).then(|| (part(nearest), nearest.1))
        })
        .collect();
    let light_w = LIGHT_PART * radiant_w;
    let misfit = fitting.is_empty() && !voltages_v.is_empty();
    let (power_w, power_standard_w, own_power_w, measured) = if fitting.is_empty() {
        let tolerance_w: f64 = variant
            .emitters
            .iter()
            .map(|e| e.sheet.forward_v_tolerance_v / 3f64.sqrt() * e.current_share * current_a)
            .sum();
        let own_w = tolerance_w / (states.len() as f64).sqrt();
        (
            electrical_w,
            tolerance_w.max(SHEET_PART * electrical_w),
            own_w.max(UNMEASURED_PART * electrical_w),
            false,
        )
    } else {
        let part = fitting.iter().map(|(part, _)| part).sum::<f64>() / fitting.len() as f64;
        let power_w = part * electrical_w;
        let seen = (fitting.iter().map(|(_, power)| power).sum::<f64>() / electrical_w).min(1.0);
        let own_w = power_w * UNMEASURED_PART * (1.0 - seen);
        (power_w, own_w.hypot(METER_PART * power_w), own_w, true)
    };
    let heat_w = power_w - radiant_w;
    (heat_w > 0.0).then(|| Heat {
        heat_w,
        standard_w: power_standard_w.hypot(light_w),
        own_standard_w: own_power_w.hypot(BOARD_LIGHT_PART * radiant_w),
        measured,
        misfit,
    })
}

/// Voltage, V, and power, W, by the sheets, of what a voltmeter may have been connected to: each string, and one emitter.
fn paths(variant: &Variant, current_a: f64, states: &[EmitterState]) -> Vec<(f64, f64)> {
    let strings = variant.circuit.iter().flat_map(|circuit| &circuit.strings).map(|string| {
        let entrance = string.part.entrance();
        let share: f64 =
            entrance.iter().filter_map(|e| variant.emitters.get(*e)).map(|e| e.current_share).sum();
        let own = string.emitters.iter().filter_map(|e| states.get(*e));
        let power_w: f64 = own.map(|state| state.electrical_w).sum();
        (power_w / (share * current_a).max(1e-12), power_w)
    });
    let single = states.first().map(|state| (state.forward_v, state.electrical_w));
    strings.chain(single).collect()
}

/// Junction and heat together; three rounds suffice, for a kelvin changes the heat by a thousandth.
fn state(emitter: &PlacedEmitter, current_a: f64, sensor_c: f64) -> EmitterState {
    let own_a = emitter.current_share * current_a;
    let k_per_w = real_junction_to_solder_k_per_w(&emitter.sheet);
    (0..3).fold(emitter_state(&emitter.sheet, own_a, sensor_c), |state, _| {
        emitter_state(&emitter.sheet, own_a, sensor_c + k_per_w * state.heat_w)
    })
}
