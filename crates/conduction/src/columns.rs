//! The smoother: columns solved exactly through the thickness.

use crate::kernels::{self, Beside, Lanes};
use crate::layout::Layout;
use crate::level::Level;

#[inline(always)]
/// The lateral neighbours of a line, in an array laid out like `values` with `nz_values` layers.
pub(crate) fn beside<'a>(
    l: &Layout,
    gx: &'a [f32],
    gy: &'a [f32],
    values: (&'a [f32], &Layout),
    (y, h, k): (usize, usize, usize),
) -> Beside<'a> {
    let (x, v) = values;
    let n = l.n;
    let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
    let (va, vb) = (v.line(y, h, k), v.line(y, 1 - h, k));
    // Even cells have their nearer neighbour behind their own face and the other one place to the left, odd cells theirs
    // behind the other half's face and one place to the right.
    let (near_g, near, far_g, far) = if h == 0 {
        (&gx[a..a + n], &x[vb..vb + n], &gx[b - 1..b - 1 + n], &x[vb - 1..vb - 1 + n])
    } else {
        (&gx[a..a + n], &x[vb + 1..vb + 1 + n], &gx[b..b + n], &x[vb..vb + n])
    };
    Beside {
        near_g,
        near,
        far_g,
        far,
        up_g: &gy[a..a + n],
        up: &x[va + v.row..va + v.row + n],
        down_g: &gy[a - l.row..a - l.row + n],
        down: &x[va - v.row..va - v.row + n],
    }
}

impl Level {
    /// Sum of conductance times value over a line's lateral neighbours.
    pub fn lateral(&self, lanes: Lanes, place: (usize, usize, usize), out: &mut [f32]) {
        let b = beside(&self.layout, &self.gx, &self.gy, (&self.x, &self.layout), place);
        kernels::lateral(lanes, &mut out[..self.layout.n], b);
    }

    /// Solves the columns of half `h` of row `y` exactly; lateral neighbours count in the first `coupled` layers (in the
    /// others they are known to be 0).
    pub fn solve_columns(&mut self, lanes: Lanes, y: usize, h: usize, coupled: usize, w: &mut [f32]) {
        match lanes {
            Lanes::Plain => self.solve_columns_here(y, h, coupled, w),
            // SAFETY: these values of `Lanes` are only made after the features were found.
            #[cfg(target_arch = "x86_64")]
            Lanes::Avx2 => unsafe { solve_columns_avx2(self, y, h, coupled, w) },
            #[cfg(target_arch = "x86_64")]
            Lanes::Avx512 => unsafe { solve_columns_avx512(self, y, h, coupled, w) },
        }
    }

    #[inline(always)]
    fn solve_columns_here(&mut self, y: usize, h: usize, coupled: usize, w: &mut [f32]) {
        let l = self.layout;
        let (n, nz) = (l.n, l.nz);
        for k in 0..nz {
            let a = l.line(y, h, k);
            let (above, rest) = w.split_at_mut(k * n);
            let here = &mut rest[..n];
            let base = &self.b[a..a + n];
            let upper = (k > 0).then(|| (&self.gz[a - n..a], &self.inverse[a - n..a], &above[(k - 1) * n..]));
            let b = (k < coupled).then(|| beside(&l, &self.gx, &self.gy, (&self.x, &l), (y, h, k)));
            match (b, upper) {
                (Some(b), None) => kernels::lateral_onto(here, base, b),
                (Some(b), Some((g, p, above))) => kernels::lateral_onto_below(here, base, b, g, p, above),
                (None, None) => here.copy_from_slice(base),
                (None, Some((g, p, above))) => {
                    here.copy_from_slice(base);
                    kernels::add_product3_plain(here, g, p, above);
                }
            }
        }
        for k in (0..nz).rev() {
            let a = l.line(y, h, k);
            let q = &w[k * n..(k + 1) * n];
            let p = &self.inverse[a..a + n];
            let (here, below) = self.x[a..].split_at_mut(n);
            if k + 1 == nz {
                kernels::product_plain(here, q, p);
            } else {
                kernels::back_step_plain(here, q, &self.gz[a..a + n], below, p);
            }
        }
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn solve_columns_avx2(level: &mut Level, y: usize, h: usize, coupled: usize, w: &mut [f32]) {
    level.solve_columns_here(y, h, coupled, w);
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512vl,avx512dq")]
fn solve_columns_avx512(level: &mut Level, y: usize, h: usize, coupled: usize, w: &mut [f32]) {
    level.solve_columns_here(y, h, coupled, w);
}
