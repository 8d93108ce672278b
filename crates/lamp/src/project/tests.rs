//! Lamp texts, whole and broken.

use std::collections::BTreeSet;

use toml::de::DeTable;

use super::document::Document;
use super::emitters::Sheets;
use super::keys::{LAMP_KEYS, LAMP_TABLES};
use super::{MemoryFolder, as_meant, read};
use crate::as_built::{Cooling, Face, LayerKind};

const WHOLE: &str = r#"
[lamp]
hottest = "45 degC"
name = "whole"
ambient = "30 degC"
facing = "up"
[drive]
currents = ["0.2 A", "0.7 A"]
nominal = "0.7 A"
per = "string"
[limits]
light = "100 lm"
board = "100 degC"
solder = "120 degC"
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1"]
at = [["10 mm", "10 mm"]]
rotation = "90 deg"
share = 0.5
voltage_tolerance = "60 mV"
[[sensor]]
name = "s"
at = ["5 mm", "5 mm"]
kind = "linear output"
at_0_degC = "500 mV"
slope = "10 mV/K"
[bond]
thickness = "50 um"
conductivity = "3 W/m/K"
kind = "grease"
thickness_tolerance = "10 um"
conductivity_tolerance = 0.2
fills_to = "120 um"
recess = "1 mm"
[[bond.pedestal]]
at = ["10 mm", "10 mm"]
size = ["12 mm", "12 mm"]
[[bond.region]]
at = ["10 mm", "10 mm"]
size = ["2 mm", "2 mm"]
contact = false
[screws]
at = [["3 mm", "3 mm"], ["17 mm", "17 mm"]]
material = "nylon"
head = "5.6 mm"
force = "80 N"
[heatsink]
base = ["40 mm", "40 mm"]
base_thickness = "3 mm"
material = "aluminium 6063-T5"
offset = ["1 mm", "0 mm"]
resistance = "2 K/W"
emissivity = 0.8
[faces]
top = "open"
bottom = "10 W/m2/K"
emissivity = 0.9
[material.goo]
kx = "1 W/m/K"
ky = "2 W/m/K"
kz = "3 W/m/K"
source = "a label"
[variant.al]
title = "aluminium"
outline = ["20 mm", "20 mm"]
copper = { top = "full" }
[variant.al.board]
kind = "aluminium core"
dielectric_conductivity = "2 W/m/K"
dielectric_thickness = "100 um"
core = "goo"
core_thickness = "1.5 mm"
copper_top = "2 oz"
mask = "25 um"
via_barrel = "20 um"
via_fill = "air"
[variant.al.flatness]
burr = "60 um"
board_bow = "0.1 mm"
board_span = "20 mm"
heatsink_bow = "-20 um"
heatsink_span = "40 mm"
along = "x"
[variant.fr4]
outline = ["20 mm", "20 mm"]
heatsink = "none"
bond = "none"
[variant.fr4.board]
kind = "fr4 two-layer"
thickness = "1.6 mm"
laminate = "FR4 laminate"
copper_bottom = "35 um"
[[variant.fr4.heat]]
name = "driver"
at = ["3 mm", "3 mm"]
size = ["2 mm", "2 mm"]
power = "0.5 W"
[variant.cu]
outline = ["20 mm", "20 mm"]
[variant.cu.heatsink]
base = ["40 mm", "30 mm"]
base_thickness = "3 mm"
fins = "plates"
fin_count = 8
fin_height = "20 mm"
fin_thickness = "1 mm"
fin_gap = "4 mm"
channels = "along y"
finish = "painted"
[variant.cu.fan]
curve = [["0 l/s", "30 Pa"], ["4 l/s", "0 Pa"]]
rated = "12 V"
voltage = "9 V"
stall = "4 V"
count = 1
blows = "along"
towards = "up"
filter = [["2 l/s", "4 Pa"]]
[[variant.cu.vent]]
name = "slots"
area = "50 mm2"
count = 10
loss = 2.7
[variant.cu.housing]
wall_area = "400 cm2"
wall_h = "5 W/m2/K"
vent_height = "80 mm"
fan_in_wall = true
[variant.cu.board]
kind = "copper core"
dielectric = "filled epoxy 3 W/m/K class"
pedestal = true
[variant.plain]
outline = ["20 mm", "20 mm"]
[variant.plain.heatsink]
base = ["30 mm", "30 mm"]
base_thickness = "3 mm"
h = "500 W/m2/K"
[variant.plain.bond]
resistance = "2e-5 m2K/W"
[variant.plain.board]
kind = "layers"
[[variant.plain.layer]]
name = "plate"
thickness = "2 mm"
material = "goo"
resistance_below = "1e-5 m2K/W"
[[variant.plain.layer]]
thickness = "1 mm"
conductivity = "5 W/m/K"
[[supply]]
name = "bench"
plus = "J1.1"
minus = ["3 mm", "4 mm"]
lead_length = "0.8 m"
lead_section = "18 AWG"
[[sensor]]
name = "ntc"
at = ["6 mm", "5 mm"]
kind = "NTC"
resistance_at_25_degC = "10 kohm"
beta = "3950 K"
series_resistor = "10 kohm"
series_resistor_tolerance = 0.01
supply = "3.3 V"
supply_tolerance = 0.02
sits_at = "supply"
[[sensor]]
name = "curve"
at = ["6 mm", "6 mm"]
kind = "NTC"
steinhart_hart = [1.104e-3, 2.389e-4, 6.93e-8]
error = "1 K"
error_per_degC = 0.01
dissipation = "2 mW/K"
sensing_current = "1 mA"
resolve = "0.2 K"
[[sensor]]
name = "pt"
at = ["7 mm", "5 mm"]
kind = "Pt1000"
lead_resistance = "0.4 ohm"
class = "A"
[[sensor]]
name = "pair"
at = ["8 mm", "5 mm"]
kind = "thermocouple"
pair = "K"
cold_junction = "23 degC"
cold_junction_error = "1 K"
[[sensor]]
name = "junction"
at = ["9 mm", "5 mm"]
kind = "forward voltage"
cold_voltage = "2.61 V"
cold_temperature = "22 degC"
slope = "-1.6 mV/K"
[[uncertain]]
value = "cooling"
tolerance = 0.3
each = "variant"
[[uncertain]]
value = "sensor offset"
offset = "0.4 K"
[logger]
bits = 12
range = ["0 V", "3.3 V"]
reference_error = 0.005
noise = "1 mV"
averaged = 16
reference = "sensor supply"
"#;

