//! The reduced variant against the full model, on every example lamp.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

mod examples;

use std::sync::atomic::AtomicBool;

use examples::{each, model_and_run};
use lamp::as_built::LayerKind;
use lamp::findings::Run;
use lamp::reduced::ReducedState;
use lamp::sensitivity::Cause;
use lamp::uncertain::{Departs, Departures, Value};

static GO_ON: AtomicBool = AtomicBool::new(false);

/// Largest difference between reduced and full, K: junctions, solder points, sensors.
fn apart_k(reduced: &ReducedState, full: &Run) -> f64 {
    let emitters = full.emitters.iter().enumerate().flat_map(|(k, e)| {
        [e.junction_c.unwrap() - reduced.junction_c[k], e.solder_c.unwrap() - reduced.solder_c[k]]
    });
    let sensors = full.sensors.iter().zip(&reduced.sensor_c).filter_map(|(s, r)| Some(s.reading_c? - r));
    emitters.chain(sensors).fold(0.0f64, |m, d| m.max(d.abs()))
}

/// All values away from what lamp.toml says by two usual standard deviations or more, up or down by a pattern.
fn corner(pattern: u32) -> Departures {
    let mut departures = Departures::default();
    for (k, value) in Value::ALL.into_iter().enumerate().filter(|(_, v)| v.departs() == Departs::ByFactor) {
        let sign = if (pattern >> (k % 5)) & 1 == 1 { 1.0 } else { -1.0 };
        let by = match value {
            Value::BondLine => 0.5,
            Value::Cooling => 0.25,
            Value::SensorCoupling => 0.0,
            _ => 0.15,
        };
        departures.set(value, sign * by);
    }
    departures
}

/// How far the reduced variant may be from the full model, as a part of the hottest rise: the full model settles its faces to
/// a ten-thousandth of the heat, and departures of this size leave twice that in the field's shape.
const AS_MADE: f64 = 2e-4;
const DEPARTED: f64 = 2.5e-3;

#[test]
fn it_follows_the_full_model() {
    each(|lamp, variant| {
        let nominal_a = lamp.nominal_current_a;
        if lamp.variants[variant].emitters.is_empty() {
            return;
        }
        let (mut model, run) = model_and_run(lamp, variant, nominal_a);
        let reduced = model.reduce(&GO_ON).unwrap();
        let compare = |what: String, full: &Run, departures: &Departures, part: f64| {
            let rise_k = full.hottest_junction_c.unwrap() - full.ambient_c;
            let state = reduced.state(departures, full.current_a, full.ambient_c).unwrap();
            let apart_k = apart_k(&state, full);
            assert!(
                apart_k <= part * rise_k,
                "{} {}, {what}: {apart_k} K apart of {rise_k} K",
                lamp.name,
                lamp.variants[variant].name
            );
        };
        let none = Departures::default();
        compare("as made".to_owned(), &run, &none, AS_MADE);
        for part in [0.3, 1.3] {
            let run = model.run(part * nominal_a, lamp.ambient_c + 20.0, &GO_ON).unwrap();
            if run.hottest_junction_c.is_some() {
                compare(format!("at {part} of the current, 20 K warmer"), &run, &none, DEPARTED);
            }
        }
        for pattern in [0b00000, 0b11111, 0b01010, 0b10011, 0b11100] {
            let departures = corner(pattern);
            model.depart(&departures).unwrap();
            let run = model.run(nominal_a, lamp.ambient_c, &GO_ON).unwrap();
            if run.hottest_junction_c.is_some() {
                compare(format!("departed {pattern:05b}"), &run, &departures, DEPARTED);
            }
        }
        model.depart(&none).unwrap();
        let run = model.run(nominal_a, lamp.ambient_c, &GO_ON).unwrap();
        compare("come back".to_owned(), &run, &none, DEPARTED);
    });
}

