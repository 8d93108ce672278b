//! Conjugate gradients over the red pixels.

use std::sync::atomic::Ordering;

use rayon::prelude::*;

use super::Foil;
use super::finest::Colour;
use super::floor::Floor;
use super::graph::{Level, NONE, cycle};
use super::pixels::{HELD, Pixels};
use super::ready::{Linked, check, first_blocks, ground, levels};
use super::sparse::{Sparse, fill};
use crate::error::{GridError, SolveError};
use crate::kernels::Lanes;
use crate::solver::SolveOptions;

/// Part of the current that may be missing from the balance.
const BALANCE: f64 = 2e-7;
/// Fall of the residual over which the iteration in single precision is trusted to follow it.
const TRUST: f64 = 1e-5;
/// Part of the current that single precision never loses on the way to the coarsest level.
const LEFT: f64 = 1e-4;
/// Pixels that one task takes.
const PIECE: usize = 16_384;

/// A foil made ready.
#[derive(Debug, Clone)]
pub struct FoilSolver {
    lanes: Lanes,
    number: Vec<u32>,
    red: Colour,
    black: Colour,
    /// Links between a red and a black pixel, S.
    links: Vec<(u32, u32, f32)>,
    up: Sparse,
    down: Sparse,
    levels: Vec<Level>,
    floor: Floor,
    /// Whether nothing leads to 0 V.
    floating: bool,
}

/// A field in a foil and how it was reached.
#[derive(Debug, Clone)]
pub struct FoilField {
    /// Potential of each cell, V; 0 where nothing conducts.
    pub potential_v: Vec<f64>,
    /// Iterations.
    pub iterations: usize,
    /// True residual over right side, both with the black pixels eliminated.
    pub relative_residual: f64,
}

impl FoilSolver {
    /// Makes a foil ready. The answer does not depend on the number of threads, to the bit.
    pub fn new(foil: &Foil<'_>) -> Result<Self, GridError> {
        check(foil)?;
        let pixels = Pixels::new(foil);
        let counts = [pixels.cell[0].len(), pixels.cell[1].len()];
        let (mut red, mut black) =
            rayon::join(|| Colour::new(&pixels, 0, counts[1]), || Colour::new(&pixels, 1, counts[0]));
        let ground = ground(foil, &pixels);
        let linked = Linked::new(foil, &pixels, counts);
        let of = |wanted: u32| -> Vec<(u32, f64, f64)> {
            let ground = ground.iter().filter(|(v, _)| v & 1 == wanted);
            let ends =
                linked.links.iter().map(|(r, b, g)| (if wanted == 0 { *r } else { *b }, f64::from(*g), 0.0));
            ground.map(|(v, g)| (v >> 1, 0.0, f64::from(*g))).chain(ends).collect()
        };
        red.finish(linked.points[0], &of(0));
        black.finish(linked.points[1], &of(1));
        let (graph, up) = first_blocks(&pixels, &linked, &ground, red.count);
        let down = up.transposed(graph.place.len());
        let odd: Vec<bool> = foil.sheets.iter().map(|sheet| sheet.odd).collect();
        let (levels, floor) = levels(graph, &odd);
        let number = pixels.number;
        Ok(Self {
            lanes: Lanes::widest(),
            number,
            red,
            black,
            links: linked.links,
            up,
            down,
            levels,
            floor,
            floating: ground.is_empty(),
        })
    }

    /// The field for currents (A) into cells. Copper without a way to 0 V is an error; `cells` then counts pieces of it.
    pub fn solve(
        &mut self,
        sources: &[(usize, f64)],
        options: &SolveOptions<'_>,
    ) -> Result<FoilField, SolveError> {
        if sources.iter().any(|s| !s.1.is_finite()) {
            return Err(SolveError::NotFinite);
        }
        let (mut on_red, mut on_black, mut lost) = (Vec::new(), Vec::new(), 0);
        for &(cell, ampere) in sources {
            match self.number.get(cell).copied() {
                None => {
                    return Err(SolveError::WrongLength {
                        what: "sources",
                        found: cell,
                        wanted: self.number.len(),
                    });
                }
                Some(HELD) => {}
                Some(NONE) => lost += usize::from(ampere != 0.0),
                Some(v) if v & 1 == 0 => on_red.push((v >> 1, ampere)),
                Some(v) => on_black.push((v >> 1, ampere)),
            }
        }
        let magnitude: f64 = sources.iter().map(|s| s.1.abs()).sum();
        if lost > 0 || (self.floating && magnitude > 0.0) {
            return Err(SolveError::Floating { cells: lost.max(1) });
        }
        let mut work = Work::new(self.red.count, self.black.count);
        let goal =
            Goal { on_red, on_black, tolerance: options.relative_residual.clamp(1e-14, 1.0), magnitude };
        let (mut iterations, mut relative) = (0, 0.0);
        if magnitude > 0.0 {
            (iterations, relative) = self.iterate(&mut work, &goal, options)?;
        }
        let settled = &work.settled;
        let x = &work.x;
        let of = |number: &u32| match *number {
            NONE | HELD => 0.0,
            v if v & 1 == 0 => x[(v >> 1) as usize],
            v => settled[(v >> 1) as usize],
        };
        let potential_v = self.number.par_iter().with_min_len(PIECE).map(of).collect();
        Ok(FoilField { potential_v, iterations, relative_residual: relative })
    }