fn reading(text: &str) -> super::Reading {
    read(&MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]))
}

/// Line of the error that says all of this.
#[track_caller]
fn error_line(text: &str, says: &[&str]) -> u32 {
    let reading = reading(text);
    assert!(reading.lamp.is_none());
    let errors: Vec<_> = reading.remarks.into_iter().filter(|remark| remark.severity == "error").collect();
    let found = errors.iter().find(|error| says.iter().all(|word| error.text.contains(word)));
    found.unwrap_or_else(|| panic!("{says:?} is not said: {errors:#?}")).line.unwrap_or(0)
}

#[test]
fn a_whole_text_becomes_a_lamp_as_meant() {
    let reading = reading(WHOLE);
    let grave: Vec<_> = reading.remarks.iter().filter(|remark| remark.severity == "error").collect();
    assert!(grave.is_empty(), "{grave:#?}");
    let lamp = reading.lamp.unwrap();
    assert_eq!((lamp.ambient_c, lamp.nominal_current_a, lamp.currents_a.len()), (30.0, 0.7, 2));
    let names: Vec<&str> = lamp.variants.iter().map(|variant| variant.name.as_str()).collect();
    assert_eq!(names, ["al", "fr4", "cu", "plain"], "the order of the text");
    let [al, fr4, cu, plain] = &lamp.variants[..] else { panic!("four variants") };
    let kinds = |variant: &crate::as_built::Variant| {
        variant.layers.iter().map(|layer| layer.kind).collect::<Vec<_>>()
    };
    assert_eq!(kinds(al), [LayerKind::Copper, LayerKind::Dielectric, LayerKind::Core]);
    assert_eq!(kinds(fr4), [LayerKind::Copper, LayerKind::Dielectric, LayerKind::Copper]);
    assert_eq!(al.layers[0].thickness_m, 70e-6);
    assert_eq!(al.layers[2].material.ky_w_per_m_k, 2.0);
    assert!((al.bond.as_ref().unwrap().resistance_m2k_per_w - 50e-6 / 3.0).abs() < 1e-12);
    assert!(fr4.heatsink.is_none() && fr4.bond.is_none());
    assert_eq!(fr4.heat_patches[0].heat_w, 0.5);
    assert_eq!(plain.heatsink.as_ref().unwrap().cooling, Cooling::Film { h_w_per_m2_k: 500.0 });
    assert_eq!(al.bottom_face, Face::Film { h_w_per_m2_k: 10.0 });
    // Under the thermal land of a copper core there is core instead of dielectric.
    let land_mm2 = 1.3 * 3.3;
    let dielectric = cu.layers[1].pattern.as_ref().unwrap();
    assert!((400.0 - dielectric.area_mm2() - land_mm2).abs() < 1e-6);
    // Turned by a quarter, the land lies across.
    let land = al.emitters[0].thermal_land.bounds().unwrap();
    assert_eq!((land.width_nm(), land.height_nm()), (3_300_000, 1_300_000));
    assert_eq!(al.emitters[0].current_share, 0.5);
    assert_eq!(al.emitters[0].sheet.forward_v_tolerance_v, 0.06);
}

