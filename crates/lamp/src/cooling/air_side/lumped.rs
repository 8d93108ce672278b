//! The air side under a base of one temperature, for checks; how much a fan's air warms.

use super::{AirSide, AirState, passage};
use crate::cooling::air::air;
use crate::cooling::natural_convection::Orientation;
use crate::cooling::radiation::h_radiation;

/// Slices along the channels.
const SLICES: usize = 40;
/// Hottest base looked for, K above the room.
const HOTTEST_K: f64 = 2000.0;

/// A heatsink under a base of one temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Lumped {
    /// Back of the base above the room, K.
    pub rise_k: f64,
    /// Heat to the air, W.
    pub convection_w: f64,
    /// Heat radiated, W.
    pub radiation_w: f64,
    /// Air that leaves the channels, K above the room.
    pub leaves_rise_k: f64,
    /// The rest.
    pub state: AirState,
}

/// The base's rise at which `heat_w` leaves by its back; the hottest looked for when none is enough.
#[must_use]
pub fn lumped(side: &AirSide, back: Orientation, heat_w: f64, ambient_k: f64) -> Lumped {
    let at = |rise_k: f64| {
        let state = side.state(back, rise_k, ambient_k);
        let (convection_w, radiation_w, leaves_rise_k) = heat_at(side, &state, rise_k, ambient_k);
        Lumped { rise_k, convection_w, radiation_w, leaves_rise_k, state }
    };
    let (mut low, mut high) = (0.0, HOTTEST_K);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        let found = at(middle);
        if found.convection_w + found.radiation_w < heat_w { low = middle } else { high = middle }
    }
    at(high)
}

/// Heat by convection and by radiation, W, from a back of one temperature, and the rise of the air that leaves, K.
pub(super) fn heat_at(side: &AirSide, state: &AirState, rise_k: f64, ambient_k: f64) -> (f64, f64, f64) {
    let step = side.along_m / SLICES as f64;
    let spans: Vec<(f64, f64)> = (0..SLICES).map(|k| (k as f64 * step, (k + 1) as f64 * step)).collect();
    let (films, leaves_rise_k) = passage(side, state, &spans).films(side.across_m, &[rise_k; SLICES]);
    let convection_w = films.iter().map(|f| f * step * side.across_m * rise_k).sum();
    let room_k = ambient_k + state.inlet_rise_k;
    let radiation =
        state.radiating_area * h_radiation(1.0, ambient_k + rise_k, room_k) * (rise_k - state.inlet_rise_k);
    (convection_w, radiation.max(0.0) * side.back_m2(), leaves_rise_k)
}

/// By how much a fan's air warms on its way, K, when it takes up this heat, W, from a base at this rise over the room, K: to the base's
/// temperature at the most, for of a flow so small natural convection carries the rest. `None` where no fan turns.
#[must_use]
pub fn warming(state: &AirState, convection_w: f64, base_rise_k: f64) -> Option<f64> {
    let fan = state.fan.as_ref().filter(|fan| !fan.stands && fan.flow_m3_per_s > 0.0)?;
    let a = air(state.film_air_k);
    let warmed_k = convection_w / (a.density_kg_per_m3 * a.cp_j_per_kg_k * fan.flow_m3_per_s);
    Some(warmed_k.min((base_rise_k - state.inlet_rise_k).max(0.0)))
}
