//! What `lampwright new --json` and `lampwright demo --json` print.

use serde_json::{Value, json};

use super::build::{always, document, list, object, text};

/// The schema of `lampwright new --json`.
#[must_use]
pub fn new() -> Value {
    document(
        "lampwright new --json",
        object(
            "The lamp folder that was started.",
            vec![
                always("folder", text("The folder, as typed.")),
                always(
                    "files",
                    list("What was written, inside the folder.", text("Path inside the folder.")),
                ),
            ],
        ),
    )
}

/// The schema of `lampwright demo --json`; the findings are those of predict.schema.json.
#[must_use]
pub fn demo() -> Value {
    document(
        "lampwright demo --json",
        object(
            "The invented lamp: where it is, and its prediction.",
            vec![
                always("folder", text("The folder, as typed.")),
                always("written", list("Files that were written now.", text("Path inside the folder."))),
                always(
                    "kept",
                    list("Files that differ from the demo's and were kept.", text("Path inside the folder.")),
                ),
                always("findings", json!({ "$ref": "predict.schema.json" })),
            ],
        ),
    )
}

/// The schema of `lampwright serve --json`.
#[must_use]
pub fn serve() -> Value {
    document(
        "lampwright serve --json",
        object(
            "Printed once the page can be opened.",
            vec![always("url", text("Address of the page on this machine."))],
        ),
    )
}
