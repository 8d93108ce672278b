//! Friction of air in the channels between fins: smooth rectangular ducts, from their mouth on.
//!
//! Fanning factor f: pressure drop `4 f (L / Dh) rho V² / 2`, with the hydraulic diameter `Dh = 4 area / perimeter`.

/// Reynolds number (hydraulic diameter) up to which the flow is taken as laminar, and from which as turbulent; between
/// them factors are joined by a straight line (customary limits, Incropera et al., section 8.1 and equation 8.62).
pub const LAMINAR_TO_TURBULENT: (f64, f64) = (2300.0, 4000.0);

/// Part of the way from laminar to turbulent, 0..1.
#[must_use]
pub fn turbulent_part(reynolds: f64) -> f64 {
    let (low, high) = LAMINAR_TO_TURBULENT;
    ((reynolds - low) / (high - low)).clamp(0.0, 1.0)
}

/// `f Re` of fully developed laminar flow in a rectangular duct, aspect = short over long side, 0..1:
/// `24 (1 - 1.3553 a + 1.9467 a² - 1.7012 a³ + 0.9564 a⁴ - 0.2537 a⁵)`, within 0.05 % of the exact series.
/// Shah and London, Laminar Flow Forced Convection in Ducts, 1978.
#[must_use]
pub fn fanning_re_rectangular_duct_shah_london(aspect: f64) -> f64 {
    let a = aspect.clamp(0.0, 1.0);
    24.0 * (1.0 + a * (-1.3553 + a * (1.9467 + a * (-1.7012 + a * (0.9564 - 0.2537 * a)))))
}

/// Apparent `f Re` from the mouth of a duct on, `sqrt((3.44 / sqrt(x+))² + (f Re)²)` with `x+ = L / (Dh Re)`: shear and the
/// growth of the profile's momentum together. The blend of Muzychka and Yovanovich, as in Culham and Muzychka, IEEE
/// Trans. Components and Packaging Tech. 24 (2001) 159-165 (from memory); the entrance term is Shapiro's. Laminar.
#[must_use]
pub fn apparent_fanning_re_duct_muzychka_yovanovich(x_plus: f64, developed_f_re: f64) -> f64 {
    (3.44f64.powi(2) / x_plus.max(1e-9) + developed_f_re * developed_f_re).sqrt()
}

/// Fanning factor of fully developed turbulent flow in a smooth duct: a quarter of `(0.790 ln Re - 1.64)^-2`, Re 3000 to 5e6.
/// Petukhov 1970, as in Incropera et al., 6th ed., equation 8.21.
#[must_use]
pub fn fanning_turbulent_duct_petukhov(reynolds: f64) -> f64 {
    0.25 / (0.790 * reynolds.max(1e3).ln() - 1.64).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exact Poiseuille series for aspects 1, 1/2, 1/4, 1/8, 1/20 (Shah and London 1978; summed live
    /// in compare_correlations.py); the polynomial keeps to 0.06 % there.
    #[test]
    fn friction_of_rectangles_is_that_of_the_series() {
        let exact = [
            (1.0, 14.227_076_884_7),
            (0.5, 15.548_056_146_6),
            (0.25, 18.232_776_830_7),
            (0.125, 20.584_644_061_5),
            (0.05, 22.477_013_095_3),
        ];
        for (aspect, f_re) in exact {
            let ours = fanning_re_rectangular_duct_shah_london(aspect);
            assert!((ours / f_re - 1.0).abs() < 7e-4, "{aspect}: {ours}");
        }
        assert_eq!(fanning_re_rectangular_duct_shah_london(0.0), 24.0);
    }

    /// Incropera et al., 6th ed., equation 8.21 at Re 1e4 by hand: Darcy factor 0.0315.
    #[test]
    fn turbulent_friction_by_hand() {
        let darcy = 4.0 * fanning_turbulent_duct_petukhov(1e4);
        let by_hand = 1.0 / (0.790 * 9.210_340_372f64 - 1.64).powi(2);
        assert!((darcy / by_hand - 1.0).abs() < 1e-9 && (darcy - 0.0315).abs() < 1e-3, "{darcy}");
    }

    /// Both ends of the blend: a short duct has Shapiro's entrance friction, a long one the developed.
    #[test]
    fn the_blend_has_both_ends() {
        let short = apparent_fanning_re_duct_muzychka_yovanovich(1e-6, 24.0);
        assert!((short / (3.44 / 1e-3) - 1.0).abs() < 1e-4, "{short}");
        let long = apparent_fanning_re_duct_muzychka_yovanovich(100.0, 24.0);
        assert!((long / 24.0 - 1.0).abs() < 2e-4, "{long}");
        assert_eq!([turbulent_part(2000.0), turbulent_part(3150.0), turbulent_part(5000.0)], [0.0, 0.5, 1.0]);
    }
}
