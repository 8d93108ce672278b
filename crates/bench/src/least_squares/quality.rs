//! Whether the model explains the readings at all.

use statrs::distribution::{ChiSquared, ContinuousCDF};

/// A sum of squared residuals with what would be expected of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChiSquare {
    /// Sum of the squares.
    pub value: f64,
    /// Degrees of freedom: what it is on average if model, deviations and priors are right.
    pub freedom: f64,
    /// Probability of a value at least as large in that case; absent without freedom.
    pub p_value: Option<f64>,
}

impl ChiSquare {
    /// Of a sum with its degrees of freedom (may be a fraction).
    #[must_use]
    pub fn new(value: f64, freedom: f64) -> Self {
        let distribution = (freedom > 1e-6).then(|| ChiSquared::new(freedom).ok()).flatten();
        Self { value, freedom, p_value: distribution.map(|distribution| distribution.sf(value)) }
    }
}
