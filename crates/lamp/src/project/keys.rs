//! Every key of lamp.toml and of the emitter sheets: the one table from which reading, messages about unknown keys, the
//! reference page and the schema come.

use super::quantity::Quantity;

/// What a value may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Free text.
    Text,
    /// One of these words.
    Choice(&'static [&'static str]),
    /// Texts in a list.
    Texts,
    /// A value with its unit, within limits (in the quantity's own unit).
    Value(Quantity, f64, f64),
    /// Values in a list.
    Values(Quantity, f64, f64),
    /// Two values: x and y.
    Pair(Quantity, f64, f64),
    /// Pairs in a list.
    Pairs(Quantity, f64, f64),
    /// A curve: pairs of a value and another.
    Curve(Quantity, Quantity),
    /// `true` or `false`.
    Flag,
    /// One of these words, or a heat transfer coefficient.
    FaceWord,
    /// A word for all copper, or words by side: `{ top = "full", bottom = "none" }`.
    CopperWords,
    /// A table of file names with their roles.
    Roles,
    /// A supply pad: a place, or the name of a pad or net.
    Pad,
}

/// A key.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Table it stands in; `variant` and `material` stand for `variant.NAME` and `material.NAME`.
    pub table: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What its value may be.
    pub form: Form,
    /// What is taken when it is missing; `None`: it must be there, or nothing is taken.
    pub default: Option<&'static str>,
    /// Whether the table is incomplete without it.
    pub required: bool,
    /// What it means, in a sentence.
    pub meaning: &'static str,
}

/// A key that may be missing.
#[must_use]
pub const fn key(
    table: &'static str,
    name: &'static str,
    form: Form,
    default: Option<&'static str>,
    meaning: &'static str,
) -> Key {
    Key { table, name, form, default, required: false, meaning }
}

/// A key that its table cannot do without.
#[must_use]
pub const fn required(table: &'static str, name: &'static str, form: Form, meaning: &'static str) -> Key {
    Key { table, name, form, default: None, required: true, meaning }
}

use Form::{Choice, CopperWords, Curve, FaceWord, Flag, Pad, Pair, Pairs, Roles, Text, Texts, Value, Values};
use Quantity as Q;

const LENGTH: Form = Value(Q::Length, 1e-9, 1.0);
const PLACE: Form = Pair(Q::Length, -1.0, 1.0);
const K: Form = Value(Q::Conductivity, 1e-4, 1e5);

const OHMS: Form = Value(Q::Ohms, 1e-3, 1e9);
const PART: Form = Value(Q::Number, 0.0, 1.0);

/// The kinds of board sensor.
pub const SENSOR_KINDS: &[&str] =
    &["linear output", "NTC", "Pt100", "Pt1000", "thermocouple", "forward voltage", "degC"];

/// The kinds of board.
pub const BOARD_KINDS: &[&str] =
    &["fr4 one-layer", "fr4 two-layer", "aluminium core", "copper core", "layers"];

