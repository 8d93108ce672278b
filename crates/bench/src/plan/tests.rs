//! Plans of small lamps: against sums by hand, the full model, and what reads a plan's bench sheets back.

use std::sync::atomic::AtomicBool;

use lamp::as_built::Lamp;
use lamp::model::{GridChoice, Model};

use super::{NoPlan, Order, PlanFindings, Wanted, abort_reading, course, plan, sheet_text};
use crate::mapping::{Names, Role, read};
use crate::testing::lamp_of;

const LAMP: &str = r#"
[lamp]
ambient = "25 degC"
facing = "up"
[drive]
currents = ["0.35 A", "0.7 A", "1.4 A"]
nominal = "1.4 A"
[[sensor]]
at = ["15 mm", "4 mm"]
kind = "linear output"
at_0_degC = "500 mV"
slope = "10 mV/K"
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1", "D2"]
at = [["9 mm", "10 mm"], ["21 mm", "11 mm"]]
[bond]
thickness = "80 um"
conductivity = "1.5 W/m/K"
[heatsink]
base = ["40 mm", "30 mm"]
base_thickness = "6 mm"
material = "aluminium 6063-T5"
resistance = "4 K/W"
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

fn wanted(variants: &[usize]) -> Wanted {
    Wanted {
        variants: variants.to_vec(),
        currents_a: None,
        order: Order::Mirrored,
        mountings: 1,
        choice: CHOICE,
        threads: 2,
    }
}

fn planned(lamp: &Lamp, wanted: &Wanted) -> Result<PlanFindings, NoPlan> {
    plan(lamp, wanted, &|_| {}, &GO_ON)
}

/// The full model at each current; the reduced one follows it to a quarter of a percent of the rise.
#[test]
fn expected_readings_are_those_of_the_full_model() {
    let lamp = lamp_of(LAMP);
    let found = planned(&lamp, &wanted(&[0, 1])).unwrap();
    for (variant, planned) in lamp.variants.iter().zip(&found.variants) {
        let mut model = Model::new(&lamp, variant, &CHOICE, 1).unwrap();
        assert_eq!(planned.expected.len(), 3);
        for expected in &planned.expected {
            let run = model.run(expected.current_a, 25.0, &GO_ON).unwrap();
            let (reading_c, junction_c) =
                (run.sensors[0].reading_c.unwrap(), run.hottest_junction_c.unwrap());
            let within_k = 2.5e-3 * (junction_c - 25.0) + 0.02;
            assert!((expected.sensor_c - reading_c).abs() < within_k, "{expected:?}: {reading_c}");
            assert!((expected.junction_c - junction_c).abs() < within_k, "{expected:?}: {junction_c}");
            assert!(expected.low_c < expected.sensor_c && expected.sensor_c < expected.high_c);
            // The definition of the sensor's class: 0.5 V and 10 mV for each degC.
            let volts = expected.output_v.unwrap();
            for (v, c) in volts.iter().zip([expected.sensor_c, expected.low_c, expected.high_c]) {
                assert!((v - 0.5 - 0.010 * c).abs() < 1e-12);
            }
        }
    }
    for d in &found.differences {
        let of = |name: &str| {
            let v = found.variants.iter().find(|v| v.variant == name).unwrap();
            v.expected.iter().find(|e| e.current_a == d.current_a).unwrap().sensor_c
        };
        assert!((d.difference_k - (of(&d.variant) - of(&d.other))).abs() < 1e-9, "{d:?}");
        assert!(d.low_k < d.difference_k && d.difference_k < d.high_k);
        assert_eq!(d.seen, d.difference_k.abs() > d.told_apart_k);
    }
    assert_eq!(found.differences.len(), 3);
}

