//! The cycle of the two-dimensional multigrid, for the sheet correction: rows relaxed from end to end, even rows before odd
//! ones, so that rows of a kind may be worked side by side.

use crate::cycle::Work;
use crate::kernels::{Lanes, widened};
use crate::plane::Plane;
use crate::rows::{self, Share, Shared};

/// All levels.
#[derive(Debug, Clone)]
pub(crate) struct Boxes {
    planes: Vec<Plane>,
    residual: Vec<f32>,
    lanes: Lanes,
}

/// Below this many points the coarsest plane is relaxed until nothing moves.
const FEW: usize = 12;
const COARSEST_SWEEPS: usize = 20;
/// Rows relaxed side by side: each is a chain in which one value waits for the last.
const ABREAST: usize = 4;
/// Points worth as much as a cell of the columns.
const POINTS_A_CELL: usize = 2;

/// What a relaxation finds and leaves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sweep {
    /// From a zero field: even rows, then odd ones, left to right.
    First,
    /// The same from any field.
    Forwards,
    /// Odd rows, then even ones, right to left.
    Backwards,
}

impl Boxes {
    /// Levels below a finest plane whose matrix is filled in.
    pub fn new(finest: Plane, lanes: Lanes) -> Self {
        let residual = vec![0.0; finest.b.len()];
        let mut planes = vec![finest];
        loop {
            let last = planes.len() - 1;
            planes[last].find_inverse();
            if planes[last].nx * planes[last].ny <= FEW {
                break;
            }
            planes[last].find_weights();
            let coarse = planes[last].coarser();
            planes.push(coarse);
        }
        Self { planes, residual, lanes }
    }

    /// Begin of a row of the finest plane.
    #[inline(always)]
    pub fn row(&self, j: usize) -> usize {
        self.planes[0].at(0, j)
    }

    /// A row of the finest field.
    #[inline(always)]
    pub fn field(&self, j: usize) -> &[f32] {
        let a = self.row(j);
        &self.planes[0].x[a..a + self.planes[0].nx]
    }

    /// The finest right side, to be filled in and given back.
    pub fn take_right(&mut self) -> Vec<f32> {
        std::mem::take(&mut self.planes[0].b)
    }

    pub fn give_right(&mut self, right: Vec<f32>) {
        self.planes[0].b = right;
    }

    /// One symmetric V-cycle from a zero field.
    pub fn cycle(&mut self, works: &mut [Work]) {
        let last = self.planes.len() - 1;
        let lanes = self.lanes;
        for level in 0..last {
            self.planes[level].relax(lanes, Sweep::First, works);
            let (fine, coarse) = self.planes.split_at_mut(level + 1);
            fine[level].restrict(&mut coarse[0], &mut self.residual, lanes, works);
        }
        self.planes[last].relax(lanes, Sweep::First, works);
        self.planes[last].relax(lanes, Sweep::Backwards, works);
        for _ in 1..COARSEST_SWEEPS {
            self.planes[last].relax(lanes, Sweep::Forwards, works);
            self.planes[last].relax(lanes, Sweep::Backwards, works);
        }
        for level in (0..last).rev() {
            let (fine, coarse) = self.planes.split_at_mut(level + 1);
            fine[level].prolong(&coarse[0], works);
            fine[level].relax(lanes, Sweep::Backwards, works);
        }
    }

    pub fn bytes(&self) -> usize {
        let planes: usize = self.planes.iter().map(|p| p.centre.len() * 8 * 4 + p.weights.len() * 16).sum();
        planes + self.residual.len() * 4
    }
}

/// A row with the rows beside it: b or residual from the six neighbours that are not in the row.
#[inline(always)]
fn six(p: &Plane, x: [&[f32]; 2], a: usize, out: &mut [f32]) {
    let (n, s) = (out.len(), p.stride);
    // Rows of the field with one point of border to the left and right.
    let (up, down) = (&x[1][..n + 2], &x[0][..n + 2]);
    let (nn, ns) = (&p.north[a..a + n], &p.north[a - s..a - s + n]);
    let (ne, nes) = (&p.north_east[a..a + n], &p.north_east[a - s - 1..a - s - 1 + n]);
    let (nw, nws) = (&p.north_west[a..a + n], &p.north_west[a - s + 1..a - s + 1 + n]);
    for i in 0..n {
        out[i] += nn[i] * up[i + 1]
            + ns[i] * down[i + 1]
            + ne[i] * up[i + 2]
            + nes[i] * down[i]
            + nw[i] * up[i]
            + nws[i] * down[i + 2];
    }
}

