//! Keys and tables of an emitter sheet.

use super::Form::{Choice, Curve, Pair, Text, Value};
use super::{Key, Q, key, required};

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
    required(
        "lumen_maintenance",
        "case",
        Value(Q::Temperature, -60.0, 250.0),
        "Case (solder point) temperature of an ageing test (LM-80).",
    ),
    required("lumen_maintenance", "current", Value(Q::Current, 1e-6, 1000.0), "Drive current of its units."),
    required(
        "lumen_maintenance",
        "units",
        Value(Q::Number, 1.0, 1e5),
        "Number of units; a projection (TM-21) needs 10, and reaches 6 times the hours tested from 20 on, else 5.5 times.",
    ),
    required(
        "lumen_maintenance",
        "table",
        Curve(Q::Number, Q::Number),
        "Hours, and flux relative to 0 h as the mean over the units; hours ascending, at least 6000 h for a projection.",
    ),
    required("land", "role", Choice(&["thermal", "anode", "cathode"]), "What the land is for."),
    required(
        "land",
        "at",
        Pair(Q::Length, -0.2, 0.2),
        "Its centre relative to the package's, at rotation 0.",
    ),
    required("land", "size", Pair(Q::Length, 1e-5, 0.2), "Its width and height."),
];

/// The tables of an emitter sheet.
pub const SHEET_TABLES: &[(&str, &str, bool)] = &[
    ("", "emitter", false),
    ("", "voltage", false),
    ("", "flux", false),
    ("", "resistance", false),
    ("", "limits", false),
    ("", "lumen_maintenance", true),
    ("", "land", true),
];
