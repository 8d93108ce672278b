//! Bond lines, screws, burrs and bow as written: whole, and with slips.

use super::{MemoryFolder, Reading, read};
use crate::bond_line::{BondKind, BondWhatIf};

const LAMP: &str = r#"
[bond]
thickness = "50 um"
conductivity = "3 W/m/K"
[screws]
at = [["5 mm", "5 mm"], ["55 mm", "5 mm"], ["5 mm", "35 mm"], ["55 mm", "35 mm"]]
[flatness]
burr = "100 um"
[heatsink]
base = ["80 mm", "60 mm"]
base_thickness = "5 mm"
resistance = "1 K/W"
[variant.a]
outline = ["60 mm", "40 mm"]
[variant.a.board]
kind = "fr4 one-layer"
[[variant.a.heat]]
at = ["30 mm", "20 mm"]
size = ["4 mm", "4 mm"]
power = "2 W"
"#;

fn reading(text: &str) -> Reading {
    read(&MemoryFolder::new([("lamp.toml".to_owned(), text.as_bytes().to_vec())]))
}

fn changed(from: &str, to: &str) -> Reading {
    assert!(LAMP.contains(from), "{from}");
    reading(&LAMP.replace(from, to))
}

#[test]
fn a_bond_line_is_read_as_meant() {
    let lamp = reading(LAMP).lamp.unwrap();
    let variant = &lamp.variants[0];
    assert_eq!(variant.screws.len(), 4);
    assert!(variant.screws[0].is_metal);
    assert_eq!(variant.flatness.burrs.len(), 4);
    let pad = changed(
        "thickness = \"50 um\"",
        "kind = \"pad\"\ncompression = [[\"100 kPa\", 0.1], [\"3 bar\", 0.2]]\npressure = \"200 kPa\"\nthickness = \"0.5 mm\"",
    );
    assert!(!pad.has_errors(), "{:?}", pad.remarks);
    let bond = pad.lamp.unwrap().variants[0].bond.clone().unwrap();
    assert_eq!(bond.interface.kind, BondKind::Pad);
    assert!((bond.interface.compression.unwrap().part_at(200e3) - 0.15).abs() < 1e-12);
    // A tolerance of the resistance alone.
    let text = LAMP.replace(
        "thickness = \"50 um\"\nconductivity = \"3 W/m/K\"",
        "resistance = \"2e-5 m2K/W\"\nresistance_tolerance = 0.5",
    );
    let only = reading(&text.replace("burr = \"100 um\"", ""));
    assert!(!only.has_errors(), "{:?}", only.remarks);
    let tolerance = only.lamp.unwrap().variants[0].bond.clone().unwrap().interface.tolerance;
    assert!((tolerance.factors()[1] - 1.5).abs() < 1e-12);
}

