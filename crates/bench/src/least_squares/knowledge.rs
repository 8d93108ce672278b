//! What is known of the unknowns, as a square root of the information: covariance, deviations, and what more readings would add.

use nalgebra::{DMatrix, DVector};

use super::factor::{Factor, column_norms};
use super::problem::Prior;

/// Rows whose squares add up to the information (inverse covariance) of the unknowns.
#[derive(Debug, Clone)]
pub struct Knowledge {
    rows: DMatrix<f64>,
    factor: Factor,
    root: DMatrix<f64>,
}

/// A gradient that reaches further than this part into untold directions has no deviation.
const REACH: f64 = 1e-6;

impl Knowledge {
    /// From rows of derivatives divided by their standard deviations (rows x unknowns). `None` where a value is not finite.
    #[must_use]
    pub fn new(rows: DMatrix<f64>) -> Option<Self> {
        let nothing = DVector::zeros(rows.nrows());
        let factor = Factor::new(&rows, column_norms(&rows), &nothing)?;
        let root = factor.inverse_root();
        Some(Self { rows, factor, root })
    }

    /// From readings' rows and priors.
    #[must_use]
    pub fn of(jacobian: &DMatrix<f64>, priors: &[Prior]) -> Option<Self> {
        let known: Vec<(usize, &Prior)> =
            priors.iter().enumerate().filter(|(_, prior)| prior.is_known()).collect();
        let mut rows = DMatrix::zeros(jacobian.nrows() + known.len(), priors.len());
        rows.rows_mut(0, jacobian.nrows()).copy_from(jacobian);
        for (place, (j, prior)) in known.iter().enumerate() {
            rows[(jacobian.nrows() + place, *j)] = 1.0 / prior.standard_deviation;
        }
        Self::new(rows)
    }

    /// With further readings: rows of derivatives divided by their standard deviations.
    #[must_use]
    pub fn with(&self, further: &DMatrix<f64>) -> Option<Self> {
        let before = self.rows.nrows();
        let mut rows = DMatrix::zeros(before + further.nrows(), self.rows.ncols());
        rows.rows_mut(0, before).copy_from(&self.rows);
        rows.rows_mut(before, further.nrows()).copy_from(further);
        Self::new(rows)
    }

    /// Standard deviation of a quantity with this gradient (per unit of each unknown); infinite where the quantity depends on
    /// what is told neither by readings nor by priors.
    #[must_use]
    pub fn standard_deviation_of(&self, gradient: &[f64]) -> f64 {
        if self.factor.reach_into_untold(gradient) > REACH {
            return f64::INFINITY;
        }
        (&self.root * DVector::from_column_slice(gradient)).norm()
    }

    /// Covariance of two quantities by their gradients, over the told directions.
    #[must_use]
    pub fn covariance_of(&self, one: &[f64], other: &[f64]) -> f64 {
        let along = |gradient: &[f64]| &self.root * DVector::from_column_slice(gradient);
        along(one).dot(&along(other))
    }

    /// Covariance of the unknowns over the told directions.
    #[must_use]
    pub fn covariance(&self) -> DMatrix<f64> {
        self.root.tr_mul(&self.root)
    }

    /// Standard deviation of each unknown; infinite where untold.
    #[must_use]
    pub fn standard_deviations(&self) -> Vec<f64> {
        let n = self.rows.ncols();
        let unit = |j: usize| (0..n).map(|i| if i == j { 1.0 } else { 0.0 }).collect::<Vec<f64>>();
        (0..n).map(|j| self.standard_deviation_of(&unit(j))).collect()
    }

    /// Correlations of the unknowns, 1 on the diagonal; 0 beside an untold unknown.
    #[must_use]
    pub fn correlations(&self) -> DMatrix<f64> {
        let (covariance, deviations) = (self.covariance(), self.standard_deviations());
        DMatrix::from_fn(deviations.len(), deviations.len(), |i, j| {
            let size = deviations[i] * deviations[j];
            if i == j {
                1.0
            } else if size > 0.0 && size.is_finite() {
                (covariance[(i, j)] / size).clamp(-1.0, 1.0)
            } else {
                0.0
            }
        })
    }

    /// Directions that neither readings nor priors tell: parts of each unknown, as unit vectors of the unknowns scaled by what
    /// their columns are worth, largest part positive.
    #[must_use]
    pub fn untold(&self) -> Vec<Vec<f64>> {
        self.factor.untold().iter().map(|direction| direction.iter().copied().collect()).collect()
    }

    /// Leverage of each row given: the part of its reading that it settles itself, 0 to 1, for rows that this knowledge holds.
    #[must_use]
    pub fn leverages(&self, rows: &DMatrix<f64>) -> Vec<f64> {
        let along = rows * self.root.transpose();
        (0..rows.nrows()).map(|i| along.row(i).norm_squared().min(1.0)).collect()
    }
}

/// A reading not yet taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What it is ("heatsink base logged at every plateau").
    pub name: String,
    /// Derivatives of what it would read, each divided by its standard deviation (readings x unknowns).
    pub rows: DMatrix<f64>,
}

/// What a further reading would tell of a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Worth {
    /// Place of the candidate in the list given.
    pub candidate: usize,
    /// Standard deviation of the quantity now.
    pub before: f64,
    /// And with the reading.
    pub after: f64,
}

/// Candidates by what they would tell of the quantity with this gradient, the best first; equal ones in the order given.
///
/// To first order: the reading's value is not needed, only its derivatives (D. V. Lindley 1956, "On a measure of the information
/// provided by an experiment", Annals of Mathematical Statistics 27).
#[must_use]
pub fn rank_further_readings(
    knowledge: &Knowledge,
    gradient: &[f64],
    candidates: &[Candidate],
) -> Vec<Worth> {
    let before = knowledge.standard_deviation_of(gradient);
    let worth = |(candidate, one): (usize, &Candidate)| {
        let after = knowledge.with(&one.rows)?.standard_deviation_of(gradient);
        Some(Worth { candidate, before, after: after.min(before) })
    };
    let mut ranked: Vec<Worth> = candidates.iter().enumerate().filter_map(worth).collect();
    ranked.sort_by(|a, b| a.after.total_cmp(&b.after));
    ranked
}
