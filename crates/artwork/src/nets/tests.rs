//! Boards of a few shapes, worked out by plane geometry.

use std::collections::BTreeMap;

use super::{NamedBy, Nets};
use crate::reading::{Artwork, read_artwork};
use crate::remark::Severity;
use crate::roles::Role;
use crate::shape::{Area, Bounds, Point};

/// A layer in millimetres with six decimals: D10 a square of 1 mm, D11 a disc of 1 mm, D12 a square of 4 mm, D13 a
/// stroke of 0.2 mm.
fn layer(function: &str, body: &str) -> Vec<u8> {
    format!(
        "%TF.FileFunction,{function}*%%FSLAX46Y46*%%MOMM*%%ADD10R,1X1*%%ADD11C,1*%%ADD12R,4X4*%%ADD13C,0.2*%G75*{body}M02*"
    )
    .into_bytes()
}

fn drill(function: &str, body: &str) -> Vec<u8> {
    format!("M48\n; #@! TF.FileFunction,{function}\nMETRIC\nT01C0.300\nT02C1.000\n%\n{body}\nM30\n")
        .into_bytes()
}

fn board(files: &[(&str, Vec<u8>)]) -> Artwork {
    let files: Vec<(String, Vec<u8>)> =
        files.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.clone())).collect();
    let artwork = read_artwork(&files, &BTreeMap::new());
    let grave: Vec<_> = artwork.remarks.iter().filter(|r| r.severity == Severity::Error).collect();
    assert!(grave.is_empty(), "{grave:?}");
    artwork
}

fn top(body: &str) -> Nets {
    Nets::of(&board(&[("top", layer("Copper,L1,Top", body))]))
}

/// Two copper layers and a drill file.
fn two_layers(top: &str, bottom: &str, function: &str, holes: &str) -> Nets {
    Nets::of(&board(&[
        ("top", layer("Copper,L1,Top", top)),
        ("bottom", layer("Copper,L2,Bot", bottom)),
        ("holes", drill(function, holes)),
    ]))
}

fn mm(x: f64, y: f64) -> Point {
    Point::rounded(x * 1e6, y * 1e6)
}

fn texts(nets: &Nets) -> Vec<&str> {
    nets.remarks.iter().map(|remark| remark.text.as_str()).collect()
}

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Area {
    Area::rectangle(Bounds { min: mm(x0, y0), max: mm(x1, y1) })
}

#[test]
fn a_track_joins_two_pads_and_a_gap_does_not() {
    let pads = "D10*X0Y0D03*X5000000Y0D03*";
    assert_eq!(top(pads).nets.len(), 2);
    let joined = top(&format!("{pads}D13*X0Y0D02*X5000000Y0D01*"));
    assert_eq!((joined.nets.len(), joined.islands.len()), (1, 1));
    // The stroke's sides are flats of its round ends' polygon, which lie a little inside the circle.
    assert!((joined.nets[0].area_mm2 - (2.0 + 4.0 * 0.2)).abs() < 1e-3, "{}", joined.nets[0].area_mm2);
}

#[test]
fn touching_edges_join_a_nanometre_and_a_single_point_do_not() {
    assert_eq!(top("D10*X0Y0D03*X1000000Y0D03*").nets.len(), 1);
    assert_eq!(top("D10*X0Y0D03*X1000000Y999999D03*").nets.len(), 1);
    assert_eq!(top("D10*X0Y0D03*X1000001Y0D03*").nets.len(), 2);
    assert_eq!(top("D10*X0Y0D03*X1000000Y1000000D03*").nets.len(), 2);
}

