//! What `lampwright check --json` and `lampwright check --artwork FILE... --json` print.

use serde_json::{Value, json};

use super::build::{
    always, count, document, list, number, number_or_null, numbers, object, or_null, remark, text,
    text_or_null, word, yes_or_no,
};

/// The schema of `lampwright check --json`.
#[must_use]
pub fn check() -> Value {
    document(
        "lampwright check LAMP --json",
        object(
            "What was understood of a lamp, and what is wrong.",
            vec![
                always("lamp", text("Name of the lamp.")),
                always("ambient_c", number("Room temperature, degC.")),
                always("drive_per", word("What drive currents are for.", &["string", "lamp"])),
                always("currents_a", list("Drive currents, A, each string's or the lamp's.", number("A."))),
                always(
                    "nominal_current_a",
                    number("Nominal drive current, A, each string's or the lamp's; 0 without emitters."),
                ),
                always("sensors", list("Sensors on board and heatsink.", sensor())),
                always("variants", list("In project order.", variant())),
                always(
                    "remarks",
                    list("Everything that was noticed; an error stands against a prediction.", remark()),
                ),
            ],
        ),
    )
}

fn sensor() -> Value {
    object(
        "A sensor.",
        vec![
            always("name", text("Name.")),
            always("on", word("What it sits on.", &["board", "heatsink"])),
            always("at_mm", numbers("Place: x, y, mm.", 2)),
        ],
    )
}

fn variant() -> Value {
    object(
        "A variant.",
        vec![
            always("variant", text("Short name.")),
            always("title", text("One line for headings.")),
            always(
                "is_understood",
                yes_or_no("Whether it was understood; if not, a remark says why, and only its files follow."),
            ),
            always("artwork", json!({ "anyOf": [{ "$ref": "artwork.schema.json" }, { "type": "null" }] })),
            always("outline_area_mm2", number("Area of the board, cut-outs taken off, mm².")),
            always("layers", list("From the emitter side down.", layer())),
            always("emitters", list("As placed.", emitter())),
            always("circuit", or_null(circuit())),
            always("heat_patches", list("Heat patches.", heat_patch())),
            always("plated_bores", count("Plated holes and slots.")),
            always("unplated_bores", count("Unplated holes and slots.")),
            always("bond", or_null(bond())),
            always("heatsink", or_null(heatsink())),
            always("top_face", text("What the emitter side gives to the room.")),
            always("bottom_face", text("What the back gives to the room where no heatsink covers it.")),
        ],
    )
}

fn layer() -> Value {
    object(
        "A layer of the board.",
        vec![
            always("name", text("Name.")),
            always("kind", word("What it is for.", &["copper", "dielectric", "core", "plain"])),
            always("thickness_um", number("Thickness, µm.")),
            always("material", text("Substance.")),
            always("kx_w_per_m_k", number("Conductivity along x, W/m/K.")),
            always("ky_w_per_m_k", number("Conductivity along y, W/m/K.")),
            always("kz_w_per_m_k", number("Conductivity through the thickness, W/m/K.")),
            always("source", text("Where the conductivities come from.")),
            always("area_mm2", number("Area of the substance, mm².")),
        ],
    )
}

fn emitter() -> Value {
    object(
        "An emitter.",
        vec![
            always("ref", text("Reference.")),
            always("sheet", text("Emitter sheet.")),
            always("at_mm", numbers("Centre: x, y, mm.", 2)),
            always("rotation_deg", number("Counter-clockwise rotation, degrees.")),
            always("thermal_land_mm2", number("Copper under the thermal land, mm².")),
            always("current_share", number("Its part of the drive current.")),
        ],
    )
}

