//! The sweeps of the iteration over the rows of each share.

use crate::kernels::{self, widened};
use crate::layout::Layout;
use crate::level::Level;
use crate::operator::Operator;
use crate::rows::{Share, Shared};

widened! {
    /// Rows of r = power - A x, and of each the sum and the sum of squares.
    pub(crate) fn residual_of(
        operator: &Operator,
        power_w: &[f64],
        x: Shared<'_, f64>,
        r: Shared<'_, f32>,
        sums: Shared<'_, (f64, f64)>,
        share: Share,
        q: &mut [f64],
    ) {
        let l = &operator.layout;
        for y in share.begin..share.end {
            // SAFETY: nobody writes x; the row of r and its sums are this share's alone.
            let (r, sums) = unsafe {
                operator.row(x, q, y);
                (r.write(l.begin + y * l.row, l.row), sums.write(y, 1))
            };
            for (k, h, line) in l.lines_of_row() {
                let begin = (k * l.ny + y) * l.nx;
                let power = &power_w[begin..begin + l.nx];
                let count = l.count(h);
                let (r, q) = (&mut r[line.clone()][..count], &mut q[line][..count]);
                for i in 0..count {
                    q[i] = power[2 * i + h] - q[i];
                    r[i] = q[i] as f32;
                }
            }
            let (sum, square) = kernels::sum_and_square(&q[..l.row]);
            sums[0] = (sum, square);
        }
    }
}

widened! {
    /// Sums of b x over rows.
    pub(crate) fn dots(l: &Layout, b: &[f32], x: &[f32], sums: Shared<'_, f64>, share: Share) {
        for y in share.begin..share.end {
            let range = l.begin + y * l.row..l.begin + (y + 1) * l.row;
            // SAFETY: this share's alone.
            let sum = unsafe { sums.write(y, 1) };
            sum[0] = kernels::dot(&b[range.clone()], &x[range]);
        }
    }
}

/// What the next direction is made from: the correction in the finest level's field.
pub(crate) struct Directions<'a> {
    pub level: &'a Level,
    pub x: Shared<'a, f64>,
    pub p: Shared<'a, f32>,
    pub q: Shared<'a, f32>,
    pub sums: Shared<'a, f64>,
}

impl Directions<'_> {
    /// q = A p in a row.
    ///
    /// # Safety
    /// p is ready in the row and those beside it, and nobody else touches the row of q.
    #[inline(always)]
    unsafe fn operate(&self, y: usize) {
        let l = &self.level.layout;
        // SAFETY: as promised by the caller.
        unsafe {
            let q = self.q.write(l.begin + y * l.row, l.row);
            self.sums.write(y, 1)[0] = self.level.row(self.p, q, y);
        }
    }
}

widened! {
    /// A share's steps and directions, and of the operator what needs no other share.
    pub(crate) fn directions_inside(d: &Directions<'_>, alpha: f64, beta: f32, share: Share) {
        let l = &d.level.layout;
        let inner = share.inner(1);
        for y in share.begin..=share.end {
            if y < share.end {
                let begin = l.begin + y * l.row;
                // SAFETY: rows of this share alone.
                let (x, p) = unsafe { (d.x.write(begin, l.row), d.p.write(begin, l.row)) };
                kernels::step(x, p, &d.level.x[begin..begin + l.row], alpha, beta);
            }
            if y >= 1 && inner.contains(&(y - 1)) {
                // SAFETY: the rows beside are this share's own.
                unsafe { d.operate(y - 1) };
            }
        }
    }
}

widened! {
    /// The operator at a share's seams.
    pub(crate) fn directions_at_seams(d: &Directions<'_>, share: Share) {
        for y in share.outer(1) {
            // SAFETY: all of p is ready.
            unsafe { d.operate(y) };
        }
    }
}

widened! {
    /// Rows of r -= alpha q, and their sums of squares.
    pub(crate) fn residuals(
        l: &Layout,
        r: Shared<'_, f32>,
        q: &[f32],
        sums: Shared<'_, f64>,
        alpha: f32,
        share: Share,
    ) {
        for y in share.begin..share.end {
            let begin = l.begin + y * l.row;
            // SAFETY: rows of this share alone.
            let (r, sum) = unsafe { (r.write(begin, l.row), sums.write(y, 1)) };
            sum[0] = kernels::residual(r, &q[begin..begin + l.row], alpha);
        }
    }
}
