//! The parts of `lampwright predict --json` about supplies and branches that share a current.

use serde_json::Value;

use super::build::{
    always, list, number, number_or_null, object, or_null, text, text_or_null, word, yes_or_no,
};

/// How branches side by side share the current.
pub fn sharing() -> Value {
    object(
        "How branches side by side share the current by their voltages; null where none do or shares are given by hand.",
        vec![
            always("state", word("Whether the division of the current lasts.", &["steady", "runaway"])),
            always(
                "feedback",
                number(
                    "How much of a temperature difference between branches comes back through their currents, where junctions are equal: below 1 differences grow to 1 / (1 - feedback) of themselves, from 1 on they grow of their own.",
                ),
            ),
            always("groups", list("Branches side by side, the outermost first.", group())),
            always("remarks", list("What is left out and why.", text("In words."))),
        ],
    )
}

fn group() -> Value {
    object(
        "Branches side by side.",
        vec![
            always("branches", list("The branches, in project order.", branch())),
            always(
                "cold_imbalance_percent",
                number(
                    "How far the largest branch current lies above their mean at the first moment, all junctions at room temperature, %.",
                ),
            ),
            always(
                "imbalance_percent",
                number_or_null("The same settled, %; null where the division does not last."),
            ),
            always(
                "runs_away",
                text_or_null("The branch that takes ever more; where all are alike, any of them may."),
            ),
            always("worst", or_null(worst())),
        ],
    )
}

fn branch() -> Value {
    object(
        "A branch.",
        vec![
            always("name", text("The string's or supply's name, or how its emitters hang together.")),
            always("emitters", list("References of its emitters.", text("Reference."))),
            always("cold_a", number("Current at the first moment, A.")),
            always("current_a", number_or_null("Current settled, A.")),
            always("hottest_junction_c", number_or_null("Its hottest junction settled, degC.")),
        ],
    )
}

fn worst() -> Value {
    object(
        "The worst case of the voltage tolerance: one branch's emitters at its low edge and all others' at the high one; of the branches, the one for which an emitter comes nearest to its current limit. Null without a tolerance.",
        vec![
            always("branch", text("The branch at the low edge.")),
            always("cold_a", number("Its current at the first moment, A.")),
            always("cold_imbalance_percent", number("How far that lies above the branches' mean, %.")),
            always("current_a", number_or_null("Its current settled, A; null where it takes ever more.")),
            always("imbalance_percent", number_or_null("How far that lies above the mean, %.")),
            always("feedback", number("Feedback in this case.")),
            always("runs_away", yes_or_no("Whether the branch takes ever more.")),
            always("emitter", text("Reference of its emitter nearest to the current limit.")),
            always(
                "emitter_a",
                number(
                    "Current of that emitter settled, A; where the branch takes ever more, what it has with all of the current.",
                ),
            ),
            always("emitter_limit_a", number("Current limit of its sheet, A.")),
            always(
                "hottest_emitter",
                text_or_null("Reference of the branch's emitter nearest to its junction limit."),
            ),
            always("hottest_junction_c", number_or_null("That junction, degC.")),
            always("junction_limit_c", number_or_null("Limit of its sheet, degC.")),
        ],
    )
}

/// What a supply's driver must give, and what it can.
pub fn supply() -> Value {
    object(
        "What a supply's driver must give, leads and copper included, and what it can. Null where a string's voltage is not known, or the driver's range is not given.",
        vec![
            always("name", text("Name.")),
            always("current_a", number("Current, A.")),
            always("lead_loss_w", number_or_null("Loss in both leads, W.")),
            always(
                "lead_c",
                number_or_null(
                    "Temperature of the leads, degC: bare wires on their own in still air. Insulated ones are cooler, those in a bundle hotter.",
                ),
            ),
            always("driver_v", number_or_null("Settled, emitters as their sheets say, V.")),
            always(
                "driver_low_v",
                number_or_null("Settled, all emitters at the low edge of their voltage tolerance, V."),
            ),
            always("driver_high_v", number_or_null("Settled, all emitters at the high edge, V.")),
            always(
                "cold_c",
                number("Room of the cold start, degC: the coldest that is given, else the run's."),
            ),
            always(
                "cold_v",
                number_or_null("At the first moment in that room, emitters as their sheets say, V."),
            ),
            always("cold_high_v", number_or_null("The same with all emitters at the high edge, V.")),
            always("voltage_least_v", number_or_null("Least voltage the driver can give, V.")),
            always("voltage_most_v", number_or_null("Most voltage the driver can give, V.")),
            always(
                "headroom_v",
                number_or_null("Most voltage less driver_high_v, V; negative: the driver cannot give it."),
            ),
            always("cold_headroom_v", number_or_null("Most voltage less cold_high_v, V.")),
            always(
                "least_headroom_v",
                number_or_null(
                    "driver_low_v less the least voltage, V; negative: the driver cannot go so low.",
                ),
            ),
        ],
    )
}
