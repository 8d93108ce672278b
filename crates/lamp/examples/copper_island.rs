//! Copper islands of a layer and the current in them, as JSON, for comparisons with reference libraries.
//!
//! `copper_island islands FILE` prints the corners (nm) of a Gerber layer's islands, largest first; `copper_island solve FILE`
//! reads `{"outer": [[x, y], ...], "holes": [...], "in": [x0, y0, x1, y1], "out": [...], "pitch_mm": [...]}` (nm) and
//! prints the resistance in squares between the two rectangles, over each of which the current is spread evenly.
#![allow(clippy::expect_used, reason = "an example that fails should say so and end")]

use artwork::gerber::read;
use artwork::shape::{Area, Bounds, Contour, Filling, Point, Polygon};
use lamp::copper_current::copper::ANNEALED_20C_OHM_M;
use lamp::copper_current::sheet::{
    Contact, ContactKind, CopperLayer, SheetOptions, SheetProblem, Temperature, solve,
};
use serde_json::{Value, json};

fn corners(contour: &Contour) -> Value {
    contour.iter().map(|p| json!([p.x_nm, p.y_nm])).collect()
}

fn islands(file: &[u8]) -> Value {
    let mut polygons = read("layer", file).area.polygons;
    let size = |p: &Polygon| Area { polygons: vec![p.clone()] }.area_mm2();
    polygons.sort_by(|a, b| size(b).total_cmp(&size(a)));
    polygons
        .iter()
        .map(
            |p| json!({"outer": corners(&p.outer), "holes": p.holes.iter().map(corners).collect::<Vec<_>>()}),
        )
        .collect()
}

fn contour(value: &Value) -> Contour {
    let whole = |v: &Value| v.as_f64().expect("a coordinate");
    let corners = value.as_array().expect("corners");
    corners.iter().map(|p| Point::rounded(whole(&p[0]), whole(&p[1]))).collect()
}

fn rectangle(value: &Value) -> Area {
    let at = |i: usize| value[i].as_f64().expect("a coordinate");
    Area::rectangle(Bounds { min: Point::rounded(at(0), at(1)), max: Point::rounded(at(2), at(3)) })
}

fn squares(input: &Value) -> Value {
    let mut contours = vec![contour(&input["outer"])];
    contours.extend(input["holes"].as_array().expect("holes").iter().map(contour));
    let thickness_m = 35e-6;
    let copper = CopperLayer {
        name: "copper".to_owned(),
        copper: Area::from_contours(&contours, Filling::EvenOdd),
        thickness_m,
        depth_m: 0.0,
        temperature: Temperature::Uniform(20.0),
    };
    let contact = |name: &str, current_a: f64| Contact {
        name: name.to_owned(),
        layer: 0,
        area: rectangle(&input[name]),
        kind: ContactKind::Spread { current_a },
    };
    let problem = SheetProblem {
        layers: vec![copper],
        barrels: Vec::new(),
        contacts: vec![contact("in", 1.0), contact("out", -1.0)],
    };
    let pitches = input["pitch_mm"].as_array().expect("pitches");
    let found = pitches.iter().map(|pitch| {
        let pitch_m = 1e-3 * pitch.as_f64().expect("a pitch");
        let solution =
            solve(&problem, &SheetOptions { pitch_m, ..SheetOptions::default() }).expect("a field");
        let over_v = solution.contacts[0].voltage_v - solution.contacts[1].voltage_v;
        over_v * thickness_m / ANNEALED_20C_OHM_M
    });
    found.collect::<Vec<f64>>().into()
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let bytes = std::fs::read(&arguments[2]).expect("a file");
    let answer = match arguments[1].as_str() {
        "islands" => islands(&bytes),
        _ => squares(&serde_json::from_slice(&bytes).expect("JSON")),
    };
    println!("{answer}");
}
