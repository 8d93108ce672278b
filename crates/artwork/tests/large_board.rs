//! Nets of a large board: time, and every name where it belongs.
#![allow(clippy::expect_used, clippy::panic)] // a test's helpers may fail loudly

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::time::{Duration, Instant};

use artwork::nets::NamedBy;
use artwork::reading::read_artwork;
use artwork::roles::Role;
use artwork::shape::{Area, Bounds, Point};

/// 100 x 100 mm: 70 x 70 round pads of 0.8 mm with a via each, every second row joined on the bottom by tracks; a ground
/// plane on top with a clearance for each pad. 14 700 objects on the two layers, all with their net.
fn files() -> Vec<(String, Vec<u8>)> {
    const PITCH_UM: i32 = 1_400;
    let mut top = String::from(
        "%TF.FileFunction,Copper,L1,Top*%%FSLAX46Y46*%%MOMM*%%ADD10C,0.8*%%ADD11C,1.2*%%TO.N,GND*%G36*X-1000000Y-1000000D02*\
         G01*X99000000D01*Y99000000D01*X-1000000D01*Y-1000000D01*G37*%TD*%\n%LPC*%D11*",
    );
    let mut bottom =
        String::from("%TF.FileFunction,Copper,L2,Bot*%%FSLAX46Y46*%%MOMM*%%ADD10C,0.8*%%ADD11C,0.3*%G01*\n");
    let mut holes = String::from("M48\n; #@! TF.FileFunction,Plated,1,2,PTH\nMETRIC\nT01C0.300\n%\nT01\n");
    let places = || (0..70).flat_map(|row| (0..70).map(move |column| (row, column)));
    for (row, column) in places() {
        let _ = writeln!(top, "X{}000Y{}000D03*", column * PITCH_UM, row * PITCH_UM);
    }
    top.push_str("%LPD*%D10*\n");
    for (row, column) in places() {
        let net = if row % 2 == 0 { format!("R{row}") } else { format!("R{row}C{column}") };
        let (x, y) = (column * PITCH_UM, row * PITCH_UM);
        let _ = writeln!(top, "%TO.N,{net}*%%TO.P,P{row},{column}*%X{x}000Y{y}000D03*%TD*%");
        let _ = writeln!(bottom, "%TO.N,{net}*%D10*X{x}000Y{y}000D03*");
        if row % 2 == 0 && column > 0 {
            let _ = writeln!(bottom, "D11*X{}000Y{y}000D02*X{x}000D01*", x - PITCH_UM);
        }
        bottom.push_str("%TD*%");
        let _ = writeln!(holes, "X{:.3}Y{:.3}", f64::from(x) / 1e3, f64::from(y) / 1e3);
    }
    top.push_str("M02*\n");
    bottom.push_str("M02*\n");
    holes.push_str("M30\n");
    [("top", top), ("bottom", bottom), ("holes", holes)]
        .map(|(name, text)| (name.to_owned(), text.into_bytes()))
        .to_vec()
}

#[test]
fn a_large_board_has_its_nets_soon() {
    let artwork = read_artwork(&files(), &BTreeMap::new());
    let began = Instant::now();
    let nets = artwork.nets();
    let took = began.elapsed();
    // 35 rows joined, 35 rows of 70 pads apart, and the ground.
    assert_eq!(nets.nets.len(), 35 + 35 * 70 + 1);
    assert!(nets.nets.iter().all(|net| net.named_by == NamedBy::Artwork && net.other_names.is_empty()));
    assert_eq!((nets.remarks.as_slice(), nets.holes.len(), nets.pads.len()), (&[][..], 4900, 4900));
    let row = &nets.nets[nets.by_name("R2").expect("a row")];
    assert_eq!((row.islands.len(), row.holes.len(), row.pads.len()), (71, 70, 70));
    // The land of each pad, on copper of its own net only.
    let began = Instant::now();
    for pad in &nets.pads {
        let corner = |d: i32| Point::new(pad.at.x_nm + d, pad.at.y_nm + d);
        let land = Area::rectangle(Bounds { min: corner(-250_000), max: corner(250_000) });
        let [under] = nets.islands_under(Role::CopperTop, &land)[..] else { panic!("one island") };
        assert_eq!(nets.islands[under.island].net, nets.islands[pad.island].net);
        assert!((under.area_mm2 - 0.25).abs() < 1e-9, "{}", under.area_mm2);
    }
    println!("nets in {took:?}, {} lands in {:?}", nets.pads.len(), began.elapsed());
    // 0.1 s alone on a slow machine; the bound leaves room for others at work on it.
    assert!(took < Duration::from_secs(3), "{took:?}");
}
