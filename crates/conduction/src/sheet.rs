//! The sheet correction: one unknown for each column, extended downwards by the column's own decay over the top layers.
//! Its exact (Galerkin) operator has five points.

use rayon::prelude::*;

use crate::boxes::Boxes;
use crate::columns::beside;
use crate::cycle::Work;
use crate::kernels::{self, Lanes, widened};
use crate::layout::Layout;
use crate::level::Level;
use crate::plane::Plane;
use crate::rows::{self, Share, Shared};

/// Layers that a profile reaches down: the copper and what insulates it.
const DEPTH: usize = 9;

/// Part of the lateral conductances that holds a profile back. Beside a column its neighbours fall with it, so that a smooth
/// field loses little sideways; with all of it, islands of copper seem tied to what lies below them, and the yardstick at 9.6
/// million cells of FR4 needs 32 iterations in place of 18. None at all reaches too deep in the core.
const LATERAL_SHARE: f64 = 0.05;

/// Cycles of one correction.
const CYCLES: usize = 2;

/// Rows that one task of the set-up takes.
const ROWS_A_TASK: usize = 16;

#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    /// Layout with the profile's depth as its number of layers.
    pub layout: Layout,
    /// Profiles.
    profile: Vec<f32>,
    /// Part of the field in the sheet's layers that was there before the columns were solved.
    pub before: Vec<f32>,
    boxes: Boxes,
}

/// Room for the profiles of a line of columns.
struct Room {
    below: Vec<f64>,
    profile: Vec<f64>,
    diagonal: Vec<f64>,
    centre: Vec<f64>,
}

widened! {
    /// The decay profiles of a line of columns, 1 at the top and below it what the top drives when its neighbours nearly
    /// follow; and their energies, the diagonal of the sheet's matrix.
    fn profiles(level: &Level, at: (usize, usize), depth: usize, room: &mut Room) {
        let (y, h) = at;
        let l = &level.layout;
        let (n, nz) = (l.n, l.nz);
        let gz = |k: usize| &level.gz[l.line(y, h, k)..][..n];
        let Room { below, profile, diagonal, centre } = room;
        let (diagonal, centre) = (&mut diagonal[..n], &mut centre[..n]);
        for k in (1..nz).rev() {
            level.lateral_sum((y, h, k), diagonal);
            diagonal.iter_mut().for_each(|d| *d *= LATERAL_SHARE);
            level.add_vertical_sum((y, h, k), diagonal);
            let (here, lower) = below[k * n..].split_at_mut(n);
            if k + 1 < nz {
                for (i, g) in gz(k).iter().enumerate() {
                    let g = f64::from(*g);
                    diagonal[i] -= g * g * lower[i];
                }
            }
            for i in 0..n {
                here[i] = if diagonal[i] > 0.0 { 1.0 / diagonal[i] } else { 0.0 };
            }
        }
        profile[..n].fill(1.0);
        centre.fill(0.0);
        for k in 0..depth {
            level.lateral_sum((y, h, k), diagonal);
            level.add_vertical_sum((y, h, k), diagonal);
            let (upper, here) = profile[k.saturating_sub(1) * n..].split_at_mut(if k > 0 { n } else { 0 });
            let here = &mut here[..n];
            if k > 0 {
                let (g, below) = (gz(k - 1), &below[k * n..(k + 1) * n]);
                for i in 0..n {
                    let g = f64::from(g[i]);
                    here[i] = g * below[i] * upper[i];
                    centre[i] -= 2.0 * upper[i] * here[i] * g;
                }
            }
            for i in 0..n {
                centre[i] += here[i] * here[i] * diagonal[i];
            }
        }
    }
}

impl Sheet {
    pub fn new(level: &Level, lanes: Lanes) -> Self {
        let l = level.layout;
        let depth = DEPTH.min(l.nz);
        let s = Layout::new(l.nx, l.ny, depth);
        let n = l.n;
        let mut phi: Vec<f32> = s.zeros();
        let mut plane = Plane::new(l.nx, l.ny, false);
        let stride = plane.stride;
        let first = plane.at(0, 0);
        let room = || Room {
            below: vec![0.0; l.nz * n],
            profile: vec![0.0; depth * n],
            diagonal: vec![0.0; n],
            centre: vec![0.0; n],
        };
        phi[s.rows()]
            .par_chunks_mut(s.row)
            .zip(plane.centre[first..].par_chunks_mut(stride))
            .enumerate()
            .with_min_len(ROWS_A_TASK)
            .for_each_init(room, |room, (y, (phi, centre))| {
                for h in 0..2 {
                    profiles(lanes, level, (y, h), depth, room);
                    let m = l.count(h);
                    for k in 0..depth {
                        let to = &mut phi[(h * depth + k) * n..][..m];
                        to.iter_mut().zip(&room.profile[k * n..]).for_each(|(to, p)| *to = *p as f32);
                    }
                    for (i, c) in room.centre[..m].iter().enumerate() {
                        centre[2 * i + h] = c.max(0.0) as f32;
                    }
                }
            });
        let (phi_of, faces) = (&phi[..], (&level.gx[..], &level.gy[..]));
        plane.east[first..]
            .par_chunks_mut(stride)
            .zip(plane.north[first..].par_chunks_mut(stride))
            .enumerate()
            .take(l.ny)
            .with_min_len(ROWS_A_TASK)
            .for_each_init(
                || (vec![0.0f64; n], vec![0.0f64; n]),
                |(e, u), (y, (east, north))| {
                    for h in 0..2 {
                        couplings(lanes, &l, &s, faces, phi_of, (y, h), e, u);
                        for i in 0..l.count(h) {
                            east[2 * i + h] = e[i] as f32;
                            north[2 * i + h] = u[i] as f32;
                        }
                    }
                },
            );
        Self { layout: s, profile: phi, before: s.zeros(), boxes: Boxes::new(plane, lanes) }
    }

