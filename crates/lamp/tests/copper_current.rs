//! Current in copper against closed forms, standards and identities.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::path::Path;

use artwork::shape::{Area, Bounds, Filling, Point};
use lamp::copper_current::copper::{
    ANNEALED_20C_OHM_M, Conductor, TraceKind, annealed_ohm_m, awg_mm2, trace_rise_k, trace_width_mm,
};
use lamp::copper_current::sheet::{
    Barrel, Contact, ContactKind, CopperLayer, SheetError, SheetOptions, SheetProblem, SheetSolution,
    Temperature, TemperatureMap, solve,
};
use serde_json::Value;

const THICKNESS_M: f64 = 35e-6;

fn record(id: &str) -> Value {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/copper_current.json");
    let text = std::fs::read_to_string(path).expect("checks/copper_current.json is there");
    let all: Value = serde_json::from_str(&text).expect("JSON");
    let records = all["records"].as_array().expect("records");
    records.iter().find(|r| r["id"] == id).unwrap_or_else(|| panic!("no record {id}")).clone()
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(all) => all.iter().flat_map(numbers).collect(),
        other => vec![other.as_f64().expect("a number")],
    }
}

fn input(record: &Value, name: &str) -> f64 {
    record["inputs"][name].as_f64().expect("an input")
}

#[track_caller]
fn assert_near(found: f64, expected: f64, relative: f64) {
    assert!(
        (found / expected - 1.0).abs() <= relative,
        "{found} against {expected}: off by {:.2e}, allowed {relative:.0e}",
        found / expected - 1.0
    );
}

fn at_mm(x: f64, y: f64) -> Point {
    Point::rounded(x * 1e6, y * 1e6)
}

fn box_mm(x0: f64, y0: f64, x1: f64, y1: f64) -> Area {
    Area::rectangle(Bounds { min: at_mm(x0, y0), max: at_mm(x1, y1) })
}

fn polygon_mm(corners: &[(f64, f64)]) -> Area {
    Area::from_contours(&[corners.iter().map(|&(x, y)| at_mm(x, y)).collect()], Filling::NonZero)
}

fn layer(copper: Area, depth_m: f64) -> CopperLayer {
    CopperLayer {
        name: format!("layer at {depth_m} m"),
        copper,
        thickness_m: THICKNESS_M,
        depth_m,
        temperature: Temperature::Uniform(20.0),
    }
}

fn contact(name: &str, area: Area, kind: ContactKind) -> Contact {
    Contact { name: name.to_owned(), layer: 0, area, kind }
}

fn one_layer(copper: Area, contacts: Vec<Contact>) -> SheetProblem {
    SheetProblem { layers: vec![layer(copper, 0.0)], barrels: Vec::new(), contacts }
}

fn options(pitch_mm: f64) -> SheetOptions<'static> {
    SheetOptions { pitch_m: pitch_mm * 1e-3, ..SheetOptions::default() }
}

/// Resistance between two contacts of 1 A, in squares of a sheet at 20 °C.
fn squares(problem: &SheetProblem, pitch_mm: f64) -> f64 {
    let solution = solve(problem, &options(pitch_mm)).unwrap();
    check_identities(&solution);
    let over = solution.contacts[0].voltage_v - solution.contacts[1].voltage_v;
    over / solution.contacts[0].current_a / (ANNEALED_20C_OHM_M / THICKNESS_M)
}

/// Current in is current out; loss is current times voltage, pixel by pixel.
fn check_identities(solution: &SheetSolution) {
    for group in &solution.groups {
        assert_near(group.out_a, group.in_a, 1e-6);
        assert_near(group.loss_w, group.input_w, 1e-5);
    }
    let pixels: f64 = solution.islands.iter().flat_map(|i| &i.pixel_loss_w).sum();
    let walls: f64 = solution.barrels.iter().map(|b| b.loss_w).sum();
    assert_near(pixels + walls, solution.loss_w, 1e-9);
}

