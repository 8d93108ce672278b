//! Residuals of the readings, each with its weight, above those of the priors: one system.

use nalgebra::{DMatrix, DVector};

use super::problem::{Linearised, Prior, Problem};

/// A problem with priors and weights.
pub struct Weighed<'a> {
    pub problem: &'a mut dyn Problem,
    pub priors: &'a [Prior],
    /// Weight of each reading's square; 0 leaves it out.
    pub weights: Vec<f64>,
    /// How often the model was asked.
    pub evaluations: usize,
}

/// The system at one place.
#[derive(Debug, Clone)]
pub struct System {
    pub readings: Linearised,
    /// Weighted residuals, those of the priors last.
    pub residuals: DVector<f64>,
    /// Their derivatives.
    pub jacobian: DMatrix<f64>,
}

impl System {
    pub fn square(&self) -> f64 {
        self.residuals.norm_squared()
    }
}

fn finite<'a>(mut values: impl Iterator<Item = &'a f64>) -> bool {
    values.all(|value| value.is_finite())
}

impl Weighed<'_> {
    fn known(&self) -> impl Iterator<Item = (usize, &Prior)> {
        self.priors.iter().enumerate().filter(|(_, prior)| prior.is_known())
    }

    fn stacked(&self, residuals: &[f64], x: &[f64]) -> DVector<f64> {
        let readings = residuals.iter().zip(&self.weights).map(|(r, w)| r * w.sqrt());
        let priors = self.known().map(|(j, prior)| (x[j] - prior.mean) / prior.standard_deviation);
        DVector::from_vec(readings.chain(priors).collect())
    }

    /// Residuals at `x`; `None` where the model has no answer or one that is not finite.
    pub fn residuals(&mut self, x: &[f64]) -> Option<DVector<f64>> {
        self.evaluations += 1;
        let residuals = self.problem.residuals(x)?;
        (residuals.len() == self.weights.len() && finite(residuals.iter()))
            .then(|| self.stacked(&residuals, x))
    }

    /// The whole system at `x`.
    pub fn system(&mut self, x: &[f64]) -> Option<System> {
        self.evaluations += 1;
        let readings = self.problem.linearised(x)?;
        let fits = readings.residuals.len() == self.weights.len()
            && readings.jacobian.shape() == (self.weights.len(), x.len());
        (fits && finite(readings.residuals.iter().chain(readings.jacobian.iter())))
            .then(|| self.system_of(readings, x))
    }

    /// The system of readings already evaluated at `x`, with the weights as they are now.
    pub fn system_of(&self, readings: Linearised, x: &[f64]) -> System {
        let rows = self.weights.len();
        let mut jacobian = DMatrix::zeros(rows + self.known().count(), x.len());
        for j in 0..x.len() {
            for (i, weight) in self.weights.iter().enumerate() {
                jacobian[(i, j)] = weight.sqrt() * readings.jacobian[(i, j)];
            }
        }
        for (place, (j, prior)) in self.known().enumerate() {
            jacobian[(rows + place, j)] = 1.0 / prior.standard_deviation;
        }
        let residuals = self.stacked(&readings.residuals, x);
        System { readings, residuals, jacobian }
    }
}
