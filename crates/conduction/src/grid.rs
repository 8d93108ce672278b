//! A rectilinear grid of cells.

use crate::error::GridError;

/// Grid lines on three axes, m. x and y lie in the plane; z is measured downwards from the top face. Cell (i, j, k) has
/// index (k·ny + j)·nx + i: x runs fastest.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    x_lines_m: Vec<f64>,
    y_lines_m: Vec<f64>,
    z_lines_m: Vec<f64>,
}

fn check(axis: char, lines: &[f64]) -> Result<(), GridError> {
    if lines.len() < 2 {
        return Err(GridError::TooFewLines { axis });
    }
    if !lines[0].is_finite() {
        return Err(GridError::NotAscending { axis, at: 0 });
    }
    match lines.windows(2).position(|pair| !(pair[1] > pair[0] && pair[1].is_finite())) {
        Some(at) => Err(GridError::NotAscending { axis, at: at + 1 }),
        None => Ok(()),
    }
}

/// The cell whose two lines enclose a place; both outermost lines belong to their cells.
fn cell_at(lines: &[f64], place: f64) -> Option<usize> {
    let (first, last) = (lines.first()?, lines.last()?);
    if !(*first..=*last).contains(&place) {
        return None;
    }
    let above = lines.partition_point(|line| *line <= place);
    Some(above.clamp(1, lines.len() - 1) - 1)
}

impl Grid {
    /// A grid from its lines, which must ascend strictly.
    pub fn new(x_lines_m: Vec<f64>, y_lines_m: Vec<f64>, z_lines_m: Vec<f64>) -> Result<Self, GridError> {
        check('x', &x_lines_m)?;
        check('y', &y_lines_m)?;
        check('z', &z_lines_m)?;
        Ok(Self { x_lines_m, y_lines_m, z_lines_m })
    }

    /// Cells along x.
    #[must_use]
    pub fn nx(&self) -> usize {
        self.x_lines_m.len() - 1
    }

    /// Cells along y.
    #[must_use]
    pub fn ny(&self) -> usize {
        self.y_lines_m.len() - 1
    }

    /// Cells along z.
    #[must_use]
    pub fn nz(&self) -> usize {
        self.z_lines_m.len() - 1
    }

    /// Cells in all.
    #[must_use]
    pub fn cells(&self) -> usize {
        self.nx() * self.ny() * self.nz()
    }

    /// Index of a cell.
    #[must_use]
    pub fn index(&self, i: usize, j: usize, k: usize) -> usize {
        (k * self.ny() + j) * self.nx() + i
    }

    /// Lines across x, m.
    #[must_use]
    pub fn x_lines_m(&self) -> &[f64] {
        &self.x_lines_m
    }

    /// Lines across y, m.
    #[must_use]
    pub fn y_lines_m(&self) -> &[f64] {
        &self.y_lines_m
    }

    /// Lines across z, m, downwards.
    #[must_use]
    pub fn z_lines_m(&self) -> &[f64] {
        &self.z_lines_m
    }

    /// The cell that holds a place; `None` outside.
    #[must_use]
    pub fn locate(&self, x_m: f64, y_m: f64, z_m: f64) -> Option<(usize, usize, usize)> {
        Some((cell_at(&self.x_lines_m, x_m)?, cell_at(&self.y_lines_m, y_m)?, cell_at(&self.z_lines_m, z_m)?))
    }
}
