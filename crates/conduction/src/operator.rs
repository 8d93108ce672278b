//! The operator in flux form: what flows out of each cell. In double precision it says what is left to solve; in single, on
//! the finest level's conductances, it drives the iteration.

use rayon::prelude::*;

use crate::conductances::Conductances;
use crate::kernels::{self, Around, Real};
use crate::layout::Layout;
use crate::level::{GroundPlane, Level};
use crate::rows::Shared;

#[derive(Debug, Clone)]
pub(crate) struct Operator {
    pub layout: Layout,
    pub gx: Vec<f64>,
    pub gy: Vec<f64>,
    pub gz: Vec<f64>,
    pub ground: Vec<GroundPlane<f64>>,
}

/// Ground conductances in natural order as planes; layers without any are left out.
pub(crate) fn planes<T: Copy + Default + Send>(
    l: &Layout,
    ground: &[f64],
    convert: impl Fn(f64) -> T + Sync,
) -> Vec<GroundPlane<T>> {
    let size = l.nx * l.ny;
    (0..l.nz)
        .into_par_iter()
        .filter(|k| ground[k * size..(k + 1) * size].iter().any(|g| *g != 0.0))
        .map(|k| {
            let mut g = vec![T::default(); l.ny * 2 * l.n];
            for y in 0..l.ny {
                for x in 0..l.nx {
                    g[(2 * y + (x & 1)) * l.n + (x >> 1)] = convert(ground[k * size + y * l.nx + x]);
                }
            }
            GroundPlane { k, g }
        })
        .collect()
}

impl Operator {
    pub fn new(c: &Conductances) -> Self {
        let layout = Layout::new(c.nx, c.ny, c.nz);
        let laid = |natural: &[f64]| {
            let mut values = layout.zeros();
            layout.take(natural, &mut values, |v| v);
            values
        };
        let mut operator =
            Self { layout, gx: laid(&c.gx), gy: laid(&c.gy), gz: laid(&c.gz), ground: Vec::new() };
        operator.reground(&c.ground);
        operator
    }

    pub fn reground(&mut self, ground: &[f64]) {
        self.ground = planes(&self.layout, ground, |g| g);
    }

    /// A p for one row, laid out like a row, into `q`.
    ///
    /// # Safety
    /// Nobody may write the row and those beside it of p meanwhile.
    #[inline(always)]
    pub unsafe fn row(&self, p: Shared<'_, f64>, q: &mut [f64], y: usize) {
        // SAFETY: as promised by the caller.
        unsafe { flux_of_row(&self.layout, [&self.gx, &self.gy, &self.gz], &self.ground, p, q, y) };
    }

    /// Heat that leaves to the reference.
    pub fn out_w(&self, x: &[f64]) -> f64 {
        let l = &self.layout;
        let mut sum = 0.0;
        for plane in &self.ground {
            for y in 0..l.ny {
                for h in 0..2 {
                    let a = l.line(y, h, plane.k);
                    let g = &plane.g[(2 * y + h) * l.n..(2 * y + h + 1) * l.n];
                    sum += g.iter().zip(&x[a..a + l.n]).map(|(g, x)| g * x).sum::<f64>();
                }
            }
        }
        sum
    }

    pub fn bytes(&self) -> usize {
        3 * 8 * self.gx.len() + self.ground.iter().map(|plane| 8 * plane.g.len()).sum::<usize>()
    }
}

impl Level {
    /// A p for one row, laid out like a row, into `q`; returns the sum of p q.
    ///
    /// # Safety
    /// Nobody may write the row and those beside it of p meanwhile.
    #[inline(always)]
    pub unsafe fn row(&self, p: Shared<'_, f32>, q: &mut [f32], y: usize) -> f64 {
        let l = &self.layout;
        // SAFETY: as promised by the caller.
        unsafe {
            flux_of_row(l, [&self.gx, &self.gy, &self.gz], &self.ground, p, q, y);
            kernels::dot(q, p.read(l.begin + y * l.row, l.row))
        }
    }
}

/// What flows out of the cells of a row.
///
/// # Safety
/// Nobody may write the row and those beside it of p meanwhile.
#[inline(always)]
unsafe fn flux_of_row<T: Real>(
    l: &Layout,
    [gx, gy, gz]: [&[T]; 3],
    ground: &[GroundPlane<T>],
    p: Shared<'_, T>,
    q: &mut [T],
    y: usize,
) {
    let (n, row) = (l.n, l.row);
    // SAFETY: the caller keeps writers away.
    let read = |begin: usize| unsafe { p.read(begin, n) };
    for h in 0..2 {
        for k in 0..l.nz {
            let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
            let (near, far_g, far) = if h == 0 {
                (read(b), &gx[b - 1..b - 1 + n], read(b - 1))
            } else {
                (read(b + 1), &gx[b..b + n], read(b))
            };
            // At the outer layers the neighbour is the cell itself: no difference, no flux.
            let (above, below) = (if k > 0 { a - n } else { a }, if k + 1 < l.nz { a + n } else { a });
            let around = Around {
                centre: read(a),
                near_g: &gx[a..a + n],
                near,
                far_g,
                far,
                up_g: &gy[a..a + n],
                up: read(a + row),
                down_g: &gy[a - row..a - row + n],
                down: read(a - row),
                above_g: &gz[above..above + n],
                above: read(above),
                below_g: &gz[a..a + n],
                below: read(below),
            };
            let out = &mut q[(h * l.nz + k) * n..][..n];
            kernels::flux(out, around);
            if let Some(plane) = ground.iter().find(|plane| plane.k == k) {
                let g = &plane.g[(2 * y + h) * n..(2 * y + h + 1) * n];
                let p = read(a);
                for i in 0..n {
                    out[i] += g[i] * p[i];
                }
            }
        }
    }
}
