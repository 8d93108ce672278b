//! A symmetric positive definite matrix of few diagonals, and its Cholesky factor.

/// A symmetric matrix of which only the diagonal and so many below it are not 0, row by row.
#[derive(Debug, Clone)]
pub(super) struct Band {
    n: usize,
    below: usize,
    rows: Vec<f64>,
}

impl Band {
    /// `n` unknowns, `below` diagonals under the main one; all 0.
    pub fn new(n: usize, below: usize) -> Self {
        Self { n, below, rows: vec![0.0; n * (below + 1)] }
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * (self.below + 1) + self.below + j - i
    }

    /// Adds to the entry in row `i` and column `j`; of the upper half nothing is kept.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        if j <= i && i - j <= self.below && i < self.n {
            let at = self.at(i, j);
            self.rows[at] += value;
        }
    }

    /// An entry of the diagonal.
    pub fn diagonal(&self, i: usize) -> f64 {
        self.rows[self.at(i, i)]
    }

    /// The matrix times a vector.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut y = vec![0.0; self.n];
        for i in 0..self.n {
            for j in i.saturating_sub(self.below)..=i {
                let a = self.rows[self.at(i, j)];
                y[i] += a * x[j];
                if j < i {
                    y[j] += a * x[i];
                }
            }
        }
        y
    }

    /// Solves for one right side. A pivot that is not positive is taken as huge, which leaves its unknown at 0.
    pub fn solve(mut self, mut x: Vec<f64>) -> Vec<f64> {
        let width = self.below + 1;
        for i in 0..self.n {
            let first = i.saturating_sub(self.below);
            let (before, row) = self.rows.split_at_mut(i * width);
            for j in first..i {
                let other = &before[j * width..(j + 1) * width];
                let from = first.max(j.saturating_sub(self.below));
                let (a, b) = (self.below + from - i, self.below + from - j);
                let count = j - from;
                let dot: f64 = row[a..a + count].iter().zip(&other[b..b + count]).map(|(p, q)| p * q).sum();
                let at = self.below + j - i;
                row[at] = (row[at] - dot) / other[self.below];
            }
            let squares: f64 = row[self.below + first - i..self.below].iter().map(|v| v * v).sum();
            let pivot = row[self.below] - squares;
            row[self.below] = if pivot > 0.0 { pivot.sqrt() } else { f64::MAX.sqrt() };
            let known: f64 =
                row[self.below + first - i..self.below].iter().zip(&x[first..i]).map(|(l, v)| l * v).sum();
            x[i] = (x[i] - known) / row[self.below];
        }
        for i in (0..self.n).rev() {
            x[i] /= self.rows[i * width + self.below];
            for j in i.saturating_sub(self.below)..i {
                x[j] -= self.rows[self.at(i, j)] * x[i];
            }
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::Band;

    /// The second difference, whose inverse is known by hand.
    #[test]
    fn a_chain_of_springs_is_solved() {
        let n = 9;
        let mut chain = Band::new(n, 2);
        for i in 0..n {
            chain.add(i, i, 2.0);
            if i > 0 {
                chain.add(i, i - 1, -1.0);
            }
        }
        let load = vec![1.0; n];
        let x = chain.clone().solve(load.clone());
        for (i, v) in x.iter().enumerate() {
            let s = i as f64 + 1.0;
            assert!((v - 0.5 * s * (10.0 - s)).abs() < 1e-12, "{i}: {v}");
        }
        assert!(chain.times(&x).iter().zip(&load).all(|(a, b)| (a - b).abs() < 1e-12));
    }
}
