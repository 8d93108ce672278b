//! `lampwright bench`: logs of the bench test, as a maker uses it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use support::Scratch;

#[test]
fn the_demo_logs_are_understood() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["bench", "lamp"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let text = said.flat();
    for words in [
        "2 runs read: 1 warning",
        "plain: first evening, FR4 board",
        "Variant plain. 8 700 rows over 2.42 h, one every 1 s, from bench/plain.csv. Begun 2026-02-14 18:02:00 by the logger's clock.",
        "One gap, of 171 s at 51.65 min.",
        "bench/core.csv:3105: warning: a gap of 171 s ends here",
        "board sensor",
        "Notes: Fan lead slipped off",
    ] {
        assert!(text.contains(words), "{words}: {}", said.out);
    }
    let found = scratch.run(&["bench", "lamp", "plain", "--json"]).json();
    assert_eq!(found["runs"].as_array().map(Vec::len), Some(1));
    let run = &found["runs"][0];
    assert_eq!(
        (run["rows"].as_u64(), run["step_s"].as_f64(), run["variant"].as_str()),
        (Some(8700), Some(1.0), Some("plain"))
    );
    let sensor = &run["channels"][0];
    // 0.5 V + 10 mV/K: the law of the demo's sensor, by hand.
    let (volts, celsius) = (sensor["largest"].as_f64().unwrap(), sensor["largest_c"].as_f64().unwrap());
    assert!((celsius - (volts - 0.5) / 0.010).abs() < 1e-9, "{volts} V, {celsius} degC");
    assert!(scratch.files().keys().all(|path| !path.contains("results")), "nothing is written");
}

#[test]
fn a_proposed_sheet_reads_its_log_again() {
    let scratch = Scratch::with_demo();
    let said = scratch.run(&["bench", "lamp", "--sniff", "lamp/bench/plain.csv"]);
    assert_eq!(said.status, 0, "{}", said.err);
    for words in
        ["# ? which board", "decimal = \"comma\"", "is = \"drive current\"", "sensor = \"board sensor\""]
    {
        assert!(
            said.out.contains(words) || support::flat(&said.out).contains(words),
            "{words}: {}",
            said.out
        );
    }
    let answered = said.out.replace("# variant = \"\"", "variant = \"plain\"");
    scratch.write("lamp/bench/again.toml", answered);
    let again = scratch.run(&["bench", "lamp", "again", "--json"]);
    assert_eq!(again.status, 0, "{}{}", again.out, again.err);
    let (again, first) = (again.json(), scratch.run(&["bench", "lamp", "plain", "--json"]).json());
    let means = |found: &serde_json::Value| -> Vec<(String, String)> {
        let channels = found["runs"][0]["channels"].as_array().unwrap().clone();
        channels.iter().map(|c| (c["is"].to_string(), c["mean"].to_string())).collect()
    };
    assert_eq!(means(&again), means(&first));
}

#[test]
fn what_is_wrong_ends_with_2_and_its_place() {
    let scratch = Scratch::with_demo();
    let wrong = |edit: (&str, &str, &str), says: &[&str]| {
        scratch.edit(edit.0, edit.1, edit.2);
        let said = scratch.run(&["bench", "lamp", "plain"]);
        assert_eq!(said.status, 2, "{}{}", said.out, said.err);
        for word in says {
            assert!(support::flat(&said.out).contains(word), "{word}: {}", said.out);
        }
        scratch.edit(edit.0, edit.2, edit.1);
    };
    let sheet = "lamp/bench/plain.toml";
    wrong(
        (sheet, "variant = \"plain\"", "varient = \"plain\""),
        &["bench/plain.toml:6:1: error: unknown key", "\"variant\""],
    );
    wrong((sheet, "column = \"U1\"", "column = \"U7\""), &["no column \"U7\"", "2 \"U1\""]);
    wrong((sheet, "\"plain.csv\"", "\"plane.csv\""), &["bench/plane.csv: error: cannot be read"]);
    wrong(
        (sheet, "is = \"ambient\"", "is = \"voltage\""),
        &["\"ambient\" is in degC, and voltage is a voltage"],
    );
    let said = scratch.run(&["bench", "lamp", "evening"]);
    assert_eq!(said.status, 2);
    assert!(support::flat(&said.err).contains("it has core, plain"), "{}", said.err);
    scratch.write("lamp/bench/plain.csv", "Dear sir,\nnothing enclosed.\n");
    let said = scratch.run(&["bench", "lamp", "plain"]);
    assert_eq!(said.status, 2);
    assert!(said.flat().contains("no line of values"), "{}", said.out);
}

#[test]
fn what_is_no_log_cannot_be_sniffed_at() {
    let scratch = Scratch::new();
    scratch.write("letter.txt", "Dear sir,\nnothing enclosed.\n");
    scratch.write("empty.csv", "");
    for (file, why) in [
        ("letter.txt", "no line of values"),
        ("empty.csv", "is empty"),
        ("nowhere.csv", "cannot be read"),
        (".", "not a file"),
    ] {
        let said = scratch.run(&["bench", "--sniff", file]);
        assert_eq!(said.status, 2, "{file}");
        assert!(support::flat(&said.err).contains(why), "{file}: {}", said.err);
    }
    let lamp = Scratch::with_files(&lampwright::commands::starting_files());
    let said = lamp.run(&["bench", "lamp"]);
    assert_eq!(said.status, 2);
    assert!(support::flat(&said.err).contains("--sniff"), "{}", said.err);
}

/// Open questions are asked in the sheet, and the exit status is that of an answer.
#[test]
fn an_open_date_is_asked_in_the_sheet() {
    let scratch = Scratch::new();
    let rows: String = (0..20).map(|s| format!("03/04/2026 10:00:{s:02};{}.5\n", 20 + s)).collect();
    scratch.write("a.csv", format!("time;T (degC)\n{rows}"));
    let said = scratch.run(&["bench", "--sniff", "a.csv"]);
    assert_eq!(said.status, 0, "{}", said.err);
    assert!(said.flat().contains("# date_order = \"day first\" # ? 03/04/2026"), "{}", said.out);
}
