//! Lamps whose heat only flows through the thickness: the rise is the heat times a sum of resistances, by hand.
//!
//! Thickness over conductivity and area, contact and bond resistance over area, film 1 / (h A): Incropera et al., section 3.1.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use artwork::shape::Area;
use lamp::as_built::{Face, Facing, Lamp, Mask};
use lamp::cooling::natural_convection::{Orientation, natural_convection};
use lamp::cooling::radiation::h_radiation;
use lamp::findings::Run;
use lamp::model::{GridChoice, Model};
use lamp::project::{MemoryFolder, read};

/// The field varies only with depth and straight between cells, so that the grid has no error: the solver's residual.
const TOLERANCE: f64 = 1e-4;
const AREA_M2: f64 = 0.02 * 0.01;
const HEAT_W: f64 = 2.0;

/// Faces, stack and heatsink as in lamp.toml, heated all over a board of 20 x 10 mm.
fn lamp(text: &str) -> Lamp {
    let text = format!(
        "[variant.slab]\noutline = [\"20 mm\", \"10 mm\"]\n{text}\n[[variant.slab.heat]]\nname = \"all\"\n\
         at = [\"10 mm\", \"5 mm\"]\nsize = [\"20 mm\", \"10 mm\"]\npower = \"{HEAT_W} W\"\n"
    );
    let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
    assert!(!reading.has_errors(), "{:?}", reading.remarks);
    reading.lamp.expect("a lamp")
}

fn run(lamp: &Lamp) -> Run {
    let choice = GridChoice { finest_pitch_m: Some(1e-3), cells_at_most: None };
    let mut model = Model::new(lamp, &lamp.variants[0], &choice, 1).expect("a grid");
    model.run(0.0, 25.0, &AtomicBool::new(false)).expect("a field")
}

fn assert_rise(run: &Run, resistance_m2k_per_w: f64) {
    let exact_k = HEAT_W / AREA_M2 * resistance_m2k_per_w;
    let found_k = run.heat_patches[0].mean_rise_k;
    assert!((found_k / exact_k - 1.0).abs() < TOLERANCE, "{found_k} K is not {exact_k} K");
}

const LAYERS: &str = "[variant.slab.board]\nkind = \"layers\"\n\
    [[variant.slab.layer]]\nname = \"upper\"\nthickness = \"0.5 mm\"\nconductivity = \"0.4 W/m/K\"\nresistance_below = \"0.0003 m2K/W\"\n\
    [[variant.slab.layer]]\nname = \"lower\"\nthickness = \"1.2 mm\"\nconductivity = \"0.9 W/m/K\"\n";
const LAYERS_M2K_PER_W: f64 = 0.5e-3 / 0.4 + 3e-4 + 1.2e-3 / 0.9;

const MASK: Mask =
    Mask { openings: Area { polygons: Vec::new() }, thickness_m: 50e-6, conductivity_w_per_m_k: 0.22 };
const MASK_M2K_PER_W: f64 = 50e-6 / 0.22;

/// A film on the back of poor conductors, whose halves of a cell count.
#[test]
fn layers_contact_and_film_are_in_series() {
    let faces = "[variant.slab.faces]\ntop = \"adiabatic\"\nbottom = \"400 W/m2/K\"\n";
    assert_rise(&run(&lamp(&format!("{LAYERS}{faces}"))), LAYERS_M2K_PER_W + 1.0 / 400.0);
    // The mask lies under the film.
    let mut masked = lamp(&format!("{LAYERS}{faces}"));
    masked.variants[0].mask_bottom = Some(MASK);
    assert_rise(&run(&masked), LAYERS_M2K_PER_W + MASK_M2K_PER_W + 1.0 / 400.0);
}

/// A base of the board's size: bond, base and the heatsink's own resistance or film follow.
#[test]
fn bond_base_and_heatsink_are_in_series() {
    let faces = "[variant.slab.faces]\ntop = \"adiabatic\"\nbottom = \"adiabatic\"\n";
    let base = "[variant.slab.heatsink]\nbase = [\"20 mm\", \"10 mm\"]\nbase_thickness = \"4 mm\"\nmaterial = \"aluminium 5052\"\n";
    let by_thickness = "[variant.slab.bond]\nthickness = \"100 um\"\nconductivity = \"0.5 W/m/K\"\n";
    let by_resistance = "[variant.slab.bond]\nresistance = \"0.0004 m2K/W\"\n";
    let above = LAYERS_M2K_PER_W + 4e-3 / 138.0;
    let resistance = run(&lamp(&format!("{LAYERS}{faces}{by_thickness}{base}resistance = \"5 K/W\"\n")));
    assert_rise(&resistance, above + 1e-4 / 0.5 + 5.0 * AREA_M2);
    let mut masked = lamp(&format!("{LAYERS}{faces}{by_resistance}{base}h = \"900 W/m2/K\"\n"));
    let film = run(&masked);
    assert_rise(&film, above + 4e-4 + 1.0 / 900.0);
    // A mask of 50 um and 0.22 W/m/K all over the back.
    masked.variants[0].mask_bottom = Some(MASK);
    assert_rise(&run(&masked), above + MASK_M2K_PER_W + 4e-4 + 1.0 / 900.0);
    assert!((film.energy_balance.heatsink_w / HEAT_W - 1.0).abs() < 1e-6);
}