/// Two ways to the same derivative: adjoint fields on the whole grid, and differences of the reduced variant.
#[test]
fn its_changes_are_those_of_the_adjoint_fields() {
    each(|lamp, variant| {
        let nominal_a = lamp.nominal_current_a;
        // Branches that share a current answer to heat by their currents too, which the adjoint leaves out.
        if lamp.variants[variant].emitters.is_empty() || lamp.name.starts_with("Two strings") {
            return;
        }
        let (mut model, run) = model_and_run(lamp, variant, nominal_a);
        let reduced = model.reduce(&GO_ON).unwrap();
        let sensitivities = model.sensitivities(&GO_ON).unwrap();
        let rise_k = run.hottest_junction_c.unwrap() - lamp.ambient_c;
        let hottest = (0..run.emitters.len())
            .max_by(|a, b| {
                run.emitters[*a].junction_c.unwrap().total_cmp(&run.emitters[*b].junction_c.unwrap())
            })
            .unwrap();
        let sum = |is: &dyn Fn(&Cause) -> bool| -> f64 {
            sensitivities.iter().filter(|s| is(&s.cause)).map(|s| s.junction_k[hottest]).sum()
        };
        let by = |value: Value| {
            let at = |x: f64| {
                let mut departures = Departures::default();
                departures.set(value, x);
                reduced.state(&departures, nominal_a, lamp.ambient_c).unwrap().junction_c[hottest]
            };
            (at(1e-3) - at(-1e-3)) / 2e-3
        };
        let back = lamp.variants[variant].heatsink.is_some();
        let cases: [(Value, f64); 4] = [
            (Value::HeatShare, sum(&|c| matches!(c, Cause::Power(_)))),
            (Value::BondLine, sum(&|c| matches!(c, Cause::Interface(name) if name == "bond line"))),
            (Value::Cooling, sum(&|c| matches!(c, Cause::Film(name) if !back || name.contains("back")))),
            (
                Value::CopperThickness,
                sum(&|c| matches!(c, Cause::Conductivity(name) if name.contains("copper"))),
            ),
        ];
        for (value, adjoint) in cases.into_iter().filter(|(v, _)| v.is_of(&lamp.variants[variant])) {
            let found = by(value);
            // More copper is also a longer way through it, where more conductivity is a shorter one.
            let part = if value == Value::CopperThickness { 1e-2 } else { 5e-3 };
            assert!(
                (found - adjoint).abs() <= part * rise_k,
                "{} {}, {}: {found} K reduced, {adjoint} K adjoint, of {rise_k} K",
                lamp.name,
                lamp.variants[variant].name,
                value.name()
            );
        }
    });
}

/// Copper a third thinner loses half as much again, at the temperature it then has (0.393 % more per kelvin, IEC 60028 at 20 degC).
#[test]
fn thinner_copper_loses_more() {
    let mut traced = 0;
    each(|lamp, variant| {
        let nominal_a = lamp.nominal_current_a;
        let (mut model, run) = model_and_run(lamp, variant, nominal_a);
        let Some(before) = run.copper.as_ref().filter(|copper| copper.loss_w > 0.0) else { return };
        traced += 1;
        let mut departures = Departures::default();
        departures.set(Value::CopperThickness, -(1.5f64.ln()));
        model.depart(&departures).unwrap();
        let thin = model.run(nominal_a, lamp.ambient_c, &GO_ON).unwrap();
        let after = thin.copper.as_ref().unwrap();
        let warmer_k = thin.hottest_board_c.unwrap() - run.hottest_board_c.unwrap();
        let ratio = after.loss_w / before.loss_w;
        // Thinner copper spreads less: it may be cooler where the current is, by less than its hottest place is warmer.
        assert!(
            (ratio / 1.5 - 1.0).abs() < 0.004 * warmer_k.abs() + 1e-3,
            "{} {}: {ratio}, {warmer_k} K warmer",
            lamp.name,
            run.variant
        );
    });
    assert!(traced >= 3);
}

/// The same in the reduced variant, where copper of a few micrometres makes the loss a good part of the heat.
#[test]
fn the_loss_in_thin_copper_follows_its_thickness() {
    let mut telling = 0;
    each(|lamp, variant| {
        let mut lamp = lamp.clone();
        let layers = lamp.variants[variant].layers.iter_mut();
        layers.filter(|l| l.kind == LayerKind::Copper).for_each(|l| l.thickness_m = 4e-6);
        let nominal_a = lamp.nominal_current_a;
        let (mut model, run) = model_and_run(&lamp, variant, nominal_a);
        let Some(before) = run.copper.as_ref().filter(|copper| copper.loss_w > 0.0) else { return };
        let reduced = model.reduce(&GO_ON).unwrap();
        let mut departures = Departures::default();
        departures.set(Value::CopperThickness, -0.3);
        model.depart(&departures).unwrap();
        let thin = model.run(nominal_a, lamp.ambient_c, &GO_ON).unwrap();
        let state = reduced.state(&departures, nominal_a, lamp.ambient_c).unwrap();
        let rise_k = thin.hottest_junction_c.unwrap() - thin.ambient_c;
        let part = apart_k(&state, &thin) / rise_k;
        assert!(part < DEPARTED, "{} {}: {part} of the rise apart", lamp.name, run.variant);
        // Copper loses heat away from the emitters: what more of it brings to a junction is some tenths of its part of all heat.
        let loss = (0.3f64.exp() - 1.0) * before.loss_w / run.heat_w;
        if loss > 2.0 * DEPARTED {
            assert!(part < 0.1 * loss, "{} {}: {part}, of the loss {loss}", lamp.name, run.variant);
            telling += 1;
        }
    });
    assert!(telling >= 2, "{telling}");
}
