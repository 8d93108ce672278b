//! Where the plateaus of a log are: by a current column, by a list of steps, or by the temperature alone.

use super::splitting::split_points;

/// A stretch of a log at constant drive current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// First sample.
    pub first: usize,
    /// Last sample, itself a part of it.
    pub last: usize,
    /// Time at which it begins, s, and by how much that is in doubt, s.
    pub begin_s: f64,
    /// See `begin_s`.
    pub begin_doubt_s: f64,
    /// Time at which it ends, s.
    pub end_s: f64,
    /// Its drive current, A, where known.
    pub current_a: Option<f64>,
}

/// What counts as a plateau.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Least {
    /// Shorter stretches are none, s.
    pub dwell_s: f64,
    /// Smaller changes of the temperature are no step, K (for plateaus found in the temperature alone).
    pub change_k: f64,
}

impl Default for Least {
    fn default() -> Self {
        Self { dwell_s: 120.0, change_k: 1.0 }
    }
}

/// A step is believed after so many samples away from the level; fewer are disturbances of a single reading.
const CONVINCING: usize = 3;

/// Plateaus from the current column, A (NaN where missing). A level ends where three samples in a row leave it by more than five times the
/// column's own noise and half a percent of its largest value.
#[must_use]
pub fn by_current(time_s: &[f64], current_a: &[f64], least: &Least) -> Vec<Span> {
    let known: Vec<usize> = (0..time_s.len().min(current_a.len()))
        .filter(|&i| current_a[i].is_finite() && time_s[i].is_finite())
        .collect();
    let largest = known.iter().map(|&i| current_a[i].abs()).fold(0.0, f64::max);
    let tolerance =
        (5.0 * noise(&known.iter().map(|&i| current_a[i]).collect::<Vec<_>>())).max(0.005 * largest);
    let mut levels: Vec<Vec<usize>> = Vec::new();
    let (mut level, mut sum, mut away): (Vec<usize>, f64, Vec<usize>) = (Vec::new(), 0.0, Vec::new());
    for &i in &known {
        if level.is_empty() || (current_a[i] - sum / level.len() as f64).abs() <= tolerance {
            level.push(i);
            sum += current_a[i];
            away.clear();
            continue;
        }
        away.push(i);
        if away.len() == CONVINCING {
            levels.push(std::mem::take(&mut level));
            // Of a ramp, the last sample tells where it may come to rest.
            level = vec![i];
            let resting = away.iter().all(|&k| (current_a[k] - current_a[i]).abs() <= tolerance);
            if resting {
                level.clone_from(&away);
            }
            sum = level.iter().map(|&k| current_a[k]).sum();
            away.clear();
        }
    }
    levels.push(level);
    levels
        .iter()
        .filter_map(|level| {
            let (first, last) = (*level.first()?, *level.last()?);
            let mean = level.iter().map(|&i| current_a[i]).sum::<f64>() / level.len() as f64;
            // The step lies between this sample and the one before.
            let doubt = if first > 0 { time_s[first] - time_s[first - 1] } else { 0.0 };
            span(time_s, first, last, doubt, Some(mean), least)
        })
        .collect()
}

/// Deviation of a column's fast noise: from the median of the differences between neighbours.
fn noise(values: &[f64]) -> f64 {
    let mut differences: Vec<f64> = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
    differences.sort_by(f64::total_cmp);
    // 1.4826: deviation over median of the absolute value of a normal distribution; two samples make a difference.
    differences.get(differences.len() / 2).map_or(0.0, |median| 1.4826 * median / std::f64::consts::SQRT_2)
}

/// Plateaus from a list of steps: times, s, at which a current, A, was set. Each holds until the next step or the end.
#[must_use]
pub fn by_steps(time_s: &[f64], steps: &[(f64, f64)], least: &Least) -> Vec<Span> {
    let mut steps: Vec<(f64, f64)> = steps.iter().copied().filter(|(t, _)| t.is_finite()).collect();
    steps.sort_by(|a, b| a.0.total_cmp(&b.0));
    let until = |k: usize| steps.get(k + 1).map_or(f64::INFINITY, |next| next.0);
    steps
        .iter()
        .enumerate()
        .filter_map(|(k, (begin, current_a))| {
            let inside = |i: &usize| time_s[*i] >= *begin && time_s[*i] < until(k);
            let first = (0..time_s.len()).find(inside)?;
            let last = (first..time_s.len()).rev().find(inside)?;
            span(time_s, first, last, 0.0, Some(*current_a), least)
        })
        .collect()
}

/// Plateaus from the temperature alone (degC or K, NaN where missing): where one approach to a settled value ends and another
/// begins.
#[must_use]
pub fn by_temperature(time_s: &[f64], temperature: &[f64], least: &Least) -> Vec<Span> {
    let found = split_points(time_s, temperature, least);
    let mut begins = vec![(0, 0.0)];
    begins.extend(found.iter().map(|split| (split.sample, split.doubt_s)));
    let end = time_s.len().min(temperature.len());
    begins
        .iter()
        .enumerate()
        .filter_map(|(k, (first, doubt_s))| {
            let next = begins.get(k + 1).map_or(end, |next| next.0);
            span(time_s, *first, next.checked_sub(1)?, *doubt_s, None, least)
        })
        .collect()
}

fn span(
    time_s: &[f64],
    first: usize,
    last: usize,
    begin_doubt_s: f64,
    current_a: Option<f64>,
    least: &Least,
) -> Option<Span> {
    let (begin_s, end_s) = (*time_s.get(first)?, *time_s.get(last)?);
    (end_s - begin_s >= least.dwell_s).then_some(Span {
        first,
        last,
        begin_s,
        begin_doubt_s,
        end_s,
        current_a,
    })
}
