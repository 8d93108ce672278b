//! The inner loops, compiled for each kind of vector unit as part of the sweeps that use them (see `widened`) and chosen once
//! at run time. All do the same additions in the same order within a lane, so that the field does not depend on the
//! machine class.

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

/// x += alpha p, then p = z + beta p: the two updates of the search direction in one sweep.
#[inline(always)]
pub(crate) fn step(x: &mut [f64], p: &mut [f64], z: &[f32], alpha: f64, beta: f64) {
    let n = x.len();
    let (p, z) = (&mut p[..n], &z[..n]);
    for i in 0..n {
        x[i] += alpha * p[i];
        p[i] = f64::from(z[i]) + beta * p[i];
    }
}

/// r -= alpha q, also rounded into b; returns the sum of squares in eight fixed lanes.
#[inline(always)]
pub(crate) fn residual(r: &mut [f64], b: &mut [f32], q: &[f64], alpha: f64) -> f64 {
    let n = r.len();
    let (b, q) = (&mut b[..n], &q[..n]);
    let mut squares = [0.0f64; 8];
    for ((r, b), q) in r.chunks_exact_mut(8).zip(b.chunks_exact_mut(8)).zip(q.chunks_exact(8)) {
        for i in 0..8 {
            let v = r[i] - alpha * q[i];
            r[i] = v;
            b[i] = v as f32;
            squares[i] += v * v;
        }
    }
    squares.iter().sum()
}

/// One line of the double-precision operator: six neighbours in flux form.
#[derive(Clone, Copy)]
pub(crate) struct Around<'a> {
    pub centre: &'a [f64],
    pub near_g: &'a [f64],
    pub near: &'a [f64],
    pub far_g: &'a [f64],
    pub far: &'a [f64],
    pub up_g: &'a [f64],
    pub up: &'a [f64],
    pub down_g: &'a [f64],
    pub down: &'a [f64],
    pub above_g: &'a [f64],
    pub above: &'a [f64],
    pub below_g: &'a [f64],
    pub below: &'a [f64],
}

/// out = net flux out of each cell; returns the sum of out times centre in eight fixed lanes. Lengths are multiples
/// of eight.
#[inline(always)]
pub(crate) fn flux(out: &mut [f64], a: Around<'_>) -> f64 {
    let mut lanes = [0.0f64; 8];
    let (c, _) = a.centre.as_chunks::<8>();
    let ((ng, _), (nv, _)) = (a.near_g.as_chunks::<8>(), a.near.as_chunks::<8>());
    let ((fg, _), (fv, _)) = (a.far_g.as_chunks::<8>(), a.far.as_chunks::<8>());
    let ((ug, _), (uv, _)) = (a.up_g.as_chunks::<8>(), a.up.as_chunks::<8>());
    let ((dg, _), (dv, _)) = (a.down_g.as_chunks::<8>(), a.down.as_chunks::<8>());
    let ((tg, _), (tv, _)) = (a.above_g.as_chunks::<8>(), a.above.as_chunks::<8>());
    let ((bg, _), (bv, _)) = (a.below_g.as_chunks::<8>(), a.below.as_chunks::<8>());
    let (out, _) = out.as_chunks_mut::<8>();
    let n = out.len();
    let c = &c[..n];
    let (ng, nv, fg, fv) = (&ng[..n], &nv[..n], &fg[..n], &fv[..n]);
    let (ug, uv, dg, dv) = (&ug[..n], &uv[..n], &dg[..n], &dv[..n]);
    let (tg, tv, bg, bv) = (&tg[..n], &tv[..n], &bg[..n], &bv[..n]);
    for i in 0..n {
        let c = &c[i];
        let mut v = [0.0f64; 8];
        for j in 0..8 {
            v[j] = ng[i][j] * (c[j] - nv[i][j])
                + fg[i][j] * (c[j] - fv[i][j])
                + ug[i][j] * (c[j] - uv[i][j])
                + dg[i][j] * (c[j] - dv[i][j])
                + tg[i][j] * (c[j] - tv[i][j])
                + bg[i][j] * (c[j] - bv[i][j]);
        }
        out[i] = v;
        for j in 0..8 {
            lanes[j] += v[j] * c[j];
        }
    }
    lanes.iter().sum()
}
