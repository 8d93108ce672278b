//! Conjugate gradients in double precision with the multigrid cycle as preconditioner.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use crate::conductances::Conductances;
use crate::cycle::Hierarchy;
use crate::error::SolveError;
use crate::kernels::{self, Lanes, widened};
use crate::layout::Layout;
use crate::level::Level;
use crate::operator::{Operator, planes};
use crate::rows::{self, Share, Shared};

/// How a solution is asked for.
#[derive(Debug, Clone, Copy)]
pub struct SolveOptions<'a> {
    /// Residual over right side, Euclidean norms, at which to stop; 1e-12 to 1.
    pub relative_residual: f64,
    /// Most iterations.
    pub max_iterations: usize,
    /// Field to start from; 0 when missing.
    pub start: Option<&'a [f64]>,
    /// Looked at between iterations.
    pub cancel: Option<&'a AtomicBool>,
}

impl Default for SolveOptions<'_> {
    fn default() -> Self {
        Self { relative_residual: 1e-8, max_iterations: 500, start: None, cancel: None }
    }
}

/// What went in and what came out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Balance {
    /// Sum of the sources, W.
    pub in_w: f64,
    /// Sum over conductances to the reference, W.
    pub out_w: f64,
    /// (in - out) over the sum of the sources' magnitudes.
    pub relative_error: f64,
}

/// A field and how it was reached.
#[derive(Debug, Clone)]
pub struct Solution {
    /// Rise above the reference of each cell, K, x fastest; 0 in absent cells.
    pub rise_k: Vec<f64>,
    /// Iterations.
    pub iterations: usize,
    /// True residual over right side.
    pub relative_residual: f64,
    /// What went in and came out.
    pub balance: Balance,
}

/// Largest share of the power that may be missing from the balance.
const BALANCE: f64 = 2e-7;

/// A system made ready: solve it for as many sources as wanted.
#[derive(Debug, Clone)]
pub struct Solver {
    operator: Operator,
    hierarchy: Hierarchy,
    lanes: Lanes,
    /// Kept from one solution to the next: fresh memory costs as much as an iteration.
    vectors: Vectors,
}

impl Solver {
    /// Makes a system ready. It is made ready and solved on the threads of the pool in which this is called (see `rayon`);
    /// the answer does not depend on their number, to the bit.
    pub fn new(conductances: &Conductances) -> Result<Self, SolveError> {
        rows::in_pool(|| Self::make(conductances))
    }

    fn make(conductances: &Conductances) -> Result<Self, SolveError> {
        let lanes = Lanes::widest();
        let operator = Operator::new(conductances);
        let l = operator.layout;
        let single = |values: &[f64]| values.par_iter().map(|v| *v as f32).collect::<Vec<f32>>();
        let finest = Level::new(
            l,
            single(&operator.gx),
            single(&operator.gy),
            single(&operator.gz),
            planes(&l, &conductances.ground, |g| g as f32),
            lanes,
        );
        Ok(Self { operator, hierarchy: Hierarchy::new(finest, lanes), lanes, vectors: Vectors::default() })
    }

    /// Replaces the conductances to the reference, one for each cell. The operator is exact at once, and so is the
    /// answer; the sheet correction of the preconditioner stays as it was.
    pub fn set_ground(&mut self, ground_w_per_k: &[f64]) -> Result<(), SolveError> {
        self.check("ground", ground_w_per_k)?;
        rows::in_pool(|| {
            self.operator.reground(ground_w_per_k);
            self.hierarchy.reground(planes(&self.operator.layout, ground_w_per_k, |g| g as f32));
        });
        Ok(())
    }

    /// Bytes held for each cell while solving.
    #[must_use]
    pub fn bytes_per_cell(&self) -> f64 {
        let vectors = 4 * 8 * self.operator.layout.length;
        let cells = self.cells().max(1);
        (self.operator.bytes() + self.hierarchy.bytes() + vectors) as f64 / cells as f64
    }

    fn cells(&self) -> usize {
        let l = &self.operator.layout;
        l.nx * l.ny * l.nz
    }

    fn check(&self, what: &'static str, values: &[f64]) -> Result<(), SolveError> {
        if values.len() != self.cells() {
            return Err(SolveError::WrongLength { what, found: values.len(), wanted: self.cells() });
        }
        if values.par_iter().all(|v| v.is_finite()) { Ok(()) } else { Err(SolveError::NotFinite) }
    }

