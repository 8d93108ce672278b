//! Boards for tests: emitters in a row, and copper drawn as Gerber text.
//!
//! Emitter `n` (D1, D2, ...) stands at x = 10 n mm, y = 0; at rotation 0 its anode land is at x - 1 mm, its cathode land at
//! x + 1 mm, both 0.5 x 1 mm, and a thermal land of 0.6 x 1 mm lies between.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::Arc;

use artwork::nets::Nets;
use artwork::reading::read_artwork;
use artwork::roles::Role;
use artwork::shape::{Area, Bounds, Point};

use super::{Circuit, PadPlace, SupplyPads};
use crate::as_built::{LandRole, PlacedEmitter, PlacedLand};
use crate::emitter::EmitterSheet;
use crate::project::sheet;

/// A rectangle of copper, mm: x min, y min, x max, y max.
pub(crate) type Rectangle = [f64; 4];

pub(super) fn rectangle([x0, y0, x1, y1]: Rectangle) -> Area {
    let at = |x: f64, y: f64| Point::rounded(x * 1e6, y * 1e6);
    Area::rectangle(Bounds { min: at(x0, y0), max: at(x1, y1) })
}

/// A layer with a region for each rectangle; a net's name goes into the net attribute, one such as `R1.2` into the pin's.
fn layer(function: &str, copper: &[(&str, Rectangle)]) -> Vec<u8> {
    let mut text = format!("%TF.FileFunction,{function}*%%FSLAX46Y46*%%MOMM*%\n");
    for (name, [x0, y0, x1, y1]) in copper {
        let _ = match name.split_once('.') {
            Some((part, pin)) => writeln!(text, "%TO.P,{part},{pin}*%"),
            None if name.is_empty() => Ok(()),
            None => writeln!(text, "%TO.N,{name}*%"),
        };
        text += "G36*\n";
        let corners = [(x0, y0, "D02"), (x1, y0, "D01"), (x1, y1, "D01"), (x0, y1, "D01"), (x0, y0, "D01")];
        for (x, y, code) in corners {
            let _ = writeln!(text, "X{:.0}Y{:.0}{code}*", x * 1e6, y * 1e6);
        }
        text += "G37*\n%TD*%\n";
    }
    (text + "M02*\n").into_bytes()
}

/// Fabrication files of copper on top and bottom, and of plated holes of 0.3 mm.
pub(crate) fn files(
    top: &[(&str, Rectangle)],
    bottom: &[(&str, Rectangle)],
    holes: &[[f64; 2]],
) -> Vec<(String, Vec<u8>)> {
    let mut drill =
        String::from("M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT01C0.300\n%\nG05\nT01\n");
    for [x, y] in holes {
        let _ = writeln!(drill, "X{x:.3}Y{y:.3}");
    }
    vec![
        ("top.gbr".to_owned(), layer("Copper,L1,Top", top)),
        ("bottom.gbr".to_owned(), layer("Copper,L2,Bot", bottom)),
        ("holes.xnc".to_owned(), (drill + "M30\n").into_bytes()),
    ]
}

/// Their nets.
pub(super) fn nets(top: &[(&str, Rectangle)], bottom: &[(&str, Rectangle)], holes: &[[f64; 2]]) -> Arc<Nets> {
    Arc::new(read_artwork(&files(top, bottom, holes), &BTreeMap::new()).nets().clone())
}

/// The shipped white emitter's electrical and thermal behaviour.
pub(super) fn white() -> EmitterSheet {
    let (name, text) = sheet::SHIPPED[0];
    sheet::read(name, name, text).0.expect("a shipped sheet is whole")
}

