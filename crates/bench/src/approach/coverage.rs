//! Logs whose truth is known, and how often the 95 % interval holds it.
//!
//! The generator shares nothing with the analysis: it integrates a chain of heat capacities and resistances in small steps (board,
//! heatsink, sometimes a base between them) to a power step, with a wandering ambient at the chain's end, and adds noise of its
//! own: a first-order filter on random numbers, white noise, a fan that cycles, a converter's steps, gaps.

use std::f64::consts::TAU;

use super::testing::Random;
use super::{Settled, Wanted, settle};

struct Log {
    time_s: Vec<f64>,
    value: Vec<f64>,
    ambient: Vec<f64>,
    /// Settled rise above ambient, by Ohm's law of heat.
    rise_k: f64,
}

/// How the logs of a set differ.
#[derive(Clone, Copy)]
struct Set {
    /// Dwell in slowest time constants, from and to.
    dwell: [f64; 2],
    /// Ambient: drift over the dwell, K, at most.
    drift_k: f64,
    /// Part of the noise variance that has a memory, at most.
    memory: f64,
    /// Whether a fan cycles.
    cycling: bool,
}

fn log(seed: u64, set: Set) -> Log {
    let mut random = Random::new(seed);
    let stages = 1 + (random.even() * 3.0) as usize;
    // Each stage: K/W and J/K, from the sensor outwards, each slower than the one before.
    let mut chain = Vec::new();
    let mut time_constant_s = random.log_between(200.0, 900.0);
    for _ in 0..stages {
        let k_per_w = random.log_between(0.3, 2.0);
        chain.insert(0, (k_per_w, time_constant_s / k_per_w));
        time_constant_s /= random.log_between(3.0, 8.0);
    }
    let power_w = random.log_between(5.0, 40.0);
    let rise_k: f64 = power_w * chain.iter().map(|(r, _)| r).sum::<f64>();
    let slowest_s = slowest(&chain);
    let dwell_s = slowest_s * random.between(set.dwell[0], set.dwell[1]);
    let every_s = (dwell_s / random.log_between(80.0, 900.0)).max(0.5);
    let [drift, swing, period] = [
        random.between(-1.0, 1.0) * set.drift_k,
        0.1 * set.drift_k * random.even(),
        random.between(0.5, 3.0),
    ];
    let ambient_at = |t: f64| 22.0 + drift * t / dwell_s + swing * (TAU * t / dwell_s * period).sin();
    let noise_k = random.log_between(0.02, 0.3);
    let memory = set.memory * random.even();
    let memory_s = every_s * random.log_between(0.7, 25.0);
    let ripple = if set.cycling {
        [noise_k * random.between(0.3, 1.5), random.log_between(20.0, 0.06 * dwell_s)]
    } else {
        [0.0, 1.0]
    };
    let step_k = noise_k * random.between(0.1, 1.5);

    let mut state = vec![ambient_at(0.0); stages];
    // Sometimes the plateau before was warm.
    let before_w = if random.even() < 0.5 { 0.0 } else { 0.4 * power_w };
    for i in 0..stages {
        state[i] += before_w * chain[i..].iter().map(|(r, _)| r).sum::<f64>();
    }
    let fastest_s = chain.iter().map(|(r, c)| r * c).fold(f64::INFINITY, f64::min);
    let (mut time_s, mut value, mut ambient) = (Vec::new(), Vec::new(), Vec::new());
    let (mut t, mut coloured) = (0.0, random.normal());
    let fade = (-every_s / memory_s).exp();
    let gap = if random.even() < 0.4 { random.between(0.1, 0.8) * dwell_s } else { -1.0 };
    while t <= dwell_s {
        let read = state[0]
            + noise_k * (memory.sqrt() * coloured + (1.0 - memory).sqrt() * random.normal())
            + ripple[0] * (TAU * t / ripple[1]).sin();
        coloured = fade * coloured + (1.0 - fade * fade).sqrt() * random.normal();
        let in_gap = gap > 0.0 && t > gap && t < gap + 0.12 * dwell_s;
        time_s.push(t);
        value.push(if in_gap || random.even() < 0.01 { f64::NAN } else { (read / step_k).round() * step_k });
        ambient.push(ambient_at(t) + 0.05 * random.normal());
        let parts = (every_s / (0.02 * fastest_s)).ceil().max(1.0) as usize;
        let dt = every_s / parts as f64;
        for _ in 0..parts {
            // Midpoint rule.
            let first = slopes(&chain, &state, power_w, ambient_at(t));
            let half: Vec<f64> = state.iter().zip(&first).map(|(s, k)| s + 0.5 * dt * k).collect();
            let second = slopes(&chain, &half, power_w, ambient_at(t + 0.5 * dt));
            state.iter_mut().zip(&second).for_each(|(s, k)| *s += dt * k);
            t += dt;
        }
    }
    Log { time_s, value, ambient, rise_k }
}