#[test]
fn the_key_table_and_what_is_read_are_the_same() {
    let more = WHOLE
        .replace("at = [\"5 mm\", \"5 mm\"]", "ref = \"U1\"")
        .replace("kx = \"1 W/m/K\"\nky = \"2 W/m/K\"\nkz = \"3 W/m/K\"", "conductivity = \"1 W/m/K\"");
    let artwork = WHOLE
        .replace("outline = [\"20 mm\", \"20 mm\"]\nheatsink", "artwork = \"artwork\"\nroles = {}\nheatsink");
    let pins = WHOLE.replace("fins = \"plates\"", "fins = \"pins\"\npin_count = [8, 6]");
    let by_flow = WHOLE.replace(
        "resistance = \"2 K/W\"",
        "resistance_by_flow = [[\"1 l/s\", \"2 K/W\"], [\"3 l/s\", \"1 K/W\"]]\nat_flow = \"2 l/s\"\nstated_source = [\"20 mm\", \"20 mm\"]",
    );
    let by_speed = WHOLE.replace(
        "resistance = \"2 K/W\"",
        "resistance_by_speed = [[\"1 m/s\", \"2 K/W\"], [\"3 m/s\", \"1 K/W\"]]\nat_speed = \"2 m/s\"",
    );
    let table = "resistance_by_flow = [[\"1 l/s\", \"2 K/W\"], [\"3 l/s\", \"1 K/W\"]]\n\
                 pressure_by_flow = [[\"1 l/s\", \"2 Pa\"], [\"3 l/s\", \"9 Pa\"]]\n";
    let by_fan = WHOLE.replace("fins = \"plates\"\n", table);
    let over_speed = table.replace("l/s", "m/s").replace("by_flow", "by_speed") + "speed_area = \"10 cm2\"\n";
    let by_fan_speed = WHOLE.replace("fins = \"plates\"\n", &over_speed);
    for text in [&pins, &by_flow, &by_speed, &by_fan, &by_fan_speed] {
        let grave: Vec<_> =
            reading(text).remarks.into_iter().filter(|remark| remark.severity == "error").collect();
        assert!(grave.is_empty(), "{grave:#?}");
    }
    let mut seen = BTreeSet::new();
    for text in [WHOLE, &more, &artwork, &pins, &by_flow, &by_speed, &by_fan, &by_fan_speed] {
        let document = Document::new("lamp.toml", text, LAMP_KEYS, LAMP_TABLES);
        let (root, errors) = DeTable::parse_recoverable(text);
        assert!(errors.is_empty());
        as_meant(&document, root.get_ref(), &MemoryFolder::default(), &mut Sheets::default());
        seen.extend(document.keys_read());
    }
    for key in LAMP_KEYS {
        let by_value = matches!(key.name, "copper" | "roles");
        assert!(
            by_value || seen.contains(&(key.table, key.name)),
            "[{}] {} is in the table and nothing reads it",
            key.table,
            key.name
        );
    }
    for (table, name) in seen {
        assert!(
            LAMP_KEYS.iter().any(|key| key.table == table && key.name == name),
            "[{table}] {name} is read and not in the table"
        );
    }
}

