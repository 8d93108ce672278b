//! Bench sheets, `bench/*.toml`: which column of which log is what.
//!
//! Read with the mechanism of lamp.toml (`lamp::project::document`) against a key table of their own.

pub mod keys;
pub mod pages;
mod proposal;
#[cfg(test)]
mod tests;

use lamp::findings::FindingRemark;
use lamp::project::document::{Document, Section, say_syntax};
use lamp::project::keys::nearest;
use toml::de::DeTable;

pub use proposal::proposal;
pub(crate) use proposal::quoted;

use crate::log::fields::Delimiter;
use crate::log::number::DecimalMark;
use crate::log::stamp::DateOrder;
use crate::log::unit::{Unit, unit_named};
use crate::log::zone::{Zone, zone};
use crate::log::{CountedFrom, Told};
use crate::recording::TimeRules;
use keys::{BENCH_KEYS, BENCH_TABLES};

/// Names in lamp.toml that a bench sheet may use.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Names {
    /// Variants.
    pub variants: Vec<String>,
    /// Board sensors.
    pub sensors: Vec<String>,
}

/// What a channel is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Role {
    /// A board sensor, by its name in lamp.toml.
    Sensor(String),
    /// The drive current.
    DriveCurrent,
    /// A voltage of the emitters.
    Voltage,
    /// The room.
    Ambient,
    /// The cold junction of a thermocouple of lamp.toml; of all of them where none is named.
    ColdJunction(Option<String>),
    /// The fan's voltage.
    FanVoltage,
    /// Anything else.
    Other,
}

impl Role {
    /// As written in a bench sheet.
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self {
            Self::Sensor(_) => "sensor",
            Self::DriveCurrent => "drive current",
            Self::Voltage => "voltage",
            Self::Ambient => "ambient",
            Self::ColdJunction(_) => "cold junction",
            Self::FanVoltage => "fan voltage",
            Self::Other => "other",
        }
    }
}

/// A column of the logs, and what it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Mapped {
    /// The column as named.
    pub column: String,
    /// What it is of.
    pub role: Role,
    /// Its unit, where told.
    pub unit: Option<Unit>,
    /// What its numbers are multiplied by first; 1 as a rule.
    pub factor: f64,
    /// What the logger can read, in base units.
    pub range: Option<[f64; 2]>,
    /// Sensor of lamp.toml whose law makes it a temperature.
    pub law: Option<String>,
}

/// A drive current that was set at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// From the first row, s.
    pub at_s: f64,
    /// A.
    pub drive_current_a: f64,
}

/// A bench sheet as meant.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchSheet {
    /// Name of the run: the sheet's file name without its ending.
    pub name: String,
    /// One line for headings.
    pub title: String,
    /// The variant that was tested.
    pub variant: Option<String>,
    /// Notes.
    pub notes: Option<String>,
    /// Paths of the logs in the lamp folder.
    pub logs: Vec<String>,
    /// Room temperature where no column holds it, degC.
    pub ambient_c: Option<f64>,
    /// Fan voltage where no column holds it, V.
    pub fan_voltage_v: Option<f64>,
    /// Drive current where neither a column nor steps hold it, A.
    pub drive_current_a: Option<f64>,
    /// Drive currents set, by time.
    pub steps: Vec<Step>,
    /// How the logs are written, where told.
    pub told: Told,
    /// What is told of their times.
    pub rules: TimeRules,
    /// Columns.
    pub channels: Vec<Mapped>,
}

/// Reads a bench sheet. `file` is its path in the lamp folder; with an error among the remarks it cannot be used.
#[must_use]
pub fn read(file: &str, bytes: &[u8], names: &Names) -> (Option<BenchSheet>, Vec<FindingRemark>) {
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
        Err(error) => {
            let text = format!("is not UTF-8 text from byte {} on; save it as UTF-8", error.valid_up_to());
            let remark = FindingRemark {
                severity: "error",
                file: Some(file.to_owned()),
                line: None,
                column: None,
                text,
            };
            return (None, vec![remark]);
        }
    };
    let document = Document::new(file, text, BENCH_KEYS, BENCH_TABLES);
    let (root, errors) = DeTable::parse_recoverable(text);
    say_syntax(&document, &errors);
    let sheet = as_meant(&document, root.get_ref(), names);
    let mut remarks = document.take_remarks();
    remarks.sort_by_key(|remark| (remark.line, remark.column));
    remarks.dedup();
    let broken = remarks.iter().any(|remark| remark.severity == "error");
    (sheet.filter(|_| !broken), remarks)
}

