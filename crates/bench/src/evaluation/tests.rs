//! Heat by hand; runs that lack something.

use lamp::project::MemoryFolder;

use super::*;
use crate::mapping::Names;
use crate::run;
use crate::testing::lamp_of;

/// Two emitters in a sketch, one shipped class; a sensor of degrees.
const LAMP: &str = r#"
[lamp]
name = "sketch"
ambient = "25 degC"

[drive]
per = "string"
currents = ["0.7 A"]

[limits]
board = "60 degC"

[[sensor]]
name = "board"
at = ["5 mm", "5 mm"]
kind = "degC"

[[emitters]]
sheet = "white-3.5mm"
refs = ["D1", "D2"]
at = [["10 mm", "10 mm"], ["20 mm", "10 mm"]]

[variant.only]
title = "sketch"
outline = ["30 mm", "20 mm"]
copper = "full"

[variant.only.board]
kind = "aluminium core"
core = "aluminium 5052"
core_thickness = "1.5 mm"
dielectric_conductivity = "2 W/m/K"
dielectric_thickness = "100 um"
copper_top = "70 um"
mask = "25 um"

[variant.only.faces]
bottom = "1500 W/m2/K"
"#;

/// A log of 900 s: room 20 degC, board towards 20 + `rise_k` with 60 s, one emitter's voltage.
fn found(sheet: &str, rise_k: f64, voltage_v: f64) -> RunFindings {
    let mut log = String::from("t (s);T (degC);room (degC);I (A);U (V)\n");
    for second in 0..900 {
        let board_c = 20.0 + rise_k * (1.0 - (-f64::from(second) / 60.0).exp());
        log += &format!("{second};{board_c:.3};20.0;0.700;{voltage_v:.3}\n");
    }
    let lamp = lamp_of(LAMP);
    let folder = MemoryFolder::new([
        ("bench/a.toml".to_owned(), sheet.as_bytes().to_vec()),
        ("bench/a.csv".to_owned(), log.into_bytes()),
    ]);
    let run = run::read(&folder, "bench/a.toml", &Names::of(&lamp));
    assert!(!run.has_errors(), "{:#?}", run.remarks);
    evaluate(&run, &lamp)
}

const SHEET: &str = r#"
[run]
logs = ["a.csv"]
variant = "only"
[time]
column = "t"
[[channel]]
column = "T"
is = "sensor"
sensor = "board"
[[channel]]
column = "room"
is = "ambient"
[[channel]]
column = "I"
is = "drive current"
[[channel]]
column = "U"
is = "voltage"
"#;

/// Source: by hand from the sheet "white-3.5mm". At 0.7 A an emitter takes 2.85 V at 85 degC, less 1.6 mV/K, and gives 240 lm at 85 degC,
/// more by 0.045 of it for 30 K less; 305 lm/W. The junction near 53 degC: light 2 x 240 x 1.048 / 305 = 1.649 W; power from 2.90 V
/// measured: 2 x 2.90 x 0.7 = 4.06 W; heat 2.41 W.
#[test]
fn heat_by_hand_from_a_measured_voltage_of_one_emitter() {
    let found = found(SHEET, 30.0, 2.90);
    assert_eq!(found.plateaus.len(), 1, "{found:#?}");
    let plateau = &found.plateaus[0];
    assert_eq!(plateau.heat_from, Some("measured voltage"));
    let heat_w = plateau.heat_w.unwrap();
    assert!((heat_w - 2.41).abs() < 0.01, "{heat_w}");
    assert!((plateau.rise_k.unwrap() - 30.0).abs() < 0.05, "{plateau:?}");
    assert!((plateau.settled_sensor_c.unwrap() - 50.0).abs() < 0.05 && plateau.settled, "{plateau:?}");
    assert!((plateau.resistance_k_per_w.unwrap() - 30.0 / 2.41).abs() < 0.06, "{plateau:?}");
    assert!(!plateau.above_board_limit && plateau.anomalies.is_empty(), "{plateau:?}");
}

/// By hand as above: 2 x 0.7 x (2.85 + 0.0016 x 32) = 4.06 W by the sheet as well, so the heat is 2.41 W; 7 V are no voltage of an emitter.
#[test]
fn a_voltage_that_fits_nothing_leaves_the_heat_to_the_sheet() {
    let found = found(SHEET, 30.0, 7.0);
    let plateau = &found.plateaus[0];
    assert_eq!(plateau.heat_from, Some("emitter sheet"));
    assert!((plateau.heat_w.unwrap() - 2.41).abs() < 0.02, "{plateau:?}");
    assert!(plateau.remarks.iter().any(|remark| remark.contains("(7.00 V) is neither")), "{plateau:?}");
}

#[test]
fn a_board_above_its_limit_is_told() {
    let plateau = found(SHEET, 41.0, 2.9).plateaus.remove(0);
    assert!(plateau.above_board_limit, "{plateau:?}");
    assert!(
        plateau.remarks.iter().any(|remark| remark.contains("above the board's limit of 60 degC")),
        "{plateau:?}"
    );
}

/// What is missing is asked for, and what is there is told.
#[test]
fn a_run_that_lacks_something_says_what() {
    let no_sensor = SHEET.replace("is = \"sensor\"\nsensor = \"board\"", "is = \"other\"");
    let told = found(&no_sensor, 30.0, 2.9);
    assert!(told.plateaus.is_empty() && told.remarks[0].contains("no column is a board sensor"), "{told:?}");
    let no_room = SHEET.replace("is = \"ambient\"", "is = \"other\"");
    let told = found(&no_room, 30.0, 2.9);
    assert!(told.plateaus.is_empty() && told.remarks[0].contains("write ambient = \"22 degC\""), "{told:?}");
    // Half the interval by hand: 1.96 / 3^(1/2) K = 1.13 K, for a stated room counts as within 1 K, all within alike.
    let stated = no_room.replace("variant = \"only\"", "variant = \"only\"\nambient = \"20 degC\"");
    let plateau = found(&stated, 30.0, 2.9).plateaus.remove(0);
    assert!((plateau.rise_doubt_k().unwrap() - 1.13).abs() < 0.02, "{plateau:?}");
    // Without a current there is a rise, and nothing that needs a current.
    let no_current = SHEET.replace("is = \"drive current\"", "is = \"other\"");
    let told = found(&no_current, 30.0, 2.9);
    let plateau = &told.plateaus[0];
    assert!((plateau.rise_k.unwrap() - 30.0).abs() < 0.05, "{plateau:?}");
    assert_eq!((plateau.drive_current_a, plateau.heat_w, plateau.resistance_k_per_w), (None, None, None));
    // One current for the whole log, by the sheet.
    let stated = no_current.replace("variant = \"only\"", "variant = \"only\"\ndrive_current = \"0.7 A\"");
    let plateau = found(&stated, 30.0, 2.9).plateaus.remove(0);
    assert!((plateau.heat_w.unwrap() - 2.41).abs() < 0.01, "{plateau:?}");
}
