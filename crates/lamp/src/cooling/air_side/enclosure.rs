//! The air inside a housing against the room.

use super::lumped::heat_at;
use super::{AirSide, AirState, Housing};
use crate::cooling::air::air;
use crate::cooling::openings::flow_chimney_two_openings;

/// Halvings of the interval in which the air inside is sought.
const HALVINGS: usize = 40;

/// Area of one opening without loss but its velocity head that passes as much as all vents in series, m².
fn passing_m2(side: &AirSide) -> f64 {
    let inverse: f64 = side.vents.iter().map(|v| v.loss.max(1e-3) / v.free_area_m2().max(1e-9).powi(2)).sum();
    if inverse > 0.0 { inverse.powf(-0.5) } else { 0.0 }
}

/// Heat out of the housing by its walls and with the air through its vents, W, when the mixed air inside is warmer than the room:
/// `U A dT` and `rho cp V dT`; `None` without a housing or without warm air in it.
#[must_use]
pub fn out_of_the_housing(side: &AirSide, state: &AirState, ambient_k: f64) -> Option<(f64, f64)> {
    let rise = state.inlet_rise_k;
    let housing = side.housing.as_ref().filter(|_| rise > 0.0)?;
    Some((housing.walls_w(rise), draught_w(rise, state.draught_m3_per_s, ambient_k)))
}

/// Heat that air of this rise over the room carries, W.
fn draught_w(rise_k: f64, flow_m3_per_s: f64, ambient_k: f64) -> f64 {
    let a = air(ambient_k + rise_k);
    a.density_kg_per_m3 * a.cp_j_per_kg_k * flow_m3_per_s * rise_k
}

/// The state in which the mixed air inside takes up from the fins what leaves with the draught and through the walls,
/// `Q = (rho cp V + U A) (Ti - Ta)`; `at` gives the state for air inside at a rise, K. It lies between the room and the base.
pub(super) fn settled(
    side: &AirSide,
    housing: &Housing,
    base_rise_k: f64,
    ambient_k: f64,
    at: impl Fn(f64) -> AirState,
) -> AirState {
    let area = passing_m2(side);
    let draught =
        |rise: f64| flow_chimney_two_openings(1.0, area, housing.height_m, ambient_k + rise, ambient_k);
    let out = |rise: f64| draught_w(rise, draught(rise), ambient_k) + housing.walls_w(rise);
    let into = |rise: f64| {
        let (convection, radiation, _) = heat_at(side, &at(rise), base_rise_k, ambient_k);
        convection + radiation
    };
    let (mut low, mut high) = (0.0, base_rise_k.max(0.0));
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if out(middle) < into(middle) { low = middle } else { high = middle }
    }
    let mut state = at(low);
    state.draught_m3_per_s = draught(low);
    state.remarks.push(
        "the air in the housing is taken as mixed, and all heat of the heatsink's back as given to it; board and emitter side are taken to \
         look out of the housing"
            .into(),
    );
    state
}
