//! What `lampwright fit --json` and `lampwright verdict --json` print.

use serde_json::Value;

use super::build::{
    always, count, document, list, number, number_or_null, object, or_null, sometimes, text, text_or_null,
    word, yes_or_no,
};

/// The schema of `lampwright fit --json`.
#[must_use]
pub fn fit() -> Value {
    document(
        "lampwright fit --json",
        object(
            "The uncertain values fitted to the plateaus of the bench test. Ranges and doubts are of 95 %.",
            vec![
                always("answers", list("The answer in sentences.", text("A sentence."))),
                always("explains", yes_or_no("Whether the model explains the plateaus at 1 in 100.")),
                always(
                    "chi_square",
                    number("Sum of squares of the plateaus' residuals, in standard deviations."),
                ),
                always("chi_square_expected", number("What it would be on average if the model is right.")),
                always("p_value", number_or_null("Probability of a larger one if the model is right.")),
                always("converged", yes_or_no("Whether the search ended at a least sum of squares.")),
                always("values", list("The uncertain values.", value())),
                always(
                    "tied",
                    list(
                        "Pairs that the plateaus hardly tell apart.",
                        object(
                            "A pair.",
                            vec![
                                always("one", text("The first.")),
                                always("other", text("The second.")),
                                always("correlation", number("Their correlation, -1 to 1.")),
                            ],
                        ),
                    ),
                ),
                always("plateaus", list("Every plateau that was taken.", plateau())),
                always("junctions", list("The hottest junction at each plateau.", junction())),
                always(
                    "further",
                    list(
                        "What one more measurement would tell of the hottest junction at the nominal current, the best first.",
                        object(
                            "A measurement not yet made.",
                            vec![
                                always("what", text("What to measure.")),
                                always("doubt_now_k", number("Half the interval of the junction now, K.")),
                                always("doubt_with_it_k", number("And with it, K.")),
                            ],
                        ),
                    ),
                ),
                always(
                    "reduced_error_k",
                    number_or_null(
                        "Largest difference of the reduced model from the full one at the fitted values, K.",
                    ),
                ),
                always(
                    "remarks",
                    list("What was left out, and what else there is to say.", text("A sentence.")),
                ),
            ],
        ),
    )
}

fn value() -> Value {
    object(
        "A value before and after.",
        vec![
            always("value", text("Its name, as in [[uncertain]].")),
            always("variant", text_or_null("Whose it is; null: of all variants.")),
            always("sensor", text_or_null("The sensor whose error it is; null: the lamp's own.")),
            always(
                "unit",
                word(
                    "What it departs by: a factor on what lamp.toml says, or kelvin.",
                    &["factor", "kelvin"],
                ),
            ),
            always("fitted", number("Fitted.")),
            always("low", number("Low end.")),
            always("high", number("High end.")),
            always("prior_low", number("Low end before the plateaus.")),
            always("prior_high", number("High end before the plateaus.")),
            always("shrinkage", number("Standard deviation over that before; 1 where nothing was told.")),
            always("source", text("Where its spread before came from.")),
        ],
    )
}

fn plateau() -> Value {
    object(
        "A plateau beside what is predicted.",
        vec![
            always("run", text("Run.")),
            always("variant", text("Variant.")),
            always("sensor", text("Sensor.")),
            always("drive_current_a", number("Drive current, A.")),
            always("measured_k", number("Measured rise, K.")),
            always("standard_k", number("Its standard deviation as the fit took it, K.")),
            always("unfitted_k", number_or_null("Rise predicted from lamp.toml alone, K.")),
            always("predicted_k", number("Rise of the fitted model, K.")),
            always("residual_k", number("Predicted less measured, K.")),
            always("weight", number("The weight it had, 1 in full.")),
            always("from_the_others_k", number_or_null("Rise predicted from all other plateaus, K.")),
            always(
                "from_the_others_doubt_k",
                number_or_null("Half the interval of that less the measurement, K."),
            ),
        ],
    )
}

fn junction() -> Value {
    object(
        "The hottest junction at a plateau.",
        vec![
            always("run", text("Run.")),
            always("variant", text("Variant.")),
            always("drive_current_a", number("Drive current, A.")),
            always("emitter", text("Emitter.")),
            always("from_sensor_c", number("From the sensor through the fitted model, degC.")),
            always("from_sensor_doubt_k", number("Half its interval, K.")),
            always("from_voltage_c", number_or_null("By forward voltage, degC.")),
            always("from_voltage_doubt_k", number_or_null("Half its interval, K.")),
            always("combined_c", number("Both together, degC.")),
            always("combined_doubt_k", number("Half its interval, K.")),
            always("consistent", or_null(yes_or_no("Whether the two agree within their doubts."))),
        ],
    )
}

/// The schema of `lampwright verdict --json`.
#[must_use]
pub fn verdict() -> Value {
    document(
        "lampwright verdict --json",
        object(
            "What to set.",
            vec![
                always("lamp", text("Name of the lamp.")),
                always("verdicts", list("A verdict for each variant asked for.", one())),
            ],
        ),
    )
}