/// All keys of lamp.toml, table by table.
pub const LAMP_KEYS: &[Key] = &[
    key("lamp", "name", Text, Some("lamp"), "Name of the lamp, for headings."),
    key("lamp", "ambient", Value(Q::Temperature, -60.0, 120.0), Some("25 degC"), "Temperature of the room."),
    key(
        "lamp",
        "coldest",
        Value(Q::Temperature, -60.0, 120.0),
        None,
        "Coldest room in which the lamp is switched on, for the voltage that drivers must give there; `ambient` when missing.",
    ),
    key(
        "lamp",
        "facing",
        Choice(&["up", "down", "sideways"]),
        Some("down"),
        "Where the emitter side looks; decides the natural convection from open faces.",
    ),
    key(
        "drive",
        "currents",
        Values(Q::Current, 1e-6, 1000.0),
        None,
        "Drive currents to predict, per string (or for the lamp, see `per`).",
    ),
    key(
        "drive",
        "nominal",
        Value(Q::Current, 1e-6, 1000.0),
        None,
        "The current the lamp is meant to run at, as `currents`; the highest of them when missing.",
    ),
    key(
        "drive",
        "per",
        Choice(&["string", "lamp"]),
        Some("string"),
        "What the currents are for: each string, or the whole lamp, whose supplies are then joined and share it.",
    ),
    key("supply", "name", Text, None, "Name of the supply, for its strings; a letter when missing."),
    required(
        "supply",
        "plus",
        Pad,
        "Where the current goes in (+): a pad such as \"J1.1\", a net's name, or a place such as [\"3 mm\", \"33 mm\"].",
    ),
    required("supply", "minus", Pad, "Where it comes out (-), told like `plus`."),
    key(
        "supply",
        "lead_length",
        Value(Q::Length, 0.0, 100.0),
        None,
        "Length of each of the two leads between driver and board.",
    ),
    key(
        "supply",
        "lead_section",
        Value(Q::CrossSection, 1e-9, 1e-3),
        None,
        "Copper cross-section of a lead; mm2 or AWG.",
    ),
    key(
        "supply",
        "voltage_least",
        Value(Q::Voltage, 0.0, 1000.0),
        None,
        "Least voltage that the driver can give at its current; below it, many drivers flicker or switch off.",
    ),
    key(
        "supply",
        "voltage_most",
        Value(Q::Voltage, 0.1, 1000.0),
        None,
        "Most voltage that the driver can give; what the string needs must stay below it, cold and warm.",
    ),
    key(
        "limits",
        "board",
        Value(Q::Temperature, 0.0, 400.0),
        None,
        "Board temperature above which you do not want to go.",
    ),
    key(
        "limits",
        "solder",
        Value(Q::Temperature, 0.0, 400.0),
        None,
        "Solder temperature limit; low-melting solder lets go early.",
    ),
    required(
        "emitters",
        "sheet",
        Text,
        "Name of the emitter sheet: emitters/NAME.toml in the lamp folder, else a shipped class.",
    ),
    required("emitters", "refs", Texts, "References on the board, such as D1."),
    key(
        "emitters",
        "at",
        Pairs(Q::Length, -1.0, 1.0),
        None,
        "Centres of the packages, one for each reference; from the centroid file when missing.",
    ),
    key(
        "emitters",
        "rotation",
        Values(Q::Angle, -360.0, 360.0),
        Some("0 deg"),
        "Counter-clockwise rotation, one for all or one for each reference; from the centroid file when placed by it.",
    ),
    key(
        "emitters",
        "share",
        Value(Q::Number, 1e-6, 1.0),
        Some("1"),
        "Part of the drive current through each of them; with supply pads it follows from the traced strings.",
    ),
    key(
        "emitters",
        "voltage_tolerance",
        Value(Q::Voltage, 0.0, 10.0),
        None,
        "How far their forward voltages may lie above or below the sheet's; the sheet's own when missing.",
    ),
    key("sensor", "name", Text, Some("board sensor"), "Name of the sensor, for results."),
    key("sensor", "at", PLACE, None, "Where it sits on the board."),
    key("sensor", "ref", Text, None, "Reference in the centroid file, instead of `at`."),
    key(
        "sensor",
        "kind",
        Choice(SENSOR_KINDS),
        Some("linear output"),
        "What it puts out for a temperature; \"degC\" where the logger gives degrees itself.",
    ),
    key("sensor", "at_0_degC", Value(Q::Voltage, -100.0, 100.0), None, "Linear output: output at 0 degC."),
    key(
        "sensor",
        "slope",
        Value(Q::VoltageSlope, -10.0, 10.0),
        None,
        "Linear output, forward voltage: change of output with temperature.",
    ),
    key("sensor", "resistance_at_25_degC", OHMS, None, "NTC: resistance at 25 degC, with `beta`."),
    key("sensor", "beta", Value(Q::Interval, 100.0, 20000.0), None, "NTC: its B."),
    key(
        "sensor",
        "steinhart_hart",
        Values(Q::Number, -1.0, 1.0),
        None,
        "NTC: a, b, c of 1/T = a + b ln R + c (ln R)^3, instead of resistance and `beta`.",
    ),
    key(
        "sensor",
        "series_resistor",
        OHMS,
        None,
        "NTC, Pt: fixed resistor in series across `supply`; the voltage between them is logged. Without it, ohms are logged.",
    ),
    key(
        "sensor",
        "series_resistor_tolerance",
        PART,
        Some("0.01"),
        "How far the fixed resistor may be off, as a part.",
    ),
    key(
        "sensor",
        "supply",
        Value(Q::Voltage, 0.01, 1000.0),
        None,
        "Supply across sensor and fixed resistor.",
    ),
    key("sensor", "supply_tolerance", PART, Some("0.05"), "How far the supply may be off, as a part."),
    key(
        "sensor",
        "sits_at",
        Choice(&["ground", "supply"]),
        Some("ground"),
        "Which end of the divider the sensor sits at.",
    ),
    key(
        "sensor",
        "lead_resistance",
        Value(Q::Ohms, 0.0, 1000.0),
        Some("0 ohm"),
        "Pt with two wires: resistance of both wires together; leave it out with four wires.",
    ),
    key("sensor", "pair", Choice(&["K", "T", "J", "N"]), None, "Thermocouple: its type."),
    key(
        "sensor",
        "cold_junction",
        Value(Q::Temperature, -60.0, 150.0),
        None,
        "Thermocouple: temperature of its cold junction, where no column of the log gives it.",
    ),
    key(
        "sensor",
        "cold_junction_error",
        Value(Q::Interval, 0.0, 100.0),
        Some("0.5 K"),
        "Thermocouple: how far that temperature may be off.",
    ),
    key(
        "sensor",
        "cold_voltage",
        Value(Q::Voltage, 0.0, 1000.0),
        None,
        "Forward voltage: what was read cold, at the small current.",
    ),
    key(
        "sensor",
        "cold_temperature",
        Value(Q::Temperature, -60.0, 150.0),
        None,
        "Forward voltage: temperature of that reading.",
    ),
    key(
        "sensor",
        "class",
        Choice(&["AA", "A", "B", "C", "1", "2"]),
        None,
        "Accuracy class: AA, A, B, C of Pt (IEC 60751), 1 or 2 of thermocouples (IEC 60584-1).",
    ),
    key(
        "sensor",
        "error",
        Value(Q::Interval, 0.0, 100.0),
        None,
        "How far it may be off at 0 degC, instead of `class`.",
    ),
    key(
        "sensor",
        "error_per_degC",
        PART,
        Some("0"),
        "How much `error` grows with each degree Celsius away from 0.",
    ),
    key(
        "sensor",
        "sensing_current",
        Value(Q::Current, 0.0, 1.0),
        None,
        "NTC, Pt without series resistor: current that reads it; it warms the sensor.",
    ),
    key(
        "sensor",
        "dissipation",
        Value(Q::Dissipation, 1e-6, 100.0),
        None,
        "Heat that warms the sensor by a kelvin above its place, from its sheet.",
    ),
    key(
        "sensor",
        "resolve",
        Value(Q::Interval, 1e-6, 100.0),
        Some("0.1 K"),
        "Difference of temperature you want told apart.",
    ),
    required("logger", "bits", Value(Q::Number, 1.0, 32.0), "Bits of its converter."),
    required(
        "logger",
        "range",
        Pair(Q::Voltage, -1000.0, 1000.0),
        "Lowest and highest voltage that it reads.",
    ),
    key(
        "logger",
        "reference_error",
        PART,
        Some("0.005"),
        "How far its voltage reference may be off, as a part.",
    ),
    key("logger", "noise", Value(Q::Voltage, 0.0, 10.0), Some("0 mV"), "Noise of one reading, rms."),
    key("logger", "averaged", Value(Q::Number, 1.0, 1e9), Some("1"), "Readings averaged into one sample."),
    key(
        "logger",
        "reference",
        Choice(&["own", "sensor supply"]),
        Some("own"),
        "What its converter compares with; the sensor's own supply cancels the supply's error.",
    ),
    key(
        "bond",
        "thickness",
        LENGTH,
        None,
        "Thickness of the thermal interface under the board: the bond line.",
    ),
    key("bond", "conductivity", K, None, "Conductivity of the thermal interface."),
    key(
        "bond",
        "resistance",
        Value(Q::AreaResistance, 0.0, 1.0),
        None,
        "Thermal resistance times area, instead of thickness and conductivity.",
    ),
    key(
        "bond",
        "kind",
        Choice(&["grease", "pad", "tape", "adhesive"]),
        Some("grease"),
        "What it is: grease and adhesive fill gaps as far as they were spread, a tape keeps its thickness, a pad gives way.",
    ),
    key(
        "bond",
        "thickness_tolerance",
        Value(Q::Length, 0.0, 0.01),
        None,
        "How much thicker or thinner it may be.",
    ),
    key(
        "bond",
        "conductivity_tolerance",
        Value(Q::Number, 0.0, 0.9),
        Some("0"),
        "Part by which it may conduct better or worse, such as 0.2.",
    ),
    key(
        "bond",
        "resistance_tolerance",
        Value(Q::Number, 0.0, 0.9),
        None,
        "Part by which a given `resistance` may be higher.",
    ),
    key(
        "bond",
        "fills_to",
        Value(Q::Length, 0.0, 0.01),
        None,
        "Widest gap it fills, beyond which there is air: how thickly it was laid on. When missing, three times the thickness for grease and adhesive (common practice, no source), the thickness for tape and pad.",
    ),
    key(
        "bond",
        "compression",
        Curve(Q::Pressure, Q::Number),
        None,
        "How a pad gives way: points of pressure and the part by which it is thinner then; `thickness` is the free one.",
    ),
    key(
        "bond",
        "pressure",
        Value(Q::Pressure, 0.0, 1e8),
        None,
        "Pressure that clamps a pad with `compression`: by the screws where there are any, else evenly.",
    ),
    key(
        "bond",
        "recess",
        Value(Q::Length, 0.0, 0.01),
        Some("1 mm"),
        "How far the base stands back beside its pedestals; air is there.",
    ),
    required(
        "pedestal",
        "at",
        PLACE,
        "Centre of a rectangle where the base touches the board; where there is none, it touches everywhere.",
    ),
    required("pedestal", "size", Pair(Q::Length, 1e-4, 1.0), "Its width and height."),
    required(
        "region",
        "at",
        PLACE,
        "Centre of a rectangle of the bond line with a value of its own; where two overlap, the first counts.",
    ),
    required("region", "size", Pair(Q::Length, 1e-4, 1.0), "Its width and height."),
    key("region", "contact", Flag, Some("true"), "false: nothing but air is there."),
    key("region", "thickness", LENGTH, None, "Thickness there, with `conductivity`."),
    key("region", "conductivity", K, None, "Conductivity there."),
    key(
        "region",
        "resistance",
        Value(Q::AreaResistance, 0.0, 1.0),
        None,
        "Thermal resistance times area there, instead of thickness and conductivity.",
    ),
    key(
        "screws",
        "hole",
        Value(Q::Length, 1e-4, 0.05),
        None,
        "Diameter of the screws' holes: all unplated holes of the drill file within 0.05 mm of it.",
    ),
    key(
        "screws",
        "tool",
        Text,
        None,
        "The drill file's tool for their holes, such as \"T3\", instead of `hole`.",
    ),
    key("screws", "at", Pairs(Q::Length, -1.0, 1.0), None, "Places of the screws, instead of `hole`."),
    key(
        "screws",
        "material",
        Choice(&["metal", "nylon"]),
        Some("metal"),
        "Metal heads over copper that carries current are told.",
    ),
    key(
        "screws",
        "head",
        Value(Q::Length, 1e-4, 0.1),
        None,
        "Diameter of the head; 1.75 times the hole when missing (pan heads, from memory).",
    ),
    key(
        "screws",
        "force",
        Value(Q::Force, 0.0, 1e5),
        None,
        "Force with which each screw clamps; presses a pad with `compression`, and is compared with what the faces need.",
    ),
    key(
        "flatness",
        "burr",
        Value(Q::Length, 0.0, 2e-3),
        Some("0 um"),
        "Height of the burrs on the board's back around drilled holes.",
    ),
    key(
        "flatness",
        "burr_hole",
        Value(Q::Length, 1e-4, 0.05),
        None,
        "Diameter of the holes with burrs; all unplated holes and screws when missing.",
    ),
    key(
        "flatness",
        "board_bow",
        Value(Q::Length, -0.01, 0.01),
        Some("0 mm"),
        "Bow of the board before it is screwed down: gap in the middle with its ends touching; less than 0: gap at the ends with its middle touching.",
    ),
    key(
        "flatness",
        "board_span",
        Value(Q::Length, 1e-3, 1.0),
        None,
        "Span over which the board's bow was measured; its longer side when missing.",
    ),
    key(
        "flatness",
        "heatsink_bow",
        Value(Q::Length, -0.01, 0.01),
        Some("0 mm"),
        "Bow of the heatsink's face, signed like `board_bow`: a hollow face is more than 0.",
    ),
    key(
        "flatness",
        "heatsink_span",
        Value(Q::Length, 1e-3, 1.0),
        None,
        "Span over which the heatsink's bow was measured; the base's longer side when missing.",
    ),
    key(
        "flatness",
        "along",
        Choice(&["x", "y", "both"]),
        Some("both"),
        "Which way the bows run: along x or y as part of a cylinder, or both ways.",
    ),
    required(
        "heatsink",
        "base",
        Pair(Q::Length, 1e-4, 1.0),
        "Size of the base plate seen from the emitter side.",
    ),
    required("heatsink", "base_thickness", LENGTH, "Thickness of the base plate."),
    key(
        "heatsink",
        "material",
        Text,
        Some("aluminium 6063-T5"),
        "Substance of the base plate, from the materials table.",
    ),
    key(
        "heatsink",
        "offset",
        PLACE,
        Some("0 mm, 0 mm"),
        "Shift of the plate's middle from the board's middle.",
    ),
    key(
        "heatsink",
        "resistance",
        Value(Q::Resistance, 1e-4, 1e4),
        None,
        "Thermal resistance from the base's back to the room.",
    ),
    key(
        "heatsink",
        "h",
        Value(Q::Film, 1e-3, 1e12),
        None,
        "Heat transfer coefficient over the base's back, instead of `resistance`.",
    ),
    key(
        "heatsink",
        "emissivity",
        Value(Q::Number, 0.0, 1.0),
        Some("0.8"),
        "Emissivity of the base beside the board; about 0.8 anodised or painted, 0.1 bright; follows `finish` where that is given.",
    ),
    key(
        "heatsink",
        "stated_source",
        Pair(Q::Length, 1e-4, 1.0),
        None,
        "Size of the heat source on the base for which a maker's resistance is stated, from its middle to the air; what the base itself costs \
         is then taken off. Missing: `resistance` is from the base's back.",
    ),
    key(
        "heatsink",
        "resistance_by_flow",
        Curve(Q::Flow, Q::Resistance),
        None,
        "A maker's resistance over flow, instead of `resistance`; with `at_flow` and, where it is stated for a source on the base, `stated_source`.",
    ),
    key(
        "heatsink",
        "at_flow",
        Value(Q::Flow, 0.0, 100.0),
        None,
        "Flow at which `resistance_by_flow` is read.",
    ),
    key(
        "heatsink",
        "resistance_by_speed",
        Curve(Q::Speed, Q::Resistance),
        None,
        "A maker's resistance over the speed of the air, instead of `resistance`; with `at_speed`.",
    ),
    key(
        "heatsink",
        "at_speed",
        Value(Q::Speed, 0.0, 100.0),
        None,
        "Speed at which `resistance_by_speed` is read.",
    ),
    key(
        "heatsink",
        "fins",
        Choice(&["plates", "pins", "none"]),
        None,
        "What stands on the base's back; its cooling then follows from dimensions, [fan], [[vent]] and [housing] instead of `resistance`.",
    ),
    key("heatsink", "fin_count", Value(Q::Number, 2.0, 1000.0), None, "Number of plates."),
    key(
        "heatsink",
        "pin_count",
        Pair(Q::Number, 1.0, 1000.0),
        None,
        "Numbers of pins along x and along y, in line.",
    ),
    key(
        "heatsink",
        "fin_height",
        Value(Q::Length, 1e-4, 0.5),
        None,
        "Height of plates or pins above the base.",
    ),
    key(
        "heatsink",
        "fin_thickness",
        Value(Q::Length, 5e-5, 0.05),
        None,
        "Thickness of a plate, diameter of a pin.",
    ),
    key(
        "heatsink",
        "fin_gap",
        Value(Q::Length, 1e-4, 0.2),
        None,
        "Clear distance between plates; what the base leaves for it when missing.",
    ),
    key(
        "heatsink",
        "channels",
        Choice(&["along x", "along y"]),
        Some("along y"),
        "Direction of the plates and of the air; y is up when the lamp looks sideways.",
    ),
    key(
        "heatsink",
        "finish",
        Choice(&["bare", "anodised", "painted"]),
        Some("anodised"),
        "Surface of the fins, for their radiation: emissivity 0.09, 0.8 or 0.92.",
    ),
    required(
        "fan",
        "curve",
        Curve(Q::Flow, Q::FanPressure),
        "Pressure over flow of one fan at rated voltage, such as [[\"0 l/s\", \"35 Pa\"], [\"7 l/s\", \"0 Pa\"]].",
    ),
    required("fan", "rated", Value(Q::Voltage, 0.1, 1000.0), "Voltage at which the curve holds."),
    key(
        "fan",
        "voltage",
        Value(Q::Voltage, 0.0, 1000.0),
        None,
        "Voltage it runs at; the rated one when missing.",
    ),
    key(
        "fan",
        "stall",
        Value(Q::Voltage, 0.0, 1000.0),
        None,
        "Voltage below which it stands; 0.4 of the rated one when missing (common practice, no source).",
    ),
    key("fan", "count", Value(Q::Number, 1.0, 100.0), Some("1"), "How many fans alike, side by side."),
    key(
        "fan",
        "blows",
        Choice(&["onto", "along"]),
        Some("onto"),
        "\"onto\" the fins' tips, from the middle out at both ends of the channels; or \"along\" the channels, all air between the fins.",
    ),
    key(
        "fan",
        "filter",
        Curve(Q::Flow, Q::FanPressure),
        None,
        "Pressure that a filter costs at a flow, such as [[\"4 l/s\", \"6 Pa\"]]; in proportion to the flow.",
    ),
    key(
        "vent",
        "name",
        Text,
        Some("vents"),
        "Name of openings alike that the air passes side by side: slots, a baffle, a grille.",
    ),
    required("vent", "area", Value(Q::Area, 1e-8, 10.0), "Free area of one opening."),
    key("vent", "count", Value(Q::Number, 1.0, 100_000.0), Some("1"), "How many."),
    key(
        "vent",
        "loss",
        Value(Q::Number, 0.0, 1000.0),
        Some("2.7"),
        "Loss coefficient on the speed in the free area; 2.7 for a sharp edge in a wall.",
    ),
    required(
        "housing",
        "wall_area",
        Value(Q::Area, 1e-6, 100.0),
        "Outer surface of the housing that holds the heatsink.",
    ),
    key(
        "housing",
        "wall_h",
        Value(Q::Film, 0.0, 1e4),
        Some("5 W/m2/K"),
        "From the air inside through the wall to the room; about 5 (still air on both sides of a painted wall; common practice, no source).",
    ),
    key(
        "housing",
        "vent_height",
        Value(Q::Length, 0.0, 10.0),
        Some("0 mm"),
        "Height between low and high vents, which drives the draught.",
    ),
    key(
        "housing",
        "fan_in_wall",
        Flag,
        Some("true"),
        "Whether the fan draws the room's air, which leaves by the vents; false: it stirs the air inside.",
    ),
    key(
        "faces",
        "top",
        FaceWord,
        Some("open"),
        "What the emitter side gives to the room: \"open\" (natural convection and radiation), \"adiabatic\", or a coefficient.",
    ),
    key("faces", "bottom", FaceWord, Some("open"), "The same for the back where no heatsink covers it."),
    key(
        "faces",
        "emissivity",
        Value(Q::Number, 0.0, 1.0),
        Some("0.9"),
        "Emissivity of open faces; mask colours differ little in the infrared.",
    ),
    key("variant", "title", Text, None, "One line about the variant, for headings."),
    key("variant", "artwork", Text, None, "Folder of its fabrication files."),
    key(
        "variant",
        "roles",
        Roles,
        None,
        "Roles of files whose name and attributes do not tell, such as { \"top.ger\" = \"copper top\" }.",
    ),
    key(
        "variant",
        "outline",
        Pair(Q::Length, 1e-4, 1.0),
        None,
        "Board rectangle of a lamp without artwork; its lower left corner is 0, 0.",
    ),
    key(
        "variant",
        "copper",
        CopperWords,
        Some("full"),
        "Copper of a lamp without artwork: \"full\" or \"none\", or { top = \"full\", bottom = \"none\" }.",
    ),
    key(
        "variant",
        "bond",
        Choice(&["none"]),
        None,
        "\"none\" leaves out the bond line given for all variants (or a table of its own, as [bond]).",
    ),
    key(
        "variant",
        "heatsink",
        Choice(&["none"]),
        None,
        "\"none\" leaves out the heatsink given for all variants (or a table of its own, as [heatsink]).",
    ),
    required(
        "board",
        "kind",
        Choice(BOARD_KINDS),
        "What the board is made of; \"layers\" takes the [[variant.NAME.layer]] list.",
    ),
    key(
        "board",
        "thickness",
        LENGTH,
        Some("1.6 mm"),
        "Thickness of the laminate without copper (FR4 boards).",
    ),
    key("board", "laminate", Text, Some("FR4 laminate"), "Substance of the laminate (FR4 boards)."),
    key(
        "board",
        "copper_top",
        Value(Q::CopperThickness, 1e-6, 1e-3),
        Some("35 um"),
        "Thickness of the top copper.",
    ),
    key(
        "board",
        "copper_bottom",
        Value(Q::CopperThickness, 1e-6, 1e-3),
        Some("35 um"),
        "Thickness of the bottom copper (two-layer boards).",
    ),
    key(
        "board",
        "mask",
        Value(Q::Length, 0.0, 1e-3),
        Some("25 um"),
        "Thickness of the solder mask; 0 um for none.",
    ),
    key(
        "board",
        "via_barrel",
        Value(Q::CopperThickness, 1e-6, 1e-3),
        Some("20 um"),
        "Copper on the wall of plated holes.",
    ),
    key("board", "via_fill", Text, Some("air"), "What fills plated holes, from the materials table."),
    key("board", "core", Text, None, "Substance of the metal core; aluminium 5052 or copper when missing."),
    key("board", "core_thickness", LENGTH, Some("1.5 mm"), "Thickness of the metal core."),
    key(
        "board",
        "dielectric",
        Text,
        None,
        "Substance of the dielectric on a metal core, from the materials table.",
    ),
    key(
        "board",
        "dielectric_conductivity",
        K,
        None,
        "Conductivity of the dielectric, instead of `dielectric`.",
    ),
    key(
        "board",
        "dielectric_thickness",
        LENGTH,
        Some("100 um"),
        "Thickness of the dielectric on a metal core.",
    ),
    key(
        "board",
        "pedestal",
        Flag,
        Some("true"),
        "Copper core: thermal lands stand directly on the core, without dielectric.",
    ),
    key("layer", "name", Text, Some("layer"), "Name of the layer."),
    required("layer", "thickness", LENGTH, "Its thickness."),
    key("layer", "material", Text, None, "Its substance, from the materials table."),
    key("layer", "conductivity", K, None, "Its conductivity, instead of `material`."),
    key("layer", "kx", K, None, "Conductivity along x, with `ky` and `kz` instead of `material`."),
    key("layer", "ky", K, None, "Conductivity along y."),
    key("layer", "kz", K, None, "Conductivity through the thickness."),
    key(
        "layer",
        "resistance_below",
        Value(Q::AreaResistance, 0.0, 1.0),
        Some("0 m2K/W"),
        "Contact resistance between this layer and the next below.",
    ),
    key("heat", "name", Text, Some("heat patch"), "Name of the heat patch."),
    required("heat", "at", PLACE, "Its centre on the emitter side."),
    required("heat", "size", Pair(Q::Length, 1e-6, 1.0), "Its width and height."),
    required("heat", "power", Value(Q::Power, 0.0, 1e5), "Its heat."),
    key("material", "conductivity", K, None, "Conductivity in every direction."),
    key("material", "kx", K, None, "Conductivity along x, with `ky` and `kz`."),
    key("material", "ky", K, None, "Conductivity along y."),
    key("material", "kz", K, None, "Conductivity through the thickness."),
    key("material", "source", Text, Some("given in lamp.toml"), "Where the values come from."),
];

