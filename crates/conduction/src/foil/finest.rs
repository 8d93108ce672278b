//! The finest level: pixels in two colours, in runs whose neighbours lie in step, and the sweeps over them.

use rayon::prelude::*;

use super::graph::NONE;
use super::pixels::{HELD, Pixels};
use crate::kernels::{Lanes, widened};

/// Pixels of a colour side by side whose neighbours lie side by side too.
#[derive(Debug, Clone, Copy)]
struct Run {
    begin: u32,
    length: u32,
    /// First neighbour to the west, east, south and north, of the other colour.
    beside: [u32; 4],
}

/// Least pixels that one task takes.
const PIXELS_A_TASK: usize = 16_384;

/// Runs of a task and the pixels they cover.
#[derive(Debug, Clone)]
struct Task {
    runs: std::ops::Range<usize>,
    begin: usize,
    end: usize,
}

/// All pixels of a colour, and points between sheets behind them.
#[derive(Debug, Clone, Default)]
pub(super) struct Colour {
    pub count: usize,
    /// Conductances to the west, east, south and north.
    g: [Vec<f32>; 4],
    pub inverse: Vec<f32>,
    runs: Vec<Run>,
    tasks: Vec<Task>,
    /// Those with a way to 0 V or to another sheet.
    special: Vec<Special>,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct Special {
    pub at: u32,
    /// What flows in its sheet alone.
    pub sides: f64,
    pub all: f64,
    pub ground: f64,
}

impl Colour {
    pub fn new(pixels: &Pixels<'_>, black: usize, others: usize) -> Self {
        let cells = &pixels.cell[black];
        let count = cells.len();
        let mut colour = Self { count, ..Self::default() };
        colour.g = std::array::from_fn(|_| Vec::with_capacity(count));
        let mut inverse = Vec::with_capacity(count);
        let mut runs: Vec<Run> = Vec::new();
        let mut sheet = 0;
        for (index, &cell) in cells.iter().enumerate() {
            let cell = cell as usize;
            while sheet + 1 < pixels.base.len() && pixels.base[sheet + 1] <= cell {
                sheet += 1;
            }
            let mut sum = 0.0f32;
            let mut beside = [NONE; 4];
            for (k, (to, g)) in pixels.sides(sheet, cell).into_iter().enumerate() {
                let number = if g > 0.0 { pixels.number[to] } else { NONE };
                let g = if number < HELD { g } else { 0.0 };
                if number < HELD {
                    beside[k] = number >> 1;
                }
                colour.g[k].push(g);
                sum += g;
            }
            inverse.push(if sum > 0.0 { 1.0 / sum } else { 0.0 });
            if beside == [NONE; 4] {
                continue;
            }
            if !runs.last_mut().is_some_and(|run| run.goes_on(index, &beside, others)) {
                runs.push(Run { begin: index as u32, length: 1, beside });
            }
        }
        for run in &mut runs {
            // Where there is no neighbour, any will do: nothing flows there.
            run.beside.iter_mut().filter(|b| **b == NONE).for_each(|b| *b = 0);
        }
        colour.runs = runs;
        colour.inverse = inverse;
        colour.share_out();
        colour
    }

    fn share_out(&mut self) {
        let mut from = 0;
        while from < self.runs.len() {
            let begin = if self.tasks.is_empty() { 0 } else { self.runs[from].begin as usize };
            let mut to = from + 1;
            while to < self.runs.len() && (self.runs[to].begin as usize) < begin + PIXELS_A_TASK {
                to += 1;
            }
            let end = self.runs.get(to).map_or(self.count, |run| run.begin as usize);
            self.tasks.push(Task { runs: from..to, begin, end });
            from = to;
        }
        if self.tasks.is_empty() {
            self.tasks.push(Task { runs: 0..0, begin: 0, end: self.count });
        }
    }

