//! The settled value of a plateau, from an approach that may not be over.
//!
//! Model: `y(t) = y_settled + sum a_k exp(-t / tau_k) + noise`, none to three time constants; the noise has a white part and a part
//! with a memory ([`noise`]). A logged ambient is taken off as the lamp feels it: through a first-order lag of the slowest time
//! constant.
//!
//! Nothing of this is chosen and then believed. Time constants are even in the logarithm before the data speak, amplitudes normal
//! about 0 with the size of what was seen to change; settled value and amplitudes are then integrated exactly, time constants and
//! noise by weighted samples, and the number of time constants by what the data say for each. The interval therefore holds the
//! doubt about all of them, and it is wide and lopsided where the approach has been cut off early.
//!
//! Sources: separable least squares, G. H. Golub and V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413; linear models with normal and
//! inverse-gamma priors, A. Gelman et al., Bayesian Data Analysis, 3rd ed., chapter 14; importance sampling there, section 10.4.

mod laplace;
mod linear;
pub mod noise;
mod reduction;
mod sampling;

#[cfg(test)]
mod coverage;
#[cfg(test)]
pub(crate) mod testing;

use std::fmt;

use linear::Problem;
use sampling::{Component, components};

/// The most time constants that are told apart.
pub const MOST_TIME_CONSTANTS: usize = 3;

/// Fewer samples than this say nothing about an approach.
pub const FEWEST_SAMPLES: usize = 12;

/// What to look for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Samples so soon after the first are left out, s: a step takes its time to reach logger and sensor.
    pub dead_s: f64,
    /// What may be left of the approach in a settled plateau, K.
    pub still_k: f64,
    /// One step of the logger, K; 0 when it is not known.
    pub step_k: f64,
}

impl Default for Wanted {
    fn default() -> Self {
        Self { dead_s: 0.0, still_k: 0.1, step_k: 0.0 }
    }
}

/// Why no settled value can be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CannotSettle {
    /// Too few samples that are numbers.
    TooFew {
        /// How many there are.
        samples: usize,
    },
    /// Times do not ascend or are no numbers.
    BadTimes,
    /// The values fit no approach at all.
    NoFit,
    /// An ambient column was named and is mostly empty.
    NoAmbient,
}

impl fmt::Display for CannotSettle {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew { samples } => write!(
                f,
                "{samples} usable samples are too few for a settled value: at least {FEWEST_SAMPLES} are needed; log faster or hold the \
                 current longer"
            ),
            Self::BadTimes => f.write_str("the times of the samples do not ascend"),
            Self::NoAmbient => f.write_str(
                "the ambient column is empty for more than half of the plateau, so there is nothing to count a rise from; mend the \
                 log or state the ambient",
            ),
            Self::NoFit => f.write_str("the samples fit no approach to a settled value"),
        }
    }
}

/// A settled value with its doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Settled value, K or degC as the samples were; the rise above ambient when an ambient was given.
    pub value: f64,
    /// 95 % interval, below and above.
    pub interval: [f64; 2],
    /// A fourth of the interval: about a standard uncertainty.
    pub standard: f64,
    /// Time constants of the likeliest approach, s, ascending.
    pub time_constants_s: Vec<f64>,
    /// The likeliest approach as a curve: time, s, and value as the samples are, the ambient's drift in it; at most some 240 points.
    pub curve: Vec<(f64, f64)>,
    /// How likely none, one, two and three time constants are, by the data.
    pub likelihood_of_orders: [f64; MOST_TIME_CONSTANTS + 1],
    /// What is left of the approach at the last sample: settled value less the fitted curve there, K.
    pub remaining_k: f64,
    /// How much longer the plateau must be held until what is left is below what is wanted, min; 0 when it is settled.
    pub minutes_more: f64,
    /// Deviation of the samples from the curve, K rms.
    pub noise_k: f64,
    /// Autocorrelation of neighbouring samples' deviations (of those used, which may be means of several).
    pub autocorrelation: f64,
    /// Samples used, after averaging neighbours.
    pub samples: usize,
    /// How many independent samples they are worth for a mean.
    pub independent_samples: f64,
    /// How much the ambient drifted over the plateau, K; `None` when none was logged.
    pub ambient_drift_k: Option<f64>,
    /// Standard uncertainty of taking that off, K; part of `interval`.
    pub drift_standard_k: f64,
}