#[test]
fn slips_in_a_bond_line_are_told_with_what_is_allowed() {
    let cases = [
        ("thickness = \"50 um\"", "thickness = \"50 um\"\nkind = \"glue\"", "one of \"grease\", \"pad\""),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\nfills_to = \"20 um\"",
            "less than the bond line's own thickness of 50 um",
        ),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\nthickness_tolerance = \"60 um\"",
            "less than the thickness itself, 50 um",
        ),
        ("thickness = \"50 um\"", "thickness = \"50 um\"\nrecess = \"1 mm\"", "no [[bond.pedestal]]"),
        ("thickness = \"50 um\"", "thickness = \"50 um\"\npressure = \"1 bar\"", "needs kind = \"pad\""),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\nresistance_tolerance = 0.1",
            "belongs to \"resistance\"",
        ),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\ncompression = [[\"1 bar\", 0.1]]",
            "write kind = \"pad\"",
        ),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\nkind = \"pad\"\ncompression = [[\"1 bar\", 0.1], [\"2 bar\", 0.05]]",
            "both values must ascend",
        ),
        (
            "thickness = \"50 um\"",
            "thickness = \"50 um\"\nkind = \"pad\"\ncompression = [[\"1 bar\", 0.1]]",
            "nothing that presses it",
        ),
        (
            "thickness = \"50 um\"\nconductivity = \"3 W/m/K\"",
            "resistance = \"2e-5 m2K/W\"",
            "instead of \"resistance\"",
        ),
        (
            "[screws]",
            "[[bond.pedestal]]\nat = [\"90 mm\", \"5 mm\"]\nsize = [\"4 mm\", \"4 mm\"]\n[screws]",
            "from 0, 0 to 60, 40 mm",
        ),
        (
            "[screws]",
            "[[bond.region]]\nat = [\"9 mm\", \"5 mm\"]\nsize = [\"4 mm\", \"4 mm\"]\n[screws]",
            "contact = false",
        ),
        ("at = [[\"5 mm\", \"5 mm\"]", "at = [[\"5 mm\", \"45 mm\"]", "5.00, 45.00 mm is not on the board"),
        (
            "at = [[\"5 mm\", \"5 mm\"], [\"55 mm\", \"5 mm\"], [\"5 mm\", \"35 mm\"], [\"55 mm\", \"35 mm\"]]",
            "hole = \"3.2 mm\"",
            "without artwork has no holes",
        ),
        ("[flatness]", "tool = \"T1\"\n[flatness]", "one of \"hole\""),
        ("burr = \"100 um\"", "burr = \"100 um\"\nburr_hole = \"3 mm\"", "no unplated hole of 3 mm"),
        ("burr = \"100 um\"", "burr_hole = \"3 mm\"", "which is missing or 0"),
        ("burr = \"100 um\"", "board_span = \"60 mm\"", "\"board_bow\", which is missing"),
    ];
    for (from, to, said) in cases {
        let reading = changed(from, to);
        let errors: Vec<&str> =
            reading.remarks.iter().filter(|r| r.severity == "error").map(|r| r.text.as_str()).collect();
        assert!(errors.iter().any(|text| text.contains(said)), "{to}: {errors:?}");
        assert!(reading.remarks.iter().all(|r| r.line.is_some()), "{to}");
    }
    let deep = changed("burr = \"100 um\"", "board_bow = \"1 mm\"");
    assert!(
        !deep.has_errors() && deep.remarks.iter().any(|r| r.text.contains("IPC-6012")),
        "{:?}",
        deep.remarks
    );
}

/// Burrs of 100 µm under all four screws lift the whole board: every place has that gap, for a flat plate on four posts of one
/// height stays flat; half the bond line's own 50 µm would be hidden in them.
#[test]
fn burrs_under_all_screws_lift_the_whole_board() {
    let lamp = reading(LAMP).lamp.unwrap();
    let variant = &lamp.variants[0];
    let line = crate::bond_line::BondLine::of(variant, BondWhatIf::default());
    let map = line.map(variant, 1e-3).unwrap();
    assert_eq!((map.nx, map.ny), (60, 40));
    assert!(
        map.gap_um.iter().all(|gap| (gap - 100.0).abs() < 0.1),
        "{:?}",
        map.gap_um.iter().copied().reduce(f32::min)
    );
    let flat = crate::bond_line::BondLine::of(variant, BondWhatIf::flat());
    assert!(flat.map(variant, 1e-3).unwrap().gap_um.iter().all(|gap| *gap == 50.0));
    // Of 100 µm, all is filled; 200 µm with 50 µm of grease leaves 50 µm of air.
    let high = changed("burr = \"100 um\"", "burr = \"200 um\"").lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&high.variants[0], BondWhatIf::default());
    let lines = [0.0, 1e7, 2e7];
    let found = line.resistances_m2k_per_w(&lines, &lines, 1.0).of(0);
    let by_hand = 150e-6 / 3.0 + crate::bond_line::air_gap_m2k_per_w(50e-6, 0.8);
    assert!((found / by_hand - 1.0).abs() < 2e-3, "{found} {by_hand}");
}

