//! `lampwright bench`: what the bench test found, against what the demo's logs were made of.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use serde_json::Value;
use support::Scratch;

/// Source: the numbers that the demo's logs are made of (`demo/bench_log.rs`): drive currents, A, and heat, W; base to room 1.21 K/W
/// with the fan turning, board to base 0.25 K/W (plain) and 0.10 K/W (core).
const MADE_OF: [(f64, f64); 4] = [(0.35, 4.2), (0.7, 9.7), (0.85, 12.4), (1.05, 16.0)];
const PLAIN_K_PER_W: f64 = 1.21 + 0.25;
const CORE_K_PER_W: f64 = 1.21 + 0.10;

fn number(value: &Value, key: &str) -> f64 {
    value[key].as_f64().unwrap_or_else(|| panic!("{key}: {value}"))
}

fn plateaus_of<'a>(found: &'a Value, run: &str) -> Vec<&'a Value> {
    found["plateaus"].as_array().unwrap().iter().filter(|plateau| plateau["run"] == run).collect()
}

#[test]
fn settled_values_and_differences_hold_what_the_logs_were_made_of() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["bench", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let found = said.json();
    for (run, k_per_w) in [("plain", PLAIN_K_PER_W), ("core", CORE_K_PER_W)] {
        let plateaus = plateaus_of(&found, run);
        assert_eq!(plateaus.len(), 4, "{run}");
        for (plateau, (current_a, heat_w)) in plateaus.iter().zip(MADE_OF) {
            assert!((number(plateau, "drive_current_a") - current_a).abs() < 0.001, "{plateau}");
            let truth_k = k_per_w * heat_w;
            let [low, high] = ["rise_low_k", "rise_high_k"].map(|key| number(plateau, key));
            assert!(low <= truth_k && truth_k <= high, "{run} {current_a} A: {truth_k} K, {low} to {high} K");
            // An interval that holds everything would say nothing.
            assert!(high - low < 1.5, "{run} {current_a} A: {low} to {high} K");
            let heat = (number(plateau, "heat_w"), number(plateau, "heat_doubt_w"));
            assert!(
                (heat.0 - heat_w).abs() <= heat.1 && heat.1 < 0.1 * heat_w,
                "{run} {current_a} A: {heat:?}"
            );
            assert_eq!(plateau["heat_from"], "measured voltage");
            let resistance =
                (number(plateau, "resistance_k_per_w"), number(plateau, "resistance_doubt_k_per_w"));
            assert!((resistance.0 - k_per_w).abs() <= resistance.1, "{run} {current_a} A: {resistance:?}");
        }
    }
    let compared = found["comparisons"].as_array().unwrap();
    assert_eq!(compared.len(), 1);
    let compared = &compared[0];
    // The demo's boards cost 6.50 and 14.00; the kelvins they were made of, at the highest heat, lie within the price's interval.
    let price = &compared["price"];
    let per_k = 7.5 / ((PLAIN_K_PER_W - CORE_K_PER_W) * MADE_OF[3].1);
    let [low, high] = ["price_per_k_low", "price_per_k_high"].map(|key| number(price, key));
    assert!(low <= per_k && per_k <= high && high < 1.5 * low, "{per_k}: {price}");
    assert!(
        compared["sentences"]
            .as_array()
            .unwrap()
            .iter()
            .any(|said| said.as_str().unwrap().starts_with("core costs 7.50 more: at 1.050 A"))
    );
    assert_eq!((&compared["first"], &compared["second"]), (&"plain".into(), &"core".into()));
    let at_current = compared["at_equal_current"].as_array().unwrap();
    assert_eq!(at_current.len(), 4);
    for (difference, (current_a, heat_w)) in at_current.iter().zip(MADE_OF) {
        let truth_k = (PLAIN_K_PER_W - CORE_K_PER_W) * heat_w;
        let off = (number(difference, "difference_k") - truth_k).abs();
        assert!(off <= number(difference, "difference_doubt_k"), "{current_a} A: {truth_k} K, {difference}");
    }
    let at_heat = compared["at_equal_heat"].as_array().unwrap();
    assert_eq!(at_heat.len(), 4);
    for difference in at_heat {
        let truth_k = (PLAIN_K_PER_W - CORE_K_PER_W) * number(difference, "heat_w");
        let off = (number(difference, "difference_k") - truth_k).abs();
        assert!(off <= number(difference, "difference_doubt_k"), "{truth_k} K, {difference}");
    }
}

