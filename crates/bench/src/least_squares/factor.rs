//! Orthogonal factors of a tall matrix whose columns are scaled first: `A D^-1 = Q U S V^T`, by Householder reflections and the
//! singular values of the small triangle. Normal equations are never formed: they would square the condition number.

use nalgebra::{DMatrix, DVector, SVD};

/// Factors of a matrix of `n` columns.
#[derive(Debug, Clone)]
pub struct Factor {
    /// Divisor of each column.
    scale: DVector<f64>,
    /// Singular values of the scaled matrix, largest first.
    singular: DVector<f64>,
    /// Right singular vectors, one a column.
    right: DMatrix<f64>,
    /// The right-hand side along the left singular vectors.
    along: DVector<f64>,
    /// Singular values up to this are rounding.
    floor: f64,
}

/// Euclidean norms of the columns; 1 for a column of zeros, so that it may be divided by.
pub fn column_norms(matrix: &DMatrix<f64>) -> DVector<f64> {
    let norm = |column: usize| Some(matrix.column(column).norm()).filter(|n| *n > 0.0).unwrap_or(1.0);
    DVector::from_iterator(matrix.ncols(), (0..matrix.ncols()).map(norm))
}

impl Factor {
    /// Factors `matrix` (rows x n) with its columns divided by `scale`, for the right-hand side `rhs` (one a row). `None` where a
    /// value is not finite.
    pub fn new(matrix: &DMatrix<f64>, scale: DVector<f64>, rhs: &DVector<f64>) -> Option<Self> {
        let (rows, n) = matrix.shape();
        let tall = rows.max(n);
        // One step of reflections for matrix and right-hand side together.
        let mut work = DMatrix::zeros(tall, n);
        for (j, divisor) in scale.iter().enumerate() {
            work.view_mut((0, j), (rows, 1)).copy_from(&(matrix.column(j) / *divisor));
        }
        let mut side = DVector::zeros(tall);
        side.rows_mut(0, rows).copy_from(rhs);
        if !work.iter().chain(side.iter()).all(|value| value.is_finite()) {
            return None;
        }
        let reflections = work.qr();
        reflections.q_tr_mul(&mut side);
        let decomposed = SVD::try_new(reflections.r(), true, true, f64::EPSILON, 1000 * n.max(1))?;
        let (left, right) = (decomposed.u?, decomposed.v_t?.transpose());
        let along = left.tr_mul(&side.rows(0, n));
        let singular = decomposed.singular_values;
        let floor = f64::EPSILON * tall as f64 * singular.max();
        Some(Self { scale, singular, right, along, floor })
    }

    fn told(&self, k: usize) -> bool {
        self.singular[k] > self.floor
    }

    /// How much the sum of squares falls if the problem is linear and the whole step is taken.
    pub fn gain(&self) -> f64 {
        (0..self.singular.len()).filter(|k| self.told(*k)).map(|k| self.along[k].powi(2)).sum()
    }

    /// Directions that the matrix does not tell, as unit vectors of the scaled unknowns.
    pub fn untold(&self) -> Vec<DVector<f64>> {
        (0..self.singular.len())
            .filter(|k| !self.told(*k))
            .map(|k| self.right.column(k).into_owned())
            .collect()
    }

    /// Scaled length of the step damped by `damping`, and its derivative by it.
    fn length(&self, damping: f64) -> (f64, f64) {
        let (mut square, mut slope) = (0.0, 0.0);
        for k in (0..self.singular.len()).filter(|k| self.told(*k)) {
            let s = self.singular[k];
            let part = s * self.along[k] / (s * s + damping);
            square += part * part;
            slope -= part * part / (s * s + damping);
        }
        let length = square.sqrt();
        (length, if length > 0.0 { slope / length } else { 0.0 })
    }

    /// Step that lessens the sum of squares most, damped by `damping` (0: not at all), for a right-hand side given by its parts
    /// along the left singular vectors.
    fn step_for(&self, along: &DVector<f64>, damping: f64) -> DVector<f64> {
        let part = |k: usize| {
            let s = self.singular[k];
            if self.told(k) { -s * along[k] / (s * s + damping) } else { 0.0 }
        };
        let parts = DVector::from_iterator(self.singular.len(), (0..self.singular.len()).map(part));
        (&self.right * parts).component_div(&self.scale)
    }

    /// The step for the right-hand side given.
    pub fn step(&self, damping: f64) -> DVector<f64> {
        self.step_for(&self.along, damping)
    }

    /// The step for another right-hand side of the same matrix, by its slope: good enough for a correction.
    pub fn step_against(&self, matrix: &DMatrix<f64>, rhs: &DVector<f64>, damping: f64) -> DVector<f64> {
        let slope = matrix.tr_mul(rhs).component_div(&self.scale);
        let mut along = self.right.tr_mul(&slope);
        for k in 0..along.len() {
            along[k] = if self.told(k) { along[k] / self.singular[k] } else { 0.0 };
        }
        self.step_for(&along, damping)
    }

    /// How much the linear problem's sum of squares falls by the damped step.
    pub fn gain_damped(&self, damping: f64) -> f64 {
        let part = |k: usize| {
            let left = damping / (self.singular[k].powi(2) + damping);
            self.along[k].powi(2) * (1.0 - left * left)
        };
        (0..self.singular.len()).filter(|k| self.told(*k)).map(part).sum()
    }

    /// The least damping whose step is no longer than `radius` (scaled), to a tenth of it: Newton's method on the reciprocal of
    /// the length, which is nearly straight (J. J. More 1978, "The Levenberg-Marquardt algorithm", Lecture Notes in Mathematics
    /// 630).
    pub fn damping_for(&self, radius: f64) -> f64 {
        let (length, slope) = self.length(0.0);
        if length <= 1.1 * radius || slope >= 0.0 {
            return 0.0;
        }
        let (mut low, mut damping) = (0.0_f64, (length / radius - 1.0) * length / -slope);
        let mut high = f64::INFINITY;
        for _ in 0..60 {
            let (length, slope) = self.length(damping);
            if (length - radius).abs() <= 0.1 * radius {
                break;
            }
            if length > radius {
                low = low.max(damping)
            } else {
                high = high.min(damping)
            }
            let next = damping + (length / radius - 1.0) * length / -slope;
            damping = if next > low && next < high {
                next
            } else if high.is_finite() {
                0.5 * (low + high)
            } else {
                2.0 * damping
            };
        }
        damping
    }

    /// Scaled length of a step.
    pub fn scaled_length(&self, step: &DVector<f64>) -> f64 {
        step.component_mul(&self.scale).norm()
    }

    /// Matrix whose rows times a gradient give what is unknown of it: `T = S^-1 V^T D^-1`, so that `T^T T` is the inverse of
    /// `A^T A` over the told directions.
    pub fn inverse_root(&self) -> DMatrix<f64> {
        let n = self.singular.len();
        DMatrix::from_fn(n, n, |k, j| {
            if self.told(k) { self.right[(j, k)] / (self.scale[j] * self.singular[k]) } else { 0.0 }
        })
    }

    /// How far `gradient` reaches into directions that are not told, as a part of its scaled length.
    pub fn reach_into_untold(&self, gradient: &[f64]) -> f64 {
        let scaled = DVector::from_fn(self.scale.len(), |j, _| gradient[j] / self.scale[j]);
        let length = scaled.norm();
        let into: f64 = self.untold().iter().map(|direction| direction.dot(&scaled).powi(2)).sum();
        if length > 0.0 { into.sqrt() / length } else { 0.0 }
    }
}
