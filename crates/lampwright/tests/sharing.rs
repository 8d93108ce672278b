//! Two strings on one driver: shared currents, drivers' voltages, and what runs away, as the program tells them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod examples;
mod support;

use examples::{lamp_of, parallel, run};
use lamp::findings::Run;
use serde_json::Value;
use support::Scratch;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// The example's files with some of lamp.toml replaced.
fn changed(changes: &[(&str, &str)]) -> Vec<(String, Vec<u8>)> {
    let mut files = parallel::files();
    let mut text = String::from_utf8(files[0].1.clone()).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    files[0].1 = text.into_bytes();
    files
}

fn branch_a(run: &Run) -> [f64; 2] {
    let group = &run.sharing.as_ref().unwrap().groups[0];
    [0, 1].map(|branch| group.branches[branch].current_a.unwrap())
}

/// The lamp solved anew with the found shares given by hand, its copper with them, is the same lamp. What may differ is the copper
/// where both strings' currents are in one bar, which is taken for a tree.
#[test]
fn the_found_shares_given_by_hand_are_the_same_lamp() {
    const DRIVE_A: f64 = 1.4;
    // Thin copper, so that it counts.
    let lamp = lamp_of(changed(&[("copper_top = \"35 um\"", "copper_top = \"9 um\"")]));
    let shared = run(&lamp, 0, DRIVE_A);
    let [first_a, second_a] = branch_a(&shared);
    assert!((first_a + second_a - DRIVE_A).abs() < 1e-9);
    assert!(second_a - first_a > 0.02, "the hotter string takes more: {first_a} {second_a}");
    let mut by_hand = lamp.clone();
    for (emitter, found) in by_hand.variants[0].emitters.iter_mut().zip(&shared.emitters) {
        emitter.current_share = found.current_a / DRIVE_A;
        emitter.share_given = true;
    }
    let given = run(&by_hand, 0, DRIVE_A);
    assert!(given.sharing.is_none());
    for (a, b) in shared.emitters.iter().zip(&given.emitters) {
        // Faces and copper settle to a ten-thousandth.
        let off_k = a.junction_c.unwrap() - b.junction_c.unwrap();
        assert!(off_k.abs() < 0.01, "{}: {off_k} K", a.reference);
    }
    let (shared, given) = (shared.copper.unwrap(), given.copper.unwrap());
    assert!((shared.loss_w / given.loss_w - 1.0).abs() < 1e-3, "{} {}", shared.loss_w, given.loss_w);
    for (a, b) in shared.strings.iter().zip(&given.strings) {
        let off = a.copper_drop_v.unwrap() / b.copper_drop_v.unwrap() - 1.0;
        assert!(off.abs() < 5e-3, "{}: {off}", a.name);
        assert!((a.driver_v.unwrap() / b.driver_v.unwrap() - 1.0).abs() < 1e-4, "{}", a.name);
    }
    // By Kirchhoff's second law both strings need the same: the given shares were those.
    let volts = |which: usize| given.strings[which].driver_v.unwrap();
    assert!((volts(0) - volts(1)).abs() < 1e-3, "{} {}", volts(0), volts(1));
}

/// One string that branches twice has no single drop, but a loss: all that there is, whether its shares are found or given.
#[test]
fn a_string_that_branches_has_all_the_loss() {
    let mut files = parallel::bridged_files();
    let text = String::from_utf8(files[0].1.clone()).unwrap();
    files[0].1 = text.replace("copper_top = \"35 um\"", "copper_top = \"9 um\"").into_bytes();
    let lamp = lamp_of(files);
    let shared = run(&lamp, 0, 1.4);
    let mut by_hand = lamp.clone();
    for (emitter, found) in by_hand.variants[0].emitters.iter_mut().zip(&shared.emitters) {
        emitter.current_share = found.current_a / 1.4;
        emitter.share_given = true;
    }
    let given = run(&by_hand, 0, 1.4);
    for run in [&shared, &given] {
        let copper = run.copper.as_ref().unwrap();
        let [string] = &copper.strings[..] else { panic!("{:#?}", copper.strings) };
        assert!(string.copper_drop_v.is_none() && copper.loss_w > 0.0);
        // Energy: the only string's loss is the copper's. Where shares are sought, copper in which two currents meet is
        // taken for a tree; where they are given, warm copper's factor is one for the whole string.
        let off = string.copper_loss_w.unwrap() / copper.loss_w - 1.0;
        assert!(off.abs() < 5e-3, "{off}");
        let part = string.copper_part_of_electrical.unwrap() / copper.part_of_electrical - 1.0;
        assert!((part - off).abs() < 1e-9);
    }
}

