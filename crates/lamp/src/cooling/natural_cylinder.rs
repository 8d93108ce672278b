//! Natural convection from a level cylinder, such as a wire, to still air.

use super::air::{AIR_RANGE_K, air};
use super::natural_convection::GRAVITY;

/// Range of Rayleigh numbers that the textbook states for [`nusselt_horizontal_cylinder_churchill_chu`]; its authors drew it
/// through data from 1e-5 up (from memory).
pub const CYLINDER_RAYLEIGH_RANGE: (f64, f64) = (1e-5, 1e12);

/// Nusselt number of an isothermal level cylinder in still air,
/// `Nu = (0.60 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27))²`, length = diameter.
/// Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049-1053, as in Incropera et al., 6th ed., eq. 9.34.
#[must_use]
pub fn nusselt_horizontal_cylinder_churchill_chu(rayleigh: f64, prandtl: f64) -> f64 {
    let pr = (1.0 + (0.559 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.60 + 0.387 * rayleigh.max(0.0).powf(1.0 / 6.0) / pr).powi(2)
}

/// Heat transfer coefficient of a level cylinder's natural convection, W/m²/K, and whether Rayleigh number and air lie in the
/// stated ranges; diameter in m (above 0), temperatures in kelvin, air at their mean.
#[must_use]
pub fn h_horizontal_cylinder_churchill_chu(diameter_m: f64, surface_k: f64, ambient_k: f64) -> (f64, bool) {
    let film = 0.5 * (surface_k + ambient_k);
    let a = air(film);
    let rise = (surface_k - ambient_k).abs();
    let rayleigh = GRAVITY * a.beta_per_k * rise * diameter_m.powi(3) / (a.nu_m2_per_s * a.alpha_m2_per_s);
    let nusselt = nusselt_horizontal_cylinder_churchill_chu(rayleigh, a.pr);
    let stated = (CYLINDER_RAYLEIGH_RANGE.0..=CYLINDER_RAYLEIGH_RANGE.1).contains(&rayleigh)
        && (AIR_RANGE_K.0..=AIR_RANGE_K.1).contains(&film);
    (nusselt * a.k_w_per_m_k / diameter_m.max(1e-9), stated)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Incropera et al., 6th ed., example 9.4: a level steam pipe of 0.1 m at 165 degC in a room at 23 degC, printed Ra
    /// 5.073e6, Nu 23.3, h 7.29 W/m²/K (from memory; the printed Nu lies 0.9 % above what its own numbers give, and the air
    /// is the book's table).
    #[test]
    fn a_steam_pipe_agrees_with_a_worked_example() {
        let nusselt = nusselt_horizontal_cylinder_churchill_chu(5.073e6, 0.697);
        assert!((nusselt / 23.3 - 1.0).abs() < 0.012, "{nusselt}");
        let (h, stated) = h_horizontal_cylinder_churchill_chu(0.1, 438.15, 296.15);
        assert!((h / 7.29 - 1.0).abs() < 0.012 && stated, "{h}");
    }
}