#[test]
fn sensors_are_read_as_meant() {
    use crate::sensor_law::{
        Accuracy, AccuracyClass, DividerSide, SensorLaw, ThermistorCurve, ThermocoupleType,
    };
    let reading = self::reading(WHOLE);
    let lamp = reading.lamp.unwrap_or_else(|| panic!("{:?}", reading.remarks));
    let laws: Vec<SensorLaw> = lamp.sensors.iter().filter_map(|sensor| sensor.law).collect();
    assert_eq!(laws[0], SensorLaw::LinearOutput { at_0_degc_v: 0.5, slope_v_per_k: 0.01 });
    let SensorLaw::Thermistor { curve, divider: Some(divider) } = laws[1] else { panic!("{:?}", laws[1]) };
    assert_eq!(curve, ThermistorCurve::Beta { at_25_degc_ohm: 1e4, beta_k: 3950.0 });
    assert_eq!((divider.fixed_ohm, divider.supply_v, divider.side), (1e4, 3.3, DividerSide::Supply));
    assert_eq!((divider.fixed_tolerance, divider.supply_tolerance), (0.01, 0.02));
    let constants = ThermistorCurve::SteinhartHart { a: 1.104e-3, b: 2.389e-4, c: 6.93e-8 };
    assert_eq!(laws[2], SensorLaw::Thermistor { curve: constants, divider: None });
    assert_eq!(laws[3], SensorLaw::Platinum { at_0_degc_ohm: 1000.0, lead_ohm: 0.4, divider: None });
    assert_eq!(lamp.sensors[3].accuracy, Some(Accuracy::Class(AccuracyClass::PlatinumA)));
    assert_eq!(laws[4], SensorLaw::Thermocouple { kind: ThermocoupleType::K, cold_junction_c: Some(23.0) });
    let junction = SensorLaw::ForwardVoltage { reference_c: 22.0, reference_v: 2.61, slope_v_per_k: -1.6e-3 };
    assert_eq!(laws[5], junction);
    let logger = lamp.logger.unwrap();
    assert!(logger.ratiometric && logger.bits == 12.0 && logger.high_v == 3.3 && logger.averaged == 16.0);
    assert_eq!(lamp.sensors[2].accuracy, Some(Accuracy::Stated { fixed_k: 1.0, per_k: 0.01 }));
}

#[test]
fn sensors_say_what_they_need() {
    let said = |from: &str, to: &str| {
        assert!(WHOLE.contains(from), "{from}");
        let reading = self::reading(&WHOLE.replace(from, to));
        reading
            .remarks
            .into_iter()
            .filter(|r| r.severity == "error")
            .map(|r| r.text)
            .collect::<Vec<_>>()
            .join(" | ")
    };
    assert!(said("pair = \"K\"", "").contains("needs its \"pair\""));
    assert!(said("beta = \"3950 K\"", "").contains("steinhart_hart"));
    assert!(said("[1.104e-3, 2.389e-4, 6.93e-8]", "[1.104e-3, 2.389e-4]").contains("a, b and c"));
    assert!(
        said("sits_at = \"supply\"", "slope = \"1 mV/K\"")
            .contains("says nothing of a sensor of kind \"NTC\"")
    );
    assert!(said("supply = \"3.3 V\"", "").contains("a divider needs"));
    assert!(said("class = \"A\"", "class = \"1\"").contains("those of thermocouples"));
    assert!(said("pair = \"K\"", "pair = \"J\"\nclass = \"3\"").contains("no class 3 of type J"));
    assert_eq!(said("pair = \"K\"", "pair = \"K\"\nclass = \"3\""), "");
    assert!(said("cold_temperature = \"22 degC\"", "").contains("needs \"cold_voltage\""));
    assert!(
        said("range = [\"0 V\", \"3.3 V\"]", "range = [\"3.3 V\", \"0 V\"]")
            .contains("lowest to its highest")
    );
}

