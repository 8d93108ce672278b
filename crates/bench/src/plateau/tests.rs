//! Plateaus of made-up staircases.

use super::repeats::together;
use super::spans::{Least, by_current, by_steps, by_temperature};
use super::{Ambient, plateaus};
use crate::approach::testing::Random;
use crate::approach::{CannotSettle, Wanted};

struct Staircase {
    time_s: Vec<f64>,
    current_a: Vec<f64>,
    temperature_c: Vec<f64>,
    ambient_c: Vec<f64>,
    /// Times at which the current was set, and what to.
    steps: Vec<(f64, f64)>,
}

/// Two heat capacities in a chain under a staircase of currents, logged every 4 s, with noise and a fan that cycles.
fn staircase(seed: u64, currents_a: &[f64], ripple_k: f64) -> Staircase {
    let mut random = Random::new(seed);
    let mut all = Staircase {
        time_s: vec![],
        current_a: vec![],
        temperature_c: vec![],
        ambient_c: vec![],
        steps: vec![],
    };
    let (mut board, mut sink, mut t) = (23.0, 23.0, 0.0);
    let [board_tau, sink_tau] = [random.log_between(15.0, 40.0), random.log_between(200.0, 400.0)];
    for &current in currents_a {
        all.steps.push((t, current));
        let end = t + sink_tau * random.between(3.0, 5.0);
        while t < end {
            let ambient = 23.0 + 0.5 * (t / 4000.0).sin();
            all.time_s.push(t);
            all.current_a.push(current + 0.002 * random.normal());
            let ripple = ripple_k * (std::f64::consts::TAU * t / 47.0).sin();
            let missing = random.even() < 0.01;
            all.temperature_c.push(if missing { f64::NAN } else { board + 0.1 * random.normal() + ripple });
            all.ambient_c.push(ambient + 0.05 * random.normal());
            // 30 W/A; 0.4 K/W board to sink, 0.9 K/W sink to room.
            for _ in 0..40 {
                let flow = (board - sink) / 0.4;
                board += 0.1 * (30.0 * current - flow) * 0.4 / board_tau;
                sink += 0.1 * (flow - (sink - ambient) / 0.9) * 0.9 / sink_tau;
            }
            t += 4.0;
        }
    }
    all
}

const CURRENTS: [f64; 5] = [0.0, 0.35, 0.7, 1.05, 0.7];

#[test]
fn plateaus_are_found_by_the_current() {
    for seed in 0..20 {
        let mut log = staircase(seed, &CURRENTS, 0.2);
        // A single wild reading, and a missing stretch.
        log.current_a[100] = 5.0;
        log.current_a[200..230].fill(f64::NAN);
        let found = by_current(&log.time_s, &log.current_a, &Least::default());
        assert_eq!(found.len(), CURRENTS.len(), "{seed}: {found:?}");
        for (span, (begin, current)) in found.iter().zip(&log.steps) {
            assert!((span.current_a.unwrap() - current).abs() < 0.02, "{seed}: {span:?}");
            // Gaps may hide the step's own sample.
            assert!((span.begin_s - begin).abs() < 125.0, "{seed}: {span:?} {begin}");
        }
    }
}

#[test]
fn ramps_are_no_plateaus() {
    let time_s: Vec<f64> = (0..600).map(f64::from).collect();
    let ramp: Vec<f64> = time_s.iter().map(|t| (t / 200.0).clamp(0.0, 2.0)).collect();
    let found = by_current(&time_s, &ramp, &Least { dwell_s: 60.0, ..Least::default() });
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].begin_s >= 395.0 && (found[0].current_a.unwrap() - 2.0).abs() < 0.01, "{found:?}");
}

#[test]
fn plateaus_are_found_by_a_list_of_steps() {
    let log = staircase(3, &CURRENTS, 0.0);
    let found = by_steps(&log.time_s, &log.steps, &Least::default());
    assert_eq!(found.len(), CURRENTS.len());
    for (span, (begin, current)) in found.iter().zip(&log.steps) {
        assert!(span.begin_s >= *begin && span.begin_s - begin < 4.0 && span.current_a == Some(*current));
    }
    assert!(by_steps(&log.time_s, &[(1e9, 1.0), (f64::NAN, 2.0)], &Least::default()).is_empty());
}

/// A fan that cycles by half a kelvin makes no steps and hides none.
#[test]
fn plateaus_are_found_in_the_temperature_alone() {
    for seed in 0..25 {
        let log = staircase(seed, &CURRENTS, 0.5 * f64::from((seed % 2) as u32));
        let found = by_temperature(&log.time_s, &log.temperature_c, &Least::default());
        let begins: Vec<f64> = found.iter().map(|span| span.begin_s).collect();
        assert_eq!(found.len(), CURRENTS.len(), "{seed}: {begins:?} {:?}", log.steps);
        for (span, (begin, _)) in found.iter().zip(&log.steps) {
            assert!((span.begin_s - begin).abs() <= span.begin_doubt_s + 30.0, "{seed}: {span:?} {begin}");
        }
    }
}

