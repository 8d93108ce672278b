//! Conjugate gradients in double precision with the multigrid cycle as preconditioner.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::conductances::Conductances;
use crate::cycle::Hierarchy;
use crate::error::SolveError;
use crate::kernels::{self, Lanes};
use crate::layout::Layout;
use crate::level::Level;
use crate::operator::{Operator, planes};

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
}

impl Solver {
    /// Makes a system ready. One solve runs on one thread; several systems may be solved at once.
    pub fn new(conductances: &Conductances) -> Result<Self, SolveError> {
        let lanes = Lanes::widest();
        let operator = Operator::new(conductances);
        let l = operator.layout;
        let single = |values: &[f64]| values.iter().map(|v| *v as f32).collect::<Vec<f32>>();
        let finest = Level::new(
            l,
            single(&operator.gx),
            single(&operator.gy),
            single(&operator.gz),
            planes(&l, &conductances.ground, |g| g as f32),
        );
        Ok(Self { operator, hierarchy: Hierarchy::new(finest, lanes), lanes })
    }

    /// Replaces the conductances to the reference, one for each cell. The operator is exact at once, and so is the
    /// answer; the sheet correction of the preconditioner stays as it was.
    pub fn set_ground(&mut self, ground_w_per_k: &[f64]) -> Result<(), SolveError> {
        self.check("ground", ground_w_per_k)?;
        self.operator.reground(ground_w_per_k);
        self.hierarchy.reground(planes(&self.operator.layout, ground_w_per_k, |g| g as f32));
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
        if values.iter().all(|v| v.is_finite()) { Ok(()) } else { Err(SolveError::NotFinite) }
    }

    /// The field for sources of given power, W, one for each cell.
    pub fn solve(&mut self, power_w: &[f64], options: &SolveOptions<'_>) -> Result<Solution, SolveError> {
        self.check("power", power_w)?;
        if let Some(start) = options.start {
            self.check("start", start)?;
        }
        let in_w: f64 = power_w.iter().sum();
        let magnitude_w: f64 = power_w.iter().map(|p| p.abs()).sum();
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
        self.solve_for(power_w, options, in_w, magnitude_w).map_err(|error| match error {
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
        let l = self.operator.layout;
        let mut right: Vec<f64> = l.zeros();
        l.take(power_w, &mut right, |v| v);
        let norm = squares(&right).sqrt();
        let mut x: Vec<f64> = l.zeros();
        if let Some(start) = options.start {
            l.take(start, &mut x, |v| v);
        }
        let goal = Goal { norm, tolerance: options.relative_residual.clamp(1e-14, 1.0), magnitude_w };
        let mut r = right.clone();
        let mut iterations = 0;
        let mut relative = self.true_residual(&right, &x, &mut r, &goal);
        // The recurrence drifts from the true residual by rounding; a second pass mends what is left.
        for _ in 0..3 {
            if relative.0 > goal.tolerance {
                self.iterate(&mut x, &mut r, &goal, options, &mut iterations)?;
                relative = self.true_residual(&right, &x, &mut r, &goal);
            }
            if relative.0 <= goal.tolerance && relative.1 > BALANCE {
                self.close_balance(&mut x, &r);
                relative = self.true_residual(&right, &x, &mut r, &goal);
            }
            if relative.0 <= goal.tolerance && relative.1 <= BALANCE {
                break;
            }
        }
        if relative.0 > 1.01 * goal.tolerance || relative.1 > 1e-6 {
            return Err(SolveError::NotConverged { iterations, relative_residual: relative.0 });
        }
        let out_w = self.operator.out_w(&x);
        let balance = Balance { in_w, out_w, relative_error: (in_w - out_w) / magnitude_w };
        let mut rise_k = vec![0.0; self.cells()];
        l.give(&x, &mut rise_k);
        Ok(Solution { rise_k, iterations, relative_residual: relative.0, balance })
    }

    /// r = right - A x; returns its relative size and its sum over the power.
    fn true_residual(&self, right: &[f64], x: &[f64], r: &mut [f64], goal: &Goal) -> (f64, f64) {
        let l = &self.operator.layout;
        for y in 0..l.ny {
            self.operator.row(self.lanes, x, r, y);
        }
        let mut sum = 0.0;
        for i in l.rows() {
            r[i] = right[i] - r[i];
            sum += r[i];
        }
        (squares(&r[l.rows()]).sqrt() / goal.norm, sum.abs() / goal.magnitude_w)
    }

    /// Shifts the whole field evenly so that what goes in comes out: the exact answer along the constant field, which is
    /// the one the iteration finds last.
    fn close_balance(&self, x: &mut [f64], r: &[f64]) {
        let l = &self.operator.layout;
        let left_w: f64 = l.rows().map(|i| r[i]).sum();
        let ground: f64 = self.operator.ground.iter().flat_map(|plane| &plane.g).sum();
        if ground > 0.0 {
            let inverse = &self.hierarchy.levels[0].inverse;
            for i in l.rows().filter(|i| inverse[*i] != 0.0) {
                x[i] += left_w / ground;
            }
        }
    }

    fn iterate(
        &mut self,
        x: &mut [f64],
        r: &mut [f64],
        goal: &Goal,
        options: &SolveOptions<'_>,
        iterations: &mut usize,
    ) -> Result<(), SolveError> {
        let l: Layout = self.operator.layout;
        let (lanes, row) = (self.lanes, l.row);
        let mut p: Vec<f64> = l.zeros();
        let mut q: Vec<f64> = l.zeros();
        for i in l.rows() {
            self.hierarchy.levels[0].b[i] = r[i] as f32;
        }
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
            let finest = &mut self.hierarchy.levels[0];
            let mut rz_new = 0.0;
            for y in 0..l.ny {
                let range = l.begin + y * row..l.begin + (y + 1) * row;
                rz_new += kernels::dot(lanes, &finest.b[range.clone()], &finest.x[range]);
            }
            let beta = if rz == 0.0 { 0.0 } else { rz_new / rz };
            rz = rz_new;
            let mut pq = 0.0;
            // Directions one row ahead of the operator, while they are still at hand.
            for y in 0..=l.ny {
                if y < l.ny {
                    let range = l.begin + y * row..l.begin + (y + 1) * row;
                    kernels::step(
                        lanes,
                        &mut x[range.clone()],
                        &mut p[range.clone()],
                        &finest.x[range],
                        alpha,
                        beta,
                    );
                }
                if y >= 1 {
                    pq += self.operator.row(lanes, &p, &mut q, y - 1);
                }
            }
            *iterations += 1;
            if !(pq > 0.0 && rz.is_finite()) {
                let relative_residual = squares(&r[l.rows()]).sqrt() / goal.norm;
                return Err(SolveError::NotConverged { iterations: *iterations, relative_residual });
            }
            alpha = rz / pq;
            let mut rr = 0.0;
            for y in 0..l.ny {
                let range = l.begin + y * row..l.begin + (y + 1) * row;
                rr += kernels::residual(
                    lanes,
                    &mut r[range.clone()],
                    &mut finest.b[range.clone()],
                    &q[range],
                    alpha,
                );
            }
            if rr.sqrt() <= goal.tolerance * goal.norm {
                for i in l.rows() {
                    x[i] += alpha * p[i];
                }
                return Ok(());
            }
        }
    }
}

struct Goal {
    norm: f64,
    tolerance: f64,
    magnitude_w: f64,
}

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
