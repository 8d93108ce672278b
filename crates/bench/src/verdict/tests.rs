//! Verdicts of a small sketch, against the full model, linear propagation and one another.

use std::sync::atomic::AtomicBool;

use lamp::model::{GridChoice, Model};
use lamp::reduced::ReducedLamp;

use super::*;
use crate::fit::gradient;
use crate::testing::lamp_of;

const LAMP: &str = r#"
[lamp]
ambient = "25 degC"
hottest = "45 degC"
facing = "up"
[drive]
currents = ["0.7 A", "1.4 A"]
nominal = "1.4 A"
[[sensor]]
at = ["15 mm", "4 mm"]
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1", "D2"]
at = [["9 mm", "10 mm"], ["21 mm", "11 mm"]]
[bond]
thickness = "80 um"
conductivity = "1.5 W/m/K"
[heatsink]
base = ["40 mm", "30 mm"]
base_thickness = "3 mm"
resistance = "6 K/W"
[faces]
top = "10 W/m2/K"
bottom = "10 W/m2/K"
[variant.laminate]
outline = ["30 mm", "20 mm"]
[variant.laminate.board]
kind = "fr4 two-layer"
thickness = "0.8 mm"
[variant.core]
outline = ["30 mm", "20 mm"]
[variant.core.board]
kind = "aluminium core"
dielectric_conductivity = "2 W/m/K"
"#;

const CHOICE: GridChoice = GridChoice { finest_pitch_m: Some(6e-4), cells_at_most: None };
static GO_ON: AtomicBool = AtomicBool::new(false);

fn asked(variant: usize, seed: u32) -> Asked {
    Asked { variant, hottest_c: 45.0, seed, threads: 2 }
}

#[test]
fn at_the_safe_current_the_full_model_meets_the_limit() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let found = verdict(&lamp, &reduced, &Posterior::prior(&reduced), asked(0, 1), &GO_ON).unwrap();
    let mut model = Model::new(&lamp, &lamp.variants[0], &CHOICE, 1).unwrap();
    let limit_c = lamp.variants[0].emitters[0].sheet.junction_limit_c;
    let limited: Vec<_> = found.safe_currents.iter().filter(|s| s.limited_by == "junction").collect();
    assert!(limited.len() > 3, "{:#?}", found.safe_currents);
    for safe in limited {
        let run = model.run(safe.current_a, safe.ambient_c, &GO_ON).unwrap();
        let hottest_c = run.hottest_junction_c.unwrap();
        // What the reduced variant may be off by: a quarter of a percent of the rise.
        let within_k = 2.5e-3 * (limit_c - safe.ambient_c) + 0.02;
        assert!((hottest_c - limit_c).abs() < within_k, "{safe:?}: {hottest_c}");
        assert!(safe.low_a < safe.current_a && safe.current_a < safe.high_a, "{safe:?}");
    }
    let falls = found.safe_currents.windows(2).all(|pair| pair[1].current_a <= pair[0].current_a);
    assert!(falls, "{:#?}", found.safe_currents);
}

/// Two ways to the same band: 256 drawn lamps, and the gradient of the likeliest one with the spreads. The quantiles of so many draws
/// scatter by a tenth of the half width; what is not linear adds some percent.
#[test]
fn the_band_of_draws_is_that_of_linear_propagation() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let mut quiet = lamp.clone();
    // Without the emitters' own spread, which the gradient does not hold.
    for emitter in quiet.variants.iter_mut().flat_map(|v| &mut v.emitters) {
        emitter.sheet.forward_v_tolerance_v = 0.0;
    }
    let prior = Posterior::prior(&reduced);
    for variant in 0..2 {
        let found = verdict(&quiet, &reduced, &prior, asked(variant, 7), &GO_ON).unwrap();
        let weakest = found.weakest.unwrap();
        let limits = Limits::of(&quiet, &quiet.variants[variant]);
        let margin = |x: &[f64]| {
            let built = Built {
                reduced: &reduced,
                variant,
                limits: &limits,
                departures: x,
                spread_k_per_a: &[],
                grid_part: 0.0,
            };
            Some(-built.excess_k(1.4, 45.0).0)
        };
        let slope = gradient(&reduced, &prior.departures, &mut |x| margin(x)).unwrap();
        let rise_k = lamp.variants[variant].emitters[0].sheet.junction_limit_c - weakest.margin_k - 45.0;
        let half_k = 1.96 * prior.standard_of(&slope).hypot(grid_error_k(&reduced, variant, rise_k));
        let drawn_k = 0.5 * (weakest.high_k - weakest.low_k);
        assert!((drawn_k / half_k - 1.0).abs() < 0.15, "{drawn_k} drawn, {half_k} propagated");
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_and_another_nearly_the_same() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let prior = Posterior::prior(&reduced);
    let of = |seed| verdict(&lamp, &reduced, &prior, asked(1, seed), &GO_ON).unwrap();
    let (one, again, other) = (of(3), of(3), of(4));
    assert_eq!(one, again);
    assert_ne!(one, other);
    let throttle = |v: &VerdictFindings| v.throttle.clone().unwrap().reading_c;
    let width_k = one.throttle.as_ref().map(|t| t.high_c - t.reading_c).unwrap();
    assert!(
        (throttle(&one) - throttle(&other)).abs() < 0.15 * width_k,
        "{} {}",
        throttle(&one),
        throttle(&other)
    );
}

