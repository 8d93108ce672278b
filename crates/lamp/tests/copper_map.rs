//! The pictures of current density and loss, against a trace whose current, width and thickness are known.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use lamp::as_built::Lamp;
use lamp::findings::Run;
use lamp::model::{CopperMap, GridChoice, Model};
use lamp::project::{MemoryFolder, read};

const COARSE: GridChoice = GridChoice { finest_pitch_m: Some(4e-4), cells_at_most: None };

/// The traces between the emitters of the strip, as drawn: width, mm, and thickness, mm.
const WIDTH_MM: f64 = 0.8;
const THICK_MM: f64 = 0.035;
/// The middle of the first trace, mm.
const MIDDLE_MM: [f64; 2] = [23.75, 10.0];

fn lamp_of(files: &[(&str, &[u8])]) -> Lamp {
    let reading =
        read(&MemoryFolder::new(files.iter().map(|(path, bytes)| ((*path).to_owned(), bytes.to_vec()))));
    assert!(!reading.has_errors(), "{:#?}", reading.remarks);
    reading.lamp.unwrap()
}

fn strip() -> Lamp {
    lamp_of(&[
        ("lamp.toml", include_bytes!("../../../examples/strip-of-three/lamp.toml")),
        ("artwork/copper-top.gbr", include_bytes!("../../../examples/strip-of-three/artwork/copper-top.gbr")),
        ("artwork/profile.gbr", include_bytes!("../../../examples/strip-of-three/artwork/profile.gbr")),
    ])
}

fn model_of(lamp: &Lamp) -> Model {
    Model::new(lamp, &lamp.variants[0], &COARSE, 1).unwrap()
}

fn run(model: &mut Model, current_a: f64) -> Run {
    model.run(current_a, 25.0, &AtomicBool::new(false)).unwrap()
}

/// The picture point that holds a place.
fn point(map: &CopperMap, [x, y]: [f64; 2]) -> usize {
    let along = |at: f64, from: f64| ((at - from) / map.pitch_mm).floor() as usize;
    along(y, map.y0_mm) * map.nx + along(x, map.x0_mm)
}

#[test]
fn a_trace_has_its_current_over_its_section() {
    let lamp = strip();
    let mut model = model_of(&lamp);
    assert_eq!(model.copper_map(0), None, "nothing has run");
    let current_a = 0.5;
    let findings = run(&mut model, current_a);
    let map = model.copper_map(0).unwrap();
    assert_eq!(map.density_a_per_mm2.len(), map.nx * map.ny);
    // J = I / (w t): the trace is some pixels wide and long enough that the flow is even in its middle.
    let wanted = current_a / (WIDTH_MM * THICK_MM);
    let (mut across_a, mut points) = (0.0, 0);
    let reach = (1.0 / map.pitch_mm).round() as i32;
    for step in -reach..reach {
        let y = MIDDLE_MM[1] + map.pitch_mm * (f64::from(step) + 0.5);
        let density = f64::from(map.density_a_per_mm2[point(&map, [MIDDLE_MM[0], y])]);
        if density.is_nan() {
            continue;
        }
        points += 1;
        across_a += density * map.pitch_mm * THICK_MM;
        assert!((density / wanted - 1.0).abs() < 1e-3, "{density} at y {y}, wanted {wanted}");
    }
    assert_eq!(points, (WIDTH_MM / map.pitch_mm).round() as usize, "as wide as drawn");
    assert!((across_a / current_a - 1.0).abs() < 1e-3, "{across_a} A");
    // Loss for its area: rho J² t, IEC 60028 at the copper's temperature.
    let middle = point(&map, MIDDLE_MM);
    let warm_c = model.temperature_c(MIDDLE_MM[0], MIDDLE_MM[1], 0).unwrap();
    let ohm_mm = 1e-3 / 58.0 * (1.0 + 0.00393 * (warm_c - 20.0));
    let w_per_cm2 = 100.0 * ohm_mm * wanted * wanted * THICK_MM;
    let found = f64::from(map.loss_w_per_cm2[middle]);
    // Temperatures of a cell and of the place in it are apart by some tenths of a kelvin.
    assert!((found / w_per_cm2 - 1.0).abs() < 2e-3, "{found}, wanted {w_per_cm2}");
    // And the trace is told as a neck with the same numbers, and the trace-width rule's beside it: I = 0.048 dT^0.44 A^0.725.
    let copper = findings.copper.unwrap();
    let neck = copper.necks.iter().find(|neck| (neck.at_mm[0] - MIDDLE_MM[0]).abs() < 3.2).unwrap();
    assert!((neck.width_mm - WIDTH_MM).abs() < 0.01 && (neck.density_a_per_mm2 / wanted - 1.0).abs() < 0.02);
    let mil2 = neck.ipc_2221_width_mm * THICK_MM / (0.0254 * 0.0254);
    assert!((0.048 * 20f64.powf(0.44) * mil2.powf(0.725) / neck.current_a - 1.0).abs() < 1e-9);
    assert!((neck.current_a / current_a - 1.0).abs() < 1e-6);
    let there_c = model.temperature_c(neck.at_mm[0], neck.at_mm[1], 0).unwrap();
    assert!((neck.temperature_c.unwrap() - there_c).abs() < 0.5, "{neck:?}: {there_c}");
    assert!((neck.rise_k.unwrap() - (neck.temperature_c.unwrap() - 25.0)).abs() < 1e-9);
    // Where no copper is, and where copper carries nothing, nothing is said.
    assert!(map.density_a_per_mm2[point(&map, [MIDDLE_MM[0], 14.0])].is_nan(), "beside the trace");
    assert!(map.density_a_per_mm2[point(&map, [12.0, 10.0])].is_nan(), "a thermal land");
}

