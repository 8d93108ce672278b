//! The air side's part of what `lampwright predict --json` prints.

use serde_json::{Value, json};

use super::build::{
    always, count, list, number, number_or_null, numbers, object, or_null, text, text_or_null, word,
    yes_or_no,
};

/// A way by which watts leave.
pub(super) fn way_out() -> Value {
    let names =
        ["board_face", "board_back", "base_front", "base_back", "fins", "walls", "vents", "leads", "light"];
    object(
        "A way by which watts leave.",
        vec![
            always(
                "name",
                word(
                    "Which way: the board's emitter side and open back, the heatsink base beside the board and its back (fins where they are given), a housing's walls and vents, leads, light.",
                    &names,
                ),
            ),
            always("way", text("In plain words.")),
            always("heat_w", number("Watts.")),
            always(
                "convection_w",
                number_or_null(
                    "Of it by convection or a given film, W; null where not known apart, and for light.",
                ),
            ),
            always("radiation_w", number_or_null("Of it by radiation, W; null likewise.")),
            always(
                "part_of",
                text_or_null(
                    "Name of the way that this is a part of, in which it is counted; null: counted by itself.",
                ),
            ),
            always(
                "from_board",
                yes_or_no(
                    "Whether it is part of the heat into the board; the loss in leads and the light are not.",
                ),
            ),
        ],
    )
}

/// Fins, fan, vents and housing.
pub(super) fn air_side() -> Value {
    object(
        "The air side of a heatsink given by its dimensions; null else.",
        vec![
            always("back_c", number("Mean of the base's back, degC.")),
            always("k_per_w", number("From the base's back to the room, K/W.")),
            always("air_in_c", number("Air that meets the fins, degC.")),
            always("air_out_c", number_or_null("Air that leaves them, degC; null without a fan that turns.")),
            always("fins_k", number("What the fins and the air's film cost of the way to the room, K.")),
            always(
                "warming_k",
                number("What the warming of the air between the fins costs, K, mean over them."),
            ),
            always("housing_k", number("What warm air in a housing costs, K.")),
            always(
                "walls_w",
                number_or_null("Heat out of the housing through its walls, W; null without warm air in one."),
            ),
            always("vents_w", number_or_null("Heat out of it with the air through its vents, W.")),
            always("draught_l_per_s", number("Air through the housing's vents by its own draught, l/s.")),
            always("fan", or_null(fan())),
            always(
                "what_ifs",
                list(
                    "What changes of the cooling would do, each solved in full: for the run at the nominal current, else at the highest; \
                     empty for others and without a steady state.",
                    what_if(),
                ),
            ),
        ],
    )
}

fn fan() -> Value {
    let part = object(
        "A part of the pressure.",
        vec![always("what", text("What it is spent on.")), always("pressure_pa", number("Pa."))],
    );
    object(
        "The fan at work; null without one.",
        vec![
            always("count", count("How many alike.")),
            always("voltage_v", number("Voltage, V.")),
            always("rated_v", number("Rated voltage, V.")),
            always("stands", yes_or_no("Whether it stands for lack of voltage.")),
            always("flow_l_per_s", number("Flow of all of them at the operating point, l/s.")),
            always("pressure_pa", number("Pressure there, Pa.")),
            always(
                "speed_m_per_s",
                number_or_null(
                    "Air between the fins, m/s; null where a maker's table tells nothing of them.",
                ),
            ),
            always("reynolds", number_or_null("Reynolds number there.")),
            always("spent", list("What the pressure is spent on.", part)),
            always("curve", list("Fans at their voltage.", numbers("Flow, l/s, and pressure, Pa.", 2))),
            always("system", list("What the system asks for.", numbers("Flow, l/s, and pressure, Pa.", 2))),
        ],
    )
}

fn what_if() -> Value {
    object(
        "A change of the cooling.",
        vec![
            always("what", text("What is changed.")),
            always("steady", yes_or_no("Whether there is a steady state then.")),
            always(
                "k_per_w",
                number_or_null("From the base's back to the room then, K/W; null without a steady state."),
            ),
            always(
                "hotter_k",
                number_or_null(
                    "By how much the hottest junction becomes hotter (the board's hottest place without emitters), K; null without a steady state.",
                ),
            ),
            always(
                "hottest_junction_c",
                number_or_null("Hottest junction then, degC; null without emitters or a steady state."),
            ),
            always("flow_l_per_s", number_or_null("Flow of the fans then, l/s; null where none turns.")),
        ],
    )
}

/// A surface that can be touched.
pub(super) fn touch() -> Value {
    object(
        "A surface within reach.",
        vec![
            always("surface", text("Which.")),
            always("material", word("What the skin feels.", &["metal", "plastic"])),
            always("hottest_c", number("Its hottest place, degC.")),
            always("burns_in_1_s_c", number("From which temperature a touch of 1 s can burn, degC.")),
            always("burns_in_10_s_c", number("The same for 10 s.")),
            always("burns_in_1_min_c", number("The same for 1 min.")),
            always(
                "burns_within",
                json!({ "description": "The shortest of these contacts that can burn; null: none of them.", "enum": ["1 s", "10 s", "1 min", null] }),
            ),
            always("source", text("Where the thresholds come from.")),
        ],
    )
}
