//! The reference page and the JSON Schema of bench sheets, both from the key table.

use lamp::project::pages::{object, tables_page};
use serde_json::{Value, json};

use super::keys::{BENCH_KEYS, BENCH_TABLES};

/// The reference page in Markdown.
#[must_use]
pub fn keys_page() -> String {
    let mut page = String::from(
        "# Keys of bench sheets\n\nA bench sheet, `bench/NAME.toml`, says which column of which log is what. Written from the program's key table; values are\n\
         texts with their unit. `lampwright bench --sniff FILE` proposes a sheet for a log.\n",
    );
    tables_page(&mut page, BENCH_KEYS, BENCH_TABLES);
    page
}

/// JSON Schema (2020-12) of a bench sheet.
#[must_use]
pub fn sheet_schema() -> Value {
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "bench sheet",
        "description": "Which column of which log is what. Values are texts with their unit.",
        "type": "object",
        "properties": object(BENCH_KEYS, BENCH_TABLES, ""),
        "required": ["run", "channel"],
        "additionalProperties": false
    })
}