#[test]
fn rings_and_islands_in_clearances_are_their_own_nets() {
    // A square of 4 mm cleared to a frame, in it a frame again, in it a disc.
    let body = "%ADD20R,3X3*%%ADD21R,2.5X2.5*%%ADD22R,1.5X1.5*%D12*X0Y0D03*%LPC*%D20*X0Y0D03*%LPD*%D21*X0Y0D03*\
                %LPC*%D22*X0Y0D03*%LPD*%D11*X0Y0D03*";
    let nets = top(body);
    assert_eq!((nets.nets.len(), nets.islands.len()), (3, 3));
    // The largest first: 16 - 9, 6.25 - 2.25, pi / 4.
    let areas: Vec<f64> = nets.nets.iter().map(|net| net.area_mm2).collect();
    for (found, exact) in areas.iter().zip([7.0, 4.0, std::f64::consts::FRAC_PI_4]) {
        assert!((found - exact).abs() < 1e-5, "{areas:?}");
    }
    let names: Vec<&str> = nets.nets.iter().map(|net| net.name.as_str()).collect();
    assert_eq!(names, ["net 1", "net 2", "net 3"]);
    for (x, net) in [(1.9, Some(0)), (1.4, None), (1.2, Some(1)), (0.7, None), (0.4, Some(2)), (2.1, None)] {
        assert_eq!(nets.net_at(Role::CopperTop, mm(x, 0.0)), net, "{x}");
        assert_eq!(nets.net_at(Role::CopperTop, mm(-x, 0.3)), net, "{x}");
    }
    assert_eq!(nets.net_at(Role::CopperTop, mm(2.0, 2.0)), Some(0), "a corner belongs to its island");
    assert_eq!(nets.net_at(Role::CopperBottom, mm(1.9, 0.0)), None);
}

#[test]
fn a_plated_hole_joins_the_layers_and_an_unplated_one_does_not() {
    let pads = "D11*X0Y0D03*X5000000Y0D03*";
    let plated = two_layers(pads, pads, "Plated,1,2,PTH", "T01\nX0Y0");
    assert_eq!((plated.nets.len(), plated.islands.len(), plated.holes.len()), (3, 4, 1));
    let net = plated.net_at(Role::CopperTop, mm(0.2, 0.0)).unwrap();
    assert_eq!(plated.net_at(Role::CopperBottom, mm(0.2, 0.0)), Some(net));
    let hole = plated.holes_of(net).next().unwrap();
    assert_eq!(
        (hole.path.as_slice(), hole.diameter_nm, hole.islands.len()),
        (&[mm(0.0, 0.0)][..], 300_000, 2)
    );
    assert!(
        (plated.copper_of(net, Role::CopperBottom).area_mm2() - std::f64::consts::FRAC_PI_4).abs() < 1e-5
    );
    assert_eq!(plated.islands_of(net, Role::CopperTop).count(), 1);
    let unplated = two_layers(pads, pads, "NonPlated,1,2,NPTH", "T01\nX0Y0");
    assert_eq!((unplated.nets.len(), unplated.holes.len()), (4, 0));
    // Nothing tells: plated, and told.
    let untold = two_layers(pads, pads, "MixedPlating,1,2", "T01\nX0Y0");
    assert_eq!(untold.nets.len(), 3);
    assert!(texts(&untold)[0].contains("1 hole joins copper and nothing tells"), "{:?}", untold.remarks);
}

#[test]
fn a_hole_that_stands_twice_is_one_barrel() {
    let pad = "D11*X0Y0D03*";
    let nets = two_layers(pad, pad, "Plated,1,2,PTH", "T01\nX0Y0\nX0Y0\nT02\nX0Y0\nT01\nX0Y0\nX0.1Y0");
    let found: Vec<_> = nets.holes.iter().map(|hole| (hole.path[0].x_nm, hole.diameter_nm)).collect();
    assert_eq!(found, [(0, 1_000_000), (100_000, 300_000)]);
    assert_eq!(nets.nets[0].holes, [0, 1]);
}

#[test]
fn a_slot_joins_all_along_its_way() {
    let pads = "D11*X0Y0D03*X5000000Y0D03*";
    let bottom = "D13*X2500000Y-3000000D02*X2500000Y3000000D01*";
    let slot = "T01\nX0Y0G85X5.0Y0";
    let nets = two_layers(pads, bottom, "Plated,1,2,PTH", slot);
    assert_eq!((nets.nets.len(), nets.holes.len(), nets.holes[0].path.len()), (1, 1, 2));
}