    #[inline(always)]
    fn profile(&self, (y, h, k): (usize, usize, usize)) -> &[f32] {
        let a = self.layout.line(y, h, k);
        &self.profile[a..a + self.layout.n]
    }

    /// Before the cycle: a correction from the right side alone, for a zero field. Only one colour is written; the other
    /// is solved at once by the smoother.
    pub fn first(&mut self, lanes: Lanes, level: &mut Level, works: &mut [Work]) {
        let ny = level.layout.ny;
        let mut right = self.boxes.take_right();
        {
            let (level, this, b) = (&*level, &*self, Shared::new(&mut right));
            rows::each(works, ny, |share, work| gather(lanes, this, level, b, share, work));
        }
        self.boxes.give_right(right);
        self.boxes.cycle(CYCLES, works);
        let mut before = std::mem::take(&mut self.before);
        let mut x = std::mem::take(&mut level.x);
        {
            let (level, this, x, before) = (&*level, &*self, Shared::new(&mut x), Shared::new(&mut before));
            rows::each(works, ny, |share, work| begin(lanes, this, level, x, before, share, work));
        }
        level.x = x;
        self.before = before;
    }

    /// All there is to do for a single layer.
    pub fn alone(&mut self, lanes: Lanes, level: &mut Level, works: &mut [Work]) {
        let ny = level.layout.ny;
        let mut right = self.boxes.take_right();
        {
            let (level, this, b) = (&*level, &*self, Shared::new(&mut right));
            rows::each(works, ny, |share, work| gather(lanes, this, level, b, share, work));
        }
        self.boxes.give_right(right);
        self.boxes.cycle(1, works);
        let (l, x) = (level.layout, Shared::new(&mut level.x));
        let this = &*self;
        rows::each(works, ny, |share, _| {
            for (y, h) in (share.begin..share.end).flat_map(|y| [(y, 0), (y, 1)]) {
                // SAFETY: a line of this share alone.
                this.collect(y, h, l.count(h), unsafe { x.write(l.line(y, h, 0), l.n) });
            }
        });
    }

    /// After the cycle: a correction of what is left. The colour solved last has no residual; the other's is what its
    /// neighbours changed by since it was solved.
    pub fn last(&mut self, lanes: Lanes, level: &mut Level, works: &mut [Work]) {
        let ny = level.layout.ny;
        let mut right = self.boxes.take_right();
        let mut x = std::mem::take(&mut level.x);
        let mut before = std::mem::take(&mut self.before);
        {
            let (level, this, x) = (&*level, &*self, Shared::new(&mut x));
            let (before, b) = (Shared::new(&mut before), Shared::new(&mut right));
            rows::each(works, ny, |share, work| gather_left(lanes, this, level, x, before, b, share, work));
        }
        self.before = before;
        self.boxes.give_right(right);
        self.boxes.cycle(CYCLES, works);
        {
            let (level, this, x) = (&*level, &*self, Shared::new(&mut x));
            rows::each(works, ny, |share, work| add_on(lanes, this, level, x, share, work));
        }
        level.x = x;
    }

    /// The correction of half a row, 0 in its pads.
    #[inline(always)]
    fn collect(&self, y: usize, h: usize, count: usize, t: &mut [f32]) {
        let row = self.boxes.field(y);
        for (i, value) in t[..count].iter_mut().enumerate() {
            *value = row[2 * i + h];
        }
        t[count..].fill(0.0);
    }

    pub fn bytes(&self) -> usize {
        self.profile.len() * 8 + self.boxes.bytes()
    }
}

