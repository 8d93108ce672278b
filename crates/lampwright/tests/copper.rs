//! The drive current in the demo's copper: what goes in comes out, by Joule's and Kirchhoff's laws.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use serde_json::Value;
use support::Scratch;

/// The sheets' solver stops at a residual of 1e-7; voltages are means over lands that are nearly at one potential, and the
/// warm copper's factor is one for a whole string.
const TOLERANCE: f64 = 2e-3;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn sum(values: &Value, key: &str) -> f64 {
    values.as_array().unwrap().iter().map(|value| number(&value[key])).sum()
}

fn near(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!((found / wanted - 1.0).abs() < tolerance, "{what}: {found}, wanted {wanted}");
}

#[test]
fn electrical_power_in_is_emitters_copper_and_leads() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["predict", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let findings = said.json();
    for run in findings["runs"].as_array().unwrap() {
        let copper = &run["copper"];
        let strings = copper["strings"].as_array().unwrap();
        assert_eq!(strings.len(), 2);
        let (loss_w, leads_w) = (number(&copper["loss_w"]), number(&copper["leads_w"]));
        // Loss is current times drop, string by string.
        let by_drop: f64 =
            strings.iter().map(|s| number(&s["current_a"]) * number(&s["copper_drop_v"])).sum();
        near(by_drop, loss_w, TOLERANCE, "loss in the copper");
        let by_leads: f64 = strings.iter().map(|s| number(&s["current_a"]) * number(&s["lead_drop_v"])).sum();
        near(by_leads, leads_w, 1e-9, "loss in the leads");
        // What the driver gives is what emitters, copper and leads take.
        let driver_w: f64 = strings.iter().map(|s| number(&s["current_a"]) * number(&s["driver_v"])).sum();
        near(driver_w, number(&run["electrical_w"]) + loss_w + leads_w, 1e-6, "power of the driver");
        // The islands and plated holes make the loss, and the loss is part of the heat.
        near(sum(&copper["islands"], "loss_w") + number(&copper["barrels_w"]), loss_w, 1e-9, "islands");
        let heat_w = sum(&run["emitters"], "heat_w") + loss_w;
        near(number(&run["heat_w"]), heat_w, 1e-6, "heat");
        // Each island of a plain string carries the string's current.
        for island in copper["islands"].as_array().unwrap() {
            near(number(&island["current_a"]), number(&run["current_a"]), 1e-6, "current of an island");
        }
    }
}

/// Annealed copper at 20 degC: 1/58 ohm mm2/m, IEC 60028 (from memory).
const OHM_MM2_PER_M: f64 = 1.0 / 58.0;

#[test]
fn leads_lose_what_their_length_and_section_make() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["predict", "lamp", "--variant", "plain", "--current", "1 A", "--json"]);
    let run = &said.json()["runs"][0];
    // Two leads of 0.6 m and 0.75 mm2, at 25 degC with 0.00393 1/K.
    let ohm = 2.0 * 0.6 * OHM_MM2_PER_M / 0.75 * (1.0 + 0.00393 * 5.0);
    near(number(&run["copper"]["strings"][0]["lead_drop_v"]), ohm, 1e-6, "drop in the leads at 1 A");
}

#[test]
fn without_supply_pads_nothing_is_said_of_copper() {
    let scratch = Scratch::with_demo();
    let text = scratch.read("lamp/lamp.toml");
    let (before, rest) = text.split_once("[[supply]]").unwrap();
    let after = rest.rsplit_once("[[supply]]").unwrap().1;
    let (_, after) = after.split_once("\n[").unwrap();
    scratch.write("lamp/lamp.toml", format!("{before}[{after}"));
    let said = scratch.run(&["predict", "lamp", "--variant", "core", "--current", "1 A", "--json"]);
    assert!(said.status < 2, "{}{}", said.out, said.err);
    assert!(said.json()["runs"][0]["copper"].is_null());
}
