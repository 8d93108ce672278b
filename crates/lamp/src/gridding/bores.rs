//! Bores as shapes, and how much of each cell they take.

use artwork::coverage::coverage;
use artwork::shape::{Area, Point};

use crate::as_built::{Bore, Lining};

/// How much of each cell is bored, by what is inside; fractions of the cell, x fastest.
#[derive(Debug, Clone)]
pub(crate) struct BoreShares {
    /// Bare bores: nothing there.
    pub bare: Vec<f64>,
    /// Plated bores out to the drilled wall, barrel and fill together.
    pub plated: Vec<f64>,
    /// Inside of the barrels.
    pub inside: Vec<f64>,
    /// Inside of the barrels, times the conductivity of the fill, W/m/K.
    pub inside_w_per_m_k: Vec<f64>,
}

impl BoreShares {
    /// Shares on the grid of these lines (nm).
    pub fn new(bores: &[Bore], x: &[f64], y: &[f64]) -> Self {
        let cells = x.len().saturating_sub(1) * y.len().saturating_sub(1);
        let zero = || vec![0.0; cells];
        let mut shares = Self { bare: zero(), plated: zero(), inside: zero(), inside_w_per_m_k: zero() };
        for bore in bores {
            match bore.lining {
                Lining::Unplated => add(&mut shares.bare, bore, bore.diameter_m, 1.0, x, y),
                Lining::Plated { barrel_m, fill_w_per_m_k } => {
                    add(&mut shares.plated, bore, bore.diameter_m, 1.0, x, y);
                    let inner = bore.diameter_m - 2.0 * barrel_m;
                    if inner > 0.0 {
                        add(&mut shares.inside, bore, inner, 1.0, x, y);
                        add(&mut shares.inside_w_per_m_k, bore, inner, fill_w_per_m_k, x, y);
                    }
                }
            }
        }
        for share in [&mut shares.bare, &mut shares.plated, &mut shares.inside] {
            // Bores that overlap one another (routed slots, rows of holes) count once.
            share.iter_mut().for_each(|s| *s = s.min(1.0));
        }
        shares
    }
}

/// Adds `weight` times the share of each cell that a bore of this diameter takes, working only around the bore.
fn add(into: &mut [f64], bore: &Bore, diameter_m: f64, weight: f64, x: &[f64], y: &[f64]) {
    let area = bore_area(&bore.path, diameter_m);
    let points = || area.polygons.iter().flat_map(|p| &p.outer);
    let range = |value: fn(&Point) -> i32, lines: &[f64]| -> Option<(usize, usize)> {
        let low = f64::from(points().map(value).min()?);
        let high = f64::from(points().map(value).max()?);
        let from = lines.partition_point(|l| *l <= low).saturating_sub(1);
        let to = (lines.partition_point(|l| *l < high) + 1).min(lines.len());
        (to > from + 1).then_some((from, to))
    };
    let (Some((i0, i1)), Some((j0, j1))) = (range(|p| p.x_nm, x), range(|p| p.y_nm, y)) else { return };
    let part = coverage(&area, &x[i0..i1], &y[j0..j1]);
    let (nx, part_nx) = (x.len() - 1, i1 - i0 - 1);
    for (row, shares) in part.chunks(part_nx).enumerate() {
        let start = (j0 + row) * nx + i0;
        for (cell, share) in into[start..start + part_nx].iter_mut().zip(shares) {
            *cell += weight * share;
        }
    }
}

/// The plan of a bore: a disc at a point, the track of a disc along a path.
pub(crate) fn bore_area(path: &[Point], diameter_m: f64) -> Area {
    Area::track(path, diameter_m * 1e9)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum_mm2(shares: &[f64], cell_mm2: f64) -> f64 {
        shares.iter().sum::<f64>() * cell_mm2
    }

    #[test]
    fn bores_take_their_area() {
        let lines: Vec<f64> = (0..=40).map(|k| 1e5 * f64::from(k)).collect();
        let at = |x: i32, y: i32| Point { x_nm: x, y_nm: y };
        let bores = [
            Bore {
                path: vec![at(1_000_000, 1_000_000)],
                diameter_m: 0.3e-3,
                lining: Lining::Plated { barrel_m: 25e-6, fill_w_per_m_k: 58.0 },
            },
            Bore {
                path: vec![at(2_000_000, 3_000_000), at(3_000_000, 3_000_000)],
                diameter_m: 0.8e-3,
                lining: Lining::Unplated,
            },
        ];
        let s = BoreShares::new(&bores, &lines, &lines);
        let pi = std::f64::consts::PI;
        assert!((sum_mm2(&s.plated, 0.01) - pi * 0.0225).abs() < 1e-6);
        assert!((sum_mm2(&s.inside, 0.01) - pi * 0.015625).abs() < 1e-6);
        assert!((sum_mm2(&s.inside_w_per_m_k, 0.01) - 58.0 * pi * 0.015625).abs() < 1e-4);
        // A slot's straight sides lie inside those of the true one by at most a thousandth of its radius.
        assert!((sum_mm2(&s.bare, 0.01) - (pi * 0.16 + 0.8)).abs() < 1e-3 * 0.8);
        assert_eq!(s.bare[0], 0.0);
    }
}
