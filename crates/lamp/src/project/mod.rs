//! Project text and fabrication files to a [`Lamp`].
//!
//! Reading goes in two steps: as written (`document`: tables, values and their places) and as meant (units resolved,
//! defaults taken, ranges checked, artwork read). It never stops at the first trouble.

mod air_side;
mod artwork_files;
mod bond;
pub mod circuit_summary;
mod common;
pub mod document;
mod emitters;
pub mod folder;
pub mod keys;
mod materials;
pub mod pages;
pub mod quantity;
mod screws;
mod sensors;
pub mod sheet;
mod stack;
pub mod summary;
mod supplies;
mod uncertain;
mod variant;

#[cfg(test)]
mod bond_tests;
#[cfg(test)]
mod supply_tests;
#[cfg(test)]
mod tests;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

pub use folder::{Folder, MemoryFolder};
pub use summary::{CheckSummary, check_artwork};

use crate::as_built::{Facing, Lamp};
use crate::findings::FindingRemark;
use document::{Document, Section, say_syntax};
use emitters::Sheets;
use keys::{LAMP_KEYS, LAMP_TABLES};
use materials::Substances;

/// Name of the project text in a lamp folder.
pub const LAMP_TEXT: &str = "lamp.toml";

/// What was understood of a lamp folder, and what there is to say about it.
#[derive(Debug)]
pub struct Reading {
    /// The lamp, when no error stands in its way.
    pub lamp: Option<Lamp>,
    /// Everything noticed, in order of file and place.
    pub remarks: Vec<FindingRemark>,
    /// What was understood, for `check`.
    pub understood: CheckSummary,
}

impl Reading {
    /// Whether an error stands in the way of a prediction.
    #[must_use]
    pub fn has_errors(&self) -> bool {
        self.remarks.iter().any(|remark| remark.severity == "error")
    }

    fn failed(text: String) -> Self {
        let remark = FindingRemark {
            severity: "error",
            file: Some(LAMP_TEXT.to_owned()),
            line: None,
            column: None,
            text,
        };
        Self { lamp: None, remarks: vec![remark], understood: CheckSummary::default() }
    }
}

/// Reads a lamp folder.
#[must_use]
pub fn read(folder: &dyn Folder) -> Reading {
    let bytes = match folder.read(LAMP_TEXT) {
        Ok(bytes) => bytes,
        Err(why) => {
            return Reading::failed(format!(
                "cannot be read: {why}; a lamp folder has a lamp.toml (`lampwright new FOLDER` starts one)"
            ));
        }
    };
    match String::from_utf8(bytes) {
        Ok(text) => read_text(folder, text.strip_prefix('\u{feff}').unwrap_or(&text)),
        Err(error) => {
            let at = error.utf8_error().valid_up_to();
            Reading::failed(format!("is not UTF-8 text from byte {at} on; save it as UTF-8"))
        }
    }
}

fn read_text(folder: &dyn Folder, text: &str) -> Reading {
    let document = Document::new(LAMP_TEXT, text, LAMP_KEYS, LAMP_TABLES);
    let (root, errors) = DeTable::parse_recoverable(text);
    say_syntax(&document, &errors);
    let mut sheets = Sheets::default();
    let (lamp, understood, mut artwork_remarks) = as_meant(&document, root.get_ref(), folder, &mut sheets);
    let mut remarks = document.take_remarks();
    remarks.sort_by_key(|remark| (remark.line, remark.column));
    remarks.dedup();
    remarks.append(&mut sheets.remarks);
    remarks.append(&mut artwork_remarks);
    let broken = remarks.iter().any(|remark| remark.severity == "error");
    Reading { lamp: lamp.filter(|_| !broken), remarks, understood }
}

/// Common tables, as every variant finds them.
pub(super) struct Common<'a> {
    drive: Option<Section<'a>>,
    limits: Option<Section<'a>>,
    bond: Option<Section<'a>>,
    screws: Option<Section<'a>>,
    flatness: Option<Section<'a>>,
    heatsink: Option<Section<'a>>,
    air: air_side::Tables<'a>,
    faces: Option<Section<'a>>,
    emitters: Vec<Section<'a>>,
    supplies: Vec<Section<'a>>,
    substances: Substances,
}