/// All keys of an emitter sheet.
pub const SHEET_KEYS: &[Key] = &[
    key("emitter", "title", Text, None, "One line about the class, for headings."),
    key("emitter", "source", Text, Some("given in the sheet"), "Where the values come from."),
    key("emitter", "body", Pair(Q::Length, 1e-5, 0.2), Some("3.5 mm, 3.5 mm"), "Body size seen from above."),
    required(
        "voltage",
        "table",
        Curve(Q::Current, Q::Voltage),
        "Forward voltage over current, currents ascending.",
    ),
    key(
        "voltage",
        "junction",
        Value(Q::Temperature, -60.0, 250.0),
        Some("25 degC"),
        "Junction temperature at which the table holds.",
    ),
    key(
        "voltage",
        "slope",
        Value(Q::VoltageSlope, -1.0, 1.0),
        Some("0 mV/K"),
        "Change of forward voltage with junction temperature; negative.",
    ),
    key(
        "voltage",
        "tolerance",
        Value(Q::Voltage, 0.0, 10.0),
        Some("0 mV"),
        "How far an emitter's forward voltage may lie above or below the table: the spread within what you order.",
    ),
    required("flux", "flux", Value(Q::Flux, 0.0, 1e7), "Luminous flux at the binning point."),
    required("flux", "binning_current", Value(Q::Current, 1e-6, 1000.0), "Current of the binning point."),
    key(
        "flux",
        "binning_junction",
        Value(Q::Temperature, -60.0, 250.0),
        Some("25 degC"),
        "Junction temperature of the binning point.",
    ),
    key(
        "flux",
        "by_current",
        Curve(Q::Current, Q::Number),
        None,
        "Flux relative to the binning point over current; in proportion to the current when missing.",
    ),
    key(
        "flux",
        "by_junction",
        Curve(Q::Temperature, Q::Number),
        None,
        "Flux relative to the binning point over junction temperature; constant when missing.",
    ),
    key(
        "flux",
        "efficacy_of_radiation",
        Value(Q::Efficacy, 1.0, 683.0),
        None,
        "Lumens per radiant watt of its light; gives radiant power from flux.",
    ),
    key(
        "flux",
        "radiant_efficiency",
        Value(Q::Number, 0.0, 0.99),
        None,
        "Radiant over electrical power at the binning point, instead of the efficacy of radiation.",
    ),
    required(
        "resistance",
        "junction_to_solder",
        Value(Q::Resistance, 1e-3, 1e3),
        "Thermal resistance from junction to solder point.",
    ),
    key(
        "resistance",
        "basis",
        Choice(&["real", "electrical"]),
        Some("electrical"),
        "What it is stated per: watt of heat (real) or watt of electrical power (electrical).",
    ),
    key(
        "resistance",
        "stated_at_efficiency",
        Value(Q::Number, 0.0, 0.95),
        None,
        "Radiant efficiency at which an electrical resistance was stated; from the binning point when missing.",
    ),
    required("limits", "junction", Value(Q::Temperature, 0.0, 400.0), "Highest junction temperature."),
    required("limits", "current", Value(Q::Current, 1e-6, 1000.0), "Highest current."),
    key("limits", "solder", Value(Q::Temperature, 0.0, 400.0), None, "Highest solder point temperature."),
    required("land", "role", Choice(&["thermal", "anode", "cathode"]), "What the land is for."),
    required(
        "land",
        "at",
        Pair(Q::Length, -0.2, 0.2),
        "Its centre relative to the package's, at rotation 0.",
    ),
    required("land", "size", Pair(Q::Length, 1e-5, 0.2), "Its width and height."),
];