const IN: ContactKind = ContactKind::Land { current_a: 1.0 };
const OUT: ContactKind = ContactKind::Land { current_a: -1.0 };

/// A strip with lands of half a millimetre at its ends, turned about the origin.
fn strip(length_mm: f64, width_mm: f64, degrees: f64) -> SheetProblem {
    let turned = |area: Area| area.turned(at_mm(0.0, 0.0), degrees);
    one_layer(
        turned(box_mm(-0.5, 0.0, length_mm + 0.5, width_mm)),
        vec![
            contact("in", turned(box_mm(-0.5, 0.0, 0.0, width_mm)), IN),
            contact("out", turned(box_mm(length_mm, 0.0, length_mm + 0.5, width_mm)), ContactKind::Held),
        ],
    )
}

#[test]
fn a_strip_has_its_squares_and_resistance() {
    let r = record("D-strip-2");
    let expected = numbers(&r["value"]);
    let (length_mm, width_mm) = (1e3 * input(&r, "L"), 1e3 * input(&r, "w"));
    // The land is a hundred times as good as the copper: what it lacks of an ideal contact is below a thousandth of a
    // square. The edges, 13 um off the grid, cost nothing.
    let mut problem = strip(length_mm, width_mm, 0.0);
    assert_near(squares(&problem, 0.05), expected[0], 5e-5);
    problem.layers[0].copper = problem.layers[0].copper.shifted(0, 13_000);
    for contact in &mut problem.contacts {
        contact.area = contact.area.shifted(0, 13_000);
    }
    assert_near(squares(&problem, 0.05), expected[0], 5e-5);
    let solution = solve(&problem, &options(0.05)).unwrap();
    assert_near(solution.contacts[0].voltage_v, expected[2], 5e-5);
    // Turned, where its contacts end is known to half a pixel, 0.025 mm of 40 mm at each end.
    for degrees in [10.0, 30.0, 45.0] {
        assert_near(squares(&strip(length_mm, width_mm, degrees), 0.05), expected[0], 1.2e-3);
    }
}

#[test]
fn a_warm_run_has_its_drop_loss_and_density() {
    let r = record("D-joule-3");
    let expected = numbers(&r["value"]);
    let (length_mm, width_mm) = (1e3 * input(&r, "L"), 1e3 * input(&r, "w"));
    for (celsius, expected) in [25.0, 85.0].into_iter().zip(expected.chunks(4)) {
        let mut problem = strip(length_mm, width_mm, 0.0);
        problem.layers[0].temperature = Temperature::Uniform(celsius);
        problem.layers[0].thickness_m = input(&r, "t");
        problem.contacts[0].kind = ContactKind::Land { current_a: input(&r, "I") };
        let solution = solve(&problem, &options(0.1)).unwrap();
        check_identities(&solution);
        assert_near(solution.contacts[0].voltage_v / input(&r, "I"), expected[0], 1e-4);
        assert_near(solution.contacts[0].voltage_v, expected[1], 1e-4);
        assert_near(solution.loss_w, expected[2], 1e-4);
        let island = &solution.islands[0];
        let middle = island.pixel_at(at_mm(0.5 * length_mm, 0.5 * width_mm)).unwrap();
        assert_near(island.density_a_per_mm2(middle) * 1e6, expected[3], 1e-4);
    }
}

#[test]
fn resistivity_follows_a_temperature_map() {
    // Linear in x from 20 to 120 degC over the 20 mm between the lands: the mean resistivity is that at 70 degC.
    let mut problem = strip(20.0, 2.0, 0.0);
    let map = TemperatureMap::new(vec![0.0, 20.0], vec![0.0, 1.0, 2.0], [20.0, 120.0].repeat(3)).unwrap();
    problem.layers[0].temperature = Temperature::Map(map);
    assert_near(squares(&problem, 0.1), 10.0 * (1.0 + 0.00393 * 50.0), 2e-4);
}

