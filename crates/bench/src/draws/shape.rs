//! Distributions of one uncertain value, by their inverse cumulative functions.

use statrs::distribution::{ContinuousCDF, Normal};

/// How an uncertain value is distributed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation, at least 0.
        standard_deviation: f64,
    },
    /// Anywhere between two bounds alike.
    Uniform {
        /// Lower bound.
        low: f64,
        /// Upper bound, at least the lower.
        high: f64,
    },
    /// Likeliest at one value, falling straight to nothing at both bounds.
    Triangular {
        /// Lower bound.
        low: f64,
        /// Likeliest value.
        likeliest: f64,
        /// Upper bound.
        high: f64,
    },
    /// Its logarithm is normal.
    LogNormal {
        /// Median, above 0.
        median: f64,
        /// Factor by which one standard deviation raises or lowers it, at least 1.
        factor: f64,
    },
}

impl Shape {
    /// Mean 0, standard deviation 1.
    pub const STANDARD: Self = Self::Normal { mean: 0.0, standard_deviation: 1.0 };

    /// # Errors
    /// What is wrong with its numbers.
    pub fn check(&self) -> Result<(), String> {
        let sound = match *self {
            Self::Normal { mean, standard_deviation } => {
                mean.is_finite() && standard_deviation.is_finite() && standard_deviation >= 0.0
            }
            Self::Uniform { low, high } => low.is_finite() && high.is_finite() && low <= high,
            Self::Triangular { low, likeliest, high } => {
                low.is_finite() && high.is_finite() && low <= likeliest && likeliest <= high
            }
            Self::LogNormal { median, factor } => {
                median.is_finite() && median > 0.0 && factor.is_finite() && factor >= 1.0
            }
        };
        if sound {
            return Ok(());
        }
        Err(format!(
            "{self:?} is no distribution: deviations are at least 0, bounds ascend, a median is above 0 and a factor at least 1"
        ))
    }

    /// The value below which a part `p` of the draws lies; 0 < p < 1.
    #[must_use]
    pub fn quantile(&self, p: f64) -> f64 {
        match *self {
            Self::Normal { mean, standard_deviation } => mean + standard_deviation * standard_normal(p),
            Self::Uniform { low, high } => low + p * (high - low),
            Self::Triangular { low, likeliest, high } => {
                let span = high - low;
                let below = if span > 0.0 { (likeliest - low) / span } else { 1.0 };
                if p < below {
                    low + (p * span * (likeliest - low)).sqrt()
                } else {
                    high - ((1.0 - p) * span * (high - likeliest)).sqrt()
                }
            }
            Self::LogNormal { median, factor } => median * (factor.ln() * standard_normal(p)).exp(),
        }
    }
}

fn standard_normal(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}