/// A pedestal, a region and a place without contact share a cell as conductors side by side (by hand).
#[test]
fn places_side_by_side_conduct_side_by_side() {
    let text = LAMP.replace(
        "[screws]",
        "[[bond.pedestal]]\nat = [\"5 mm\", \"5 mm\"]\nsize = [\"10 mm\", \"10 mm\"]\n[[bond.region]]\nat = [\"1 mm\", \"5 mm\"]\nsize = [\"2 mm\", \"10 mm\"]\nresistance = \"1e-4 m2K/W\"\n[screws]",
    );
    let lamp = reading(&text.replace("burr = \"100 um\"", "")).lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&lamp.variants[0], BondWhatIf::default());
    // One cell from 0 to 20 mm along x and 0 to 10 mm along y: a tenth region, four tenths pedestal, the rest beside it.
    let found = line.resistances_m2k_per_w(&[0.0, 2e7], &[0.0, 1e7], 1.0).of(0);
    let air = crate::bond_line::air_gap_m2k_per_w(1.05e-3, 0.8);
    let by_hand = 1.0 / (0.1 / 1e-4 + 0.4 / (50e-6 / 3.0) + 0.5 / air);
    assert!((found / by_hand - 1.0).abs() < 1e-9, "{found} {by_hand}");
}

/// Where nothing is uneven, each column has the very bits of thickness over conductivity.
#[test]
fn an_even_film_keeps_its_bits() {
    let lamp = changed("burr = \"100 um\"", "").lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&lamp.variants[0], BondWhatIf::default());
    let found = line.resistances_m2k_per_w(&[0.0, 2e7], &[0.0, 1e7], 1.0);
    assert_eq!(found, crate::bond_line::Resistances::Even(50e-6 / 3.0));
}

/// What a tolerance changes is the film and a region's own value, not the air in series with it or beside it; where two regions overlap
/// the first counts (all by hand, at one and a half times the film).
#[test]
fn a_tolerance_changes_films_and_leaves_air() {
    let high = changed("burr = \"100 um\"", "burr = \"200 um\"").lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&high.variants[0], BondWhatIf::default());
    let lines = [0.0, 1e7, 2e7];
    let found = line.resistances_m2k_per_w(&lines, &lines, 1.5).of(0);
    let by_hand = 1.5 * 150e-6 / 3.0 + crate::bond_line::air_gap_m2k_per_w(50e-6, 0.8);
    assert!((found / by_hand - 1.0).abs() < 2e-3, "{found} {by_hand}");
    let region = |r: &str| {
        format!(
            "[[bond.region]]\nat = [\"5 mm\", \"5 mm\"]\nsize = [\"10 mm\", \"10 mm\"]\nresistance = \"{r} m2K/W\"\n"
        )
    };
    let text = LAMP.replace("[screws]", &format!("{}{}[screws]", region("1e-4"), region("3e-4")));
    let lamp = reading(&text.replace("burr = \"100 um\"", "")).lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&lamp.variants[0], BondWhatIf::default());
    let found = line.resistances_m2k_per_w(&[0.0, 2e7], &[0.0, 1e7], 1.5).of(0);
    let by_hand = 1.5 / (0.5 / 1e-4 + 0.5 / (50e-6 / 3.0));
    assert!((found / by_hand - 1.0).abs() < 1e-9, "{found} {by_hand}");
    let even = changed("burr = \"100 um\"", "").lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&even.variants[0], BondWhatIf::default());
    assert_eq!(line.resistances_m2k_per_w(&[0.0, 2e7], &[0.0, 1e7], 2.0).of(0), 2.0 * (50e-6 / 3.0));
}

/// A pad of 0.5 mm under 200 kPa, by its points 15 % thinner: 0.425 mm of 3 W/m/K everywhere. Tape keeps its thickness: burrs of 200 µm
/// leave 150 µm of air over its 50 µm (grease fills 150 µm of them, above).
#[test]
fn pads_give_way_and_tapes_do_not_fill() {
    let pad = changed(
        "thickness = \"50 um\"",
        "kind = \"pad\"\ncompression = [[\"100 kPa\", 0.1], [\"3 bar\", 0.2]]\npressure = \"200 kPa\"\nthickness = \"0.5 mm\"",
    );
    let mut variant = pad.lamp.unwrap().variants[0].clone();
    (variant.screws, variant.flatness) = (Vec::new(), crate::bond_line::Flatness::default());
    let line = crate::bond_line::BondLine::of(&variant, BondWhatIf::default());
    let found = line.resistances_m2k_per_w(&[0.0, 2e7], &[0.0, 1e7], 1.0).of(0);
    assert!((found / (0.425e-3 / 3.0) - 1.0).abs() < 1e-12, "{found}");
    let tape = LAMP.replace("thickness = \"50 um\"", "kind = \"tape\"\nthickness = \"50 um\"");
    let lamp = reading(&tape.replace("burr = \"100 um\"", "burr = \"200 um\"")).lamp.unwrap();
    let line = crate::bond_line::BondLine::of(&lamp.variants[0], BondWhatIf::default());
    let lines = [0.0, 1e7, 2e7];
    let found = line.resistances_m2k_per_w(&lines, &lines, 1.0).of(0);
    let by_hand = 50e-6 / 3.0 + crate::bond_line::air_gap_m2k_per_w(150e-6, 0.8);
    assert!((found / by_hand - 1.0).abs() < 2e-3, "{found} {by_hand}");
    assert_eq!(line.map(&lamp.variants[0], 1e-3).unwrap().fills_to_um, 50.0);
}

