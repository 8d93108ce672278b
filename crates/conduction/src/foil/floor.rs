//! The coarsest level, solved directly.

use super::graph::Graph;

/// Lower Cholesky factor of a small matrix, row by row.
#[derive(Debug, Clone, Default)]
pub(super) struct Floor {
    size: usize,
    /// Row by row; the diagonal alone where nothing is joined.
    lower: Vec<f64>,
}

/// Part of a diagonal value below which what elimination leaves of it counts as 0: copper without a way to 0 V.
const NOTHING: f64 = 1e-9;

impl Floor {
    /// From a level of few blocks, or of blocks that nothing joins.
    pub fn new(graph: &Graph) -> Self {
        let size = graph.place.len();
        if graph.rows.entries() == 0 {
            return Self { size, lower: graph.ground.iter().map(|g| f64::from(*g).sqrt()).collect() };
        }
        let mut full = vec![0.0; size * size];
        for row in 0..size {
            full[row * size + row] += f64::from(graph.ground[row]);
            for (column, g) in graph.rows.row(row) {
                full[row * size + row] += f64::from(g);
                full[row * size + column as usize] -= f64::from(g);
            }
        }
        Self::factor(size, full)
    }

    fn factor(size: usize, mut a: Vec<f64>) -> Self {
        for i in 0..size {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|m| a[i * size + m] * a[j * size + m]).sum();
                let left = a[i * size + j] - sum;
                a[i * size + j] = if i == j {
                    if left > NOTHING * a[i * size + i] { left.sqrt() } else { 0.0 }
                } else if a[j * size + j] > 0.0 {
                    left / a[j * size + j]
                } else {
                    0.0
                };
            }
        }
        Self { size, lower: a }
    }

    /// The field of a right side; 0 where nothing leads to 0 V.
    pub fn solve(&self, b: &[f32], x: &mut [f32]) {
        let (n, l) = (self.size, &self.lower);
        if self.is_diagonal() {
            x.iter_mut().zip(b).zip(l).for_each(|((x, b), l)| *x = over(over(f64::from(*b), *l), *l) as f32);
            return;
        }
        let mut y = self.forwards(b, |_| {});
        for i in (0..n).rev() {
            let sum: f64 = (i + 1..n).map(|j| l[j * n + i] * y[j]).sum();
            y[i] = over(y[i] - sum, l[i * n + i]);
            x[i] = y[i] as f32;
        }
    }

    fn is_diagonal(&self) -> bool {
        self.lower.len() < self.size * self.size
    }

    /// Elimination of a right side; tells what is left of it where nothing leads to 0 V.
    fn forwards(&self, b: &[f32], mut left: impl FnMut(f64)) -> Vec<f64> {
        let (n, l) = (self.size, &self.lower);
        let mut y = vec![0.0; n];
        for i in 0..n {
            let sum: f64 = (0..i).map(|j| l[i * n + j] * y[j]).sum();
            if l[i * n + i] <= 0.0 {
                left(f64::from(b[i]) - sum);
            }
            y[i] = over(f64::from(b[i]) - sum, l[i * n + i]);
        }
        y
    }

    /// Pieces of copper into which more than a limit of current flows and that nothing leads to 0 V.
    pub fn floating(&self, b: &[f32], limit: f64) -> usize {
        let mut count = 0;
        let mut left = |ampere: f64| count += usize::from(ampere.abs() > limit);
        if self.is_diagonal() {
            b.iter().zip(&self.lower).filter(|(_, l)| **l <= 0.0).for_each(|(b, _)| left(f64::from(*b)));
        } else {
            self.forwards(b, left);
        }
        count
    }
}

fn over(value: f64, by: f64) -> f64 {
    if by > 0.0 { value / by } else { 0.0 }
}