fn slopes(chain: &[(f64, f64)], state: &[f64], power_w: f64, ambient: f64) -> Vec<f64> {
    let mut flow_in = power_w;
    let mut all = Vec::new();
    for (i, (r, c)) in chain.iter().enumerate() {
        let next = state.get(i + 1).copied().unwrap_or(ambient);
        let flow_out = (state[i] - next) / r;
        all.push((flow_in - flow_out) / c);
        flow_in = flow_out;
    }
    all
}

/// The slowest time constant: how fast the chain forgets, once only that is left.
fn slowest(chain: &[(f64, f64)]) -> f64 {
    let mut state: Vec<f64> = vec![1.0; chain.len()];
    let dt = 0.02 * chain.iter().map(|(r, c)| r * c).fold(f64::INFINITY, f64::min);
    let whole: f64 = chain.iter().map(|(_, c)| c).sum::<f64>() * chain.iter().map(|(r, _)| r).sum::<f64>();
    let steps = (3.0 * whole / dt) as usize;
    let mut before = 0.0;
    for step in 0..steps {
        if step == steps / 2 {
            before = state[0];
        }
        let slope = slopes(chain, &state, 0.0, 0.0);
        state.iter_mut().zip(&slope).for_each(|(s, k)| *s += dt * k);
    }
    (steps - steps / 2) as f64 * dt / (before / state[0]).ln()
}

fn analysed(log: &Log) -> Settled {
    settle(&log.time_s, &log.value, Some(&log.ambient), &Wanted::default()).expect("a settled value")
}

/// Logs of which the interval holds the truth, the median of its half width over the rise, and how often settled was said.
fn covered(first_seed: u64, logs: u64, set: Set) -> (u64, f64, u64) {
    let (mut held, mut still, mut widths) = (0, 0, Vec::new());
    for seed in first_seed..first_seed + logs {
        let log = log(seed, set);
        let found = analysed(&log);
        let [low, high] = found.interval;
        held += u64::from((low..=high).contains(&log.rise_k));
        still += u64::from(found.is_settled());
        widths.push(0.5 * (high - low) / log.rise_k);
    }
    widths.sort_by(f64::total_cmp);
    (held, widths[widths.len() / 2], still)
}

const WHITE: Set = Set { dwell: [4.0, 8.0], drift_k: 0.0, memory: 0.0, cycling: false };
const COLOURED: Set = Set { memory: 1.0, ..WHITE };
const DRIFTING: Set = Set { dwell: [3.0, 8.0], drift_k: 2.0, memory: 1.0, cycling: false };
const CUT_OFF: Set = Set { dwell: [1.0, 2.5], drift_k: 0.5, memory: 1.0, cycling: false };
const CYCLING: Set = Set { dwell: [2.0, 6.0], drift_k: 1.0, memory: 0.7, cycling: true };