    /// The field for sources of given power, W, one for each cell.
    pub fn solve(&mut self, power_w: &[f64], options: &SolveOptions<'_>) -> Result<Solution, SolveError> {
        self.check("power", power_w)?;
        if let Some(start) = options.start {
            self.check("start", start)?;
        }
        let in_w = sum(power_w, |p| p);
        let magnitude_w = sum(power_w, f64::abs);
        if magnitude_w == 0.0 {
            let balance = Balance { in_w: 0.0, out_w: 0.0, relative_error: 0.0 };
            return Ok(Solution {
                rise_k: vec![0.0; self.cells()],
                iterations: 0,
                relative_residual: 0.0,
                balance,
            });
        }
        if self.operator.ground.is_empty() {
            return Err(self.floating(power_w).unwrap_or(SolveError::NotFinite));
        }
        let solved = rows::in_pool(|| self.solve_for(power_w, options, in_w, magnitude_w));
        solved.map_err(|error| match error {
            // Heat without a way out shows as an iteration that goes nowhere; only then is it worth looking for.
            SolveError::NotConverged { .. } => self.floating(power_w).unwrap_or(error),
            other => other,
        })
    }

    /// The heated cells without a path to the reference, if there are any.
    fn floating(&self, power_w: &[f64]) -> Option<SolveError> {
        let reached = reached(&self.operator);
        let cells =
            power_w.iter().zip(&reached).filter(|(power, reached)| **power != 0.0 && !**reached).count();
        (cells > 0).then_some(SolveError::Floating { cells })
    }

    fn solve_for(
        &mut self,
        power_w: &[f64],
        options: &SolveOptions<'_>,
        in_w: f64,
        magnitude_w: f64,
    ) -> Result<Solution, SolveError> {
        let mut vectors = std::mem::take(&mut self.vectors);
        vectors.fit(&self.operator.layout);
        let solution = self.solve_in(&mut vectors, power_w, options, in_w, magnitude_w);
        self.vectors = vectors;
        solution
    }

    fn solve_in(
        &mut self,
        vectors: &mut Vectors,
        power_w: &[f64],
        options: &SolveOptions<'_>,
        in_w: f64,
        magnitude_w: f64,
    ) -> Result<Solution, SolveError> {
        let l = self.operator.layout;
        let Vectors { x, r, direction } = vectors;
        l.take(power_w, r, |v| v);
        let norm = self.row_sums(r, squares).sqrt();
        let goal = Goal { norm, tolerance: options.relative_residual.clamp(1e-14, 1.0), magnitude_w };
        let mut iterations = 0;
        let mut relative = if let Some(start) = options.start {
            l.take(start, x, |v| v);
            self.true_residual(power_w, x, r, &mut direction.q, &goal)
        } else {
            self.each_row(x, |_, x| x.fill(0.0));
            (1.0, in_w.abs() / magnitude_w)
        };
        // The recurrence drifts from the true residual by rounding; a second pass mends what is left.
        for _ in 0..3 {
            if relative.0 > goal.tolerance {
                self.iterate(x, r, direction, &goal, options, &mut iterations)?;
                relative = self.true_residual(power_w, x, r, &mut direction.q, &goal);
            }
            if relative.0 <= goal.tolerance && relative.1 > BALANCE {
                self.close_balance(x, r);
                relative = self.true_residual(power_w, x, r, &mut direction.q, &goal);
            }
            if relative.0 <= goal.tolerance && relative.1 <= BALANCE {
                break;
            }
        }
        if relative.0 > 1.01 * goal.tolerance || relative.1 > 1e-6 {
            return Err(SolveError::NotConverged { iterations, relative_residual: relative.0 });
        }
        let out_w = self.operator.out_w(x);
        let balance = Balance { in_w, out_w, relative_error: (in_w - out_w) / magnitude_w };
        let mut rise_k = vec![0.0; self.cells()];
        l.give(x, &mut rise_k);
        Ok(Solution { rise_k, iterations, relative_residual: relative.0, balance })
    }

