//! The preconditioner: one symmetric V-cycle.

use crate::columns::beside;
use crate::direct::Factor;
use crate::kernels::{self, Lanes, widened};
use crate::level::Level;
use crate::rows::{self, Share, Shared};
use crate::sheet::Sheet;

/// Columns of the coarsest level, at most.
const FEW_COLUMNS: usize = 12;

/// What a share of the rows is worked in.
#[derive(Debug, Clone)]
pub(crate) struct Work {
    pub w: Vec<f32>,
    pub t: Vec<f32>,
    pub e: Vec<f32>,
}

impl Work {
    fn new(layers: usize, line: usize) -> Self {
        let room = || vec![0.0; (layers * line).max(8 * line)];
        Self { w: room(), t: vec![0.0; line], e: room() }
    }

    /// Two rooms for rows of a plane.
    pub fn rows(&mut self, count: usize) -> (&mut [f32], &mut [f32]) {
        (&mut self.w[..count], &mut self.e[..count])
    }
}

/// All levels and their corrections.
#[derive(Debug, Clone)]
pub(crate) struct Hierarchy {
    pub levels: Vec<Level>,
    sheets: Vec<Sheet>,
    /// Of the coarsest level; none where a single layer is left to the sheet alone.
    factor: Option<Factor>,
    lanes: Lanes,
    works: Vec<Work>,
}

impl Hierarchy {
    pub fn new(finest: Level, lanes: Lanes) -> Self {
        let mut levels = vec![finest];
        loop {
            let last = &levels[levels.len() - 1];
            if last.layout.nx * last.layout.ny <= FEW_COLUMNS {
                break;
            }
            if last.layout.nz == 1 {
                let sheets = vec![Sheet::new(last, lanes)];
                return Self { levels, sheets, factor: None, lanes, works: Vec::new() };
            }
            let coarser = last.coarser(lanes);
            levels.push(coarser);
        }
        let fine = &levels[..levels.len() - 1];
        let sheets = fine.iter().map(|level| Sheet::new(level, lanes)).collect();
        let factor = Some(Factor::new(&levels[levels.len() - 1]));
        Self { levels, sheets, factor, lanes, works: Vec::new() }
    }

    /// Takes over new conductances to the reference: pivots and coarsest factor follow, the sheet lags behind where it is
    /// not alone.
    pub fn reground(&mut self, ground: Vec<crate::level::GroundPlane<f32>>) {
        let mut ground = ground;
        let count = self.levels.len();
        for index in 0..count {
            let next = self.levels.get(index + 1).map(|coarse| {
                crate::level::coarser_ground(&self.levels[index].layout, &coarse.layout, &ground)
            });
            self.levels[index].ground = ground;
            self.levels[index].find_pivots(self.lanes);
            ground = next.unwrap_or_default();
        }
        if self.factor.is_some() {
            self.factor = Some(Factor::new(&self.levels[count - 1]));
        } else {
            self.sheets = vec![Sheet::new(&self.levels[0], self.lanes)];
        }
    }

    /// Applies the cycle to the finest level's right side; the result is its field.
    pub fn apply(&mut self) {
        let l = self.levels[0].layout;
        self.works.resize_with(rows::shares(l.ny, l.nx * l.ny * l.nz), || Work::new(l.nz, l.n));
        let last = self.levels.len() - 1;
        if self.factor.is_none() {
            let works = shared_out(&mut self.works, &l);
            return self.sheets[0].alone(self.lanes, &mut self.levels[0], works);
        }
        for index in 0..last {
            self.down(index);
        }
        if let Some(factor) = &mut self.factor {
            factor.solve(&mut self.levels[last]);
        }
        for index in (0..last).rev() {
            self.up(index);
        }
    }

    /// Smooths from a zero field and hands the residual down, in one sweep over the rows of each share.
    fn down(&mut self, index: usize) {
        let lanes = self.lanes;
        let (fine, coarse) = self.levels.split_at_mut(index + 1);
        let (level, coarse) = (&mut fine[index], &mut coarse[0]);
        let sheet = &mut self.sheets[index];
        let l = level.layout;
        let works = shared_out(&mut self.works, &l);
        sheet.first(lanes, level, works);
        let mut x = std::mem::take(&mut level.x);
        let mut b = std::mem::take(&mut coarse.b);
        {
            let before = Shared::new(&mut sheet.before);
            let transfer = Transfer { level, coarse, x: Shared::new(&mut x), before, sheet: sheet.layout };
            let b = Shared::new(&mut b);
            // First the colour that only reads what is not yet touched, and of the other what lies inside the share; then,
            // when all shares are there, the rows at their seams; then what is left to hand down.
            rows::each(works, l.ny, |share, work| down_inside(lanes, &transfer, b, share, work));
            rows::each(works, l.ny, |share, work| solve_seams(lanes, &transfer, 1, share, work));
            rows::each(works, l.ny, |share, work| down_seams(lanes, &transfer, b, share, work));
        }
        level.x = x;
        coarse.b = b;
    }

