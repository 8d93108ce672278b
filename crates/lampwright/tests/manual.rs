//! The worked example of the manual, run from the very text that the manual shows.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use std::path::Path;

use support::Scratch;

/// Source: exact solution by separation of variables (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959;
/// Muzychka, Culham and Yovanovich, J. Electron. Packag. 125 (2003) 178-185, titles from memory): 25 x 25 x 1 mm plate of
/// 167 W/m/K, 2.5 W on 3 x 3 mm in the middle, 1500 W/m²/K at the back. Series summed to 421 x 421 terms; quadratic
/// finite elements agree within 1e-4.
const EXACT_MEAN_RISE_K: f64 = 6.772_369_855_82;
const EXACT_CENTRE_RISE_K: f64 = 7.436_612_725_88;
/// The default pitch keeps every source's mean and centre within half a percent.
const TOLERANCE: f64 = 0.005;

fn manual() -> String {
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/manual.md");
    std::fs::read_to_string(place).expect("the manual is there")
}

/// The text between the marks, without its fence.
fn worked_example(manual: &str) -> String {
    let (_, rest) = manual.split_once("<!-- worked example: begin -->").expect("the example begins");
    let (block, _) = rest.split_once("<!-- worked example: end -->").expect("the example ends");
    block.lines().filter(|line| !line.starts_with("```")).collect::<Vec<_>>().join("\n")
}

#[test]
fn the_worked_example_meets_the_exact_solution_and_prints_what_the_manual_shows() {
    let manual = manual();
    let scratch = Scratch::with_files(&[("lamp.toml".to_owned(), worked_example(&manual).into_bytes())]);
    let json = scratch.run(&["predict", "lamp", "--json"]);
    assert_eq!(json.status, 0, "{}{}", json.out, json.err);
    let patch = json.json()["runs"][0]["heat_patches"][0].clone();
    let text = scratch.run(&["predict", "lamp"]);
    for (key, exact, name) in
        [("mean_rise_k", EXACT_MEAN_RISE_K, "mean"), ("centre_rise_k", EXACT_CENTRE_RISE_K, "centre")]
    {
        let found = patch[key].as_f64().expect("a number");
        assert!((found / exact - 1.0).abs() < TOLERANCE, "{key}: {found}, exact {exact}");
        let printed = format!("{found:.3}");
        assert!(text.out.contains(&printed), "{printed}: {}", text.out);
        let row = format!("| {name} of the source | {printed} | {exact:.3} |");
        assert!(manual.contains(&row), "the manual should show: {row}");
    }
}

#[test]
fn the_manual_names_every_command_and_exit_status() {
    let manual = manual();
    for command in [
        "demo",
        "new FOLDER",
        "check LAMP",
        "check --artwork FILE...",
        "predict LAMP",
        "plan LAMP",
        "record LAMP [RUN]",
        "serve LAMP",
    ] {
        assert!(manual.contains(&format!("| `lampwright {command}` |")), "{command}");
    }
    for status in ["0", "1", "2", "3", "130"] {
        assert!(manual.contains(&format!("\n| {status} | ")), "{status}");
    }
}
