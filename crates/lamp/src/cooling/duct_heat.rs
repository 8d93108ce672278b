//! Heat transfer in the channels between fins: smooth ducts whose walls have one temperature, from their mouth on.
//!
//! Nusselt numbers refer to the hydraulic diameter and to the air's mean temperature where it is (not to the inlet's).

/// Mean Nusselt number from the mouth to x of laminar flow between parallel plates, velocity and temperature developing
/// together: `7.55 + 0.024 X^-1.14 / (1 + 0.0358 Pr^0.17 X^-0.64)`, `X = x / (Dh Re Pr)`, Pr 0.1 to 1000.
/// Stephan 1959, as in Shah and London 1978 and Kakac et al., Handbook of Single-Phase Convective Heat Transfer 1987
/// (from memory).
#[must_use]
pub fn mean_nusselt_parallel_plates_stephan(x_star: f64, prandtl: f64) -> f64 {
    let x = x_star.max(1e-9);
    7.55 + 0.024 * x.powf(-1.14) / (1.0 + 0.0358 * prandtl.powf(0.17) * x.powf(-0.64))
}

/// Nusselt number of fully developed laminar flow in a rectangular duct with walls of one temperature, aspect = short
/// over long side: `7.541 (1 - 2.610 a + 4.970 a² - 5.119 a³ + 2.702 a⁴ - 0.548 a⁵)`, within 0.1 % of the numerical solution.
/// Shah and London 1978.
#[must_use]
pub fn nusselt_t_rectangular_duct_shah_london(aspect: f64) -> f64 {
    let a = aspect.clamp(0.0, 1.0);
    7.541 * (1.0 + a * (-2.610 + a * (4.970 + a * (-5.119 + a * (2.702 - 0.548 * a)))))
}

/// Nusselt number of turbulent flow in a smooth duct,
/// `(f/2) (Re - 1000) Pr / (1 + 12.7 sqrt(f/2) (Pr^(2/3) - 1))` with the Fanning factor f; Re 3000 to 5e6, Pr 0.5 to 2000.
/// Gnielinski 1976, as in Incropera et al., 6th ed., equation 8.62.
#[must_use]
pub fn nusselt_turbulent_duct_gnielinski(reynolds: f64, prandtl: f64, fanning: f64) -> f64 {
    let half = 0.5 * fanning;
    half * (reynolds - 1000.0).max(0.0) * prandtl
        / (1.0 + 12.7 * half.sqrt() * (prandtl.powf(2.0 / 3.0) - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Shah and London 1978, table for the walls at one temperature (from memory): aspects 1, 1/2, 1/4, 1/8.
    #[test]
    fn developed_flow_has_the_printed_numbers() {
        for (aspect, printed) in [(1.0, 2.976), (0.5, 3.391), (0.25, 4.439), (0.125, 5.597)] {
            let ours = nusselt_t_rectangular_duct_shah_london(aspect);
            assert!((ours / printed - 1.0).abs() < 2e-3, "{aspect}: {ours}");
        }
    }

    /// Long plates: 7.541 is the exact limit (Shah and London 1978); the formula carries three digits.
    #[test]
    fn long_plates_reach_the_exact_limit() {
        let nusselt = mean_nusselt_parallel_plates_stephan(1e3, 0.7);
        assert!((nusselt / 7.541 - 1.0).abs() < 2e-3, "{nusselt}");
    }

    /// Near the mouth each wall is a plate on its own: the mean of 0.664 Re^(1/2) Pr^(1/3) (Pohlhausen), in these letters
    /// 0.664 Pr^(-1/6) X^(-1/2); the formula's own power is -1/2 there, its factor is good to a few per cent.
    #[test]
    fn a_short_channel_is_two_plates() {
        for x in [1e-5f64, 1e-4] {
            let plate = 0.664 * 0.7f64.powf(-1.0 / 6.0) / x.sqrt();
            let ours = mean_nusselt_parallel_plates_stephan(x, 0.7);
            // The core that the walls' layers squeeze runs faster than the inflow.
            assert!((0.97..1.15).contains(&(ours / plate)), "{x}: {ours} against {plate}");
        }
    }

    /// Re 1e4, Pr 0.7, f of Petukhov (0.25 x 0.031446): by hand 29.89.
    #[test]
    fn turbulent_flow_by_hand() {
        let f = super::super::duct_friction::fanning_turbulent_duct_petukhov(1e4);
        let half: f64 = f / 2.0;
        let by_hand = half * 9000.0 * 0.7 / (1.0 + 12.7 * half.sqrt() * (0.788_373_516_1 - 1.0));
        let ours = nusselt_turbulent_duct_gnielinski(1e4, 0.7, f);
        assert!((ours / by_hand - 1.0).abs() < 1e-8 && (25.0..35.0).contains(&ours), "{ours}");
    }
}