    /// r = power - A x, with room in q; returns its relative size and its sum over the power.
    fn true_residual(
        &self,
        power_w: &[f64],
        x: &mut [f64],
        r: &mut [f64],
        q: &mut [f64],
        goal: &Goal,
    ) -> (f64, f64) {
        let l = &self.operator.layout;
        l.take(power_w, r, |v| v);
        let mut sums = vec![(0.0, 0.0); l.ny];
        {
            let (x, r) = (Shared::new(x), Shared::new(r));
            let (q, sums) = (Shared::new(q), Shared::new(&mut sums));
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                residual_of(self.lanes, &self.operator, x, r, q, sums, share);
            });
        }
        let (sum, square) = sums.iter().fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
        (square.sqrt() / goal.norm, sum.abs() / goal.magnitude_w)
    }

    /// A share of the rows for each thread.
    fn shares(&self) -> Vec<()> {
        let l = &self.operator.layout;
        vec![(); rows::shares(l.ny, l.nx * l.ny * l.nz)]
    }

    /// Shifts the whole field evenly so that what goes in comes out: the exact answer along the constant field, which is
    /// the one the iteration finds last.
    fn close_balance(&self, x: &mut [f64], r: &[f64]) {
        let left_w = self.row_sums(r, |row| row.iter().sum());
        let ground: f64 = self.operator.ground.iter().flat_map(|plane| &plane.g).sum();
        if ground > 0.0 {
            let (shift, inverse) = (left_w / ground, &self.hierarchy.levels[0].inverse);
            self.each_row(x, |begin, x| {
                for (x, inverse) in x.iter_mut().zip(&inverse[begin..]) {
                    *x += if *inverse != 0.0 { shift } else { 0.0 };
                }
            });
        }
    }

    /// A sum over each row, and of these in their order.
    fn row_sums(&self, values: &[f64], of: impl Fn(&[f64]) -> f64 + Send + Sync) -> f64 {
        let l = &self.operator.layout;
        let sums: Vec<f64> = values[l.rows()].par_chunks(l.row).with_min_len(ROWS_A_TASK).map(of).collect();
        sums.iter().sum()
    }

    /// Work on each row of an array, given its begin.
    fn each_row<T: Send>(&self, values: &mut [T], work: impl Fn(usize, &mut [T]) + Sync) {
        let l = &self.operator.layout;
        values[l.rows()]
            .par_chunks_mut(l.row)
            .enumerate()
            .with_min_len(ROWS_A_TASK)
            .for_each(|(y, row)| work(l.begin + y * l.row, row));
    }

    fn iterate(
        &mut self,
        x: &mut [f64],
        r: &mut [f64],
        vectors: &mut Direction,
        goal: &Goal,
        options: &SolveOptions<'_>,
        iterations: &mut usize,
    ) -> Result<(), SolveError> {
        let l: Layout = self.operator.layout;
        self.each_row(&mut vectors.p, |_, p| p.fill(0.0));
        let mut b = std::mem::take(&mut self.hierarchy.levels[0].b);
        self.each_row(&mut b, |begin, b| b.iter_mut().zip(&r[begin..]).for_each(|(b, r)| *b = *r as f32));
        self.hierarchy.levels[0].b = b;
        let (mut rz, mut alpha) = (0.0, 0.0);
        loop {
            if options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed)) {
                return Err(SolveError::Cancelled);
            }
            if *iterations >= options.max_iterations {
                let relative_residual = squares(&r[l.rows()]).sqrt() / goal.norm;
                return Err(SolveError::NotConverged { iterations: *iterations, relative_residual });
            }
            self.hierarchy.apply();
            let rz_new = self.residual_times_correction(vectors);
            let beta = if rz == 0.0 { 0.0 } else { rz_new / rz };
            rz = rz_new;
            let pq = self.next_direction(x, vectors, alpha, beta);
            *iterations += 1;
            if !(pq > 0.0 && rz.is_finite()) {
                let relative_residual = squares(&r[l.rows()]).sqrt() / goal.norm;
                return Err(SolveError::NotConverged { iterations: *iterations, relative_residual });
            }
            alpha = rz / pq;
            let rr = self.step_residual(r, vectors, alpha);
            if rr.sqrt() <= goal.tolerance * goal.norm {
                let p = &vectors.p;
                self.each_row(x, |begin, x| x.iter_mut().zip(&p[begin..]).for_each(|(x, p)| *x += alpha * p));
                return Ok(());
            }
        }
    }

    /// Sum of residual times correction.
    fn residual_times_correction(&self, vectors: &mut Direction) -> f64 {
        let (l, finest) = (&self.operator.layout, &self.hierarchy.levels[0]);
        {
            let sums = Shared::new(&mut vectors.sums);
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                dots(self.lanes, l, &finest.b, &finest.x, sums, share);
            });
        }
        vectors.sums.iter().sum()
    }

    /// Takes the last step in x, turns p into the next direction and finds q = A p; returns the sum of p q. Directions are
    /// made one row ahead of the operator, while they are still at hand.
    fn next_direction(&self, x: &mut [f64], vectors: &mut Direction, alpha: f64, beta: f64) -> f64 {
        let (l, z) = (&self.operator.layout, &self.hierarchy.levels[0].x);
        {
            let (x, p) = (Shared::new(x), Shared::new(&mut vectors.p));
            let (q, sums) = (Shared::new(&mut vectors.q), Shared::new(&mut vectors.sums));
            let directions = Directions { operator: &self.operator, x, p, q, z, sums };
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                directions_inside(self.lanes, &directions, alpha, beta, share);
            });
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                directions_at_seams(self.lanes, &directions, share);
            });
        }
        vectors.sums.iter().sum()
    }

    /// r -= alpha q, also as the next right side of the preconditioner; returns the sum of squares.
    fn step_residual(&mut self, r: &mut [f64], vectors: &mut Direction, alpha: f64) -> f64 {
        let l = self.operator.layout;
        let (mut shares, lanes) = (self.shares(), self.lanes);
        {
            let (r, b) = (Shared::new(r), Shared::new(&mut self.hierarchy.levels[0].b));
            let (q, sums) = (&vectors.q, Shared::new(&mut vectors.sums));
            rows::each(&mut shares, l.ny, |share, ()| {
                step_residuals(lanes, &l, r, b, q, sums, alpha, share);
            });
        }
        vectors.sums.iter().sum()
    }
}

