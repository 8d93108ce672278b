//! Radiation of a small grey surface to large surroundings at the temperature of the room.

/// Stefan-Boltzmann constant, W/m²/K⁴ (CODATA 2018).
pub const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

/// Heat transfer coefficient of radiation, W/m²/K: `h = e s (T + Ta) (T² + Ta²)`, so that `h (T - Ta)` is exactly
/// `e s (T⁴ - Ta⁴)` (Stefan-Boltzmann law; factorised). Temperatures in kelvin, emissivity 0..1.
#[must_use]
pub fn h_radiation(emissivity: f64, surface_k: f64, ambient_k: f64) -> f64 {
    emissivity * STEFAN_BOLTZMANN * (surface_k + ambient_k) * (surface_k * surface_k + ambient_k * ambient_k)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Emissivity 0.85, 340 K to 298.15 K, 0.01 m²: the fourth powers give 2.63225671214 W, h 6.28974124766 W/m²/K
    /// (Stefan-Boltzmann law with CODATA 2018; the library `ht` agrees, scaled from its older constant).
    #[test]
    fn radiation_is_the_difference_of_fourth_powers() {
        let h = h_radiation(0.85, 340.0, 298.15);
        assert!((h / 6.28974124766 - 1.0).abs() < 1e-10, "{h}");
        assert!((h * 0.01 * (340.0 - 298.15) / 2.63225671214 - 1.0).abs() < 1e-10);
    }

    /// Incropera et al., 6th ed., example 1.2: pipe of 70 mm at 473 K (e = 0.8, h = 15 W/m²/K) in a room at 298 K
    /// loses 998 W/m (printed, three figures).
    #[test]
    fn radiation_agrees_with_a_worked_example() {
        let per_metre =
            std::f64::consts::PI * 0.07 * (473.0 - 298.0) * (15.0 + h_radiation(0.8, 473.0, 298.0));
        assert!((per_metre - 998.0).abs() < 0.5, "{per_metre}");
    }

    /// Cengel, example 9-2: 0.6 m square plate at 90 degC, room 30 degC, e = 1: 182 W (printed, three figures).
    #[test]
    fn radiation_of_a_plate_agrees_with_a_worked_example() {
        let q = 0.36 * 60.0 * h_radiation(1.0, 363.0, 303.0);
        assert!((q - 182.0).abs() < 0.5, "{q}");
    }
}
