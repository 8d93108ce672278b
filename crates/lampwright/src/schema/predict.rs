//! What `lampwright predict --json` prints: the findings, key for key.

use serde_json::{Value, json};

use super::air;
use super::build::{
    Key, always, count, document, list, number, number_or_null, numbers, object, or_null, remark, sometimes,
    text, text_or_null, word, yes_or_no,
};

/// The schema of `lampwright predict --json`.
#[must_use]
pub fn predict() -> Value {
    document(
        "lampwright predict --json",
        object(
            "The prediction: temperatures, light and heat at each drive current, for each variant.",
            vec![
                always("lamp", text("Name of the lamp.")),
                always("runs", list("Variants in project order, currents ascending.", run())),
                always("variants", list("What holds for a variant at every current.", variant())),
                always("remarks", list("What was noticed about the lamp as a whole.", remark())),
                always(
                    "within_limits",
                    yes_or_no(
                        "Whether every run keeps every limit and no shared current runs away, the worst case of the voltage tolerance included; exit status 1 when not.",
                    ),
                ),
            ],
        ),
    )
}

fn variant() -> Value {
    object(
        "A variant.",
        vec![
            always("variant", text("Short name.")),
            always("title", text("One line for headings.")),
            always(
                "runaway_current_a",
                number_or_null("Smallest drive current without a steady state, A; null: none was found."),
            ),
            always(
                "runaway_searched_to_a",
                number("How far the search for a runaway went, A of drive current."),
            ),
            always(
                "runaway_of",
                json!({
                    "description": "What runs away at runaway_current_a: the heat, or the sharing of a current between branches side by side; null: nothing.",
                    "enum": ["heat", "sharing", null]
                }),
            ),
        ],
    )
}

fn run() -> Value {
    object(
        "One steady state: a variant at a drive current.",
        [powers(), temperatures(), parts(), effort()].into_iter().flatten().collect(),
    )
}

fn powers() -> Vec<Key> {
    vec![
        always("variant", text("Short name of the variant.")),
        always("current_a", number("Drive current, A: each string's or the lamp's, as lamp.toml says.")),
        always("ambient_c", number("Room temperature, degC.")),
        always(
            "state",
            word(
                "Whether there is a steady state; without one, temperatures are null.",
                &["steady", "runaway"],
            ),
        ),
        always("electrical_w", number("Electrical power into the emitters, W.")),
        always("heat_w", number("Heat into the board, heat patches and loss in the copper included, W.")),
        always("radiant_w", number("Radiant power, W.")),
        always("light_lm", number("Luminous flux, lm.")),
    ]
}

fn temperatures() -> Vec<Key> {
    vec![
        always("sensors", list("What each sensor reads.", sensor())),
        always("hottest_board_c", number_or_null("Hottest place of the board's emitter side, degC.")),
        always("hottest_board_at_mm", or_null(numbers("Where that is: x, y in artwork coordinates, mm.", 2))),
        always("hottest_solder_c", number_or_null("Hottest solder point, degC.")),
        always("hottest_junction_c", number_or_null("Hottest junction, degC.")),
        always("hottest_emitter", text_or_null("Reference of the emitter with the hottest junction.")),
    ]
}

fn parts() -> Vec<Key> {
    vec![
        always("emitters", list("Per emitter, in project order.", emitter())),
        always("heat_patches", list("Per heat patch, in project order.", heat_patch())),
        always("copper", or_null(copper())),
        always("sharing", or_null(super::sharing::sharing())),
        always("bond", or_null(bond())),
        always("limits", list("Limits with their margins, smallest margin first.", limit())),
        always(
            "ways_out",
            list(
                "Where every watt leaves: the heat's ways, largest first, each followed by its parts; then leads and light.",
                air::way_out(),
            ),
        ),
        always("ways_out_w", number("Sum of the ways that are no part of another, W: all that comes in.")),
        always("air_side", or_null(air::air_side())),
        always("touch", list("Surfaces that can be touched, against burn thresholds.", air::touch())),
        always("energy_balance", energy_balance()),
    ]
}

