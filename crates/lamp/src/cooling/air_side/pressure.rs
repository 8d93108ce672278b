//! What pressure a flow asks for: fins, vents, filter.

use super::{AirSide, Fins, FlowWay};
use crate::cooling::air::Air;
use crate::cooling::duct_friction::{
    apparent_fanning_re_duct_muzychka_yovanovich, fanning_re_rectangular_duct_shah_london,
    fanning_turbulent_duct_petukhov, turbulent_part,
};
use crate::cooling::openings::{
    LOSS_OF_A_SHARP_TURN, loss_sudden_contraction_crane, loss_sudden_expansion_borda_carnot,
};
use crate::cooling::pin_bank::euler_row_of_pins_in_line_jakob;

/// A part of the pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct PressurePart {
    /// What it is spent on.
    pub what: String,
    /// Pa.
    pub pressure_pa: f64,
}

/// The flow between the fins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Channel {
    pub velocity_m_per_s: f64,
    /// Way along the fins that the air takes, m.
    pub length_m: f64,
    /// Hydraulic diameter of a channel, or diameter of a pin, m.
    pub diameter_m: f64,
    pub reynolds: f64,
    /// Short over long side of a channel.
    pub aspect: f64,
    /// Free over whole cross-section.
    pub free_share: f64,
}

/// The flow between the fins at a whole flow of `q` m³/s.
pub(super) fn channel(side: &AirSide, way: FlowWay, q: f64, air: &Air) -> Channel {
    // Onto the fins, each half of the channels takes half of the flow.
    let (q, length_m) = match way {
        FlowWay::Along => (q, side.along_m),
        FlowWay::Onto => (0.5 * q, 0.5 * side.along_m),
    };
    let (free_m2, diameter_m, aspect, free_share) = match side.fins {
        // Over a plain back the air is taken to fill a layer as high as a tenth of the way.
        Fins::Plain => (side.across_m * 0.1 * side.along_m, 0.2 * side.along_m, 0.0, 1.0),
        Fins::Plates { count, height_m, gap_m, thickness_m } => {
            let channels = f64::from(count.saturating_sub(1).max(1));
            let (short, long) = (gap_m.min(height_m), gap_m.max(height_m));
            let diameter = 2.0 * gap_m * height_m / (gap_m + height_m);
            (channels * gap_m * height_m, diameter, short / long, gap_m / (gap_m + thickness_m))
        }
        Fins::Pins { count, height_m, diameter_m } => {
            let free = (side.across_m - f64::from(count[1]) * diameter_m).max(1e-4 * side.across_m);
            (free * height_m, diameter_m, 0.0, free / side.across_m)
        }
    };
    let velocity_m_per_s = q.max(0.0) / free_m2.max(1e-12);
    let reynolds = velocity_m_per_s * diameter_m / air.nu_m2_per_s;
    Channel { velocity_m_per_s, length_m, diameter_m, reynolds, aspect, free_share }
}

/// Apparent Fanning factor from the mouth to the end of a channel; laminar, turbulent, and between.
fn friction(of: &Channel) -> f64 {
    let re = of.reynolds.max(1e-6);
    let developed = fanning_re_rectangular_duct_shah_london(of.aspect);
    let x_plus = of.length_m / (of.diameter_m * re);
    let laminar = apparent_fanning_re_duct_muzychka_yovanovich(x_plus, developed) / re;
    let part = turbulent_part(re);
    let turbulent = if part > 0.0 { fanning_turbulent_duct_petukhov(re) } else { 0.0 };
    (1.0 - part) * laminar + part * turbulent
}

/// What the flow is held back by, in the order in which the air meets it.
pub(super) fn parts(side: &AirSide, way: FlowWay, q: f64, air: &Air) -> Vec<PressurePart> {
    let of = channel(side, way, q, air);
    let head = 0.5 * air.density_kg_per_m3 * of.velocity_m_per_s * of.velocity_m_per_s;
    let mut all = Vec::new();
    let mut add = |what: &str, pressure_pa: f64| {
        if pressure_pa.is_finite() && pressure_pa > 0.0 || q <= 0.0 {
            all.push(PressurePart { what: what.to_owned(), pressure_pa: pressure_pa.max(0.0) });
        }
    };
    add("filter", side.filter_pa_s_per_m3 * q.max(0.0));
    for vent in &side.vents {
        let velocity = q.max(0.0) / vent.free_area_m2().max(1e-12);
        add(&vent.name, vent.loss.max(0.0) * 0.5 * air.density_kg_per_m3 * velocity * velocity);
    }
    if let Some(pressure_pa) = side.stated.as_ref().and_then(|stated| stated.pressure_pa(q.max(0.0))) {
        add("the heatsink, as its maker states", pressure_pa);
        return all;
    }
    match side.fins {
        Fins::Plain => {}
        Fins::Plates { .. } => {
            // Air that blows onto fins turns along them.
            let turn = if way == FlowWay::Onto { LOSS_OF_A_SHARP_TURN } else { 0.0 };
            add("entry to the fins", head * (loss_sudden_contraction_crane(of.free_share) + turn));
            add("friction along the fins", head * 4.0 * friction(&of) * of.length_m / of.diameter_m);
            add("exit from the fins", head * loss_sudden_expansion_borda_carnot(of.free_share));
        }
        Fins::Pins { count, diameter_m, .. } => {
            let rows = f64::from(count[0]) * of.length_m / side.along_m;
            let (along, across) =
                (side.along_m / f64::from(count[0].max(1)), side.across_m / f64::from(count[1].max(1)));
            let euler = euler_row_of_pins_in_line_jakob(of.reynolds, along / diameter_m, across / diameter_m);
            add("rows of pins", head * euler * rows);
        }
    }
    all
}
