//! A heatsink by its dimensions as a distributed sink behind the base.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use lamp::as_built::{Cooling, Lamp};
use lamp::cooling::air_side::{AirSide, lumped};
use lamp::cooling::natural_convection::Orientation;
use lamp::findings::Run;
use lamp::model::{GridChoice, Model};
use lamp::project::{MemoryFolder, read};

const FAN: &str = "[fan]\ncurve = [[\"0 l/s\", \"28 Pa\"], [\"6 l/s\", \"0 Pa\"]]\nrated = \"12 V\"\n";

/// A plate of this conductivity with 20 W on a square in the middle of a base of 60 x 60 mm, faces closed.
fn lamp(k: f64, rest: &str) -> Lamp {
    plate(k, rest, 30.0, 10.0)
}

/// The same with a board and a square of heat of these sides, mm.
fn plate(k: f64, rest: &str, board: f64, heat: f64) -> Lamp {
    let middle = 0.5 * board;
    let text = format!(
        "[lamp]\nfacing = \"down\"\n[material.plate]\nconductivity = \"{k} W/m/K\"\n[bond]\nresistance = \"1e-7 m2K/W\"\n\
         [heatsink]\nbase = [\"60 mm\", \"60 mm\"]\nbase_thickness = \"4 mm\"\nmaterial = \"plate\"\nfins = \"plates\"\n\
         fin_count = 15\nfin_height = \"25 mm\"\nfin_thickness = \"1 mm\"\nfinish = \"anodised\"\n\
         [faces]\ntop = \"adiabatic\"\n{rest}\n\
         [variant.a]\noutline = [\"{board} mm\", \"{board} mm\"]\n[variant.a.board]\nkind = \"layers\"\n\
         [[variant.a.layer]]\nthickness = \"1 mm\"\nmaterial = \"plate\"\n\
         [[variant.a.heat]]\nat = [\"{middle} mm\", \"{middle} mm\"]\nsize = [\"{heat} mm\", \"{heat} mm\"]\npower = \"20 W\"\n"
    );
    let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
    assert!(!reading.has_errors(), "{:?}", reading.remarks);
    reading.lamp.expect("a lamp")
}

fn side(lamp: &Lamp) -> AirSide {
    match &lamp.variants[0].heatsink.as_ref().expect("a heatsink").cooling {
        Cooling::Air(side) => AirSide::clone(side),
        other => panic!("{other:?}"),
    }
}

fn model(lamp: &Lamp) -> Model {
    let choice = GridChoice { finest_pitch_m: Some(2e-3), cells_at_most: None };
    Model::new(lamp, &lamp.variants[0], &choice, 1).expect("a grid")
}

fn run(lamp: &Lamp) -> Run {
    model(lamp).run(0.0, 25.0, &AtomicBool::new(false)).expect("a field")
}

/// With a base that conducts as nothing does, its back has one temperature and the field is the lumped heatsink's (itself checked against
/// Teertstra et al. and by hand): 1e-3, what is left of conduction in plates of 1e5 W/m/K and of the bond.
#[test]
fn a_base_of_one_temperature_is_the_lumped_heatsink() {
    for (rest, facing) in [
        (FAN.to_owned(), "down"),
        (format!("{FAN}blows = \"along\"\n"), "down"),
        (String::new(), "down"),
        (String::new(), "sideways"),
        (String::new(), "up"),
        (format!("{FAN}voltage = \"3 V\"\n[housing]\nwall_area = \"500 cm2\"\n"), "down"),
    ] {
        let mut lamp = plate(1e5, &rest, 60.0, 60.0);
        let (way, back) = match facing {
            "down" => (lamp::as_built::Facing::Down, Orientation::Up),
            "up" => (lamp::as_built::Facing::Up, Orientation::Down),
            _ => (lamp::as_built::Facing::Sideways, Orientation::Sideways),
        };
        lamp.facing = way;
        // The fins are aluminium all the same.
        let mut side = side(&lamp);
        side.fin_w_per_m_k = 201.0;
        let heatsink = lamp.variants[0].heatsink.as_mut().expect("a heatsink");
        heatsink.cooling = Cooling::Air(Box::new(side.clone()));
        let found = run(&lamp).heat_patches[0].mean_rise_k;
        let exact = lumped(&side, back, 20.0, 298.15).rise_k;
        assert!((found / exact - 1.0).abs() < 1e-3, "{rest} {facing}: {found} K, lumped {exact} K");
    }
}

