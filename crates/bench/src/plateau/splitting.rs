//! Change points of a temperature: where two approaches explain it better than one.
//!
//! Each stretch is fitted with a settled value and the two best of a grid of time constants (linear least squares for each pair). The
//! log is cut at the place that takes most off the sum of squares, and the parts again, as finely as allowed (binary segmentation:
//! A. J. Scott and M. Knott, Biometrics 30 (1974) 507). Then the cut that is needed least goes, as long as noise would do as much, and
//! its neighbours move to their best places. How much noise does is judged by residuals that hang together: a fan that cycles makes
//! neighbouring samples alike, which lowers their number.

use nalgebra::{Matrix3, Vector3};

use super::spans::Least;
use crate::approach::noise::autocorrelation;

/// Samples are averaged down to about this many.
const MOST_SAMPLES: usize = 360;
/// Time constants of the grid.
const GRID: usize = 7;
/// Steps of the search between the grid's time constants.
const REFINEMENTS: usize = 14;
/// Moves of a cut by that search.
const FINE_MOVES: usize = 6;
/// Smallest F that keeps a cut: the chance of so large a value by noise is below 1e-6 from forty samples on, and it is the largest of
/// some hundred places.
const LEAST_F: f64 = 14.0;
/// How far an approach may lie beside the nearest curve of the grid, as a part of the change (two of seven time constants for an
/// approach with others in between; tried, no source).
const GRID_ERROR: f64 = 0.004;
/// Parameters that a split adds: a settled value, two amplitudes, the place.
const ADDED: f64 = 4.0;

/// A place where another approach begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// First sample of the later part.
    pub sample: usize,
    /// How far it may be off, s.
    pub doubt_s: f64,
}

/// Averages of neighbouring samples, with the sample each begins at.
struct Grouped {
    time_s: Vec<f64>,
    value: Vec<f64>,
    sample: Vec<usize>,
    group_s: f64,
}

/// All splits, in the order of time.
#[must_use]
pub fn split_points(time_s: &[f64], value: &[f64], least: &Least) -> Vec<Split> {
    let usable: Vec<usize> = (0..time_s.len().min(value.len()))
        .filter(|&i| value[i].is_finite() && time_s[i].is_finite())
        .collect();
    if usable.len() < 24 || usable.windows(2).any(|pair| time_s[pair[1]] <= time_s[pair[0]]) {
        return Vec::new();
    }
    let group = usable.len().div_ceil(MOST_SAMPLES);
    let mut grouped = Grouped { time_s: Vec::new(), value: Vec::new(), sample: Vec::new(), group_s: 0.0 };
    for part in usable.chunks(group) {
        let mean = |of: &[f64]| part.iter().map(|&i| of[i]).sum::<f64>() / part.len() as f64;
        grouped.time_s.push(mean(time_s));
        grouped.value.push(mean(value));
        grouped.sample.push(part[0]);
    }
    let n = grouped.time_s.len();
    grouped.group_s = (grouped.time_s[n - 1] - grouped.time_s[0]) / (n - 1) as f64;
    let shortest = ((least.dwell_s / grouped.group_s).ceil() as usize).max(8);
    let mut begins = cut_finely(&grouped, shortest);
    // What goes leaves room for its neighbours to find their best places.
    loop {
        if let Some(weakest) = least_needed(&grouped, &begins, least) {
            begins.remove(weakest);
        } else if let Some((pair, at)) = one_for_two(&grouped, &begins, shortest) {
            begins[pair] = at;
            begins.remove(pair + 1);
        } else {
            break;
        }
        settle_places(&grouped, &mut begins, shortest);
    }
    settle_finely(&grouped, &mut begins, shortest);
    let split = |at: &usize| Split { sample: grouped.sample[*at], doubt_s: 1.5 * grouped.group_s };
    begins[1..].iter().map(split).collect()
}

