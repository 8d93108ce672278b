//! A level of the multigrid: conductances in single precision, pivots of its columns, and its coarser neighbour.

use rayon::prelude::*;

use crate::kernels::{Lanes, widened};
use crate::layout::Layout;

/// Rows that one task of the set-up takes.
const ROWS_A_TASK: usize = 16;

/// Conductances to the reference in one layer of cells: [y][half][x].
#[derive(Debug, Clone)]
pub(crate) struct GroundPlane<T> {
    pub k: usize,
    pub g: Vec<T>,
}

/// A level.
#[derive(Debug, Clone)]
pub(crate) struct Level {
    pub layout: Layout,
    pub gx: Vec<f32>,
    pub gy: Vec<f32>,
    pub gz: Vec<f32>,
    pub ground: Vec<GroundPlane<f32>>,
    /// Inverse pivots of the columns' tridiagonal systems; 0 for absent cells.
    pub inverse: Vec<f32>,
    pub b: Vec<f32>,
    pub x: Vec<f32>,
}

impl Level {
    pub fn new(
        layout: Layout,
        gx: Vec<f32>,
        gy: Vec<f32>,
        gz: Vec<f32>,
        ground: Vec<GroundPlane<f32>>,
        lanes: Lanes,
    ) -> Self {
        let mut level = Self {
            layout,
            gx,
            gy,
            gz,
            ground,
            inverse: layout.zeros(),
            b: layout.zeros(),
            x: layout.zeros(),
        };
        level.find_pivots(lanes);
        level
    }

    /// Conductance of a cell's faces and its ground: the diagonal of the matrix.
    pub fn diagonal(&self, x: usize, y: usize, k: usize) -> f64 {
        let l = &self.layout;
        let a = l.at(x, y, k);
        let mut sum = f64::from(self.gx[a]) + f64::from(self.gy[a]) + f64::from(self.gz[a]);
        if x > 0 {
            sum += f64::from(self.gx[l.at(x - 1, y, k)]);
        }
        if y > 0 {
            sum += f64::from(self.gy[a - l.row]);
        }
        if k > 0 {
            sum += f64::from(self.gz[a - l.n]);
        }
        let at = (2 * y + (x & 1)) * l.n + (x >> 1);
        sum + self.ground.iter().filter(|plane| plane.k == k).map(|plane| f64::from(plane.g[at])).sum::<f64>()
    }

    /// Sum of the lateral conductances of each cell of a line.
    #[inline(always)]
    pub fn lateral_sum(&self, (y, h, k): (usize, usize, usize), out: &mut [f64]) {
        let l = &self.layout;
        let n = l.n;
        let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
        // The face to the left belongs to the other half: one place before for even cells, at the same for odd.
        let left = b + h - 1;
        let (gx, gl) = (&self.gx[a..a + n], &self.gx[left..left + n]);
        let (gy, gd) = (&self.gy[a..a + n], &self.gy[a - l.row..a - l.row + n]);
        for i in 0..n {
            out[i] = f64::from(gx[i]) + f64::from(gl[i]) + f64::from(gy[i]) + f64::from(gd[i]);
        }
    }

    /// Adds the vertical conductances and the ground of each cell of a line.
    #[inline(always)]
    pub fn add_vertical_sum(&self, (y, h, k): (usize, usize, usize), out: &mut [f64]) {
        let n = self.layout.n;
        let a = self.layout.line(y, h, k);
        let add = |out: &mut [f64], g: &[f32]| out.iter_mut().zip(g).for_each(|(o, g)| *o += f64::from(*g));
        add(out, &self.gz[a..a + n]);
        if k > 0 {
            add(out, &self.gz[a - n..a]);
        }
        if let Some(plane) = self.ground.iter().find(|plane| plane.k == k) {
            add(out, &plane.g[(2 * y + h) * n..(2 * y + h + 1) * n]);
        }
    }

    /// Pivots in double precision, stored inverted in single.
    pub fn find_pivots(&mut self, lanes: Lanes) {
        let l = self.layout;
        let mut inverse = std::mem::take(&mut self.inverse);
        let this = &*self;
        inverse[l.rows()].par_chunks_mut(l.row).enumerate().with_min_len(ROWS_A_TASK).for_each_init(
            || (vec![0.0f64; l.n], vec![0.0f64; l.n]),
            |(pivot, diagonal), (y, inverse)| {
                find_pivots_of_row(lanes, this, y, inverse, pivot, diagonal);
            },
        );
        self.inverse = inverse;
    }

    /// The next coarser level: two by two columns become one.
    pub fn coarser(&self, lanes: Lanes) -> Self {
        let f = &self.layout;
        let c = Layout::new(f.nx.div_ceil(2), f.ny.div_ceil(2), f.nz);
        let (mut gx, mut gy, mut gz) = (c.zeros::<f32>(), c.zeros::<f32>(), c.zeros::<f32>());
        let rows = gx[c.rows()]
            .par_chunks_mut(c.row)
            .zip(gy[c.rows()].par_chunks_mut(c.row))
            .zip(gz[c.rows()].par_chunks_mut(c.row));
        rows.enumerate().with_min_len(ROWS_A_TASK).for_each_init(
            || vec![0.0f32; 2 * c.n],
            |t, (y, ((gx, gy), gz))| {
                coarser_row(lanes, self, &c, y, [gx, gy, gz], t);
            },
        );
        Self::new(c, gx, gy, gz, coarser_ground(f, &c, &self.ground), lanes)
    }
}