#[test]
fn twice_the_current_is_twice_as_dense() {
    let lamp = strip();
    let mut model = model_of(&lamp);
    run(&mut model, 0.2);
    let once = model.copper_map(0).unwrap();
    run(&mut model, 0.4);
    let twice = model.copper_map(0).unwrap();
    let middle = point(&once, MIDDLE_MM);
    let ratio = |a: &[f32], b: &[f32]| f64::from(b[middle]) / f64::from(a[middle]);
    assert!((ratio(&once.density_a_per_mm2, &twice.density_a_per_mm2) - 2.0).abs() < 1e-5);
    // Four times, and more by as much as warmer copper resists more.
    let loss = ratio(&once.loss_w_per_cm2, &twice.loss_w_per_cm2);
    assert!((4.05..5.0).contains(&loss), "{loss}");
    // A current without a steady state has no picture.
    let findings = run(&mut model, 60.0);
    assert!(findings.copper.is_none() && model.copper_map(0).is_none());
}

#[test]
fn every_layer_that_carries_current_has_its_picture() {
    let lamp = lamp_of(&[
        ("lamp.toml", include_bytes!("../../../examples/pair-over-the-back/lamp.toml")),
        (
            "artwork/copper-top.gbr",
            include_bytes!("../../../examples/pair-over-the-back/artwork/copper-top.gbr"),
        ),
        (
            "artwork/copper-bottom.gbr",
            include_bytes!("../../../examples/pair-over-the-back/artwork/copper-bottom.gbr"),
        ),
        ("artwork/profile.gbr", include_bytes!("../../../examples/pair-over-the-back/artwork/profile.gbr")),
        (
            "artwork/drill-plated.xnc",
            include_bytes!("../../../examples/pair-over-the-back/artwork/drill-plated.xnc"),
        ),
    ]);
    let mut model = model_of(&lamp);
    let findings = run(&mut model, 0.7);
    assert_eq!(model.copper_layers().len(), 2);
    assert_eq!(model.copper_map(2), None);
    let back = model.copper_map(1).unwrap();
    assert_eq!(back.layer, model.copper_layers()[1]);
    // The trace on the back, 1.5 mm of 35 um, carries all of it.
    let density = f64::from(back.density_a_per_mm2[point(&back, [20.0, 12.0])]);
    assert!((density / (0.7 / (1.5 * THICK_MM)) - 1.0).abs() < 0.01, "{density}");
    // On the front there is no copper that carries current between the two pours.
    let front = model.copper_map(0).unwrap();
    assert!(front.density_a_per_mm2[point(&front, [20.0, 12.0])].is_nan());
    assert!(findings.copper.unwrap().barrels_w > 0.0);
}