#[test]
fn slips_are_told_with_place_and_help() {
    let changed = |from: &str, to: &str| {
        assert!(WHOLE.contains(from), "{from}");
        WHOLE.replace(from, to)
    };
    let line_of = |slip: &str, text: &str| {
        let line = text.lines().position(|line| line.contains(slip)).map(|above| above + 1);
        u32::try_from(line.unwrap()).unwrap()
    };
    let slip = changed("thickness = \"50 um\"", "thicknes = \"50 um\"");
    let told = error_line(&slip, &["unknown key", "did you mean \"thickness\""]);
    assert_eq!(told, line_of("thicknes = ", &slip));
    let unit = changed("nominal = \"0.7 A\"", "nominal = \"70 mm\"");
    assert_eq!(error_line(&unit, &["'mm'", "A, mA"]), line_of("70 mm", &unit));
    let sheet = changed("sheet = \"white-3.5mm\"", "sheet = \"purple\"");
    assert_eq!(error_line(&sheet, &["purple", "chip-on-board-20mm"]), line_of("purple", &sheet));
    error_line(
        &changed("at = [[\"10 mm\", \"10 mm\"]]", "at = [[\"19.5 mm\", \"10 mm\"]]"),
        &["stands off the board"],
    );
    let substance = changed("material = \"aluminium 6063-T5\"", "material = \"aluminum 6063-T5\"");
    error_line(&substance, &["did you mean \"aluminium 6063-T5\""]);
    error_line(&changed("power = \"0.5 W\"", "power = \"-0.5 W\""), &["allowed is 0"]);
    assert_eq!(error_line("[lamp]\nname = \"x\n", &["TOML"]), 2);
    error_line("[lamp]\nname = \"x\"\n", &["at least one [variant.NAME]"]);
    error_line(&changed("fin_count = 8", "fin_count = 39"), &["leave no gap", "40.0 mm of base"]);
    error_line(&changed("fin_gap = \"4 mm\"", "fin_gap = \"9 mm\""), &["wider than the base"]);
    error_line(&changed("fin_height = \"20 mm\"\n", ""), &["need fin_height"]);
    error_line(&changed("[\"4 l/s\", \"0 Pa\"]]", "[\"4 l/s\", \"40 Pa\"]]"), &["must fall"]);
    error_line(&changed("fins = \"plates\"", "fins = \"plates\"\nh = \"5 W/m2/K\""), &["only one of them"]);
    error_line(
        &changed(
            "resistance = \"2 K/W\"",
            "resistance = \"0.001 K/W\"\nstated_source = [\"9 mm\", \"9 mm\"]",
        ),
        &["less than the base alone"],
    );
}

#[test]
fn an_error_in_one_variant_hides_none_in_another() {
    let text = WHOLE
        .replace("kind = \"aluminium core\"", "kind = \"wood\"")
        .replace("laminate = \"FR4 laminate\"", "laminate = \"bread\"");
    let errors: Vec<_> =
        reading(&text).remarks.into_iter().filter(|remark| remark.severity == "error").collect();
    assert!(
        errors.iter().any(|e| e.text.contains("wood")) && errors.iter().any(|e| e.text.contains("bread")),
        "{errors:#?}"
    );
}

#[test]
fn no_text_makes_the_reader_panic() {
    const LIKELY: &[u8] = b"[]{}=\"',.#\n -+0123456789eEmuKW/A\0\xff";
    let mut state = 0x2545_F491_4F6C_DD1Du64;
    let mut roll = |sides: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % sides.max(1) as u64) as usize
    };
    for _ in 0..1500 {
        let mut bytes = WHOLE.as_bytes().to_vec();
        for _ in 0..=roll(5) {
            let at = roll(bytes.len());
            match roll(4) {
                0 => bytes[at] = LIKELY[roll(LIKELY.len())],
                1 => bytes.insert(at, LIKELY[roll(LIKELY.len())]),
                2 => {
                    bytes.remove(at);
                }
                _ => {
                    let end = (at + roll(60)).min(bytes.len());
                    bytes.drain(at..end);
                }
            }
        }
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), bytes)]));
        assert!(reading.lamp.is_some() || reading.has_errors());
    }
}

#[test]
fn pages_and_schemas_name_every_key() {
    let (page, schema) = (super::pages::keys_page(), super::pages::lamp_schema().to_string());
    for key in LAMP_KEYS {
        assert!(
            page.contains(&format!("| `{}` |", key.name)) && schema.contains(&format!("\"{}\"", key.name)),
            "{}",
            key.name
        );
    }
}

