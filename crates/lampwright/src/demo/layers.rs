//! The demo board's fabrication files.

use std::fmt::Write as _;

use super::board::{self, Build, Xy};
use super::drill_text;
use super::gerber_text::GerberText;

/// File names and texts.
pub(super) fn files(build: Build) -> Vec<(&'static str, String)> {
    let mut files = vec![
        ("copper-top.gbr", copper_top(build)),
        ("mask-top.gbr", mask_top()),
        ("paste-top.gbr", paste_top()),
        ("profile.gbr", profile()),
        ("drill-unplated.xnc", drill_text::write(false, board::HOLE, &board::HOLES)),
        ("centroid.csv", centroid()),
    ];
    if build == Build::Plain {
        files.push(("copper-bottom.gbr", copper_bottom()));
        files.push(("mask-bottom.gbr", mask_bottom()));
        files.push(("drill-plated.xnc", drill_text::write(true, board::VIA, &all_vias())));
    }
    files
}

fn plus(a: Xy, b: Xy) -> Xy {
    [a[0] + b[0], a[1] + b[1]]
}

fn all_vias() -> Vec<Xy> {
    board::emitters(Build::Plain)
        .iter()
        .flat_map(|emitter| board::vias().into_iter().map(|via| plus(emitter.at, via)))
        .collect()
}

fn copper_top(build: Build) -> String {
    let mut layer = GerberText::new("Copper,L1,Top");
    let emitters = board::emitters(build);
    for (net, corners) in board::pours() {
        layer.net(&net);
        layer.region(&corners, [0.0, 0.0]);
    }
    layer.net("GND");
    layer.region(&board::ground(), [0.0, 0.0]);
    layer.net("");
    // Room for heat spreaders, sensor traces, sensor pads and screws.
    layer.dark(false);
    for emitter in &emitters {
        layer.region(&board::spreader(board::GAP), emitter.at);
    }
    for (_, points) in board::TRACES {
        layer.stroke(&points, board::TRACE + 2.0 * board::GAP, "");
    }
    for (_, net, at, size) in board::SENSOR_PADS {
        if net != "GND" {
            layer.rectangle(plus(board::SENSOR, at), size.map(|s| s + 2.0 * board::GAP), "");
        }
    }
    for hole in board::HOLES {
        layer.disc(hole, board::HOLE_CLEAR, "");
    }
    layer.dark(true);
    for emitter in &emitters {
        layer.net(&emitter.nets[2]);
        layer.region(&board::spreader(0.0), emitter.at);
        if build == Build::Plain {
            for via in board::vias() {
                layer.disc(plus(emitter.at, via), board::VIA_LAND, "ViaPad");
            }
        }
        for ((pin, at, size), net) in board::LANDS.into_iter().zip(&emitter.nets) {
            layer.net(net);
            layer.pin(&emitter.reference, pin);
            layer.rectangle(
                plus(emitter.at, at),
                size,
                if pin == "TH" { "HeatsinkPad" } else { "SMDPad,CuDef" },
            );
            layer.net("");
        }
    }
    for (net, points) in board::TRACES {
        layer.net(net);
        layer.stroke(&points, board::TRACE, "Conductor");
    }
    for (pin, net, at, size) in board::SENSOR_PADS {
        layer.net(net);
        layer.pin("U1", pin);
        layer.rectangle(plus(board::SENSOR, at), size, "SMDPad,CuDef");
        layer.net("");
    }
    for (pin, net, at, size) in board::CONNECTOR_PADS {
        layer.net(net);
        layer.pin("J1", pin);
        layer.rectangle(at, size, "ConnectorPad");
        layer.net("");
    }
    for pad in board::supply_pads() {
        let [part, pin] = pad.pin;
        layer.net(&pad.net);
        layer.pin(part, pin);
        layer.rectangle(pad.at, pad.size, "ConnectorPad");
        layer.net("");
    }
    layer.finish()
}

fn copper_bottom() -> String {
    let mut layer = GerberText::new("Copper,L2,Bot");
    layer.net("HEAT");
    layer.rounded_rectangle([0.8, 0.8], [board::WIDTH - 0.8, board::HEIGHT - 0.8], board::CORNER - 0.8, None);
    layer.net("");
    layer.dark(false);
    for hole in board::HOLES {
        layer.disc(hole, board::HOLE_CLEAR, "");
    }
    layer.dark(true);
    layer.net("HEAT");
    for via in all_vias() {
        layer.disc(via, board::VIA_LAND, "ViaPad");
    }
    layer.finish()
}

fn mask_top() -> String {
    let mut layer = GerberText::new("Soldermask,Top");
    let grown = |size: Xy| size.map(|s| s + 0.1);
    for emitter in board::emitters(Build::Core) {
        for (_, at, size) in board::LANDS {
            layer.rectangle(plus(emitter.at, at), grown(size), "Material");
        }
    }
    for (_, _, at, size) in board::SENSOR_PADS {
        layer.rectangle(plus(board::SENSOR, at), grown(size), "Material");
    }
    for (_, _, at, size) in board::CONNECTOR_PADS {
        layer.rectangle(at, grown(size), "Material");
    }
    for pad in board::supply_pads() {
        layer.rectangle(pad.at, grown(pad.size), "Material");
    }
    for hole in board::HOLES {
        layer.disc(hole, board::HOLE + 0.2, "Material");
    }
    layer.finish()
}

/// The back is bare copper where it meets the thermal interface.
fn mask_bottom() -> String {
    let mut layer = GerberText::new("Soldermask,Bot");
    layer.rounded_rectangle([2.0, 2.0], [board::WIDTH - 2.0, board::HEIGHT - 2.0], 1.0, None);
    layer.finish()
}

fn paste_top() -> String {
    let mut layer = GerberText::new("Paste,Top");
    for emitter in board::emitters(Build::Core) {
        for (_, at, size) in board::LANDS {
            layer.rectangle(plus(emitter.at, at), size.map(|s| s - 0.1), "Material");
        }
    }
    for (_, _, at, size) in board::SENSOR_PADS {
        layer.rectangle(plus(board::SENSOR, at), size, "Material");
    }
    layer.finish()
}

fn profile() -> String {
    let mut layer = GerberText::new("Profile,NP");
    layer.rounded_rectangle([0.0, 0.0], [board::WIDTH, board::HEIGHT], board::CORNER, Some(0.1));
    layer.finish()
}

fn centroid() -> String {
    let mut text = String::from("Ref,Value,Package,X (mm),Y (mm),Rotation (deg),Side\n");
    for emitter in board::emitters(Build::Core) {
        let _ = writeln!(
            text,
            "{},white 3.5 mm,3.5 mm three lands,{:.3},{:.3},0,top",
            emitter.reference, emitter.at[0], emitter.at[1]
        );
    }
    let [x, y] = board::SENSOR;
    let _ = writeln!(text, "U1,linear-output sensor,small three-lead,{x:.3},{y:.3},0,top");
    text
}
