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

    /// Some symmetric V-cycles from a zero field.
    pub fn cycle(&mut self, cycles: usize, works: &mut [Work]) {
        for again in 0..cycles {
            self.v_cycle(if again == 0 { Sweep::First } else { Sweep::Forwards }, works);
        }
    }

    fn v_cycle(&mut self, begin: Sweep, works: &mut [Work]) {
        let last = self.planes.len() - 1;
        let lanes = self.lanes;
        for level in 0..last {
            self.planes[level].relax(lanes, if level == 0 { begin } else { Sweep::First }, works);
            let (fine, coarse) = self.planes.split_at_mut(level + 1);
            fine[level].restrict(&mut coarse[0], &mut self.residual, lanes, works);
        }
        let coarsest = &mut self.planes[last];
        coarsest.relax(lanes, if last == 0 { begin } else { Sweep::First }, works);
        coarsest.relax(lanes, Sweep::Backwards, works);
        for _ in 1..COARSEST_SWEEPS {
            coarsest.relax(lanes, Sweep::Forwards, works);
            coarsest.relax(lanes, Sweep::Backwards, works);
        }
        for level in (0..last).rev() {
            let (fine, coarse) = self.planes.split_at_mut(level + 1);
            fine[level].prolong(&coarse[0], lanes, works);
            fine[level].relax(lanes, Sweep::Backwards, works);
        }
    }

    pub fn bytes(&self) -> usize {
        let planes: usize = self.planes.iter().map(|p| p.centre.len() * 12 * 4).sum();
        planes + self.residual.len() * 4
    }
}

/// A row with the rows beside it: adds what comes from the neighbours that are not in the row, six or two.
#[inline(always)]
fn beside(p: &Plane, x: [&[f32]; 2], a: usize, out: &mut [f32]) {
    let (n, s) = (out.len(), p.stride);
    // Rows of the field with one point of border to the left and right.
    let (up, down) = (&x[1][..n + 2], &x[0][..n + 2]);
    let (nn, ns) = (&p.north[a..a + n], &p.north[a - s..a - s + n]);
    if p.north_east.is_empty() {
        for i in 0..n {
            out[i] += nn[i] * up[i + 1] + ns[i] * down[i + 1];
        }
        return;
    }
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
                let rows = unsafe { [x.read(a - s - 1, n + 2), x.read(a + s - 1, n + 2)] };
                beside(self, rows, a, t);
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
        let r = Shared::new(residual);
        rows::each(works, self.ny, |share, _| find_residual(lanes, self, r, share));
        let place = (coarse.at(0, 0), coarse.stride, coarse.nx);
        let b = Shared::new(&mut coarse.b);
        // Shares of fine rows begin at even ones, so that halving them shares out the coarse rows.
        rows::each(works, self.ny, |share, work| hand_down(lanes, self, r, b, place, share, work));
    }

    fn prolong(&mut self, coarse: &Self, lanes: Lanes, works: &mut [Work]) {
        let works = self.shared_out(works);
        let mut x = std::mem::take(&mut self.x);
        {
            let (x, this) = (Shared::new(&mut x), &*self);
            rows::each(works, this.ny, |share, work| take_up(lanes, this, coarse, x, share, work));
        }
        self.x = x;
    }
}

widened! {
    /// Weights the residual of fine rows into a share's coarse ones; `place` says where these begin, how far they lie apart
    /// and how long they are.
    fn hand_down(
        plane: &Plane,
        residual: Shared<'_, f32>,
        b: Shared<'_, f32>,
        place: (usize, usize, usize),
        share: Share,
        work: &mut Work,
    ) {
        let (n, (begin, stride, many)) = (plane.nx, place);
        let (near, far) = work.rows(n + 2);
        // A place before the first and behind the last, where nothing is.
        near[n..].fill(0.0);
        far[0] = 0.0;
        far[n + 1] = 0.0;
        for q in share.begin / 2..share.end.div_ceil(2) {
            // SAFETY: a row of this share alone.
            let out = unsafe { b.write(begin + q * stride, many) };
            out.fill(0.0);
            for j in (2 * q).saturating_sub(1)..(2 * q + 2).min(plane.ny) {
                // SAFETY: nobody writes the residual any more.
                let r = unsafe { residual.read(j * n, n) };
                let a = plane.at(0, j);
                let corners = if j < 2 * q { [2, 3] } else { [0, 1] };
                let [w, v] = corners.map(|corner| &plane.weights[corner][a..a + n]);
                for i in 0..n {
                    near[i] = w[i] * r[i];
                    far[i + 1] = v[i] * r[i];
                }
                // A coarse point takes from the points at it and behind it, and from the one before.
                for (i, out) in out.iter_mut().enumerate() {
                    *out += near[2 * i] + near[2 * i + 1] + far[2 * i];
                }
            }
        }
    }
}

widened! {
    /// Adds the coarse field to a share's rows.
    fn take_up(plane: &Plane, coarse: &Plane, x: Shared<'_, f32>, share: Share, work: &mut Work) {
        let n = plane.nx;
        let (at, behind) = work.rows(n + 1);
        for j in share.begin..share.end {
            let a = plane.at(0, j);
            // SAFETY: a row of this share alone.
            let x = unsafe { x.write(a, n) };
            for (row, corners) in [(j / 2, [0, 1]), (j / 2 + 1, [2, 3])].into_iter().take(1 + (j & 1)) {
                let c = coarse.at(0, row);
                let field = &coarse.x[c..c + coarse.nx + 1];
                for (i, pair) in field.windows(2).enumerate() {
                    (at[2 * i], at[2 * i + 1]) = (pair[0], pair[0]);
                    (behind[2 * i], behind[2 * i + 1]) = (pair[1], pair[1]);
                }
                let [w, v] = corners.map(|corner| &plane.weights[corner][a..a + n]);
                for i in 0..n {
                    x[i] += w[i] * at[i] + v[i] * behind[i];
                }
            }
        }
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
            beside(plane, rows, a, out);
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
    if backwards {
        for i in (0..n).rev() {
            v = [t0[i] + c0[i] * v[0], t1[i] + c1[i] * v[1], t2[i] + c2[i] * v[2], t3[i] + c3[i] * v[3]];
            [t0[i], t1[i], t2[i], t3[i]] = v;
        }
    } else {
        for i in 0..n {
            v = [t0[i] + c0[i] * v[0], t1[i] + c1[i] * v[1], t2[i] + c2[i] * v[2], t3[i] + c3[i] * v[3]];
            [t0[i], t1[i], t2[i], t3[i]] = v;
        }
    }
}