/// Cuts every stretch at its best place until the parts are as short as allowed. Averages at which parts begin, 0 the first.
fn cut_finely(grouped: &Grouped, shortest: usize) -> Vec<usize> {
    let (mut open, mut begins) = (vec![(0, grouped.time_s.len())], vec![0]);
    while let Some((from, to)) = open.pop() {
        let Some(at) = best_place(grouped, from, to, shortest) else { continue };
        begins.push(at);
        open.extend([(from, at), (at, to)]);
    }
    begins.sort_unstable();
    begins
}

/// Where to cut a stretch: every fourth place first, then those around the best.
fn best_place(grouped: &Grouped, from: usize, to: usize, shortest: usize) -> Option<usize> {
    if to - from < 2 * shortest {
        return None;
    }
    let squares_at = |at: &usize| fit(grouped, from, *at).squares + fit(grouped, *at, to).squares;
    let best_of = |places: &mut dyn Iterator<Item = usize>| {
        places.map(|at| (squares_at(&at), at)).min_by(|a, b| a.0.total_cmp(&b.0))
    };
    let (low, high) = (from + shortest, to - shortest);
    let (_, near) = best_of(&mut (low..=high).step_by(4))?;
    Some(best_of(&mut (near.saturating_sub(4).max(low)..=(near + 4).min(high)))?.1)
}

/// Moves each cut to its best place between its neighbours.
fn settle_places(grouped: &Grouped, begins: &mut [usize], shortest: usize) {
    for k in 1..begins.len() {
        let to = begins.get(k + 1).copied().unwrap_or(grouped.time_s.len());
        begins[k] = best_place(grouped, begins[k - 1], to, shortest).unwrap_or(begins[k]);
    }
}

/// As [`settle_places`] for the cuts that are left, with time constants between those of the grid: from where each is, as long as it moves.
fn settle_finely(grouped: &Grouped, begins: &mut [usize], shortest: usize) {
    for k in 1..begins.len() {
        let (from, to) = (begins[k - 1], begins.get(k + 1).copied().unwrap_or(grouped.time_s.len()));
        for _ in 0..FINE_MOVES {
            let low = begins[k].saturating_sub(4).max(from + shortest);
            let high = (begins[k] + 4).min(to.saturating_sub(shortest));
            let squares = |at: usize| refined(grouped, from, at).squares + refined(grouped, at, to).squares;
            let best = (low..=high).map(|at| (squares(at), at)).min_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, at)) = best.filter(|(_, at)| *at != begins[k]) else { break };
            begins[k] = at;
        }
    }
}

/// The curves of all parts, and the variance that chance would give one parameter's part of the sum of squares.
fn curves(grouped: &Grouped, begins: &[usize]) -> (Vec<Curve>, f64) {
    let end = |k: usize| begins.get(k + 1).copied().unwrap_or(grouped.time_s.len());
    let curves: Vec<Curve> = (0..begins.len()).map(|k| refined(grouped, begins[k], end(k))).collect();
    let residuals: Vec<f64> = curves
        .iter()
        .enumerate()
        .flat_map(|(k, curve)| curve.residuals(grouped, begins[k], end(k)))
        .collect();
    let n = residuals.len() as f64;
    let together = autocorrelation(&residuals, 1)
        .get(1)
        .copied()
        .filter(|r| r.is_finite())
        .unwrap_or(0.0)
        .clamp(0.0, 0.98);
    let worth = n * (1.0 - together) / (1.0 + together);
    let spare = (worth - ADDED * begins.len() as f64).max(0.25 * worth);
    let ends =
        grouped.value.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(*v), b.max(*v)]);
    // Below a tenth of a millikelvin nothing is noise.
    let floor = (GRID_ERROR * (ends[1] - ends[0])).max(1e-4);
    let squares = curves.iter().map(|curve| curve.squares).sum::<f64>() + floor * floor * n;
    (curves, squares / spare)
}

