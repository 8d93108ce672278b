//! `lampwright plan` as a user runs it: what it says and writes, and that a test made by it is read back.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use std::fmt::Write as _;

use serde_json::Value;
use support::schema_check::faults;
use support::{Said, Scratch};

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key}: {value}"))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("{key}: {value}"))
}

/// Holds an answer against its schema in docs/.
fn hold(value: &Value) {
    let place = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/plan.schema.json");
    let schema = serde_json::from_str(&std::fs::read_to_string(&place).expect("the schema")).expect("JSON");
    let found = faults(value, &schema, &[]);
    assert!(found.is_empty(), "{found:#?}");
}

/// What the invented lamp of the log really does, unlike what the plan expects: settled rise in K at a current in A, and the time constants
/// of its slow and fast part in s.
const MADE_OF: (f64, f64, f64) = (27.0, 170.0, 12.0);

/// A log by the plan's steps, made here from exact exponentials: 12 bits of 3.3 V, a sample each interval.
fn log(run: &Value, interval_s: f64) -> String {
    let (k_per_a, slow_s, fast_s) = MADE_OF;
    let mut text = String::from("time_s,sensor_v,ambient_c\n");
    let (mut slow_k, mut fast_k, room_c) = (0.0f64, 0.0f64, 23.0);
    for sample in 0..(number(run, "duration_s") / interval_s) as usize {
        let at_s = sample as f64 * interval_s;
        let set = list(run, "steps").iter().rfind(|s| number(s, "start_s") <= at_s);
        let end_k = set.map_or(0.0, |s| k_per_a * number(s, "current_a"));
        let _ = writeln!(
            text,
            "{at_s},{:.4},{room_c:.1}",
            ((0.5 + 0.010 * (room_c + slow_k + fast_k)) / (3.3 / 4096.0)).round() * (3.3 / 4096.0)
        );
        slow_k += (0.9 * end_k - slow_k) * (1.0 - (-interval_s / slow_s).exp());
        fast_k += (0.1 * end_k - fast_k) * (1.0 - (-interval_s / fast_s).exp());
    }
    text
}

/// The demo's plan, whole: what is said, what is written, and a test that is made by it.
#[test]
fn a_log_made_by_the_plan_is_read_at_its_steps() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["plan", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let plan = said.json();
    hold(&plan);
    let kept: Value = serde_json::from_str(&scratch.read("lamp/results/plan.json")).unwrap();
    assert_eq!(kept, plan);

    // Every limit and every expected reading keeps its place.
    for v in list(&plan, "variants") {
        let abort_c = number(&v["abort"], "above_c");
        assert!((number(&v["abort"], "output_v") - 0.5 - 0.010 * abort_c).abs() < 1e-12);
        let mut before_c = number(&plan, "ambient_c");
        for e in list(v, "expected") {
            let (low, at, high) = (number(e, "low_c"), number(e, "sensor_c"), number(e, "high_c"));
            assert!(before_c < at && low < at && at < high && at < abort_c, "{e}");
            assert!(number(e, "junction_c") > at && number(e, "heat_w") < number(e, "electrical_w"), "{e}");
            before_c = at;
        }
    }
    let text = scratch.read("lamp/results/plan.txt");
    for words in list(&plan, "answers").iter().chain(list(&plan, "check_list")).chain(list(&plan, "cautions"))
    {
        let first: Vec<&str> = words.as_str().unwrap().split_whitespace().take(6).collect();
        assert!(support::flat(&text).contains(&first.join(" ")), "{words}");
    }
    assert!(!text.contains('\u{1b}'), "plain text without colours");

    // A row a step, by an outside reader.
    let csv = scratch.read("lamp/results/plan.csv");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<std::collections::HashMap<String, String>> =
        reader.deserialize().map(Result::unwrap).collect();
    let steps: Vec<&Value> = list(&plan, "runs").iter().flat_map(|r| list(r, "steps")).collect();
    assert_eq!(rows.len(), steps.len());
    for (row, step) in rows.iter().zip(&steps) {
        let of = |key: &str| row[key].parse::<f64>().unwrap();
        assert_eq!(of("current_a"), number(step, "current_a"));
        assert_eq!(of("start_s"), number(step, "start_s"));
        assert!((of("expected_sensor_c") - number(step, "sensor_c")).abs() < 0.006, "{row:?}");
        assert!((of("expected_v") - 0.5 - 0.010 * number(step, "sensor_c")).abs() < 1e-5, "{row:?}");
    }

    // The run of the core board, made by its sheet: plateaus at its steps, settled where they were made to.
    let run = list(&plan, "runs").iter().find(|r| r["variant"] == "core").unwrap();
    let sheet = scratch.read("lamp/results/plan-core.toml");
    scratch.write("lamp/bench/plan-core.toml", sheet);
    scratch.write("lamp/bench/plan-core.csv", log(run, number(&plan, "sampling_interval_s")));
    let bench = scratch.run(&["bench", "lamp", "plan-core", "--json"]);
    assert_eq!(bench.status, 0, "{}{}", bench.out, bench.err);
    let found = bench.json();
    let plateaus = list(&found, "plateaus");
    let steps = list(run, "steps");
    assert_eq!(plateaus.len(), steps.len(), "{plateaus:#?}");
    for (plateau, step) in plateaus.iter().zip(steps) {
        assert_eq!(number(plateau, "drive_current_a"), number(step, "current_a"));
        assert!(
            (number(plateau, "from_s") - number(step, "start_s")).abs()
                <= number(&plan, "sampling_interval_s")
        );
        let made_k = MADE_OF.0 * number(step, "current_a");
        assert!((number(plateau, "rise_k") - made_k).abs() < 0.15, "{made_k} K: {plateau:#}");
    }
}

