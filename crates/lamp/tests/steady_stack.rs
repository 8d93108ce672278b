//! Lamps without artwork against exact multilayer cosine-series solutions, from lamp.toml text to heat patch.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::fmt::Write as _;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use lamp::findings::Run;
use lamp::model::{GridChoice, Model};
use lamp::project::{MemoryFolder, read};
use serde_json::Value;

/// At the default pitch each source's mean and peak rise are within half a percent, the half-space limit S11 too: a block
/// of half a metre with a source of 3 x 1.5 mm.
const TOLERANCE: f64 = 0.005;

fn cases() -> Vec<Value> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks/steady_stack.json");
    let text = std::fs::read_to_string(path).expect("checks/steady_stack.json is there");
    let all: Value = serde_json::from_str(&text).expect("JSON");
    all["cases"].as_array().expect("cases").clone()
}

/// The case as a maker would write it.
fn lamp_text(case: &Value) -> String {
    let number = |value: &Value| value.as_f64().expect("a number");
    let face = |h: f64| if h == 0.0 { "adiabatic".to_owned() } else { format!("{h} W/m2/K") };
    let plate = &case["plate"];
    let mut text = format!(
        "[variant.plate]\noutline = [\"{} m\", \"{} m\"]\n[variant.plate.board]\nkind = \"layers\"\n[variant.plate.faces]\ntop = \"{}\"\nbottom = \"{}\"\n",
        number(&plate["Lx"]),
        number(&plate["Ly"]),
        face(number(&case["h_top"])),
        face(number(&case["h_bottom"]))
    );
    let below = case["interface_resistance_below_layer"].as_array().expect("a list");
    for (index, layer) in case["layers_top_to_bottom"].as_array().expect("layers").iter().enumerate() {
        let r = below.get(index).map_or(0.0, number);
        let (kxy, kz, t) = (number(&layer["kxy"]), number(&layer["kz"]), number(&layer["t"]));
        let _ = write!(
            text,
            "[[variant.plate.layer]]\nname = {}\nthickness = \"{t} m\"\nkx = \"{kxy} W/m/K\"\nky = \"{kxy} W/m/K\"\nkz = \"{kz} W/m/K\"\nresistance_below = \"{r} m2K/W\"\n",
            layer["name"]
        );
    }
    for (index, source) in case["sources"].as_array().expect("sources").iter().enumerate() {
        let s = |key: &str| number(&source[key]);
        let _ = write!(
            text,
            "[[variant.plate.heat]]\nname = \"source {}\"\nat = [\"{} m\", \"{} m\"]\nsize = [\"{} m\", \"{} m\"]\npower = \"{} W\"\n",
            index + 1,
            s("x"),
            s("y"),
            s("a"),
            s("b"),
            s("P")
        );
    }
    text
}

fn run(case: &Value, choice: &GridChoice) -> Run {
    let text = lamp_text(case);
    let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
    assert!(!reading.has_errors(), "{:?}", reading.remarks);
    let lamp = reading.lamp.expect("a lamp");
    let mut model = Model::new(&lamp, &lamp.variants[0], choice, 2).expect("a grid");
    model.run(0.0, 0.0, &AtomicBool::new(false)).expect("a field")
}

/// Relative errors of mean and peak of each source.
fn errors(case: &Value, run: &Run) -> Vec<(f64, f64)> {
    let exact = |key: &str, index: usize| case["results"][key][index].as_f64().expect("a number");
    run.heat_patches
        .iter()
        .enumerate()
        .map(|(index, patch)| {
            (
                patch.mean_rise_k / exact("source_average_rise_K", index) - 1.0,
                patch.hottest_rise_k / exact("source_peak_rise_K", index) - 1.0,
            )
        })
        .collect()
}

#[test]
fn every_exact_stack_is_met_at_the_default_pitch() {
    let mut wrong = Vec::new();
    for case in cases() {
        let run = run(&case, &GridChoice::default());
        let found = errors(&case, &run);
        println!("{}: {} cells, pitch {:.3} mm, {found:.5?}", case["id"], run.cells, run.pitch_mm);
        assert!(run.energy_balance.relative_error.abs() < 1e-6);
        if found.iter().any(|(mean, peak)| mean.abs() > TOLERANCE || peak.abs() > TOLERANCE) {
            wrong.push(format!("{}: {found:?}", case["id"]));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