/// By hand: 4 K/W from base to room, and what base (40 x 30 x 6 mm of 2690 kg/m³ and 900 J/kg/K, 17.4 J/K) and board store; the slow
/// time constant lies between that of the base alone and that of all behind the whole resistance. The dwell follows from it by
/// its definition, and the durations by adding up.
#[test]
fn dwell_and_durations_follow_by_hand() {
    let lamp = lamp_of(LAMP);
    let found = planned(&lamp, &Wanted { mountings: 2, ..wanted(&[0, 1]) }).unwrap();
    let base_j_per_k = 0.040 * 0.030 * 0.006 * 2690.0 * 900.0;
    for v in &found.variants {
        let top = v.expected.last().unwrap();
        let whole_k_per_w = (top.sensor_c - 25.0) / top.heat_w;
        // Part of the heat leaves by the faces, so that the base's own rise is below 4 K/W of the heat.
        let base = 0.8 * 4.0 * base_j_per_k;
        assert!(v.slow_s > base && v.slow_s < v.heat_capacity_j_per_k * whole_k_per_w, "{v:?}");
        assert!(v.fast_s < 0.3 * v.slow_s && v.slow_at_most_s > 1.1 * v.slow_s, "{v:?}");
        // The largest step of the mirrored order: from 0.7 to 1.4 A, or the first one.
        let rises: Vec<f64> = v.expected.iter().map(|e| e.sensor_c - 25.0).collect();
        let step_k = rises[0].max(rises[1] - rises[0]).max(rises[2] - rises[1]);
        let needed_s = v.slow_at_most_s * (v.slow_part * step_k / 0.1).ln();
        assert!(found.dwell_s > needed_s - 60.0, "{needed_s} {}", found.dwell_s);
    }
    assert_eq!(found.dwell_s % 60.0, 0.0);
    let order: Vec<&str> = found.runs.iter().map(|r| r.variant.as_str()).collect();
    assert_eq!(order, ["laminate", "core", "core", "laminate"]);
    let mut total_s = 0.0;
    for (k, run) in found.runs.iter().enumerate() {
        let currents: Vec<f64> = run.steps.iter().map(|s| s.current_a).collect();
        assert_eq!(currents, [0.35, 0.7, 1.4, 0.7, 0.35]);
        assert_eq!(run.duration_s, found.zero_s + 5.0 * found.dwell_s);
        total_s += run.duration_s + if k < 3 { run.cooling_s + super::MOUNTING_S } else { 0.0 };
        // At the end of each plateau the expected course is where it was said to be.
        let points = course(&found, run).points;
        for step in &run.steps {
            let end_s = step.start_s + step.dwell_s;
            let at = points.iter().find(|p| (p.at_s - end_s).abs() < 1e-6).unwrap();
            assert!((at.sensor_c - step.sensor_c).abs() <= found.settled_within_k, "{at:?} {step:?}");
            let first = points.iter().find(|p| (p.at_s - step.start_s).abs() < 1e-6).unwrap();
            assert!(step.step > 1 || first.sensor_c == 25.0);
        }
    }
    assert!((found.total_s - total_s).abs() < 1e-6);
}

/// The full model, with the room found at which its smallest margin is gone: the sensor reads the abort reading of the likeliest lamp
/// there, to a quarter of a percent of the rise. One board by itself has the same as in the plan of both, to the bit. Once the junction
/// is the first to come to its limit, once the board, and that lies lower.
#[test]
fn at_the_abort_reading_the_full_model_meets_its_first_limit() {
    let by_junction = meets_its_first_limit(&lamp_of(LAMP));
    let by_board = meets_its_first_limit(&lamp_of(&format!("{LAMP}\n[limits]\nboard = \"95 degC\"\n")));
    for (junction_c, board_c) in by_junction.into_iter().zip(by_board) {
        assert!(board_c < junction_c - 5.0, "{board_c} {junction_c}");
    }
}

/// Checks the abort readings of both variants; the likeliest lamp's.
fn meets_its_first_limit(lamp: &Lamp) -> Vec<f64> {
    let found = planned(lamp, &wanted(&[0, 1])).unwrap();
    let check = |(index, v): (usize, &super::PlannedVariant)| {
        let stop = v.abort.clone().unwrap();
        let mut model = Model::new(lamp, &lamp.variants[index], &CHOICE, 1).unwrap();
        let mut room_c = 60.0;
        let mut reading_c = f64::NAN;
        for _ in 0..8 {
            let run = model.run(stop.current_a, room_c, &GO_ON).unwrap();
            let limits = run.limits.iter().filter(|limit| limit.unit == "degC");
            room_c += limits.map(|limit| limit.margin).fold(f64::INFINITY, f64::min);
            reading_c = run.sensors[0].reading_c.unwrap();
        }
        assert!((reading_c - stop.likeliest_c).abs() < 0.35, "{stop:?}: {reading_c}");
        assert!(
            stop.above_c < stop.likeliest_c && stop.above_c > v.expected.last().unwrap().sensor_c,
            "{stop:?}"
        );
        assert_eq!(abort_reading(lamp, index, (&CHOICE, 1), &GO_ON).unwrap(), stop);
        stop.likeliest_c
    };
    found.variants.iter().enumerate().map(check).collect()
}