impl Settled {
    /// Whether what is left of the approach is below what was wanted.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        self.minutes_more == 0.0
    }
}

/// The settled value of `value` (NaN where missing) over `time_s` (s, ascending, the step at the first or before). With an `ambient`
/// (degC, same times, NaN where missing) it is the rise above that.
///
/// # Errors
/// When there is too little to go by; see [`CannotSettle`].
pub fn settle(
    time_s: &[f64],
    value: &[f64],
    ambient: Option<&[f64]>,
    wanted: &Wanted,
) -> Result<Settled, CannotSettle> {
    let series = reduction::reduce(time_s, value, ambient, wanted.dead_s)?;
    let mut problem = Problem::new(series);
    sampling::guess_noise(&mut problem);
    let orders: Vec<sampling::Order> =
        (0..=MOST_TIME_CONSTANTS).filter_map(|order| components(&problem, order)).collect();
    let all: Vec<&Component> = orders.iter().flat_map(|order| &order.components).collect();
    let highest = all.iter().map(|c| c.log_weight).fold(f64::NEG_INFINITY, f64::max);
    if !highest.is_finite() {
        return Err(CannotSettle::NoFit);
    }
    let kept: Vec<(f64, &Component)> = all
        .iter()
        .map(|c| ((c.log_weight - highest).exp(), *c))
        .filter(|(weight, _)| *weight > 1e-6)
        .collect();
    let total: f64 = kept.iter().map(|(weight, _)| weight).sum();
    let mut likelihood_of_orders = [0.0; MOST_TIME_CONSTANTS + 1];
    for (weight, component) in &kept {
        likelihood_of_orders[component.time_constants_s.len()] += weight / total;
    }
    let likeliest = (0..=MOST_TIME_CONSTANTS)
        .max_by(|a, b| likelihood_of_orders[*a].total_cmp(&likelihood_of_orders[*b]))
        .unwrap_or(0);
    let best = orders.iter().find(|order| order.time_constants == likeliest).ok_or(CannotSettle::NoFit)?;
    let quantile = |part: f64| problem.offset + sampling::quantile(&kept, total, part);
    let [low, value, high] = [0.025, 0.5, 0.975].map(quantile);
    let end_s = problem.series.time_s.last().copied().unwrap_or(0.0);
    let remaining_k = kept.iter().map(|(weight, c)| weight * c.remaining(end_s)).sum::<f64>() / total;
    let slowest_s = best.time_constants_s.last().copied().unwrap_or(0.0);
    let drift = problem.series.ambient_drift_k();
    let drift_standard_k = drift.map_or(0.0, |drift| drift_doubt(drift, problem.series.span_s(), slowest_s));
    let fit = problem.fit(&best.time_constants_s, best.noise);
    let extra = drift_standard_k.hypot(step_doubt(wanted.step_k, fit.noise_k));
    let [low, high] = [value - (value - low).hypot(1.96 * extra), value + (high - value).hypot(1.96 * extra)];
    let minutes_more = if remaining_k.abs() <= wanted.still_k {
        0.0
    } else {
        sampling::weighted_median(kept.iter().map(|(w, c)| (*w, c.seconds_until(end_s, wanted.still_k))))
            / 60.0
    };
    Ok(Settled {
        value,
        interval: [low, high],
        standard: (high - low) / 3.92,
        time_constants_s: best.time_constants_s.clone(),
        curve: fit.curve,
        likelihood_of_orders,
        remaining_k,
        minutes_more,
        noise_k: fit.noise_k,
        autocorrelation: fit.autocorrelation,
        samples: problem.series.time_s.len(),
        independent_samples: fit.independent_samples,
        ambient_drift_k: drift,
        drift_standard_k,
    })
}

/// The lamp follows the ambient with a lag that is taken as its slowest time constant; how far that may be wrong is taken as a
/// tenth of it (standard uncertainty), so the settled rise is in doubt by what the ambient drifts in that time.
fn drift_doubt(drift_k: f64, span_s: f64, slowest_s: f64) -> f64 {
    if span_s > 0.0 { 0.1 * (drift_k / span_s).abs() * slowest_s.min(span_s) } else { 0.0 }
}

/// A converter's step hides what happens inside it unless noise carries the samples across; then it averages out.
fn step_doubt(step_k: f64, noise_k: f64) -> f64 {
    if noise_k > 0.5 * step_k { 0.0 } else { step_k / 12f64.sqrt() }
}
