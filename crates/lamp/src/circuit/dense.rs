//! A small symmetric system of equations.

/// Solves `a x = b` for a symmetric positive definite matrix, row by row, by Cholesky's factors (Golub and Van Loan, Matrix
/// Computations, section 4.2, from memory). `None` where the matrix is not positive definite.
pub(super) fn solve(a: Vec<f64>, b: Vec<f64>) -> Option<Vec<f64>> {
    let factors = Factors::of(a, b.len())?;
    Some(factors.solve(b))
}

/// Cholesky's factors of a matrix, for several right sides.
pub(super) struct Factors {
    a: Vec<f64>,
    n: usize,
}

impl Factors {
    /// Factors a symmetric positive definite matrix of `n` rows; `None` where it is not.
    pub fn of(mut a: Vec<f64>, n: usize) -> Option<Self> {
        for column in 0..n {
            for row in column..n {
                let dot: f64 = (0..column).map(|k| a[row * n + k] * a[column * n + k]).sum();
                let rest = a[row * n + column] - dot;
                if row == column {
                    if !(rest > 0.0 && rest.is_finite()) {
                        return None;
                    }
                    a[row * n + row] = rest.sqrt();
                } else {
                    a[row * n + column] = rest / a[column * n + column];
                }
            }
        }
        Some(Self { a, n })
    }

    /// Solves for a right side.
    pub fn solve(&self, mut b: Vec<f64>) -> Vec<f64> {
        let (a, n) = (&self.a, self.n);
        for row in 0..n {
            let dot: f64 = (0..row).map(|k| a[row * n + k] * b[k]).sum();
            b[row] = (b[row] - dot) / a[row * n + row];
        }
        for row in (0..n).rev() {
            let dot: f64 = (row + 1..n).map(|k| a[k * n + row] * b[k]).sum();
            b[row] = (b[row] - dot) / a[row * n + row];
        }
        b
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn a_small_system_by_hand() {
        // Two and one ohm from one node to two others of which one is held: by hand.
        let x = super::solve(vec![4.0, 2.0, 2.0, 3.0], vec![10.0, 9.0]).unwrap();
        assert!((x[0] - 1.5).abs() < 1e-14 && (x[1] - 2.0).abs() < 1e-14, "{x:?}");
        assert_eq!(super::solve(vec![1.0, 2.0, 2.0, 1.0], vec![1.0, 1.0]), None);
    }
}
