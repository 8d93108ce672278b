//! Along the channels: the film falls from their mouth on, and the air warms.

use super::pressure::{Channel, channel};
use super::{AirSide, AirState, FanState, Fins, FlowWay};
use crate::cooling::air::{Air, air};
use crate::cooling::duct_friction::{fanning_turbulent_duct_petukhov, turbulent_part};
use crate::cooling::duct_heat::{
    mean_nusselt_parallel_plates_stephan, nusselt_t_rectangular_duct_shah_london,
    nusselt_turbulent_duct_gnielinski,
};
use crate::cooling::fins::{efficiency_pin_fin_incropera, efficiency_straight_fin_harper_brown};
use crate::cooling::mixed::{Meeting, film_mixed_incropera, grashof_over_reynolds_squared};
use crate::cooling::natural_convection::Orientation;
use crate::cooling::pin_bank::nusselt_pins_in_line_zukauskas;

/// Stephan's number of parallel plates far from their mouth.
const STEPHAN_FAR: f64 = 7.55;
/// Least rise of a face over the room, K, at which its film against the room means anything.
const LEAST_RISE_K: f64 = 1e-3;

/// What the air meets on its way along a strip of the base's back: the same for every strip cut at the same places.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// One way, or two from the middle out.
    ways: Vec<Vec<Leg>>,
    /// Spans' lengths, m.
    lengths_m: Vec<f64>,
    /// Heat that the air takes up per kelvin and metre of width, W/K/m; `None` where no fan blows.
    per_width: Option<f64>,
    inlet_rise_k: f64,
    natural_w_per_m2_k: f64,
}

/// A span, or the part of it on one way.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Leg {
    span: usize,
    length_m: f64,
    /// Forced convection alone.
    film_w_per_m2_k: f64,
    meeting: Meeting,
}

/// The way of the air over spans along the channels: where each begins and ends, m from the base's edge, ascending.
#[must_use]
pub fn passage(side: &AirSide, state: &AirState, spans_m: &[(f64, f64)]) -> Passage {
    let mut passage = Passage {
        ways: Vec::new(),
        lengths_m: spans_m.iter().map(|(from, to)| to - from).collect(),
        per_width: None,
        inlet_rise_k: state.inlet_rise_k,
        natural_w_per_m2_k: state.natural_w_per_m2_k,
    };
    let own = |fan: &&FanState| side.stated.is_none() && !fan.stands && fan.flow_m3_per_s > 0.0;
    let runs = state.fan.as_ref().filter(own);
    let (Some(fan), Some(fans)) = (runs, side.fans.as_ref()) else { return passage };
    let the_air = air(state.film_air_k);
    let of = channel(side, fans.way, fan.flow_m3_per_s, &the_air);
    let halves = if fans.way == FlowWay::Onto { 2.0 } else { 1.0 };
    let heat_capacity = the_air.density_kg_per_m3 * the_air.cp_j_per_kg_k;
    passage.per_width = Some(heat_capacity * fan.flow_m3_per_s / halves / side.across_m);
    // A fin conducts along itself too: its efficiency is that of the whole way.
    let mean = nusselt_between(side, &of, 0.0, of.length_m, &the_air);
    let leg = |span: usize, x0: f64, x1: f64, upwards: bool| Leg {
        span,
        length_m: x1 - x0,
        film_w_per_m2_k: film(side, &of, nusselt_between(side, &of, x0, x1, &the_air), mean, &the_air),
        meeting: meeting(side, state.back, upwards),
    };
    let spans = spans_m.iter().copied().enumerate();
    let middle = 0.5 * side.along_m;
    match fans.way {
        FlowWay::Along => {
            let spans = spans.filter(|s| s.1.1 > s.1.0);
            let end = side.along_m;
            passage.ways = vec![if fans.upwards {
                spans.map(|(k, (from, to))| leg(k, from, to, true)).collect()
            } else {
                spans.rev().map(|(k, (from, to))| leg(k, (end - to).max(0.0), end - from, false)).collect()
            }];
        }
        // A span across the middle belongs to both ways.
        FlowWay::Onto => {
            let up = spans.clone().filter(|s| s.1.1 > middle.max(s.1.0));
            let down = spans.rev().filter(|s| s.1.0 < middle.min(s.1.1));
            passage.ways = vec![
                up.map(|(k, (from, to))| leg(k, (from - middle).max(0.0), to - middle, true)).collect(),
                down.map(|(k, (from, to))| leg(k, (middle - to).max(0.0), middle - from, false)).collect(),
            ];
        }
    }
    passage
}

