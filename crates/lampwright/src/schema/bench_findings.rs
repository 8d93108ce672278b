//! The part of `lampwright bench LAMP --json` that says what the bench test found.

use serde_json::Value;

use super::build::{
    Key, always, list, number, number_or_null, object, or_null, text, text_or_null, word, yes_or_no,
};

/// The keys beside the runs.
pub fn keys() -> Vec<Key> {
    vec![
        always(
            "answers",
            list("The answer in sentences: variants compared, then what went wrong.", text("A sentence.")),
        ),
        always(
            "plateaus",
            list(
                "Stretches at constant drive current: variants in the order of lamp.toml, then run by run.",
                plateau(),
            ),
        ),
        always("lamp_off", list("Sensors with the lamp off, before the first current.", off())),
        always("comparisons", list("Every pair of variants, sensor by sensor.", comparison())),
        always("findings_remarks", list("What else there is to say of the findings.", text("A sentence."))),
    ]
}

fn plateau() -> Value {
    object(
        "A plateau.",
        vec![
            always("run", text("Run.")),
            always("variant", text_or_null("The variant tested.")),
            always("sensor", text("Sensor of lamp.toml.")),
            always("drive_current_a", number_or_null("Drive current, A; null where nothing tells it.")),
            always("from_s", number("Begin, s from the first row.")),
            always("to_s", number("End, s.")),
            always("used_from_s", number("Begin of the part that was used, s.")),
            always("used_to_s", number("Its end, s.")),
            always(
                "ambient_c",
                number_or_null("Room at its end (mean of the last quarter) or as stated, degC."),
            ),
            always(
                "settled_sensor_c",
                number_or_null("Settled temperature of the sensor in that room, degC."),
            ),
            always("rise_k", number_or_null("Settled rise above the room, K; null where none can be told.")),
            always("rise_low_k", number_or_null("Low end of its 95 % interval, K.")),
            always("rise_high_k", number_or_null("High end of its 95 % interval, K.")),
            always("rise_standard_k", number_or_null("Standard uncertainty of the rise, K.")),
            always("remaining_k", number_or_null("What was left of the approach at the end, K.")),
            always("settled", yes_or_no("Whether less than 0.1 K was left.")),
            always(
                "time_constants_s",
                list("Time constants of the fitted approach, ascending.", number("A time constant, s.")),
            ),
            always("noise_k", number_or_null("Deviation of the readings from the fitted approach, K rms.")),
            always("minutes_more", number_or_null("How much longer to hold until it is settled, min.")),
            always("heat_w", number_or_null("Heat of the emitters, W.")),
            always("heat_doubt_w", number_or_null("Half its 95 % interval, W.")),
            always(
                "heat_from",
                or_null_word("Where the heat is from.", &["measured voltage", "emitter sheet"]),
            ),
            always(
                "resistance_k_per_w",
                number_or_null("Thermal resistance from board to ambient, K/W of heat."),
            ),
            always("resistance_doubt_k_per_w", number_or_null("Half its 95 % interval, K/W.")),
            always(
                "above_board_limit",
                yes_or_no("Whether it settles above the board's limit; the exit status is then 1."),
            ),
            always("anomalies", list("What went wrong, in the order of time.", anomaly())),
            always("remarks", list("What else there is to say.", text("A sentence."))),
        ],
    )
}

/// One of these words, or null.
fn or_null_word(about: &str, words: &[&str]) -> Value {
    let mut schema = or_null(word(about, words));
    if let Some(Value::Array(allowed)) = schema.get_mut("enum") {
        allowed.push(Value::Null);
    }
    schema
}

fn anomaly() -> Value {
    object(
        "Something that went wrong.",
        vec![
            always(
                "kind",
                word(
                    "What kind.",
                    &[
                        "change at constant current",
                        "fan loss",
                        "rising slope",
                        "emitter lets go",
                        "saturation",
                    ],
                ),
            ),
            always("at_s", number("When, s from the first row.")),
            always("text", text("What was seen, what it may mean, what to do.")),
        ],
    )
}

fn off() -> Value {
    object(
        "A sensor with the lamp off.",
        vec![
            always("run", text("Run.")),
            always("sensor", text("Sensor of lamp.toml.")),
            always("from_s", number("Begin, s from the first row.")),
            always("to_s", number("End, s.")),
            always("above_ambient_k", number("Sensor less room thermometer, K.")),
            always(
                "error_limit_k",
                number("How far the two may differ by that, K; the lamp follows a room that changes late."),
            ),
            always("text", text("What that means.")),
        ],
    )
}

fn comparison() -> Value {
    object(
        "Two variants by one sensor.",
        vec![
            always("sensor", text("Sensor of lamp.toml.")),
            always("first", text("The variant that stands first in lamp.toml.")),
            always("second", text("The other.")),
            always("sentences", list("What was found, the answer first.", text("A sentence."))),
            always(
                "clear_from_a",
                number_or_null("Smallest current from which on every difference exceeds its doubt, A."),
            ),
            always("at_equal_current", list("At equal current, ascending.", difference())),
            always("at_equal_heat", list("At equal heat, ascending.", difference())),
            always("price", or_null(price())),
        ],
    )
}

fn price() -> Value {
    let per_k = "null where the difference is not clear, or the cheaper board the cooler one";
    object(
        "What the dearer board's price buys, where both prices are stated; in their currency.",
        vec![
            always("first_price", number("Price of a board of the first variant.")),
            always("second_price", number("Price of a board of the second.")),
            always(
                "price_per_k",
                number_or_null(&format!("Price of a kelvin at the highest current held with both; {per_k}.")),
            ),
            always("price_per_k_low", number_or_null("Lower end of its 95 % interval.")),
            always("price_per_k_high", number_or_null("Upper end of its 95 % interval.")),
            always(
                "first_passed_limit",
                yes_or_no("Whether the first passed the board limit at a current that was used."),
            ),
            always("second_passed_limit", yes_or_no("Whether the second did.")),
        ],
    )
}

fn difference() -> Value {
    object(
        "A difference.",
        vec![
            always(
                "drive_current_a",
                number("Drive current, A; that of the first variant where heat is equal."),
            ),
            always("heat_w", number_or_null("Heat of both, W, where that is equal.")),
            always("first_rise_k", number("Rise of the first above the room, K.")),
            always("second_rise_k", number("Rise of the second, K.")),
            always("difference_k", number("First less second, K: what the second buys.")),
            always("difference_doubt_k", number("Half its 95 % interval, K.")),
        ],
    )
}
