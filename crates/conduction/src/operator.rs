//! The operator in double precision, in flux form: what flows out of each cell.

use rayon::prelude::*;

use crate::conductances::Conductances;
use crate::kernels::{self, Around};
use crate::layout::Layout;
use crate::level::GroundPlane;
use crate::rows::Shared;

#[derive(Debug, Clone)]
pub(crate) struct Operator {
    pub layout: Layout,
    pub gx: Vec<f64>,
    pub gy: Vec<f64>,
    pub gz: Vec<f64>,
    pub ground: Vec<GroundPlane<f64>>,
    /// Ground plane of each layer, where it has one.
    plane_of: Vec<Option<usize>>,
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
        let mut operator = Self {
            layout,
            gx: laid(&c.gx),
            gy: laid(&c.gy),
            gz: laid(&c.gz),
            ground: Vec::new(),
            plane_of: Vec::new(),
        };
        operator.reground(&c.ground);
        operator
    }

    pub fn reground(&mut self, ground: &[f64]) {
        self.ground = planes(&self.layout, ground, |g| g);
        self.plane_of =
            (0..self.layout.nz).map(|k| self.ground.iter().position(|plane| plane.k == k)).collect();
    }

    /// q = A p for one row; returns the sum of p q.
    ///
    /// # Safety
    /// Nobody may write the row and those beside it of p, or touch the row of q, meanwhile.
    #[inline(always)]
    pub unsafe fn row(&self, p: Shared<'_, f64>, q: Shared<'_, f64>, y: usize) -> f64 {
        let l = &self.layout;
        let (n, row) = (l.n, l.row);
        // SAFETY: the caller keeps writers away.
        let read = |begin: usize| unsafe { p.read(begin, n) };
        let mut sum = 0.0;
        for h in 0..2 {
            for k in 0..l.nz {
                let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
                let (near, far_g, far) = if h == 0 {
                    (read(b), &self.gx[b - 1..b - 1 + n], read(b - 1))
                } else {
                    (read(b + 1), &self.gx[b..b + n], read(b))
                };
                // At the outer layers the neighbour is the cell itself: no difference, no flux.
                let (above, below) = (if k > 0 { a - n } else { a }, if k + 1 < l.nz { a + n } else { a });
                let around = Around {
                    centre: read(a),
                    near_g: &self.gx[a..a + n],
                    near,
                    far_g,
                    far,
                    up_g: &self.gy[a..a + n],
                    up: read(a + row),
                    down_g: &self.gy[a - row..a - row + n],
                    down: read(a - row),
                    above_g: &self.gz[above..above + n],
                    above: read(above),
                    below_g: &self.gz[a..a + n],
                    below: read(below),
                };
                // SAFETY: the caller's row.
                let out = unsafe { q.write(a, n) };
                sum += kernels::flux(out, around);
                if let Some(plane) = self.plane_of[k] {
                    let g = &self.ground[plane].g[(2 * y + h) * n..(2 * y + h + 1) * n];
                    let p = read(a);
                    let mut extra = 0.0;
                    for i in 0..n {
                        let v = g[i] * p[i];
                        out[i] += v;
                        extra += v * p[i];
                    }
                    sum += extra;
                }
            }
        }
        sum
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