/// Two neighbouring cuts that one at a place of its own replaces as well: the first of them, and the place.
fn one_for_two(grouped: &Grouped, begins: &[usize], shortest: usize) -> Option<(usize, usize)> {
    let end = |k: usize| begins.get(k + 1).copied().unwrap_or(grouped.time_s.len());
    let (curves, variance) = curves(grouped, begins);
    (1..begins.len().saturating_sub(1)).find_map(|k| {
        let (from, to) = (begins[k - 1], end(k + 1));
        let at = best_place(grouped, from, to, shortest)?;
        let joined = refined(grouped, from, at).squares + refined(grouped, at, to).squares;
        let apart: f64 = curves[k - 1..=k + 1].iter().map(|curve| curve.squares).sum();
        ((joined - apart) / ADDED / variance < LEAST_F).then_some((k, at))
    })
}

/// The cut that is needed least, when it is not needed: noise alone would do as much, or the temperature goes on as before.
fn least_needed(grouped: &Grouped, begins: &[usize], least: &Least) -> Option<usize> {
    let end = |k: usize| begins.get(k + 1).copied().unwrap_or(grouped.time_s.len());
    let (curves, variance) = curves(grouped, begins);
    let needed = |k: usize| {
        let joined = refined(grouped, begins[k - 1], end(k)).squares;
        (joined - curves[k - 1].squares - curves[k].squares) / ADDED / variance
    };
    let (f, weakest) = (1..begins.len()).map(|k| (needed(k), k)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    if f < LEAST_F {
        return Some(weakest);
    }
    // A step shows in where the temperature goes from there, against where it was going, or in a jump.
    let moved = |k: usize| {
        let (before, after) = (&curves[k - 1], &curves[k]);
        let last = end(k) - 1;
        let goes = after.at(grouped, begins[k], last) - before.at(grouped, begins[k - 1], last);
        let jumps = after.at(grouped, begins[k], begins[k]) - before.at(grouped, begins[k - 1], begins[k]);
        goes.abs().max(jumps.abs())
    };
    let (change, weakest) = (1..begins.len()).map(|k| (moved(k), k)).min_by(|a, b| a.0.total_cmp(&b.0))?;
    (change < least.change_k).then_some(weakest)
}

/// The best approach of a stretch.
struct Curve {
    squares: f64,
    settled: f64,
    amplitudes: [f64; 2],
    time_constants_s: [f64; 2],
}

impl Curve {
    /// Its value at the `i`-th average when it began at the `from`-th.
    fn at(&self, grouped: &Grouped, from: usize, i: usize) -> f64 {
        let t = grouped.time_s[i] - grouped.time_s[from];
        let sum: f64 =
            self.amplitudes.iter().zip(self.time_constants_s).map(|(a, tau)| a * (-t / tau).exp()).sum();
        self.settled + sum
    }

    fn residuals(&self, grouped: &Grouped, from: usize, to: usize) -> Vec<f64> {
        (from..to).map(|i| grouped.value[i] - self.at(grouped, from, i)).collect()
    }
}

/// The best approach of a stretch with time constants between those of the grid as well: what an approach lies beside the nearest curve of
/// the grid every sample tells anew, and it would pass for a step. A pattern search about the grid's best (R. Hooke and T. A. Jeeves, J. ACM 8
/// (1961) 212, from memory), halving its steps.
fn refined(grouped: &Grouped, from: usize, to: usize) -> Curve {
    let mut best = fit(grouped, from, to);
    let span = grouped.time_s[to - 1] - grouped.time_s[from];
    let allowed = 0.3 * grouped.group_s..=5.0 * span;
    let mut step = 1.6f64;
    for _ in 0..REFINEMENTS {
        let [fast, slow] = best.time_constants_s;
        let around = [
            [fast * step, slow],
            [fast / step, slow],
            [fast, slow * step],
            [fast, slow / step],
            [fast * step, slow * step],
            [fast / step, slow / step],
        ];
        let better = around
            .into_iter()
            .filter(|tau| tau.iter().all(|tau| allowed.contains(tau)))
            .filter_map(|tau| fit_with(grouped, from, to, tau))
            .min_by(|a, b| a.squares.total_cmp(&b.squares))
            .filter(|other| other.squares < best.squares);
        match better {
            Some(better) => best = better,
            None => step = step.sqrt(),
        }
    }
    best
}

/// The best approach of a stretch with these time constants, s; `None` where the two are as good as one.
fn fit_with(grouped: &Grouped, from: usize, to: usize, time_constants_s: [f64; 2]) -> Option<Curve> {
    let offset = grouped.value[to - 1];
    let (mut squares, mut products, mut total) = (Matrix3::zeros(), Vector3::zeros(), 0.0);
    for i in from..to {
        let t = grouped.time_s[i] - grouped.time_s[from];
        let [a, b] = time_constants_s.map(|tau| (-t / tau).exp());
        let (row, y) = (Vector3::new(1.0, a, b), grouped.value[i] - offset);
        squares += row * row.transpose();
        products += row * y;
        total += y * y;
    }
    for k in 0..3 {
        squares[(k, k)] *= 1.0 + 1e-9;
    }
    let solution = squares.cholesky()?.solve(&products);
    Some(Curve {
        squares: (total - solution.dot(&products)).max(0.0),
        settled: offset + solution[0],
        amplitudes: [solution[1], solution[2]],
        time_constants_s,
    })
}

fn fit(grouped: &Grouped, from: usize, to: usize) -> Curve {
    const COLUMNS: usize = GRID + 2;
    let span = grouped.time_s[to - 1] - grouped.time_s[from];
    let (shortest, longest) = ((1.5 * grouped.group_s).ln(), (1.5 * span).max(3.0 * grouped.group_s).ln());
    let tau: [f64; GRID] =
        std::array::from_fn(|k| (shortest + (longest - shortest) * k as f64 / (GRID - 1) as f64).exp());
    let offset = grouped.value[to - 1];
    let mut sums = [[0.0; COLUMNS]; COLUMNS];
    let mut column = [1.0; COLUMNS];
    let (mut fade, mut apart) = ([1.0; GRID], 0.0);
    for i in from..to {
        if i > from {
            let step = grouped.time_s[i] - grouped.time_s[i - 1];
            if (step - apart).abs() > 1e-9 * step {
                apart = step;
                fade = tau.map(|tau| (-step / tau).exp());
            }
            for k in 0..GRID {
                column[1 + k] *= fade[k];
            }
        }
        column[COLUMNS - 1] = grouped.value[i] - offset;
        for a in 0..COLUMNS {
            for b in a..COLUMNS {
                sums[a][b] += column[a] * column[b];
            }
        }
    }
    let y = COLUMNS - 1;
    let mut best =
        Curve { squares: f64::INFINITY, settled: offset, amplitudes: [0.0; 2], time_constants_s: [1.0; 2] };
    for p in 1..=GRID {
        for q in p + 1..=GRID {
            let s = |a: usize, b: usize| sums[a.min(b)][a.max(b)];
            let squares = Matrix3::from_fn(|r, c| {
                let [a, b] = [[0, p, q][r], [0, p, q][c]];
                // Nearly equal columns must not blow up: a part in 1e9 of the amplitude's own square.
                s(a, b) * if r == c { 1.0 + 1e-9 } else { 1.0 }
            });
            let products = Vector3::new(s(0, y), s(p, y), s(q, y));
            let Some(factor) = squares.cholesky() else { continue };
            let solution = factor.solve(&products);
            let left = (s(y, y) - solution.dot(&products)).max(0.0);
            if left < best.squares {
                best = Curve {
                    squares: left,
                    settled: offset + solution[0],
                    amplitudes: [solution[1], solution[2]],
                    time_constants_s: [tau[p - 1], tau[q - 1]],
                };
            }
        }
    }
    best
}
