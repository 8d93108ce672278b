//! Along the channels: the film falls from their mouth on, and the air warms.

use super::pressure::{Channel, channel};
use super::{AirSide, AirState, Fins, FlowWay};
use crate::cooling::air::{Air, air};
use crate::cooling::duct_friction::{fanning_turbulent_duct_petukhov, turbulent_part};
use crate::cooling::duct_heat::{
    mean_nusselt_parallel_plates_stephan, nusselt_t_rectangular_duct_shah_london,
    nusselt_turbulent_duct_gnielinski,
};
use crate::cooling::fins::{efficiency_pin_fin_incropera, efficiency_straight_fin_harper_brown};
use crate::cooling::pin_bank::nusselt_pins_in_line_zukauskas;

/// Stephan's number of parallel plates far from their mouth.
const STEPHAN_FAR: f64 = 7.55;
/// Least rise of a face over the room, K, at which its film against the room means anything.
const LEAST_RISE_K: f64 = 1e-3;
/// Exponent that joins forced and natural convection (Incropera et al., section 9.9).
const MIXED: f64 = 3.0;

/// A piece of the base's back on a strip along the channels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slice {
    /// Where it begins and ends along the channels, m from the base's edge; ascending from slice to slice.
    pub from_m: f64,
    /// Its end, m.
    pub to_m: f64,
    /// Width across the channels, m.
    pub width_m: f64,
    /// Face above the room, K.
    pub rise_k: f64,
}

/// Convection from each slice of a strip: film against the room, W/m²/K, >= 0, and the air's rise above the room where it leaves.
#[must_use]
pub fn strip_films(side: &AirSide, state: &AirState, slices: &[Slice]) -> (Vec<f64>, f64) {
    let natural = state.natural_w_per_m2_k;
    let runs = state.fan.as_ref().filter(|fan| !fan.stands && fan.flow_m3_per_s > 0.0);
    let (Some(fan), Some(fans)) = (runs, side.fans.as_ref()) else {
        let films = slices.iter().map(|s| against_room(natural * (s.rise_k - state.inlet_rise_k), s.rise_k));
        return (films.collect(), state.inlet_rise_k);
    };
    let the_air = air(state.film_air_k);
    let of = channel(side, fans.way, fan.flow_m3_per_s, &the_air);
    // Heat that the air takes up per kelvin and metre of width.
    let halves = if fans.way == FlowWay::Onto { 2.0 } else { 1.0 };
    let per_width =
        the_air.density_kg_per_m3 * the_air.cp_j_per_kg_k * fan.flow_m3_per_s / halves / side.across_m;
    let mut films = vec![0.0; slices.len()];
    let mut leaves = state.inlet_rise_k;
    let mut go = |order: &mut dyn Iterator<Item = usize>, from_inlet: &dyn Fn(&Slice) -> (f64, f64)| {
        let mut air_rise = state.inlet_rise_k;
        for k in order {
            let slice = &slices[k];
            let (x0, x1) = from_inlet(slice);
            if x1 <= x0 {
                continue;
            }
            let forced = film(side, &of, x0.max(0.0), x1, &the_air);
            let film = (forced.powf(MIXED) + natural.powf(MIXED)).powf(1.0 / MIXED);
            let stream = (per_width * slice.width_m).max(1e-12);
            let area = (x1 - x0) * slice.width_m;
            let heat = stream * (slice.rise_k - air_rise) * -(-film * area / stream).exp_m1();
            // Several pieces may lie on one slice of a strip: the middle one's part of it.
            films[k] += against_room(heat / area, slice.rise_k) * (x1 - x0) / (slice.to_m - slice.from_m);
            air_rise += heat / stream;
        }
        leaves = air_rise;
    };
    match fans.way {
        FlowWay::Along => go(&mut (0..slices.len()), &|s| (s.from_m, s.to_m)),
        FlowWay::Onto => {
            let middle = 0.5 * side.along_m;
            go(&mut (0..slices.len()), &|s| ((s.from_m - middle).max(0.0), s.to_m - middle));
            go(&mut (0..slices.len()).rev(), &|s| ((middle - s.to_m).max(0.0), middle - s.from_m));
        }
    }
    (films, leaves)
}

