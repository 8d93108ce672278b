//! What is left of the grid in a result, from two pitches.

/// An estimate of the value at vanishing pitch, and its doubt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// Extrapolated value.
    pub value: f64,
    /// Estimated error of the fine grid's value; not negative.
    pub fine_error: f64,
}

/// Richardson's extrapolation from a coarse and a fine value whose pitches stand as `ratio` (> 1), for an error that goes
/// as the pitch to the power `order` (> 0). Roache, J. Fluids Eng. 116 (1994) 405: e = (fine - coarse) / (ratio^order - 1).
#[must_use]
pub fn from_two_pitches(coarse: f64, fine: f64, ratio: f64, order: f64) -> Estimate {
    let correction = (fine - coarse) / (ratio.powf(order) - 1.0);
    Estimate { value: fine + correction, fine_error: correction.abs() }
}

#[cfg(test)]
mod tests {
    use super::from_two_pitches;

    #[test]
    fn a_quadratic_error_is_found() {
        // value(h) = 5 + 3 h²
        let estimate = from_two_pitches(5.0 + 3.0 * 0.04, 5.0 + 3.0 * 0.01, 2.0, 2.0);
        assert!((estimate.value - 5.0).abs() < 1e-12 && (estimate.fine_error - 0.03).abs() < 1e-12);
    }
}