/// Which tables may stand where: parent, name, whether it is a list (`[[name]]`).
pub const LAMP_TABLES: &[(&str, &str, bool)] = &[
    ("", "lamp", false),
    ("", "drive", false),
    ("", "limits", false),
    ("", "supply", true),
    ("", "emitters", true),
    ("", "sensor", true),
    ("", "logger", false),
    ("", "bond", false),
    ("", "screws", false),
    ("", "flatness", false),
    ("", "heatsink", false),
    ("", "fan", false),
    ("", "vent", true),
    ("", "housing", false),
    ("", "faces", false),
    ("bond", "pedestal", true),
    ("bond", "region", true),
    ("variant", "board", false),
    ("variant", "layer", true),
    ("variant", "heat", true),
    ("variant", "supply", true),
    ("variant", "emitters", true),
    ("variant", "drive", false),
    ("variant", "limits", false),
    ("variant", "bond", false),
    ("variant", "screws", false),
    ("variant", "flatness", false),
    ("variant", "heatsink", false),
    ("variant", "fan", false),
    ("variant", "vent", true),
    ("variant", "housing", false),
    ("variant", "faces", false),
];

/// The tables of an emitter sheet.
pub const SHEET_TABLES: &[(&str, &str, bool)] = &[
    ("", "emitter", false),
    ("", "voltage", false),
    ("", "flux", false),
    ("", "resistance", false),
    ("", "limits", false),
    ("", "land", true),
];

