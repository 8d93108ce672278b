//! Which combinations of the unknowns the readings tell, and which they leave as the priors had them.

use nalgebra::{DMatrix, DVector, SVD};

use super::problem::Prior;

/// A combination of unknowns, independent of the other combinations before and after the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Direction {
    /// How far each unknown moves along it, in its prior standard deviations: a unit vector whose largest part is positive; 0 for
    /// unknowns without a prior.
    pub weights: Vec<f64>,
    /// Standard deviation along it after the readings over that before: 1 where they tell nothing.
    pub left: f64,
    /// Information that the readings gave along it, nats: `-ln(left)`.
    pub information_nats: f64,
}

impl Direction {
    /// The unknowns that make up most of it (nine tenths of its square), largest first, with their weights.
    #[must_use]
    pub fn mostly(&self) -> Vec<(usize, f64)> {
        let mut parts: Vec<(usize, f64)> = self.weights.iter().copied().enumerate().collect();
        parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        let mut square = 0.0;
        parts
            .into_iter()
            .take_while(|(_, weight)| {
                let more = square < 0.9;
                square += weight * weight;
                more
            })
            .collect()
    }
}

/// All directions of the unknowns with a prior, the least told first.
///
/// `jacobian`: derivatives of the weighted residuals of the readings (rows x unknowns). With the unknowns in prior standard
/// deviations the prior is a unit sphere, and the singular vectors of the derivatives are the combinations that are independent
/// before and after; a singular value `s` leaves `1 / sqrt(1 + s^2)`. Unknowns without a prior are first fitted away.
#[must_use]
pub fn directions(jacobian: &DMatrix<f64>, priors: &[Prior]) -> Vec<Direction> {
    let known: Vec<usize> = (0..priors.len()).filter(|j| priors[*j].is_known()).collect();
    let open: Vec<usize> = (0..priors.len()).filter(|j| !priors[*j].is_known()).collect();
    let rows = jacobian.nrows().max(known.len());
    let mut whitened = DMatrix::zeros(rows, known.len());
    for (place, j) in known.iter().enumerate() {
        let column = jacobian.column(*j) * priors[*j].standard_deviation;
        whitened.view_mut((0, place), (jacobian.nrows(), 1)).copy_from(&column);
    }
    fit_away(&mut whitened, jacobian, &open);
    if known.is_empty() {
        return Vec::new();
    }
    let triangle = whitened.qr().r();
    let Some(decomposed) = SVD::try_new(triangle, false, true, f64::EPSILON, 1000 * known.len()) else {
        return Vec::new();
    };
    let Some(right) = decomposed.v_t else { return Vec::new() };
    let direction = |k: usize| {
        let mut weights = vec![0.0; priors.len()];
        for (place, j) in known.iter().enumerate() {
            weights[*j] = right[(k, place)];
        }
        let largest = weights.iter().copied().max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(1.0);
        weights.iter_mut().for_each(|weight| *weight *= largest.signum());
        let information_nats = 0.5 * decomposed.singular_values[k].powi(2).ln_1p();
        Direction { weights, left: (-information_nats).exp(), information_nats }
    };
    let mut all: Vec<Direction> = (0..known.len()).map(direction).collect();
    all.sort_by(|a, b| b.left.total_cmp(&a.left));
    all
}

/// Takes out of each column what the columns of the unknowns without a prior can explain: twice Gram and Schmidt's way, which is
/// enough.
fn fit_away(whitened: &mut DMatrix<f64>, jacobian: &DMatrix<f64>, open: &[usize]) {
    let mut basis: Vec<DVector<f64>> = Vec::new();
    for j in open {
        let mut column = DVector::zeros(whitened.nrows());
        column.rows_mut(0, jacobian.nrows()).copy_from(&jacobian.column(*j));
        let before = column.norm();
        for one in basis.iter().chain(&basis) {
            let part = one.dot(&column);
            column.axpy(-part, one, 1.0);
        }
        if column.norm() > 1e-12 * before {
            basis.push(column.normalize());
        }
    }
    for mut column in whitened.column_iter_mut() {
        for one in basis.iter().chain(&basis) {
            let part = one.dot(&column);
            column.axpy(-part, one, 1.0);
        }
    }
}