#[test]
fn currents_that_pass_a_limit_are_left_out_and_said() {
    let lamp = lamp_of(LAMP);
    let asked = Wanted { currents_a: Some(vec![1.0, 0.5, 9.0]), ..wanted(&[1]) };
    let found = planned(&lamp, &asked).unwrap();
    let v = &found.variants[0];
    assert_eq!(v.expected.iter().map(|e| e.current_a).collect::<Vec<_>>(), [0.5, 1.0]);
    assert_eq!(v.skipped.len(), 1);
    assert!(v.skipped[0].current_a == 9.0 && v.skipped[0].why.contains("own limit"), "{:?}", v.skipped);
    assert!(found.remarks.iter().any(|r| r.contains("9 A is left out")), "{:#?}", found.remarks);
    // A board that may not get warm: the highest current passes the limit, the next would pass the abort reading.
    let rise = |a: f64| v.expected.iter().find(|e| e.current_a == a).unwrap().sensor_c;
    let low = lamp_of(&format!("{LAMP}\n[limits]\nboard = \"{:.1} degC\"\n", rise(1.0) + 4.0));
    let found = planned(&low, &asked).unwrap();
    let skipped: Vec<f64> = found.variants[0].skipped.iter().map(|s| s.current_a).collect();
    assert!(skipped.contains(&1.0), "{skipped:?}");
    let stop = found.variants[0].abort.as_ref().unwrap();
    assert!(stop.limit == "board" && found.variants[0].expected.last().unwrap().sensor_c < stop.above_c);
    let none = lamp_of(&format!("{LAMP}\n[limits]\nboard = \"26 degC\"\n"));
    let Err(NoPlan::Problem(why)) = planned(&none, &asked) else { panic!("a plan of nothing") };
    assert!(why.contains("0.5 A"), "{why}");
}

#[test]
fn a_bench_sheet_of_the_plan_is_read_back_as_planned() {
    let lamp = lamp_of(LAMP);
    let asked = Wanted { order: Order::Random(11), mountings: 2, ..wanted(&[1]) };
    let found = planned(&lamp, &asked).unwrap();
    assert_eq!((found.order, found.seed), ("random", Some(11)));
    assert_eq!(found.runs.iter().map(|r| r.name.as_str()).collect::<Vec<_>>(), ["plan-core", "plan-core-2"]);
    // Each run has the order of its own number, and says so by its steps.
    let ascending: Vec<f64> = found.variants[0].expected.iter().map(|e| e.current_a).collect();
    assert!(ascending.len() > 1 && ascending.windows(2).all(|pair| pair[0] < pair[1]), "{ascending:?}");
    for (k, run) in found.runs.iter().enumerate() {
        let taken: Vec<f64> = run.steps.iter().map(|step| step.current_a).collect();
        assert_eq!(taken, Order::Random(11).of_run(k, &ascending), "run {k}");
    }
    for run in &found.runs {
        let text = sheet_text(&found, run, &lamp);
        let file = format!("bench/{}.toml", run.name);
        let (sheet, remarks) = read(&file, text.as_bytes(), &Names::of(&lamp));
        assert!(remarks.is_empty(), "{remarks:?}\n{text}");
        let sheet = sheet.unwrap();
        assert_eq!(sheet.variant.as_deref(), Some("core"));
        assert_eq!(sheet.logs, [format!("bench/{}.csv", run.name)]);
        let steps: Vec<(f64, f64)> = sheet.steps.iter().map(|s| (s.at_s, s.drive_current_a)).collect();
        let mut planned: Vec<(f64, f64)> = run.steps.iter().map(|s| (s.start_s, s.current_a)).collect();
        planned.push((run.duration_s, 0.0));
        assert_eq!(steps, planned);
        assert_eq!(sheet.channels[0].role, Role::Sensor(found.sensor.clone()));
        assert_eq!(sheet.channels[1].role, Role::Ambient);
    }
}

#[test]
fn what_cannot_be_planned_says_why() {
    let mut lamp = lamp_of(LAMP);
    lamp.sensors.clear();
    let problem = |lamp: &Lamp, wanted: &Wanted| match planned(lamp, wanted) {
        Err(NoPlan::Problem(why)) => why,
        other => panic!("{other:?} where nothing can be planned"),
    };
    let why = problem(&lamp, &wanted(&[0]));
    assert!(why.contains("states no [[sensor]]"), "{why}");
    // Of a variant, by its name.
    let mut lamp = lamp_of(LAMP);
    lamp.variants[1].emitters.clear();
    let why = problem(&lamp, &wanted(&[0, 1]));
    assert_eq!(
        why,
        format!("variant {} has no emitters, so there is nothing to drive", lamp.variants[1].name)
    );
    let why = abort_reading(&lamp, 1, (&CHOICE, 1), &GO_ON).unwrap_err();
    assert_eq!(
        why,
        NoPlan::Problem("the variant has no emitters, so there is no temperature limit".to_owned())
    );
    // The other variant is planned all the same.
    assert_eq!(planned(&lamp, &wanted(&[0])).unwrap().variants.len(), 1);
    lamp.sensors.clear();
    let why = abort_reading(&lamp, 0, (&CHOICE, 1), &GO_ON).unwrap_err();
    assert_eq!(why, NoPlan::Problem("the lamp states no board sensor".to_owned()));
    let stopped = plan(&lamp_of(LAMP), &wanted(&[0]), &|_| {}, &AtomicBool::new(true));
    assert_eq!(stopped, Err(NoPlan::Cancelled));
}