/// Squares of a right angle's corner: two arms of six widths each, between held and land ends.
fn corner(pitch_mm: f64) -> f64 {
    let copper = polygon_mm(&[(-0.5, 0.0), (7.0, 0.0), (7.0, 7.5), (6.0, 7.5), (6.0, 1.0), (-0.5, 1.0)]);
    let contacts = vec![
        contact("in", box_mm(-0.5, 0.0, 0.0, 1.0), IN),
        contact("out", box_mm(6.0, 7.0, 7.0, 7.5), ContactKind::Held),
    ];
    squares(&one_layer(copper, contacts), pitch_mm) - 12.0
}

#[test]
fn a_right_angle_counts_half_a_square_and_a_bit() {
    let exact = record("D-corner")["value"].as_f64().unwrap();
    // The inner corner converges with the power 4/3 of the pitch; 1/20 of the width is met to 1 % of the corner square.
    let errors: Vec<f64> = [0.2, 0.1, 0.05].map(|pitch| (corner(pitch) - exact).abs()).to_vec();
    assert!(errors[2] < 0.01, "{errors:?}");
    assert!(errors[1] < 0.6 * errors[0] && errors[2] < 0.6 * errors[1], "does not converge: {errors:?}");
}

#[test]
fn a_run_with_a_corner_has_its_resistance() {
    let r = record("D-run-corner-2.5");
    let expected = numbers(&r["value"]);
    let w = 1e3 * input(&r, "w");
    let arms = numbers(&r["inputs"]["arms"]);
    let (a, b) = (1e3 * arms[0], 1e3 * arms[1]);
    let copper =
        polygon_mm(&[(-0.5, 0.0), (a + w, 0.0), (a + w, w + b + 0.5), (a, w + b + 0.5), (a, w), (-0.5, w)]);
    let contacts = vec![
        contact("in", box_mm(-0.5, 0.0, 0.0, w), IN),
        contact("out", box_mm(a, w + b, a + w, w + b + 0.5), ContactKind::Held),
    ];
    let problem = one_layer(copper, contacts);
    assert_near(squares(&problem, 0.05), expected[0], 3e-4);
    let solution = solve(&problem, &options(0.05)).unwrap();
    assert_near(solution.contacts[0].voltage_v, expected[1], 3e-4);
}

#[test]
fn a_step_in_width_has_its_excess() {
    let r = record("D-step-0.5");
    let exact = r["value"].as_f64().unwrap();
    // One-sided: 1 mm wide, then 2 mm; arms of 6 and 12 mm.
    let copper = polygon_mm(&[(-0.5, 0.0), (18.5, 0.0), (18.5, 2.0), (6.0, 2.0), (6.0, 1.0), (-0.5, 1.0)]);
    let contacts = vec![
        contact("in", box_mm(-0.5, 0.0, 0.0, 1.0), IN),
        contact("out", box_mm(18.0, 0.0, 18.5, 2.0), ContactKind::Held),
    ];
    let excess = squares(&one_layer(copper, contacts), 0.05) - 6.0 - 6.0;
    assert!((excess - exact).abs() < 0.01, "{excess} against {exact} squares");
}

