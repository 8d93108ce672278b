//! A solved field, readable anywhere.

use crate::grid::Grid;

/// A grid with a value in the middle of each cell.
#[derive(Debug, Clone, Copy)]
pub struct Field<'a> {
    grid: &'a Grid,
    values: &'a [f64],
}

/// The two nearest cell middles on an axis and the weight of the second; beyond the outermost middles, that one alone.
fn bracket(lines: &[f64], place: f64) -> Option<(usize, usize, f64)> {
    let (first, last) = (lines.first()?, lines.last()?);
    if !(*first..=*last).contains(&place) {
        return None;
    }
    let cells = lines.len() - 1;
    let above = lines.partition_point(|line| *line <= place).clamp(1, cells);
    let cell = above - 1;
    let middle = |i: usize| 0.5 * (lines[i] + lines[i + 1]);
    let other =
        if place < middle(cell) { cell.checked_sub(1) } else { (cell + 1 < cells).then_some(cell + 1) };
    let Some(other) = other else { return Some((cell, cell, 0.0)) };
    let (low, high) = (cell.min(other), cell.max(other));
    Some((low, high, (place - middle(low)) / (middle(high) - middle(low))))
}

impl<'a> Field<'a> {
    /// A field; `None` when the values do not fit the grid.
    #[must_use]
    pub fn new(grid: &'a Grid, values: &'a [f64]) -> Option<Self> {
        (values.len() == grid.cells()).then_some(Self { grid, values })
    }

    /// The value at a place, linear between cell middles; in the outer half of an outermost cell its middle's value.
    /// `None` outside the grid.
    #[must_use]
    pub fn at(&self, x_m: f64, y_m: f64, z_m: f64) -> Option<f64> {
        let (i0, i1, u) = bracket(self.grid.x_lines_m(), x_m)?;
        let (j0, j1, v) = bracket(self.grid.y_lines_m(), y_m)?;
        let (k0, k1, w) = bracket(self.grid.z_lines_m(), z_m)?;
        let value = |i, j, k| self.values[self.grid.index(i, j, k)];
        let along = |j, k| (1.0 - u) * value(i0, j, k) + u * value(i1, j, k);
        let across = |k| (1.0 - v) * along(j0, k) + v * along(j1, k);
        Some((1.0 - w) * across(k0) + w * across(k1))
    }
}