pub(super) fn emitter(number: usize, turned: bool) -> PlacedEmitter {
    let x = 10.0 * number as f64;
    let side = if turned { -1.0 } else { 1.0 };
    let land = |role, dx: f64, half: f64| PlacedLand {
        role,
        area: rectangle([x + side * dx - half, -0.5, x + side * dx + half, 0.5]),
    };
    let lands = vec![
        land(LandRole::Anode, -1.0, 0.25),
        land(LandRole::Cathode, 1.0, 0.25),
        land(LandRole::Thermal, 0.0, 0.3),
    ];
    PlacedEmitter {
        reference: format!("D{number}"),
        sheet: white(),
        at: Point::rounded(x * 1e6, 0.0),
        rotation_deg: if turned { 180.0 } else { 0.0 },
        thermal_land: lands[2].area.clone(),
        lands,
        current_share: 1.0,
        share_given: false,
    }
}

pub(super) fn emitters(count: usize) -> Vec<PlacedEmitter> {
    (1..=count).map(|number| emitter(number, false)).collect()
}

/// Copper of its own under an emitter's thermal land.
fn thermal(number: usize) -> (&'static str, Rectangle) {
    let x = 10.0 * number as f64;
    ("", [x - 0.3, -0.5, x + 0.3, 0.5])
}

/// The copper of a row of emitters in series: net 0 before the first, net k between emitter k and the next; then that of the
/// thermal lands.
pub(super) fn row(names: &[&'static str]) -> Vec<(&'static str, Rectangle)> {
    let strip = |(k, name): (usize, &&'static str)| {
        let x = 10.0 * k as f64;
        (*name, [x + 0.7, -0.6, x + 9.3, 0.6])
    };
    names.iter().enumerate().map(strip).chain((1..names.len()).map(thermal)).collect()
}

pub(super) fn named(name: &str) -> PadPlace {
    PadPlace::Named(name.to_owned())
}

pub(super) fn at(x: f64, y: f64) -> PadPlace {
    PadPlace::At(Point::rounded(x * 1e6, y * 1e6))
}

pub(super) fn supply(nets: &Nets, name: &str, plus: PadPlace, minus: PadPlace) -> SupplyPads {
    let find = |place: PadPlace| place.find(nets).expect("the pad is on copper");
    SupplyPads {
        name: name.to_owned(),
        plus: find(plus),
        minus: find(minus),
        lead: None,
        voltage_least_v: None,
        voltage_most_v: None,
    }
}

/// Emitters between any nodes: (anode node, cathode node) each. Each land has a strip upwards on the top layer; each node has
/// a bar along the row on the bottom layer; plated holes join them. Supplies are given by nodes.
pub(crate) fn wired(edges: &[(usize, usize)], supplies: &[(usize, usize)]) -> (Circuit, Vec<PlacedEmitter>) {
    let nodes = edges.iter().chain(supplies).map(|(a, b)| a.max(b) + 1).max().unwrap_or(0);
    let bar = |node: usize| 2.0 + node as f64;
    let top_end = bar(nodes);
    let (mut top, mut bottom, mut holes) = (Vec::new(), Vec::new(), Vec::new());
    for (index, (anode, cathode)) in edges.iter().enumerate() {
        let x = 10.0 * (index + 1) as f64;
        top.push(thermal(index + 1));
        for (x, node) in [(x - 1.0, *anode), (x + 1.0, *cathode)] {
            top.push(("", [x - 0.3, -0.6, x + 0.3, top_end]));
            holes.push([x, bar(node)]);
        }
    }
    for node in 0..nodes {
        bottom.push(("", [0.0, bar(node) - 0.3, 10.0 * edges.len() as f64 + 10.0, bar(node) + 0.3]));
    }
    let nets = nets(&top, &bottom, &holes);
    let emitters = emitters(edges.len());
    let pads = supplies
        .iter()
        .enumerate()
        .map(|(index, (plus, minus))| {
            let name = char::from(b'A' + index as u8).to_string();
            supply(&nets, &name, at(1.0, bar(*plus)), at(1.0, bar(*minus)))
        })
        .collect();
    (Circuit::trace(nets, Role::CopperTop, &emitters, pads), emitters)
}
