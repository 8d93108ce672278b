//! The model fitted to the plateaus: what is now known of the uncertain values, how well, and what follows for the junctions.
//!
//! All plateaus of all variants and sensors together settle the departures of the uncertain values ([`lamp::uncertain`]) by least
//! squares with their spreads as priors ([`crate::least_squares`]); outlying plateaus weigh less, with all sensors read on them. Predictions come from the reduced variants
//! ([`lamp::reduced`]); what these are off by at the fitted values is found from the full model and told.

mod findings;
mod problem;
mod readings;
mod telling;
mod written;

#[cfg(test)]
mod tests;

use std::sync::atomic::AtomicBool;

use lamp::as_built::Lamp;
use lamp::reduced::ReducedLamp;
use nalgebra::DMatrix;

use crate::evaluation::PlateauFinding;
use crate::least_squares::{self, Fit, LeftOut, Options, Prior, Robust, leave_one_group_out};

pub(crate) use findings::grid_error_k;
pub use findings::{FitFindings, FittedPlateau, FittedValue, FurtherReading, JunctionFinding, TiedValues};
pub use problem::{gradient, predicted_rise_k};
pub use readings::{Reading, Readings};
pub use written::{Posterior, PosteriorError};

/// Weights of outlying plateaus.
const STUDENT: Robust = Robust::Student { freedom: 4.0 };

/// Why nothing was fitted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FitError {
    /// No plateau could be taken; why, one by one.
    NothingToFit(Vec<String>),
    /// The search failed, in words.
    Failed(String),
    /// Cancelled.
    Cancelled,
}

/// A fit with what it was made from.
pub struct Fitted {
    /// The readings.
    pub readings: Readings,
    /// The least squares.
    pub fit: Fit,
    /// Each plateau predicted from the others.
    pub left_out: Vec<LeftOut>,
}

/// Fits the lamp's uncertain values to its plateaus.
///
/// # Errors
/// When no plateau can be taken, the model has no answer at the values to start from, or when cancelled.
pub fn fit(
    plateaus: &[PlateauFinding],
    lamp: &Lamp,
    reduced: &ReducedLamp,
    cancel: &AtomicBool,
) -> Result<Fitted, FitError> {
    let readings = Readings::of(plateaus, lamp, reduced);
    if readings.fitted.is_empty() {
        return Err(FitError::NothingToFit(readings.left_out));
    }
    let priors: Vec<Prior> = reduced.uncertain.iter().map(|u| Prior::normal(0.0, u.spread)).collect();
    let groups = readings.plateaus();
    let options =
        Options { robust: STUDENT, value_tolerance: 1e-8, cancel: Some(cancel), ..Options::default() };
    let mut problem = problem::RiseProblem { reduced, readings: &readings.fitted };
    let start = vec![0.0; priors.len()];
    let fit = least_squares::fit(&mut problem, &start, &priors, &groups, &options)
        .map_err(|failure| FitError::Failed(failure.to_string()))?;
    if fit.ending == least_squares::Ending::Cancelled {
        return Err(FitError::Cancelled);
    }
    let left_out = leave_one_group_out(&mut problem, &fit, &priors, &options);
    Ok(Fitted { readings, fit, left_out })
}

impl Fitted {
    /// What is now known of the departures.
    #[must_use]
    pub fn posterior(&self, reduced: &ReducedLamp) -> Posterior {
        Posterior {
            uncertain: reduced.uncertain.clone(),
            departures: self.fit.x.clone(),
            covariance: self.fit.covariance.clone(),
            fitted: true,
        }
    }
}

impl Posterior {
    /// What is known before anything is measured.
    #[must_use]
    pub fn prior(reduced: &ReducedLamp) -> Self {
        let spreads: Vec<f64> = reduced.uncertain.iter().map(|u| u.spread * u.spread).collect();
        Self {
            uncertain: reduced.uncertain.clone(),
            departures: vec![0.0; spreads.len()],
            covariance: DMatrix::from_diagonal(&spreads.into()),
            fitted: false,
        }
    }

    /// Standard deviation of a quantity with this gradient over the departures.
    #[must_use]
    pub fn standard_of(&self, gradient: &[f64]) -> f64 {
        let gradient = nalgebra::DVector::from_column_slice(gradient);
        (gradient.transpose() * &self.covariance * &gradient)[(0, 0)].max(0.0).sqrt()
    }
}
