//! The yardstick board, whose copper has gaps of 0.3 mm: the default grid against the same board on a 0.1 mm grid of
//! 9.6 million cells.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use artwork::shape::{Area, Bounds, Filling, Point};
use lamp::as_built::{DrivePer, Face, Facing, HeatPatch, Lamp, LayerKind, StackLayer, Variant};
use lamp::material::Material;
use lamp::model::{GridChoice, Model};

const COPPER: &[u8] = include_bytes!("../../conduction/benches/yardstick/copper.pbm");
const PIXEL_NM: i32 = 100_000;
const PADS: [[i32; 2]; 6] = [[180, 150], [385, 150], [585, 150], [180, 310], [385, 310], [585, 310]];
const HOLES_MM: [[f64; 2]; 6] =
    [[4.0, 4.0], [76.0, 4.0], [4.0, 46.0], [76.0, 46.0], [29.5, 25.0], [50.5, 25.0]];

/// Mean pad rises, K, of the 0.1 mm grid, solved to 1e-8 by AMGCL: aluminium core, and FR4 with vias.
const FINE_A: [f64; 6] = [61.7439, 60.0858, 61.2475, 60.8369, 61.5762, 59.4534];
const FINE_B: [f64; 6] = [133.075, 125.836, 133.800, 130.642, 133.738, 129.380];
/// The yardstick's own bound for a coarse grid.
const TOLERANCE: f64 = 0.02;

fn rectangle(x: i32, y: i32, w: i32, h: i32) -> Area {
    let at = |x: i32, y: i32| Point::new(x * PIXEL_NM, y * PIXEL_NM);
    Area::rectangle(Bounds { min: at(x, y), max: at(x + w, y + h) })
}

/// Runs of copper pixels united.
fn copper() -> Area {
    let begin =
        COPPER.iter().enumerate().filter(|(_, b)| **b == b'\n').nth(2).expect("three lines of heading").0 + 1;
    let on = |x: usize, y: usize| COPPER[begin + y * 100 + x / 8] >> (7 - x % 8) & 1 == 1;
    let mut contours = Vec::new();
    for y in 0..500 {
        let mut x = 0;
        while x < 800 {
            let run = (x..800).take_while(|x| on(*x, y)).count();
            if run > 0 {
                let piece = rectangle(x as i32, y as i32, run as i32, 1);
                contours.extend(piece.contours().cloned());
            }
            x += run.max(1);
        }
    }
    Area::from_contours(&contours, Filling::NonZero)
}

fn layer(name: &str, kind: LayerKind, thickness_m: f64, [plane, through]: [f64; 2]) -> StackLayer {
    StackLayer {
        name: name.to_owned(),
        kind,
        thickness_m,
        material: Material {
            name: name.to_owned(),
            kx_w_per_m_k: plane,
            ky_w_per_m_k: plane,
            kz_w_per_m_k: through,
            source: "yardstick".to_owned(),
        },
        pattern: None,
        gap_conductivity_w_per_m_k: 0.25,
        resistance_below_m2k_per_w: 0.0,
    }
}

fn lamp(vias: bool) -> Lamp {
    let outline = rectangle(0, 0, 800, 500);
    let top = StackLayer { pattern: Some(copper()), ..layer("copper", LayerKind::Copper, 70e-6, [390.0; 2]) };
    // What stands in the insulation instead of it: copper vias of 0.3 mm, or mounting holes through the core.
    let holes = HOLES_MM
        .iter()
        .fold(Area::default(), |all, [x, y]| all.union(&Area::disc(Point::rounded(x * 1e6, y * 1e6), 3.2e6)));
    let barrels: Vec<_> = PADS
        .iter()
        .flat_map(|[x, y]| (0..16).map(move |i| rectangle(x + 4 + 8 * (i % 4), y + 4 + 8 * (i / 4), 3, 3)))
        .flat_map(|square| square.contours().cloned().collect::<Vec<_>>())
        .collect();
    let (other, k_other) =
        if vias { (Area::from_contours(&barrels, Filling::NonZero), 390.0) } else { (holes, 0.026) };
    let inner = |name: &str, thickness: f64, k: [f64; 2]| StackLayer {
        pattern: Some(outline.difference(&other)),
        gap_conductivity_w_per_m_k: k_other,
        ..layer(name, LayerKind::Dielectric, thickness, k)
    };
    let laminate = [0.8, 0.3];
    let layers = vec![
        top,
        inner("dielectric", 100e-6, if vias { laminate } else { [2.0; 2] }),
        inner("core", 1.5e-3, if vias { laminate } else { [138.0; 2] }),
        layer("grease", LayerKind::Plain, 50e-6, [3.0; 2]),
        layer("sink", LayerKind::Plain, 6e-3, [201.0; 2]),
    ];
    let heat_patches = PADS
        .iter()
        .enumerate()
        .map(|(index, [x, y])| HeatPatch {
            name: format!("pad {index}"),
            area: rectangle(*x, *y, 35, 35),
            heat_w: 10.0,
        })
        .collect();
    let variant = Variant {
        name: "yardstick".to_owned(),
        board_price: None,
        title: String::new(),
        outline,
        layers,
        bores: Vec::new(),
        mask_top: None,
        mask_bottom: None,
        emitters: Vec::new(),
        circuit: None,
        heat_patches,
        bond: None,
        screws: Vec::new(),
        flatness: lamp::bond_line::Flatness::default(),
        heatsink: None,
        top_face: Face::Film { h_w_per_m2_k: 10.0 },
        bottom_face: Face::Film { h_w_per_m2_k: 900.0 },
    };
    Lamp {
        name: "yardstick".to_owned(),
        ambient_c: 0.0,
        coldest_c: None,
        facing: Facing::Up,
        drive_per: DrivePer::String,
        currents_a: vec![0.0],
        nominal_current_a: 0.0,
        board_limit_c: None,
        solder_limit_c: None,
        sensors: Vec::new(),
        logger: None,
        uncertain: Vec::new(),
        hottest_c: 40.0,
        light_least_lm: None,
        variants: vec![variant],
    }
}

#[test]
fn coarse_cells_carry_the_copper_of_the_fine_grid() {
    let mut wrong = Vec::new();
    for (vias, fine) in [(false, FINE_A), (true, FINE_B)] {
        let lamp = lamp(vias);
        let mut model = Model::new(&lamp, &lamp.variants[0], &GridChoice::default(), 2).unwrap();
        let run = model.run(0.0, 0.0, &AtomicBool::new(false)).unwrap();
        let errors: Vec<f64> =
            run.heat_patches.iter().zip(fine).map(|(patch, fine)| patch.mean_rise_k / fine - 1.0).collect();
        let largest_k = run
            .heat_patches
            .iter()
            .zip(fine)
            .map(|(p, fine)| (p.mean_rise_k - fine).abs())
            .fold(0.0, f64::max);
        println!(
            "vias {vias}: {} cells, {:.3} mm, {errors:.4?}, printed {:.2} K, true {largest_k:.2} K",
            run.cells, run.pitch_mm, run.grid_error_k
        );
        if errors.iter().any(|error| error.abs() > TOLERANCE) {
            wrong.push(format!("vias {vias}: {errors:?}"));
        }
        if run.grid_error_k < largest_k {
            wrong.push(format!(
                "vias {vias}: the printed grid error {} K does not cover {largest_k} K",
                run.grid_error_k
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
