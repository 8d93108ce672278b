//! A grid's conductances seen from a few fields: the small matrices of the Galerkin projection.
//!
//! With fields as columns of V and the conductances as the matrix G of the difference equations, `V^T G V` is the sum over all
//! faces of `g d d^T`, where `d` holds each field's difference across the face (Benner, Gugercin, Willcox, SIAM Review 57 (2015)
//! 483-531, section 2: projection of a parametrised system).

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;

use crate::gridding::Gridded;

/// Fields side by side: for each cell the value of every field.
pub(super) struct Fields {
    /// Number of fields.
    pub count: usize,
    /// `count` values for each cell.
    values: Vec<f64>,
}

impl Fields {
    /// From fields of equal length, K.
    pub fn new(fields: &[Vec<f64>]) -> Self {
        let count = fields.len();
        let cells = fields.first().map_or(0, Vec::len);
        let mut values = vec![0.0; cells * count];
        for (f, field) in fields.iter().enumerate() {
            for (cell, value) in field.iter().enumerate() {
                values[cell * count + f] = *value;
            }
        }
        Self { count, values }
    }

    /// Every field's value in a cell.
    pub fn at(&self, cell: usize) -> &[f64] {
        &self.values[cell * self.count..(cell + 1) * self.count]
    }

    /// `sum w value` over cells: what the fields read with these weights.
    pub fn read(&self, weights: impl IntoIterator<Item = (usize, f64)>) -> DVector<f64> {
        let mut sum = DVector::zeros(self.count);
        for (cell, weight) in weights {
            for (s, v) in sum.iter_mut().zip(self.at(cell)) {
                *s += weight * v;
            }
        }
        sum
    }

    /// `sum w value value^T` over cells: conductances to the room, W/K.
    pub fn to_room(&self, conductances: impl IntoIterator<Item = (usize, f64)>) -> DMatrix<f64> {
        let mut half = Half::new(self.count);
        for (cell, g) in conductances {
            half.add(g, self.at(cell));
        }
        half.whole()
    }

    /// Conduction along all planes.
    pub fn along(&self, gridded: &Gridded) -> DMatrix<f64> {
        let plane = |plane: usize| {
            let mut half = Half::new(self.count);
            gridded.along(plane).for_each(|(a, b, g)| half.add_between(g, self.at(a), self.at(b)));
            half
        };
        sum((0..gridded.planes.len()).into_par_iter().map(plane).collect(), self.count)
    }

    /// The part of it that follows the substance of the planes that `of` names.
    pub fn following(&self, gridded: &Gridded, of: impl Fn(usize) -> bool + Sync) -> DMatrix<f64> {
        let plane = |plane: usize| {
            let mut half = Half::new(self.count);
            if of(plane) {
                gridded.following(plane).for_each(|(a, b, g)| half.add_between(g, self.at(a), self.at(b)));
            }
            half
        };
        sum((0..gridded.planes.len()).into_par_iter().map(plane).collect(), self.count)
    }

    /// Conduction from planes to the next below: `of` gives each plane's conductances by column, W/K, or nothing.
    pub fn through(&self, gridded: &Gridded, of: impl Fn(usize) -> Option<Vec<f64>> + Sync) -> DMatrix<f64> {
        let columns = gridded.plan.columns();
        let plane = |plane: usize| {
            let mut half = Half::new(self.count);
            for (column, g) in of(plane).unwrap_or_default().into_iter().enumerate() {
                if g != 0.0 {
                    let cell = plane * columns + column;
                    half.add_between(g, self.at(cell), self.at(cell + columns));
                }
            }
            half
        };
        let planes = gridded.planes.len().saturating_sub(1);
        sum((0..planes).into_par_iter().map(plane).collect(), self.count)
    }
}

/// The upper half of a symmetric sum of `g d d^T`.
struct Half {
    count: usize,
    sum: Vec<f64>,
    difference: Vec<f64>,
}

impl Half {
    fn new(count: usize) -> Self {
        Self { count, sum: vec![0.0; count * count], difference: vec![0.0; count] }
    }