/// The board is its own mirror image from top to bottom. With the heatsink in the middle its strings share equally; with the
/// heatsink under the other string the currents change places.
#[test]
fn strings_alike_share_equally_and_swapped_ones_swap() {
    let with_offset = |mm: &str| {
        let offset = format!("offset = [\"0 mm\", \"{mm}\"]");
        branch_a(&run(&lamp_of(changed(&[("offset = [\"0 mm\", \"5 mm\"]", &offset)])), 0, 0.7))
    };
    let [a, b] = with_offset("0 mm");
    // The field's residual of a hundred-thousandth and faces to a ten-thousandth, on a rise of 30 K; 2 mA/K by the sheet's slopes.
    assert!((a - b).abs() < 1e-5, "{a} {b}");
    let (first, second) = (with_offset("5 mm"), with_offset("-5 mm"));
    assert!(
        (first[0] - second[1]).abs() < 1e-5 && (first[1] - second[0]).abs() < 1e-5,
        "{first:?} {second:?}"
    );
    assert!(first[1] > first[0] + 1e-3, "{first:?}");
}

#[test]
fn sharing_and_drivers_are_told() {
    let scratch = Scratch::with_files(&parallel::files());
    let said = scratch.run(&["predict", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let findings = said.json();
    let schema = include_str!("../../../docs/predict.schema.json");
    let faults = support::schema_check::faults(&findings, &serde_json::from_str(schema).unwrap(), &[]);
    assert!(faults.is_empty(), "{faults:#?}");
    let run = &findings["runs"][1];
    let group = &run["sharing"]["groups"][0];
    let worst = &group["worst"];
    // Emitters are alike, so that all is the feedback's: cold, the low string has tanh(t / b) more than half in closed form with
    // the table's slope there, b = (2.78 V - 2.65 V) / ln(0.5 A / 0.2 A); the table bends, which is worth a tenth of it.
    let closed = 100.0 * (0.05 / (0.13 / 2.5f64.ln())).tanh();
    let cold = number(&worst["cold_imbalance_percent"]);
    assert!((cold / closed - 1.0).abs() < 0.1, "{cold} {closed}");
    assert!(number(&worst["imbalance_percent"]) > cold, "warm it is more");
    assert!(number(&group["cold_imbalance_percent"]) < 0.1 && number(&group["imbalance_percent"]) > 0.2);
    // The driver: warm and cold, with the tolerance of three emitters; colder needs more.
    let supply = &run["copper"]["supplies"][0];
    let volts = |key: &str| number(&supply[key]);
    assert!((volts("driver_high_v") - volts("driver_v") - 0.15).abs() < 1e-6);
    assert!((volts("driver_v") - volts("driver_low_v") - 0.15).abs() < 1e-6);
    let string_cold_v = number(&run["copper"]["strings"][0]["driver_cold_v"]);
    // 35 K at 1.6 mV/K for three emitters, less the copper and leads that are colder: 1.5 m each way of 0.5 mm2, 0.00393 1/K.
    let leads_v = 0.7 * 2.0 * 1.5 / 0.5 / 58.0 * 0.00393 * 35.0;
    let colder = volts("cold_v") - string_cold_v - 3.0 * 0.0016 * 35.0 + leads_v;
    assert!(colder.abs() < 2e-3, "{colder}");
    assert_eq!(volts("cold_c"), -10.0);
    assert!((volts("cold_headroom_v") - (12.0 - volts("cold_high_v"))).abs() < 1e-12);
    // In words.
    let said = scratch.run(&["predict", "lamp", "--no-write"]).flat();
    for words in [
        "Sharing at 0.7 A string A 1 and string A 2 lie side by side and share",
        "At worst within the voltage tolerance, string A",
        "of a difference comes back",
        "6 to 12",
        "worst-case current of D",
        "driver voltage at a cold start of supply A",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[test]
fn a_driver_out_of_range_fails_its_limit() {
    for (change, what, words) in [
        (
            ("\"12 V\"", "\"8.5 V\""),
            "driver voltage at a cold start of supply A",
            "short when the lamp is switched on at -10 degC",
        ),
        (("\"6 V\"", "\"8.3 V\""), "least driver voltage, warm, of supply A", "may need"),
    ] {
        let scratch = Scratch::with_files(&changed(&[change]));
        let said = scratch.run(&["predict", "lamp", "--current", "0.7 A", "--no-write"]);
        assert_eq!(said.status, 1, "{}", said.out);
        assert!(said.flat().contains(words), "{}", said.flat());
        let json = scratch.run(&["predict", "lamp", "--current", "0.7 A", "--no-write", "--json"]).json();
        let limits = json["runs"][0]["limits"].as_array().unwrap();
        let limit = limits.iter().find(|limit| limit["what"] == what).unwrap();
        assert!(number(&limit["margin"]) < 0.0 && limit["unit"] == "V", "{limit}");
    }
    let scratch = Scratch::with_files(&changed(&[("\"6 V\"", "\"13 V\"")]));
    let said = scratch.run(&["check", "lamp"]);
    assert_eq!(said.status, 2);
    assert!(format!("{}{}", said.out, said.err).contains("voltage_least"), "{}{}", said.out, said.err);
}

#[test]
fn a_share_that_runs_away_is_told_with_where_it_begins() {
    let scratch = Scratch::with_files(&changed(&[("voltage_tolerance = \"0.05 V\"", "")]));
    let said = scratch.run(&["predict", "lamp", "--current", "0.1 A", "--current", "3.9 A", "--json"]);
    assert_eq!(said.status, 1, "{}{}", said.out, said.err);
    let findings = said.json();
    let [low, high] = [0, 1].map(|index| &findings["runs"][index]);
    let schema = include_str!("../../../docs/predict.schema.json");
    let faults = support::schema_check::faults(&findings, &serde_json::from_str(schema).unwrap(), &[]);
    assert!(faults.is_empty(), "{faults:#?}");
    assert_eq!(low["state"], "steady");
    let feedback = |run: &Value| number(&run["sharing"]["feedback"]);
    assert!(feedback(low) < 1.0 && feedback(high) > 1.0, "{} {}", feedback(low), feedback(high));
    assert_eq!(
        (&high["state"], &high["sharing"]["state"]),
        (&Value::from("runaway"), &Value::from("runaway"))
    );
    // The second string is cooled worse.
    assert_eq!(high["sharing"]["groups"][0]["runs_away"], "string A 2");
    let variant = &findings["variants"][0];
    assert_eq!(variant["runaway_of"], "sharing");
    let begins_a = number(&variant["runaway_current_a"]);
    assert!(begins_a > 0.1 && begins_a < 3.9, "{begins_a}");
    let said = scratch.run(&["predict", "lamp", "--current", "3.9 A", "--no-write"]).flat();
    assert!(said.contains("the sharing of the current runs away"), "{said}");
    assert!(said.contains("string A 2 takes ever more of it as it gets hotter"), "{said}");
    assert!(said.contains("of drive current the sharing does not last"), "{said}");
}