#[test]
fn a_hole_reaches_as_far_as_stated() {
    // A hollow pad: a ring of 2 mm with a bore of 1.09 and 1.11 mm, a drill of 1 mm: it reaches 0.55 mm.
    for (bore, joined) in [("1.09", true), ("1.11", false)] {
        let ring = format!("%ADD20C,2X{bore}*%D20*X0Y0D03*");
        let nets = two_layers(&ring, "D12*X0Y0D03*", "Plated,1,2,PTH", "T02\nX0Y0");
        assert_eq!(nets.nets.len(), if joined { 1 } else { 2 }, "{bore}");
    }
    // A plane's clearance round a via is no pad.
    let plane = "D12*X0Y0D03*%LPC*%D11*X0Y0D03*%LPD*%";
    let nets = two_layers("D11*X0Y0D03*", plane, "Plated,1,2,PTH", "T01\nX0Y0");
    assert_eq!((nets.nets.len(), nets.holes.len()), (2, 1));
}

#[test]
fn blind_holes_join_their_layers_only() {
    let pad = "D11*X0Y0D03*";
    let files = |function: &str, holes: &str| {
        Nets::of(&board(&[
            ("a", layer("Copper,L1,Top", pad)),
            ("b", layer("Copper,L2,Inr", pad)),
            ("c", layer("Copper,L3,Inr", pad)),
            ("d", layer("Copper,L4,Bot", pad)),
            ("holes", drill(function, holes)),
        ]))
    };
    for (function, nets) in
        [("Plated,1,4,PTH", 1), ("Plated,1,2,Blind", 3), ("Plated,2,3,Buried", 3), ("Plated,4,2,Blind", 2)]
    {
        assert_eq!(files(function, "T01\nX0Y0").nets.len(), nets, "{function}");
    }
    let order: Vec<Role> = files("Plated,1,4,PTH", "").copper_layers().collect();
    assert_eq!(order, [Role::CopperTop, Role::CopperInner(2), Role::CopperInner(3), Role::CopperBottom]);
}

#[test]
fn attributes_name_nets_and_pins_label_the_others() {
    let body = r"%TO.N,\u00B5C, out*%%TO.P,U1,7,PWM*%D10*X0Y0D03*%TD*%%TO.N,*%%TO.P,D1,1*%X3000000Y0D03*%TO.P,D2,2*%X3900000Y0D03*%TD*%
        %TO.N,N/C*%%TO.P,U1,8*%X9000000Y0D03*%TD*%%TO.C,J1*%X12000000Y0D03*%TD*%";
    let nets = top(body);
    let labels: Vec<String> = (0..nets.nets.len()).map(|net| nets.label(net)).collect();
    assert_eq!(labels, ["\u{b5}C", "net 1 (D1 pin 1, D2 pin 2)", "net 2 (U1 pin 8)", "net 3 (J1)"]);
    // ", out" is a second name of the same object: a declared tie.
    assert_eq!(nets.nets[0].other_names, ["out"]);
    assert!(nets.remarks.is_empty(), "{:?}", nets.remarks);
    let pad = &nets.pads[nets.nets[0].pads[0]];
    assert_eq!(
        (pad.reference.as_str(), pad.pin.as_str(), pad.function.as_str(), pad.at),
        ("U1", "7", "PWM", mm(0.0, 0.0))
    );
    assert_eq!((nets.by_name("out"), nets.by_name("net 3"), nets.by_name("x")), (Some(0), Some(3), None));
}

