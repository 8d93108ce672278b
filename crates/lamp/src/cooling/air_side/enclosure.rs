//! The air inside a housing against the room.

use super::AirSide;
use crate::cooling::air::air;
use crate::cooling::openings::flow_chimney_two_openings;

/// Hottest air inside that is looked for, K above the room.
const HOTTEST_K: f64 = 1000.0;

/// Area of one sharp opening with all vents in series, times its discharge coefficient, m².
fn passing_m2(side: &AirSide) -> f64 {
    let inverse: f64 = side.vents.iter().map(|v| v.loss.max(1e-3) / v.free_area_m2().max(1e-9).powi(2)).sum();
    if inverse > 0.0 { inverse.powf(-0.5) } else { 0.0 }
}

/// Rise of the air inside above the room, K, and the draught through the vents, m³/s: the heat leaves with the draught and through
/// the walls, `Q = (rho cp V + U A) (Ti - Ta)`, the air inside mixed.
pub(super) fn inside(
    side: &AirSide,
    fan_runs: bool,
    heat_w: f64,
    ambient_k: f64,
    remarks: &mut Vec<String>,
) -> (f64, f64) {
    let Some(housing) = &side.housing else { return (0.0, 0.0) };
    if housing.fan_in_wall && fan_runs {
        return (0.0, 0.0);
    }
    remarks.push(
        "the air in the housing is taken as mixed, and all heat of the heatsink's back as given to it; board and emitter side are taken to \
         look out of the housing"
            .into(),
    );
    let area = passing_m2(side);
    let draught =
        |rise: f64| flow_chimney_two_openings(1.0, area, housing.height_m, ambient_k + rise, ambient_k);
    let out = |rise: f64| {
        let a = air(ambient_k + rise);
        (a.density_kg_per_m3 * a.cp_j_per_kg_k * draught(rise) + housing.wall_w_per_m2_k * housing.wall_m2)
            * rise
    };
    let heat = if heat_w.is_finite() { heat_w.max(0.0) } else { 0.0 };
    if out(HOTTEST_K) <= heat {
        remarks.push("the housing lets out so little heat that the air inside passes 1000 K above the room: give it vents".into());
        return (HOTTEST_K, draught(HOTTEST_K));
    }
    let (mut low, mut high) = (0.0, HOTTEST_K);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if out(middle) < heat { low = middle } else { high = middle }
    }
    (low, draught(low))
}