/// A flux, W/m², as a film against the room; none where a face is no warmer than it.
fn against_room(flux: f64, rise_k: f64) -> f64 {
    if rise_k > LEAST_RISE_K && flux.is_finite() { (flux / rise_k).clamp(1e-6, 1e9) } else { 1e-6 }
}

/// Film between the fins against the passing air, per area of the base's back, from x0 to x1 along the way.
fn film(side: &AirSide, of: &Channel, x0: f64, x1: f64, air: &Air) -> f64 {
    let h = nusselt_between(side, of, x0, x1, air) * air.k_w_per_m_k / of.diameter_m;
    match side.fins {
        Fins::Plain => h,
        Fins::Plates { count, height_m, thickness_m, gap_m } => {
            let eta = efficiency_straight_fin_harper_brown(
                h,
                side.fin_w_per_m_k,
                thickness_m,
                side.along_m,
                height_m,
                false,
            );
            let channels = f64::from(count.saturating_sub(1)) / side.across_m;
            h * channels * (gap_m + 2.0 * height_m * eta)
        }
        Fins::Pins { count, height_m, diameter_m } => {
            let pins = f64::from(count[0]) * f64::from(count[1]) / side.back_m2();
            let eta = efficiency_pin_fin_incropera(h, side.fin_w_per_m_k, diameter_m, height_m);
            let foot = std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
            h * (pins * std::f64::consts::PI * diameter_m * height_m * eta + (1.0 - pins * foot).max(0.0))
        }
    }
}

/// Mean Nusselt number from x0 to x1.
fn nusselt_between(side: &AirSide, of: &Channel, x0: f64, x1: f64, air: &Air) -> f64 {
    let re = of.reynolds.max(1e-9);
    if let Fins::Pins { .. } = side.fins {
        return nusselt_pins_in_line_zukauskas(re, air.pr);
    }
    // Far from the mouth the duct's own number; near it the layers on the walls, which know nothing of its shape.
    let graetz = of.diameter_m * re * air.pr;
    let excess = |x: f64| {
        if x > 0.0 {
            x * (mean_nusselt_parallel_plates_stephan(x / graetz, air.pr) - STEPHAN_FAR)
        } else {
            0.0
        }
    };
    let developing = (excess(x1) - excess(x0)).max(0.0) / (x1 - x0);
    let laminar = nusselt_t_rectangular_duct_shah_london(of.aspect) + developing;
    let part = turbulent_part(re);
    if part <= 0.0 {
        return laminar;
    }
    let turbulent = nusselt_turbulent_duct_gnielinski(re, air.pr, fanning_turbulent_duct_petukhov(re));
    // The relation for turbulent flow is for long ducts; near the mouth thin layers conduct better than it says.
    (1.0 - part) * laminar + part * turbulent.max(laminar)
}

/// What must be said about the forced flow.
pub(super) fn remarks(side: &AirSide, of: &Channel, way: FlowWay, all: &mut Vec<String>) {
    let re = of.reynolds;
    match side.fins {
        Fins::Plain => all.push(
            "air blown over a plain plate is taken as a channel a fifth as high as it is long: rough, to a factor of two".into(),
        ),
        Fins::Plates { .. } if re > 0.0 && turbulent_part(re) > 0.0 && re < 1e4 => all.push(format!(
            "the air between the fins (Reynolds number {re:.0}) is neither laminar nor fully turbulent (2300 to 10,000): films there are \
             known to about a fifth"
        )),
        Fins::Plates { .. } => {}
        Fins::Pins { count, .. } => {
            if count[0] < 16 {
                all.push(format!(
                    "the relation for rows of pins is stated for 16 rows or more, and there are {}: with few rows the film is up to a third lower",
                    count[0]
                ));
            }
            if !(2000.0..=32_000.0).contains(&re) {
                all.push(format!(
                    "the pressure of rows of pins is stated for Reynolds numbers of 2000 to 32,000; here it is {re:.0}"
                ));
            }
        }
    }
    if way == FlowWay::Onto {
        all.push(
            "the air that the fan blows onto the fins is taken to enter in the middle and to leave half at each end; the still air under \
             the fan's hub is left out"
                .into(),
        );
    }
}