fn circuit() -> Value {
    let pad = |about: &str| {
        let place = json!({ "anyOf": [numbers("Place: x, y, mm.", 2), { "type": "null" }] });
        object(
            about,
            vec![
                always("pad", text("As it was told.")),
                always("net", text("Its net.")),
                always("at_mm", place),
            ],
        )
    };
    let lead = object(
        "Each of its two leads; null where not given.",
        vec![
            always("length_mm", number("Length, mm.")),
            always("section_mm2", number("Copper cross-section, mm².")),
        ],
    );
    let supply = object(
        "A supply.",
        vec![
            always("name", text("Name.")),
            always("plus", pad("Where current goes in.")),
            always("minus", pad("Where it comes out.")),
            always("lead", or_null(lead)),
        ],
    );
    let string = object(
        "One of the branches between a supply's pads.",
        vec![
            always("name", text("Name: the supply's, with a number where it has several strings.")),
            always("supply", text("Its supply.")),
            always("refs", list("Emitters from + to -.", text("Reference."))),
            always(
                "layout",
                text("How they hang together: D1, (D2 | D3); branches side by side stand in brackets."),
            ),
        ],
    );
    let group = object(
        "Branches side by side; strings of one supply among them, and supplies where the drive is the lamp's.",
        vec![
            always("branches", list("How each hangs together.", text("Layout."))),
            always(
                "imbalance_percent",
                number(
                    "How far the largest branch current lies above their mean, %, emitters as their sheets say.",
                ),
            ),
            always(
                "worst_imbalance_percent",
                number(
                    "The same with one branch at the low edge of the voltage tolerance, the others at the high one.",
                ),
            ),
            always(
                "worst_emitter_a",
                number("Largest emitter current in that case at the nominal drive, A."),
            ),
        ],
    );
    object(
        "The strings traced from the supply pads; null without supply pads or without artwork.",
        vec![
            always("supplies", list("In project order.", supply)),
            always("strings", list("Supply by supply.", string)),
            always(
                "parallel_groups",
                list("Branches that share a current; empty where it cannot be told.", group),
            ),
            always("unlit", list("Emitters in no string.", text("Reference."))),
        ],
    )
}

fn heat_patch() -> Value {
    object(
        "A rectangle of given heat.",
        vec![
            always("name", text("Name.")),
            always("heat_w", number("Heat, W.")),
            always("area_mm2", number("Area, mm².")),
        ],
    )
}

fn bond() -> Value {
    object(
        "The bond line; null without one.",
        vec![
            always("thickness_um", number_or_null("Thickness, µm, where given.")),
            always("conductivity_w_per_m_k", number_or_null("Conductivity, W/m/K, where given.")),
            always("resistance_m2k_per_w", number("Resistance times area, m²K/W.")),
            always("kind", word("What it is.", &["grease", "pad", "tape", "adhesive"])),
            always(
                "pedestals",
                count("Rectangles where the base touches the board; 0: it touches everywhere."),
            ),
            always("regions", count("Places with a value of their own.")),
            always(
                "screws",
                list(
                    "Screws that hold the board down: x, y in artwork coordinates, mm.",
                    numbers("A place.", 2),
                ),
            ),
            always("screw_material", text_or_null("`metal` or `nylon`; null without screws.")),
            always("burr_um", number("Height of the burrs, µm.")),
            always("burrs", count("Holes with a burr.")),
            always("board_bow_um", number("Bow of the board, µm; less than 0: its ends stand off.")),
            always(
                "heatsink_bow_um",
                number("Bow of the heatsink's face, µm; less than 0: its ends stand off."),
            ),
        ],
    )
}

fn heatsink() -> Value {
    object(
        "The heatsink; null without one.",
        vec![
            always("base_mm", numbers("Base plate: x, y, thickness, mm.", 3)),
            always("material", text("Substance of the base.")),
            always(
                "resistance_k_per_w",
                number_or_null("From the base's back to the room, K/W, where given so."),
            ),
            always(
                "h_w_per_m2_k",
                number_or_null("Coefficient over the base's back, W/m²/K, where given so."),
            ),
            always("air_side", text_or_null("Fins, fan, vents and housing in words, where given so.")),
        ],
    )
}