widened! {
    /// The sheet's right side from the level's.
    fn gather(sheet: &Sheet, level: &Level, b: Shared<'_, f32>, share: Share, work: &mut Work) {
        let (l, n) = (&level.layout, level.layout.n);
        for y in share.begin..share.end {
            // SAFETY: a row of this share alone.
            let row = unsafe { b.write(sheet.boxes.row(y), l.nx) };
            for h in 0..2 {
                let t = &mut work.t[..n];
                t.fill(0.0);
                for k in 0..sheet.layout.nz {
                    let a = l.line(y, h, k);
                    kernels::add_product(t, sheet.profile((y, h, k)), &level.b[a..a + n]);
                }
                spread(t, h, row);
            }
        }
    }
}

widened! {
    /// The second colour's field from the correction alone.
    fn begin(
        sheet: &Sheet,
        level: &Level,
        x: Shared<'_, f32>,
        before: Shared<'_, f32>,
        share: Share,
        work: &mut Work,
    ) {
        let (l, n) = (&level.layout, level.layout.n);
        for y in share.begin..share.end {
            let h = 1 - (y & 1);
            let t = &mut work.t[..n];
            sheet.collect(y, h, l.count(h), t);
            for k in 0..sheet.layout.nz {
                // SAFETY: lines of this share alone.
                let (x, before) =
                    unsafe { (x.write(l.line(y, h, k), n), before.write(sheet.layout.line(y, h, k), n)) };
                kernels::product(x, sheet.profile((y, h, k)), t);
                before.copy_from_slice(x);
            }
        }
    }
}

widened! {
    /// The sheet's right side from what the first colour changed by since the second was solved.
    fn gather_left(
        sheet: &Sheet,
        level: &Level,
        x: Shared<'_, f32>,
        before: Shared<'_, f32>,
        b: Shared<'_, f32>,
        share: Share,
        work: &mut Work,
    ) {
        let (l, s, n) = (&level.layout, &sheet.layout, level.layout.n);
        for y in share.begin..share.end {
            let h = 1 - (y & 1);
            let (w, t, e) = (&mut work.w[..n], &mut work.t[..n], &mut work.e[..n]);
            w.fill(0.0);
            for k in 0..s.nz {
                let place = (y, h, k);
                // SAFETY: nobody writes these fields here.
                kernels::lateral(t, unsafe { beside(level, (x, l), place) });
                // SAFETY: as above.
                kernels::lateral(e, unsafe { beside(level, (before, s), place) });
                kernels::subtract(t, e);
                kernels::add_product(w, sheet.profile(place), t);
            }
            // SAFETY: a row of this share alone.
            let row = unsafe { b.write(sheet.boxes.row(y), l.nx) };
            row.fill(0.0);
            spread(w, h, row);
        }
    }
}

widened! {
    /// Adds the correction to the field.
    fn add_on(sheet: &Sheet, level: &Level, x: Shared<'_, f32>, share: Share, work: &mut Work) {
        let (l, n) = (&level.layout, level.layout.n);
        for y in share.begin..share.end {
            for h in 0..2 {
                let t = &mut work.t[..n];
                sheet.collect(y, h, l.count(h), t);
                for k in 0..sheet.layout.nz {
                    // SAFETY: a line of this share alone.
                    let x = unsafe { x.write(l.line(y, h, k), n) };
                    kernels::add_product(x, sheet.profile((y, h, k)), t);
                }
            }
        }
    }
}

widened! {
    /// The sheet's conductances to the right and upwards from half a row.
    fn couplings(
        l: &Layout,
        s: &Layout,
        faces: (&[f32], &[f32]),
        phi: &[f32],
        at: (usize, usize),
        east: &mut [f64],
        north: &mut [f64],
    ) {
        let ((gx, gy), (y, h)) = (faces, at);
        let n = l.n;
        let (east, north) = (&mut east[..n], &mut north[..n]);
        east.fill(0.0);
        north.fill(0.0);
        for k in 0..s.nz {
            let a = l.line(y, h, k);
            let (gx, gy) = (&gx[a..a + n], &gy[a..a + n]);
            let here = s.line(y, h, k);
            // An even cell's neighbour has the same number in the other half, an odd one's the next.
            let beside = s.line(y, 1 - h, k) + h;
            let (here, beside, up) =
                (&phi[here..here + n], &phi[beside..beside + n], &phi[here + s.row..here + s.row + n]);
            for i in 0..n {
                let p = f64::from(here[i]);
                east[i] += f64::from(gx[i]) * p * f64::from(beside[i]);
                north[i] += f64::from(gy[i]) * p * f64::from(up[i]);
            }
        }
    }
}

/// Puts half a row into its places of a row in natural order.
#[inline(always)]
fn spread(t: &[f32], h: usize, row: &mut [f32]) {
    for (value, t) in row.iter_mut().skip(h).step_by(2).zip(t) {
        *value = *t;
    }
}
