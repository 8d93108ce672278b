//! Times the current in a board of 100 x 100 mm that is full of copper: a frame, strings of pads joined by bars, and a plane
//! on the other face, joined by plated holes.
#![allow(clippy::expect_used, reason = "an example that fails should say so and end")]

use std::time::Instant;

use artwork::shape::{Area, Bounds, Point};
use lamp::copper_current::necks::{self, NeckOptions};
use lamp::copper_current::sheet::{
    Barrel, Contact, ContactKind, CopperLayer, SheetOptions, SheetProblem, Temperature, solve,
};

fn at_mm(x: f64, y: f64) -> Point {
    Point::rounded(x * 1e6, y * 1e6)
}

fn box_mm(x0: f64, y0: f64, x1: f64, y1: f64) -> Area {
    Area::rectangle(Bounds { min: at_mm(x0, y0), max: at_mm(x1, y1) })
}

fn layer(name: &str, copper: Area, depth_m: f64) -> CopperLayer {
    CopperLayer {
        name: name.to_owned(),
        copper,
        thickness_m: 35e-6,
        depth_m,
        temperature: Temperature::Uniform(60.0),
    }
}

/// Twelve strings of twelve emitters in rows, between a frame that feeds them at the left and one that takes up at the right.
fn board(plane_below: bool) -> SheetProblem {
    let board = box_mm(0.0, 0.0, 100.0, 100.0);
    let mut bars = Area::default();
    let mut contacts: Vec<Contact> = Vec::new();
    let mut land = |name: String, x: f64, y: f64, current_a: f64| {
        let area = box_mm(x - 0.6, y - 1.0, x + 0.6, y + 1.0);
        contacts.push(Contact { name, layer: 0, area, kind: ContactKind::Land { current_a } });
    };
    for row in 0..12 {
        let y = 8.0 + 7.6 * f64::from(row);
        for place in 0..12 {
            let x = 10.0 + 7.0 * f64::from(place);
            // The emitter's lands lie 1.5 mm to either side of it.
            land(format!("D{row}-{place} anode"), x - 1.5, y, -0.35);
            land(format!("D{row}-{place} cathode"), x + 1.5, y, 0.35);
            if place < 11 {
                bars = bars.union(&box_mm(x + 0.2, y - 3.4, x + 6.8, y + 3.4));
            }
        }
    }
    land("plus".to_owned(), 3.0, 96.0, 12.0 * 0.35);
    land("minus".to_owned(), 97.0, 4.0, -12.0 * 0.35);
    let left = box_mm(0.5, 0.5, 9.8, 99.5).union(&box_mm(0.5, 95.5, 49.0, 99.5));
    let right = box_mm(87.2, 0.5, 99.5, 99.5).union(&box_mm(50.0, 0.5, 99.5, 4.0));
    let mut layers = vec![layer("top", left.union(&right).union(&bars), 0.0)];
    let mut barrels = Vec::new();
    if plane_below {
        layers.push(layer("bottom", board, 1.55e-3));
        for row in 0..90 {
            barrels.push(Barrel {
                path: vec![at_mm(95.0, 5.0 + f64::from(row))],
                drilled_m: 0.3e-3,
                plating_m: 20e-6,
                from_layer: 0,
                to_layer: 1,
                temperature_c: 60.0,
            });
        }
        // The return leaves from the plane.
        if let Some(minus) = contacts.last_mut() {
            minus.layer = 1;
        }
    }
    SheetProblem { layers, barrels, contacts }
}

fn time(name: &str, problem: &SheetProblem) {
    let begin = Instant::now();
    let solution = solve(problem, &SheetOptions::default()).expect("a field");
    let seconds = begin.elapsed().as_secs_f64();
    let begin = Instant::now();
    let necks = necks::find(problem, &solution, &NeckOptions::default());
    println!(
        "{name}: {} islands, {} pixels in {} groups, {seconds:.2} s, at most {} iterations, {:.4} W; {} necks in {:.2} s, the narrowest {:.3} mm",
        solution.islands.len(),
        solution.cells,
        solution.groups.len(),
        solution.groups.iter().map(|group| group.iterations).max().unwrap_or(0),
        solution.loss_w,
        necks.len(),
        begin.elapsed().as_secs_f64(),
        necks.iter().fold(f64::INFINITY, |least, neck| least.min(neck.width_mm)),
    );
}

fn main() {
    time("one layer", &board(false));
    time("two layers", &board(true));
    let sheet = box_mm(0.0, 0.0, 100.0, 100.0);
    let held = |name: &str, x: f64, kind| Contact {
        name: name.to_owned(),
        layer: 0,
        area: Area::disc(at_mm(x, 50.0), 6e6),
        kind,
    };
    let contacts =
        vec![held("in", 5.0, ContactKind::Land { current_a: 10.0 }), held("out", 95.0, ContactKind::Held)];
    time(
        "one whole sheet",
        &SheetProblem { layers: vec![layer("top", sheet, 0.0)], barrels: Vec::new(), contacts },
    );
}
