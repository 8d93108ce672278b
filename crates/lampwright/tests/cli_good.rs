//! Good lamps, driven as a user drives the program.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use std::fs;

use support::{Scratch, flat};

#[test]
fn check_says_what_it_understood_and_writes_nothing() {
    let scratch = Scratch::with_demo();
    let before = scratch.files();
    let said = scratch.run(&["check", "lamp"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    for word in ["plain", "core", "D8", "white-3.5mm", "aluminium 5052"] {
        assert!(said.out.contains(word), "{word}: {}", said.out);
    }
    assert_eq!(scratch.files(), before);
}

#[test]
fn the_lamp_may_be_named_by_its_folder_or_by_its_text() {
    let scratch = Scratch::with_demo();
    let by_folder = scratch.run(&["check", "lamp", "--json"]);
    let by_text = scratch.run(&["check", "lamp/lamp.toml", "--json"]);
    assert_eq!((by_folder.status, by_text.status), (0, 0));
    assert_eq!(by_folder.json(), by_text.json());
}

#[test]
fn predict_answers_writes_its_results_and_nothing_else() {
    let scratch = Scratch::with_demo();
    let before = scratch.files();
    let said = scratch.run(&[
        "predict",
        "lamp",
        "--variant",
        "core",
        "--current",
        "0.7 A",
        "--current",
        "350 mA",
        "--json",
    ]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert_eq!(said.err, "", "no progress line where there is no terminal");
    let findings = said.json();
    let currents: Vec<f64> =
        findings["runs"].as_array().expect("runs").iter().filter_map(|r| r["current_a"].as_f64()).collect();
    assert_eq!(currents, [0.35, 0.7]);
    let mut after = scratch.files();
    let kept = after.remove("lamp/results/predict.json").expect("the result is kept");
    assert_eq!(String::from_utf8(kept).expect("text"), said.out);
    let table = String::from_utf8(after.remove("lamp/results/predict.csv").expect("the table is kept"))
        .expect("text");
    assert_eq!(table.lines().count(), 3, "{table}");
    assert_eq!(after, before, "nothing else is touched");
}

#[test]
fn predict_repeats_to_the_bit() {
    let scratch = Scratch::with_demo();
    let run = || {
        let mut found = scratch
            .run(&["predict", "lamp", "--variant", "core", "--current", "0.7", "--json", "--no-write"])
            .json();
        for run in found["runs"].as_array_mut().expect("runs") {
            run["seconds"] = 0.into();
        }
        found
    };
    assert_eq!(run(), run());
    assert!(!scratch.lamp().join("results").exists(), "--no-write writes nothing");
}

#[test]
fn the_text_and_the_json_say_the_same() {
    let scratch = Scratch::with_demo();
    let words = ["predict", "lamp", "--variant", "core", "--current", "1.05", "--no-write"];
    let text = scratch.run(&words);
    let json = scratch.run(&[&words[..], &["--json"]].concat()).json();
    assert_eq!(text.status, 0, "{}{}", text.out, text.err);
    let run = &json["runs"][0];
    let junction = run["hottest_junction_c"].as_f64().expect("steady");
    let emitter = run["hottest_emitter"].as_str().expect("named");
    assert!(
        text.flat().contains(&format!(
            "At 1.05 A and 25 degC the hottest junction, {emitter}, reaches {junction:.0}"
        )) || text.flat().contains(&format!(
            "At 1.05 A and 25 degC the hottest junction, {emitter}, reaches {junction:.1}"
        )),
        "{junction} is not in {}",
        text.out
    );
    let reading = run["sensors"][0]["reading_c"].as_f64().expect("a reading");
    let volts = run["sensors"][0]["output_v"].as_f64().expect("a law");
    assert!(
        (volts - (0.5 + 0.010 * reading)).abs() < 1e-9,
        "500 mV at 0 degC and 10 mV/K: {reading} degC, {volts} V"
    );
    assert!(text.out.contains(&format!("{volts:.3}")), "{}", text.out);
    let balance = run["energy_balance"]["relative_error"].as_f64().expect("printed");
    assert!(balance.abs() <= 1e-6, "{balance}");
    assert!(!text.out.contains('\u{1b}'), "no colour codes in a pipe");
}

#[test]
fn a_warmer_room_makes_a_hotter_lamp() {
    let scratch = Scratch::with_demo();
    let junction = |ambient: &str| {
        let words = [
            "predict",
            "lamp",
            "--variant",
            "core",
            "--current",
            "0.7 A",
            "--no-write",
            "--json",
            "--ambient",
            ambient,
        ];
        scratch.run(&words).json()["runs"][0]["hottest_junction_c"].as_f64().expect("steady")
    };
    let rise = junction("40 degC") - junction("15 degC");
    // Somewhat less than the room's 25 K, as warmer open faces give off more; or more, as warmer emitters give less light.
    assert!((20.0..30.0).contains(&rise), "{rise}");
}

#[test]
fn a_current_above_the_limit_of_the_sheet_ends_with_1() {
    let scratch = Scratch::with_demo();
    let over = scratch.run(&["predict", "lamp", "--variant", "core", "--current", "2.2 A", "--json"]);
    assert_eq!(over.status, 1, "{}{}", over.out, over.err);
    let findings = over.json();
    assert_eq!(findings["within_limits"], false);
    let limits = findings["runs"][0]["limits"].as_array().expect("limits");
    let current = limits.iter().find(|limit| limit["unit"] == "A").expect("the current is limited");
    let number = |key: &str| current[key].as_f64().expect("a number");
    assert!((number("found") - 2.2).abs() < 1e-9, "one string, all of its current: {current}");
    assert!(number("margin") < 0.0 && (number("limit") - 2.2 - number("margin")).abs() < 1e-9, "{current}");
    assert!(scratch.lamp().join("results/predict.json").exists(), "a lamp over its limit is still a result");
}

#[test]
fn a_board_limit_that_is_passed_ends_with_1_and_is_told() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "board = \"105 degC\"", "board = \"30 degC\"");
    let said = scratch.run(&["predict", "lamp", "--variant", "core", "--current", "1.05 A"]);
    assert_eq!(said.status, 1, "{}{}", said.out, said.err);
    assert!(said.flat().contains("Over its limit: board at"), "{}", said.out);
}

#[test]
fn a_new_lamp_checks_and_predicts_at_once() {
    let scratch = Scratch::new();
    let said = scratch.run(&["new", "mine"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(scratch.files().contains_key("mine/emitters/white-3.5mm.toml"));
    let checked = scratch.run(&["check", "mine"]);
    assert_eq!(checked.status, 0, "{}{}", checked.out, checked.err);
    let predicted = scratch.run(&["predict", "mine"]);
    assert_eq!(predicted.status, 0, "{}{}", predicted.out, predicted.err);
    assert!(predicted.flat().contains("At 0.7 A and 25 degC the hottest junction"), "{}", predicted.out);
}

#[test]
fn new_never_touches_what_is_there() {
    let scratch = Scratch::new();
    scratch.write("mine/notes.txt", "mine");
    let before = scratch.files();
    let said = scratch.run(&["new", "mine"]);
    assert_eq!(said.status, 2);
    assert!(said.err.contains("is not empty"), "{}", said.err);
    assert_eq!(scratch.run(&["new", "mine/notes.txt"]).status, 2);
    assert_eq!(scratch.files(), before);
}

#[test]
fn the_demo_unpacks_predicts_and_ends() {
    let scratch = Scratch::new();
    let said = scratch.run(&["demo", "--no-open"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    for word in ["plain: At 1.05 A and 25 degC", "core: At 1.05 A and 25 degC", "The way of the heat"] {
        assert!(said.flat().contains(word), "{word}: {}", said.out);
    }
    let files = scratch.files();
    assert!(files.keys().all(|path| path.starts_with("fossil-bench-lamp/")), "{:?}", files.keys());
    assert!(files.contains_key("fossil-bench-lamp/results/predict.json"));
}

#[test]
fn the_demo_keeps_what_was_changed() {
    let scratch = Scratch::with_demo();
    let sheet = "lamp/emitters/white-3.5mm.toml";
    scratch.edit(sheet, "# ", "# mine ");
    let changed = scratch.read(sheet);
    let said = scratch.run(&["demo", "--no-open", "--folder", "lamp", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert_eq!(said.json()["kept"], serde_json::json!(["emitters/white-3.5mm.toml"]));
    assert_eq!(scratch.read(sheet), changed);
}

#[test]
fn the_demo_is_never_mixed_with_other_files() {
    let scratch = Scratch::new();
    scratch.write("other/notes.txt", "mine");
    let before = scratch.files();
    let said = scratch.run(&["demo", "--no-open", "--folder", "other"]);
    assert_eq!(said.status, 2, "{}{}", said.out, said.err);
    assert_eq!(scratch.files(), before);
    // A lamp of the maker's own is predicted as it stands; no file of the demo is put beside it.
    scratch.run(&["new", "mine"]);
    let mut before = scratch.files();
    let said = scratch.run(&["demo", "--no-open", "--folder", "mine"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(said.flat().contains("left as it is"), "{}", said.out);
    let mut after = scratch.files();
    for files in [&mut before, &mut after] {
        files.retain(|path, _| !path.contains("/results/"));
    }
    assert_eq!(after, before);
}

#[test]
fn results_that_cannot_be_written_spoil_nothing() {
    let scratch = Scratch::with_demo();
    scratch.write("lamp/results", "a file in the way");
    let before = scratch.files();
    let said = scratch.run(&["predict", "lamp", "--variant", "core", "--current", "0.7", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(said.json()["within_limits"].is_boolean());
    assert!(flat(&said.err).contains("results cannot be written"), "{}", said.err);
    assert_eq!(scratch.files(), before);
}

#[cfg(unix)]
#[test]
fn a_folder_without_write_permission_is_answered_all_the_same() {
    use std::os::unix::fs::PermissionsExt;
    let scratch = Scratch::with_demo();
    fs::set_permissions(scratch.lamp(), fs::Permissions::from_mode(0o555)).expect("own folder");
    let said = scratch.run(&["predict", "lamp", "--variant", "core", "--current", "0.7"]);
    fs::set_permissions(scratch.lamp(), fs::Permissions::from_mode(0o755)).expect("own folder");
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    assert!(said.out.contains("hottest junction"), "{}", said.out);
    // The superuser may write all the same; everyone else is told.
    let written = scratch.lamp().join("results/predict.json").exists();
    assert_ne!(written, flat(&said.err).contains("cannot be written"), "{}", said.err);
}
