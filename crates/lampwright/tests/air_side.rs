//! The air side of the demo: what changes of the cooling would do, against the same lamps written with the change; its steps.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use lamp::as_built::Facing;
use lamp::findings::Run;
use lamp::model::{GridChoice, Model};
use lamp::predict::{Question, predict};
use lamp::project::{MemoryFolder, read};

/// A coarse grid: the changes are the same lamp's on any.
const COARSE: GridChoice = GridChoice { finest_pitch_m: Some(8e-4), cells_at_most: Some(60_000) };

fn demo(from: &str, to: &str) -> lamp::as_built::Lamp {
    demo_with(from, to, "")
}

/// The demo with a piece of its text changed and more at its end.
fn demo_with(from: &str, to: &str, more: &str) -> lamp::as_built::Lamp {
    let mut files = lampwright::demo::files();
    let (_, text) = files.iter_mut().find(|(path, _)| path == "lamp.toml").unwrap();
    let before = String::from_utf8(text.clone()).unwrap();
    assert!(before.contains(from), "{from}");
    *text = (before.replacen(from, to, 1) + more).into_bytes();
    read(&MemoryFolder::new(files)).lamp.unwrap()
}

/// The run at the nominal current of the variant on a metal core.
fn core_run(lamp: &lamp::as_built::Lamp) -> Run {
    let question = Question {
        currents_a: Some(vec![0.5, 1.05]),
        variants: Some(vec!["core".into()]),
        grid: COARSE,
        threads: 1,
        contact: false,
    };
    let findings = predict(lamp, &question, &mut |_| {}, &AtomicBool::new(false), &mut || 0.0).unwrap();
    assert!(
        findings.runs[0].air_side.as_ref().unwrap().what_ifs.is_empty(),
        "asked at the nominal current alone"
    );
    findings.runs[1].clone()
}

/// Each change, solved in the model as it stands, against the lamp whose text says so from the beginning. Fields are solved to
/// 1e-5 and films settle to 1e-4 of the heat, both ways: 4e-4 of the rise.
#[test]
fn changes_of_the_cooling_are_those_of_lamps_written_so() {
    let as_given = core_run(&demo("facing", "facing"));
    let air = as_given.air_side.as_ref().unwrap();
    let written = [
        ("the fan at half its voltage", "voltage = \"8 V\"", "voltage = \"4 V\""),
        ("the fan stopped", "voltage = \"8 V\"", "voltage = \"0 V\""),
        ("the lamp upside down", "facing = \"down\"", "facing = \"up\""),
        ("dust on 30 % of the vents", "area = \"60 mm2\"", "area = \"42 mm2\""),
    ];
    assert_eq!(air.what_ifs.len(), written.len());
    let now_c = as_given.hottest_junction_c.unwrap();
    for (change, (words, from, to)) in air.what_ifs.iter().zip(written) {
        assert_eq!((change.what.as_str(), change.steady), (words, true));
        let run = core_run(&demo(from, to));
        let then_c = run.hottest_junction_c.unwrap();
        let close = 4e-4 * (then_c - 25.0);
        assert!((change.hottest_junction_c.unwrap() - then_c).abs() < close, "{words}: {change:?} {then_c}");
        assert!((change.hotter_k.unwrap() - (then_c - now_c)).abs() < 2.0 * close, "{words}: {change:?}");
        let of = run.air_side.unwrap();
        assert!((change.k_per_w.unwrap() / of.k_per_w - 1.0).abs() < 1e-3, "{words}: {change:?}");
        let flow = of.fan.filter(|fan| !fan.stands).map(|fan| fan.flow_l_per_s);
        assert_eq!(change.flow_l_per_s.is_some(), flow.is_some(), "{words}");
        assert!(change.flow_l_per_s.zip(flow).is_none_or(|(a, b)| (a / b - 1.0).abs() < 1e-3), "{words}");
    }
}

/// A model that is turned on its side and back: as the lamp written so, and as before.
#[test]
fn a_turned_model_is_the_lamp_written_so() {
    let lamp = demo("facing", "facing");
    let sideways = demo("facing = \"down\"", "facing = \"sideways\"");
    let cancel = AtomicBool::new(false);
    let run = |model: &mut Model| model.run(1.05, 25.0, &cancel).unwrap();
    let mut model = Model::new(&lamp, &lamp.variants[0], &COARSE, 1).unwrap();
    let mut written = Model::new(&sideways, &sideways.variants[0], &COARSE, 1).unwrap();
    let as_given = run(&mut model);
    model.turn(Facing::Sideways).unwrap();
    let turned = run(&mut model);
    let there = run(&mut written);
    let way = |run: &Run, words: &str| {
        run.ways_out.iter().find(|way| way.name == words).unwrap().convection_w.unwrap()
    };
    let top = "board_face";
    assert!((way(&turned, top) / way(&there, top) - 1.0).abs() < 1e-3);
    // An upright face gives its heat away more easily than one that looks down, and less so than one that looks up: Incropera et al.,
    // 9.26 for 48 mm of height, 9.30 and 9.32 for the area over the perimeter, 14 mm (from memory): as 7 to 5 and to 10 W/m2/K.
    model.turn(Facing::Up).unwrap();
    let level = way(&run(&mut model), top);
    assert!(way(&turned, top) > 1.1 * way(&as_given, top) && way(&turned, top) < 0.9 * level);
    let rise = |run: &Run| run.hottest_junction_c.unwrap() - 25.0;
    assert!((rise(&turned) / rise(&there) - 1.0).abs() < 4e-4);
    model.turn(Facing::Down).unwrap();
    assert!((rise(&run(&mut model)) / rise(&as_given) - 1.0).abs() < 4e-4);
}