/// In aluminium the heat spreads: nothing is lost on the way, and the middle of the base is hotter than the lumped one.
#[test]
fn all_heat_leaves_by_the_fins() {
    let lamp = lamp(209.0, FAN);
    let run = run(&lamp);
    let balance = run.energy_balance;
    assert!(
        (balance.heatsink_w / 20.0 - 1.0).abs() < 1e-5 && balance.relative_error.abs() < 1e-6,
        "{balance:?}"
    );
    assert!(run.heat_patches[0].mean_rise_k > lumped(&side(&lamp), Orientation::Up, 20.0, 298.15).rise_k);
}

/// Air blown along y warms: the far end of the base is hotter than the near one, by a good part of what the air warms by.
#[test]
fn the_far_end_is_hotter() {
    let lamp = lamp(209.0, &format!("{FAN}blows = \"along\"\nvoltage = \"6 V\"\n"));
    let mut model = model(&lamp);
    model.run(0.0, 25.0, &AtomicBool::new(false)).expect("a field");
    let depth = model.depths().len() - 1;
    let at = |y: f64| model.temperature_c(15.0, y, depth).expect("on the base");
    // Less than all of what the air warms by, for the base conducts along; the mouth's thin layers cool the near end besides.
    assert!(at(43.0) > at(-13.0) + 0.5, "{} {}", at(43.0), at(-13.0));
    // And from side to side nothing differs.
    let across = |x: f64| model.temperature_c(x, 15.0, depth).expect("on the base");
    assert!((across(-13.0) - across(43.0)).abs() < 1e-3);
}

/// A base shifted to the left is the mirror image of one shifted to the right.
#[test]
fn a_base_off_centre_has_its_mirror_image() {
    let hottest = |dx: &str| {
        let text = format!("{FAN}blows = \"along\"\n");
        let mut lamp = lamp(209.0, &text);
        let heatsink = lamp.variants[0].heatsink.as_mut().expect("a heatsink");
        let shift = if dx == "left" { -1 } else { 1 } * 12_000_000;
        for polygon in &mut heatsink.base.polygons {
            polygon.outer.iter_mut().for_each(|p| p.x_nm += shift);
        }
        run(&lamp).heat_patches[0].mean_rise_k
    };
    let (left, right) = (hottest("left"), hottest("right"));
    assert!((left / right - 1.0).abs() < 1e-4, "{left} {right}");
    assert!(left > run(&lamp(209.0, &format!("{FAN}blows = \"along\"\n"))).heat_patches[0].mean_rise_k);
}

/// What is changed and changed back is as before, and a stated resistance in between is met: 20 W through 1.3 K/W behind the base.
#[test]
fn cooling_may_be_changed_and_changed_back() {
    let lamp = plate(1e5, FAN, 60.0, 60.0);
    let mut model = model(&lamp);
    let no = AtomicBool::new(false);
    let first = model.run(0.0, 25.0, &no).expect("a field").heat_patches[0].mean_rise_k;
    model.adjust(None, Some(Cooling::Resistance { k_per_w: 1.3 })).expect("adjusts");
    let between = model.run(0.0, 25.0, &no).expect("a field").heat_patches[0].mean_rise_k;
    assert!((between / 26.0 - 1.0).abs() < 2e-3, "{between}");
    model.adjust(None, Some(Cooling::Air(Box::new(side(&lamp))))).expect("adjusts");
    let again = model.run(0.0, 25.0, &no).expect("a field").heat_patches[0].mean_rise_k;
    assert!((again / first - 1.0).abs() < 2e-4, "{again} {first}");
}