/// A maker's table with a fan: over the speed it becomes one over the flow by the cross-section (2 m/s times 10 cm2 are 2 l/s, by
/// hand); what is missing is said, and a figure over both is refused.
#[test]
fn a_makers_table_is_joined_with_the_fan() {
    let with = |lines: &str| WHOLE.replace("fins = \"plates\"\n", lines);
    let stated = |text: &str| {
        let lamp = reading(text).lamp.unwrap();
        let cu = lamp.variants.into_iter().find(|v| v.name == "cu").unwrap();
        match cu.heatsink.unwrap().cooling {
            Cooling::Air(side) => side.stated.unwrap(),
            other => panic!("{other:?}"),
        }
    };
    let by_flow = "resistance_by_flow = [[\"1 l/s\", \"2 K/W\"], [\"2 l/s\", \"1 K/W\"]]\n";
    let drop = "pressure_by_flow = [[\"2 l/s\", \"9 Pa\"]]\n";
    let speed = "resistance_by_speed = [[\"1 m/s\", \"2 K/W\"], [\"2 m/s\", \"1 K/W\"]]\npressure_by_speed = [[\"2 m/s\", \"9 Pa\"]]\n";
    let flow = stated(&with(&format!("{by_flow}{drop}")));
    assert_eq!(flow.k_per_w_by_flow, [(1e-3, 2.0), (2e-3, 1.0)]);
    let over_speed = stated(&with(&format!("{speed}speed_area = \"10 cm2\"\n")));
    for (a, b) in over_speed.k_per_w_by_flow.iter().zip(&flow.k_per_w_by_flow) {
        assert!((a.0 / b.0 - 1.0).abs() < 1e-12 && a.1 == b.1, "{a:?} {b:?}");
    }
    assert!((over_speed.pressure_by_flow.unwrap()[0].0 / 2e-3 - 1.0).abs() < 1e-12);
    // With its source stated, the base's own part is taken off: less than the figure.
    let source = "stated_source = [\"10 mm\", \"10 mm\"]\n";
    let behind = stated(&with(&format!("{by_flow}{drop}{source}")));
    assert!(behind.k_per_w_by_flow[0].1 < 1.99 && behind.holds_for.contains("10.0 x 10.0 mm"), "{behind:?}");
    assert!(flow.holds_for.contains("no source is stated"));
    // The channels' dimensions tell the pressure where the maker does not.
    assert_eq!(stated(&with(&format!("{by_flow}fins = \"plates\"\n"))).pressure_by_flow, None);
    let standing = WHOLE.replace("voltage = \"9 V\"", "voltage = \"2 V\"");
    let standing = standing.replace("fins = \"plates\"\n", &format!("{by_flow}{drop}"));
    for (text, said) in [
        (with(by_flow), "pressure_by_flow"),
        (with(speed), "speed_area"),
        (with(&format!("{by_flow}{drop}h = \"50 W/m2/K\"\n")), "only one of them"),
        (standing, "nothing of still air"),
    ] {
        let errors: Vec<String> =
            reading(&text).remarks.into_iter().filter(|r| r.severity == "error").map(|r| r.text).collect();
        assert!(errors.len() == 1 && errors[0].contains(said), "{said}: {errors:#?}");
    }
}

/// One wrong value is told once: the keys beside it are not said to be missing.
#[test]
fn a_bond_with_one_wrong_unit_is_told_once() {
    const BOND: &str = "thickness = \"50 um\"\nconductivity = \"3 W/m/K\"\n";
    assert!(WHOLE.contains(BOND));
    let errors = |bond: &str| -> Vec<String> {
        let remarks = reading(&WHOLE.replace(BOND, bond)).remarks.into_iter();
        remarks.filter(|r| r.severity == "error").map(|r| r.text).collect()
    };
    let takes = |all: &[String]| all.iter().filter(|text| text.contains("takes either")).count();
    let wrong = errors("thickness = \"50 W\"\nconductivity = \"3 W/m/K\"\n");
    assert!(takes(&wrong) == 0 && wrong.iter().any(|text| text.contains("50 W")), "{wrong:#?}");
    let missing = errors("thickness = \"50 um\"\n");
    assert_eq!(takes(&missing), 1, "{missing:#?}");
}
