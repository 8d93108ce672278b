//! How well a patterned layer conducts from cell to cell when its gaps are narrower than the cells.
//!
//! Two bounds exist. Averaging the conductivity over each cell is too good: it lets heat cross a gap as if the copper were
//! spread out. Letting each thin strip of the cell pair conduct on its own, in series along the strip, is too poor: it
//! lets no heat go around a gap. Their geometric mean comes within a few percent of a grid that resolves the gaps,
//! and both are exact where there is only copper or none.

use artwork::coverage::coverage;

use super::bores::BoreShares;
use super::plan::Plan;
use crate::as_built::{StackLayer, Variant};
use crate::material::Material;

/// Conductivity of plated copper, W/m/K (electrodeposited; 380 to 398 in published tables, from memory).
pub(crate) const PLATED_COPPER_W_PER_M_K: f64 = 390.0;

/// Conductances of a patterned layer per metre of its thickness, and its mean conductivity through the thickness.
pub(crate) struct SheetConductances {
    /// To the neighbour at larger x, W/K/m; 0 in the last column.
    pub gx: Vec<f64>,
    /// To the neighbour at larger y, W/K/m; 0 in the last row.
    pub gy: Vec<f64>,
    /// Mean over the cell's whole area of the conductivity through the thickness, W/m/K.
    pub kz: Vec<f64>,
}

/// The strips a plan is cut into: every cell an even number of times along x and y.
pub(crate) struct Strips {
    x: Vec<f64>,
    y: Vec<f64>,
    /// First strip of each cell, and one past the last.
    x_first: Vec<usize>,
    y_first: Vec<usize>,
    /// Part of each strip inside the outline.
    outline: Vec<f64>,
    bores: BoreShares,
}

impl Strips {
    pub fn new(variant: &Variant, plan: &Plan) -> Self {
        let (x, x_first) = cut(&plan.x_nm);
        let (y, y_first) = cut(&plan.y_nm);
        let outline = coverage(&variant.outline, &x, &y);
        let bores = BoreShares::new(&variant.bores, &x, &y);
        Self { x, y, x_first, y_first, outline, bores }
    }

    /// Conductances of a layer with a pattern.
    pub fn conductances(&self, layer: &StackLayer) -> SheetConductances {
        let pattern = layer.pattern.as_ref().map(|p| coverage(p, &self.x, &self.y));
        let pattern = pattern.as_deref();
        let Material { kx_w_per_m_k: kx, ky_w_per_m_k: ky, kz_w_per_m_k: kz, .. } = layer.material;
        let along_x = self.conductivity(pattern, kx, layer.gap_conductivity_w_per_m_k);
        let gx = self.mean_of_bounds_x(&along_x);
        let (along_y, through) = if kx == ky && kx == kz {
            (None, None)
        } else {
            let of = |k| Some(self.conductivity(pattern, k, layer.gap_conductivity_w_per_m_k));
            (of(ky), of(kz))
        };
        let gy = self.mean_of_bounds_y(along_y.as_deref().unwrap_or(&along_x));
        let kz = self.cell_means(through.as_deref().unwrap_or(&along_x));
        SheetConductances { gx, gy, kz }
    }

    /// Conductivity of each strip piece, W/m/K: substance, gap, barrel and fill by their shares; nothing where bored bare
    /// or outside.
    fn conductivity(&self, pattern: Option<&[f64]>, inside: f64, gap: f64) -> Vec<f64> {
        (0..self.outline.len())
            .map(|s| {
                let bored = (self.bores.bare[s] + self.bores.plated[s]).min(1.0);
                let solid = self.outline[s] * (1.0 - bored);
                let covered = pattern.map_or(1.0, |p| p[s]).min(self.outline[s]) * (1.0 - bored);
                let barrel = (self.bores.plated[s] - self.bores.inside[s]).max(0.0);
                covered * inside
                    + (solid - covered).max(0.0) * gap
                    + barrel * PLATED_COPPER_W_PER_M_K
                    + self.bores.inside_w_per_m_k[s]
            })
            .collect()
    }

    fn cell_means(&self, k: &[f64]) -> Vec<f64> {
        let (nx, ny) = (self.x_first.len() - 1, self.y_first.len() - 1);
        let strips = self.x.len() - 1;
        let mut means = vec![0.0; nx * ny];
        for j in 0..ny {
            for t in self.y_first[j]..self.y_first[j + 1] {
                let row = &k[t * strips..(t + 1) * strips];
                for i in 0..nx {
                    means[j * nx + i] += row[self.x_first[i]..self.x_first[i + 1]].iter().sum::<f64>();
                }
            }
            for i in 0..nx {
                let count = (self.y_first[j + 1] - self.y_first[j]) * (self.x_first[i + 1] - self.x_first[i]);
                means[j * nx + i] /= count as f64;
            }
        }
        means
    }