#[test]
fn a_dumbbell_is_neck_pads_and_steps() {
    let exact = record("D-dumbbell-1")["value"].as_f64().unwrap();
    let copper =
        box_mm(-0.5, 0.0, 5.0, 5.0).union(&box_mm(5.0, 2.0, 13.0, 3.0)).union(&box_mm(13.0, 0.0, 18.5, 5.0));
    let contacts = vec![
        contact("in", box_mm(-0.5, 0.0, 0.0, 5.0), IN),
        contact("out", box_mm(18.0, 0.0, 18.5, 5.0), ContactKind::Held),
    ];
    let problem = one_layer(copper, contacts);
    // Four inner corners at 1/20 of the neck's width.
    assert_near(squares(&problem, 0.05), exact, 1e-3);
    let solution = solve(&problem, &options(0.05)).unwrap();
    let necks = lamp::copper_current::necks::find(&problem, &solution, &Default::default());
    let neck = necks[0];
    assert_near(neck.width_mm, 1.0, 0.01);
    assert_near(neck.current_a, 1.0, 0.01);
    assert_near(neck.density_a_per_mm2, 1.0 / 0.035, 0.02);
    assert_near(neck.length_mm, 8.0, 0.1);
    assert!((5.0..13.0).contains(&neck.position_mm[0]), "{neck:?}");
    assert!((neck.position_mm[1] - 2.5).abs() < 0.05, "{neck:?}");
    assert_near(neck.ipc_2221_rise_k.value, trace_rise_k(TraceKind::External, 1.0, 1.0, 35.0).value, 0.05);
    // The pads are five times as wide and no neck; beside the neck nothing stands within 5 mm.
    assert_eq!(necks.len(), 1, "{necks:?}");
    assert_near(neck.free_width_mm, 2.0 * 4.7, 0.02);
    let outline = box_mm(-1.0, 0.0, 19.0, 5.0);
    let inside = lamp::copper_current::necks::NeckOptions { outline: Some(&outline), ..Default::default() };
    let neck = lamp::copper_current::necks::find(&problem, &solution, &inside)[0];
    // Two millimetres to the board's edge at each side, less 0.3.
    assert_near(neck.free_width_mm, 3.4, 0.05);
    assert_near(neck.widening_saves_w, neck.loss_w * 3.4 / 4.4, 0.05);
}

#[test]
fn two_necks_are_told_apart_and_ordered() {
    // 0.5 mm wide from 4 to 8 mm, 1 mm wide from 12 to 16 mm, 4 mm wide elsewhere.
    let copper = box_mm(-0.5, 0.0, 4.0, 4.0)
        .union(&box_mm(4.0, 1.75, 8.0, 2.25))
        .union(&box_mm(8.0, 0.0, 12.0, 4.0))
        .union(&box_mm(12.0, 1.5, 16.0, 2.5))
        .union(&box_mm(16.0, 0.0, 20.5, 4.0));
    let contacts = vec![
        contact("in", box_mm(-0.5, 0.0, 0.0, 4.0), IN),
        contact("out", box_mm(20.0, 0.0, 20.5, 4.0), ContactKind::Held),
    ];
    let problem = one_layer(copper, contacts);
    let solution = solve(&problem, &options(0.05)).unwrap();
    let necks = lamp::copper_current::necks::find(&problem, &solution, &Default::default());
    assert_eq!(necks.len(), 2, "{necks:?}");
    assert_near(necks[0].width_mm, 0.5, 0.02);
    assert_near(necks[1].width_mm, 1.0, 0.02);
    assert!((4.0..8.0).contains(&necks[0].position_mm[0]) && (12.0..16.0).contains(&necks[1].position_mm[0]));
}

#[test]
fn two_round_contacts_on_a_large_sheet() {
    let r = record("D-contacts-20");
    let exact = r["value"].as_f64().unwrap();
    let (d, a) = (1e3 * input(&r, "d"), 1e3 * input(&r, "a"));
    // A disc of radius R stands for the infinite sheet; its edge adds what the contacts' images in it add, below 1 %.
    let radius = 10.0 * 0.5 * d;
    let copper = Area::disc(at_mm(0.0, 0.0), 2e6 * radius);
    let round = |x: f64| Area::disc(at_mm(x, 0.0), 2e6 * a);
    let contacts =
        vec![contact("in", round(-0.5 * d), IN), contact("out", round(0.5 * d), ContactKind::Held)];
    let images = {
        // Line sources at +-d/2 with images at R^2/(d/2): potential difference by superposition, exact for small contacts.
        let (h, image) = (0.5 * d, radius * radius / (0.5 * d));
        ((image + h) / (image - h)).ln() / std::f64::consts::PI
    };
    let found = squares(&one_layer(copper, contacts), 0.1);
    // Pixels of a tenth of the contact's radius know it to a few percent of a pixel; the land's own resistance is a hundredth.
    assert_near(found, exact + images, 0.006);
}

