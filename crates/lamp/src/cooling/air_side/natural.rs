//! Natural convection from the fins as a film on the base's back.

use super::{AirSide, Fins};
use crate::cooling::air::air;
use crate::cooling::channel_natural::{
    JONES_SMITH_RANGE, nusselt_isothermal_channel_bar_cohen_rohsenow, nusselt_level_fins_up_jones_smith,
};
use crate::cooling::fins::{efficiency_pin_fin_incropera, efficiency_straight_fin_harper_brown};
use crate::cooling::natural_convection::{GRAVITY, Orientation, natural_convection};

/// How the warm air finds its way between the fins.
enum Way {
    /// Upright channels.
    Chimney,
    /// Between fins that stand up from a level base.
    FromAbove,
    /// None to speak of: the fins count as a block.
    Blocked,
}

/// Film per area of the base's back at `base_k` against air at `air_k`, W/m²/K.
pub(super) fn film(
    side: &AirSide,
    back: Orientation,
    base_k: f64,
    air_k: f64,
    remarks: &mut Vec<String>,
) -> f64 {
    let plate = |orientation, length| natural_convection(orientation, length, base_k, air_k).h_w_per_m2_k;
    let level_length = side.back_m2() / (2.0 * (side.along_m + side.across_m));
    let up_length = if side.along_y { side.along_m } else { side.across_m };
    let facing = match back {
        Orientation::Sideways => plate(back, up_length),
        Orientation::Up | Orientation::Down => plate(back, level_length),
    };
    let (height_m, gap_m) = match side.fins {
        Fins::Plain => return facing,
        Fins::Plates { height_m, gap_m, .. } => (height_m, gap_m),
        Fins::Pins { count, height_m, diameter_m } => {
            remarks.push(
                "pins in natural convection are taken as plates that stand as far apart as they: known to about a third".into(),
            );
            (height_m, (side.across_m / f64::from(count[1].max(1)) - diameter_m).max(1e-4))
        }
    };
    let way = match back {
        Orientation::Sideways if side.along_y || matches!(side.fins, Fins::Pins { .. }) => Way::Chimney,
        Orientation::Up => Way::FromAbove,
        Orientation::Sideways | Orientation::Down => Way::Blocked,
    };
    // Tips and the four sides of all fins together, as hot as the base: what is left when no air passes between them.
    let sides = 2.0 * height_m * (side.along_m + side.across_m) / side.back_m2();
    let block = facing + sides * plate(Orientation::Sideways, height_m);
    let the_air = air(0.5 * (base_k + air_k));
    let rise = (base_k - air_k).abs();
    let rayleigh =
        GRAVITY * the_air.beta_per_k * rise * gap_m.powi(3) / (the_air.nu_m2_per_s * the_air.alpha_m2_per_s);
    let nusselt = match way {
        Way::Chimney => nusselt_isothermal_channel_bar_cohen_rohsenow(rayleigh * gap_m / up_length),
        Way::FromAbove => {
            let (low, high) = JONES_SMITH_RANGE;
            if rayleigh > 0.0 && !(low..=high).contains(&rayleigh) {
                remarks.push(format!(
                    "natural convection between fins that stand up: Rayleigh number of the gap {rayleigh:.1e}, stated for {low:.0e} to {high:.0e}; \
                     it was used all the same"
                ));
            }
            nusselt_level_fins_up_jones_smith(rayleigh)
        }
        Way::Blocked => {
            remarks.push(
                "with the fins hanging down or lying level on an upright base, warm air stays between them: they are counted as a closed block, \
                 which is on the safe side"
                    .into(),
            );
            return block;
        }
    };
    let h = nusselt * the_air.k_w_per_m_k / gap_m;
    // The outer faces of the outermost fins stand free.
    let outer_h =
        plate(Orientation::Sideways, if back == Orientation::Sideways { up_length } else { height_m });
    with_fins(side, h, outer_h).max(block)
}

/// Film per area of the back for a coefficient h on all faces between the fins and another on the outer ones.
fn with_fins(side: &AirSide, h: f64, outer_h: f64) -> f64 {
    match side.fins {
        Fins::Plain => h,
        Fins::Plates { count, height_m, thickness_m, gap_m } => {
            let eta = |h: f64| {
                efficiency_straight_fin_harper_brown(
                    h,
                    side.fin_w_per_m_k,
                    thickness_m,
                    side.along_m,
                    height_m,
                    true,
                )
            };
            let channels = f64::from(count.saturating_sub(1)) / side.across_m;
            h * channels * (gap_m + 2.0 * height_m * eta(h))
                + outer_h * 2.0 * height_m * eta(outer_h) / side.across_m
        }
        Fins::Pins { count, height_m, diameter_m } => {
            let pins = f64::from(count[0]) * f64::from(count[1]) / side.back_m2();
            let eta = efficiency_pin_fin_incropera(h, side.fin_w_per_m_k, diameter_m, height_m);
            let foot = std::f64::consts::FRAC_PI_4 * diameter_m * diameter_m;
            h * (pins * std::f64::consts::PI * diameter_m * height_m * eta + (1.0 - pins * foot).max(0.0))
        }
    }
}