const HOUSING: &str = "\n[housing]\nwall_area = \"400 cm2\"\nwall_h = \"5 W/m2/K\"\nvent_height = \"80 mm\"\nfan_in_wall = false\n";

/// The stairs end at the room through the air's own steps, whose kelvins are those of the air side; in a housing what comes in by the
/// fins leaves by walls (U A dT) and vents (rho cp V dT, the first law of thermodynamics).
#[test]
fn the_way_through_the_air_is_told_step_by_step() {
    let names = |run: &Run| run.emitters[0].heat_path.iter().map(|step| step.step).collect::<Vec<_>>();
    let of = |run: &Run, name: &str| {
        run.emitters[0].heat_path.iter().find(|step| step.step == name).map(|step| step.drop_k)
    };
    let open = core_run(&demo("facing", "facing"));
    assert_eq!(names(&open)[4..], ["base", "fins", "warming"]);
    let air = open.air_side.as_ref().unwrap();
    assert!((of(&open, "warming").unwrap() - air.warming_k).abs() < 1e-9);
    assert_eq!((air.walls_w, air.vents_w, of(&open, "housing")), (None, None, None));
    for (voltage, steps) in [("8 V", &["fins", "warming", "housing"][..]), ("0 V", &["fins", "housing"])] {
        let run = core_run(&demo_with("voltage = \"8 V\"", &format!("voltage = \"{voltage}\""), HOUSING));
        assert_eq!(names(&run)[5..], *steps, "{voltage}");
        let air = run.air_side.as_ref().unwrap();
        assert!((of(&run, "housing").unwrap() - air.housing_k).abs() < 1e-9);
        let path = &run.emitters[0].heat_path;
        let sum: f64 = path.iter().map(|step| step.drop_k).sum();
        assert!((sum - (run.emitters[0].junction_c.unwrap() - 25.0)).abs() < 1e-9, "{sum}");
        assert!(path.windows(2).all(|pair| pair[0].to == pair[1].from && pair[0].to_c == pair[1].from_c));
        let (walls_w, vents_w) = (air.walls_w.unwrap(), air.vents_w.unwrap());
        // Films settle to 1e-4 of the heat; the housing's balance is that of a base of one temperature.
        assert!((walls_w / (0.04 * 5.0 * air.housing_k) - 1.0).abs() < 3e-4, "{voltage}: {walls_w}");
        // Air at the mean pressure of the sea level, 101,325 Pa: density from the gas law with 287.05 J/kg/K, 1006 J/kg/K (from memory).
        let density = 101_325.0 / (287.05 * (273.15 + 25.0 + air.housing_k));
        let carried_w = density * 1006.0 * 1e-3 * air.draught_l_per_s * air.housing_k;
        // The films settle to 1e-4 of the heat, air's capacity is known to 0.3 % between 20 and 80 degC.
        assert!((carried_w / vents_w - 1.0).abs() < 6e-3, "{voltage}: {carried_w} {vents_w}");
    }
}

/// All watts that come in leave by the rows, and what the fins give leaves the housing by its rows: the first law of thermodynamics, to
/// the 1e-5 to which the operating point settles and the 1e-6 of the energy balance. Without a vent all goes through the walls; with the fan in the wall its air and the walls share film and
/// radiation.
#[test]
fn every_watt_leaves_by_a_row() {
    let closed = "\n[housing]\nwall_area = \"400 cm2\"\n";
    let in_wall = format!("{closed}fan_in_wall = true\n");
    let stirred = format!("{closed}fan_in_wall = false\n");
    for (more, parts) in [
        ("", &[][..]),
        (HOUSING, &["walls", "vents"]),
        (stirred.as_str(), &["walls"]),
        (in_wall.as_str(), &["walls", "vents"]),
    ] {
        let run = core_run(&demo_with("facing", "facing", more));
        let row = |name: &str| run.ways_out.iter().find(|way| way.name == name);
        let copper = run.copper.as_ref().unwrap();
        let comes_w = run.electrical_w + copper.loss_w + copper.leads_w;
        let leaves_w: f64 =
            run.ways_out.iter().filter(|way| way.part_of.is_none()).map(|way| way.heat_w).sum();
        assert!((leaves_w / comes_w - 1.0).abs() < 1.2e-5, "{more}: {leaves_w} W of {comes_w} W");
        assert!((run.ways_out_w - leaves_w).abs() < 1e-9);
        assert!((copper.drivers_w.unwrap() / leaves_w - 1.0).abs() < 1.2e-5);
        assert!((row("light").unwrap().heat_w - run.radiant_w).abs() < 1e-12);
        assert!((row("leads").unwrap().heat_w - copper.leads_w).abs() < 1e-12);
        let of_the_fins: Vec<_> = run.ways_out.iter().filter(|way| way.part_of == Some("fins")).collect();
        assert_eq!(of_the_fins.iter().map(|way| way.name).collect::<Vec<_>>(), parts, "{more}");
        let fins = row("fins").unwrap();
        let apart_w = fins.convection_w.unwrap() + fins.radiation_w.unwrap();
        assert!((apart_w / fins.heat_w - 1.0).abs() < 1e-9);
        if !parts.is_empty() {
            let sum_w: f64 = of_the_fins.iter().map(|way| way.heat_w).sum();
            assert!((sum_w / fins.heat_w - 1.0).abs() < 1e-9, "{more}: {sum_w} W of {} W", fins.heat_w);
        }
        if more == in_wall {
            assert_eq!(row("vents").unwrap().heat_w, fins.convection_w.unwrap());
        }
    }
}