    /// Adds points between sheets and what leads to 0 V and to other sheets.
    pub fn finish(&mut self, points: usize, added: &[(u32, f64, f64)]) {
        let pixels = self.count;
        self.count += points;
        self.g.iter_mut().for_each(|g| g.resize(pixels + points, 0.0));
        self.inverse.resize(pixels + points, 0.0);
        if let Some(last) = self.tasks.last_mut() {
            last.end = self.count;
        }
        let mut all = added.to_vec();
        all.sort_by_key(|a| a.0);
        for (at, link, ground) in all {
            if self.special.last().is_none_or(|last| last.at != at) {
                let sum: f64 = self.g.iter().map(|g| f64::from(g[at as usize])).sum();
                self.special.push(Special { at, sides: sum, all: sum, ground: 0.0 });
            }
            if let Some(last) = self.special.last_mut() {
                last.all += link + ground;
                last.ground += ground;
            }
        }
        for special in &self.special {
            self.inverse[special.at as usize] = (1.0 / special.all) as f32;
        }
    }

    pub fn special(&self) -> &[Special] {
        &self.special
    }

    /// All conductances of a pixel, S.
    pub fn all_s(&self, at: u32) -> f64 {
        match self.special.binary_search_by_key(&at, |s| s.at) {
            Ok(found) => self.special[found].all,
            Err(_) => self.g.iter().map(|g| f64::from(g[at as usize])).sum(),
        }
    }

    /// Work on each task's part of a vector, and the sum of what each task finds, in the order of tasks.
    fn each<T: Send>(&self, out: &mut [T], work: impl Fn(&[Run], usize, &mut [T]) -> f64 + Sync) -> f64 {
        let mut parts = Vec::with_capacity(self.tasks.len());
        let mut rest = out;
        for task in &self.tasks {
            let (part, behind) = rest.split_at_mut(task.end - task.begin);
            parts.push((&self.runs[task.runs.clone()], task.begin, part));
            rest = behind;
        }
        if let [(runs, begin, part)] = &mut parts[..] {
            return work(runs, *begin, part);
        }
        let sums: Vec<f64> =
            parts.into_par_iter().map(|(runs, begin, part)| work(runs, begin, part)).collect();
        sums.iter().sum()
    }

    /// Flux into each pixel from the other colour's values, as if its own were 0.
    pub fn inflow(&self, lanes: Lanes, other: &[f32], out: &mut [f32]) {
        self.each(out, |runs, begin, out| {
            inflow(lanes, runs, &self.g, other, begin, out);
            0.0
        });
    }

    /// Each pixel's value from the other colour's, by what flows alone.
    pub fn follow(&self, lanes: Lanes, other: &[f32], out: &mut [f32]) {
        self.each(out, |runs, begin, out| {
            follow(lanes, runs, &self.g, &self.inverse, other, begin, out);
            0.0
        });
    }

    /// The same with a right side.
    pub fn follow_with(&self, lanes: Lanes, other: &[f32], b: &[f32], out: &mut [f32]) {
        self.each(out, |runs, begin, out| {
            follow_with(lanes, runs, &self.g, &self.inverse, other, b, begin, out);
            0.0
        });
    }

    /// Values in double precision that no current is left at; specials know only what flows in their sheet.
    pub fn settle<T: Copy + Into<f64> + Sync>(&self, other: &[T], out: &mut [f64]) {
        self.each(out, |runs, begin, out| {
            out.fill(0.0);
            settle(runs, &self.g, other, begin, out);
            0.0
        });
    }

    /// Current out of each pixel into the other colour, in double precision, handed on in order.
    pub fn outflow<T: Copy + Into<f64> + Sync>(&self, own: &[T], other: &[f64], out: &mut [f64]) {
        self.each(out, |runs, begin, out| {
            out.fill(0.0);
            outflow(runs, &self.g, own, other, begin, out);
            0.0
        });
    }
}

impl Run {
    /// Whether a pixel goes on a run; if so it is taken in.
    fn goes_on(&mut self, index: usize, beside: &[u32; 4], others: usize) -> bool {
        let length = self.length;
        if index as u32 != self.begin + length || length as usize + 1 > others {
            return false;
        }
        let mut first = self.beside;
        for (first, here) in first.iter_mut().zip(beside) {
            match (*first, *here) {
                (_, NONE) => {}
                (NONE, here) if here >= length => *first = here - length,
                (NONE, _) => return false,
                (first, here) if here == first + length => {}
                _ => return false,
            }
        }
        // A missing neighbour stands for the first ones of the other colour; a found one must not run over their end.
        if first.iter().any(|f| *f != NONE && *f as usize + length as usize >= others) {
            return false;
        }
        self.beside = first;
        self.length += 1;
        true
    }
}

/// The four conductances and the four neighbours of a run.
#[inline(always)]
fn around<'a, T>(run: &Run, g: &'a [Vec<f32>; 4], other: &'a [T]) -> ([&'a [f32]; 4], [&'a [T]; 4]) {
    let (begin, n) = (run.begin as usize, run.length as usize);
    let g = [0, 1, 2, 3].map(|k: usize| &g[k][begin..begin + n]);
    let x = [0, 1, 2, 3].map(|k: usize| &other[run.beside[k] as usize..run.beside[k] as usize + n]);
    (g, x)
}