/// The schema of `lampwright check --artwork FILE... --json`.
#[must_use]
pub fn artwork() -> Value {
    document(
        "lampwright check --artwork FILE... --json",
        object(
            "Fabrication files as understood.",
            vec![
                always("layers", list("Gerber layers.", layer_file())),
                always("drills", list("Drill files.", drill_file())),
                always("outline", json!({ "anyOf": [outline(), { "type": "null" }] })),
                always("placements", count("Parts placed by centroid files.")),
                always(
                    "nets",
                    list("Copper nets: named ones by name, then numbered ones, the largest first.", net()),
                ),
                always(
                    "remarks",
                    list(
                        "What was noticed: on the files by file and line, then on the nets.",
                        artwork_remark(),
                    ),
                ),
            ],
        ),
    )
}

fn bbox() -> Value {
    json!({ "anyOf": [numbers("Upright rectangle, mm: x min, y min, x max, y max.", 4), { "type": "null" }] })
}

fn layer_file() -> Value {
    object(
        "A Gerber layer.",
        vec![
            always("file", text("File.")),
            always("role", text("What it is for, such as copper top.")),
            always("role_source", text("How that was decided.")),
            always("unit", text("Unit of the file: mm or in.")),
            always(
                "unit_assumed",
                json!({ "type": "boolean", "description": "Whether the unit was assumed." }),
            ),
            always("area_mm2", number("Dark area, mm².")),
            always("bbox_mm", bbox()),
            always("pieces", count("Connected pieces.")),
        ],
    )
}

fn drill_file() -> Value {
    object(
        "A drill file.",
        vec![
            always("file", text("File.")),
            always("unit", text("Unit of the file: mm or in.")),
            always("digits", text("How the digits of its coordinates became known.")),
            always("tools", list("Tools in the order of their definition.", tool())),
        ],
    )
}

fn tool() -> Value {
    object(
        "A tool.",
        vec![
            always("number", count("Number in the file.")),
            always("diameter_mm", number("Diameter, mm.")),
            always("hits", count("Holes.")),
            always("slots", count("Slots.")),
            always(
                "plated",
                json!({ "type": ["boolean", "null"], "description": "Whether they are plated; null when nothing tells it." }),
            ),
        ],
    )
}

fn outline() -> Value {
    object(
        "The board; null when nothing tells it.",
        vec![
            always("file", text("File that tells it; empty when taken from the copper's extent.")),
            always("area_mm2", number("Area less cut-outs, mm².")),
            always("bbox_mm", bbox()),
            always("pieces", count("Boards that do not touch.")),
            always("cut_outs", count("Cut-outs.")),
        ],
    )
}

fn net() -> Value {
    object(
        "Copper that hangs together, within a layer and through plated holes.",
        vec![
            always("name", text("Name, or a number such as net 3.")),
            always(
                "named_by",
                word(
                    "Where the name comes from: net attributes of the layer files, test points of a netlist, or nothing.",
                    &["artwork", "netlist", "number"],
                ),
            ),
            always("islands", count("Connected pieces of copper, over all layers.")),
            always("holes", count("Plated holes and slots that touch it.")),
            always("area_mm2", number("Copper of all layers, mm².")),
            always(
                "pads",
                list(
                    "Pads on it, where attributes or a netlist tell them.",
                    object(
                        "A pad.",
                        vec![
                            always("ref", text("Component reference.")),
                            always("pin", text("Pin; empty where only the component is told.")),
                        ],
                    ),
                ),
            ),
        ],
    )
}

fn artwork_remark() -> Value {
    object(
        "A remark.",
        vec![
            always("severity", text("note, warning or error.")),
            always("file", text("File; empty when it is about no single file.")),
            always(
                "line",
                json!({ "type": ["integer", "null"], "description": "Line, from 1; null when it is about the whole file." }),
            ),
            always("text", text("What was found, what is allowed, what was done.")),
        ],
    )
}