#[test]
fn even_injection_on_a_finite_sheet() {
    let r = record("D-sheet-pads-50");
    let exact = r["value"].as_f64().unwrap();
    let pad = |name: &str| {
        let centre = numbers(&r["inputs"][name]);
        let (x, y, h) = (1e3 * centre[0], 1e3 * centre[1], 0.5e3 * input(&r, "pad"));
        box_mm(x - h, y - h, x + h, y + h)
    };
    let copper = box_mm(0.0, 0.0, 1e3 * input(&r, "Lx"), 1e3 * input(&r, "Ly"));
    let spread = |current_a: f64| ContactKind::Spread { current_a };
    let contacts = vec![contact("in", pad("pad1"), spread(1.0)), contact("out", pad("pad2"), spread(-1.0))];
    let problem = one_layer(copper, contacts);
    let errors: Vec<f64> = [0.2, 0.1].map(|pitch| (squares(&problem, pitch) / exact - 1.0).abs()).to_vec();
    // Second order: a pad is 15 and 30 pixels wide; the finest is within a few ten-thousandths.
    assert!(errors[1] < 3e-4, "{errors:?}");
    assert!(errors[1] < 0.5 * errors[0], "{errors:?}");
}

/// Two strips of 2 x 10 mm on two layers, joined by barrels at their far ends.
fn folded(barrels: usize) -> SheetProblem {
    let copper = || box_mm(-0.5, 0.0, 10.0, 2.0);
    let barrel = |k: usize| Barrel {
        path: vec![at_mm(9.0, 2.0 * (k as f64 + 0.5) / barrels as f64)],
        drilled_m: 0.3e-3,
        plating_m: 20e-6,
        from_layer: 0,
        to_layer: 1,
        temperature_c: 20.0,
    };
    let mut out = contact("out", box_mm(-0.5, 0.0, 0.0, 2.0), ContactKind::Held);
    out.layer = 1;
    SheetProblem {
        layers: vec![layer(copper(), 0.0), layer(copper(), 1.535e-3)],
        barrels: (0..barrels).map(barrel).collect(),
        contacts: vec![contact("in", box_mm(-0.5, 0.0, 0.0, 2.0), IN), out],
    }
}

#[test]
fn a_barrel_has_the_resistance_of_its_wall() {
    // By hand: rho l / (pi (D - t) t); 1.535 mm long, 0.3 mm drilled, 20 um of wall: 1.504 milliohm.
    let wall_ohm = ANNEALED_20C_OHM_M * 1.535e-3 / (std::f64::consts::PI * 0.28e-3 * 20e-6);
    let problem = folded(1);
    let solution = solve(&problem, &options(0.05)).unwrap();
    check_identities(&solution);
    let barrel = solution.barrels[0];
    assert_near(barrel.current_a, 1.0, 1e-5);
    // Shares of the wall see slightly different drops round the hole.
    assert_near(barrel.loss_w, wall_ohm, 0.01);
    assert_near(barrel.drop_v, wall_ohm, 0.02);
    // Two in parallel halve it, and each carries half.
    let two = solve(&folded(2), &options(0.05)).unwrap();
    check_identities(&two);
    for barrel in &two.barrels {
        assert_near(barrel.current_a, 0.5, 1e-3);
        assert_near(barrel.loss_w, 0.25 * wall_ohm, 0.01);
    }
}

