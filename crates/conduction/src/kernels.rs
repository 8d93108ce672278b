//! The inner loops, compiled for each kind of vector unit as part of the sweeps that use them (see `widened`) and chosen once
//! at run time. All do the same additions in the same order within a lane, so that the field does not depend on the
//! machine class.

use std::ops::{Add, AddAssign, Mul, Sub};

/// Which vector units are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Lanes {
    /// What every machine has.
    Plain,
    /// 256-bit vectors.
    #[cfg(target_arch = "x86_64")]
    Avx2,
    /// 512-bit vectors.
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Lanes {
    /// The widest that this machine has.
    pub fn widest() -> Self {
        #[cfg(target_arch = "x86_64")]
        {
            if is_x86_feature_detected!("avx512f")
                && is_x86_feature_detected!("avx512vl")
                && is_x86_feature_detected!("avx512dq")
            {
                return Self::Avx512;
            }
            if is_x86_feature_detected!("avx2") {
                return Self::Avx2;
            }
        }
        Self::Plain
    }
}

/// Defines a function that is compiled for each kind of vector units and takes the one to use as its first argument. Only
/// what is inlined into it gains: kernels and what stands between carry `#[inline(always)]`.
macro_rules! widened {
    ($(#[$meta:meta])* $vis:vis fn $name:ident($($arg:ident: $type:ty),* $(,)?) $(-> $ret:ty)? $body:block) => {
        $(#[$meta])*
        #[allow(clippy::too_many_arguments)] // the arrays of a stencil
        $vis fn $name(lanes: $crate::kernels::Lanes, $($arg: $type),*) $(-> $ret)? {
            #[inline(always)]
            #[allow(clippy::too_many_arguments)]
            fn plain($($arg: $type),*) $(-> $ret)? $body

            #[cfg(target_arch = "x86_64")]
            #[allow(clippy::too_many_arguments)]
            #[target_feature(enable = "avx2")]
            fn avx2($($arg: $type),*) $(-> $ret)? { plain($($arg),*) }

            #[cfg(target_arch = "x86_64")]
            #[allow(clippy::too_many_arguments)]
            #[target_feature(enable = "avx512f,avx512vl,avx512dq")]
            fn avx512($($arg: $type),*) $(-> $ret)? { plain($($arg),*) }

            match lanes {
                $crate::kernels::Lanes::Plain => plain($($arg),*),
                // SAFETY: these values of `Lanes` are only made by `widest`, after the features were found.
                #[cfg(target_arch = "x86_64")]
                $crate::kernels::Lanes::Avx2 => unsafe { avx2($($arg),*) },
                #[cfg(target_arch = "x86_64")]
                $crate::kernels::Lanes::Avx512 => unsafe { avx512($($arg),*) },
            }
        }
    };
}
pub(crate) use widened;

/// One line's four lateral neighbours: their values and the conductances to them.
#[derive(Clone, Copy)]
pub(crate) struct Beside<'a> {
    pub near_g: &'a [f32],
    pub near: &'a [f32],
    pub far_g: &'a [f32],
    pub far: &'a [f32],
    pub up_g: &'a [f32],
    pub up: &'a [f32],
    pub down_g: &'a [f32],
    pub down: &'a [f32],
}

/// out = sum of conductance times value over the four lateral neighbours.
#[inline(always)]
pub(crate) fn lateral(out: &mut [f32], b: Beside<'_>) {
    let n = out.len();
    let (ng, nv, fg, fv) = (&b.near_g[..n], &b.near[..n], &b.far_g[..n], &b.far[..n]);
    let (ug, uv, dg, dv) = (&b.up_g[..n], &b.up[..n], &b.down_g[..n], &b.down[..n]);
    for i in 0..n {
        out[i] = ng[i] * nv[i] + fg[i] * fv[i] + ug[i] * uv[i] + dg[i] * dv[i];
    }
}

/// out = base + lateral sum: the right side of a column's cell.
#[inline(always)]
pub(crate) fn lateral_onto(out: &mut [f32], base: &[f32], b: Beside<'_>) {
    let n = out.len();
    let base = &base[..n];
    let (ng, nv, fg, fv) = (&b.near_g[..n], &b.near[..n], &b.far_g[..n], &b.far[..n]);
    let (ug, uv, dg, dv) = (&b.up_g[..n], &b.up[..n], &b.down_g[..n], &b.down[..n]);
    for i in 0..n {
        out[i] = base[i] + (ng[i] * nv[i] + fg[i] * fv[i] + ug[i] * uv[i] + dg[i] * dv[i]);
    }
}

/// out = base + lateral sum + g * p * above: the same with what the column's upper part gives.
#[inline(always)]
pub(crate) fn lateral_onto_below(
    out: &mut [f32],
    base: &[f32],
    b: Beside<'_>,
    g: &[f32],
    p: &[f32],
    above: &[f32],
) {
    let n = out.len();
    let (base, g, p, above) = (&base[..n], &g[..n], &p[..n], &above[..n]);
    let (ng, nv, fg, fv) = (&b.near_g[..n], &b.near[..n], &b.far_g[..n], &b.far[..n]);
    let (ug, uv, dg, dv) = (&b.up_g[..n], &b.up[..n], &b.down_g[..n], &b.down[..n]);
    for i in 0..n {
        out[i] = base[i]
            + (ng[i] * nv[i] + fg[i] * fv[i] + ug[i] * uv[i] + dg[i] * dv[i])
            + g[i] * p[i] * above[i];
    }
}

/// out += a * b * c.
#[inline(always)]
pub(crate) fn add_product3(out: &mut [f32], a: &[f32], b: &[f32], c: &[f32]) {
    let n = out.len();
    let (a, b, c) = (&a[..n], &b[..n], &c[..n]);
    for i in 0..n {
        out[i] += a[i] * b[i] * c[i];
    }
}

/// out += a * b.
#[inline(always)]
pub(crate) fn add_product(out: &mut [f32], a: &[f32], b: &[f32]) {
    let n = out.len();
    let (a, b) = (&a[..n], &b[..n]);
    for i in 0..n {
        out[i] += a[i] * b[i];
    }
}

/// out = a * b.
#[inline(always)]
pub(crate) fn product(out: &mut [f32], a: &[f32], b: &[f32]) {
    let n = out.len();
    let (a, b) = (&a[..n], &b[..n]);
    for i in 0..n {
        out[i] = a[i] * b[i];
    }
}

/// out = (a + g * below) * p: a step of the way up a column.
#[inline(always)]
pub(crate) fn back_step(out: &mut [f32], a: &[f32], g: &[f32], below: &[f32], p: &[f32]) {
    let n = out.len();
    let (a, g, below, p) = (&a[..n], &g[..n], &below[..n], &p[..n]);
    for i in 0..n {
        out[i] = (a[i] + g[i] * below[i]) * p[i];
    }
}

/// out += a.
#[inline(always)]
pub(crate) fn add(out: &mut [f32], a: &[f32]) {
    let n = out.len();
    let a = &a[..n];
    for i in 0..n {
        out[i] += a[i];
    }
}

/// out -= a.
#[inline(always)]
pub(crate) fn subtract(out: &mut [f32], a: &[f32]) {
    let n = out.len();
    let a = &a[..n];
    for i in 0..n {
        out[i] -= a[i];
    }
}

/// Sum of products in double precision, in eight fixed lanes.
#[inline(always)]
pub(crate) fn dot(a: &[f32], b: &[f32]) -> f64 {
    let mut lanes = [0.0f64; 8];
    for (a, b) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += f64::from(a[i]) * f64::from(b[i]);
        }
    }
    lanes.iter().sum()
}