impl Plane {
    fn shared_out<'a>(&self, works: &'a mut [Work]) -> &'a mut [Work] {
        let count = rows::shares(self.ny, self.nx * self.ny / POINTS_A_CELL).min(works.len());
        &mut works[..count]
    }

    fn relax(&mut self, lanes: Lanes, sweep: Sweep, works: &mut [Work]) {
        let works = self.shared_out(works);
        let mut x = std::mem::take(&mut self.x);
        {
            let (x, this) = (Shared::new(&mut x), &*self);
            let order = if sweep == Sweep::Backwards { [1, 0] } else { [0, 1] };
            for parity in order {
                rows::each(works, this.ny, |share, work| {
                    relax_share(lanes, this, x, parity, sweep, share, work);
                });
            }
        }
        self.x = x;
    }

    /// Relaxes up to four rows of a kind, from `j` on.
    ///
    /// # Safety
    /// Nobody else may touch these rows or write those beside them meanwhile.
    #[inline(always)]
    unsafe fn relax_rows(&self, x: Shared<'_, f32>, j: usize, many: usize, sweep: Sweep, work: &mut Work) {
        let (n, s) = (self.nx, self.stride);
        let untouched = sweep == Sweep::First && j & 1 == 0;
        let (t, c) = work.rows(ABREAST * n);
        t[many * n..].fill(0.0);
        c[many * n..].fill(0.0);
        for r in 0..many {
            let a = self.at(0, j + 2 * r);
            let (t, c) = (&mut t[r * n..(r + 1) * n], &mut c[r * n..(r + 1) * n]);
            t.copy_from_slice(&self.b[a..a + n]);
            if !untouched {
                // SAFETY: as promised by the caller.
                let beside = unsafe { [x.read(a - s - 1, n + 2), x.read(a + s - 1, n + 2)] };
                six(self, beside, a, t);
            }
            let (before, behind) = (&self.east[a - 1..a - 1 + n], &self.east[a..a + n]);
            let inverse = &self.inverse[a..a + n];
            if sweep != Sweep::First {
                // SAFETY: as promised by the caller.
                let old = unsafe { x.read(a - 1, n + 2) };
                if sweep == Sweep::Backwards {
                    (0..n).for_each(|i| t[i] += before[i] * old[i]);
                } else {
                    (0..n).for_each(|i| t[i] += behind[i] * old[i + 2]);
                }
            }
            let chained = if sweep == Sweep::Backwards { behind } else { before };
            for i in 0..n {
                t[i] *= inverse[i];
                c[i] = chained[i] * inverse[i];
            }
        }
        chains(t, c, n, sweep == Sweep::Backwards);
        for r in 0..many {
            // SAFETY: as promised by the caller.
            unsafe { x.write(self.at(0, j + 2 * r), n) }.copy_from_slice(&t[r * n..(r + 1) * n]);
        }
    }

    /// Residual of the present field, weighted into the coarse right side.
    fn restrict(&self, coarse: &mut Self, residual: &mut [f32], lanes: Lanes, works: &mut [Work]) {
        let works = self.shared_out(works);
        let n = self.nx;
        let r = Shared::new(residual);
        rows::each(works, self.ny, |share, _| find_residual(lanes, self, r, share));
        // SAFETY: nobody writes the residual any more.
        let r = unsafe { r.read(0, n * self.ny) };
        let (at, nx) = (coarse.at(0, 0), coarse.nx);
        let stride = coarse.stride;
        let b = Shared::new(&mut coarse.b);
        // Shares of fine rows begin at even ones, so that halving them shares out the coarse rows.
        rows::each(works, self.ny, |share, _| {
            for q in share.begin / 2..share.end.div_ceil(2) {
                // SAFETY: a row of this share alone.
                let out = unsafe { b.write(at + q * stride, nx) };
                out.fill(0.0);
                let from = (2 * q).saturating_sub(1);
                for j in from..(2 * q + 2).min(self.ny) {
                    let upper = if j < 2 * q { 2 } else { 0 };
                    let w = &self.weights[self.at(0, j)..][..n];
                    let r = &r[j * n..(j + 1) * n];
                    for i in 0..n {
                        out[i / 2] += w[i][upper] * r[i];
                        if i & 1 == 1 && i / 2 + 1 < nx {
                            out[i / 2 + 1] += w[i][upper + 1] * r[i];
                        }
                    }
                }
            }
        });
    }

    fn prolong(&mut self, coarse: &Self, works: &mut [Work]) {
        let works = self.shared_out(works);
        let n = self.nx;
        let mut x = std::mem::take(&mut self.x);
        {
            let (x, this) = (Shared::new(&mut x), &*self);
            rows::each(works, this.ny, |share, _| {
                for j in share.begin..share.end {
                    let a = this.at(0, j);
                    // SAFETY: a row of this share alone.
                    let x = unsafe { x.write(a, n) };
                    let c0 = coarse.at(0, j / 2);
                    let w = &this.weights[a..a + n];
                    let low = &coarse.x[c0..c0 + coarse.nx + 1];
                    for i in 0..n {
                        let half = i / 2;
                        let mut v = w[i][0] * low[half];
                        if i & 1 == 1 {
                            v += w[i][1] * low[half + 1];
                        }
                        x[i] += v;
                    }
                    if j & 1 == 1 {
                        let high = &coarse.x[c0 + coarse.stride..c0 + coarse.stride + coarse.nx + 1];
                        for i in 0..n {
                            let half = i / 2;
                            let mut v = w[i][2] * high[half];
                            if i & 1 == 1 {
                                v += w[i][3] * high[half + 1];
                            }
                            x[i] += v;
                        }
                    }
                }
            });
        }
        self.x = x;
    }
}