    fn iterate(
        &mut self,
        work: &mut Work,
        goal: &Goal,
        options: &SolveOptions<'_>,
    ) -> Result<(usize, f64), SolveError> {
        let norm = self.true_residual(work, goal).0;
        // Currents into held cells, and into black ones that touch no red one, leave nothing to iterate on.
        if norm == 0.0 {
            return Ok((0, 0.0));
        }
        let mut left = norm;
        let mut iterations = 0;
        let mut rz = 0.0;
        let not_converged = |iterations, left: f64| {
            Err(SolveError::NotConverged { iterations, relative_residual: left / norm })
        };
        loop {
            if options.cancel.is_some_and(|cancel| cancel.load(Ordering::Relaxed)) {
                return Err(SolveError::Cancelled);
            }
            if iterations >= options.max_iterations {
                return not_converged(iterations, left);
            }
            self.precondition(work);
            if iterations == 0 {
                let cells =
                    self.levels.last().map_or(0, |last| self.floor.floating(&last.b, LEFT * goal.magnitude));
                if cells > 0 {
                    return Err(SolveError::Floating { cells });
                }
            }
            let before = std::mem::replace(&mut rz, dot(&work.r, &work.z));
            let beta = if before == 0.0 { 0.0 } else { (rz / before) as f32 };
            step(&mut work.p, &work.z, |p, z| z + beta * p);
            let pq = self.conduct(work);
            iterations += 1;
            if !(pq > 0.0 && rz.is_finite()) {
                return not_converged(iterations, left);
            }
            let alpha = rz / pq;
            step(&mut work.x, &work.p, |x, p| x + alpha * f64::from(p));
            let single = alpha as f32;
            step(&mut work.r, &work.q, |r, q| r - single * q);
            let (now, sum) = norm_and_sum(&work.r);
            let done = now <= goal.tolerance * norm && sum.abs() <= BALANCE * goal.magnitude;
            if done || now <= TRUST * left {
                let was = std::mem::replace(&mut left, 0.0);
                let (found, sum) = self.true_residual(work, goal);
                left = found;
                if left <= goal.tolerance * norm && sum.abs() <= 2.0 * BALANCE * goal.magnitude {
                    return Ok((iterations, left / norm));
                }
                // What no longer falls is the rounding of double precision.
                if left > 0.5 * was {
                    return not_converged(iterations, left);
                }
            }
        }
    }

    /// Finds what is left of the currents in double precision and its norm and sum.
    fn true_residual(&self, work: &mut Work, goal: &Goal) -> (f64, f64) {
        self.black.settle(&work.x, &mut work.settled);
        self.settle_links(&work.x, &mut work.settled);
        for (at, ampere) in &goal.on_black {
            work.settled[*at as usize] += ampere / self.black.all_s(*at);
        }
        self.red.outflow(&work.x, &work.settled, &mut work.out);
        self.out_of_links(&work.x, &work.settled, &mut work.out);
        work.out.par_iter_mut().with_min_len(PIECE).for_each(|out| *out = -*out);
        for (at, ampere) in &goal.on_red {
            work.out[*at as usize] += ampere;
        }
        step(&mut work.r, &work.out, |_, out| out as f32);
        norm_and_sum(&work.r)
    }

    /// q, the current that a direction drives; returns the sum of p q.
    fn conduct(&self, work: &mut Work) -> f64 {
        self.black.settle(&work.p, &mut work.settled);
        self.settle_links(&work.p, &mut work.settled);
        self.red.outflow(&work.p, &work.settled, &mut work.out);
        self.out_of_links(&work.p, &work.settled, &mut work.out);
        step(&mut work.q, &work.out, |_, out| out as f32);
        sum_of(work.p.len(), |range| {
            work.p[range.clone()].iter().zip(&work.out[range]).map(|(p, q)| f64::from(*p) * q).sum()
        })
    }

    fn settle_links<T: Copy + Into<f64>>(&self, red: &[T], black: &mut [f64]) {
        let special = self.black.special();
        special.iter().for_each(|s| black[s.at as usize] *= s.sides);
        for (r, b, g) in &self.links {
            black[*b as usize] += f64::from(*g) * red[*r as usize].into();
        }
        special.iter().for_each(|s| black[s.at as usize] /= s.all);
    }