fn one() -> Value {
    object(
        "A verdict. Bands hold 95 % of the lamps drawn.",
        vec![
            always("variant", text("Variant.")),
            always("title", text("One line about it.")),
            always("fitted", yes_or_no("Whether a bench test is in it; else tolerances alone.")),
            always("nominal_current_a", number("The current the lamp is meant to run at, A.")),
            always("ambient_c", number("The room, degC.")),
            always("hottest_ambient_c", number("The hottest room, degC.")),
            always("drawn", count("Lamps drawn for the bands.")),
            always("answers", list("The answer in sentences.", text("A sentence."))),
            always(
                "passes",
                yes_or_no(
                    "Whether the likeliest lamp keeps to all limits at the nominal current in the hottest room; else the exit status is 1.",
                ),
            ),
            always("safe_currents", list("Highest safe drive current against the room.", safe_current())),
            always("throttle", or_null(throttle())),
            always("light", list("Light in the room and in the hottest one.", light())),
            always("life", list("How long the light lasts, where ageing tests are in the sheet.", life())),
            always("chance", or_null(chance())),
            always("weakest", or_null(weakest())),
            always(
                "changes",
                list(
                    "What a change buys, the best first.",
                    object(
                        "A change.",
                        vec![
                            always("what", text("What is changed.")),
                            always("saves_k", number("By how much the hottest junction becomes cooler, K.")),
                        ],
                    ),
                ),
            ),
            always("remarks", list("What else there is to say.", text("A sentence."))),
        ],
    )
}

fn safe_current() -> Value {
    object(
        "A point of the curve.",
        vec![
            always("ambient_c", number("Room, degC.")),
            always("current_a", number("Highest safe drive current of the likeliest lamp, A.")),
            always("low_a", number("Low end of the band, A.")),
            always("high_a", number("High end, A.")),
            always(
                "limited_by",
                word("What limits it.", &["junction", "solder", "board", "current", "runaway"]),
            ),
            always("emitter", text_or_null("At which emitter.")),
        ],
    )
}

fn throttle() -> Value {
    object(
        "The sensor reading at which the driver must throttle at the nominal current.",
        vec![
            always("sensor", text("Sensor.")),
            always("current_a", number("Drive current, A.")),
            always("reading_c", number("For the junctions alone, degC: the low end of the band.")),
            always(
                "likeliest_c",
                number("Reading of the likeliest lamp when its hottest junction is at the limit, degC."),
            ),
            always("high_c", number("High end of the band, degC.")),
            always(
                "first_limit_reading_c",
                number_or_null(
                    "The same for whichever of junction, solder and board meets its limit first, degC.",
                ),
            ),
            always(
                "first_limit",
                or_null(word("Which that is in the likeliest lamp.", &["junction", "solder", "board"])),
            ),
            sometimes(
                "output_v",
                number(
                    "Output of the sensor's law at the lower of reading_c and first_limit_reading_c, which is to be set, V.",
                ),
            ),
            sometimes("output_ohm", number("Its resistance there, ohm.")),
        ],
    )
}

fn light() -> Value {
    object(
        "Light at the nominal current.",
        vec![
            always("ambient_c", number("Room, degC.")),
            always("light_lm", number("Light of the likeliest lamp, lm.")),
            always("low_lm", number("Low end of the band, lm.")),
            always("high_lm", number("High end, lm.")),
            always("per_watt_lm_per_w", number("Per watt of the emitters' electrical power, lm/W.")),
            always(
                "above_binning_k",
                number("How far the hottest junction lies above the one of the binning, K."),
            ),
            always("binning_junction_c", number("Junction temperature of the binning, degC.")),
        ],
    )
}

fn life() -> Value {
    object(
        "How long the light lasts, after IES TM-21.",
        vec![
            always("emitter", text("Emitter.")),
            always("ambient_c", number("Room, degC.")),
            always("solder_c", number("Its solder point, degC.")),
            always("part", number("Part of the light that is left, 0.7 for L70.")),
            always("reported", text("As the procedure reports it.")),
            always("calculated_h", number_or_null("Calculated without the procedure's limit, h.")),
            always(
                "low_h",
                number_or_null("39 of 40 lamps last at least so long, h; never more than may be reported."),
            ),
            always("remarks", list("What must be said.", text("A sentence."))),
        ],
    )
}

fn chance() -> Value {
    object(
        "The chance that a lamp keeps to every limit.",
        vec![
            always("current_a", number("Drive current, A.")),
            always("ambient_c", number("Room, degC.")),
            always("passed", count("Drawn lamps that keep to every limit.")),
            always("of", count("All drawn.")),
            always("part", number("Part that passed, 0 to 1.")),
            always("low_95", number("Low end of its interval.")),
            always("high_95", number("High end.")),
        ],
    )
}

fn weakest() -> Value {
    object(
        "What meets its limit first at the nominal current in the hottest room.",
        vec![
            always("limit", word("Which limit.", &["junction", "solder", "board", "current"])),
            always("emitter", text_or_null("At which emitter.")),
            always("margin_k", number("How far below its limit, K; less than 0: above.")),
            always("low_k", number("Low end of the band, K.")),
            always("high_k", number("High end, K.")),
        ],
    )
}
