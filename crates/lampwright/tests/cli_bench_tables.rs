//! `lampwright bench --csv`: tables that a spreadsheet reads, with the numbers of `--json`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use serde_json::Value;
use support::Scratch;

/// Head and rows, as the CSV library reads them.
fn table(text: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let words = |record: &csv::StringRecord| record.iter().map(str::to_owned).collect::<Vec<_>>();
    let head = words(reader.headers().unwrap());
    let rows = reader.records().map(|record| words(&record.unwrap())).collect();
    (head, rows)
}

/// A cell holds what the JSON has under the column's name.
fn same(cell: &str, value: &Value) -> bool {
    match value {
        Value::Null => cell.is_empty(),
        Value::Number(number) => cell.parse::<f64>().ok() == number.as_f64(),
        Value::Bool(yes) => cell == yes.to_string(),
        Value::String(text) => cell == text,
        Value::Array(list) if list.iter().all(Value::is_number) => {
            let read: Option<Vec<f64>> = cell.split_whitespace().map(|word| word.parse().ok()).collect();
            read == list.iter().map(Value::as_f64).collect()
        }
        // What went wrong, in words.
        Value::Array(list) => list.iter().all(|one| cell.contains(one["kind"].as_str().unwrap())),
        Value::Object(_) => false,
    }
}

fn hold(head: &[String], row: &[String], object: &Value) {
    for (name, cell) in head.iter().zip(row).filter(|(name, _)| object.get(name.as_str()).is_some()) {
        assert!(same(cell, &object[name]), "{name}: {cell:?}, {}", object[name]);
    }
}

#[test]
fn the_tables_are_the_json() {
    let scratch = Scratch::with_demo();
    // A name that must be quoted.
    scratch.edit("lamp/lamp.toml", "name = \"board sensor\"", "name = \"sensor, \\\"front\\\"\"");
    for sheet in ["plain", "core"] {
        scratch.edit(
            &format!("lamp/bench/{sheet}.toml"),
            "sensor = \"board sensor\"",
            "sensor = \"sensor, \\\"front\\\"\"",
        );
    }
    let said = scratch.run(&["bench", "lamp", "--csv", "--json"]);
    assert_eq!(said.status, 0, "{}{}", said.out, said.err);
    let found = said.json();
    let written: Vec<String> = scratch.files().into_keys().filter(|path| path.contains("results")).collect();
    assert_eq!(written, ["lamp/results/comparison.csv", "lamp/results/plateaus.csv"]);

    let (head, rows) = table(&scratch.read("lamp/results/plateaus.csv"));
    let plateaus = found["plateaus"].as_array().unwrap();
    assert_eq!(rows.len(), plateaus.len());
    // Everything but the remarks, which are sentences.
    let keys: Vec<&String> =
        plateaus[0].as_object().unwrap().keys().filter(|key| *key != "remarks").collect();
    assert!(keys.iter().all(|key| head.contains(key)) && keys.len() == head.len(), "{keys:?} {head:?}");
    for (row, plateau) in rows.iter().zip(plateaus) {
        hold(&head, row, plateau);
    }

    let (head, rows) = table(&scratch.read("lamp/results/comparison.csv"));
    let pair = &found["comparisons"][0];
    let differences: Vec<(&str, &Value)> = [("current", "at_equal_current"), ("heat", "at_equal_heat")]
        .iter()
        .flat_map(|(equal, key)| pair[key].as_array().unwrap().iter().map(|one| (*equal, one)))
        .collect();
    assert_eq!((rows.len(), differences.len()), (8, 8));
    for (row, (equal, difference)) in rows.iter().zip(differences) {
        hold(&head, row, pair);
        hold(&head, row, difference);
        assert_eq!(row[head.iter().position(|name| name == "equal").unwrap()], equal);
    }
}

#[test]
fn without_the_word_no_table_is_written_and_with_it_the_place_is_told() {
    let scratch = Scratch::with_demo();
    assert!(!scratch.run(&["bench", "lamp"]).out.contains("Written to"));
    assert!(scratch.files().keys().all(|path| !path.contains("results")));
    let said = scratch.run(&["bench", "lamp", "--csv"]).flat();
    assert!(said.contains("results: plateaus.csv, comparison.csv"), "{said}");
    scratch.write("other/lamp.toml", scratch.read("lamp/lamp.toml"));
    let refused = scratch.run(&["bench", "--sniff", "lamp/bench/plain.csv", "--csv"]);
    assert_eq!(refused.status, 2, "{}", refused.err);
}
