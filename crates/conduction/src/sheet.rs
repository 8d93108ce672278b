//! The sheet correction: one unknown for each column, extended downwards by the column's own decay over the top layers.
//! Its exact (Galerkin) operator has five points.

use crate::boxes::{Boxes, Plane};
use crate::columns::beside;
use crate::kernels::{self, Lanes};
use crate::layout::Layout;
use crate::level::Level;

/// Layers that a profile reaches down: the copper and what insulates it.
const DEPTH: usize = 9;

/// Part of the lateral conductances that holds a profile back. Beside a column its neighbours fall with it, so that a smooth
/// field loses little sideways; with all of it, islands of copper seem tied to what lies below them, and the yardstick at 9.6
/// million cells of FR4 needs 32 iterations in place of 18. None at all reaches too deep in the core.
const LATERAL_SHARE: f64 = 0.05;

#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    /// Layout with the profile's depth as its number of layers.
    pub layout: Layout,
    /// Profiles.
    profile: Vec<f32>,
    /// Part of the field in the sheet's layers that was there before the columns were solved.
    pub before: Vec<f32>,
    pub boxes: Boxes,
}

/// The decay profile of a column: 1 at the top, and below it what the top drives when its neighbours nearly follow.
fn profile(level: &Level, x: usize, y: usize, depth: usize) -> Vec<f64> {
    let l = &level.layout;
    let gz = |k: usize| f64::from(level.gz[l.at(x, y, k)]);
    let mut below = vec![0.0; l.nz];
    for k in (1..l.nz).rev() {
        let vertical = gz(k) + gz(k - 1) + level.ground_at(x, y, k);
        let mut d = vertical + LATERAL_SHARE * (level.diagonal(x, y, k) - vertical);
        if k + 1 < l.nz {
            let g = gz(k);
            d -= g * g * below[k + 1];
        }
        below[k] = if d > 0.0 { 1.0 / d } else { 0.0 };
    }
    let mut p = vec![1.0; depth];
    for k in 1..depth {
        p[k] = gz(k - 1) * below[k] * p[k - 1];
    }
    p
}

impl Sheet {
    pub fn new(level: &Level) -> Self {
        let l = level.layout;
        let depth = DEPTH.min(l.nz);
        let s = Layout::new(l.nx, l.ny, depth);
        let mut phi: Vec<f32> = s.zeros();
        let mut plane = Plane::new(l.nx, l.ny);
        for y in 0..l.ny {
            for x in 0..l.nx {
                let p = profile(level, x, y, depth);
                let mut c = 0.0;
                for (k, value) in p.iter().enumerate() {
                    phi[s.at(x, y, k)] = *value as f32;
                    c += value * value * level.diagonal(x, y, k);
                    if k + 1 < depth {
                        c -= 2.0 * value * p[k + 1] * f64::from(level.gz[l.at(x, y, k)]);
                    }
                }
                let at = plane.at(x, y);
                plane.centre[at] = c.max(0.0) as f32;
            }
        }
        for y in 0..l.ny {
            for x in 0..l.nx {
                let (mut e, mut n) = (0.0f64, 0.0f64);
                for k in 0..depth {
                    let a = l.at(x, y, k);
                    let here = f64::from(phi[s.at(x, y, k)]);
                    if x + 1 < l.nx {
                        e += f64::from(level.gx[a]) * here * f64::from(phi[s.at(x + 1, y, k)]);
                    }
                    if y + 1 < l.ny {
                        n += f64::from(level.gy[a]) * here * f64::from(phi[s.at(x, y + 1, k)]);
                    }
                }
                let at = plane.at(x, y);
                plane.east[at] = e as f32;
                plane.north[at] = n as f32;
            }
        }
        Self { layout: s, profile: phi, before: s.zeros(), boxes: Boxes::new(plane) }
    }