#[test]
fn a_plated_slot_has_the_resistance_of_its_wall_along_both_sides() {
    // By hand: rho l / (t (pi (D - t) + 2 L)); 1.2 mm long, along and across the flow, straight and in two pieces. The
    // sheets are a hundred times as thick as copper is, so that the whole wall sees one drop.
    let wall_ohm = ANNEALED_20C_OHM_M * 1.535e-3 / (20e-6 * (std::f64::consts::PI * 0.28e-3 + 2.0 * 1.2e-3));
    let ways: [&[(f64, f64)]; 3] =
        [&[(9.0, 0.4), (9.0, 1.6)], &[(7.8, 1.0), (9.0, 1.0)], &[(8.5, 0.6), (8.5, 1.2), (9.1, 1.2)]];
    for way in ways {
        let mut problem = folded(1);
        problem.layers.iter_mut().for_each(|layer| layer.thickness_m = 3.5e-3);
        problem.barrels[0].path = way.iter().map(|(x, y)| at_mm(*x, *y)).collect();
        let solution = solve(&problem, &options(0.05)).unwrap();
        check_identities(&solution);
        assert_near(solution.barrels[0].loss_w, wall_ohm, 3e-3);
        assert_near(solution.barrels[0].drop_v, wall_ohm, 3e-3);
    }
}

#[test]
fn a_slot_joins_what_lies_along_it() {
    // Two islands of the top layer that only the slot's middle and far end reach, and none of its ends.
    let mut problem = folded(1);
    problem.barrels[0].path = vec![at_mm(9.0, -5.0), at_mm(9.0, 7.0)];
    let solution = solve(&problem, &options(0.05)).unwrap();
    check_identities(&solution);
    assert_near(solution.barrels[0].current_a, 1.0, 1e-5);
}

#[test]
fn a_barrel_passes_a_layer_without_copper_there() {
    let mut problem = folded(1);
    let mut inner = layer(box_mm(-0.5, 0.0, 4.0, 2.0), 0.7e-3);
    inner.name = "inner".to_owned();
    problem.layers.insert(1, inner);
    problem.contacts[1].layer = 2;
    problem.barrels[0].to_layer = 2;
    let with = solve(&problem, &options(0.05)).unwrap();
    let without = solve(&folded(1), &options(0.05)).unwrap();
    check_identities(&with);
    assert_near(with.contacts[0].voltage_v, without.contacts[0].voltage_v, 1e-5);
}

#[test]
fn islands_of_one_layer_joined_by_holes_do_not_touch_at_narrow_gaps() {
    // Two halves of a strip with a gap of 20 um, less than half a pixel, bridged on the other layer only.
    let halves = box_mm(-0.5, 0.0, 4.99, 1.0).union(&box_mm(5.01, 0.0, 10.5, 1.0));
    let barrel = |x: f64| Barrel {
        path: vec![at_mm(x, 0.5)],
        drilled_m: 0.3e-3,
        plating_m: 20e-6,
        from_layer: 0,
        to_layer: 1,
        temperature_c: 20.0,
    };
    let problem = SheetProblem {
        layers: vec![layer(halves, 0.0), layer(box_mm(2.0, 0.0, 8.0, 1.0), 1.5e-3)],
        barrels: vec![barrel(3.0), barrel(7.0)],
        contacts: vec![
            contact("in", box_mm(-0.5, 0.0, 0.0, 1.0), IN),
            contact("out", box_mm(10.0, 0.0, 10.5, 1.0), ContactKind::Held),
        ],
    };
    let solution = solve(&problem, &options(0.05)).unwrap();
    check_identities(&solution);
    assert!(solution.remarks.is_empty(), "{:?}", solution.remarks);
    for barrel in &solution.barrels {
        assert_near(barrel.current_a, 1.0, 1e-5);
    }
}

#[test]
fn swapping_feed_and_return_changes_nothing() {
    let forwards = folded(2);
    let mut backwards = forwards.clone();
    backwards.contacts[0].kind = ContactKind::Held;
    backwards.contacts[1].kind = IN;
    let (one, other) = (solve(&forwards, &options(0.1)).unwrap(), solve(&backwards, &options(0.1)).unwrap());
    // Held and land differ by the land's own hundredth.
    assert_near(one.loss_w, other.loss_w, 2e-4);
    let mut given = forwards.clone();
    given.contacts[1].kind = OUT;
    let mut reversed = forwards;
    reversed.contacts[0].kind = OUT;
    reversed.contacts[1].kind = IN;
    let (one, other) = (solve(&given, &options(0.1)).unwrap(), solve(&reversed, &options(0.1)).unwrap());
    assert_near(one.loss_w, other.loss_w, 1e-6);
    assert_near(one.contacts[1].voltage_v, -other.contacts[1].voltage_v, 1e-6);
    for (a, b) in one.islands.iter().zip(&other.islands) {
        assert_near(a.loss_w, b.loss_w, 1e-5);
    }
}

