//! What `lampwright plan --json` prints.

use serde_json::Value;

use super::build::{
    always, count, document, list, number, number_or_null, numbers, object, or_null, text, word, yes_or_no,
};

/// The schema of `lampwright plan --json`.
#[must_use]
pub fn plan() -> Value {
    let sentences = |about: &str| list(about, text("A sentence."));
    document(
        "lampwright plan --json",
        object(
            "The bench test before it is made. Bands hold 95 % of the lamps drawn from the tolerances of lamp.toml.",
            vec![
                always("lamp", text("Name of the lamp.")),
                always("answers", sentences("The answer in sentences.")),
                always("sensor", text("Board sensor that is read.")),
                always("ambient_c", number("Room for which readings are expected, degC.")),
                always(
                    "order",
                    word("How the currents of a run follow one another.", &["mirrored", "rising", "random"]),
                ),
                always("seed", or_null(count("Number by which a random order comes again."))),
                always("mountings", count("How often each variant is mounted.")),
                always("dwell_s", number("Each current is held so long, s.")),
                always("settled_within_k", number("What is left of the last approach then at most, K.")),
                always("zero_s", number("Before the first current, without power, s.")),
                always("sampling_interval_s", number("Time between samples, s.")),
                always("sampling_reason", text("Why so.")),
                always("total_s", number("The whole test, cooling and changing boards included, s.")),
                always("variants", list("Each variant.", variant())),
                always("runs", list("The runs in their order: one board mounted once, each.", run())),
                always("differences", list("What variants are expected to differ by.", difference())),
                always("check_list", sentences("What to do, in order.")),
                always("cautions", sentences("What hurts.")),
                always("remarks", sentences("What else there is to say.")),
            ],
        ),
    )
}

fn variant() -> Value {
    object(
        "A variant: what it stores, what to expect, when to break off.",
        vec![
            always("variant", text("Variant.")),
            always("title", text("One line about it.")),
            always(
                "heat_capacity_j_per_k",
                number("Heat capacity of board, bond line, heatsink and fins, J/K."),
            ),
            always("slow_s", number("Slow time constant, an estimate, s.")),
            always("slow_at_most_s", number("The slowest within the tolerances, for which the dwell is, s.")),
            always("fast_s", number("Fast time constant at the sensor, an estimate, s.")),
            always("slow_part", number("Part of the sensor's rise that comes slowly.")),
            always("abort", or_null(abort())),
            always("expected", list("What to expect at each current.", expected())),
            always(
                "skipped",
                list(
                    "Currents that are not taken.",
                    object(
                        "One of them.",
                        vec![
                            always("current_a", number("Drive current, A.")),
                            always("why", text("Why not.")),
                        ],
                    ),
                ),
            ),
            always(
                "hot",
                list(
                    "Surfaces that burn within a minute of touch at the nominal current.",
                    object(
                        "One of them.",
                        vec![
                            always("surface", text("Which.")),
                            always("hottest_c", number("Its hottest place, degC.")),
                            always(
                                "burns_within",
                                word("Shortest contact that burns.", &["1 s", "10 s", "1 min"]),
                            ),
                        ],
                    ),
                ),
            ),
        ],
    )
}

fn abort() -> Value {
    object(
        "The sensor reading at which to break off; `lampwright record` takes the same.",
        vec![
            always("sensor", text("Sensor.")),
            always("current_a", number("Drive current for which it holds, A; careful at lower ones.")),
            always(
                "above_c",
                number("To be kept, degC: one lamp in forty meets its first limit at a lower reading."),
            ),
            always("likeliest_c", number("Reading of the likeliest lamp at its first limit, degC.")),
            always("output_v", number_or_null("Output of the sensor at above_c, V.")),
            always("output_ohm", number_or_null("Its resistance there, ohm.")),
            always("limit", word("What the likeliest lamp meets first.", &["junction", "solder", "board"])),
            always("limit_c", number("That limit, degC.")),
        ],
    )
}

fn expected() -> Value {
    object(
        "A current with what to expect.",
        vec![
            always("current_a", number("Drive current, A.")),
            always("sensor_c", number("Settled reading of the likeliest lamp, degC.")),
            always("low_c", number("Low end of its band, degC.")),
            always("high_c", number("High end, degC.")),
            always("output_v", or_null(numbers("The three as the sensor puts them out, V.", 3))),
            always("output_ohm", or_null(numbers("The three as resistances, ohm.", 3))),
            always("junction_c", number("Hottest junction of the likeliest lamp, degC.")),
            always("junction_high_c", number("High end of its band, degC.")),
            always("electrical_w", number("Electrical power of the emitters, W.")),
            always("heat_w", number("Their heat, W.")),
            always(
                "others",
                list(
                    "What further sensors show.",
                    object(
                        "A further sensor.",
                        vec![
                            always("sensor", text("Its name.")),
                            always("sensor_c", number("Settled reading of the likeliest lamp, degC.")),
                            always("low_c", number("Low end of its band, degC.")),
                            always("high_c", number("High end, degC.")),
                        ],
                    ),
                ),
            ),
        ],
    )
}

fn run() -> Value {
    object(
        "A run.",
        vec![
            always("run", count("Number, from 1.")),
            always("name", text("Name, also of its bench sheet.")),
            always("variant", text("Variant.")),
            always("mounting", count("Which mounting of this variant it is, from 1.")),
            always("duration_s", number("From its first sample to its last, s.")),
            always("cooling_s", number("Cooling afterwards until it may be touched, s.")),
            always(
                "steps",
                list(
                    "Its plateaus.",
                    object(
                        "A plateau.",
                        vec![
                            always("step", count("Number within the run, from 1.")),
                            always("current_a", number("Drive current, A.")),
                            always("start_s", number("When it is set, from the run's first sample, s.")),
                            always("dwell_s", number("How long it is held, s.")),
                            always("sensor_c", number("Expected settled reading, degC.")),
                            always("low_c", number("Low end of its band, degC.")),
                            always("high_c", number("High end, degC.")),
                            always("abort_above_c", number_or_null("Break off above, degC.")),
                        ],
                    ),
                ),
            ),
        ],
    )
}

fn difference() -> Value {
    object(
        "Two variants at equal current.",
        vec![
            always("variant", text("The one.")),
            always("other", text("The other.")),
            always("current_a", number("Drive current, A.")),
            always("difference_k", number("Rise of the one less that of the other, K.")),
            always("low_k", number("Low end of its band, K.")),
            always("high_k", number("High end, K.")),
            always("told_apart_k", number("What sensor, logger and dwell let one tell apart, K.")),
            always("seen", yes_or_no("Whether the difference is larger than that.")),
        ],
    )
}
