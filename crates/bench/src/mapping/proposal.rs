//! A bench sheet proposed for a log, each line with its reason.

use std::fmt::Write as _;

use super::Names;
use crate::log::unit::Measured;
use crate::log::{ColumnHead, ColumnKind, Dialect, TimeSource};

/// Words in the names of columns, lower case (English and German; common practice, no source).
const ROOM_WORDS: &[&str] = &["ambient", "room", "air", "amb", "raum", "umgebung", "luft"];
const COLD_WORDS: &[&str] = &[
    "cold junction",
    "cold-junction",
    "cold_junction",
    "reference junction",
    "terminals",
    "cjc",
    "vergleichsstelle",
];
const FAN_WORDS: &[&str] = &["fan", "blower", "lüfter", "luefter"];
const BOARD_WORDS: &[&str] = &["board", "sensor", "pcb", "led", "temp", "platine"];
const CURRENT_WORDS: &[&str] = &["curr", "drive", "amp", "strom", "i_led", "iout", "i_out"];

/// What a column is proposed as, and why.
struct Guess {
    is: &'static str,
    why: String,
    /// Whether the unit must be added.
    asks_unit: bool,
}

/// The text of a bench sheet for a log. What is not certain is a comment with a question.
#[must_use]
pub fn proposal(file: &str, dialect: &Dialect, names: Option<&Names>) -> String {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = name.rsplit_once('.').map_or(name, |(stem, _)| stem);
    let mut out = format!(
        "# Proposed for {name} by `lampwright bench --sniff`. Look it through, answer what is asked, and save it beside the log as\n\
         # bench/{stem}.toml.\n\n[run]\nlogs = [{}]\n",
        quoted(name)
    );
    match names.map(|names| names.variants.as_slice()) {
        Some([one]) => line(&mut out, &format!("variant = {}", quoted(one)), "the only one of lamp.toml"),
        Some(more) if !more.is_empty() => {
            let known = more.join(", ");
            line(&mut out, "# variant = \"\"", &format!("? which board was it; lamp.toml has {known}"));
        }
        _ => line(&mut out, "# variant = \"\"", "? which board was it, by its name in lamp.toml"),
    }
    line(&mut out, "# notes = \"\"", "anything worth knowing later");
    if !dialect.preamble.is_empty() {
        out += "# The log begins with:\n";
        for text in dialect.preamble.iter().take(8) {
            let _ = writeln!(out, "#   {text}");
        }
    }
    format_table(&mut out, dialect);
    time_table(&mut out, dialect);
    let mut taken: Vec<&'static str> = Vec::new();
    let sensor_by_temperature = dialect.columns.iter().any(|head| {
        head.unit.is_some_and(|unit| unit.measured == Measured::Temperature)
            && !has(head, ROOM_WORDS)
            && !has(head, COLD_WORDS)
    });
    for (index, head) in dialect.columns.iter().enumerate() {
        channel(&mut out, index, head, names, sensor_by_temperature, &mut taken);
    }
    if !taken.contains(&"drive current") {
        out += "\n# ? No column is the drive current. Write drive_current = \"0.7 A\" in [run], or a step for each current:\n\
                # [[step]]\n# at = \"0 s\"\n# drive_current = \"0.35 A\"\n";
    }
    out
}

fn format_table(out: &mut String, dialect: &Dialect) {
    out.push_str("\n[format]\n");
    for detection in &dialect.detections {
        let key = match detection.key {
            "format.delimiter" => "delimiter",
            "format.decimal" => "decimal",
            _ => continue,
        };
        let asked = if detection.certain { "" } else { "? " };
        line(
            out,
            &format!("{key} = {}", quoted(&detection.found)),
            &format!("{asked}{}", detection.evidence),
        );
    }
    line(out, "# missing = [\"-999\"]", "codes for no reading, besides the usual words");
}

