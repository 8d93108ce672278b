//! The generated pages of docs/ are those that the program's tables give today. With LAMPWRIGHT_WRITE_DOCS=1 this writes
//! them anew.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use std::fs;
use std::path::PathBuf;

use lampwright::schema;
use serde_json::Value;

fn docs() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs")
}

fn hold(name: &str, text: &str) {
    let place = docs().join(name);
    if std::env::var_os("LAMPWRIGHT_WRITE_DOCS").is_some() {
        fs::write(&place, text).expect("docs/ can be written");
    }
    let there = fs::read_to_string(&place).unwrap_or_default();
    assert!(
        there == text,
        "docs/{name} is not what the tables give; LAMPWRIGHT_WRITE_DOCS=1 cargo test -p lampwright --test documents writes it"
    );
}

fn hold_schema(name: &str, schema: &Value) {
    hold(name, &(serde_json::to_string_pretty(schema).expect("a schema is JSON") + "\n"));
}

#[test]
fn schemas_of_the_output_are_current() {
    hold_schema("predict.schema.json", &schema::predict());
    hold_schema("check.schema.json", &schema::check());
    hold_schema("artwork.schema.json", &schema::artwork());
    hold_schema("demo.schema.json", &schema::demo());
    hold_schema("new.schema.json", &schema::new());
    hold_schema("serve.schema.json", &schema::serve());
    hold_schema("bench.schema.json", &schema::bench());
    hold_schema("plan.schema.json", &schema::plan());
    hold_schema("record.schema.json", &schema::record());
    hold_schema("sniff.schema.json", &schema::sniff());
    hold_schema("fit.schema.json", &schema::fit());
    hold_schema("verdict.schema.json", &schema::verdict());
    hold_schema("failure.schema.json", &schema::failure());
}

#[test]
fn schemas_of_the_input_are_current() {
    hold_schema("lamp.schema.json", &lamp::project::pages::lamp_schema());
    hold_schema("emitter.schema.json", &lamp::project::pages::sheet_schema());
    hold_schema("bench-sheet.schema.json", &bench::mapping::pages::sheet_schema());
}

#[test]
fn the_page_of_keys_is_current() {
    hold("keys.md", &lamp::project::pages::keys_page());
    hold("bench-sheet.md", &bench::mapping::pages::keys_page());
}
