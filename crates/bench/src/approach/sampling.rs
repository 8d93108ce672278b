//! Weighted samples of time constants and noise.

use nalgebra::{Matrix3, Vector3};
use statrs::distribution::{ContinuousCDF, Normal};
use statrs::function::erf::erf;

use super::laplace::{Place, climb, spread};
use super::linear::{Point, Problem};
use super::noise::{Noise, Whitener};

/// Memories tried, as parts of the time between samples (the shortest) and of the plateau (the longest); shares of the variance.
const MEMORIES: usize = 9;
const SHARES: [f64; 4] = [0.25, 0.6, 0.9, 1.0];
/// The longest memory tried, as a part of the plateau. One longer could not be told from the approach itself.
const LONGEST_MEMORY: f64 = 0.12;
/// Noises less likely than this beside the likeliest are left out.
const UNLIKELY: f64 = 0.03;
/// Samples of each width, in the first round and in the second.
const ROUNDS: [usize; 2] = [40, 64];
/// Widths of the normal curves that samples are drawn from, against that at the likeliest place.
const WIDTHS: [f64; 2] = [1.0, 2.2];
/// Time constants nearer to each other than this, as a ratio, are one.
const APART: f64 = 1.25;

/// A sample: time constants, and what the data say with them.
#[derive(Debug, Clone)]
pub struct Component {
    pub log_weight: f64,
    pub time_constants_s: Vec<f64>,
    /// Settled value above the problem's offset, and amplitudes.
    pub coefficients: [f64; 4],
    /// Deviation of the normal curve with the same 95 % interval as the sample's Student distribution.
    pub deviation: f64,
}

impl Component {
    /// What is left of the approach at a time, K.
    pub fn remaining(&self, time_s: f64) -> f64 {
        -self
            .time_constants_s
            .iter()
            .zip(&self.coefficients[1..])
            .map(|(tau, a)| a * (-time_s / tau).exp())
            .sum::<f64>()
    }

    /// How long after `time_s` until less than `still` is left, s.
    pub fn seconds_until(&self, time_s: f64, still: f64) -> f64 {
        let Some(slowest) = self.time_constants_s.last() else { return 0.0 };
        let left = |more: f64| self.remaining(time_s + more).abs() > still;
        if !left(0.0) {
            return 0.0;
        }
        let mut high = 0.1 * slowest;
        while left(high) && high < 50.0 * slowest {
            high *= 2.0;
        }
        let mut low = 0.0;
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            if left(middle) { low = middle } else { high = middle }
        }
        high
    }
}

/// What was found for a number of time constants.
pub struct Order {
    pub time_constants: usize,
    pub components: Vec<Component>,
    /// At the likeliest place.
    pub time_constants_s: Vec<f64>,
    pub noise: Noise,
}

/// Sets the noise that amplitudes are weighed against by a free fit of two time constants.
pub fn guess_noise(problem: &mut Problem) {
    let whitener = Whitener::new(Noise::WHITE, &problem.series.time_s);
    let start = seed(problem, 2, &whitener);
    let f = |place: &Place| evidence(problem, place, 2, &whitener);
    let (top, _) = climb(&f, start, 2, 0.3);
    if let Some(point) = problem.point(&time_constants(&top, 2), &whitener) {
        let variance = point.squares / problem.samples() as f64;
        problem.ridge = (variance / problem.amplitude_k.powi(2)).clamp(1e-10, 1.0);
    }
}

fn time_constants(place: &Place, order: usize) -> Vec<f64> {
    place[..order].iter().map(|x| x.exp()).collect()
}

fn allowed(problem: &Problem, place: &Place, order: usize) -> bool {
    let [shortest, longest] = problem.time_constant_range_s().map(f64::ln);
    let inside = place[..order].iter().all(|x| (shortest..=longest).contains(x));
    inside && place[..order].windows(2).all(|pair| pair[1] - pair[0] >= APART.ln())
}

fn evidence(problem: &Problem, place: &Place, order: usize, whitener: &Whitener) -> f64 {
    point(problem, place, order, whitener).map_or(f64::NEG_INFINITY, |point| point.log_evidence)
}

fn point(problem: &Problem, place: &Place, order: usize, whitener: &Whitener) -> Option<Point> {
    if !allowed(problem, place, order) {
        return None;
    }
    problem.point(&time_constants(place, order), whitener)
}

