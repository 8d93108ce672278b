//! What any command prints with `--json` when it could not do its work.

use serde_json::{Value, json};

use super::build::{always, document, list, object, remark, word};

/// The schema of a told failure.
#[must_use]
pub fn failure() -> Value {
    let status =
        json!({ "description": "The program's exit status.", "type": "integer", "enum": [2, 3, 130] });
    document(
        "lampwright: a command that could not do its work",
        object(
            "Printed with --json instead of a result.",
            vec![
                always("failure", word("What kind it is.", &["bad input", "cancelled", "internal fault"])),
                always("exit_status", status),
                always("remarks", list("What was found, where, and what is allowed.", remark())),
            ],
        ),
    )
}
