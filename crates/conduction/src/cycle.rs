//! The preconditioner: one symmetric V-cycle.

use crate::direct::Factor;
use crate::kernels::{self, Lanes};
use crate::level::Level;
use crate::sheet::Sheet;

/// Columns of the coarsest level, at most.
const FEW_COLUMNS: usize = 30;

/// All levels and their corrections.
#[derive(Debug, Clone)]
pub(crate) struct Hierarchy {
    pub levels: Vec<Level>,
    sheets: Vec<Sheet>,
    factor: Factor,
    lanes: Lanes,
    w: Vec<f32>,
    t: Vec<f32>,
    e: Vec<f32>,
}

impl Hierarchy {
    pub fn new(finest: Level, lanes: Lanes) -> Self {
        let (n, nz) = (finest.layout.n, finest.layout.nz);
        let mut levels = vec![finest];
        loop {
            let last = &levels[levels.len() - 1];
            if last.layout.nx * last.layout.ny <= FEW_COLUMNS {
                break;
            }
            let coarser = last.coarser();
            levels.push(coarser);
        }
        let fine = &levels[..levels.len() - 1];
        let sheets = fine.iter().map(Sheet::new).collect();
        let factor = Factor::new(&levels[levels.len() - 1]);
        Self { levels, sheets, factor, lanes, w: vec![0.0; nz * n], t: vec![0.0; n], e: vec![0.0; nz * n] }
    }

    /// Takes over new conductances to the reference: pivots and coarsest factor follow, the sheet lags behind.
    pub fn reground(&mut self, ground: Vec<crate::level::GroundPlane<f32>>) {
        let mut ground = ground;
        let count = self.levels.len();
        for index in 0..count {
            let next = self.levels.get(index + 1).map(|coarse| {
                crate::level::coarser_ground(&self.levels[index].layout, &coarse.layout, &ground)
            });
            self.levels[index].ground = ground;
            self.levels[index].find_pivots();
            ground = next.unwrap_or_default();
        }
        self.factor = Factor::new(&self.levels[count - 1]);
    }

    /// Applies the cycle to the finest level's right side; the result is its field.
    pub fn apply(&mut self) {
        let last = self.levels.len() - 1;
        for index in 0..last {
            self.down(index);
        }
        self.factor.solve(&mut self.levels[last]);
        for index in (0..last).rev() {
            self.up(index);
        }
    }

    /// Smooths from a zero field and hands the residual down, in one sweep over the rows.
    fn down(&mut self, index: usize) {
        let lanes = self.lanes;
        let (fine, coarse) = self.levels.split_at_mut(index + 1);
        let (level, coarse) = (&mut fine[index], &mut coarse[0]);
        let (w, t, e) = (&mut self.w, &mut self.t, &mut self.e);
        let mut sheet = self.sheets.get_mut(index);
        let coupled = sheet.as_ref().map_or(0, |sheet| sheet.layout.nz);
        if let Some(sheet) = &mut sheet {
            sheet.first(lanes, level, t);
        }
        let l = level.layout;
        for y in 0..l.ny + 3 {
            if y < l.ny {
                level.solve_columns(lanes, y, y & 1, coupled, w);
            }
            if y >= 1 && y - 1 < l.ny {
                level.solve_columns(lanes, y - 1, 1 - ((y - 1) & 1), l.nz, w);
            }
            if y >= 3 && (y - 3) & 1 == 0 && y - 3 < l.ny {
                restrict(lanes, level, coarse, sheet.as_deref(), (y - 3) / 2, (w, t, e));
            }
        }
    }

    /// Takes the coarse field up and smooths, in one sweep over the rows.
    fn up(&mut self, index: usize) {
        let lanes = self.lanes;
        let (fine, coarse) = self.levels.split_at_mut(index + 1);
        let (level, coarse) = (&mut fine[index], &coarse[0]);
        let (w, t, e) = (&mut self.w, &mut self.t, &mut self.e);
        let mut sheet = self.sheets.get_mut(index);
        let l = level.layout;
        for y in 0..l.ny + 2 {
            if y < l.ny {
                prolong(lanes, level, coarse, sheet.as_deref_mut(), y, e);
            }
            if y >= 1 && y - 1 < l.ny {
                level.solve_columns(lanes, y - 1, 1 - ((y - 1) & 1), l.nz, w);
            }
            if y >= 2 {
                level.solve_columns(lanes, y - 2, (y - 2) & 1, l.nz, w);
            }
        }
        if let Some(sheet) = sheet {
            sheet.last(lanes, level, w, t, e);
        }
    }

    pub fn bytes(&self) -> usize {
        let levels: usize = self.levels.iter().map(|level| level.x.len() * 6 * 4).sum();
        levels + self.sheets.iter().map(Sheet::bytes).sum::<usize>()
    }
}

/// Residual of two fine rows summed into a coarse one. The colour solved last has none; the other's is the lateral sum
/// over what its neighbours became, less what they were.
fn restrict(
    lanes: Lanes,
    level: &Level,
    coarse: &mut Level,
    sheet: Option<&Sheet>,
    row: usize,
    (w, t, e): (&mut [f32], &mut [f32], &mut [f32]),
) {
    let (l, c) = (level.layout, coarse.layout);
    let n = l.n;
    for k in 0..l.nz {
        let (even, odd) = (&mut w[..n], &mut t[..n]);
        level.lateral(lanes, (2 * row, 0, k), even);
        let second = 2 * row + 1 < l.ny;
        if second {
            level.lateral(lanes, (2 * row + 1, 1, k), odd);
        } else {
            odd.fill(0.0);
        }
        if let Some(sheet) = sheet.filter(|sheet| k < sheet.layout.nz) {
            sheet.lateral_before(lanes, level, (2 * row, 0, k), e);
            kernels::subtract(lanes, even, &e[..n]);
            if second {
                sheet.lateral_before(lanes, level, (2 * row + 1, 1, k), e);
                kernels::subtract(lanes, odd, &e[..n]);
            }
        }
        let (a, b) = (c.line(row, 0, k), c.line(row, 1, k));
        let (m0, m1) = (c.count(0), c.count(1));
        let (left, right) = coarse.b.split_at_mut(b);
        let (left, right) = (&mut left[a..a + m0], &mut right[..m1]);
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
fn prolong(
    lanes: Lanes,
    level: &mut Level,
    coarse: &Level,
    sheet: Option<&mut Sheet>,
    y: usize,
    e: &mut [f32],
) {
    let (l, c) = (level.layout, coarse.layout);
    let n = l.n;
    if y & 1 == 0 {
        for k in 0..l.nz {
            let (a, b) = (c.line(y / 2, 0, k), c.line(y / 2, 1, k));
            let (m0, m1) = (c.count(0), c.count(1));
            let (left, right) = (&coarse.x[a..a + m0], &coarse.x[b..b + m1]);
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
    for k in 0..l.nz {
        let a = l.line(y, h, k);
        let m = l.count(h);
        kernels::add(lanes, &mut level.x[a..a + m], &e[k * n..k * n + m]);
    }
    if let Some(sheet) = sheet {
        for k in 0..sheet.layout.nz {
            let (a, s) = (l.line(y, h, k), sheet.layout.line(y, h, k));
            sheet.before[s..s + n].copy_from_slice(&level.x[a..a + n]);
        }
    }
}
