//! Emitter sheets: from the lamp folder, else the classes that come with the program.

use toml::de::DeTable;

use super::document::{Document, Section, say_syntax};
use super::folder::Folder;
use super::keys::{SHEET_KEYS, SHEET_TABLES};
use crate::as_built::LandRole;
use crate::emitter::{EmitterSheet, Radiation, ResistanceBasis, SheetLand};
use crate::findings::FindingRemark;
use crate::lumen_maintenance::{self, AgeingTest};

/// The classes that come with the program: name and text.
pub const SHIPPED: &[(&str, &str)] = &[
    ("white-3.5mm", include_str!("../../sheets/white-3.5mm.toml")),
    ("multi-die-5mm-12v", include_str!("../../sheets/multi-die-5mm-12v.toml")),
    ("chip-on-board-20mm", include_str!("../../sheets/chip-on-board-20mm.toml")),
];

/// Finds a sheet by name: `emitters/NAME.toml` in the folder, else a shipped class. The error lists what there is.
pub(super) fn find(
    folder: &dyn Folder,
    name: &str,
) -> Result<(Option<EmitterSheet>, Vec<FindingRemark>), String> {
    let file = format!("emitters/{name}.toml");
    if let Ok(bytes) = folder.read(&file) {
        return Ok(match String::from_utf8(bytes) {
            Ok(text) => read(&file, name, &text),
            Err(error) => {
                let text = format!(
                    "not UTF-8 text from byte {} on; save it as UTF-8",
                    error.utf8_error().valid_up_to()
                );
                (None, vec![whole_file(&file, text)])
            }
        });
    }
    match SHIPPED.iter().find(|(shipped, _)| *shipped == name) {
        Some((shipped, text)) => Ok(read(&format!("(shipped) {shipped}"), name, text)),
        None => {
            let shipped: Vec<&str> = SHIPPED.iter().map(|(name, _)| *name).collect();
            let mut own = folder.list("emitters").unwrap_or_default();
            own.retain(|name| name.ends_with(".toml"));
            Err(format!(
                "there is no emitter sheet \"{name}\": emitters/{name}.toml is missing (in emitters/: {}), and shipped classes are {}",
                if own.is_empty() { "nothing".to_owned() } else { own.join(", ") },
                shipped.join(", ")
            ))
        }
    }
}

fn whole_file(file: &str, text: String) -> FindingRemark {
    FindingRemark { severity: "error", file: Some(file.to_owned()), line: None, column: None, text }
}

/// Reads a sheet. Without a sheet the remarks hold at least one error.
pub fn read(file: &str, name: &str, text: &str) -> (Option<EmitterSheet>, Vec<FindingRemark>) {
    let document = Document::new(file, text, SHEET_KEYS, SHEET_TABLES);
    let (table, errors) = DeTable::parse_recoverable(text);
    say_syntax(&document, &errors);
    let sheet = as_meant(&document, name, table.get_ref());
    let remarks = document.take_remarks();
    let broken = remarks.iter().any(|remark| remark.severity == "error");
    (sheet.filter(|_| !broken), remarks)
}

fn table<'a>(document: &'a Document<'a>, root: &'a DeTable<'a>, name: &'static str) -> Option<Section<'a>> {
    let found = root.iter().find(|(key, _)| key.get_ref() == name).map(|(_, value)| value);
    let section = found.and_then(|value| {
        Some(Section::new(document, name, value.get_ref().as_table()?, value.span().start))
    });
    if section.is_none() && name != "emitter" {
        document.error(0, format!("the sheet misses the table [{name}]"));
    }
    section
}

