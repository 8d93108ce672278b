//! `lampwright fit` and `lampwright verdict` on the demo's bench logs, as a user runs them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use serde_json::Value;
use support::Scratch;
use support::schema_check::faults;

/// Sensor rise per watt of heat that the demo's logs are made of, K/W (`demo/bench_log.rs`).
const MADE_OF_K_PER_W: [(&str, f64); 2] = [("plain", 1.21 + 0.25), ("core", 1.21 + 0.10)];

/// Holds an answer against its schema in docs/.
fn hold(value: &Value, name: &str) {
    let place = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs").join(name);
    let schema = serde_json::from_str(&std::fs::read_to_string(&place).expect(name)).expect(name);
    let found = faults(value, &schema, &[]);
    assert!(found.is_empty(), "{name}: {found:#?}");
}

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key}: {value}"))
}

fn hottest_doubt_k(found: &Value) -> f64 {
    let junctions = found["junctions"].as_array().unwrap();
    junctions.iter().map(|j| number(j, "combined_doubt_k")).fold(0.0, f64::max)
}

/// One lamp, fitted and judged: what a fit writes, a verdict reads; with a fit it knows more.
#[test]
fn a_fit_explains_the_demos_logs_and_a_verdict_goes_on_from_it() {
    let scratch = Scratch::with_demo();
    let alone = scratch.run(&["verdict", "lamp", "--variant", "plain", "--json", "--no-write"]);
    assert_eq!(alone.status, 0, "{}{}", alone.out, alone.err);
    hold(&alone.json(), "verdict.schema.json");
    assert!(!scratch.lamp().join("results/verdict.json").exists());

    let said = scratch.run(&["fit", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let found = said.json();
    hold(&found, "fit.schema.json");
    assert_eq!(found["explains"], true);
    assert_eq!(found["converged"], true);
    assert_eq!(found["plateaus"].as_array().unwrap().len(), 8);
    for plateau in found["plateaus"].as_array().unwrap() {
        let (measured, predicted) = (number(plateau, "measured_k"), number(plateau, "predicted_k"));
        assert!((measured - predicted).abs() < 3.0 * number(plateau, "standard_k") + 0.1, "{plateau}");
    }
    // The logs' cooling is worse than lamp.toml's, by about what the sensor rises differ by.
    let cooling = found["values"].as_array().unwrap().iter().find(|v| v["value"] == "cooling").unwrap();
    assert!(number(cooling, "high") < 1.02 && number(cooling, "shrinkage") < 0.6, "{cooling}");
    for (variant, k_per_w) in MADE_OF_K_PER_W {
        let own = found["plateaus"].as_array().unwrap().iter().filter(|p| p["variant"] == variant);
        let hottest = own.max_by(|a, b| number(a, "measured_k").total_cmp(&number(b, "measured_k"))).unwrap();
        // 16.0 W at 1.05 A is what the logs were made of.
        assert!((number(hottest, "predicted_k") - 16.0 * k_per_w).abs() < 0.6, "{hottest}");
    }
    assert!(hottest_doubt_k(&found) < 8.0, "{found:#}");
    let kept: Value = serde_json::from_str(&scratch.read("lamp/results/fit.json")).unwrap();
    assert_eq!(kept, found);

    let fitted = scratch.run(&["verdict", "lamp", "--variant", "plain", "--json"]);
    assert_eq!(fitted.status, 0, "{}{}", fitted.out, fitted.err);
    let (alone, fitted) = (&alone.json()["verdicts"][0], &fitted.json()["verdicts"][0]);
    assert_eq!((&alone["fitted"], &fitted["fitted"]), (&false.into(), &true.into()));
    let width = |v: &Value| number(&v["weakest"], "high_k") - number(&v["weakest"], "low_k");
    assert!(width(fitted) < 0.8 * width(alone), "{} {}", width(fitted), width(alone));
    assert!(scratch.lamp().join("results/verdict.json").exists());

    // A board limit that the lamp cannot keep ends with 1, and the words say so.
    scratch.edit("lamp/lamp.toml", "board = \"105 degC\"", "board = \"60 degC\"");
    let over = scratch.run(&["verdict", "lamp", "--variant", "plain"]);
    assert_eq!(over.status, 1, "{}{}", over.out, over.err);
    assert!(over.flat().contains("above its limit"), "{}", over.out);

    // A fitted.toml that is none is told, with what to do; the tolerances alone still answer.
    scratch.write("lamp/results/fitted.toml", "[[fitted]]\nvalue = 3\n");
    let broken = scratch.run(&["verdict", "lamp", "--json"]);
    assert_eq!(broken.status, 2);
    assert!(
        broken.out.contains("results/fitted.toml") && broken.out.contains("--unfitted"),
        "{}",
        broken.out
    );
}

#[test]
fn without_logs_a_fit_says_how_to_add_them() {
    let files: Vec<_> =
        lampwright::demo::files().into_iter().filter(|(path, _)| !path.starts_with("bench/")).collect();
    let scratch = Scratch::with_files(&files);
    let said = scratch.run(&["fit", "lamp"]);
    assert_eq!(said.status, 2, "{}{}", said.out, said.err);
    assert!(said.err.contains("bench/") && said.err.contains("--sniff"), "{}", said.err);
    let said = scratch.run(&["verdict", "lamp", "--variant", "none"]);
    assert_eq!(said.status, 2);
    assert!(said.err.contains("plain, core"), "{}", said.err);
}