/// A name's nearest neighbour among those known, when it is near enough to be a slip of the hand.
pub fn nearest<'a>(name: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let lower = name.to_lowercase();
    known
        .map(|candidate| (distance(&lower, &candidate.to_lowercase()), candidate))
        .filter(|(far, candidate)| *far <= 1 + candidate.chars().count() / 3)
        .min_by_key(|(far, _)| *far)
        .map(|(_, candidate)| candidate)
}

/// Levenshtein distance.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().take(64).collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().take(64).enumerate() {
        let mut diagonal = i;
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let here = (diagonal + usize::from(ca != *cb)).min(row[j] + 1).min(row[j + 1] + 1);
            diagonal = std::mem::replace(&mut row[j + 1], here);
        }
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::{LAMP_KEYS, SHEET_KEYS, nearest};

    #[test]
    fn a_slip_finds_its_neighbour() {
        assert_eq!(nearest("thicknes", ["thickness", "conductivity"].into_iter()), Some("thickness"));
        assert_eq!(nearest("colour", ["thickness", "conductivity"].into_iter()), None);
    }

    #[test]
    fn keys_stand_once_and_say_what_they_mean() {
        for keys in [LAMP_KEYS, SHEET_KEYS] {
            for key in keys {
                assert_eq!(
                    keys.iter().filter(|k| k.table == key.table && k.name == key.name).count(),
                    1,
                    "{}",
                    key.name
                );
                assert!(key.meaning.ends_with('.'), "{}: {}", key.name, key.meaning);
            }
        }
    }
}
