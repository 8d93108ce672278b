//! Still air between two faces.

use crate::cooling::air::air;
use crate::cooling::radiation::STEFAN_BOLTZMANN;

/// Temperature at which air and radiation in the gap are taken, K: 60 degC. Between 25 and 110 degC the air conducts from 9 %
/// less to 12 % more.
pub const GAP_KELVIN: f64 = 333.15;
/// Emissivity of the board's back: mask, laminate or cured film.
pub const BACK_EMISSIVITY: f64 = 0.9;
/// Gaps wider than this may have convection in them, m: Rayleigh's number for 40 K over level air passes 1708, the value at which
/// cells begin (Incropera et al., section 9.8), at 9 mm; about half of it is kept as a distance.
pub const STILL_UP_TO_M: f64 = 5e-3;

/// Resistance times area of a gap of still air, m²K/W: `R = 1 / (k / d + h_r)` with conduction through the air and, beside it,
/// radiation between two large grey faces, `h_r = 4 s T³ / (1 / e1 + 1 / e2 - 1)` (Incropera et al., equation 13.19,
/// linearised), at [`GAP_KELVIN`].
///
/// `gap_m` 0 and more; `emissivity` of the heatsink's face, 0 to 1. Air molecules begin to matter one by one below about 1 µm,
/// which this leaves out: it is then too
/// good by about a quarter at 1 µm (from memory).
#[must_use]
pub fn air_gap_m2k_per_w(gap_m: f64, emissivity: f64) -> f64 {
    if gap_m <= 0.0 {
        return 0.0;
    }
    let radiation = if emissivity > 0.0 {
        4.0 * STEFAN_BOLTZMANN * GAP_KELVIN.powi(3)
            / (1.0 / BACK_EMISSIVITY + 1.0 / emissivity.min(1.0) - 1.0)
    } else {
        0.0
    };
    1.0 / (air(GAP_KELVIN).k_w_per_m_k / gap_m + radiation)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: air of 333.15 K conducts 0.02880 W/m/K (CoolProp's values, joined straight); black faces radiate
    /// 4 x 5.670e-8 x 333.15³ = 8.387 W/m²/K, and with 0.9 against 0.8 the part 1 / (1.1111 + 1.25 - 1) = 0.7347 of it.
    #[test]
    fn air_conducts_and_radiates() {
        let one_mm = 1.0 / air_gap_m2k_per_w(1e-3, 0.8);
        assert!((one_mm - (28.80 + 0.7347 * 8.387)).abs() < 0.02, "{one_mm}");
        // A tenth of a millimetre of air is as much as 10 mm of grease of 3 W/m/K.
        let thin = air_gap_m2k_per_w(1e-4, 0.8);
        assert!((thin * 3.0 - 10.2e-3).abs() < 0.2e-3, "{thin}");
        assert_eq!(air_gap_m2k_per_w(0.0, 0.8), 0.0);
        assert!(air_gap_m2k_per_w(1e-3, 0.0) > air_gap_m2k_per_w(1e-3, 0.1));
    }
}
