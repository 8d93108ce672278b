//! Natural convection between parallel fins.

/// Nusselt number (gap S, ambient air) of upright parallel plates of one temperature, open at their edges:
/// `Nu = (576 / El² + 2.873 / sqrt(El))^(-1/2)`, `El = g beta (Tw - Ta) S⁴ Pr / (nu² L)` with L the height. All El: narrow
/// channels and plates on their own are its two ends.
/// Bar-Cohen and Rohsenow, J. Heat Transfer 106 (1984) 116-123.
#[must_use]
pub fn nusselt_isothermal_channel_bar_cohen_rohsenow(elenbaas: f64) -> f64 {
    let el = elenbaas.max(1e-12);
    (576.0 / (el * el) + 2.873 / el.sqrt()).powf(-0.5)
}

/// The same by `(El / 24) (1 - exp(-35 / El))^(3/4)`, El 0.1 to 1e5.
/// Elenbaas, Physica 9 (1942) 1-28, as in Incropera et al., 6th ed., equation 9.45.
#[must_use]
pub fn nusselt_isothermal_channel_elenbaas(elenbaas: f64) -> f64 {
    let el = elenbaas.max(1e-12);
    el / 24.0 * (1.0 - (-35.0 / el).exp()).powf(0.75)
}

/// Gap, m, at which upright plates of one temperature on a given width give most heat, `2.714 L / Ra_L^(1/4)`, for thin plates.
/// Bar-Cohen and Rohsenow 1984.
#[must_use]
pub fn best_gap_isothermal_channel_bar_cohen_rohsenow(height_m: f64, rayleigh_of_height: f64) -> f64 {
    2.714 * height_m / rayleigh_of_height.max(1e-12).powf(0.25)
}

/// Nusselt number (gap S, ambient air) of fins that stand up from a level base:
/// `6.7e-4 Ra (1 - exp(-(7460 / Ra)^0.44))^1.7`, `Ra = g beta (Tw - Ta) S³ / (nu alpha)`, 200 to 6e5; for the fins' and the base's
/// faces together.
/// Jones and Smith, J. Heat Transfer 92 (1970) 6-10 (formula and range from memory).
#[must_use]
pub fn nusselt_level_fins_up_jones_smith(rayleigh_of_gap: f64) -> f64 {
    let ra = rayleigh_of_gap.max(1e-12);
    6.7e-4 * ra * (1.0 - (-(7460.0 / ra).powf(0.44)).exp()).powf(1.7)
}

/// Range of the Rayleigh number of the gap for the fins that stand up.
pub const JONES_SMITH_RANGE: (f64, f64) = (2e2, 6e5);

#[cfg(test)]
mod tests {
    use super::*;

    /// Cengel, example 9-3: plates 0.18 m high, 80 degC in air at 30 degC: Ra_L 1.845e7, best gap 7.45 mm, Nu 1.307 there (printed).
    #[test]
    fn best_gap_of_the_worked_example() {
        let ra = 9.81 * 0.003_048_780_487_8 * 50.0 * 0.18f64.powi(3) / 1.847e-5f64.powi(2) * 0.7215;
        let gap = best_gap_isothermal_channel_bar_cohen_rohsenow(0.18, ra);
        assert!((gap - 7.45e-3).abs() < 1e-5, "{gap}");
        // El = Ra_L (S / L)^4.
        let nusselt = nusselt_isothermal_channel_bar_cohen_rohsenow(ra * (gap / 0.18).powi(4));
        assert!((nusselt - 1.307).abs() < 1e-3, "{nusselt}");
    }

    /// Two independent relations over seven decades; Elenbaas' own figure scatters by about a tenth.
    #[test]
    fn elenbaas_and_bar_cohen_agree() {
        for k in -10..=50 {
            let el = 10f64.powf(0.1 * f64::from(k));
            let (a, b) =
                (nusselt_isothermal_channel_bar_cohen_rohsenow(el), nusselt_isothermal_channel_elenbaas(el));
            assert!((a / b - 1.0).abs() < 0.10, "El {el}: {a} against {b}");
        }
    }

    /// Plate spacing 6 mm, 60 mm high, 30 K, at 315 K: El 47.0394, Nu 1.2133837264 (evaluated independently).
    #[test]
    fn channel_by_hand() {
        let nusselt = nusselt_isothermal_channel_bar_cohen_rohsenow(47.039_403_515_9);
        assert!((nusselt / 1.213_383_726_4 - 1.0).abs() < 1e-9, "{nusselt}");
    }

    /// Wide gaps become a level plate on its own: within a third of `0.54 Ra^(1/4)` (McAdams) at the range's end, where the plate
    /// has its fins as walls; narrow gaps choke.
    #[test]
    fn level_fins_go_from_choked_to_a_plate() {
        let at = nusselt_level_fins_up_jones_smith;
        let plate = 0.54 * 4e5f64.powf(0.25);
        assert!((at(4e5) / plate - 1.0).abs() < 0.34, "{} against {plate}", at(4e5));
        // In the choked end the number falls in proportion to Ra, as any flow against friction does.
        assert!((at(20.0) / at(10.0) - 2.0).abs() < 0.02);
    }
}