    fn line<'a>(&self, values: &'a [f32], y: usize, h: usize, k: usize) -> &'a [f32] {
        let a = self.layout.line(y, h, k);
        &values[a..a + self.layout.n]
    }

    /// Before the cycle: a correction from the right side alone, for a zero field. Only one colour is written; the other
    /// is solved at once by the smoother.
    pub fn first(&mut self, lanes: Lanes, level: &mut Level, t: &mut [f32]) {
        let (l, s) = (level.layout, self.layout);
        let (n, depth) = (l.n, s.nz);
        for y in 0..l.ny {
            for h in 0..2 {
                let t = &mut t[..n];
                t.fill(0.0);
                for k in 0..depth {
                    let a = l.line(y, h, k);
                    kernels::add_product(lanes, t, self.line(&self.profile, y, h, k), &level.b[a..a + n]);
                }
                self.spread(y, h, l.count(h), t);
            }
        }
        self.boxes.cycle();
        for y in 0..l.ny {
            let h = 1 - (y & 1);
            let t = &mut t[..n];
            self.collect(y, h, l.count(h), t);
            for k in 0..depth {
                let (a, c) = (l.line(y, h, k), s.line(y, h, k));
                kernels::product(lanes, &mut level.x[a..a + n], &self.profile[c..c + n], t);
                self.before[c..c + n].copy_from_slice(&level.x[a..a + n]);
            }
        }
    }

    /// After the cycle: a correction of what is left. The colour solved last has no residual; the other's is what its
    /// neighbours changed by since it was solved.
    pub fn last(&mut self, lanes: Lanes, level: &mut Level, w: &mut [f32], t: &mut [f32], e: &mut [f32]) {
        let (l, s) = (level.layout, self.layout);
        let (n, depth) = (l.n, s.nz);
        for y in 0..l.ny {
            let h = 1 - (y & 1);
            let w = &mut w[..n];
            w.fill(0.0);
            for k in 0..depth {
                level.lateral(lanes, (y, h, k), t);
                self.lateral_before(lanes, level, (y, h, k), e);
                kernels::subtract(lanes, &mut t[..n], &e[..n]);
                kernels::add_product(lanes, w, self.line(&self.profile, y, h, k), &t[..n]);
            }
            self.spread(y, h, l.count(h), w);
            let plane = &mut self.boxes.planes[0];
            let at = plane.at(0, y);
            for i in 0..l.count(1 - h) {
                plane.b[at + 2 * i + 1 - h] = 0.0;
            }
        }
        self.boxes.cycle();
        for y in 0..l.ny {
            for h in 0..2 {
                let t = &mut t[..n];
                self.collect(y, h, l.count(h), t);
                for k in 0..depth {
                    let (a, c) = (l.line(y, h, k), s.line(y, h, k));
                    kernels::add_product(lanes, &mut level.x[a..a + n], &self.profile[c..c + n], t);
                }
            }
        }
    }

    /// Lateral sum over the field that was there before.
    pub fn lateral_before(&self, lanes: Lanes, level: &Level, place: (usize, usize, usize), out: &mut [f32]) {
        let b = beside(&level.layout, &level.gx, &level.gy, (&self.before, &self.layout), place);
        kernels::lateral(lanes, &mut out[..level.layout.n], b);
    }

    fn spread(&mut self, y: usize, h: usize, count: usize, t: &[f32]) {
        let plane = &mut self.boxes.planes[0];
        let at = plane.at(0, y);
        for (i, value) in t[..count].iter().enumerate() {
            plane.b[at + 2 * i + h] = *value;
        }
    }

    fn collect(&self, y: usize, h: usize, count: usize, t: &mut [f32]) {
        let plane = &self.boxes.planes[0];
        let at = plane.at(0, y);
        for (i, value) in t.iter_mut().enumerate() {
            *value = if i < count { plane.x[at + 2 * i + h] } else { 0.0 };
        }
    }

    pub fn bytes(&self) -> usize {
        self.profile.len() * 8 + self.boxes.bytes()
    }
}
