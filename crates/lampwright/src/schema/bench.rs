//! What `lampwright bench --json` and `lampwright bench --sniff FILE --json` print.

use serde_json::Value;

use super::bench_findings;
use super::build::{
    always, count, document, list, number, number_or_null, object, remark, text, text_or_null, word,
    yes_or_no,
};

/// The schema of `lampwright bench LAMP --json`.
#[must_use]
pub fn bench() -> Value {
    document(
        "lampwright bench LAMP --json",
        object(
            "What the logs of the bench test hold and say.",
            [
                vec![always("lamp", text("Name of the lamp."))],
                bench_findings::keys(),
                vec![always("runs", list("A run for each bench sheet.", run()))],
            ]
            .into_iter()
            .flatten()
            .collect(),
        ),
    )
}

fn run() -> Value {
    object(
        "A run; without rows where an error stands against it.",
        vec![
            always("run", text("Name: that of the bench sheet.")),
            always("title", text("One line for headings.")),
            always("variant", text_or_null("The variant tested.")),
            always("notes", text_or_null("Notes of the sheet.")),
            always("logs", list("How each log is written.", log())),
            always("start", text_or_null("Date and time of the first row, such as 2026-03-01 14:05:06.")),
            always("start_is_utc", yes_or_no("Whether that is UTC; otherwise it is the logger's own clock.")),
            always("rows", count("Rows read.")),
            always("span_s", number("From the first row to the last, s.")),
            always("step_s", number_or_null("Time between two rows as a rule (median), s.")),
            always("gaps", list("Pauses in the rows, the first 100.", gap())),
            always("gap_count", count("Pauses in the rows.")),
            always("duplicate_rows", count("Rows with the time of an earlier one; not used.")),
            always("backward_rows", count("Rows with a time before an earlier one's; not used.")),
            always("lost_lines", count("Lines that could not be read.")),
            always("ambient_c", number_or_null("Room temperature given by the sheet, degC.")),
            always("fan_voltage_v", number_or_null("Fan voltage given by the sheet, V.")),
            always("drive_current_a", number_or_null("Drive current given by the sheet, A.")),
            always("steps", list("Drive currents set by the sheet.", step())),
            always("channels", list("Columns in the order of the sheet.", channel())),
            always("memory_bytes", count("Memory of the recording, bytes.")),
            always(
                "remarks",
                list("Everything that was noticed; an error stands against using the run.", remark()),
            ),
        ],
    )
}

fn detection() -> Value {
    object(
        "Something found out about a log.",
        vec![
            always("what", text("What was looked for.")),
            always("found", text("What it is.")),
            always("evidence", text("What shows it.")),
            always("certain", yes_or_no("Whether the evidence leaves no other way.")),
            always("key", text("Key of the bench sheet that tells it; empty where there is none.")),
        ],
    )
}

fn log() -> Value {
    object(
        "A log.",
        vec![
            always("file", text("Path in the lamp folder.")),
            always("detections", list("What was found out about it.", detection())),
        ],
    )
}

fn gap() -> Value {
    object(
        "A pause in the rows.",
        vec![
            always("from_s", number("When it began, s from the first row.")),
            always("length_s", number("How long it was, s.")),
        ],
    )
}

fn step() -> Value {
    object(
        "A drive current that was set.",
        vec![
            always("at_s", number("When, s from the first row.")),
            always("drive_current_a", number("To what, A.")),
        ],
    )
}

fn channel() -> Value {
    object(
        "A column of the logs.",
        vec![
            always("column", text("Its name in the log.")),
            always(
                "is",
                word(
                    "What it is of.",
                    &[
                        "sensor",
                        "drive current",
                        "voltage",
                        "ambient",
                        "cold junction",
                        "fan voltage",
                        "other",
                    ],
                ),
            ),
            always("sensor", text_or_null("Sensor of lamp.toml.")),
            always("unit", text("Unit of the values here; empty where not known.")),
            always("values", count("Values that can be used.")),
            always("missing", count("Rows without a reading.")),
            always("saturated", count("Rows whose reading was out of the logger's range.")),
            always("least", number_or_null("Least value.")),
            always("largest", number_or_null("Largest value.")),
            always("mean", number_or_null("Mean of the values.")),
            always(
                "least_c",
                number_or_null(
                    "Least temperature by the sensor's law, degC; null where the column is no output of a sensor.",
                ),
            ),
            always("largest_c", number_or_null("Largest temperature by the law, degC.")),
            always("mean_c", number_or_null("Temperature of the mean by the law, degC.")),
        ],
    )
}

/// The schema of `lampwright bench --sniff FILE --json`.
#[must_use]
pub fn sniff() -> Value {
    let column = object(
        "A column of the log.",
        vec![
            always("name", text("Name, without its unit.")),
            always("unit", text_or_null("Unit as written.")),
            always("kind", word("What it holds.", &["numbers", "time", "words", "empty"])),
            always("example", text("A cell of it.")),
        ],
    );
    document(
        "lampwright bench --sniff FILE --json",
        object(
            "A log, and a bench sheet for it.",
            vec![
                always("file", text("The log, as typed.")),
                always(
                    "sheet",
                    text(
                        "Text of a bench sheet; what must be answered stands in it as a comment with a question mark.",
                    ),
                ),
                always("detections", list("What was found out about the log.", detection())),
                always("columns", list("Its columns.", column)),
                always("remarks", list("What was noticed.", remark())),
            ],
        ),
    )
}
