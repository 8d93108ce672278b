//! Seeded draws of uncertain values: the same seed gives the same bits, whoever draws which part.
//!
//! A draw is found by its number alone, so that any number of threads may share the work. Points fill the unit cube evenly
//! (Sobol's sequence with nested uniform scrambling, A. B. Owen 1995, by hashing after B. Burley 2020, "Practical hash-based Owen
//! scrambling", Journal of Computer Graphics Techniques 9(4); library `sobol_burley`) and are turned into the distributions by
//! their inverse cumulative functions.

mod shape;
mod summary;

#[cfg(test)]
mod tests;

use nalgebra::{DMatrix, DVector};

pub use shape::Shape;
pub use summary::{Chance, Spread, chance, spread};

/// Draws that the sequence holds.
pub const MOST_DRAWS: u32 = 1 << 16;

/// Uncertain values to draw from.
#[derive(Debug, Clone)]
pub struct Draws {
    parts: Vec<Part>,
    seed: u32,
}

#[derive(Debug, Clone)]
enum Part {
    Alone(Shape),
    /// Mean, and lower triangle whose square is the covariance.
    Together(DVector<f64>, DMatrix<f64>),
}

impl Part {
    fn values(&self) -> usize {
        match self {
            Self::Alone(_) => 1,
            Self::Together(mean, _) => mean.len(),
        }
    }
}

impl Draws {
    /// Nothing to draw yet.
    #[must_use]
    pub fn new(seed: u32) -> Self {
        Self { parts: Vec::new(), seed }
    }

    /// Adds a value that hangs together with no other.
    ///
    /// # Errors
    /// What is wrong with the shape's numbers.
    pub fn and(mut self, shape: Shape) -> Result<Self, String> {
        shape.check()?;
        self.parts.push(Part::Alone(shape));
        Ok(self)
    }

    /// Adds normal values with a covariance (values x values), such as a fit's posterior.
    ///
    /// # Errors
    /// Where shapes differ, or the covariance is not symmetric, finite and positive semidefinite.
    pub fn and_together(mut self, mean: &[f64], covariance: &DMatrix<f64>) -> Result<Self, String> {
        let n = mean.len();
        if covariance.shape() != (n, n) {
            return Err(format!("{n} means have a covariance of {:?}", covariance.shape()));
        }
        let finite = mean.iter().chain(covariance.iter()).all(|v| v.is_finite());
        let lower = finite.then(|| half(covariance)).flatten();
        let lower = lower.ok_or("the covariance is not symmetric, finite and positive semidefinite")?;
        self.parts.push(Part::Together(DVector::from_column_slice(mean), lower));
        Ok(self)
    }

    /// Number of values in a draw.
    #[must_use]
    pub fn values(&self) -> usize {
        self.parts.iter().map(Part::values).sum()
    }

    /// The draw of this number, below [`MOST_DRAWS`] (numbers beyond begin anew): its values in the order in which they were added.
    #[must_use]
    pub fn draw(&self, number: u32) -> Vec<f64> {
        let mut values = Vec::with_capacity(self.values());
        for part in &self.parts {
            match part {
                Part::Alone(shape) => values.push(shape.quantile(self.even(number, values.len()))),
                Part::Together(mean, lower) => {
                    let begin = values.len();
                    let normal = |k: usize| Shape::STANDARD.quantile(self.even(number, begin + k));
                    let normals = DVector::from_fn(mean.len(), |k, _| normal(k));
                    values.extend((mean + lower * normals).iter());
                }
            }
        }
        values
    }

    /// A number within 0 and 1, never at the ends. Beyond the sequence's dimensions a further seed begins again at the first: such
    /// values are then independent, but no longer even together with those before.
    fn even(&self, number: u32, dimension: usize) -> f64 {
        const DIMENSIONS: usize = 256;
        let again = (dimension / DIMENSIONS) as u32;
        let seed = self.seed.wrapping_mul(0x9E37_79B9).wrapping_add(again.wrapping_mul(0x85EB_CA6B));
        let one = sobol_burley::sample(number % MOST_DRAWS, (dimension % DIMENSIONS) as u32, seed);
        // Steps of 2^-24: the middle of each, so that neither end is met.
        f64::from(one) + 0.5 / f64::from(1_u32 << 24)
    }
}

/// A matrix whose product with its transpose is `covariance`, by its eigenvectors: fit also for values that hang together wholly.
fn half(covariance: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let size = covariance.amax();
    if (covariance - covariance.transpose()).amax() > 1e-9 * size {
        return None;
    }
    let deviations = covariance.diagonal().map(|v| if v > 0.0 { v.sqrt() } else { 1.0 });
    let scaled = DMatrix::from_fn(covariance.nrows(), covariance.ncols(), |i, j| {
        0.5 * (covariance[(i, j)] + covariance[(j, i)]) / (deviations[i] * deviations[j])
    });
    let eigen = nalgebra::SymmetricEigen::try_new(scaled, f64::EPSILON, 10_000)?;
    if eigen.eigenvalues.iter().any(|value| *value < -1e-9) {
        return None;
    }
    let roots = DMatrix::from_diagonal(&eigen.eigenvalues.map(|value| value.max(0.0).sqrt()));
    Some(DMatrix::from_diagonal(&deviations) * &eigen.eigenvectors * roots)
}