    /// Takes the coarse field up and smooths, in one sweep over the rows of each share.
    fn up(&mut self, index: usize) {
        let lanes = self.lanes;
        let (fine, coarse) = self.levels.split_at_mut(index + 1);
        let (level, coarse) = (&mut fine[index], &coarse[0]);
        let sheet = &mut self.sheets[index];
        let l = level.layout;
        let works = shared_out(&mut self.works, &l);
        let mut x = std::mem::take(&mut level.x);
        {
            let before = Shared::new(&mut sheet.before);
            let transfer = Transfer { level, coarse, x: Shared::new(&mut x), before, sheet: sheet.layout };
            // As on the way down; the first colour is solved again only where no other share still needs what it was.
            rows::each(works, l.ny, |share, work| up_inside(lanes, &transfer, share, work));
            rows::each(works, l.ny, |share, work| solve_seams(lanes, &transfer, 1, share, work));
            rows::each(works, l.ny, |share, work| solve_seams(lanes, &transfer, 2, share, work));
        }
        level.x = x;
        sheet.last(lanes, level, works);
    }

    pub fn bytes(&self) -> usize {
        let levels: usize = self.levels.iter().map(|level| level.x.len() * 6 * 4).sum();
        levels + self.sheets.iter().map(Sheet::bytes).sum::<usize>()
    }
}

/// As many of the shares' rooms as a level is worth.
pub(crate) fn shared_out<'a>(works: &'a mut [Work], l: &crate::layout::Layout) -> &'a mut [Work] {
    let count = rows::shares(l.ny, l.nx * l.ny * l.nz).min(works.len());
    &mut works[..count]
}

widened! {
    /// The way down of a share, but for the rows that wait for its neighbours.
    fn down_inside(transfer: &Transfer<'_>, b: Shared<'_, f32>, share: Share, work: &mut Work) {
        let (level, depth) = (transfer.level, transfer.sheet.nz);
        let (inner, ready) = (share.inner(1), share.inner(2));
        for y in share.begin..share.end + 3 {
            if y < share.end {
                // SAFETY: rows of this share; the other colour's rows at its seams, which are read, are at rest.
                unsafe { level.solve_columns(transfer.x, (y, y & 1), depth, &mut work.w) };
            }
            if y >= 1 && inner.contains(&(y - 1)) {
                let y = y - 1;
                // SAFETY: the rows beside are this share's own.
                unsafe { level.solve_columns(transfer.x, (y, 1 - (y & 1)), level.layout.nz, &mut work.w) };
            }
            if y >= 3 && (y - 3) & 1 == 0 && ready.contains(&(y - 3)) {
                // SAFETY: as above; the coarse row comes from this share alone.
                unsafe { transfer.restrict(b, (y - 3) / 2, work) };
            }
        }
    }
}

widened! {
    /// Hands down from the rows at a share's seams.
    fn down_seams(transfer: &Transfer<'_>, b: Shared<'_, f32>, share: Share, work: &mut Work) {
        for y in share.outer(2).filter(|y| y & 1 == 0) {
            // SAFETY: the field is at rest; the coarse row comes from this share alone.
            unsafe { transfer.restrict(b, y / 2, work) };
        }
    }
}

widened! {
    /// The way up of a share, but for the rows that wait for its neighbours.
    fn up_inside(transfer: &Transfer<'_>, share: Share, work: &mut Work) {
        let level = transfer.level;
        let nz = level.layout.nz;
        let (inner, ready) = (share.inner(1), share.inner(2));
        for y in share.begin..share.end + 2 {
            if y < share.end {
                // SAFETY: a row of this share; nobody reads it from outside before the seams.
                unsafe { transfer.prolong(y, &mut work.e) };
            }
            if y >= 1 && inner.contains(&(y - 1)) {
                let y = y - 1;
                // SAFETY: the rows beside are this share's own.
                unsafe { level.solve_columns(transfer.x, (y, 1 - (y & 1)), nz, &mut work.w) };
            }
            if y >= 2 && ready.contains(&(y - 2)) {
                let y = y - 2;
                // SAFETY: as above.
                unsafe { level.solve_columns(transfer.x, (y, y & 1), nz, &mut work.w) };
            }
        }
    }
}