impl Passage {
    /// Convection from each span of a strip of this width whose faces are `rise_k` above the room: film against the room, W/m²/K,
    /// 0 or more, and the mean rise above the room of the fan's air where it leaves.
    ///
    /// Natural convection, which draws air of its own, joins the forced one span by span, so that a fan that hardly turns leaves the
    /// heatsink to it.
    #[must_use]
    pub fn films(&self, width_m: f64, rise_k: &[f64]) -> (Vec<f64>, f64) {
        let natural = |r: &f64| against_room(self.natural_w_per_m2_k * (r - self.inlet_rise_k), *r);
        let Some(per_width) = self.per_width else {
            return (rise_k.iter().map(natural).collect(), self.inlet_rise_k);
        };
        let mut films = vec![0.0; rise_k.len()];
        let stream = (per_width * width_m).max(1e-12);
        let mut leaves = 0.0;
        for way in &self.ways {
            let mut air_rise = self.inlet_rise_k;
            for leg in way {
                let (Some(rise), Some(length)) = (rise_k.get(leg.span), self.lengths_m.get(leg.span)) else {
                    continue;
                };
                let area = leg.length_m * width_m;
                let heat = stream * (rise - air_rise) * -(-leg.film_w_per_m2_k * area / stream).exp_m1();
                if heat.is_finite() {
                    if let Some(film) = films.get_mut(leg.span) {
                        let forced = against_room(heat / area, *rise);
                        *film +=
                            film_mixed_incropera(forced, natural(rise), leg.meeting) * leg.length_m / length;
                    }
                    air_rise += heat / stream;
                }
            }
            leaves += air_rise / self.ways.len() as f64;
        }
        (films, leaves)
    }
}

/// How the fan's air meets the rising one on a way towards higher x or y, or lower.
fn meeting(side: &AirSide, back: Orientation, upwards: bool) -> Meeting {
    match back {
        Orientation::Up | Orientation::Down => Meeting::Level,
        Orientation::Sideways if !side.along_y => Meeting::Across,
        Orientation::Sideways if upwards => Meeting::Assisting,
        Orientation::Sideways => Meeting::Opposing,
    }
}

/// A flux, W/m², as a film against the room; none where a face is no warmer than it.
fn against_room(flux: f64, rise_k: f64) -> f64 {
    if rise_k > LEAST_RISE_K && flux.is_finite() { (flux / rise_k).clamp(1e-6, 1e9) } else { 1e-6 }
}

/// Film between the fins against the passing air, per area of the base's back, for a Nusselt number there and its mean over the way.
fn film(side: &AirSide, of: &Channel, nusselt: f64, mean_nusselt: f64, air: &Air) -> f64 {
    let h = nusselt * air.k_w_per_m_k / of.diameter_m;
    let mean_h = mean_nusselt * air.k_w_per_m_k / of.diameter_m;
    match side.fins {
        Fins::Plain => h,
        Fins::Plates { count, height_m, thickness_m, gap_m } => {
            let eta = efficiency_straight_fin_harper_brown(
                mean_h,
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
            let eta = efficiency_pin_fin_incropera(mean_h, side.fin_w_per_m_k, diameter_m, height_m);
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

/// What must be said where natural convection is about as strong as the forced one.
pub(super) fn mixed_remarks(
    side: &AirSide,
    (back, rise_k): (Orientation, f64),
    (fan, the_air): (&FanState, &Air),
    all: &mut Vec<String>,
) {
    let Some(fans) = side.fans.as_ref().filter(|_| !fan.stands && fan.flow_m3_per_s > 0.0) else { return };
    let of = channel(side, fans.way, fan.flow_m3_per_s, the_air);
    let ratio = grashof_over_reynolds_squared(the_air.beta_per_k, rise_k, of.length_m, of.velocity_m_per_s);
    if !(0.1..=10.0).contains(&ratio) {
        return;
    }
    let ways = match fans.way {
        FlowWay::Along => vec![meeting(side, back, fans.upwards)],
        FlowWay::Onto => vec![meeting(side, back, true), meeting(side, back, false)],
    };
    let against = if ways.contains(&Meeting::Opposing) {
        "; they oppose each other, which is known worst: half of the stronger is taken to be left at the least"
    } else {
        ""
    };
    all.push(format!(
        "forced and natural convection are alike strong between the fins (Gr/Re2 {ratio:.1}; 0.1 to 10 counts as mixed): films there are known \
         to about a quarter{against}"
    ));
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