widened! {
    fn find_pivots_of_row(level: &Level, y: usize, inverse: &mut [f32], pivot: &mut [f64], diagonal: &mut [f64]) {
        let l = &level.layout;
        let n = l.n;
        let (pivot, diagonal) = (&mut pivot[..n], &mut diagonal[..n]);
        for h in 0..2 {
            for k in 0..l.nz {
                level.lateral_sum((y, h, k), diagonal);
                level.add_vertical_sum((y, h, k), diagonal);
                let a = l.line(y, h, k);
                if k > 0 {
                    let above = &level.gz[a - n..a];
                    for i in 0..n {
                        let g = f64::from(above[i]);
                        diagonal[i] -= g * g * pivot[i];
                    }
                }
                let inverse = &mut inverse[(h * l.nz + k) * n..][..n];
                for i in 0..n {
                    pivot[i] = if diagonal[i] > 0.0 { 1.0 / diagonal[i] } else { 0.0 };
                    inverse[i] = pivot[i] as f32;
                }
            }
        }
    }
}

widened! {
    /// One row of the coarser level, from two (at the end perhaps one) of this.
    fn coarser_row(level: &Level, c: &Layout, y: usize, rows: [&mut [f32]; 3], t: &mut [f32]) {
        let [gx, gy, gz] = rows;
        let f = &level.layout;
        let (n, many) = (f.n, c.nx);
        let t = &mut t[..many];
        let last = 2 * y + 2 >= f.ny;
        for k in 0..f.nz {
            t.fill(0.0);
            for v in 0..(f.ny - 2 * y).min(2) {
                let (even, odd) = (f.line(2 * y + v, 0, k), f.line(2 * y + v, 1, k));
                let (even, odd) = (&level.gz[even..even + n], &level.gz[odd..odd + n]);
                for i in 0..many {
                    t[i] += even[i] + odd[i];
                }
            }
            spread(c, k, t, gz);
            t.fill(0.0);
            for v in 0..(f.ny - 2 * y).min(2) {
                let (even, odd) = (f.line(2 * y + v, 0, k), f.line(2 * y + v, 1, k));
                let (even, odd) = (&level.gx[even..even + n + 1], &level.gx[odd..odd + n]);
                for i in 0..many {
                    t[i] += coarse_conductance(0.5 / even[i], odd[i], 0.5 / even[i + 1]);
                }
                // Beyond the last pair of an odd number of cells is nothing, which is not the same as a gap.
                if f.nx % 2 == 1 && many >= 2 {
                    let i = many - 2;
                    t[i] -= coarse_conductance(0.5 / even[i], odd[i], 0.5 / even[i + 1]);
                    t[i] += coarse_conductance(0.5 / even[i], odd[i], 0.0);
                }
            }
            spread(c, k, t, gx);
            if !last {
                t.fill(0.0);
                for h in 0..2 {
                    let a = f.line(2 * y + 1, h, k);
                    let (before, face) = (&level.gy[a - f.row..a - f.row + n], &level.gy[a..a + n]);
                    let behind = &level.gy[a + f.row..a + f.row + n];
                    if 2 * y + 3 < f.ny {
                        for i in 0..many {
                            t[i] += coarse_conductance(0.5 / before[i], face[i], 0.5 / behind[i]);
                        }
                    } else {
                        for i in 0..many {
                            t[i] += coarse_conductance(0.5 / before[i], face[i], 0.0);
                        }
                    }
                }
                spread(c, k, t, gy);
            }
        }
    }
}

/// Puts a line in natural order into the two halves of a row.
#[inline(always)]
fn spread(c: &Layout, k: usize, t: &[f32], row: &mut [f32]) {
    for h in 0..2 {
        let half = &mut row[(h * c.nz + k) * c.n..][..c.count(h)];
        for (i, value) in half.iter_mut().enumerate() {
            *value = t[2 * i + h];
        }
    }
}

/// Part of the series value in a coarse lateral conductance; the rest is half the face. Half the face alone is what
/// constant interpolation asks for and lets thin gaps in copper vanish on coarse levels; the series alone is too weak for
/// it. In between, the yardstick needs the fewest iterations.
const SERIES_SHARE: f32 = 0.6;

/// A coarse lateral conductance from the fine face between two coarse cells and the resistances from it to their middles;
/// these are infinite where there is a gap.
#[inline(always)]
fn coarse_conductance(before: f32, face: f32, behind: f32) -> f32 {
    let series = 1.0 / (before + 1.0 / face + behind);
    SERIES_SHARE * series + (1.0 - SERIES_SHARE) * 0.5 * face
}

/// Conductances to the reference of the next coarser level: sums over two by two columns.
pub(crate) fn coarser_ground(f: &Layout, c: &Layout, ground: &[GroundPlane<f32>]) -> Vec<GroundPlane<f32>> {
    let coarser = |plane: &GroundPlane<f32>| {
        let mut g = vec![0.0; c.ny * 2 * c.n];
        g.par_chunks_mut(2 * c.n).enumerate().with_min_len(ROWS_A_TASK).for_each(|(y, row)| {
            for v in 2 * y..(2 * y + 2).min(f.ny) {
                for half in 0..2 {
                    let from = &plane.g[(2 * v + half) * f.n..][..f.count(half)];
                    for (x, value) in from.iter().enumerate() {
                        row[(x & 1) * c.n + (x >> 1)] += value;
                    }
                }
            }
        });
        GroundPlane { k: plane.k, g }
    };
    ground.iter().map(coarser).collect()
}