/// The map has no film beside pedestals and beyond the base, keeps it in a region with a value, and reads a bowed gap at the middle of
/// its picture points: an unheld board whose middle touches has the same gap at places mirrored about its middle.
#[test]
fn the_map_tells_film_from_air_and_reads_at_the_middle() {
    let places = "[[bond.pedestal]]\nat = [\"5 mm\", \"5 mm\"]\nsize = [\"10 mm\", \"10 mm\"]\n[[bond.region]]\nat = [\"15 mm\", \"5 mm\"]\nsize = [\"10 mm\", \"10 mm\"]\nresistance = \"1e-4 m2K/W\"\n[screws]";
    let text = LAMP.replace("[screws]", places).replace("burr = \"100 um\"", "");
    let lamp = reading(&text).lamp.unwrap();
    let map = |variant: &crate::as_built::Variant| {
        crate::bond_line::BondLine::of(variant, BondWhatIf::default()).map(variant, 1e-3).unwrap()
    };
    let of = map(&lamp.variants[0]);
    let at = |x: usize, y: usize| of.gap_um[y * of.nx + x];
    assert_eq!((at(5, 5), at(15, 5)), (50.0, 50.0));
    assert!(at(25, 5).is_nan() && at(5, 15).is_nan());
    let mut variant = reading(LAMP).lamp.unwrap().variants[0].clone();
    let small = artwork::shape::Bounds {
        min: artwork::shape::Point::new(0, 0),
        max: artwork::shape::Point::new(30_000_000, 40_000_000),
    };
    variant.heatsink.as_mut().unwrap().base = artwork::shape::Area::rectangle(small);
    let of = map(&variant);
    assert!(of.gap_um[5 * of.nx + 45].is_nan() && !of.gap_um[5 * of.nx + 5].is_nan());
    let mut variant = reading(LAMP).lamp.unwrap().variants[0].clone();
    variant.screws.clear();
    variant.flatness = crate::bond_line::Flatness {
        heatsink: crate::bond_line::Bow {
            depth_m: -4e-4,
            span_m: 0.06,
            along: crate::bond_line::BowAlong::X,
        },
        ..crate::bond_line::Flatness::default()
    };
    let of = map(&variant);
    let row = &of.gap_um[20 * of.nx..21 * of.nx];
    for (k, gap) in row.iter().enumerate() {
        assert!((gap - row[of.nx - 1 - k]).abs() < 2.0, "{k}: {row:?}");
        // A flat arc on the base's 50 um: 400 um at the ends, which nothing holds down.
        let s = (k as f32 + 0.5 - 30.0) / 30.0;
        assert!((gap - 50.0 - 400.0 * s * s).abs() < 6.0, "{k}: {gap}");
    }
}

/// Curvatures of a bow by the sagitta of an arc: 0.4 mm over 40 mm are 2 per metre, a hollow in the middle curving down.
#[test]
fn a_bow_has_the_curvature_of_its_arc() {
    use crate::bond_line::{Bow, BowAlong};
    let of = |along| Bow { depth_m: 4e-4, span_m: 0.04, along }.curvatures_per_m();
    for (along, by_hand) in
        [(BowAlong::X, [-2.0, 0.0]), (BowAlong::Y, [0.0, -2.0]), (BowAlong::Both, [-2.0, -2.0])]
    {
        let found = of(along);
        assert!((0..2).all(|k| (found[k] - by_hand[k]).abs() < 1e-12), "{along:?}: {found:?}");
    }
}