fn told(said: &Said, status: i32, words: &[&str]) {
    assert_eq!(said.status, status, "{}{}", said.out, said.err);
    let err = support::flat(&said.err);
    for word in words {
        assert!(err.contains(word), "{word}: {}", said.err);
    }
}

#[test]
fn a_sketch_is_planned_in_words_and_with_other_currents() {
    let scratch = Scratch::with_files(&[("lamp.toml".to_owned(), SKETCH.as_bytes().to_vec())]);
    let first = scratch.run(&["plan", "lamp", "--order", "random", "--seed", "3", "--mountings", "2"]);
    assert_eq!(first.status, 0, "{}{}", first.out, first.err);
    let text = first.flat();
    for words in [
        "Run 2: one, mounting 2 (random order, seed 3)",
        "Never leave a powered lamp unattended",
        "IEC 62471",
        "0.750 V",
    ] {
        assert!(text.contains(words), "{words}: {}", first.out);
    }
    assert!(scratch.lamp().join("results/plan-one-2.toml").exists());
    let rising = scratch.run(&[
        "plan",
        "lamp",
        "--order",
        "rising",
        "--current",
        "0.5 A",
        "--current",
        "250 mA",
        "--json",
    ]);
    let plan = rising.json();
    let set: Vec<f64> = list(&plan["runs"][0], "steps").iter().map(|s| number(s, "current_a")).collect();
    assert_eq!(set, [0.25, 0.5]);
}

#[test]
fn what_cannot_be_planned_is_told() {
    let scratch = Scratch::with_files(&[("lamp.toml".to_owned(), SKETCH.as_bytes().to_vec())]);
    told(&scratch.run(&["plan", "lamp", "--seed", "3"]), 2, &["--seed", "--order random"]);
    told(&scratch.run(&["plan", "lamp", "--variant", "two"]), 2, &["--variant two", "one"]);
    told(&scratch.run(&["plan", "lamp", "--current", "3 kg"]), 2, &["--current 3 kg"]);
    told(
        &scratch.run(&["plan", "lamp", "--current", "90 A"]),
        2,
        &["no current can be planned", "own limit"],
    );
    told(&scratch.run(&["plan", "lamp", "--mountings", "0"]), 2, &["--mountings"]);
    let without = SKETCH.replace("[[sensor]]\nname = \"s\"\nat = [\"15 mm\", \"4 mm\"]\nkind = \"linear output\"\nat_0_degC = \"500 mV\"\nslope = \"10 mV/K\"\n", "");
    assert_ne!(without, SKETCH);
    scratch.write("lamp/lamp.toml", &without);
    told(&scratch.run(&["plan", "lamp"]), 2, &["[[sensor]]"]);
    assert!(!scratch.lamp().join("results").exists(), "nothing is written where nothing was planned");
}

const SKETCH: &str = r#"
[lamp]
name = "one emitter on a slab"
ambient = "25 degC"
facing = "up"
[drive]
currents = ["0.35 A", "0.5 A", "0.7 A", "0.85 A", "1 A"]
nominal = "1 A"
[[sensor]]
name = "s"
at = ["15 mm", "4 mm"]
kind = "linear output"
at_0_degC = "500 mV"
slope = "10 mV/K"
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1"]
at = [["15 mm", "10 mm"]]
[heatsink]
base = ["40 mm", "30 mm"]
base_thickness = "3 mm"
resistance = "6 K/W"
[bond]
thickness = "80 um"
conductivity = "1.5 W/m/K"
[faces]
top = "10 W/m2/K"
bottom = "10 W/m2/K"
[variant.one]
outline = ["30 mm", "20 mm"]
[variant.one.board]
kind = "fr4 two-layer"
thickness = "0.8 mm"
"#;