/// What a solution works with.
#[derive(Debug, Clone, Default)]
struct Vectors {
    x: Vec<f64>,
    r: Vec<f64>,
    direction: Direction,
}

/// A direction and what the operator makes of it.
#[derive(Debug, Clone, Default)]
struct Direction {
    p: Vec<f64>,
    q: Vec<f64>,
    /// A sum for each row, so that the order of summing does not depend on who did what.
    sums: Vec<f64>,
}

impl Vectors {
    /// Makes room the first time.
    fn fit(&mut self, l: &Layout) {
        if self.x.len() != l.length {
            let direction = Direction { p: l.zeros(), q: l.zeros(), sums: vec![0.0; l.ny] };
            *self = Self { x: l.zeros(), r: l.zeros(), direction };
        }
    }
}

widened! {
    /// Rows of q = A x and r -= q, and of each the sum and the sum of squares.
    fn residual_of(
        operator: &Operator,
        x: Shared<'_, f64>,
        r: Shared<'_, f64>,
        q: Shared<'_, f64>,
        sums: Shared<'_, (f64, f64)>,
        share: Share,
    ) {
        let l = &operator.layout;
        for y in share.begin..share.end {
            let begin = l.begin + y * l.row;
            // SAFETY: nobody writes x; the row of r, of q and its sums are this share's alone.
            let (r, q, sums) = unsafe {
                operator.row(x, q, y);
                (r.write(begin, l.row), q.read(begin, l.row), sums.write(y, 1))
            };
            let (mut sum, mut square) = (0.0, 0.0);
            for (r, q) in r.iter_mut().zip(q) {
                *r -= q;
                sum += *r;
                square += *r * *r;
            }
            sums[0] = (sum, square);
        }
    }
}

widened! {
    /// Sums of b x over rows.
    fn dots(l: &Layout, b: &[f32], x: &[f32], sums: Shared<'_, f64>, share: Share) {
        for y in share.begin..share.end {
            let range = l.begin + y * l.row..l.begin + (y + 1) * l.row;
            // SAFETY: this share's alone.
            let sum = unsafe { sums.write(y, 1) };
            sum[0] = kernels::dot(&b[range.clone()], &x[range]);
        }
    }
}