fn as_meant<'a>(document: &'a Document<'a>, name: &str, root: &'a DeTable<'a>) -> Option<EmitterSheet> {
    document.check_names("", root);
    let empty: &'a DeTable<'a> = root;
    let _ = empty;
    let emitter = table(document, root, "emitter");
    let voltage = table(document, root, "voltage");
    let flux = table(document, root, "flux");
    let resistance = table(document, root, "resistance");
    let limits = table(document, root, "limits");
    let lands = lands(document, root);
    let ageing_tests = ageing_tests(document, root);
    let (voltage, flux, resistance, limits) = (voltage?, flux?, resistance?, limits?);
    let forward_v_by_current = voltage.curve("table");
    let radiation = radiation(&flux);
    let relative_flux_by_current = match flux.curve("by_current") {
        Some(curve) => curve,
        None => {
            let current = flux.value("binning_current")?;
            flux.warn("by_current", "without \"by_current\" the flux is taken in proportion to the current, which is too much at high currents");
            vec![(0.0, 0.0), (current, 1.0)]
        }
    };
    Some(EmitterSheet {
        name: name.to_owned(),
        title: emitter.and_then(|e| e.text("title")).unwrap_or_else(|| name.to_owned()),
        source: emitter.map_or_else(|| "given in the sheet".to_owned(), |e| e.text_or_default("source")),
        forward_v_by_current: forward_v_by_current?,
        voltage_reference_c: voltage.value_or_default("junction"),
        forward_v_per_k: voltage.value_or_default("slope"),
        forward_v_tolerance_v: voltage.value_or_default("tolerance"),
        flux_lm: flux.value("flux")?,
        binning_current_a: flux.value("binning_current")?,
        binning_junction_c: flux.value_or_default("binning_junction"),
        relative_flux_by_current,
        relative_flux_by_junction: flux.curve("by_junction").unwrap_or_else(|| vec![(25.0, 1.0)]),
        radiation: radiation?,
        heat_factor: 1.0,
        junction_to_solder_k_per_w: resistance.value("junction_to_solder")?,
        resistance_basis: match resistance.choice_or_default("basis") {
            "real" => ResistanceBasis::Real,
            _ => ResistanceBasis::Electrical,
        },
        resistance_stated_at_efficiency: resistance.value("stated_at_efficiency"),
        junction_limit_c: limits.value("junction")?,
        current_limit_a: limits.value("current")?,
        solder_limit_c: limits.value("solder"),
        ageing_tests,
        body_m: emitter.map_or([3.5e-3; 2], |e| e.pair_or_default("body")),
        lands,
    })
}

fn radiation(flux: &Section<'_>) -> Option<Radiation> {
    match (flux.value("efficacy_of_radiation"), flux.value("radiant_efficiency")) {
        (Some(lm_per_w), None) => Some(Radiation::EfficacyOfRadiation { lm_per_w }),
        (None, Some(fraction)) => Some(Radiation::Efficiency { fraction }),
        (Some(_), Some(_)) => {
            flux.error(
                "radiant_efficiency",
                "give either \"efficacy_of_radiation\" or \"radiant_efficiency\", not both",
            );
            None
        }
        (None, None) => {
            flux.document.error(
                flux.at,
                "[flux] needs \"efficacy_of_radiation\" (about 300 lm/W for warm white of 90 CRI, from memory) or \"radiant_efficiency\"",
            );
            None
        }
    }
}

/// The ageing tests that can be read. One that cannot be projected is told at once and kept: its readings are right.
fn ageing_tests<'a>(document: &'a Document<'a>, root: &'a DeTable<'a>) -> Vec<AgeingTest> {
    let array = root
        .iter()
        .find(|(key, _)| key.get_ref() == "lumen_maintenance")
        .and_then(|(_, value)| value.get_ref().as_array());
    let mut tests = Vec::new();
    for item in array.into_iter().flat_map(|array| array.iter()) {
        let Some(table) = item.get_ref().as_table() else { continue };
        let section = Section::new(document, "lumen_maintenance", table, item.span().start);
        let (case_c, current_a) = (section.value("case"), section.value("current"));
        let (units, table) = (section.value("units"), section.curve("table"));
        let (Some(case_c), Some(current_a), Some(units), Some(relative_flux)) =
            (case_c, current_a, units, table)
        else {
            continue;
        };
        if let Some((hours, flux)) = relative_flux.iter().find(|(_, flux)| !(0.01..=1.5).contains(flux)) {
            section.error(
                "table",
                format!("the flux at {hours} h is {flux}; a part of the flux at 0 h is needed, such as 0.97"),
            );
            continue;
        }
        if units.fract() != 0.0 {
            section.error("units", format!("{units} units: a whole number of them is tested"));
            continue;
        }
        let test = AgeingTest { case_c, current_a, units: units as u32, relative_flux };
        if let Err(why) = lumen_maintenance::decay(&test) {
            section.warn("table", format!("{why}; it tells no life"));
        }
        tests.push(test);
    }
    tests
}

