//! What `--json` prints has the documented form: no key more, no key less.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use std::path::Path;

use serde_json::{Value, json};
use support::Scratch;
use support::schema_check::faults;

/// The schema as it stands in docs/, for that is what a script's author reads.
fn documented(name: &str) -> Value {
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs").join(name);
    serde_json::from_str(&std::fs::read_to_string(&place).expect(name)).expect(name)
}

fn hold(value: &Value, name: &str) {
    let others = ["artwork.schema.json", "predict.schema.json"].map(|other| (other, documented(other)));
    let found = faults(value, &documented(name), &others);
    assert!(found.is_empty(), "{name}: {found:#?}");
}

#[test]
fn the_checker_finds_what_is_wrong() {
    let schema = documented("failure.schema.json");
    let good = json!({ "failure": "bad input", "exit_status": 2, "remarks": [{ "severity": "error", "text": "x" }] });
    assert!(faults(&good, &schema, &[]).is_empty());
    for (key, wrong) in [
        ("failure", json!("other")),
        ("exit_status", json!(7)),
        ("remarks", json!([{ "severity": "error" }])),
        ("remarks", json!([{ "severity": "error", "text": "x", "line": -1 }])),
        ("more", json!(1)),
    ] {
        let mut bad = good.clone();
        bad[key] = wrong;
        assert_eq!(faults(&bad, &schema, &[]).len(), 1, "{bad}");
    }
}

#[test]
fn predictions_have_the_documented_form() {
    let scratch = Scratch::with_demo();
    hold(&scratch.run(&["predict", "lamp", "--current", "0.7", "--json"]).json(), "predict.schema.json");
    // Far above every limit: no steady state, so temperatures are null.
    let hot = scratch.run(&["predict", "lamp", "--variant", "plain", "--current", "60 A", "--json"]);
    assert_eq!(hot.status, 1, "{}", hot.err);
    hold(&hot.json(), "predict.schema.json");
    assert_eq!(hot.json()["runs"][0]["state"], "runaway");
}

#[test]
fn checks_have_the_documented_form() {
    let scratch = Scratch::with_demo();
    hold(&scratch.run(&["check", "lamp", "--json"]).json(), "check.schema.json");
    scratch.edit("lamp/lamp.toml", "thickness = \"1.6 mm\"", "thicknes = \"1.6 K\"");
    hold(&scratch.run(&["check", "lamp", "--json"]).json(), "check.schema.json");
    hold(&scratch.run(&["check", "--artwork", "lamp/artwork/plain", "--json"]).json(), "artwork.schema.json");
}

#[test]
fn bench_has_the_documented_form() {
    let scratch = Scratch::with_demo();
    hold(&scratch.run(&["bench", "lamp", "--json"]).json(), "bench.schema.json");
    scratch.edit("lamp/bench/plain.toml", "column = \"U1\"", "column = \"U7\"");
    hold(&scratch.run(&["bench", "lamp", "plain", "--json"]).json(), "bench.schema.json");
    hold(&scratch.run(&["bench", "--sniff", "lamp/bench/plain.csv", "--json"]).json(), "sniff.schema.json");
}

#[test]
fn recordings_have_the_documented_form() {
    let scratch = Scratch::with_demo();
    // Nothing on standard input: nothing recorded, and the form is the same.
    let words = ["record", "lamp", "none", "--variant", "plain", "--json"];
    hold(&scratch.run(&words).json(), "record.schema.json");
    let lines: Vec<_> = scratch.read("lamp/bench/plain.csv").lines().take(400).map(str::to_owned).collect();
    scratch.write("logger.csv", lines.join("\n") + "\n");
    let more = ["--file", "logger.csv", "--for", "1 s", "--abort-above", "20 degC"];
    let said =
        scratch.run(&[&["record", "lamp", "some", "--variant", "plain", "--json"], &more[..]].concat());
    assert_eq!(said.status, 1, "{}", said.err);
    hold(&said.json(), "record.schema.json");
}

#[test]
fn the_other_commands_have_the_documented_form() {
    let scratch = Scratch::new();
    hold(&scratch.run(&["new", "mine", "--json"]).json(), "new.schema.json");
    hold(&scratch.run(&["new", "mine", "--json"]).json(), "failure.schema.json");
    hold(&scratch.run(&["demo", "--no-open", "--json"]).json(), "demo.schema.json");
}
