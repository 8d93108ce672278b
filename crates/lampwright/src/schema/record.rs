//! What `lampwright record --json` prints.

use serde_json::{Value, json};

use super::build::{
    always, count, document, list, number, number_or_null, numbers, object, or_null, text, text_or_null,
    word, yes_or_no,
};

/// The schema of `lampwright record --json`.
#[must_use]
pub fn record() -> Value {
    document(
        "lampwright record --json",
        object(
            "Printed at the end of a recording.",
            vec![
                always("lamp", text("Name of the lamp.")),
                always("run", text("Name of the run.")),
                always("variant", text_or_null("Variant on the bench.")),
                always("log", text("Log, inside the lamp folder.")),
                always("sheet", text("Bench sheet, inside the lamp folder.")),
                always("source", text("Where the lines came from.")),
                always("time_from", text_or_null("Where the times came from; null where no row came.")),
                always("samples_written", count("Samples that are in the log now, of this recording.")),
                always("samples_lost", count("Samples that the disk did not take to the end.")),
                always("lines_left_out", count("Lines that held no sample.")),
                always(
                    "samples_out_of_order",
                    count("Samples whose time was not after the one before; recorded, not watched."),
                ),
                always("resumed", yes_or_no("Whether a run that was there was gone on with.")),
                always("gap_s", number_or_null("Pause before the first new sample of such a run, s.")),
                always("cut_bytes", count("Bytes of half a line that were cut off its end.")),
                always("plateaus", list("Plateaus with the lamp on, as they were seen.", plateau())),
                always("highest_sensor_c", number_or_null("Highest reading of the board sensor, degC.")),
                always("abort", or_null(abort())),
                always("samples_above_abort", count("Samples above the abort point.")),
                always("ended_above_abort", yes_or_no("Whether the last reading was above it.")),
                always("ended_by", text("Why it ended.")),
                always("notices", list("What happened meanwhile, the first 200.", text("A sentence."))),
            ],
        ),
    )
}

fn plateau() -> Value {
    object(
        "A plateau as it was seen while it ran.",
        vec![
            always("plateau", count("Number, from 1.")),
            always("drive_current_a", number_or_null("Drive current, A, where known.")),
            always("held_s", number("How long it was held, s.")),
            always("sensor_c", number_or_null("Last reading of the board sensor, degC.")),
            always("settled_c", number_or_null("What it settles to, degC; null where it was too short.")),
            always(
                "settled_interval_c",
                json!({ "description": "95 % interval of that, degC.", "anyOf": [numbers("Low and high.", 2), { "type": "null" }] }),
            ),
            always("minutes_more", number_or_null("How much longer until it is settled, min; 0 when it is.")),
        ],
    )
}

fn abort() -> Value {
    object(
        "When to break off.",
        vec![
            always("above_c", number("Highest reading of the board sensor, degC.")),
            always("from", word("Where it comes from.", &["given", "predicted"])),
            always("limit", text_or_null("Which limit it keeps; null where it was given.")),
            always("limit_c", number_or_null("That limit, degC.")),
        ],
    )
}
