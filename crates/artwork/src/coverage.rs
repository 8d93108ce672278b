//! How much of each cell of a rectilinear grid an area covers: exact, by signed areas, not sampled.
//!
//! Every directed edge of a contour adds, in each grid row it crosses, the part of each cell to its right, signed by
//! its direction (the divergence theorem: the area is the closed integral of -x dy). In units of a cell's own area the
//! cells wholly to the right of an edge all get the same share, so a row needs one running sum at the end. The work is
//! proportional to the cells that edges cross, plus the cells of the grid.

use crate::shape::{Area, Contour, Point, Polygon};

/// Fraction (0 to 1) of each cell of the grid that `area` covers.
///
/// `x_lines_nm` and `y_lines_nm` are the grid lines in nanometres, strictly ascending, unequal distances allowed; the
/// answer has `(x_lines - 1) * (y_lines - 1)` values, x fastest, lowest y first. The polygons of the area must not
/// overlap (as [`Area`] promises); parts outside the grid count for nothing. Exact up to rounding in f64 (1e-12 and
/// better). With fewer than two lines the answer is empty; with lines that do not ascend every value is NaN.
#[must_use]
pub fn coverage(area: &Area, x_lines_nm: &[f64], y_lines_nm: &[f64]) -> Vec<f64> {
    let cells = x_lines_nm.len().saturating_sub(1) * y_lines_nm.len().saturating_sub(1);
    let mut share = Vec::with_capacity(cells);
    coverage_by_rows(&area.polygons, x_lines_nm, y_lines_nm, |_, row| share.extend_from_slice(row));
    share
}

/// As [`coverage`], of polygons that do not overlap, handed on row by row from the lowest y: nothing is kept of a grid of
/// millions of cells but what edges cross.
pub fn coverage_by_rows<'a>(
    polygons: impl IntoIterator<Item = &'a Polygon>,
    x_lines_nm: &[f64],
    y_lines_nm: &[f64],
    mut see: impl FnMut(usize, &[f64]),
) {
    let (nx, ny) = (x_lines_nm.len().saturating_sub(1), y_lines_nm.len().saturating_sub(1));
    if nx == 0 || ny == 0 {
        return;
    }
    if !ascends(x_lines_nm) || !ascends(y_lines_nm) {
        let unknown = vec![f64::NAN; nx];
        (0..ny).for_each(|row| see(row, &unknown));
        return;
    }
    let mut sums = ShareSums { x: x_lines_nm, y: y_lines_nm, nx, changes: vec![Vec::new(); ny] };
    for polygon in polygons {
        sums.add_contour(&polygon.outer);
        for hole in &polygon.holes {
            sums.add_contour(hole);
        }
    }
    sums.sum_up(&mut see);
}

fn ascends(lines: &[f64]) -> bool {
    lines.iter().all(|v| v.is_finite()) && lines.windows(2).all(|w| w[0] < w[1])
}

/// Where along x the covered share changes, row by row, until [`ShareSums::sum_up`] sums the changes.
struct ShareSums<'a> {
    x: &'a [f64],
    y: &'a [f64],
    nx: usize,
    /// Columns and by how much the share of it and of all beyond it changes.
    changes: Vec<Vec<(u32, f64)>>,
}