fn effort() -> Vec<Key> {
    vec![
        always("cells", count("Number of grid cells.")),
        always("pitch_mm", number("Finest in-plane pitch of the grid, mm.")),
        always(
            "grid_error_k",
            number("Estimated error of the hottest temperatures that comes from the grid, K."),
        ),
        always("iterations", count("Iterations of the linear solver, all steps together.")),
        always("seconds", number("Wall time of this run, s.")),
        always("remarks", list("What was noticed about this run.", remark())),
    ]
}

fn contact_what_if() -> Value {
    object(
        "A change of the contact between board and heatsink.",
        vec![
            always(
                "what",
                text(
                    "What is changed: without burrs, without bow, flat and free of burrs, no contact under an emitter.",
                ),
            ),
            always("steady", yes_or_no("Whether there is a steady state then.")),
            always(
                "hotter_k",
                number_or_null(
                    "By how much the hottest junction (without emitters the board's hottest place) is hotter, K; less than 0: cooler; null without a steady state.",
                ),
            ),
            always("hottest_junction_c", number_or_null("Hottest junction then, degC.")),
            always("hottest_emitter", text_or_null("Reference of its emitter.")),
            always(
                "under",
                text_or_null(
                    "Reference of the emitter under which contact is missing, where that is the change.",
                ),
            ),
            always("there_hotter_k", number_or_null("By how much its own junction is hotter, K.")),
        ],
    )
}

fn bond() -> Value {
    object(
        "The bond line as built: the gap between board and heatsink base, and what is in it; null without one.",
        vec![
            always("kind", word("What it is.", &["grease", "pad", "tape", "adhesive"])),
            always(
                "mean_um",
                number_or_null("Mean gap where there is a film, µm; null where only a resistance is given."),
            ),
            always("least_um", number_or_null("Least gap, µm.")),
            always("least_at_mm", or_null(numbers("Where that is: x, y in artwork coordinates, mm.", 2))),
            always("greatest_um", number_or_null("Greatest gap, µm.")),
            always("greatest_at_mm", or_null(numbers("Where that is: x, y in artwork coordinates, mm.", 2))),
            always("area_mm2", number("Area over which board and base lie over each other, mm².")),
            always("part_contact", number("Part of it where the film is at its least thickness, 0 to 1.")),
            always("part_filled", number("Part of it where the gap is wider and filled, 0 to 1.")),
            always("part_air", number("Part of it where the film does not fill the gap, 0 to 1.")),
            always(
                "part_untouched",
                number("Part of it without film: beside pedestals, or told to have no contact, 0 to 1."),
            ),
            always("resistance_m2k_per_w", number("Resistance times area of the whole, m²K/W.")),
            always(
                "least_resistance_m2k_per_w",
                number("The same at the good ends of the film's tolerances, m²K/W."),
            ),
            always("greatest_resistance_m2k_per_w", number("The same at their bad ends, m²K/W.")),
            always(
                "doubt_k",
                number_or_null(
                    "How much hotter the hottest junction is at the bad ends, K; null without tolerances.",
                ),
            ),
            always(
                "burrs_cost_k",
                number_or_null(
                    "How much hotter the hottest junction is for the burrs, K; null without burrs, or where not asked.",
                ),
            ),
            always(
                "bow_costs_k",
                number_or_null("How much hotter it is for the bow, K; null without bow, or where not asked."),
            ),
            always(
                "screw_pull_n",
                number_or_null(
                    "Greatest pull that a screw must give to hold the board as told, N; null where nothing bends it.",
                ),
            ),
            always(
                "what_ifs",
                list(
                    "What changes of the contact would do, each solved in full; empty unless asked (--contact), which asks it at the nominal current.",
                    contact_what_if(),
                ),
            ),
            always(
                "remarks",
                list(
                    "What the model of the bond line leaves out, and what stands against it.",
                    text("A sentence."),
                ),
            ),
        ],
    )
}