/// The best place on a coarse grid of time constants.
fn seed(problem: &Problem, order: usize, whitener: &Whitener) -> Place {
    const STEPS: usize = 11;
    let [shortest, longest] = problem.time_constant_range_s().map(f64::ln);
    let at = |step: usize| shortest + (longest - shortest) * (step as f64 + 0.5) / STEPS as f64;
    let mut best = ([at(STEPS / 2); 3], f64::NEG_INFINITY);
    let mut steps = [0, 1, 2];
    loop {
        let place = [at(steps[0]), at(steps[1]), at(steps[2])];
        let here = evidence(problem, &place, order, whitener);
        if here > best.1 {
            best = (place, here);
        }
        // The next ascending choice of `order` steps.
        let Some(turn) = (0..order).rev().find(|d| steps[*d] + order - d < STEPS) else { break };
        steps[turn] += 1;
        for d in turn + 1..order {
            steps[d] = steps[d - 1] + 1;
        }
    }
    best.0
}

/// The noises that are tried.
fn noises(problem: &Problem) -> Vec<Noise> {
    let span = problem.series.span_s();
    let (shortest, longest) =
        ((0.5 * span / (problem.samples() - 1) as f64).ln(), (LONGEST_MEMORY * span).ln());
    let mut all = vec![Noise::WHITE];
    for step in 0..MEMORIES {
        let memory_s = (shortest + (longest - shortest).max(0.0) * step as f64 / (MEMORIES - 1) as f64).exp();
        all.extend(SHARES.map(|share| Noise { share, memory_s }));
    }
    all
}

/// All noises at a place, with the weight of each.
fn weighed(problem: &Problem, all: &[(Noise, Whitener)], place: &Place, order: usize) -> Vec<(f64, usize)> {
    all.iter().enumerate().map(|(i, (_, whitener))| (evidence(problem, place, order, whitener), i)).collect()
}

/// Weighted samples for a number of time constants.
pub fn components(problem: &Problem, order: usize) -> Option<Order> {
    let noises: Vec<(Noise, Whitener)> = noises(problem)
        .into_iter()
        .map(|noise| (noise, Whitener::new(noise, &problem.series.time_s)))
        .collect();
    let best_of = |weights: &[(f64, usize)]| weights.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0));
    if order == 0 {
        let weights = weighed(problem, &noises, &[0.0; 3], 0);
        let (_, best) = best_of(&weights)?;
        let components = weights
            .iter()
            .filter_map(|(_, i)| component(problem, &[0.0; 3], 0, &noises[*i].1, 0.0))
            .collect();
        return Some(Order {
            time_constants: 0,
            components,
            time_constants_s: Vec::new(),
            noise: noises[best].0,
        });
    }
    let mut top = seed(problem, order, &noises[0].1);
    let mut chosen = 0;
    for _ in 0..2 {
        let f = |place: &Place| evidence(problem, place, order, &noises[chosen].1);
        top = climb(&f, top, order, 0.25).0;
        chosen = best_of(&weighed(problem, &noises, &top, order))?.1;
    }
    let f = |place: &Place| evidence(problem, place, order, &noises[chosen].1);
    let (top, height) = climb(&f, top, order, 0.1);
    if !height.is_finite() {
        return None;
    }
    let mut proposal = Proposal { middle: top, root: spread(&f, &top, height, order), order };
    proposal = proposal.moved(&f);
    let weights = weighed(problem, &noises, &top, order);
    let highest = best_of(&weights)?.0;
    let kept = weights.into_iter().filter(|(weight, _)| *weight > highest + UNLIKELY.ln());
    let prior = log_prior(problem, order);
    let mut components = Vec::new();
    for (_, noise) in kept {
        for (place, log_density) in proposal.places(ROUNDS[1]) {
            components.extend(component(problem, &place, order, &noises[noise].1, prior - log_density));
        }
    }
    Some(Order {
        time_constants: order,
        components,
        time_constants_s: time_constants(&top, order),
        noise: noises[chosen].0,
    })
}

/// Logarithm of the density that each place has before the data: even in the logarithm, ascending; over the number of samples.
fn log_prior(problem: &Problem, order: usize) -> f64 {
    let [shortest, longest] = problem.time_constant_range_s();
    let orders = [1.0, 1.0, 2.0, 6.0][order];
    f64::ln(orders) - order as f64 * (longest / shortest).ln().ln() - ((WIDTHS.len() * ROUNDS[1]) as f64).ln()
}

fn component(
    problem: &Problem,
    place: &Place,
    order: usize,
    whitener: &Whitener,
    log_factor: f64,
) -> Option<Component> {
    let point = point(problem, place, order, whitener)?;
    Some(Component {
        log_weight: point.log_evidence + log_factor,
        time_constants_s: time_constants(place, order),
        coefficients: point.coefficients,
        deviation: point.scale * problem.wider,
    })
}

