//! The smoother: columns solved exactly through the thickness.

use crate::kernels::{self, Beside};
use crate::layout::Layout;
use crate::level::Level;
use crate::rows::Shared;

/// The lateral neighbours of a line, in an array laid out like `values`, which may have fewer layers.
///
/// # Safety
/// Nobody may write the other half of the row or the same half of the two rows beside it meanwhile.
#[inline(always)]
pub(crate) unsafe fn beside<'a>(
    level: &'a Level,
    (x, v): (Shared<'a, f32>, &Layout),
    (y, h, k): (usize, usize, usize),
) -> Beside<'a> {
    let l = &level.layout;
    let n = l.n;
    let (gx, gy) = (&level.gx, &level.gy);
    let (a, b) = (l.line(y, h, k), l.line(y, 1 - h, k));
    let (va, vb) = (v.line(y, h, k), v.line(y, 1 - h, k));
    // SAFETY: the caller keeps writers away; what lies one place beside a line is its own row's pad.
    let read = |begin: usize| unsafe { x.read(begin, n) };
    // Even cells have their nearer neighbour behind their own face and the other one place to the left, odd cells theirs
    // behind the other half's face and one place to the right.
    let (near_g, near, far_g, far) = if h == 0 {
        (&gx[a..a + n], read(vb), &gx[b - 1..b - 1 + n], read(vb - 1))
    } else {
        (&gx[a..a + n], read(vb + 1), &gx[b..b + n], read(vb))
    };
    Beside {
        near_g,
        near,
        far_g,
        far,
        up_g: &gy[a..a + n],
        up: read(va + v.row),
        down_g: &gy[a - l.row..a - l.row + n],
        down: read(va - v.row),
    }
}

impl Level {
    /// Solves the columns of half `h` of row `y` exactly; lateral neighbours count in the first `coupled` layers (in the
    /// others they are known to be 0).
    ///
    /// # Safety
    /// Nobody may write the other half of the row or of the two rows beside it, or touch this half, meanwhile.
    #[inline(always)]
    pub unsafe fn solve_columns(
        &self,
        x: Shared<'_, f32>,
        (y, h): (usize, usize),
        coupled: usize,
        w: &mut [f32],
    ) {
        let l = &self.layout;
        let (n, nz) = (l.n, l.nz);
        for k in 0..nz {
            let a = l.line(y, h, k);
            let (above, rest) = w.split_at_mut(k * n);
            let here = &mut rest[..n];
            let base = &self.b[a..a + n];
            let upper = (k > 0).then(|| (&self.gz[a - n..a], &self.inverse[a - n..a], &above[(k - 1) * n..]));
            // SAFETY: as promised by the caller.
            let b = (k < coupled).then(|| unsafe { beside(self, (x, l), (y, h, k)) });
            match (b, upper) {
                (Some(b), None) => kernels::lateral_onto(here, base, b),
                (Some(b), Some((g, p, above))) => kernels::lateral_onto_below(here, base, b, g, p, above),
                (None, None) => here.copy_from_slice(base),
                (None, Some((g, p, above))) => {
                    here.copy_from_slice(base);
                    kernels::add_product3(here, g, p, above);
                }
            }
        }
        for k in (0..nz).rev() {
            let a = l.line(y, h, k);
            let q = &w[k * n..(k + 1) * n];
            let p = &self.inverse[a..a + n];
            // SAFETY: this half is the caller's alone; the line below it is another one.
            let here = unsafe { x.write(a, n) };
            if k + 1 == nz {
                kernels::product(here, q, p);
            } else {
                // SAFETY: as above.
                let below = unsafe { x.read(a + n, n) };
                kernels::back_step(here, q, &self.gz[a..a + n], below, p);
            }
        }
    }
}
