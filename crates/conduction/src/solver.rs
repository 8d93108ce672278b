//! Conjugate gradients in double precision with the multigrid cycle as preconditioner.

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use crate::conductances::Conductances;
use crate::cycle::Hierarchy;
use crate::error::SolveError;
use crate::kernels::Lanes;
use crate::layout::Layout;
use crate::level::Level;
use crate::operator::{Operator, planes};
use crate::rows::{self, Shared};
use crate::sweeps;

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

/// Fall of the residual over which the iteration in single precision is trusted to follow it.
const TRUST: f64 = 1e-4;

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
        let vectors = (8 + 4 + 4) * self.operator.layout.length;
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
        let squared = sum(power_w, |p| p * p);
        let goal = Goal {
            in_w,
            norm: squared.sqrt(),
            tolerance: options.relative_residual.clamp(1e-14, 1.0),
            magnitude_w,
        };
        let mut iterations = 0;
        let mut left = if let Some(start) = options.start {
            l.take(start, &mut vectors.x, |v| v);
            self.true_residual(power_w, &mut vectors.x, &goal)
        } else {
            self.each_row(&mut vectors.x, |_, x| x.fill(0.0));
            l.take(power_w, &mut self.hierarchy.levels[0].b, |v| v as f32);
            Left { relative: 1.0, sum_w: in_w, magnitude_w }
        };
        for _ in 0..4 {
            if left.relative > goal.tolerance {
                left = self.iterate(power_w, vectors, left, &goal, options, &mut iterations)?;
            } else if left.imbalance().abs() > BALANCE {
                self.close_balance(&mut vectors.x, left.sum_w);
                left = self.true_residual(power_w, &mut vectors.x, &goal);
            } else {
                break;
            }
        }
        if left.relative > 1.01 * goal.tolerance || left.imbalance().abs() > 1e-6 {
            return Err(SolveError::NotConverged { iterations, relative_residual: left.relative });
        }
        let x = &vectors.x;
        let out_w = self.operator.out_w(x);
        let balance = Balance { in_w, out_w, relative_error: (in_w - out_w) / magnitude_w };
        let mut rise_k = vec![0.0; self.cells()];
        l.give(x, &mut rise_k);
        Ok(Solution { rise_k, iterations, relative_residual: left.relative, balance })
    }

    /// What is left of the power in double precision, power - A x, rounded into the preconditioner's right side.
    fn true_residual(&mut self, power_w: &[f64], x: &mut [f64], goal: &Goal) -> Left {
        let l = self.operator.layout;
        let mut sums = vec![(0.0, 0.0); l.ny];
        let mut rooms = vec![vec![0.0; l.row]; rows::shares(l.ny, l.nx * l.ny * l.nz)];
        let mut b = std::mem::take(&mut self.hierarchy.levels[0].b);
        {
            let (x, r, sums) = (Shared::new(x), Shared::new(&mut b), Shared::new(&mut sums));
            rows::each(&mut rooms, l.ny, |share, q| {
                sweeps::residual_of(self.lanes, &self.operator, power_w, x, r, sums, share, q);
            });
        }
        self.hierarchy.levels[0].b = b;
        let (sum_w, squared) = sums.iter().fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
        Left { relative: squared.sqrt() / goal.norm, sum_w, magnitude_w: goal.magnitude_w }
    }

    /// A share of the rows for each thread.
    fn shares(&self) -> Vec<()> {
        let l = &self.operator.layout;
        vec![(); rows::shares(l.ny, l.nx * l.ny * l.nz)]
    }

    /// Shifts the whole field evenly so that what goes in comes out: the exact answer along the constant field, which is
    /// the one the iteration finds last.
    fn close_balance(&self, x: &mut [f64], left_w: f64) {
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

    /// Work on each row of an array, given its begin.
    fn each_row<T: Send>(&self, values: &mut [T], work: impl Fn(usize, &mut [T]) + Sync) {
        let l = &self.operator.layout;
        values[l.rows()]
            .par_chunks_mut(l.row)
            .enumerate()
            .with_min_len(ROWS_A_TASK)
            .for_each(|(y, row)| work(l.begin + y * l.row, row));
    }

    /// Iterates until what is left in double precision meets the goal. The iteration itself runs in single precision but
    /// for the field: its directions are taken as what they are rounded to, so that what is left follows them exactly but
    /// for the rounding of fluxes. What that loses is found each time the residual has fallen by [`TRUST`].
    fn iterate(
        &mut self,
        power_w: &[f64],
        vectors: &mut Vectors,
        mut left: Left,
        goal: &Goal,
        options: &SolveOptions<'_>,
        iterations: &mut usize,
    ) -> Result<Left, SolveError> {
        self.each_row(&mut vectors.p, |_, p| p.fill(0.0));
        let (mut rz, mut alpha) = (0.0, 0.0);
        loop {
            let not_converged = |iterations: usize, relative_residual: f64| {
                Err(SolveError::NotConverged { iterations, relative_residual })
            };
            if options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed)) {
                return Err(SolveError::Cancelled);
            }
            if *iterations >= options.max_iterations {
                return not_converged(*iterations, left.relative);
            }
            self.hierarchy.apply();
            let rz_new = self.residual_times_correction(vectors);
            let beta = if rz == 0.0 { 0.0 } else { rz_new / rz };
            rz = rz_new;
            let pq = self.next_direction(vectors, alpha, beta);
            *iterations += 1;
            if !(pq > 0.0 && rz.is_finite()) {
                return not_converged(*iterations, left.relative);
            }
            alpha = rz / pq;
            let relative = self.step_residual(vectors, alpha).sqrt() / goal.norm;
            if relative <= goal.tolerance.max(TRUST * left.relative) {
                let (p, x) = (&vectors.p, &mut vectors.x);
                self.each_row(x, |begin, x| {
                    x.iter_mut().zip(&p[begin..]).for_each(|(x, p)| *x += alpha * f64::from(*p));
                });
                alpha = 0.0;
                // The balance is closed before what is left is found, which costs as much as an iteration.
                let unbalanced_w = goal.in_w - self.operator.out_w(&vectors.x);
                if relative <= goal.tolerance && unbalanced_w.abs() > BALANCE * goal.magnitude_w {
                    self.close_balance(&mut vectors.x, unbalanced_w);
                }
                let before = std::mem::replace(&mut left, self.true_residual(power_w, &mut vectors.x, goal));
                // What hardly falls is the rounding of double precision, or calls for a fresh beginning.
                if left.relative <= goal.tolerance || left.relative > 0.5 * before.relative {
                    return Ok(left);
                }
            }
        }
    }

    /// Sum of residual times correction.
    fn residual_times_correction(&self, vectors: &mut Vectors) -> f64 {
        let (l, finest) = (&self.operator.layout, &self.hierarchy.levels[0]);
        {
            let sums = Shared::new(&mut vectors.sums);
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                sweeps::dots(self.lanes, l, &finest.b, &finest.x, sums, share);
            });
        }
        vectors.sums.iter().sum()
    }

    /// Takes the last step in x, turns p into the next direction and finds q = A p; returns the sum of p q. Directions are
    /// made one row ahead of the operator, while they are still at hand.
    fn next_direction(&self, vectors: &mut Vectors, alpha: f64, beta: f64) -> f64 {
        let (l, finest) = (&self.operator.layout, &self.hierarchy.levels[0]);
        {
            let (x, p) = (Shared::new(&mut vectors.x), Shared::new(&mut vectors.p));
            let (q, sums) = (Shared::new(&mut vectors.q), Shared::new(&mut vectors.sums));
            let directions = sweeps::Directions { level: finest, x, p, q, sums };
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                sweeps::directions_inside(self.lanes, &directions, alpha, beta as f32, share);
            });
            rows::each(&mut self.shares(), l.ny, |share, ()| {
                sweeps::directions_at_seams(self.lanes, &directions, share);
            });
        }
        vectors.sums.iter().sum()
    }

    /// r -= alpha q, where the next right side of the preconditioner is r; returns the sum of squares.
    fn step_residual(&mut self, vectors: &mut Vectors, alpha: f64) -> f64 {
        let l = self.operator.layout;
        let (mut shares, lanes) = (self.shares(), self.lanes);
        {
            let r = Shared::new(&mut self.hierarchy.levels[0].b);
            let (q, sums) = (&vectors.q, Shared::new(&mut vectors.sums));
            rows::each(&mut shares, l.ny, |share, ()| {
                sweeps::residuals(lanes, &l, r, q, sums, alpha as f32, share);
            });
        }
        vectors.sums.iter().sum()
    }
}

/// What a solution works with: the field, a direction and what the operator makes of it.
#[derive(Debug, Clone, Default)]
struct Vectors {
    x: Vec<f64>,
    p: Vec<f32>,
    q: Vec<f32>,
    /// A sum for each row, so that the order of summing does not depend on who did what.
    sums: Vec<f64>,
}

impl Vectors {
    /// Makes room the first time.
    fn fit(&mut self, l: &Layout) {
        if self.x.len() != l.length {
            *self = Self { x: l.zeros(), p: l.zeros(), q: l.zeros(), sums: vec![0.0; l.ny] };
        }
    }
}

/// What a field leaves of the power.
#[derive(Debug, Clone, Copy)]
struct Left {
    /// Residual over right side.
    relative: f64,
    /// Power less what leaves, W.
    sum_w: f64,
    magnitude_w: f64,
}

impl Left {
    /// Missing share of the power.
    fn imbalance(&self) -> f64 {
        self.sum_w / self.magnitude_w
    }
}

struct Goal {
    in_w: f64,
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