fn copper() -> Value {
    object(
        "What the copper that carries the current costs; null where the strings are not traced.",
        vec![
            always("loss_w", number("Loss in copper and plated holes, W; part of the heat into the board.")),
            always("barrels_w", number("Of it in plated holes, W.")),
            always("leads_w", number("Loss in the supplies' leads, beside the board, W.")),
            always(
                "part_of_electrical",
                number(
                    "Loss in the copper over the electrical power of emitters, copper and leads together.",
                ),
            ),
            always(
                "drivers_w",
                number_or_null(
                    "What all drivers give, W: emitters, copper and leads; null where a string's voltage is not known.",
                ),
            ),
            always("hottest", or_null(hot_copper())),
            always("strings", list("The strings, in project order.", string())),
            always(
                "supplies",
                list(
                    "What each supply's driver must give, and what it can, in project order.",
                    super::sharing::supply(),
                ),
            ),
            always("islands", list("Copper that carries current, largest loss first.", island())),
            always("necks", list("Narrow places that carry current, densest first.", neck())),
            always(
                "ipc_2221_is",
                text("What the IPC-2221 rule beside the necks is made for, and its limits."),
            ),
            always("pixel_mm", number("Side of the pixels in which the copper was solved, mm.")),
            always("remarks", list("What is left out and why.", text("In words."))),
        ],
    )
}

fn hot_copper() -> Value {
    object(
        "The hottest place of all copper that carries current.",
        vec![
            always("layer", text("Its layer.")),
            always("at_mm", numbers("Where it is: x, y in artwork coordinates, mm.", 2)),
            always("temperature_c", number("Its temperature, degC.")),
        ],
    )
}

fn string() -> Value {
    object(
        "A string's voltages.",
        vec![
            always("name", text("Name.")),
            always("emitters", list("References of its emitters, from + to -.", text("Reference."))),
            always("current_a", number("Current, A.")),
            always(
                "copper_drop_v",
                number_or_null(
                    "Drop in the board's copper, V; null where the string branches or copper is left out.",
                ),
            ),
            always(
                "copper_loss_w",
                number_or_null("Loss in the board's copper for its current, W; null where the drop is."),
            ),
            always(
                "copper_part_of_electrical",
                number_or_null("That loss over the electrical power of emitters, copper and leads together."),
            ),
            always(
                "lead_drop_v",
                number_or_null("Drop in both leads of its supply, V; null where no leads are given."),
            ),
            always(
                "forward_v",
                number_or_null("Sum of the forward voltages, V; null where the string branches."),
            ),
            always(
                "driver_v",
                number_or_null(
                    "What the driver must give, settled, V; null where the string branches and shares are given by hand.",
                ),
            ),
            always(
                "driver_cold_v",
                number_or_null("What the driver must give at the first moment, all at room temperature, V."),
            ),
        ],
    )
}

fn island() -> Value {
    object(
        "A piece of copper that carries current.",
        vec![
            always("net", text("Its net.")),
            always("layer", text("Its layer.")),
            always("area_mm2", number("Size, mm2.")),
            always("current_a", number("Current into it and what plated holes join it to, A.")),
            always("loss_w", number("Loss, W.")),
            always(
                "part_of_electrical",
                number("Loss over the electrical power of emitters, copper and leads together."),
            ),
            always(
                "hottest_at_mm",
                or_null(numbers(
                    "Where most heat arises, over a square of 0.5 mm: x, y in artwork coordinates, mm.",
                    2,
                )),
            ),
            always("hottest_w_per_cm2", number_or_null("Loss there, W/cm2.")),
        ],
    )
}

fn neck() -> Value {
    object(
        "A narrow place that carries current.",
        vec![
            always("layer", text("Its layer.")),
            always("at_mm", numbers("Middle: x, y in artwork coordinates, mm.", 2)),
            always("width_mm", number("Copper across the flow, mm.")),
            always("length_mm", number("Length along the flow, mm.")),
            always("current_a", number("Current through it, A.")),
            always("density_a_per_mm2", number("Mean current density, A/mm2.")),
            always("loss_w", number("Loss along it, W.")),
            always(
                "temperature_c",
                number_or_null("Temperature of the copper there, degC; null off the board."),
            ),
            always(
                "rise_k",
                number_or_null("That above the room, K: what emitters and copper heat together."),
            ),
            always(
                "ipc_2221_rise_k",
                number(
                    "Rise above the board around it that the IPC-2221 rule gives a long trace of this width, K: a rule for FR4 traces in still air, not for this board.",
                ),
            ),
            always("ipc_2221_in_range", yes_or_no("Whether the rule is stated for it.")),
            always(
                "ipc_2221_width_mm",
                number("Width that the rule asks for this current and a rise of 20 K, mm."),
            ),
            always("ipc_2221_width_in_range", yes_or_no("Whether the rule is stated for that width.")),
            always("free_width_mm", number("Free width on both sides together, mm.")),
            always(
                "widening_saves_w",
                number("Loss that filling the free width would save, W, as an estimate."),
            ),
        ],
    )
}