#[test]
fn the_answer_stands_first_and_the_fan_that_failed_is_told() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["bench", "lamp"]);
    let text = said.flat();
    println!("{}", said.out);
    let place = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}: {}", said.out));
    let answer = place("A on the core board runs cooler than plain: by");
    let order = [
        answer,
        place("plain board, board sensor: what each current settled to"),
        place("FAN LOSS: 15 min after the step the fan's voltage went from 8.0 V to 0.0 V, for 4.0 min"),
        place("plain and core side by side"),
        place("At equal heat:"),
        place("What the logs hold"),
    ];
    assert!(order.is_sorted(), "{order:?}: {}", said.out);
    let found = scratch.run(&["bench", "lamp", "--json"]).json();
    let troubled: Vec<(f64, &Value)> = found["plateaus"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|plateau| plateau["anomalies"].as_array().unwrap())
        .map(|anomaly| (number(anomaly, "at_s"), &anomaly["kind"]))
        .collect();
    // 300 s cold, two currents of 2100 s, 900 s into the third.
    assert_eq!(troubled.len(), 1, "{troubled:?}");
    assert_eq!(troubled[0].1, "fan loss");
    assert!((troubled[0].0 - 5400.0).abs() <= 1.0, "{troubled:?}");
}

#[test]
fn without_a_price_the_key_is_named() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "board_price = 14.00\n", "");
    let said = scratch.run(&["bench", "lamp", "--json"]);
    let compared = &said.json()["comparisons"][0];
    assert!(compared["price"].is_null());
    let named = |said: &Value| said.as_str().unwrap().contains("board_price of both variants");
    assert_eq!(compared["sentences"].as_array().unwrap().iter().filter(|said| named(said)).count(), 1);
    // A price that is none is told with its line.
    scratch.edit("lamp/lamp.toml", "board_price = 6.50 ", "board_price = -1 ");
    let said = scratch.run(&["bench", "lamp"]);
    assert_eq!(said.status, 2, "{}{}", said.out, said.err);
    assert!(said.err.contains("lamp.toml:78:15: error: board_price = -1"), "{}{}", said.out, said.err);
}

/// One fan voltage column less, the temperature alone must tell: that something happened, or with a settled value that still holds.
#[test]
fn a_fan_that_failed_shows_in_the_temperature_too() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/bench/plain.toml", "is = \"fan voltage\"", "is = \"other\"");
    let found = scratch.run(&["bench", "lamp", "plain", "--json"]).json();
    let plateau = plateaus_of(&found, "plain")[2];
    let kinds: Vec<&Value> =
        plateau["anomalies"].as_array().unwrap().iter().map(|one| &one["kind"]).collect();
    assert!(!kinds.is_empty(), "{plateau}");
    let at_s = number(&plateau["anomalies"][0], "at_s");
    assert!((5300.0..=5700.0).contains(&at_s), "{plateau}");
    // What was used ends before the fan came back.
    assert!(number(plateau, "used_to_s") < 5640.0 || number(plateau, "used_from_s") > 5400.0, "{plateau}");
    assert!(found["comparisons"].as_array().unwrap().is_empty());
    assert!(
        found["answers"][0].as_str().unwrap().starts_with("The plain board settles at 1.050 A to "),
        "{found}"
    );
}