fn lands<'a>(document: &'a Document<'a>, root: &'a DeTable<'a>) -> Vec<SheetLand> {
    let array = root
        .iter()
        .find(|(key, _)| key.get_ref() == "land")
        .and_then(|(_, value)| value.get_ref().as_array());
    let Some(array) = array else {
        document
            .error(0, "the sheet misses its lands: at least one [[land]] with role, at and size is needed");
        return Vec::new();
    };
    array
        .iter()
        .filter_map(|item| {
            let section = Section::new(document, "land", item.get_ref().as_table()?, item.span().start);
            let role = match section.choice("role")? {
                "thermal" => LandRole::Thermal,
                "anode" => LandRole::Anode,
                _ => LandRole::Cathode,
            };
            Some(SheetLand { role, at_m: section.pair("at")?, size_m: section.pair("size")? })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{SHIPPED, read};
    use crate::lumen_maintenance::maintenance;

    #[test]
    fn shipped_classes_are_whole() {
        for (name, text) in SHIPPED {
            let (sheet, remarks) = read(name, name, text);
            assert_eq!(remarks, [], "{name}");
            let sheet = sheet.unwrap();
            assert!(sheet.source.contains("typical of the class, from memory"));
            // Plausible: a white emitter turns 20 to 60 % of its power into radiation at its binning point.
            let volts =
                crate::emitter_physics::forward_v(&sheet, sheet.binning_current_a, sheet.binning_junction_c);
            let radiant = match sheet.radiation {
                crate::emitter::Radiation::EfficacyOfRadiation { lm_per_w } => sheet.flux_lm / lm_per_w,
                crate::emitter::Radiation::Efficiency { fraction } => {
                    fraction * volts * sheet.binning_current_a
                }
            };
            let efficiency = radiant / (volts * sheet.binning_current_a);
            assert!((0.2..0.6).contains(&efficiency), "{name}: {efficiency}");
        }
    }

    #[test]
    fn shipped_classes_have_ageing_tests_that_can_be_projected() {
        for (name, text) in SHIPPED {
            let sheet = read(name, name, text).0.unwrap();
            assert!(sheet.ageing_tests.len() >= 2, "{name}");
            // Typical of makers' tests: 70 % of the light after 30 to 200 thousand hours at a case of 85 degC.
            let found = maintenance(&sheet.ageing_tests, 85.0, sheet.binning_current_a).unwrap();
            let hours = found.decay.life(0.7).calculated_h.unwrap();
            assert!((3e4..2e5).contains(&hours), "{name}: {hours}");
        }
    }

    #[test]
    fn a_broken_ageing_test_says_where() {
        let broken = |from: &str, to: &str| {
            let text = SHIPPED[0].1.replacen(from, to, 1);
            assert_ne!(text, SHIPPED[0].1, "{from} is there");
            let (sheet, remarks) = read("emitters/x.toml", "x", &text);
            assert!(remarks[0].line > Some(50), "{remarks:?}");
            (sheet.is_some(), remarks[0].text.clone())
        };
        let (_, said) = broken("units = 20", "units = 12.5");
        assert!(said.contains("a whole number"), "{said}");
        let (read_on, said) = broken("units = 20", "units = 5");
        assert!(read_on && said.contains("5 units"), "{said}");
        let (_, said) = broken("[6000, 0.9", "[600, 0.9");
        assert!(said.contains("ascend"), "{said}");
        let (_, said) = broken("[6000, 0.9", "[6000, 90.9");
        assert!(said.contains("a part of the flux at 0 h"), "{said}");
        let (_, said) = broken("units = 20", "unit = 20");
        assert!(said.contains("did you mean \"units\"?") || said.contains("misses \"units\""), "{said}");
    }

    #[test]
    fn a_broken_sheet_says_where() {
        let text = SHIPPED[0].1.replace("\"0.7 A\"", "\"0.7 mm\"");
        let (sheet, remarks) = read("emitters/x.toml", "x", &text);
        assert!(sheet.is_none());
        assert!(remarks[0].line > Some(1) && remarks[0].text.contains("'mm'"), "{remarks:?}");
    }
}