widened! {
    /// Relaxes a share's rows of a kind.
    fn relax_share(
        plane: &Plane,
        x: Shared<'_, f32>,
        parity: usize,
        sweep: Sweep,
        share: Share,
        work: &mut Work,
    ) {
        let mut j = share.begin + parity;
        while j < share.end {
            let many = (share.end - j).div_ceil(2).min(ABREAST);
            // SAFETY: rows of this share and kind, read and written here alone; of the other kind, all are at rest.
            unsafe { plane.relax_rows(x, j, many, sweep, work) };
            j += 2 * many;
        }
    }
}

widened! {
    /// The residual of a share's rows.
    fn find_residual(plane: &Plane, residual: Shared<'_, f32>, share: Share) {
        let (n, s) = (plane.nx, plane.stride);
        for j in share.begin..share.end {
            let a = plane.at(0, j);
            // SAFETY: a row of this share alone.
            let out = unsafe { residual.write(j * n, n) };
            let x = &plane.x[a - 1..a + n + 1];
            let (b, centre) = (&plane.b[a..a + n], &plane.centre[a..a + n]);
            let (before, behind) = (&plane.east[a - 1..a - 1 + n], &plane.east[a..a + n]);
            for i in 0..n {
                out[i] = b[i] - centre[i] * x[i + 1] + behind[i] * x[i + 2] + before[i] * x[i];
            }
            let rows = [&plane.x[a - s - 1..a - s + n + 1], &plane.x[a + s - 1..a + s + n + 1]];
            six(plane, rows, a, out);
        }
    }
}

/// Runs along four rows at once: each value is its own share plus a part of the one before.
#[inline(always)]
fn chains(t: &mut [f32], c: &[f32], n: usize, backwards: bool) {
    let (t0, rest) = t.split_at_mut(n);
    let (t1, rest) = rest.split_at_mut(n);
    let (t2, t3) = rest.split_at_mut(n);
    let t3 = &mut t3[..n];
    let (c0, c1, c2, c3) = (&c[..n], &c[n..2 * n], &c[2 * n..3 * n], &c[3 * n..4 * n]);
    let mut v = [0.0f32; ABREAST];
    let mut step = |i: usize| {
        v = [t0[i] + c0[i] * v[0], t1[i] + c1[i] * v[1], t2[i] + c2[i] * v[2], t3[i] + c3[i] * v[3]];
        [t0[i], t1[i], t2[i], t3[i]] = v;
    };
    if backwards {
        (0..n).rev().for_each(&mut step);
    } else {
        (0..n).for_each(&mut step);
    }
}