/// With the limit where the likeliest lamp stands, half of the lamps pass, but for the bend of what is not linear.
#[test]
fn half_of_the_lamps_pass_at_the_likeliest_ones_limit() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let prior = Posterior::prior(&reduced);
    let state = reduced.state(1, &prior.departures, 1.4, 45.0).unwrap();
    let mut held = lamp.clone();
    for (emitter, c) in held.variants[1].emitters.iter_mut().zip(&state.junction_c) {
        emitter.sheet.junction_limit_c = *c;
        emitter.sheet.forward_v_tolerance_v = 0.0;
        emitter.sheet.solder_limit_c = None;
    }
    let found = verdict(&held, &reduced, &prior, asked(1, 1), &GO_ON).unwrap();
    let chance = found.chance.unwrap();
    assert!((0.42..=0.58).contains(&chance.part), "{chance:?}");
    // 20 K more, several deviations, and nearly all pass; 20 K less, and nearly none.
    for (more_k, least, most) in [(20.0, 0.97, 1.0), (-20.0, 0.0, 0.03)] {
        let mut moved = held.clone();
        moved.variants[1].emitters.iter_mut().for_each(|e| e.sheet.junction_limit_c += more_k);
        let part = verdict(&moved, &reduced, &prior, asked(1, 1), &GO_ON).unwrap().chance.unwrap().part;
        assert!((least..=most).contains(&part), "{more_k}: {part}");
    }
}

/// At the throttle reading of the likeliest lamp its hottest junction is at the limit, in the full model too.
#[test]
fn the_throttle_reading_is_where_a_junction_meets_its_limit() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let found = verdict(&lamp, &reduced, &Posterior::prior(&reduced), asked(1, 1), &GO_ON).unwrap();
    let throttle = found.throttle.unwrap();
    assert!(
        throttle.reading_c < throttle.likeliest_c && throttle.likeliest_c < throttle.high_c,
        "{throttle:?}"
    );
    let limits = Limits::of(&lamp, &lamp.variants[1]);
    let none = vec![0.0; reduced.uncertain.len()];
    let built = Built {
        reduced: &reduced,
        variant: 1,
        limits: &limits,
        departures: &none,
        spread_k_per_a: &[],
        grid_part: 0.0,
    };
    let room_c = built.room_at_junction_limit(1.4).unwrap();
    let mut model = Model::new(&lamp, &lamp.variants[1], &CHOICE, 1).unwrap();
    let run = model.run(1.4, room_c, &GO_ON).unwrap();
    let limit_c = lamp.variants[1].emitters[0].sheet.junction_limit_c;
    assert!(
        (run.hottest_junction_c.unwrap() - limit_c).abs() < 0.3,
        "{:?} in {room_c}",
        run.hottest_junction_c
    );
    assert!((run.sensors[0].reading_c.unwrap() - throttle.likeliest_c).abs() < 0.3);
}

#[test]
fn cancelled_and_unanswerable_verdicts_say_so() {
    let lamp = lamp_of(LAMP);
    let reduced = ReducedLamp::new(&lamp, (&CHOICE, 2), &mut |_| {}, &GO_ON).unwrap();
    let prior = Posterior::prior(&reduced);
    let stop = AtomicBool::new(true);
    assert_eq!(verdict(&lamp, &reduced, &prior, asked(0, 1), &stop), Err(NoVerdict::Cancelled));
    assert!(matches!(verdict(&lamp, &reduced, &prior, asked(9, 1), &GO_ON), Err(NoVerdict::Problem(_))));
}