/// What the next direction is made from.
struct Directions<'a> {
    operator: &'a Operator,
    x: Shared<'a, f64>,
    p: Shared<'a, f64>,
    q: Shared<'a, f64>,
    z: &'a [f32],
    sums: Shared<'a, f64>,
}

impl Directions<'_> {
    /// q = A p in a row.
    ///
    /// # Safety
    /// p is ready in the row and those beside it, and nobody else touches the row of q.
    #[inline(always)]
    unsafe fn operate(&self, y: usize) {
        // SAFETY: as promised by the caller.
        unsafe { self.sums.write(y, 1)[0] = self.operator.row(self.p, self.q, y) };
    }
}

widened! {
    /// A share's steps and directions, and of the operator what needs no other share.
    fn directions_inside(d: &Directions<'_>, alpha: f64, beta: f64, share: Share) {
        let l = &d.operator.layout;
        let inner = share.inner(1);
        for y in share.begin..=share.end {
            if y < share.end {
                let begin = l.begin + y * l.row;
                // SAFETY: rows of this share alone.
                let (x, p) = unsafe { (d.x.write(begin, l.row), d.p.write(begin, l.row)) };
                kernels::step(x, p, &d.z[begin..begin + l.row], alpha, beta);
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
    fn directions_at_seams(d: &Directions<'_>, share: Share) {
        for y in share.outer(1) {
            // SAFETY: all of p is ready.
            unsafe { d.operate(y) };
        }
    }
}

widened! {
    /// Rows of r -= alpha q, also rounded into b, and their sums of squares.
    fn step_residuals(
        l: &Layout,
        r: Shared<'_, f64>,
        b: Shared<'_, f32>,
        q: &[f64],
        sums: Shared<'_, f64>,
        alpha: f64,
        share: Share,
    ) {
        for y in share.begin..share.end {
            let begin = l.begin + y * l.row;
            // SAFETY: rows of this share alone.
            let (r, b, sum) = unsafe { (r.write(begin, l.row), b.write(begin, l.row), sums.write(y, 1)) };
            sum[0] = kernels::residual(r, b, &q[begin..begin + l.row], alpha);
        }
    }
}

struct Goal {
    norm: f64,
    tolerance: f64,
    magnitude_w: f64,
}

/// Sum in pieces of fixed length, so that its rounding does not depend on who sums what.
fn sum(values: &[f64], of: impl Fn(f64) -> f64 + Sync) -> f64 {
    let piece = |piece: &[f64]| piece.iter().map(|v| of(*v)).sum::<f64>();
    let sums: Vec<f64> = values.par_chunks(1 << 14).map(piece).collect();
    sums.iter().sum()
}

/// Rows that one task takes.
const ROWS_A_TASK: usize = 16;

/// Sum of squares.
fn squares(values: &[f64]) -> f64 {
    values.iter().map(|v| v * v).sum()
}

/// Which cells, in natural order, have a path to the reference.
fn reached(operator: &Operator) -> Vec<bool> {
    let l = &operator.layout;
    let cells = l.nx * l.ny * l.nz;
    let natural = |laid: &[f64]| {
        let mut values = vec![0.0; cells];
        l.give(laid, &mut values);
        values
    };
    let (gx, gy, gz) = (natural(&operator.gx), natural(&operator.gy), natural(&operator.gz));
    let mut reached = vec![false; cells];
    let mut open = Vec::new();
    for plane in &operator.ground {
        for y in 0..l.ny {
            for x in 0..l.nx {
                if plane.g[(2 * y + (x & 1)) * l.n + (x >> 1)] > 0.0 {
                    open.push((plane.k * l.ny + y) * l.nx + x);
                }
            }
        }
    }
    open.iter().for_each(|cell| reached[*cell] = true);
    while let Some(cell) = open.pop() {
        for (step, g) in [(1, &gx), (l.nx, &gy), (l.nx * l.ny, &gz)] {
            let ahead = (cell + step < cells && g[cell] > 0.0).then_some(cell + step);
            let behind = cell.checked_sub(step).filter(|other| g[*other] > 0.0);
            for other in [ahead, behind].into_iter().flatten() {
                if !reached[other] {
                    reached[other] = true;
                    open.push(other);
                }
            }
        }
    }
    reached
}
