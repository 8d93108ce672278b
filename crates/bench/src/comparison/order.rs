//! What the order of the plateaus may have done to the comparison.

use super::{Measured, SAME_CURRENT, WithDoubt};

/// Order and drift in numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Change of one and the same plateau (variant and current) with time, as a part of its rise an hour, where something was repeated.
    pub drift_per_h: Option<WithDoubt>,
    /// Mean time of the second variant's plateaus less that of the first's, h, where known.
    pub apart_h: Option<f64>,
    /// Whether one variant was measured as a whole before the other.
    pub one_after_the_other: bool,
    /// What the drift may have added to a difference of the two variants, as a part of the rise, where both are known.
    pub shift: Option<WithDoubt>,
}

/// Order effects between two variants.
///
/// The drift is the weighted least-squares slope of `rise / mean rise of its repeats` over time, all repeated plateaus together.
#[must_use]
pub fn order_effects(measured: &[Measured], first: &str, second: &str) -> Order {
    let times = |variant: &str| -> Vec<f64> {
        measured.iter().filter(|one| one.variant == variant).filter_map(|one| one.begun_h).collect()
    };
    let (a, b) = (times(first), times(second));
    let mean = |all: &[f64]| (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64);
    let highest = |all: &[f64]| all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = |all: &[f64]| all.iter().copied().fold(f64::INFINITY, f64::min);
    let known = !a.is_empty() && !b.is_empty();
    let one_after_the_other = known && (highest(&a) < lowest(&b) || highest(&b) < lowest(&a));
    let apart_h = mean(&b).zip(mean(&a)).map(|(b, a)| b - a);
    let drift_per_h = drift(measured);
    let shift = drift_per_h
        .zip(apart_h)
        .map(|(drift, apart)| WithDoubt { value: drift.value * apart, half_95: drift.half_95 * apart.abs() });
    Order { drift_per_h, apart_h, one_after_the_other, shift }
}

fn drift(measured: &[Measured]) -> Option<WithDoubt> {
    let (mut sxx, mut sxy) = (0.0, 0.0);
    let mut seen: Vec<&Measured> = Vec::new();
    for one in measured {
        let like = |other: &&Measured| {
            other.variant == one.variant
                && (other.current_a - one.current_a).abs() <= SAME_CURRENT * one.current_a.abs()
        };
        if seen.iter().any(like) {
            continue;
        }
        seen.push(one);
        let group: Vec<(f64, f64, f64)> = measured
            .iter()
            .filter(like)
            .filter_map(|m| Some((m.begun_h?, m.rise_k, m.rise_standard_k)))
            .filter(|(_, rise, standard)| *rise > 0.0 && *standard > 0.0)
            .collect();
        if group.len() < 2 {
            continue;
        }
        let mean = group.iter().map(|g| g.1).sum::<f64>() / group.len() as f64;
        let weights = || group.iter().map(|g| (mean / g.2).powi(2));
        let middle = group.iter().zip(weights()).map(|(g, w)| w * g.0).sum::<f64>() / weights().sum::<f64>();
        for (g, w) in group.iter().zip(weights()) {
            sxx += w * (g.0 - middle).powi(2);
            sxy += w * (g.0 - middle) * (g.1 / mean);
        }
    }
    (sxx > 0.0).then(|| WithDoubt { value: sxy / sxx, half_95: 1.96 / sxx.sqrt() })
}