/// A 95 % interval holds the truth 95 times in 100: 92 to 98 % of all logs; in each set of 120 the share scatters by 2 %, so
/// three of that are allowed below 95 %. And the interval says something: it is a small part of the rise.
#[test]
fn the_interval_holds_the_truth_nineteen_times_in_twenty() {
    const LOGS: u64 = 120;
    let mut all = 0;
    let sets = [(WHITE, 0.01), (COLOURED, 0.01), (DRIFTING, 0.02), (CUT_OFF, 0.12), (CYCLING, 0.03)];
    for (i, (set, widest)) in sets.into_iter().enumerate() {
        let (held, width, _) = covered(5000 + 1000 * i as u64, LOGS, set);
        assert!(held as f64 >= 0.89 * LOGS as f64, "set {i}: {held} of {LOGS}");
        assert!(width < widest, "set {i}: the interval is +- {width} of the rise");
        all += held;
    }
    let share = all as f64 / (sets.len() as u64 * LOGS) as f64;
    assert!((0.92..=0.98).contains(&share), "{share}");
}

/// Source: the exact approach of one capacity and one resistance, `T (1 - exp(-t / tau))`, cut off after 1.2 time constants; with
/// noise of 1 mK the settled value is extrapolated from 70 % of the rise, and the time until 0.1 K is left is tau ln(30 / 0.1).
#[test]
fn a_cut_off_approach_is_extrapolated_to_the_exact_answer() {
    let mut random = Random::new(3);
    let (tau, rise) = (600.0, 30.0);
    let time_s: Vec<f64> = (0..145).map(|i| 5.0 * f64::from(i)).collect();
    let value: Vec<f64> =
        time_s.iter().map(|t| 25.0 + rise * (1.0 - (-t / tau).exp()) + 1e-3 * random.normal()).collect();
    let found = settle(&time_s, &value, None, &Wanted::default()).unwrap();
    assert!((found.value - 55.0).abs() < 0.05, "{found:?}");
    let [low, high] = found.interval;
    assert!(low < 55.0 && 55.0 < high && high - low < 0.3, "{found:?}");
    assert!(
        (found.time_constants_s[0] / tau - 1.0).abs() < 0.01 && found.time_constants_s.len() == 1,
        "{found:?}"
    );
    let exact_min = (tau * (rise / 0.1f64).ln() - 720.0) / 60.0;
    assert!(
        !found.is_settled() && (found.minutes_more - exact_min).abs() < 1.0,
        "{} {exact_min}",
        found.minutes_more
    );
    assert!((found.remaining_k - rise * (-1.2f64).exp()).abs() < 0.05);
    assert_eq!(found.ambient_drift_k, None);
}

#[test]
fn settled_is_said_where_it_is() {
    let (_, _, still) = covered(90, 30, Set { dwell: [9.0, 12.0], ..WHITE });
    assert_eq!(still, 30);
    let (_, _, still) = covered(90, 30, Set { dwell: [1.0, 1.5], ..WHITE });
    assert_eq!(still, 0);
}

#[test]
fn a_constant_and_hopeless_samples_harm_nothing() {
    let time_s: Vec<f64> = (0..40).map(f64::from).collect();
    let flat = settle(&time_s, &[31.5; 40], None, &Wanted { step_k: 0.1, ..Wanted::default() }).unwrap();
    assert!((flat.value - 31.5).abs() < 1e-3 && flat.is_settled() && flat.standard > 0.025, "{flat:?}");
    let mut random = Random::new(1);
    for scale in [1e-300, 1e-6, 1.0, 1e9, 1e200] {
        let wild: Vec<f64> = time_s.iter().map(|_| scale * random.normal()).collect();
        if let Ok(found) = settle(&time_s, &wild, Some(&wild), &Wanted::default()) {
            assert!(found.interval[0] <= found.value && found.value <= found.interval[1], "{found:?}");
        }
    }
    let uneven: Vec<f64> = time_s.iter().map(|t| t * t * t + 1e-6 * t).collect();
    assert!(settle(&uneven, &time_s, None, &Wanted::default()).is_ok());
}