    fn add(&mut self, g: f64, d: &[f64]) {
        for (i, di) in d.iter().enumerate() {
            let weighted = g * di;
            let row = &mut self.sum[i * self.count + i..(i + 1) * self.count];
            for (s, dj) in row.iter_mut().zip(&d[i..]) {
                *s += weighted * dj;
            }
        }
    }

    fn add_between(&mut self, g: f64, a: &[f64], b: &[f64]) {
        let mut difference = std::mem::take(&mut self.difference);
        for (d, (a, b)) in difference.iter_mut().zip(a.iter().zip(b)) {
            *d = a - b;
        }
        self.add(g, &difference);
        self.difference = difference;
    }

    fn whole(&self) -> DMatrix<f64> {
        let n = self.count;
        DMatrix::from_fn(n, n, |i, j| self.sum[i.min(j) * n + i.max(j)])
    }
}

/// In the order of the planes, whatever thread did which.
fn sum(halves: Vec<Half>, count: usize) -> DMatrix<f64> {
    halves.iter().fold(DMatrix::zeros(count, count), |sum, half| sum + half.whole())
}

/// A symmetric matrix that depends smoothly on one coordinate, by polynomial interpolation between Chebyshev points (Trefethen,
/// Approximation Theory and Approximation Practice, chapter 5: barycentric formula of the second kind).
pub(super) struct Curve {
    reach: f64,
    points: Vec<f64>,
    matrices: Vec<DMatrix<f64>>,
}

impl Curve {
    /// Over -`reach`..`reach` with `count` points, at each of which `at` gives the matrix.
    pub fn new(reach: f64, count: usize, at: impl Fn(f64) -> DMatrix<f64>) -> Self {
        let last = (count.max(2) - 1) as f64;
        let points: Vec<f64> =
            (0..count.max(2)).map(|k| reach * (std::f64::consts::PI * k as f64 / last).cos()).collect();
        let matrices = points.iter().map(|x| at(*x)).collect();
        Self { reach, points, matrices }
    }

    /// Whether a coordinate lies in its range.
    pub fn reaches(&self, x: f64) -> bool {
        x.abs() <= self.reach * (1.0 + 1e-9)
    }

    /// Adds the matrix at a coordinate to `into`.
    pub fn add_to(&self, into: &mut DMatrix<f64>, x: f64) {
        for (weight, matrix) in self.weights(x).iter().zip(&self.matrices) {
            if *weight != 0.0 {
                into.zip_apply(matrix, |sum, m| *sum += weight * m);
            }
        }
    }

    fn weights(&self, x: f64) -> Vec<f64> {
        if let Some(hit) = self.points.iter().position(|p| (p - x).abs() < 1e-13) {
            return (0..self.points.len()).map(|k| f64::from(u8::from(k == hit))).collect();
        }
        let last = self.points.len() - 1;
        let raw: Vec<f64> = self
            .points
            .iter()
            .enumerate()
            .map(|(k, p)| {
                let end = if k == 0 || k == last { 0.5 } else { 1.0 };
                let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
                sign * end / (x - p)
            })
            .collect();
        let sum: f64 = raw.iter().sum();
        raw.into_iter().map(|w| w / sum).collect()
    }

    /// The same seen from other fields: `T^T M T` at every point.
    pub fn transformed(mut self, by: &DMatrix<f64>) -> Self {
        self.matrices.iter_mut().for_each(|m| *m = by.tr_mul(&(&*m * by)));
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A conductance in series with a fixed one, the shape that films and bond lines have.
    #[test]
    fn a_curve_follows_a_series_conductance() {
        let g = |x: f64| 1.0 / (0.3 + (-x).exp());
        let curve = Curve::new(1.6, 9, |x| DMatrix::from_element(1, 1, g(x)));
        for x in [-1.6, -1.1, -0.37, 0.0, 0.5, 1.3, 1.6] {
            let mut found = DMatrix::zeros(1, 1);
            curve.add_to(&mut found, x);
            assert!((found[(0, 0)] / g(x) - 1.0).abs() < 2e-5, "{x}: {} {}", found[(0, 0)], g(x));
        }
        assert!(curve.reaches(1.6) && !curve.reaches(1.7));
    }
}