#[test]
fn a_finer_grid_changes_ever_less() {
    // A board's worth of shapes: an oblique trace, a round pad, a slot.
    let copper = Area::track(&[at_mm(0.0, 0.0), at_mm(6.0, 2.3), at_mm(9.0, 8.0)], 0.9e6)
        .union(&Area::disc(at_mm(9.0, 8.0), 4e6))
        .difference(&Area::track(&[at_mm(8.2, 7.0), at_mm(10.0, 7.4)], 0.33e6));
    let contacts = vec![
        contact("in", Area::disc(at_mm(0.0, 0.0), 0.8e6), IN),
        contact("out", box_mm(8.5, 8.5, 9.5, 9.3), ContactKind::Held),
    ];
    let problem = one_layer(copper, contacts);
    let found: Vec<f64> = [0.2, 0.1, 0.05, 0.025].map(|pitch| squares(&problem, pitch)).to_vec();
    let changes: Vec<f64> = found.windows(2).map(|pair| (pair[1] / pair[0] - 1.0).abs()).collect();
    assert!(changes[2] < 0.005 && changes[2] < changes[0], "{found:?}");
}

#[test]
fn pixels_grow_to_stay_below_the_bound_and_tell_so() {
    let few = SheetOptions { most_cells: 5_000, ..SheetOptions::default() };
    let solution = solve(&strip(20.0, 2.0, 0.0), &few).unwrap();
    assert!(
        solution.pitch_grown && solution.cells <= 5_000 && solution.remarks.len() == 1,
        "{:?}",
        solution.remarks
    );
    assert_near(solution.contacts[0].voltage_v / (ANNEALED_20C_OHM_M / THICKNESS_M), 10.0, 0.01);
}

#[test]
fn what_is_narrower_than_a_pixel_is_told() {
    let slotted = box_mm(0.0, 0.0, 10.0, 1.0).difference(&box_mm(2.013, 0.487, 8.0, 0.497));
    let contacts = vec![
        contact("in", box_mm(0.0, 0.0, 0.5, 1.0), IN),
        contact("out", box_mm(9.5, 0.0, 10.0, 1.0), ContactKind::Held),
    ];
    let solution = solve(&one_layer(slotted, contacts), &options(0.05)).unwrap();
    assert!(solution.islands[0].unresolved_pixels > 100 && !solution.remarks.is_empty());
}

#[test]
fn what_cannot_be_is_told() {
    let good = strip(10.0, 1.0, 0.0);
    let mut problem = good.clone();
    problem.contacts[1].kind = ContactKind::Spread { current_a: -0.5 };
    assert!(
        matches!(solve(&problem, &options(0.1)), Err(SheetError::Unbalanced { left_a, .. }) if left_a == 0.5)
    );
    let mut problem = good.clone();
    problem.contacts[0].area = box_mm(50.0, 0.0, 51.0, 1.0);
    assert!(matches!(solve(&problem, &options(0.1)), Err(SheetError::NoCopper { .. })));
    let mut problem = good.clone();
    problem.contacts[0].area = problem.contacts[1].area.clone();
    assert!(matches!(solve(&problem, &options(0.1)), Err(SheetError::Overlap { .. })));
    let mut problem = good.clone();
    problem.layers[0].thickness_m = 0.0;
    assert!(matches!(solve(&problem, &options(0.1)), Err(SheetError::OutOfRange { .. })));
    let mut problem = good.clone();
    problem.contacts[0].layer = 3;
    assert!(matches!(solve(&problem, &options(0.1)), Err(SheetError::OutOfRange { .. })));
    for pitch in [0.0, f64::NAN, f64::INFINITY, -1.0] {
        assert!(matches!(solve(&good, &options(pitch)), Err(SheetError::OutOfRange { .. })));
    }
    assert!(solve(&SheetProblem::default(), &options(0.1)).unwrap().islands.is_empty());
}

