//! Efficiency of fins: mean excess temperature of a fin over that of its foot.

/// `tanh(x) / x`, 1 at x = 0.
fn tanh_over(x: f64) -> f64 {
    if x.abs() < 1e-6 { 1.0 } else { x.tanh() / x }
}

/// Efficiency of a straight fin of even thickness: `eta = tanh(m Lc) / (m Lc)`, `m = sqrt(2 h (L + t) / (k L t))`,
/// `Lc = H + t/2` where the tip is free (Harper and Brown's corrected length) and `H` where it is covered.
///
/// `h_w_per_m2_k` film on both faces; `k_w_per_m_k` of the fin; `thickness_m` t; `along_m` L, the fin's length along the
/// base; `height_m` H. One-dimensional: the drop across the thickness is small while the Biot number `h t / k` stays below 0.1,
/// which aluminium in air never passes.
/// Incropera et al., Fundamentals of Heat and Mass Transfer, 6th ed., section 3.6 (equations 3.84 to 3.89).
#[must_use]
pub fn efficiency_straight_fin_harper_brown(
    h_w_per_m2_k: f64,
    k_w_per_m_k: f64,
    thickness_m: f64,
    along_m: f64,
    height_m: f64,
    tip_is_free: bool,
) -> f64 {
    let m2 = 2.0 * h_w_per_m2_k * (along_m + thickness_m) / (k_w_per_m_k * along_m * thickness_m);
    let corrected = if tip_is_free { height_m + 0.5 * thickness_m } else { height_m };
    tanh_over(m2.max(0.0).sqrt() * corrected)
}

/// Efficiency of a round pin: `eta = tanh(m Lc) / (m Lc)`, `m = sqrt(4 h / (k D))`, `Lc = H + D/4`.
/// Incropera et al., 6th ed., table 3.5.
#[must_use]
pub fn efficiency_pin_fin_incropera(
    h_w_per_m2_k: f64,
    k_w_per_m_k: f64,
    diameter_m: f64,
    height_m: f64,
) -> f64 {
    let m2 = 4.0 * h_w_per_m2_k / (k_w_per_m_k * diameter_m);
    tanh_over(m2.max(0.0).sqrt() * (height_m + 0.25 * diameter_m))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Holman, aluminium fin 3 mm x 75 mm (k 200, h 10 W/m²/K) on a wall 250 K above the air: 359 W/m (printed, from memory;
    /// a companion notebook that recomputes the book prints 360 with the fin's ends counted).
    #[test]
    fn fin_of_the_worked_example() {
        // Very long along the base, so that the ends do not count.
        let eta = efficiency_straight_fin_harper_brown(10.0, 200.0, 3e-3, 1e6, 75e-3, true);
        let q = eta * 2.0 * 10.0 * 76.5e-3 * 250.0;
        assert!((q - 359.0).abs() < 0.6, "{q}");
        assert!((eta / 0.939_677_620_411 - 1.0).abs() < 1e-8, "{eta}");
    }

    /// Fin 1.2 mm x 30 mm, k 201, h 40: 0.907901971413 (closed form; the boundary value problem gives the same heat to 6e-7).
    #[test]
    fn straight_fin_agrees_with_the_closed_form() {
        let eta = efficiency_straight_fin_harper_brown(40.0, 201.0, 1.2e-3, 1e9, 30e-3, true);
        assert!((eta / 0.907_901_971_413 - 1.0).abs() < 1e-8, "{eta}");
    }

    /// Incropera et al., 6th ed., example 3.9: very long rods of 5 mm, h 100, 75 K over the air lose 8.3 W of copper (k 398)
    /// and 5.6 W of aluminium (k 180) (printed).
    #[test]
    fn rods_of_the_worked_example() {
        for (k, printed) in [(398.0, 8.3), (180.0, 5.6)] {
            let long = 10.0;
            let area = std::f64::consts::PI * 5e-3 * (long + 1.25e-3);
            let q = efficiency_pin_fin_incropera(100.0, k, 5e-3, long) * 100.0 * area * 75.0;
            assert!((q - printed).abs() < 0.06, "{k}: {q}");
        }
    }

    #[test]
    fn no_film_means_no_drop() {
        assert_eq!(efficiency_straight_fin_harper_brown(0.0, 200.0, 1e-3, 0.06, 0.03, true), 1.0);
        assert_eq!(efficiency_pin_fin_incropera(0.0, 200.0, 2e-3, 0.03), 1.0);
    }
}