/// Normal curves of several widths about one middle.
struct Proposal {
    middle: Place,
    root: Matrix3<f64>,
    order: usize,
}

impl Proposal {
    /// Places with the logarithm of the density they are drawn with: evenly spread, not random, so that a run repeats.
    fn places(&self, each: usize) -> Vec<(Place, f64)> {
        let log_root: f64 = self.root.determinant().abs().ln();
        let mut all = Vec::with_capacity(WIDTHS.len() * each);
        for width in WIDTHS {
            for i in 0..each {
                let z = normal_place(i, self.order);
                let step = self.root * z * width;
                let mut place = self.middle;
                for d in 0..self.order {
                    place[d] += step[d];
                }
                let far = z.norm_squared() * width * width;
                let half = 0.5 * self.order as f64 * std::f64::consts::TAU.ln();
                let density: f64 = WIDTHS
                    .iter()
                    .map(|w| (-0.5 * far / (w * w)).exp() / w.powi(self.order as i32) / WIDTHS.len() as f64)
                    .sum();
                all.push((place, density.ln() - half - log_root));
            }
        }
        all
    }

    /// Moved to where a first round of samples has its weight.
    fn moved(self, f: &dyn Fn(&Place) -> f64) -> Self {
        let places = self.places(ROUNDS[0]);
        let logs: Vec<f64> = places.iter().map(|(place, density)| f(place) - density).collect();
        let highest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.iter().map(|log| (log - highest).exp()).collect();
        let total: f64 = weights.iter().sum();
        let worth = total * total / weights.iter().map(|w| w * w).sum::<f64>();
        if !worth.is_finite() || worth < 6.0 {
            return self;
        }
        let mut middle = Vector3::zeros();
        for ((place, _), weight) in places.iter().zip(&weights) {
            middle += Vector3::from(*place) * (weight / total);
        }
        let mut covariance = Matrix3::zeros();
        for ((place, _), weight) in places.iter().zip(&weights) {
            let off = Vector3::from(*place) - middle;
            covariance += off * off.transpose() * (weight / total);
        }
        for d in self.order..3 {
            covariance[(d, d)] = 1.0;
        }
        match covariance.cholesky() {
            Some(factor) => Self { middle: middle.into(), root: factor.l(), order: self.order },
            None => self,
        }
    }
}

/// The `i`-th of a sequence of normally distributed places: Halton's sequence (Numer. Math. 2 (1960) 84) through the normal quantile.
fn normal_place(i: usize, order: usize) -> Vector3<f64> {
    let mut place = Vector3::zeros();
    for (d, base) in [2, 3, 5].into_iter().enumerate().take(order) {
        let (mut part, mut rest, mut even) = (1.0, i + 1, 0.0);
        while rest > 0 {
            part /= base as f64;
            even += part * (rest % base) as f64;
            rest /= base;
        }
        place[d] = Normal::standard().inverse_cdf(even);
    }
    place
}

/// The value below which `part` of the weighted samples' distributions lies.
pub fn quantile(kept: &[(f64, &Component)], total: f64, part: f64) -> f64 {
    let below = |x: f64| {
        kept.iter()
            .map(|(weight, c)| {
                weight * 0.5 * (1.0 + erf((x - c.coefficients[0]) / (c.deviation * std::f64::consts::SQRT_2)))
            })
            .sum::<f64>()
            / total
    };
    let ends = kept.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], (_, c)| {
        [low.min(c.coefficients[0] - 6.0 * c.deviation), high.max(c.coefficients[0] + 6.0 * c.deviation)]
    });
    let [mut low, mut high] = ends;
    for _ in 0..48 {
        let middle = 0.5 * (low + high);
        if below(middle) < part {
            low = middle
        } else {
            high = middle
        }
        if high - low < 1e-6 {
            break;
        }
    }
    0.5 * (low + high)
}

/// The value with half of the weight below it.
pub fn weighted_median(values: impl Iterator<Item = (f64, f64)>) -> f64 {
    let mut all: Vec<(f64, f64)> = values.collect();
    all.sort_by(|a, b| a.1.total_cmp(&b.1));
    let half = 0.5 * all.iter().map(|(weight, _)| weight).sum::<f64>();
    let mut sum = 0.0;
    for (weight, value) in &all {
        sum += weight;
        if sum >= half {
            return *value;
        }
    }
    all.last().map_or(0.0, |last| last.1)
}