#[test]
fn a_current_held_too_short_needs_more_minutes() {
    let scratch = Scratch::with_demo();
    // Header and 300 s cold, then 700 s of the first current.
    let log: Vec<String> =
        scratch.read("lamp/bench/core.csv").lines().take(4 + 1000).map(str::to_owned).collect();
    scratch.write("lamp/bench/core.csv", log.join("\n") + "\n");
    let said = scratch.run(&["bench", "lamp", "core"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(said.flat().contains("needs about"), "{}", said.out);
    let found = scratch.run(&["bench", "lamp", "core", "--json"]).json();
    let plateau = plateaus_of(&found, "core")[0];
    assert_eq!(plateau["settled"], false);
    // By hand: 1.21 x 4.2 = 5.08 K with 400 s, of which exp(-700 / 400), 0.88 K, are left; 0.1 K after another 400 ln(8.8) s = 14.5 min.
    let more = number(plateau, "minutes_more");
    assert!((8.0..25.0).contains(&more), "{plateau}");
    let truth_k = CORE_K_PER_W * 4.2;
    let [low, high] = ["rise_low_k", "rise_high_k"].map(|key| number(plateau, key));
    assert!(low <= truth_k && truth_k <= high, "{truth_k} K, {low} to {high} K");
}

/// Source: by hand; a sensor that reads 0.8 K high throughout (8 mV of 10 mV/K) shows so with the lamp off, and the comparison's doubt holds it.
#[test]
fn a_sensor_that_reads_high_shows_with_the_lamp_off() {
    let scratch = Scratch::with_demo();
    let doubt_and_off = || {
        let found = scratch.run(&["bench", "lamp", "--json"]).json();
        let difference = &found["comparisons"][0]["at_equal_current"][3];
        let off = found["lamp_off"].as_array().unwrap().iter().find(|off| off["run"] == "core").unwrap();
        let truth_k = (PLAIN_K_PER_W - CORE_K_PER_W) * 16.0;
        let [found_k, doubt_k] = ["difference_k", "difference_doubt_k"].map(|key| number(difference, key));
        assert!((found_k - truth_k).abs() <= doubt_k, "{difference}");
        (doubt_k, number(off, "above_ambient_k"))
    };
    let (doubt_k, off_k) = doubt_and_off();
    assert!(doubt_k < 0.5 && off_k.abs() < 0.3, "{doubt_k} {off_k}");
    let log = scratch.read("lamp/bench/core.csv");
    let raised: Vec<String> = log
        .lines()
        .map(|line| {
            let mut cells: Vec<String> = line.split(';').map(str::to_owned).collect();
            if let Some(volts) = cells.get(1).and_then(|cell| cell.replace(',', ".").parse::<f64>().ok()) {
                cells[1] = format!("{:.4}", volts + 0.008).replace('.', ",");
            }
            cells.join(";")
        })
        .collect();
    scratch.write("lamp/bench/core.csv", raised.join("\n") + "\n");
    let (raised_doubt_k, raised_off_k) = doubt_and_off();
    assert!((raised_off_k - off_k - 0.8).abs() < 0.05, "{off_k} {raised_off_k}");
    assert!(raised_doubt_k > 0.6, "{raised_doubt_k}");
    let said = scratch.run(&["bench", "lamp"]).flat();
    assert!(said.contains("differed by 0.") && said.contains("that much is in every rise below"), "{said}");
}

#[test]
fn a_board_above_its_limit_ends_with_1() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "board = \"105 degC\"", "board = \"45 degC\"");
    let said = scratch.run(&["bench", "lamp", "plain"]);
    assert_eq!(said.status, 1, "{}{}", said.out, said.err);
    assert!(said.flat().contains("above the board's limit of 45 degC"), "{}", said.out);
}

#[test]
fn a_room_that_nobody_measured_is_asked_for() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/bench/core.toml", "is = \"ambient\"", "is = \"other\"");
    let said = scratch.run(&["bench", "lamp", "core"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(said.flat().contains("write ambient = \"22 degC\" in [run]"), "{}", said.out);
    let sheet = scratch.read("lamp/bench/core.toml");
    scratch.write(
        "lamp/bench/core.toml",
        sheet.replace("variant = \"core\"", "variant = \"core\"\nambient = \"22 degC\""),
    );
    let stated = scratch.run(&["bench", "lamp", "core", "--json"]).json();
    let plateaus = plateaus_of(&stated, "core");
    assert_eq!(plateaus.len(), 4, "{stated}");
    let told = plateaus[0]["remarks"].to_string();
    assert!(told.contains("no ambient was logged: the rise counts from the stated 22 degC"), "{told}");
}
