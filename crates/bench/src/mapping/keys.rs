//! Every key of a bench sheet: the one table from which reading, messages, the reference page and the schema come.

use lamp::project::keys::Form::{Choice, Text, Texts, Value};
use lamp::project::keys::{Key, key, required};
use lamp::project::quantity::Quantity as Q;

/// What a channel may be of.
pub const ROLES: &[&str] =
    &["sensor", "drive current", "voltage", "ambient", "cold junction", "fan voltage", "other"];

/// All keys, table by table.
pub const BENCH_KEYS: &[Key] = &[
    required(
        "run",
        "logs",
        Texts,
        "The logs of this run, files beside the sheet in bench/; several are joined by their times.",
    ),
    key(
        "run",
        "variant",
        Text,
        None,
        "The variant that was tested, by its name in lamp.toml; the only one when missing.",
    ),
    key("run", "title", Text, None, "One line about the run, for headings; the sheet's name when missing."),
    key("run", "notes", Text, None, "Anything worth knowing later: who, where, what was odd."),
    key(
        "run",
        "ambient",
        Value(Q::Temperature, -60.0, 120.0),
        None,
        "Room temperature where no column holds it.",
    ),
    key(
        "run",
        "fan_voltage",
        Value(Q::Voltage, 0.0, 400.0),
        None,
        "Voltage of the fan where no column holds it; 0 V for a fan that stands still.",
    ),
    key(
        "run",
        "drive_current",
        Value(Q::Current, 0.0, 1000.0),
        None,
        "Drive current where neither a column nor [[step]] holds it, as `per` of [drive] in lamp.toml counts it.",
    ),
    key("step", "at", Value(Q::Time, 0.0, 1e8), None, "When the current was set, from the first row on."),
    key("step", "drive_current", Value(Q::Current, 0.0, 1000.0), None, "What it was set to."),
    key(
        "format",
        "delimiter",
        Text,
        None,
        "What stands between fields: \"comma\", \"semicolon\", \"tab\", \"bar\", \"blanks\", \"none\", or one character; found out when missing.",
    ),
    key(
        "format",
        "decimal",
        Choice(&["point", "comma"]),
        None,
        "What stands before decimals; found out when missing.",
    ),
    key(
        "format",
        "missing",
        Texts,
        None,
        "Cells that stand for no reading, besides the usual words, such as [\"-999\"].",
    ),
    key(
        "format",
        "over_range",
        Texts,
        None,
        "Cells that stand for a reading out of range, besides the usual words.",
    ),
    key(
        "time",
        "column",
        Texts,
        None,
        "Column of the time, or those of date and time of day; by name, or by number in quotes. Found out when missing.",
    ),
    key(
        "time",
        "unit",
        Choice(&["s", "ms", "us", "ns", "min", "h", "d"]),
        None,
        "Unit of a counted time; that of the header when missing.",
    ),
    key(
        "time",
        "from",
        Choice(&["start", "epoch", "1899-12-30", "1904-01-01"]),
        None,
        "What a counted time counts from: a start, 1970-01-01 UTC (\"epoch\"), or the day from which a spreadsheet counts; by its size when missing.",
    ),
    key("time", "clock", Choice(&["hh:mm", "mm:ss"]), None, "What two numbers with a colon are."),
    key(
        "time",
        "date_order",
        Choice(&["day first", "month first", "year first"]),
        None,
        "Which number of a date such as 03/04/2026 is the day; asked for where the log does not show it.",
    ),
    key(
        "time",
        "zone",
        Text,
        None,
        "Offset from UTC of stamps without one, or with a zone name of several offsets, such as \"+01:00\"; needed only to join files with and without.",
    ),
    key(
        "time",
        "interval",
        Value(Q::Time, 1e-6, 1e6),
        None,
        "Time between rows of a log without a column of time.",
    ),
    required(
        "channel",
        "column",
        Text,
        "Column of the log: its name in the header, or its number in quotes.",
    ),
    required("channel", "is", Choice(ROLES), "What it is of."),
    key(
        "channel",
        "sensor",
        Text,
        None,
        "For a sensor: its name in lamp.toml; the only one when missing. For a cold junction: the thermocouple it belongs to; all of them when missing.",
    ),
    key(
        "channel",
        "unit",
        Text,
        None,
        "Unit of its numbers, such as \"mV\" or \"degC\"; that of the header when missing.",
    ),
    key(
        "channel",
        "factor",
        Value(Q::Number, -1e9, 1e9),
        None,
        "What its numbers are multiplied by first, for a divider or a shunt; `unit` is then that of the product.",
    ),
    key(
        "channel",
        "range",
        Texts,
        None,
        "What the logger can read, such as [\"0 V\", \"3.3 V\"]; readings at or beyond it are taken as out of range.",
    ),
    key(
        "channel",
        "law",
        Text,
        None,
        "Sensor of lamp.toml by whose law its output becomes a temperature; that of `sensor` when missing.",
    ),
];

/// Which tables may stand where: parent, name, whether it is a list.
pub const BENCH_TABLES: &[(&str, &str, bool)] = &[
    ("", "run", false),
    ("", "step", true),
    ("", "format", false),
    ("", "time", false),
    ("", "channel", true),
];
