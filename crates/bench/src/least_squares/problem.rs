//! What is to be fitted: residuals with their derivatives, and what was known of each unknown beforehand.

use nalgebra::DMatrix;

/// Residuals and their derivatives at one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Linearised {
    /// `(predicted - measured) / standard deviation of the measurement`, one for each reading.
    pub residuals: Vec<f64>,
    /// Derivatives of the residuals: a row a residual, a column an unknown; each per unit of its unknown.
    pub jacobian: DMatrix<f64>,
}

/// A model with its readings.
///
/// `None` says that the model has no answer at `x` (an operating point that runs away, a value beyond its range); the search
/// takes this as a step too far and never as a bad fit. The number of residuals must not depend on `x`.
pub trait Problem {
    /// Residuals and derivatives at `x`.
    fn linearised(&mut self, x: &[f64]) -> Option<Linearised>;

    /// Residuals alone, where they come cheaper without derivatives.
    fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        self.linearised(x).map(|here| here.residuals)
    }
}

impl<F: FnMut(&[f64]) -> Option<Linearised>> Problem for F {
    fn linearised(&mut self, x: &[f64]) -> Option<Linearised> {
        self(x)
    }
}

/// What is known of an unknown before any reading: a normal distribution, or nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Mean, in the unit of the unknown. Without influence where the deviation is infinite.
    pub mean: f64,
    /// Standard deviation, in the unit of the unknown; above 0. Infinite: nothing is known.
    pub standard_deviation: f64,
}

impl Prior {
    /// A normal distribution.
    #[must_use]
    pub const fn normal(mean: f64, standard_deviation: f64) -> Self {
        Self { mean, standard_deviation }
    }

    /// Nothing is known.
    pub const NONE: Self = Self { mean: 0.0, standard_deviation: f64::INFINITY };

    /// Whether anything is known.
    #[must_use]
    pub fn is_known(&self) -> bool {
        self.standard_deviation.is_finite()
    }
}