fn time_table(out: &mut String, dialect: &Dialect) {
    out.push_str("\n[time]\n");
    let why = dialect.detections.iter().find(|detection| detection.what == "time");
    let evidence = why.map_or("", |why| why.evidence.as_str());
    let certain = why.is_some_and(|why| why.certain);
    let name = |column: usize| quoted(dialect.columns.get(column).map_or("", |head| head.name.as_str()));
    match dialect.time {
        TimeSource::Stamp { date, clock: None } => line(out, &format!("column = {}", name(date)), evidence),
        TimeSource::Stamp { date, clock: Some(clock) } => {
            line(out, &format!("column = [{}, {}]", name(date), name(clock)), evidence);
        }
        TimeSource::Clock { column, minutes_first } => {
            line(out, &format!("column = {}", name(column)), evidence);
            match (certain, minutes_first) {
                (false, _) => line(
                    out,
                    "# clock = \"mm:ss\"",
                    "? hours and minutes (hh:mm), or minutes and seconds (mm:ss)",
                ),
                (true, true) => line(out, "clock = \"mm:ss\"", ""),
                (true, false) => {}
            }
        }
        TimeSource::Count { column, unit, from } => {
            line(out, &format!("column = {}", name(column)), "");
            let text = format!("unit = {}", quoted(unit.symbol));
            if certain {
                line(out, &text, evidence)
            } else {
                line(out, &format!("# {text}"), "? nothing in the log tells the unit")
            }
            let text = format!("from = {}", quoted(from.word()));
            match dialect.detections.iter().find(|detection| detection.key == "time.from") {
                Some(found) if found.certain => line(out, &text, &found.evidence),
                Some(open) => line(out, &format!("# {text}"), &format!("? {}", open.evidence)),
                None => line(out, &text, ""),
            }
        }
        TimeSource::Rows { interval_s } => match interval_s {
            Some(interval_s) => line(out, &format!("interval = \"{interval_s} s\""), evidence),
            None => {
                line(out, "# interval = \"1 s\"", "? no column reads as a time; how often was a row written")
            }
        },
    }
    if let Some(zone) = dialect.detections.iter().find(|detection| detection.key == "time.zone") {
        line(out, "# zone = \"+00:00\"", &format!("? {}", zone.evidence));
    }
    if let Some(order) = dialect.detections.iter().find(|detection| detection.what == "date order") {
        if order.certain {
            line(out, &format!("date_order = {}", quoted(&order.found)), &order.evidence);
        } else {
            line(out, "# date_order = \"day first\"", &format!("? {}", order.evidence));
        }
    }
}

fn channel(
    out: &mut String,
    index: usize,
    head: &ColumnHead,
    names: Option<&Names>,
    sensor_by_temperature: bool,
    taken: &mut Vec<&'static str>,
) {
    let number = index + 1;
    match head.kind {
        ColumnKind::Time => return,
        ColumnKind::Words => {
            let _ = writeln!(
                out,
                "\n# Column {number}, \"{}\", holds words such as {}.",
                head.name, head.example
            );
            return;
        }
        ColumnKind::Empty => {
            let _ = writeln!(
                out,
                "\n# Column {number}, \"{}\", is empty at the beginning of the log.",
                head.name
            );
            return;
        }
        ColumnKind::Numbers => {}
    }
    let guess = guess(head, sensor_by_temperature, taken);
    taken.push(guess.is);
    let _ = writeln!(out, "\n[[channel]]                      # column {number}, such as {}", head.example);
    line(out, &format!("column = {}", quoted(&head.name)), "");
    line(out, &format!("is = {}", quoted(guess.is)), &guess.why);
    if guess.is == "sensor" {
        match names.map(|names| names.sensors.as_slice()) {
            Some([one]) => line(out, &format!("sensor = {}", quoted(one)), "the only one of lamp.toml"),
            Some(more) if !more.is_empty() => {
                line(out, "# sensor = \"\"", &format!("? lamp.toml has {}", more.join(", ")));
            }
            _ => line(out, "# sensor = \"\"", "its name in lamp.toml, where that has several"),
        }
    }
    match (head.unit, guess.asks_unit) {
        (Some(unit), _) => line(out, &format!("unit = {}", quoted(unit.symbol)), "of the header"),
        (None, true) => {
            let read =
                head.unit_text.as_ref().map_or(String::new(), |text| format!("; the header says {text}"));
            let unit = match guess.is {
                "drive current" => "A",
                "ambient" => "degC",
                _ => "V",
            };
            line(
                out,
                &format!("# unit = {}", quoted(unit)),
                &format!("? nothing known tells its unit{read}"),
            );
        }
        (None, false) => {}
    }
}