impl ShareSums<'_> {
    fn add_contour(&mut self, contour: &Contour) {
        let Some(&last) = contour.last() else { return };
        let mut from = last;
        for &to in contour {
            self.add_edge(from, to);
            from = to;
        }
    }

    /// Cuts an edge at the grid's rows. Upward edges close what downward edges open: hence the sign.
    fn add_edge(&mut self, from: Point, to: Point) {
        if from.y_nm == to.y_nm {
            return;
        }
        let (low, high, sign) = if from.y_nm < to.y_nm { (from, to, -1.0) } else { (to, from, 1.0) };
        let (x0, y0) = (f64::from(low.x_nm), f64::from(low.y_nm));
        let (x1, y1) = (f64::from(high.x_nm), f64::from(high.y_nm));
        let slope = (x1 - x0) / (y1 - y0);
        let ny = self.y.len() - 1;
        let mut row = self.y.partition_point(|&line| line <= y0).saturating_sub(1);
        while row < ny && self.y[row] < y1 {
            let (bottom, top) = (self.y[row], self.y[row + 1]);
            if top > y0 {
                let (ya, xa) = if bottom > y0 { (bottom, x0 + slope * (bottom - y0)) } else { (y0, x0) };
                let (yb, xb) = if top < y1 { (top, x0 + slope * (top - y0)) } else { (y1, x1) };
                self.add_in_row(row, xa.min(xb), xa.max(xb), sign * (yb - ya) / (top - bottom));
            }
            row += 1;
        }
    }

    /// Adds a straight piece inside one row, from `xa` to `xb` (`xa <= xb`), that takes `height` of the row's height.
    fn add_in_row(&mut self, row: usize, xa: f64, xb: f64, height: f64) {
        let mut column = self.x.partition_point(|&line| line <= xa);
        let (mut left, mut rest) = (xa, height);
        loop {
            let right_line = self.x.get(column).copied().unwrap_or(f64::INFINITY);
            if right_line >= xb {
                self.add_in_cell(row, column, 0.5 * (left + xb), rest);
                return;
            }
            let part = height * (right_line - left) / (xb - xa);
            self.add_in_cell(row, column, 0.5 * (left + right_line), part);
            rest -= part;
            left = right_line;
            column += 1;
        }
    }

    /// Adds a piece inside one cell, `column` counted from 1 (0: left of the grid), at mean position `x_mean`.
    fn add_in_cell(&mut self, row: usize, column: usize, x_mean: f64, height: f64) {
        let changes = &mut self.changes[row];
        if column == 0 {
            changes.push((0, height));
        } else if column <= self.nx {
            let (left, right) = (self.x[column - 1], self.x[column]);
            let here = height * (right - x_mean) / (right - left);
            changes.push(((column - 1) as u32, here));
            if column < self.nx {
                changes.push((column as u32, height - here));
            }
        }
    }

    fn sum_up(self, mut see: impl FnMut(usize, &[f64])) {
        let mut share = vec![0.0; self.nx];
        for (row, mut changes) in self.changes.into_iter().enumerate() {
            // Stable, so that changes of one cell add up in the order of the edges.
            changes.sort_by_key(|change| change.0);
            let (mut running, mut from) = (0.0f64, 0);
            let mut left = changes.as_slice();
            while let Some(&(column, _)) = left.first() {
                let column = column as usize;
                share[from..column].fill(running.clamp(0.0, 1.0));
                let here = left.iter().take_while(|change| change.0 as usize == column).count();
                running += left[..here].iter().map(|change| change.1).sum::<f64>();
                (from, left) = (column, &left[here..]);
            }
            share[from..].fill(running.clamp(0.0, 1.0));
            see(row, &share);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::coverage;
    use crate::shape::{Area, Contour, Point, Polygon};
    use proptest::prelude::*;

    fn contour(points: &[(i32, i32)]) -> Contour {
        points.iter().map(|&(x_nm, y_nm)| Point { x_nm, y_nm }).collect()
    }

    fn one(outer: &[(i32, i32)], holes: &[&[(i32, i32)]]) -> Area {
        let holes = holes.iter().map(|h| contour(h)).collect();
        Area { polygons: vec![Polygon { outer: contour(outer), holes }] }
    }

    fn assert_close(found: &[f64], expected: &[f64]) {
        assert_eq!(found.len(), expected.len());
        for (f, e) in found.iter().zip(expected) {
            assert!((f - e).abs() < 1e-12, "{found:?} against {expected:?}");
        }
    }

    /// Shoelace area of the contours, nm².
    fn shoelace(area: &Area) -> f64 {
        let of = |c: &Contour| -> f64 {
            let next = c.iter().cycle().skip(1);
            let cross = |p: &Point, q: &Point| {
                f64::from(p.x_nm) * f64::from(q.y_nm) - f64::from(q.x_nm) * f64::from(p.y_nm)
            };
            c.iter().zip(next).map(|(p, q)| 0.5 * cross(p, q)).sum()
        };
        area.polygons.iter().map(|p| of(&p.outer) + p.holes.iter().map(of).sum::<f64>()).sum()
    }

    fn total(cells: &[f64], x: &[f64], y: &[f64]) -> f64 {
        let nx = x.len() - 1;
        cells.iter().enumerate().fold(0.0, |sum, (k, c)| {
            let (i, j) = (k % nx, k / nx);
            sum + c * (x[i + 1] - x[i]) * (y[j + 1] - y[j])
        })
    }

    #[test]
    fn a_rectangle_on_unequal_cells_by_hand() {
        let area = one(&[(5, 2), (25, 2), (25, 8), (5, 8)], &[]);
        let found = coverage(&area, &[0.0, 10.0, 20.0, 40.0], &[0.0, 4.0, 10.0]);
        assert_close(&found, &[0.25, 0.5, 0.125, 1.0 / 3.0, 2.0 / 3.0, 1.0 / 6.0]);
    }

    #[test]
    fn a_triangle_by_hand() {
        // Half of the diagonal cells, the whole of the cell below the diagonal.
        let area = one(&[(0, 0), (20, 0), (20, 20)], &[]);
        assert_close(&coverage(&area, &[0.0, 10.0, 20.0], &[0.0, 10.0, 20.0]), &[0.5, 1.0, 0.0, 0.5]);
    }

    #[test]
    fn a_hole_is_not_covered() {
        let area = one(&[(0, 0), (30, 0), (30, 10), (0, 10)], &[&[(10, 0), (10, 10), (20, 10), (20, 0)]]);
        assert_close(&coverage(&area, &[0.0, 10.0, 20.0, 30.0], &[0.0, 10.0]), &[1.0, 0.0, 1.0]);
    }

    #[test]
    fn what_lies_outside_the_grid_counts_for_nothing() {
        let area = one(&[(-50, -50), (50, -50), (50, 50), (-50, 50)], &[]);
        assert_close(&coverage(&area, &[-10.0, 0.0, 10.0], &[-1.0, 1.0]), &[1.0, 1.0]);
        assert_close(&coverage(&area, &[60.0, 70.0], &[0.0, 1.0]), &[0.0]);
        assert_close(&coverage(&area, &[-90.0, -80.0], &[0.0, 1.0]), &[0.0]);
        assert_close(&coverage(&area, &[40.0, 60.0], &[40.0, 80.0]), &[0.125]);
    }

    #[test]
    fn improper_lines_are_told_by_nan() {
        let area = one(&[(0, 0), (1, 0), (1, 1)], &[]);
        assert!(coverage(&area, &[0.0, 0.0, 1.0], &[0.0, 1.0]).iter().all(|v| v.is_nan()));
        assert!(coverage(&area, &[0.0], &[0.0, 1.0]).is_empty());
        assert!(coverage(&area, &[], &[]).is_empty());
    }

    /// A star-shaped polygon of up to 40 corners; it cannot cross itself.
    fn star() -> impl Strategy<Value = Vec<f64>> {
        prop::collection::vec(0.05f64..1.0, 3..40)
    }

    fn star_area(radii: &[f64]) -> Area {
        let step = std::f64::consts::TAU / radii.len() as f64;
        let corner = |(k, r): (usize, &f64)| {
            let angle = step * k as f64;
            (50_000_000 + (4e7 * r * angle.cos()) as i32, 30_000_000 + (4e7 * r * angle.sin()) as i32)
        };
        one(&radii.iter().enumerate().map(corner).collect::<Vec<_>>(), &[])
    }

    fn lines(steps: &[f64], from: f64, to: f64) -> Vec<f64> {
        let sum: f64 = steps.iter().sum();
        let mut at = 0.0;
        let mut all = vec![from];
        for step in steps {
            at += step;
            all.push(from + (to - from) * at / sum);
        }
        all
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn the_cells_sum_to_the_area(
            radii in star(),
            xs in prop::collection::vec(0.01f64..1.0, 1..60),
            ys in prop::collection::vec(0.01f64..1.0, 1..60),
        ) {
            let area = star_area(&radii);
            let (x, y) = (lines(&xs, 9e6, 9.1e7), lines(&ys, -1.1e7, 7.1e7));
            let cells = coverage(&area, &x, &y);
            let exact = shoelace(&area);
            prop_assert!((total(&cells, &x, &y) - exact).abs() <= 1e-12 * exact.abs());
        }

        #[test]
        fn a_finer_grid_averages_to_the_coarse_one(radii in star(), xs in prop::collection::vec(0.01f64..1.0, 1..20)) {
            // The window cuts the shape, so that clipping takes part.
            let area = star_area(&radii);
            let (x, y) = (lines(&xs, 3e7, 7e7), lines(&xs, 1e7, 4e7));
            let halves = |l: &[f64]| -> Vec<f64> {
                let mut fine: Vec<f64> = l.windows(2).flat_map(|w| [w[0], 0.3 * w[0] + 0.7 * w[1]]).collect();
                fine.extend(l.last());
                fine
            };
            let (fine_x, fine_y) = (halves(&x), halves(&y));
            let coarse = coverage(&area, &x, &y);
            let fine = coverage(&area, &fine_x, &fine_y);
            let (nx, fine_nx) = (x.len() - 1, fine_x.len() - 1);
            for (k, c) in coarse.iter().enumerate() {
                let (i, j) = (2 * (k % nx), 2 * (k / nx));
                let at = |i: usize, j: usize| fine[j * fine_nx + i];
                let low = 0.7 * at(i, j) + 0.3 * at(i + 1, j);
                let high = 0.7 * at(i, j + 1) + 0.3 * at(i + 1, j + 1);
                prop_assert!((0.7 * low + 0.3 * high - c).abs() < 1e-12);
            }
        }
    }
}