widened! {
    /// Solves the rows within `margin` of a share's seams: the second colour with a margin of 1, the first with 2.
    fn solve_seams(transfer: &Transfer<'_>, margin: usize, share: Share, work: &mut Work) {
        let level = transfer.level;
        for y in share.outer(margin) {
            let h = if margin == 1 { 1 - (y & 1) } else { y & 1 };
            // SAFETY: all shares solve one colour, and read the other.
            unsafe { level.solve_columns(transfer.x, (y, h), level.layout.nz, &mut work.w) };
        }
    }
}

/// Between a level and the next coarser one.
struct Transfer<'a> {
    level: &'a Level,
    coarse: &'a Level,
    x: Shared<'a, f32>,
    /// Part of the field in the sheet's layers that was there before the columns were solved.
    before: Shared<'a, f32>,
    sheet: crate::layout::Layout,
}

impl Transfer<'_> {
    /// Residual of two fine rows summed into a coarse one. The colour solved last has none; the other's is the lateral sum
    /// over what its neighbours became, less what they were.
    ///
    /// # Safety
    /// Nobody may write the colour solved last in the two rows and those beside them, or touch the coarse row, meanwhile.
    #[inline(always)]
    unsafe fn restrict(&self, b: Shared<'_, f32>, row: usize, work: &mut Work) {
        let (l, c) = (&self.level.layout, &self.coarse.layout);
        let n = l.n;
        let (even, odd, e) = (&mut work.w[..n], &mut work.t[..n], &mut work.e[..n]);
        for k in 0..l.nz {
            for (place, out) in [((2 * row, 0, k), &mut *even), ((2 * row + 1, 1, k), &mut *odd)] {
                if place.0 >= l.ny {
                    out.fill(0.0);
                    continue;
                }
                // SAFETY: as promised by the caller; what was before is only written by the sheet and by `prolong`.
                kernels::lateral(out, unsafe { beside(self.level, (self.x, l), place) });
                if k < self.sheet.nz {
                    kernels::lateral(e, unsafe { beside(self.level, (self.before, &self.sheet), place) });
                    kernels::subtract(out, e);
                }
            }
            let (m0, m1) = (c.count(0), c.count(1));
            // SAFETY: two lines of the coarse row, which is the caller's.
            let (left, right) = unsafe { (b.write(c.line(row, 0, k), m0), b.write(c.line(row, 1, k), m1)) };
            for i in 0..m1 {
                left[i] = even[2 * i] + odd[2 * i];
                right[i] = even[2 * i + 1] + odd[2 * i + 1];
            }
            if m0 > m1 {
                left[m1] = even[2 * m1] + odd[2 * m1];
            }
        }
    }

    /// Adds the coarse field to one colour of a row; the other colour is solved right after.
    ///
    /// # Safety
    /// Nobody else may touch that colour of the row meanwhile, and of two rows the even one comes first.
    #[inline(always)]
    unsafe fn prolong(&self, y: usize, e: &mut [f32]) {
        let (l, c) = (&self.level.layout, &self.coarse.layout);
        let n = l.n;
        if y & 1 == 0 {
            for k in 0..l.nz {
                let (a, b) = (c.line(y / 2, 0, k), c.line(y / 2, 1, k));
                let (m0, m1) = (c.count(0), c.count(1));
                let (left, right) = (&self.coarse.x[a..a + m0], &self.coarse.x[b..b + m1]);
                let e = &mut e[k * n..(k + 1) * n];
                for i in 0..m1 {
                    e[2 * i] = left[i];
                    e[2 * i + 1] = right[i];
                }
                if m0 > m1 {
                    e[2 * m1] = left[m1];
                }
                e[c.nx..].fill(0.0);
            }
        }
        let h = y & 1;
        let m = l.count(h);
        for k in 0..l.nz {
            // SAFETY: the caller's colour of the row.
            let x = unsafe { self.x.write(l.line(y, h, k), n) };
            kernels::add(&mut x[..m], &e[k * n..k * n + m]);
            if k < self.sheet.nz {
                // SAFETY: as above.
                unsafe { self.before.write(self.sheet.line(y, h, k), n) }.copy_from_slice(x);
            }
        }
    }
}