#[test]
fn an_object_names_what_still_stands_of_it() {
    // A pour of A, cleared for pads of B in its middle and on the middle of its lower edge, and cut by four clear strokes
    // into five.
    let mut body = String::from(
        "%TO.N,A*%G36*X-9000000Y-3000000D02*G01*X9000000D01*Y3000000D01*X-9000000D01*Y-3000000D01*G37*%TD*%%LPC*%",
    );
    body += "%ADD20R,2X2*%D20*X0Y0D03*Y-3000000D03*D13*";
    for x in [-6, -3, 3, 6] {
        body += &format!("X{x}000000Y-4000000D02*Y4000000D01*");
    }
    body += "%LPD*%%TO.N,B*%D10*X0Y0D03*Y-3000000D03*%TD*%";
    let nets = top(&body);
    assert_eq!(nets.islands.len(), 7);
    let count = |name: &str| nets.nets.iter().filter(|net| net.name == name).count();
    assert_eq!((count("A"), count("B")), (5, 2));
    let [a, b] = texts(&nets)[..] else { panic!("{:?}", nets.remarks) };
    assert!(
        a.starts_with("open: net \"A\" is 5 pieces") && b.starts_with("open: net \"B\" is 2 pieces"),
        "{a} {b}"
    );
}

#[test]
fn shorts_and_opens_are_told_with_their_places() {
    let nets = top("%TO.N,A*%D10*X0Y0D03*%TO.N,B*%X900000Y0D03*%TO.N,A*%X5000000Y0D03*");
    let found = texts(&nets);
    assert_eq!(
        found,
        [
            "short: nets \"A\" (at 0.000, 0.000 mm on copper top) and \"B\" (at 0.900, 0.000 mm on copper top) are one piece of copper",
            "open: net \"A\" is 2 pieces that nothing read here joins: at 0.000, 0.000 mm on copper top; at 5.000, 0.000 mm on copper top"
        ]
    );
    assert!(
        nets.remarks.iter().all(|r| r.severity == Severity::Warning && r.file == "top" && r.line == Some(1))
    );
    let short = &nets.nets[0];
    assert_eq!((short.name.as_str(), short.other_names.as_slice()), ("A", &["B".to_owned()][..]));
    // Through a hole.
    let holed = two_layers("%TO.N,A*%D11*X0Y0D03*", "%TO.N,B*%D11*X0Y0D03*", "Plated,1,2,PTH", "T01\nX0Y0");
    assert!(texts(&holed)[0].ends_with("are joined by plated holes"), "{:?}", holed.remarks);
    // The same name on two layers, joined: neither.
    let fine = two_layers("%TO.N,A*%D11*X0Y0D03*", "%TO.N,A*%D11*X0Y0D03*", "Plated,1,2,PTH", "T01\nX0Y0");
    assert!(fine.remarks.is_empty(), "{:?}", fine.remarks);
}

#[test]
fn a_land_finds_its_copper() {
    let nets = top("%TO.N,A*%D12*X0Y0D03*%TO.N,B*%X5000000Y0D03*");
    // From 1 to 4 mm across, 0.5 mm high: 1 mm on A, 1 mm on B (from 3 to 7), the gap of 1 mm between.
    let under = nets.islands_under(Role::CopperTop, &rectangle(0.5, 0.0, 4.0, 0.5));
    let found: Vec<(usize, f64)> = under.iter().map(|o| (nets.islands[o.island].net, o.area_mm2)).collect();
    assert_eq!(found, [(0, 0.75), (1, 0.5)]);
    assert_eq!(nets.islands_under(Role::CopperTop, &rectangle(2.0, 0.0, 3.0, 1.0)), []);
    assert_eq!(nets.islands_under(Role::CopperTop, &Area::default()), []);
    let turned = rectangle(-0.5, -0.5, 0.5, 0.5).turned(mm(0.0, 0.0), 45.0);
    let under = nets.islands_under(Role::CopperTop, &turned);
    assert!((under[0].area_mm2 - 1.0).abs() < 1e-5 && under.len() == 1, "{under:?}");
    assert_eq!(nets.islands_near(Role::CopperTop, mm(2.4, 0.0), 500_000.0), [0]);
    assert_eq!(nets.islands_near(Role::CopperTop, mm(2.4, 0.0), 700_000.0), [0, 1]);
    // Places that no board has, and distances that no one means.
    for far in [i32::MIN, i32::MAX] {
        let far = Point::new(far, far);
        assert_eq!(nets.island_at(Role::CopperTop, far), None);
        assert_eq!(nets.islands_near(Role::CopperTop, far, f64::NAN), []);
        assert_eq!(nets.islands_near(Role::CopperTop, far, f64::INFINITY).len(), 2);
    }
}