/// x += alpha p in double precision, then p = z + beta p in single: the two updates of the search direction in one sweep.
#[inline(always)]
pub(crate) fn step(x: &mut [f64], p: &mut [f32], z: &[f32], alpha: f64, beta: f32) {
    let n = x.len();
    let (p, z) = (&mut p[..n], &z[..n]);
    for i in 0..n {
        x[i] += alpha * f64::from(p[i]);
        p[i] = z[i] + beta * p[i];
    }
}

/// r -= alpha q; returns the sum of squares in eight fixed lanes.
#[inline(always)]
pub(crate) fn residual(r: &mut [f32], q: &[f32], alpha: f32) -> f64 {
    let mut squares = [0.0f64; 8];
    for (r, q) in r.chunks_exact_mut(8).zip(q.chunks_exact(8)) {
        for i in 0..8 {
            r[i] -= alpha * q[i];
            squares[i] += f64::from(r[i]) * f64::from(r[i]);
        }
    }
    squares.iter().sum()
}

/// Sum and sum of squares, in eight fixed lanes each.
#[inline(always)]
pub(crate) fn sum_and_square(values: &[f64]) -> (f64, f64) {
    let (mut sums, mut squares) = ([0.0f64; 8], [0.0f64; 8]);
    for v in values.as_chunks::<8>().0 {
        for i in 0..8 {
            sums[i] += v[i];
            squares[i] += v[i] * v[i];
        }
    }
    (sums.iter().sum(), squares.iter().sum())
}

/// What fields and conductances are held in.
pub(crate) trait Real:
    Copy + Add<Output = Self> + AddAssign + Sub<Output = Self> + Mul<Output = Self>
{
}
impl Real for f32 {}
impl Real for f64 {}

/// One line of the operator: six neighbours in flux form.
#[derive(Clone, Copy)]
pub(crate) struct Around<'a, T> {
    pub centre: &'a [T],
    pub near_g: &'a [T],
    pub near: &'a [T],
    pub far_g: &'a [T],
    pub far: &'a [T],
    pub up_g: &'a [T],
    pub up: &'a [T],
    pub down_g: &'a [T],
    pub down: &'a [T],
    pub above_g: &'a [T],
    pub above: &'a [T],
    pub below_g: &'a [T],
    pub below: &'a [T],
}

/// out = net flux out of each cell.
#[inline(always)]
pub(crate) fn flux<T: Real>(out: &mut [T], a: Around<'_, T>) {
    let n = out.len();
    let c = &a.centre[..n];
    let (ng, nv, fg, fv) = (&a.near_g[..n], &a.near[..n], &a.far_g[..n], &a.far[..n]);
    let (ug, uv, dg, dv) = (&a.up_g[..n], &a.up[..n], &a.down_g[..n], &a.down[..n]);
    let (tg, tv, bg, bv) = (&a.above_g[..n], &a.above[..n], &a.below_g[..n], &a.below[..n]);
    for i in 0..n {
        out[i] = ng[i] * (c[i] - nv[i])
            + fg[i] * (c[i] - fv[i])
            + ug[i] * (c[i] - uv[i])
            + dg[i] * (c[i] - dv[i])
            + tg[i] * (c[i] - tv[i])
            + bg[i] * (c[i] - bv[i]);
    }
}