/// A heatsink by its maker's table, joined with the demo's fan and slots: more dust and less voltage mean less flow and a larger K/W, read
/// from the table by hand between its points; of still air and of orientation the table says nothing, and nothing is said.
#[test]
fn a_makers_table_follows_fan_and_vents() {
    let table = "resistance_by_flow = [[\"0.2 l/s\", \"4 K/W\"], [\"1 l/s\", \"2 K/W\"], [\"4 l/s\", \"0.8 K/W\"]]\n\
                 pressure_by_flow = [[\"1 l/s\", \"1 Pa\"], [\"4 l/s\", \"10 Pa\"]]\n";
    let run = core_run(&demo("fins = \"plates\"", table));
    let air = run.air_side.as_ref().unwrap();
    let what: Vec<&str> = air.what_ifs.iter().map(|change| change.what.as_str()).collect();
    assert_eq!(what, ["the fan at half its voltage", "dust on 30 % of the vents"]);
    let read = |q: f64| if q < 1.0 { 4.0 - 2.5 * (q - 0.2) } else { 2.0 - 0.4 * (q - 1.0) };
    let flow = air.fan.as_ref().unwrap().flow_l_per_s;
    assert!((air.k_per_w / read(flow) - 1.0).abs() < 2e-3, "{} at {flow} l/s", air.k_per_w);
    assert_eq!(air.fan.as_ref().unwrap().speed_m_per_s, None);
    for change in &air.what_ifs {
        let then = change.flow_l_per_s.unwrap();
        assert!(then < flow && change.hotter_k.unwrap() > 0.5, "{change:?}");
        assert!((change.k_per_w.unwrap() / read(then) - 1.0).abs() < 2e-3, "{change:?}");
    }
    let fins = run.ways_out.iter().find(|way| way.name == "fins").unwrap();
    assert_eq!((fins.convection_w, fins.radiation_w), (None, None));
}

/// The program refuses a maker's table that says nothing of still air where the fan would stand, at the table's line; with a figure for
/// still air, or with a voltage at which it turns, it answers.
#[test]
fn a_standing_fan_and_a_table_without_still_air_are_refused() {
    let table = |first: &str| {
        format!(
            "resistance_by_flow = [{first}[\"1 l/s\", \"2 K/W\"], [\"4 l/s\", \"0.8 K/W\"]]\n\
             pressure_by_flow = [[\"1 l/s\", \"1 Pa\"], [\"4 l/s\", \"10 Pa\"]]\n"
        )
    };
    let said = |voltage: &str, first: &str| {
        let folder = tempfile::tempdir().unwrap();
        let mut line = 0;
        for (path, mut bytes) in lampwright::demo::files() {
            if path == "lamp.toml" {
                let text = String::from_utf8(bytes).unwrap();
                let text = text.replacen("fins = \"plates\"", &table(first), 1).replacen("8 V", voltage, 1);
                line = 1 + text.lines().position(|l| l.starts_with("resistance_by_flow")).unwrap();
                bytes = text.into_bytes();
            }
            let path = folder.path().join(path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, bytes).unwrap();
        }
        let out = std::process::Command::new(env!("CARGO_BIN_EXE_lampwright"))
            .args(["check", "--json"])
            .arg(folder.path())
            .output()
            .unwrap();
        let all = String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
        (out.status.code(), all, line)
    };
    // The demo's fan stands below 3.5 V.
    let (status, text, line) = said("3.4 V", "");
    assert_eq!(status, Some(2), "{text}");
    assert!(text.contains("the fan stands") && text.contains("still air"), "{text}");
    assert!(text.contains(&format!("\"line\": {line}")), "line {line}: {text}");
    for (voltage, first) in [("3.6 V", ""), ("3.4 V", "[\"0 l/s\", \"5 K/W\"], ")] {
        let (status, text, _) = said(voltage, first);
        assert_ne!(status, Some(2), "{voltage}: {text}");
        assert!(!text.contains("the fan stands, and"), "{voltage}: {text}");
    }
}
