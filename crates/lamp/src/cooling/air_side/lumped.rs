//! The air side under a base of one temperature: for what-ifs, and for checks.

use super::{AirSide, AirState, Slice, strip_films};
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
    let at = |rise_k: f64| at_rise(side, back, rise_k, heat_w, ambient_k);
    let (mut low, mut high) = (0.0, HOTTEST_K);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let found = at(middle);
        if found.convection_w + found.radiation_w < heat_w { low = middle } else { high = middle }
    }
    at(high)
}

fn at_rise(side: &AirSide, back: Orientation, rise_k: f64, heat_w: f64, ambient_k: f64) -> Lumped {
    let state = side.state(back, rise_k, heat_w, ambient_k);
    let step = side.along_m / SLICES as f64;
    let slice = |k: usize| Slice {
        from_m: k as f64 * step,
        to_m: (k + 1) as f64 * step,
        width_m: side.across_m,
        rise_k,
    };
    let slices: Vec<Slice> = (0..SLICES).map(slice).collect();
    let (films, leaves_rise_k) = strip_films(side, &state, &slices);
    let convection_w = films.iter().map(|f| f * step * side.across_m * rise_k).sum();
    let room_k = ambient_k + state.inlet_rise_k;
    let radiation =
        state.radiating_area * h_radiation(1.0, ambient_k + rise_k, room_k) * (rise_k - state.inlet_rise_k);
    Lumped { rise_k, convection_w, radiation_w: radiation.max(0.0) * side.back_m2(), leaves_rise_k, state }
}