fn as_meant<'a>(
    document: &'a Document<'a>,
    table: &'a DeTable<'a>,
    folder: &dyn Folder,
    sheets: &mut Sheets,
) -> (Option<Lamp>, CheckSummary, Vec<FindingRemark>) {
    let root = Section::new(document, "", table, 0);
    let mut substances = Substances::default();
    for (name, section) in named(&root, "material") {
        substances.add(&name, &section);
    }
    let common = Common {
        drive: root.section("drive"),
        limits: root.section("limits"),
        bond: root.section("bond"),
        screws: root.section("screws"),
        flatness: root.section("flatness"),
        heatsink: root.section("heatsink"),
        air: air_side::Tables::of(&root),
        faces: root.section("faces"),
        emitters: root.sections("emitters"),
        supplies: root.sections("supply"),
        substances,
    };
    let heading = root.section("lamp");
    let name = heading.map_or_else(|| "lamp".to_owned(), |lamp| lamp.text_or_default("name"));
    let mut understood = CheckSummary { lamp: name.clone(), ..CheckSummary::default() };
    let mut artwork_remarks = Vec::new();
    let mut variants = Vec::new();
    let found = named(&root, "variant");
    if found.is_empty() {
        document.error(
            0,
            "the lamp has no variant: at least one [variant.NAME] with its [variant.NAME.board] is needed",
        );
    }
    let mut sensor_places = None;
    for (name, section) in found {
        let outcome = variant::read(&name, &section, &common, folder, sheets);
        understood.variants.push(outcome.summary);
        artwork_remarks.extend(outcome.remarks);
        sensor_places =
            sensor_places.filter(|places: &variant::Places| !places.is_empty()).or(Some(outcome.places));
        variants.extend(outcome.variant);
    }
    // Places that are missing because a variant was not understood are no error of the sensor's.
    let all_understood = understood.variants.iter().all(|variant| variant.is_understood);
    let sensor_places = sensor_places.filter(|places| all_understood || !places.is_empty());
    let sensor_sections = root.sections("sensor");
    let found_sensors: Vec<_> =
        sensor_sections.iter().map(|s| sensors::sensor(s, sensor_places.as_ref())).collect();
    sensors::check_places(&sensor_sections, &found_sensors, if all_understood { &variants } else { &[] });
    let drives_heat = variants.iter().any(|variant: &crate::as_built::Variant| !variant.emitters.is_empty());
    let (currents_a, nominal_current_a) = currents(&root, common.drive.as_ref(), drives_heat);
    let lamp = Lamp {
        name,
        ambient_c: heading.map_or(25.0, |lamp| lamp.value_or_default("ambient")),
        coldest_c: heading.and_then(|lamp| lamp.value("coldest")),
        hottest_c: heading
            .and_then(|lamp| lamp.value("hottest"))
            .unwrap_or_else(|| HOTTEST_C.max(heading.map_or(25.0, |lamp| lamp.value_or_default("ambient")))),
        light_least_lm: common.limits.as_ref().and_then(|limits| limits.value("light")),
        facing: match heading.map_or("down", |lamp| lamp.choice_or_default("facing")) {
            "up" => Facing::Up,
            "sideways" => Facing::Sideways,
            _ => Facing::Down,
        },
        drive_per: supplies::drive(&common).per,
        currents_a,
        nominal_current_a,
        board_limit_c: common.limits.as_ref().and_then(|limits| limits.value("board")),
        solder_limit_c: common.limits.as_ref().and_then(|limits| limits.value("solder")),
        sensors: found_sensors.into_iter().flatten().collect(),
        logger: root.section("logger").as_ref().and_then(sensors::logger),
        uncertain: root.sections("uncertain").iter().filter_map(uncertain::stated).collect(),
        variants,
    };
    understood.say_lamp(&lamp);
    (Some(lamp), understood, artwork_remarks)
}

/// The tables `[kind.NAME]`.
fn named<'a>(root: &Section<'a>, kind: &'static str) -> Vec<(String, Section<'a>)> {
    let Some(value): Option<&'a Spanned<DeValue<'a>>> = root.raw(kind) else { return Vec::new() };
    let Some(table) = value.get_ref().as_table() else {
        root.error(kind, format!("write [{kind}.NAME] and its keys below"));
        return Vec::new();
    };
    // In the order of the text.
    let mut entries: Vec<_> = table.iter().collect();
    entries.sort_by_key(|(name, _)| name.span().start);
    entries
        .into_iter()
        .filter_map(|(name, value)| {
            let at = name.span().start;
            match value.get_ref().as_table() {
                Some(table) => {
                    Some((name.get_ref().to_string(), Section::new(root.document, kind, table, at)))
                }
                None => {
                    root.document.error(
                        at,
                        format!("[{kind}] holds tables with names: write [{kind}.NAME] and the keys below"),
                    );
                    None
                }
            }
        })
        .collect()
}

/// Hottest room that a lamp must stand where nothing is said, degC (common practice, no source).
const HOTTEST_C: f64 = 40.0;

/// Drive currents, ascending, and the nominal one.
fn currents(root: &Section<'_>, drive: Option<&Section<'_>>, needed: bool) -> (Vec<f64>, f64) {
    let Some(drive) = drive else {
        if needed {
            root.document.error(0, "the lamp has emitters and no drive current: [drive] with currents = [\"0.35 A\", \"0.7 A\"] is needed");
        }
        return (vec![0.0], 0.0);
    };
    let mut currents = drive.values("currents").unwrap_or_default();
    let nominal = drive.value("nominal");
    currents.extend(nominal);
    currents.sort_by(f64::total_cmp);
    currents.dedup();
    if currents.is_empty() {
        if !drive.has("currents") && !drive.has("nominal") {
            drive
                .document
                .error(drive.at, "[drive] needs \"currents\", such as currents = [\"0.35 A\", \"0.7 A\"]");
        }
        return (vec![0.0], 0.0);
    }
    let highest = currents.last().copied().unwrap_or(0.0);
    (currents, nominal.unwrap_or(highest))
}