/// A plate that conducts so well that it has one temperature, one or both faces open: the rise at which natural convection and radiation
/// together carry the heat, by bisection. Lengths: area over perimeter of level faces, the height (along y) of upright ones.
#[test]
fn open_faces_give_what_their_relations_give() {
    let plate = "[variant.slab.board]\nkind = \"layers\"\n[[variant.slab.layer]]\nname = \"plate\"\nthickness = \"1 mm\"\n\
        conductivity = \"5000 W/m/K\"\n[variant.slab.faces]\ntop = \"open\"\nbottom = \"open\"\nemissivity = 0.6\n";
    let mut lamp = lamp(plate);
    lamp.variants[0].heat_patches[0].heat_w = 0.2;
    let level = 0.02 * 0.01 / (2.0 * (0.02 + 0.01));
    let emissivity = 0.6;
    // The level plates are open on the emitter side only, so that the way it looks tells.
    for (facing, open, bottom_face, length_m) in [
        (Facing::Up, vec![Orientation::Up], Face::Adiabatic, level),
        (Facing::Down, vec![Orientation::Down], Face::Adiabatic, level),
        (Facing::Up, vec![Orientation::Up, Orientation::Down], Face::Open { emissivity }, level),
        (Facing::Sideways, vec![Orientation::Sideways; 2], Face::Open { emissivity }, 0.01),
    ] {
        lamp.facing = facing;
        lamp.variants[0].bottom_face = bottom_face;
        let found = run(&lamp);
        let flow_w = |rise_k: f64, face: Orientation| {
            let (surface_k, room_k) = (298.15 + rise_k, 298.15);
            let h = natural_convection(face, length_m, surface_k, room_k).h_w_per_m2_k
                + h_radiation(emissivity, surface_k, room_k);
            h * AREA_M2 * rise_k
        };
        let (mut low, mut high) = (0.0, 300.0);
        for _ in 0..60 {
            let rise = 0.5 * (low + high);
            if open.iter().map(|face| flow_w(rise, *face)).sum::<f64>() < 0.2 {
                low = rise
            } else {
                high = rise
            }
        }
        // Faces settle to a ten-thousandth of the heat.
        let rise = found.heat_patches[0].mean_rise_k;
        assert!((rise / low - 1.0).abs() < 3e-4, "{facing:?}: {rise} K is not {low} K");
        let radiation = open.len() as f64 * h_radiation(emissivity, 298.15 + low, 298.15) * AREA_M2 * low;
        assert!(
            (found.energy_balance.radiation_w / radiation - 1.0).abs() < 1e-3,
            "{:?}",
            found.energy_balance
        );
    }
}

/// A sensor on the heatsink under the board reads the middle of the base's thickness: half the base and the heatsink's own resistance
/// lie between it and the room.
#[test]
fn a_sensor_in_the_base_reads_the_middle_of_its_thickness() {
    let text = "[variant.slab.faces]\ntop = \"adiabatic\"\nbottom = \"adiabatic\"\n[variant.slab.heatsink]\nbase = [\"20 mm\", \"10 mm\"]\n\
        base_thickness = \"4 mm\"\nmaterial = \"poor\"\nresistance = \"5 K/W\"\n[variant.slab.bond]\nresistance = \"0.0004 m2K/W\"\n";
    let sensor =
        "[[sensor]]\nname = \"base\"\non = \"heatsink\"\nat = [\"7 mm\", \"4 mm\"]\nkind = \"degC\"\n";
    let found = run(&lamp(&format!("{sensor}[material.poor]\nconductivity = \"20 W/m/K\"\n{LAYERS}{text}")));
    let rise_k = found.sensors[0].reading_c.unwrap() - 25.0;
    let exact_k = HEAT_W * (5.0 + 2e-3 / 20.0 / AREA_M2);
    assert!((rise_k / exact_k - 1.0).abs() < TOLERANCE, "{rise_k} K is not {exact_k} K");
}