/// Seeds beyond those by which the thresholds were chosen: how often all plateaus of a staircase are found, none too many, each where it begins;
/// and how often one approach stays one.
#[test]
fn fresh_staircases_are_found_in_the_temperature_alone() {
    let (mut right, mut whole) = (0, 0);
    let mut wrong = Vec::new();
    for seed in 5000..5100u64 {
        let ripple_k = 0.5 * f64::from((seed % 2) as u32);
        let log = staircase(seed, &CURRENTS, ripple_k);
        let found = by_temperature(&log.time_s, &log.temperature_c, &Least::default());
        let placed = found
            .iter()
            .zip(&log.steps)
            .all(|(span, (begin, _))| (span.begin_s - begin).abs() <= span.begin_doubt_s + 30.0);
        if found.len() == CURRENTS.len() && placed {
            right += 1;
        } else {
            wrong.push((seed, found.iter().map(|span| span.begin_s.round()).collect::<Vec<_>>(), log.steps));
        }
        let log = staircase(seed + 1000, &[0.8], ripple_k);
        let found = by_temperature(&log.time_s, &log.temperature_c, &Least::default());
        whole += usize::from(found.len() == 1);
    }
    assert!(right >= 97 && whole >= 97, "{right} and {whole} of 100: {wrong:#?}");
}

#[test]
fn one_approach_is_not_split() {
    for seed in 0..25 {
        let log = staircase(100 + seed, &[0.8], 0.5);
        assert_eq!(by_temperature(&log.time_s, &log.temperature_c, &Least::default()).len(), 1, "{seed}");
    }
    assert!(by_temperature(&[], &[], &Least::default()).is_empty());
    assert_eq!(by_temperature(&[0.0, 500.0], &[1.0, f64::NAN], &Least::default()).len(), 1);
}

/// Source: Ohm's law of heat: 30 W/A times 1.3 K/W is 39 K/A; the sampled staircase never gets nearer than its noise.
#[test]
fn a_staircase_settles_to_ohms_law() {
    let mut held = 0;
    let mut asked = 0;
    for seed in 40..52 {
        let log = staircase(seed, &CURRENTS, 0.1);
        let spans = by_current(&log.time_s, &log.current_a, &Least::default());
        let ambient = Ambient::Logged(&log.ambient_c);
        for found in plateaus(&log.time_s, &log.temperature_c, ambient, &spans, &Wanted::default()) {
            let truth = 39.0 * found.span.current_a.unwrap();
            let [low, high] = found.interval_k().unwrap();
            asked += 1;
            // The mean of the noisy current column is itself off by some tenths of a milliampere: 0.01 K.
            held += usize::from(low - 0.01 <= truth && truth <= high + 0.01);
            assert!((found.rise.as_ref().unwrap().value - truth).abs() < 1.0, "{seed} {truth}: {found:?}");
        }
    }
    // 60 plateaus: 57 +- 1.7 are expected.
    assert!(asked == 60 && held >= 52, "{held} of {asked}");
}

#[test]
fn a_room_that_was_not_logged_is_told_and_widens_the_interval() {
    let log = staircase(7, &[0.7], 0.0);
    let spans = by_current(&log.time_s, &log.current_a, &Least::default());
    let stated = Ambient::Stated { celsius: 23.0, within_k: 2.0 };
    let found = &plateaus(&log.time_s, &log.temperature_c, stated, &spans, &Wanted::default())[0];
    assert!(found.remarks[0].contains("no ambient was logged"), "{:?}", found.remarks);
    let [low, high] = found.interval_k().unwrap();
    assert!(high - low > 2.0 * 1.96 * 2.0 / 3f64.sqrt() && low < 27.3 && 27.3 < high, "{low} {high}");
    let nothing = vec![f64::NAN; log.time_s.len()];
    let found =
        &plateaus(&log.time_s, &log.temperature_c, Ambient::Logged(&nothing), &spans, &Wanted::default())[0];
    assert_eq!(found.rise, Err(CannotSettle::NoAmbient));
}

#[test]
fn an_approach_cut_off_is_told_with_the_minutes_it_needs() {
    let mut log = staircase(9, &[0.7], 0.0);
    let keep = log.time_s.len() / 4;
    log.time_s.truncate(keep);
    log.temperature_c.truncate(keep);
    log.ambient_c.truncate(keep);
    let spans = by_steps(&log.time_s, &[(0.0, 0.7)], &Least::default());
    let found = &plateaus(
        &log.time_s,
        &log.temperature_c,
        Ambient::Logged(&log.ambient_c),
        &spans,
        &Wanted::default(),
    )[0];
    assert!(
        found.remarks[0].contains("not settled") && found.remarks[0].contains("more minutes"),
        "{:?}",
        found.remarks
    );
}

/// Sources: inverse-variance mean by hand; scatter by hand after DerSimonian and Laird: values 10 and 12, both +- 0.1, have
/// Q = 200, so the variance between is (200 - 1) / (200 - 100) = 1.99 and that of the mean (0.01 + 1.99) / 2 = 1.
#[test]
fn repeats_are_taken_together() {
    let agreeing = together(&[(10.0, 0.3), (10.1, 0.4)]).unwrap();
    let by_hand = (10.0 / 0.09 + 10.1 / 0.16) / (1.0 / 0.09 + 1.0 / 0.16);
    assert!((agreeing.value - by_hand).abs() < 1e-12 && agreeing.between == 0.0, "{agreeing:?}");
    assert!((agreeing.standard - (1.0f64 / (1.0 / 0.09 + 1.0 / 0.16)).sqrt()).abs() < 1e-12);
    let apart = together(&[(10.0, 0.1), (12.0, 0.1)]).unwrap();
    assert!((apart.value - 11.0).abs() < 1e-12 && (apart.between - 1.99f64.sqrt()).abs() < 1e-9, "{apart:?}");
    assert!((apart.standard - 1.0).abs() < 1e-9);
    // Two repeats tell their scatter with one degree of freedom: Student's factor is nearly 12.7.
    assert!(apart.half_95 > 12.0 && apart.half_95 < 12.71, "{apart:?}");
    assert_eq!(together(&[]), None);
    assert_eq!(together(&[(1.0, 0.0)]), None);
    assert_eq!(together(&[(5.0, 0.2)]).unwrap().value, 5.0);
}