fn has(head: &ColumnHead, words: &[&str]) -> bool {
    let name = head.name.to_lowercase();
    words.iter().any(|word| name.contains(word))
}

/// Whether a name is a part's reference on the board, such as U1 or RT2 (letters of IEEE 315, from memory).
fn is_part(head: &ColumnHead) -> bool {
    let digits = head.name.trim_start_matches(|c: char| c.is_ascii_uppercase());
    let letters = head.name.len() - digits.len();
    (1..=2).contains(&letters) && !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit())
}

/// Columns are told by their unit first, then by their name; of two alike the first is taken.
fn guess(head: &ColumnHead, sensor_by_temperature: bool, taken: &[&'static str]) -> Guess {
    let measured = head.unit.map(|unit| unit.measured);
    let free = |role: &str| !taken.contains(&role);
    let made = |is, why: &str, asks_unit| Guess { is, why: why.to_owned(), asks_unit };
    match measured {
        Some(Measured::Temperature) if has(head, COLD_WORDS) && free("cold junction") => {
            made("cold junction", "a temperature, and its name says so", false)
        }
        Some(Measured::Temperature) if has(head, ROOM_WORDS) && free("ambient") => {
            made("ambient", "a temperature, and its name says so", false)
        }
        Some(Measured::Temperature) if free("sensor") => made("sensor", "a temperature", false),
        Some(Measured::Temperature) => {
            made("other", "? a further temperature: a sensor of lamp.toml, or \"ambient\"", false)
        }
        Some(Measured::Current) if has(head, FAN_WORDS) => {
            made("other", "a current, and not that of the emitters by its name", false)
        }
        Some(Measured::Current) if free("drive current") => made("drive current", "a current", false),
        Some(Measured::Voltage) if has(head, FAN_WORDS) && free("fan voltage") => {
            made("fan voltage", "a voltage, and its name says so", false)
        }
        Some(Measured::Voltage | Measured::Resistance)
            if !sensor_by_temperature && (has(head, BOARD_WORDS) || is_part(head)) && free("sensor") =>
        {
            made("sensor", "by its name the output of the board sensor", false)
        }
        Some(Measured::Voltage) if free("voltage") => made("voltage", "a voltage", false),
        Some(measured) => made("other", &format!("? a {}, and nothing tells whose", measured.word()), false),
        None if has(head, FAN_WORDS) && free("fan voltage") => made("fan voltage", "by its name", true),
        None if has(head, CURRENT_WORDS) && free("drive current") => {
            made("drive current", "by its name", true)
        }
        None if has(head, ROOM_WORDS) && free("ambient") => made("ambient", "by its name", true),
        None if has(head, BOARD_WORDS) && free("sensor") => made("sensor", "by its name", true),
        None => made("other", "? neither name nor unit tells what it is", true),
    }
}

/// A line with its reason behind.
fn line(out: &mut String, text: &str, why: &str) {
    if why.is_empty() {
        let _ = writeln!(out, "{text}");
    } else {
        let _ = writeln!(out, "{text:<32} # {why}");
    }
}

/// A text as a TOML basic string.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out + "\""
}
