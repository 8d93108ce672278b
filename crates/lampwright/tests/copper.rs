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
        // Percentages are of emitters, copper and leads together; what strings and islands lose is their part of it.
        let all_w = number(&run["electrical_w"]) + loss_w + leads_w;
        near(number(&copper["part_of_electrical"]), loss_w / all_w, 1e-9, "part of the copper");
        near(sum(&copper["strings"], "copper_loss_w"), loss_w, TOLERANCE, "loss of the strings");
        let parts = ["strings", "islands"].map(|of| copper[of].as_array().unwrap().iter());
        for one in parts.into_iter().flatten() {
            let (key, w) = match one.get("copper_loss_w") {
                Some(w) => ("copper_part_of_electrical", number(w)),
                None => ("part_of_electrical", number(&one["loss_w"])),
            };
            near(number(&one[key]), w / all_w, 1e-9, key);
        }
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
    // Two leads of 0.6 m and 0.75 mm2, with 0.00393 1/K, as warm as 1 A makes them in a room of 25 degC.
    let lead_c = number(&run["copper"]["supplies"][0]["lead_c"]);
    let ohm = 2.0 * 0.6 * OHM_MM2_PER_M / 0.75 * (1.0 + 0.00393 * (lead_c - 20.0));
    near(number(&run["copper"]["strings"][0]["lead_drop_v"]), ohm, 1e-6, "drop in the leads at 1 A");
    // Heat out over its surface, some 10 to 40 W/m2/K for a wire of 1 mm in still air (common practice, no source).
    let w_per_m = 0.5 * ohm / 0.6;
    let h = w_per_m
        / (std::f64::consts::PI * (4.0 * 0.75 / std::f64::consts::PI).sqrt() * 1e-3 * (lead_c - 25.0));
    assert!((10.0..40.0).contains(&h), "{h} W/m2/K at {lead_c} degC");
}

/// What a trace of the demo's 70 um in still air would do by IPC-2221, I = 0.048 dT^0.44 A^0.725 with A in mil² (constants
/// from memory).
#[test]
fn necks_stand_beside_the_trace_width_rule() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["predict", "lamp", "--json"]);
    let findings = said.json();
    let hottest = |run: &Value| number(&run["copper"]["hottest"]["temperature_c"]);
    for run in findings["runs"].as_array().unwrap() {
        let copper = &run["copper"];
        assert!(copper["ipc_2221_is"].as_str().unwrap().contains("FR4 in still air"), "{copper}");
        let necks = copper["necks"].as_array().unwrap();
        assert!(!necks.is_empty());
        for neck in necks {
            let current_a = number(&neck["current_a"]);
            let rule_a = |width_mm: f64, rise_k: f64| {
                let section_mil2 = width_mm * 0.070 / (0.0254 * 0.0254);
                0.048 * rise_k.powf(0.44) * section_mil2.powf(0.725)
            };
            let rise_k = number(&neck["ipc_2221_rise_k"]);
            near(rule_a(number(&neck["width_mm"]), rise_k), current_a, 1e-9, "the rule's rise");
            near(rule_a(number(&neck["ipc_2221_width_mm"]), 20.0), current_a, 1e-9, "the rule's width");
            // Its charts go from 10 to 100 K.
            assert_eq!(neck["ipc_2221_in_range"], (10.0..=100.0).contains(&rise_k), "{neck}");
            let warm = number(&neck["temperature_c"]);
            near(warm - number(&run["ambient_c"]), number(&neck["rise_k"]), 1e-9, "rise");
            assert!(warm <= hottest(run) + 1e-9, "{neck}");
        }
        // The hottest copper lies within the board, and is cooler than the hottest junction.
        let at = run["copper"]["hottest"]["at_mm"].as_array().unwrap();
        assert!((0.0..72.0).contains(&number(&at[0])) && (0.0..48.0).contains(&number(&at[1])));
        assert!(hottest(run) < number(&run["hottest_junction_c"]));
    }
}

#[test]
fn the_terminal_says_what_the_json_has() {
    let scratch = Scratch::with_demo();
    let asked = ["predict", "lamp", "--variant", "plain", "--current", "1 A"];
    let json = scratch.run(&[&asked[..], &["--json"]].concat()).json();
    let said = scratch.run(&asked);
    // Lines are filled to the terminal's width.
    let text = said.out.split_whitespace().collect::<Vec<_>>().join(" ");
    let copper = &json["runs"][0]["copper"];
    let narrow = copper["necks"]
        .as_array()
        .unwrap()
        .iter()
        .min_by(|a, b| number(&a["width_mm"]).total_cmp(&number(&b["width_mm"])))
        .unwrap();
    let hot = &copper["hottest"];
    for wanted in [
        format!("{:.2} mm of {} at", number(&narrow["width_mm"]), narrow["layer"].as_str().unwrap()),
        format!("{:.1} K above the room", number(&narrow["rise_k"])),
        format!("{:.1} degC in {}", number(&hot["temperature_c"]), hot["layer"].as_str().unwrap()),
        copper["ipc_2221_is"].as_str().unwrap().to_owned(),
        "Loss in the copper by string: A ".to_owned(),
        "% of the lamp)".to_owned(),
    ] {
        assert!(text.contains(&wanted), "{wanted}: {}", said.out);
    }
    let island = &copper["islands"][0];
    assert!(text.contains(island["net"].as_str().unwrap()), "{}", said.out);
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
