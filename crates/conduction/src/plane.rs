//! A level of the two-dimensional multigrid: a matrix of nine points, its interpolation and its exact coarse matrix. After
//! Alcouffe, Brandt, Dendy and Painter, SIAM J. Sci. Stat. Comput. 2 (1981) 430.

use rayon::prelude::*;

/// Rows that one task of the set-up takes.
const ROWS_A_TASK: usize = 16;

/// Conductances to the right, up and both diagonals, and the diagonal of the matrix; one point of border around.
#[derive(Debug, Clone, Default)]
pub(crate) struct Plane {
    pub nx: usize,
    pub ny: usize,
    pub stride: usize,
    pub centre: Vec<f32>,
    pub inverse: Vec<f32>,
    pub east: Vec<f32>,
    pub north: Vec<f32>,
    /// Both empty where points have four neighbours only.
    pub north_east: Vec<f32>,
    pub north_west: Vec<f32>,
    pub x: Vec<f32>,
    pub b: Vec<f32>,
    /// Interpolation weights from the four coarse corners: at and beside, and the same above.
    pub weights: [Vec<f32>; 4],
}

/// A share of a sum, 0 where there is next to nothing to share.
fn over(sum: f32, all: f32) -> f32 {
    if all > 1e-12 * sum.abs().max(f32::MIN_POSITIVE) { sum / all } else { 0.0 }
}

impl Plane {
    /// All 0; with or without conductances along the diagonals.
    pub fn new(nx: usize, ny: usize, diagonals: bool) -> Self {
        let stride = nx + 2;
        let zeros = || vec![0.0; stride * (ny + 2)];
        Self {
            nx,
            ny,
            stride,
            centre: zeros(),
            inverse: Vec::new(),
            east: zeros(),
            north: zeros(),
            north_east: if diagonals { zeros() } else { Vec::new() },
            north_west: if diagonals { zeros() } else { Vec::new() },
            x: zeros(),
            b: zeros(),
            weights: Default::default(),
        }
    }

    #[inline(always)]
    pub fn at(&self, i: usize, j: usize) -> usize {
        (j + 1) * self.stride + i + 1
    }

    /// Conductance from a point to the upper right.
    #[inline(always)]
    fn north_east(&self, a: usize) -> f32 {
        self.north_east.get(a).copied().unwrap_or(0.0)
    }

    /// Conductance from a point to the upper left.
    #[inline(always)]
    fn north_west(&self, a: usize) -> f32 {
        self.north_west.get(a).copied().unwrap_or(0.0)
    }

    pub fn find_inverse(&mut self) {
        self.inverse = self.centre.par_iter().map(|c| if *c > 0.0 { 1.0 / c } else { 0.0 }).collect();
    }

    /// Weights: coarse points keep their value; points on coarse lines follow from what lies along the line; the points
    /// between follow from all eight around them.
    pub fn find_weights(&mut self) {
        let s = self.stride;
        let mut weights = vec![[0.0f32; 4]; self.centre.len()];
        let this = &*self;
        weights[s..].par_chunks_mut(s).take(self.ny).enumerate().with_min_len(ROWS_A_TASK).for_each(
            |(j, row)| {
                for i in 0..this.nx {
                    row[i + 1] = this.weights_on_lines(i, j);
                }
            },
        );
        // The points between read the rows above and below, which are all known by now: rows in pairs, the odd one last.
        let known: Vec<[f32; 4]> = weights.par_iter().copied().collect();
        weights[s..].par_chunks_mut(s).take(self.ny).enumerate().with_min_len(ROWS_A_TASK).for_each(
            |(j, row)| {
                if j & 1 == 1 {
                    for i in (1..this.nx).step_by(2) {
                        row[i + 1] = this.weights_between(i, j, &known);
                    }
                }
            },
        );
        self.weights = [0, 1, 2, 3].map(|corner| weights.par_iter().map(|w| w[corner]).collect());
    }

    fn weights_on_lines(&self, i: usize, j: usize) -> [f32; 4] {
        let (a, s) = (self.at(i, j), self.stride);
        let mut w = [0.0; 4];
        match (i & 1, j & 1) {
            (0, 0) => w[0] = 1.0,
            (1, 0) => {
                let d = self.centre[a] - self.north[a] - self.north[a - s];
                w[0] = over(self.east[a - 1] + self.north_east(a - s - 1) + self.north_west(a), d);
                if i + 1 < self.nx {
                    w[1] = over(self.east[a] + self.north_east(a) + self.north_west(a - s + 1), d);
                }
            }
            (0, 1) => {
                let d = self.centre[a] - self.east[a] - self.east[a - 1];
                w[0] = over(self.north[a - s] + self.north_east(a - s - 1) + self.north_west(a - s + 1), d);
                if j + 1 < self.ny {
                    w[2] = over(self.north[a] + self.north_east(a) + self.north_west(a), d);
                }
            }
            _ => {}
        }
        w
    }