    fn out_of_links<T: Copy + Into<f64>>(&self, red: &[T], black: &[f64], out: &mut [f64]) {
        for special in self.red.special() {
            out[special.at as usize] += special.ground * red[special.at as usize].into();
        }
        for (r, b, g) in &self.links {
            out[*r as usize] += f64::from(*g) * (red[*r as usize].into() - black[*b as usize]);
        }
    }

    /// A cycle: from the residual r to the correction z.
    fn precondition(&mut self, work: &mut Work) {
        let Work { r, z, t, black, .. } = work;
        let inverse = &self.red.inverse;
        fill(z, |i| inverse[i] * r[i]);
        self.black.follow(self.lanes, z, black);
        self.add_to_black(z, black);
        self.red.inflow(self.lanes, black, t);
        clear(&self.red, t);
        self.links.iter().for_each(|(r, b, g)| t[*r as usize] += g * black[*b as usize]);
        let down = &self.down;
        fill(&mut self.levels[0].b, |i| down.times(i, t));
        cycle(&mut self.levels, &self.floor);
        let (up, coarse) = (&self.up, &self.levels[0].x);
        fill(z, |i| inverse[i] * r[i] + up.times(i, coarse));
        self.black.follow(self.lanes, z, black);
        self.add_to_black(z, black);
        self.red.follow_with(self.lanes, black, r, z);
        self.red.special().iter().filter(|s| s.sides == 0.0).for_each(|s| {
            z[s.at as usize] = inverse[s.at as usize] * r[s.at as usize];
        });
        let add =
            |(r, b, g): &(u32, u32, f32)| z[*r as usize] += inverse[*r as usize] * g * black[*b as usize];
        self.links.iter().for_each(add);
    }

    fn add_to_black(&self, red: &[f32], black: &mut [f32]) {
        clear(&self.black, black);
        for (r, b, g) in &self.links {
            black[*b as usize] += self.black.inverse[*b as usize] * g * red[*r as usize];
        }
    }
}

/// Sets to 0 what no side leads to and so no sweep reaches.
fn clear(colour: &Colour, values: &mut [f32]) {
    colour.special().iter().filter(|s| s.sides == 0.0).for_each(|s| values[s.at as usize] = 0.0);
}

struct Goal {
    on_red: Vec<(u32, f64)>,
    on_black: Vec<(u32, f64)>,
    tolerance: f64,
    magnitude: f64,
}

/// What a solution works with.
struct Work {
    x: Vec<f64>,
    /// The black pixels' values that go with the last field or direction.
    settled: Vec<f64>,
    out: Vec<f64>,
    p: Vec<f32>,
    q: Vec<f32>,
    r: Vec<f32>,
    z: Vec<f32>,
    t: Vec<f32>,
    black: Vec<f32>,
}

impl Work {
    fn new(red: usize, black: usize) -> Self {
        let single = || vec![0.0f32; red];
        Self {
            x: vec![0.0; red],
            settled: vec![0.0; black],
            out: vec![0.0; red],
            p: single(),
            q: single(),
            r: single(),
            z: single(),
            t: single(),
            black: vec![0.0; black],
        }
    }
}

/// A vector's next values from its own and another's.
fn step<T: Copy + Send, U: Copy + Sync>(to: &mut [T], from: &[U], next: impl Fn(T, U) -> T + Sync) {
    to.par_chunks_mut(PIECE).zip(from.par_chunks(PIECE)).for_each(|(to, from)| {
        to.iter_mut().zip(from).for_each(|(to, from)| *to = next(*to, *from));
    });
}

/// A sum in pieces of fixed length, so that its rounding does not depend on who sums what.
fn sum_of(length: usize, of: impl Fn(std::ops::Range<usize>) -> f64 + Sync) -> f64 {
    let pieces = length.div_ceil(PIECE);
    let piece = |piece: usize| of(piece * PIECE..((piece + 1) * PIECE).min(length));
    let sums: Vec<f64> = (0..pieces).into_par_iter().map(piece).collect();
    sums.iter().sum()
}

fn dot(a: &[f32], b: &[f32]) -> f64 {
    sum_of(a.len(), |range| {
        a[range.clone()].iter().zip(&b[range]).map(|(a, b)| f64::from(*a) * f64::from(*b)).sum()
    })
}

fn norm_and_sum(r: &[f32]) -> (f64, f64) {
    let squared = sum_of(r.len(), |range| r[range].iter().map(|r| f64::from(*r) * f64::from(*r)).sum());
    (squared.sqrt(), sum_of(r.len(), |range| r[range].iter().map(|r| f64::from(*r)).sum()))
}