widened! {
fn inflow(runs: &[Run], g: &[Vec<f32>; 4], other: &[f32], begin: usize, out: &mut [f32]) {
    for run in runs {
        let (g, x) = around(run, g, other);
        let at = run.begin as usize - begin;
        let out = &mut out[at..at + run.length as usize];
        for k in 0..out.len() {
            out[k] = (g[0][k] * x[0][k] + g[1][k] * x[1][k]) + (g[2][k] * x[2][k] + g[3][k] * x[3][k]);
        }
    }
}
}

widened! {
fn follow(runs: &[Run], g: &[Vec<f32>; 4], inverse: &[f32], other: &[f32], begin: usize, out: &mut [f32]) {
    for run in runs {
        let (g, x) = around(run, g, other);
        let (from, n) = (run.begin as usize, run.length as usize);
        let inverse = &inverse[from..from + n];
        let out = &mut out[from - begin..from - begin + n];
        for k in 0..n {
            let sum = (g[0][k] * x[0][k] + g[1][k] * x[1][k]) + (g[2][k] * x[2][k] + g[3][k] * x[3][k]);
            out[k] = inverse[k] * sum;
        }
    }
}
}

widened! {
fn follow_with(
    runs: &[Run],
    g: &[Vec<f32>; 4],
    inverse: &[f32],
    other: &[f32],
    b: &[f32],
    begin: usize,
    out: &mut [f32],
) {
    for run in runs {
        let (g, x) = around(run, g, other);
        let (from, n) = (run.begin as usize, run.length as usize);
        let (inverse, b) = (&inverse[from..from + n], &b[from..from + n]);
        let out = &mut out[from - begin..from - begin + n];
        for k in 0..n {
            let sum = (g[0][k] * x[0][k] + g[1][k] * x[1][k]) + (g[2][k] * x[2][k] + g[3][k] * x[3][k]);
            out[k] = inverse[k] * (b[k] + sum);
        }
    }
}
}

fn settle<T: Copy + Into<f64>>(runs: &[Run], g: &[Vec<f32>; 4], other: &[T], begin: usize, out: &mut [f64]) {
    for run in runs {
        let (g, x) = around(run, g, other);
        let at = run.begin as usize - begin;
        let out = &mut out[at..at + run.length as usize];
        for k in 0..out.len() {
            let g = [0, 1, 2, 3].map(|side: usize| f64::from(g[side][k]));
            let x: [f64; 4] = [0, 1, 2, 3].map(|side: usize| x[side][k].into());
            out[k] =
                ((g[0] * x[0] + g[1] * x[1]) + (g[2] * x[2] + g[3] * x[3])) / ((g[0] + g[1]) + (g[2] + g[3]));
        }
    }
}

fn outflow<T: Copy + Into<f64>>(
    runs: &[Run],
    g: &[Vec<f32>; 4],
    own: &[T],
    other: &[f64],
    begin: usize,
    out: &mut [f64],
) {
    for run in runs {
        let (g, x) = around(run, g, other);
        let (from, n) = (run.begin as usize, run.length as usize);
        let own = &own[from..from + n];
        let out = &mut out[from - begin..from - begin + n];
        for k in 0..n {
            let own: f64 = own[k].into();
            let flow = |side: usize| f64::from(g[side][k]) * (own - x[side][k]);
            out[k] = (flow(0) + flow(1)) + (flow(2) + flow(3));
        }
    }
}