#[test]
fn annealed_copper_is_that_of_iec_60028() {
    let r = record("D-copper-rho");
    for (celsius, ohm_m) in numbers(&r["inputs"]["T"]).into_iter().zip(numbers(&r["value"])) {
        let found = annealed_ohm_m(celsius);
        assert_near(found.value, ohm_m, 1e-9);
        assert!(found.in_range);
    }
    assert!(!annealed_ohm_m(-250.0).in_range && annealed_ohm_m(-250.0).value > 0.0);
}

#[test]
fn ipc_2221_gives_its_widths_and_rises() {
    for (id, kind) in [
        ("D-ipc-5-10-35-external", TraceKind::External),
        ("D-ipc-3-20-70-external", TraceKind::External),
        ("D-ipc-5-10-35-internal", TraceKind::Internal),
    ] {
        let r = record(id);
        let (current_a, rise_k, um) = (input(&r, "I"), input(&r, "dT"), input(&r, "t_um"));
        let expected = numbers(&r["value"]);
        let width = trace_width_mm(kind, current_a, rise_k, um);
        assert_near(width.value, expected[1], 1e-9);
        assert_near(width.value * um * 1e-3 / (0.0254 * 0.0254), expected[0], 1e-9);
        assert!(width.in_range);
        assert_near(trace_rise_k(kind, current_a, expected[1], um).value, rise_k, 1e-9);
    }
    assert!(!trace_width_mm(TraceKind::External, 40.0, 20.0, 35.0).in_range);
    assert!(!trace_width_mm(TraceKind::External, 1.0, 5.0, 35.0).in_range);
    assert!(!trace_rise_k(TraceKind::External, 1.0, 12.0, 35.0).in_range);
    assert!(trace_width_mm(TraceKind::External, 1.0, 0.0, 35.0).value.is_nan());
}

#[test]
fn wire_gauges_have_their_sections_and_leads_their_drop() {
    // ASTM B258 (from memory): the gauge's two fixed sizes, 4/0 of 0.46 inch and No. 36 of 5 mil; 18 AWG prints 0.823 mm2,
    // 10 AWG 5.26 mm2, 24 AWG 0.205 mm2.
    for (number, diameter_mm) in [(-3, 11.684), (36, 0.127)] {
        let section = std::f64::consts::FRAC_PI_4 * diameter_mm * diameter_mm;
        assert_near(awg_mm2(number).unwrap(), section, 1e-9);
    }
    for (number, section_mm2, digits) in [(18, 0.823, 1e-3), (10, 5.26, 1e-3), (24, 0.205, 3e-3)] {
        assert_near(awg_mm2(number).unwrap(), section_mm2, digits);
    }
    assert_eq!((awg_mm2(-4), awg_mm2(51)), (None, None));
    // By hand: 2 m of 0.5 mm2 at 20 degC is 4/58 ohm; 3 A drop 0.2069 V and lose 0.6207 W.
    let lead = Conductor { length_m: 2.0, section_mm2: 0.5 }.carrying(3.0, 20.0).unwrap();
    assert_near(lead.ohm_per_m, 2.0 / 58.0, 1e-9);
    assert_near(lead.resistance_ohm, 4.0 / 58.0, 1e-9);
    assert_near(lead.drop_v, 12.0 / 58.0, 1e-9);
    assert_near(lead.loss_w, 36.0 / 58.0, 1e-9);
    assert!(Conductor { length_m: 2.0, section_mm2: 0.0 }.carrying(3.0, 20.0).is_none());
}
