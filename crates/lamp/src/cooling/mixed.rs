//! Forced and natural convection together.

/// How the forced flow meets the flow that the warm air makes by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meeting {
    /// Along an upright face, with the rising air.
    Assisting,
    /// Along an upright face, against it.
    Opposing,
    /// Across an upright face.
    Across,
    /// Along a level face.
    Level,
}

/// Least share of the larger that is left where the two oppose: the relation goes to nothing where both are alike, which no air does
/// (our own, no source).
const LEAST_LEFT: f64 = 0.5;

/// Film of both, W/m²/K: `h^n = h_F^n + h_N^n`, with minus where they oppose; n = 3, and 7/2 for level plates.
/// Incropera et al., section 9.9, equation 9.64 in the 6th edition (numbers of section and equation, and 7/2, from memory; n = 3 is
/// checked against the laminar boundary layer of an upright plate, whose mean it meets within 3.5 %).
#[must_use]
pub fn film_mixed_incropera(forced: f64, natural: f64, meeting: Meeting) -> f64 {
    let n = if meeting == Meeting::Level { 3.5 } else { 3.0 };
    let larger = forced.max(natural);
    if larger <= 0.0 || !larger.is_finite() {
        return 0.0;
    }
    // Over the larger, so that nothing overflows.
    let smaller = (forced.min(natural).max(0.0) / larger).powf(n);
    if meeting == Meeting::Opposing {
        larger * (1.0 - smaller).powf(1.0 / n).max(LEAST_LEFT)
    } else {
        larger * (1.0 + smaller).powf(1.0 / n)
    }
}

/// `Gr / Re²` on a length: `g b dT L / v²`; about 1 where both convections are alike strong (Incropera et al., section 9.9).
#[must_use]
pub fn grashof_over_reynolds_squared(
    beta_per_k: f64,
    rise_k: f64,
    length_m: f64,
    velocity_m_per_s: f64,
) -> f64 {
    super::natural_convection::GRAVITY * beta_per_k * rise_k.abs() * length_m
        / velocity_m_per_s.powi(2).max(f64::MIN_POSITIVE)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 3 and 4 give (27 + 64)^(1/3) = 4.497941, against each other 37^(1/3) = 3.332222; level (3^3.5 + 4^3.5)^(2/7) = 4.397.
    #[test]
    fn forced_and_natural_by_hand() {
        for (meeting, exact) in
            [(Meeting::Assisting, 4.497_941), (Meeting::Across, 4.497_941), (Meeting::Opposing, 3.332_222)]
        {
            let found = film_mixed_incropera(3.0, 4.0, meeting);
            assert!((found - exact).abs() < 1e-6, "{meeting:?}: {found}");
        }
        let level = film_mixed_incropera(3.0, 4.0, Meeting::Level);
        assert!((level - (46.765_372f64 + 128.0).powf(2.0 / 7.0)).abs() < 1e-6, "{level}");
        // Alike and against each other, half is left; either alone is itself, whichever way they meet.
        assert_eq!(film_mixed_incropera(4.0, 4.0, Meeting::Opposing), 2.0);
        for meeting in [Meeting::Assisting, Meeting::Opposing, Meeting::Across, Meeting::Level] {
            assert_eq!(film_mixed_incropera(5.0, 0.0, meeting), 5.0);
            assert_eq!(film_mixed_incropera(0.0, 5.0, meeting), 5.0);
            assert_eq!(film_mixed_incropera(f64::NAN, -1.0, meeting), 0.0);
        }
        // 9.80665 x 0.003 x 50 x 0.06 / 0.25.
        assert!((grashof_over_reynolds_squared(3e-3, 50.0, 0.06, 0.5) - 0.353_039_4).abs() < 1e-6);
    }
}