    fn mean_of_bounds_x(&self, k: &[f64]) -> Vec<f64> {
        let means = self.cell_means(k);
        let (nx, ny) = (self.x_first.len() - 1, self.y_first.len() - 1);
        let strips = self.x.len() - 1;
        let width = |s: usize| self.x[s + 1] - self.x[s];
        let mut g = vec![0.0; nx * ny];
        for j in 0..ny {
            let (t0, t1) = (self.y_first[j], self.y_first[j + 1]);
            for t in t0..t1 {
                let row = &k[t * strips..(t + 1) * strips];
                let height = self.y[t + 1] - self.y[t];
                for i in 0..nx - 1 {
                    let (from, to) = (middle(&self.x_first, i), middle(&self.x_first, i + 1));
                    g[j * nx + i] += height * series(row, from, to, 1, width);
                }
            }
            let height = self.y[t1] - self.y[t0];
            for i in 0..nx - 1 {
                let half = |c: usize| 0.5 * (self.x[self.x_first[c + 1]] - self.x[self.x_first[c]]);
                let averaged =
                    height * in_series(half(i), means[j * nx + i], half(i + 1), means[j * nx + i + 1]);
                g[j * nx + i] = (g[j * nx + i] * averaged).sqrt();
            }
        }
        g
    }

    fn mean_of_bounds_y(&self, k: &[f64]) -> Vec<f64> {
        let means = self.cell_means(k);
        let (nx, ny) = (self.x_first.len() - 1, self.y_first.len() - 1);
        let strips = self.x.len() - 1;
        let mut g = vec![0.0; nx * ny];
        let mut resistance = vec![0.0; strips];
        for j in 0..ny - 1 {
            let (from, to) = (middle(&self.y_first, j), middle(&self.y_first, j + 1));
            resistance.iter_mut().for_each(|r| *r = 0.0);
            for t in from..to {
                let height = self.y[t + 1] - self.y[t];
                for (r, k) in resistance.iter_mut().zip(&k[t * strips..(t + 1) * strips]) {
                    *r += height / k;
                }
            }
            let half = |c: usize| 0.5 * (self.y[self.y_first[c + 1]] - self.y[self.y_first[c]]);
            for i in 0..nx {
                let strip_range = self.x_first[i]..self.x_first[i + 1];
                let poor: f64 = strip_range.map(|s| (self.x[s + 1] - self.x[s]) / resistance[s]).sum();
                let width = self.x[self.x_first[i + 1]] - self.x[self.x_first[i]];
                let averaged =
                    width * in_series(half(j), means[j * nx + i], half(j + 1), means[(j + 1) * nx + i]);
                g[j * nx + i] = (poor * averaged).sqrt();
            }
        }
        g
    }
}

/// Strip at the middle of a cell.
fn middle(first: &[usize], cell: usize) -> usize {
    (first[cell] + first[cell + 1]) / 2
}

/// Conductance per width of a row of pieces one after the other.
fn series(k: &[f64], from: usize, to: usize, stride: usize, length: impl Fn(usize) -> f64) -> f64 {
    let resistance: f64 = (from..to).map(|s| length(s) / k[s * stride]).sum();
    1.0 / resistance
}

/// Conductance per width of two lengths in series; 0 where either does not conduct.
pub(crate) fn in_series(length_a: f64, k_a: f64, length_b: f64, k_b: f64) -> f64 {
    if k_a > 0.0 && k_b > 0.0 { 1.0 / (length_a / k_a + length_b / k_b) } else { 0.0 }
}

/// Widest strip, nm: about a third of the narrowest gap of usual artwork.
const STRIP_NM: f64 = 65_000.0;

/// Cuts each cell into an even number of strips.
fn cut(lines: &[f64]) -> (Vec<f64>, Vec<usize>) {
    let (mut cuts, mut first) = (Vec::new(), Vec::new());
    for pair in lines.windows(2) {
        let size = pair[1] - pair[0];
        let pieces = 2 * ((size / STRIP_NM / 2.0).ceil() as usize).clamp(1, 5);
        first.push(cuts.len());
        cuts.extend((0..pieces).map(|p| pair[0] + size * p as f64 / pieces as f64));
    }
    first.push(cuts.len());
    cuts.extend(lines.last());
    (cuts, first)
}