const NETLIST: &str = "\
P  UNITS CUST 1
327PLUS             D1    -A          A01X+000000Y+000000X1000Y1000R000 S1
327MINUS            D1    -C          A01X+005000Y+000000X1000Y1000R000 S1
317GND              VIA         D0300PA00X+000000Y+009000X1000
327N/C              U1    -2          A01X+005000Y+009000X1000Y1000R000 S1
";

#[test]
fn a_netlist_names_islands_and_tells_what_differs() {
    let copper = "%TO.N,ANODE*%D10*X0Y0D03*%TD*%X5000000Y0D03*D11*X0Y9000000D03*D10*X5000000Y9000000D03*";
    let with = |netlist: &str| {
        Nets::of(&board(&[
            ("top", layer("Copper,L1,Top", copper)),
            ("bottom", layer("Copper,L2,Bot", "D11*X0Y9000000D03*")),
            ("holes", drill("Plated,1,2,PTH", "T01\nX0Y9.0")),
            ("list.ipc", netlist.as_bytes().to_vec()),
        ]))
    };
    let nets = with(&format!("{NETLIST}999\n"));
    let found: Vec<_> = (0..4).map(|net| (nets.label(net), nets.nets[net].named_by.word())).collect();
    let wanted =
        [("ANODE", "artwork"), ("GND", "netlist"), ("MINUS", "netlist"), ("net 1 (U1 pin 2)", "number")];
    assert_eq!(found, wanted.map(|(label, by)| (label.to_owned(), by)));
    assert_eq!(nets.nets[1].islands.len(), 2);
    assert_eq!(texts(&nets), ["net \"PLUS\" is called \"ANODE\" in the artwork, which counts"]);
    // A point beside the copper, a short and an open.
    let more = "327PLUS             D9    -A          A01X+002500Y+000000X1000Y1000R000 S1\n\
                327GND              D2    -A          A01X+005300Y+000300X1000Y1000R000 S1\n999\n";
    let nets = with(&format!("{NETLIST}{more}"));
    let found = texts(&nets).join("\n");
    for words in [
        "there is no copper at the test point 2.500, 0.000 mm (net \"PLUS\", D9 pin A)",
        "short: nets \"MINUS\" (at 5.000, 0.000 mm on copper top) and \"GND\" (at 5.300, 0.300 mm on copper top) are one piece",
        "open: net \"GND\" is 2 pieces",
    ] {
        assert!(found.contains(words), "{found}");
    }
    // Another origin: nothing is named.
    let nets = with(&NETLIST.replace("X+00", "X+05"));
    assert!(texts(&nets)[0].starts_with("only 0 of 4 test points lie on copper"), "{:?}", nets.remarks);
    assert!(nets.nets.iter().all(|net| net.named_by != NamedBy::Netlist));
}

#[test]
fn a_board_without_copper_has_no_nets() {
    let nets =
        Nets::of(&board(&[("holes", drill("Plated,1,2,PTH", "T01\nX0Y0")), ("n.ipc", NETLIST.into())]));
    assert!(
        nets.nets.is_empty() && nets.islands.is_empty() && nets.holes.is_empty() && nets.remarks.is_empty()
    );
    assert_eq!((nets.island_at(Role::CopperTop, mm(0.0, 0.0)), nets.label(7)), (None, String::new()));
}