fn as_meant<'a>(document: &'a Document<'a>, table: &'a DeTable<'a>, names: &Names) -> Option<BenchSheet> {
    let root = Section::new(document, "", table, 0);
    let file = document.file.rsplit('/').next().unwrap_or(document.file);
    let name = file.strip_suffix(".toml").unwrap_or(file).to_owned();
    let channels = channels(&root, names);
    let format = root.section("format");
    let time = root.section("time");
    let told = told(format.as_ref(), time.as_ref());
    let steps = steps(&root);
    let Some(run) = root.section("run") else {
        document.error(0, "a bench sheet needs [run] with its logs, such as logs = [\"evening.csv\"]");
        return None;
    };
    let folder = document.file.rsplit_once('/').map_or(String::new(), |(folder, _)| format!("{folder}/"));
    let logs: Vec<String> =
        run.texts("logs").into_iter().map(|(log, _)| format!("{folder}{}", log.trim())).collect();
    if logs.is_empty() && run.has("logs") {
        run.error("logs", "at least one log is needed, such as logs = [\"evening.csv\"]");
    }
    let drive_current_a = run.value("drive_current");
    let with_current = channels.iter().any(|channel| channel.role == Role::DriveCurrent);
    if !with_current && steps.is_empty() && drive_current_a.is_none() {
        document.warn(
            run.at,
            "nothing tells the drive current: a [[channel]] that is = \"drive current\", [[step]]s, or drive_current in [run]",
        );
    }
    let variant = named(&run, "variant", &names.variants, "variant").or_else(|| only(&names.variants));
    if variant.is_none() && !run.has("variant") && names.variants.len() > 1 {
        let known = names.variants.join(", ");
        document.error(run.at, format!("[run] misses \"variant\": lamp.toml has several: {known}"));
    }
    Some(BenchSheet {
        title: run.text("title").unwrap_or_else(|| name.clone()),
        name,
        variant,
        notes: run.text("notes"),
        logs,
        ambient_c: run.value("ambient"),
        fan_voltage_v: run.value("fan_voltage"),
        drive_current_a,
        steps,
        rules: TimeRules { date_order: told.date_order, utc_offset_s: told.utc_offset_s },
        told,
        channels,
    })
}

fn only(names: &[String]) -> Option<String> {
    match names {
        [one] => Some(one.clone()),
        _ => None,
    }
}

/// A name that lamp.toml knows.
fn named(section: &Section<'_>, key: &'static str, known: &[String], what: &str) -> Option<String> {
    let name = section.text(key)?;
    if known.contains(&name) {
        return Some(name);
    }
    let hint = match nearest(&name, known.iter().map(String::as_str)) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if known.is_empty() => format!("lamp.toml has no {what}"),
        None => format!("lamp.toml has {}", known.join(", ")),
    };
    section.error(key, format!("{key} = \"{name}\": lamp.toml has no {what} of that name; {hint}"));
    None
}

fn steps(root: &Section<'_>) -> Vec<Step> {
    let mut steps: Vec<Step> = Vec::new();
    for section in root.sections("step") {
        let (at, current) = (section.value("at"), section.value("drive_current"));
        for name in ["at", "drive_current"] {
            if !section.has(name) {
                section.document.error(
                    section.at,
                    format!("a [[step]] needs \"{name}\": at = \"10 min\", drive_current = \"0.35 A\""),
                );
            }
        }
        let (Some(at_s), Some(drive_current_a)) = (at, current) else { continue };
        if steps.last().is_some_and(|before| before.at_s >= at_s) {
            section.error("at", "the times of the steps must ascend");
            continue;
        }
        steps.push(Step { at_s, drive_current_a });
    }
    steps
}

