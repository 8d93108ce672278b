//! The grid seen from above.

/// Grid lines in plan.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// Lines across x, nm, ascending.
    pub x_nm: Vec<f64>,
    /// Lines across y, nm, ascending.
    pub y_nm: Vec<f64>,
}

impl Plan {
    pub fn nx(&self) -> usize {
        self.x_nm.len().saturating_sub(1)
    }

    pub fn ny(&self) -> usize {
        self.y_nm.len().saturating_sub(1)
    }

    /// Number of columns of cells.
    pub fn columns(&self) -> usize {
        self.nx() * self.ny()
    }

    /// Width of a cell, m.
    pub fn dx_m(&self, i: usize) -> f64 {
        1e-9 * (self.x_nm[i + 1] - self.x_nm[i])
    }

    /// Height of a cell in plan, m.
    pub fn dy_m(&self, j: usize) -> f64 {
        1e-9 * (self.y_nm[j + 1] - self.y_nm[j])
    }

    /// Area of each column, m², x fastest.
    pub fn areas_m2(&self) -> Vec<f64> {
        let dx: Vec<f64> = (0..self.nx()).map(|i| self.dx_m(i)).collect();
        (0..self.ny())
            .flat_map(|j| dx.iter().map(move |dx| (dx, j)))
            .map(|(dx, j)| dx * self.dy_m(j))
            .collect()
    }

    /// Finest pitch, m.
    pub fn finest_m(&self) -> f64 {
        let x = (0..self.nx()).map(|i| self.dx_m(i));
        let y = (0..self.ny()).map(|j| self.dy_m(j));
        x.chain(y).fold(f64::INFINITY, f64::min)
    }

    /// Centre of a column, mm.
    pub fn centre_mm(&self, column: usize) -> [f64; 2] {
        let (i, j) = (column % self.nx().max(1), column / self.nx().max(1));
        [5e-7 * (self.x_nm[i] + self.x_nm[i + 1]), 5e-7 * (self.y_nm[j] + self.y_nm[j + 1])]
    }
}