fn sensor() -> Value {
    object(
        "A sensor on board or heatsink.",
        vec![
            always("name", text("Name.")),
            always("reading_c", number_or_null("Temperature at its place, degC.")),
            sometimes(
                "output_v",
                number("Output of its law at that temperature, V, where the law gives a voltage."),
            ),
            sometimes(
                "output_ohm",
                number("Its resistance at that temperature, ohm, where that is what is logged."),
            ),
        ],
    )
}

fn emitter() -> Value {
    object(
        "An emitter.",
        vec![
            always("ref", text("Reference on the board.")),
            always("at_mm", numbers("Centre: x, y in artwork coordinates, mm.", 2)),
            always("current_a", number("Current through it, A.")),
            always("junction_c", number_or_null("Junction temperature, degC.")),
            always(
                "solder_c",
                number_or_null("Solder point: mean over the thermal land at the copper's face, degC."),
            ),
            always("forward_v", number_or_null("Forward voltage, V.")),
            always("electrical_w", number_or_null("Electrical power, W.")),
            always("heat_w", number_or_null("Heat, W.")),
            always("radiant_w", number_or_null("Radiant power, W.")),
            always("flux_lm", number_or_null("Luminous flux, lm.")),
            always("junction_limit_c", number("Junction limit of its sheet, degC.")),
            always("junction_margin_k", number_or_null("Limit less junction, K; negative when over.")),
            always("heat_path", list("From junction to room, top first.", heat_step())),
        ],
    )
}

fn heat_step() -> Value {
    let steps =
        ["package", "dielectric", "core", "board", "bond", "base", "air", "fins", "warming", "housing"];
    object(
        "A step of the heat path.",
        vec![
            always("step", word("Which step.", &steps)),
            always("from", text("Where it begins.")),
            always("to", text("Where it ends.")),
            always("from_c", number("Temperature where it begins, degC.")),
            always("to_c", number("Temperature where it ends, degC.")),
            always("drop_k", number("What is lost on it, K.")),
            always("lowered_by", text("What would lower it.")),
        ],
    )
}

fn heat_patch() -> Value {
    object(
        "A rectangle of given heat.",
        vec![
            always("name", text("Name.")),
            always("heat_w", number("Heat, W.")),
            always("mean_c", number("Mean temperature of its face, degC.")),
            always("centre_c", number("Temperature at its centre, degC.")),
            always("hottest_c", number("Highest temperature of its face, degC.")),
            always("mean_rise_k", number("Mean rise above ambient, K.")),
            always("centre_rise_k", number("Rise at its centre, K.")),
            always("hottest_rise_k", number("Highest rise, K.")),
        ],
    )
}

fn limit() -> Value {
    object(
        "A limit, and how far the run is from it.",
        vec![
            always("what", text("What is limited.")),
            always(
                "unit",
                json!({ "description": "Unit of found and limit.", "type": "string", "enum": ["degC", "A", "V"] }),
            ),
            always("found", number("The value found, in `unit`.")),
            always("limit", number("The limit, in `unit`.")),
            always(
                "margin",
                number(
                    "How far the value keeps from the limit, in K, A or V; negative when it is passed. For a least voltage, value less limit.",
                ),
            ),
        ],
    )
}

fn energy_balance() -> Value {
    object(
        "Where the heat went.",
        vec![
            always("in_w", number("Heat in, W.")),
            always("heatsink_w", number("Out through the heatsink's back, W.")),
            always("convection_w", number("Out of open faces by natural convection and given films, W.")),
            always("radiation_w", number("Out of open faces by radiation, W.")),
            always("relative_error", number("(in - out) / in; magnitude at most 1e-6.")),
        ],
    )
}