fn told(format: Option<&Section<'_>>, time: Option<&Section<'_>>) -> Told {
    let words = |section: Option<&Section<'_>>, key: &'static str| -> Vec<String> {
        section
            .map_or_else(Vec::new, |section| section.texts(key).into_iter().map(|(text, _)| text).collect())
    };
    let delimiter = format.and_then(|section| {
        let word = section.text("delimiter")?;
        let found = Delimiter::named(&word);
        if found.is_none() {
            section.error("delimiter", format!("delimiter = \"{word}\": \"comma\", \"semicolon\", \"tab\", \"bar\", \"blanks\", \"none\" or one character such as \":\" is allowed"));
        }
        found
    });
    let zone = time.and_then(|section| {
        let word = section.text("zone")?;
        match zone(word.trim().as_bytes()) {
            Some(Zone::Number(seconds) | Zone::Word(seconds)) => Some(seconds),
            Some(Zone::Open(open)) => {
                section.error("zone", format!("zone = \"{word}\" may be {}: write the offset itself, such as \"+01:00\"", open.offsets()));
                None
            }
            None => {
                section.error("zone", format!("zone = \"{word}\": an offset from UTC is needed, such as \"+01:00\" or \"CET\", or \"Z\" for UTC itself"));
                None
            }
        }
    });
    let choice = |key: &'static str| time.and_then(|section| section.choice(key));
    let columns = words(time, "column");
    if let Some(section) = time.filter(|_| columns.len() > 2) {
        section.error(
            "column",
            "one column of time is allowed, or two: that of the date and that of the time of day",
        );
    }
    Told {
        delimiter,
        decimal: match format.and_then(|section| section.choice("decimal")) {
            Some("comma") => Some(DecimalMark::Comma),
            Some(_) => Some(DecimalMark::Point),
            None => None,
        },
        date_order: choice("date_order")
            .and_then(|word| DateOrder::ALL.into_iter().find(|order| order.word() == word)),
        time_columns: columns,
        time_unit: choice("unit").and_then(unit_named),
        time_from: choice("from")
            .and_then(|word| CountedFrom::ALL.into_iter().find(|from| from.word() == word)),
        minutes_first: choice("clock").map(|word| word == "mm:ss"),
        interval_s: time.and_then(|section| section.value("interval")),
        utc_offset_s: zone,
        missing: words(format, "missing"),
        over_range: words(format, "over_range"),
    }
}

fn channels(root: &Section<'_>, names: &Names) -> Vec<Mapped> {
    let sections = root.sections("channel");
    if sections.is_empty() && !root.has("channel") {
        root.document.error(
            0,
            "a bench sheet needs at least one [[channel]] with column = \"...\" and is = \"sensor\"",
        );
    }
    sections.iter().filter_map(|section| channel(section, names)).collect()
}

fn channel(section: &Section<'_>, names: &Names) -> Option<Mapped> {
    let unit = section.text("unit").and_then(|word| {
        let found = unit_named(&word);
        if found.is_none() {
            section.error(
                "unit",
                format!(
                    "unit = \"{word}\" is not known; V, mV, A, mA, degC, K, degF, ohm, kohm, W and others are"
                ),
            );
        }
        found
    });
    let role = match section.choice("is")? {
        "drive current" => Role::DriveCurrent,
        "voltage" => Role::Voltage,
        "ambient" => Role::Ambient,
        "cold junction" => Role::ColdJunction(named(section, "sensor", &names.sensors, "sensor")),
        "fan voltage" => Role::FanVoltage,
        "other" => Role::Other,
        _ => Role::Sensor(sensor(section, names)?),
    };
    if section.has("sensor") && !matches!(role, Role::Sensor(_) | Role::ColdJunction(_)) {
        section.error(
            "sensor",
            format!(
                "\"sensor\" belongs to is = \"sensor\" and \"cold junction\"; this channel is \"{}\"",
                role.word()
            ),
        );
    }
    let law = named(section, "law", &names.sensors, "sensor").or_else(|| match &role {
        Role::Sensor(name) => Some(name.clone()),
        _ => None,
    });
    if section.has("factor") && !section.has("unit") {
        section.error("factor", "with \"factor\" the unit of the product is needed, such as unit = \"A\"");
    }
    Some(Mapped {
        column: section.text("column")?,
        role,
        unit,
        factor: section.value("factor").unwrap_or(1.0),
        range: range(section),
        law,
    })
}

fn sensor(section: &Section<'_>, names: &Names) -> Option<String> {
    if section.has("sensor") {
        return named(section, "sensor", &names.sensors, "sensor");
    }
    let found = only(&names.sensors);
    if found.is_none() {
        let text = match names.sensors.as_slice() {
            [] => "lamp.toml has no [[sensor]]: describe the board sensor there, with its place".to_owned(),
            more => {
                format!("which sensor is this? Write sensor = \"...\"; lamp.toml has {}", more.join(", "))
            }
        };
        section.document.error(section.at, text);
    }
    found
}

/// Two readings with their unit, in base units.
fn range(section: &Section<'_>) -> Option<[f64; 2]> {
    let texts = section.texts("range");
    if texts.is_empty() {
        return None;
    }
    let read = |text: &str| {
        let text = text.trim();
        let end =
            text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-' | '+'))).unwrap_or(text.len());
        let (number, unit) = text.split_at(end);
        Some(unit_named(unit)?.to_base(number.parse().ok()?))
    };
    let ends: Vec<Option<f64>> = texts.iter().map(|(text, _)| read(text)).collect();
    match ends.as_slice() {
        [Some(low), Some(high)] if low < high => Some([*low, *high]),
        _ => {
            section.error(
                "range",
                "two readings with their unit are needed, the lower first, such as [\"0 V\", \"3.3 V\"]",
            );
            None
        }
    }
}