    fn weights_between(&self, i: usize, j: usize, known: &[[f32; 4]]) -> [f32; 4] {
        let (a, s) = (self.at(i, j), self.stride);
        let ic = self.inverse[a];
        let (left, right, down, up) = (known[a - 1], known[a + 1], known[a - s], known[a + s]);
        let (gl, gr, gd, gu) =
            (self.east[a - 1] * ic, self.east[a] * ic, self.north[a - s] * ic, self.north[a] * ic);
        let mut w = [
            self.north_east(a - s - 1) * ic + gl * left[0] + gd * down[0],
            self.north_west(a - s + 1) * ic + gr * right[0] + gd * down[1],
            self.north_west(a) * ic + gl * left[2] + gu * up[0],
            self.north_east(a) * ic + gr * right[2] + gu * up[1],
        ];
        if i + 1 >= self.nx {
            (w[1], w[3]) = (0.0, 0.0);
        }
        if j + 1 >= self.ny {
            (w[2], w[3]) = (0.0, 0.0);
        }
        w
    }

    /// The exact coarse operator.
    pub fn coarser(&self) -> Self {
        let mut coarse = Self::new(self.nx.div_ceil(2), self.ny.div_ceil(2), true);
        let (cs, cnx) = (coarse.stride, coarse.nx);
        coarse.centre[cs..]
            .par_chunks_mut(cs)
            .zip(coarse.east[cs..].par_chunks_mut(cs))
            .zip(coarse.north[cs..].par_chunks_mut(cs))
            .zip(coarse.north_east[cs..].par_chunks_mut(cs))
            .zip(coarse.north_west[cs..].par_chunks_mut(cs))
            .take(coarse.ny)
            .enumerate()
            .with_min_len(ROWS_A_TASK)
            .for_each(|(row, ((((centre, east), north), north_east), north_west))| {
                let mut out = CoarseRow { row, nx: cnx, centre, east, north, north_east, north_west };
                for j in (2 * row).saturating_sub(1)..(2 * row + 2).min(self.ny) {
                    self.gather_row(j, &mut out);
                }
            });
        coarse
    }

    /// What the matrix of a fine row adds to a coarse one.
    fn gather_row(&self, j: usize, out: &mut CoarseRow<'_>) {
        let s = self.stride;
        for i in 0..self.nx {
            let a = self.at(i, j);
            let around = [
                (0isize, 0isize, a, self.centre[a]),
                (1, 0, a + 1, -self.east[a]),
                (-1, 0, a - 1, -self.east[a - 1]),
                (0, 1, a + s, -self.north[a]),
                (0, -1, a - s, -self.north[a - s]),
                (1, 1, a + s + 1, -self.north_east(a)),
                (-1, -1, a - s - 1, -self.north_east(a - s - 1)),
                (-1, 1, a + s - 1, -self.north_west(a)),
                (1, -1, a - s + 1, -self.north_west(a - s + 1)),
            ];
            for (di, dj, q, value) in around {
                let (Some(i2), Some(j2)) = (i.checked_add_signed(di), j.checked_add_signed(dj)) else {
                    continue;
                };
                if value != 0.0 && i2 < self.nx && j2 < self.ny {
                    let at = |place: usize| [0, 1, 2, 3].map(|corner: usize| self.weights[corner][place]);
                    let (from, to) = (at(a), at(q));
                    out.gather((i / 2, j / 2, from), (i2 / 2, j2 / 2, to), value);
                }
            }
        }
    }
}

/// A row of a coarse matrix under construction.
struct CoarseRow<'a> {
    row: usize,
    nx: usize,
    centre: &'a mut [f32],
    east: &'a mut [f32],
    north: &'a mut [f32],
    north_east: &'a mut [f32],
    north_west: &'a mut [f32],
}

impl CoarseRow<'_> {
    /// Adds one fine entry, seen through both points' weights.
    #[inline]
    fn gather(
        &mut self,
        (i, j, from): (usize, usize, [f32; 4]),
        (i2, j2, to): (usize, usize, [f32; 4]),
        value: f32,
    ) {
        for (m, wa) in from.into_iter().enumerate() {
            let (p, q) = (i + (m & 1), j + (m >> 1));
            if wa == 0.0 || q != self.row || p >= self.nx {
                continue;
            }
            for (k, wq) in to.into_iter().enumerate() {
                if wq == 0.0 {
                    continue;
                }
                let (ox, oy) = ((i2 + (k & 1)) as isize - p as isize, (j2 + (k >> 1)) as isize - q as isize);
                let t = wa * value * wq;
                let o = p + 1;
                match (ox, oy) {
                    (0, 0) => self.centre[o] += t,
                    (1, 0) => self.east[o] -= t,
                    (0, 1) => self.north[o] -= t,
                    (1, 1) => self.north_east[o] -= t,
                    (-1, 1) => self.north_west[o] -= t,
                    _ => {} // the other half follows from symmetry
                }
            }
        }
    }
}
