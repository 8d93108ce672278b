//! The bond line of the demo: screws from its drill file, heads over copper, burrs that cost kelvins.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

use std::sync::atomic::AtomicBool;

use lamp::bond_line::BondWhatIf;
use lamp::model::{GridChoice, Model};
use lamp::predict::{Question, predict};
use lamp::project::{MemoryFolder, Reading, read};

/// The demo with more in its lamp.toml.
fn demo_with(more: &str) -> Reading {
    let mut files = lampwright::demo::files();
    let (_, text) = files.iter_mut().find(|(path, _)| path == "lamp.toml").unwrap();
    text.extend_from_slice(more.as_bytes());
    read(&MemoryFolder::new(files))
}

/// The demo's six mounting holes of 3.2 mm are its only unplated ones; its pours stay 2.6 mm from their middles, so that heads of
/// 5 mm keep clear and heads of 6 mm do not.
#[test]
fn screws_are_found_in_the_drill_file_and_their_heads_are_told() {
    let by_diameter = demo_with("\n[screws]\nhole = \"3.2 mm\"\nhead = \"5 mm\"\n");
    assert!(by_diameter.remarks.iter().all(|r| r.severity == "note"), "{:#?}", by_diameter.remarks);
    let places = |reading: &Reading| -> Vec<Vec<(i32, i32)>> {
        let lamp = reading.lamp.as_ref().unwrap();
        let sorted = |v: &lamp::as_built::Variant| {
            let mut all: Vec<_> = v.screws.iter().map(|s| (s.at.x_nm, s.at.y_nm)).collect();
            all.sort_unstable();
            all
        };
        lamp.variants.iter().map(sorted).collect()
    };
    let mut drawn = [(4.0, 4.0), (68.0, 4.0), (4.0, 44.0), (68.0, 44.0), (36.0, 44.9), (36.0, 3.1)]
        .map(|(x, y): (f64, f64)| ((x * 1e6).round() as i32, (y * 1e6).round() as i32));
    drawn.sort_unstable();
    assert_eq!(places(&by_diameter), [drawn.to_vec(), drawn.to_vec()]);
    let by_tool = demo_with("\n[screws]\ntool = \"T1\"\nhead = \"5 mm\"\n");
    assert_eq!(places(&by_tool), places(&by_diameter));
    let heads = |reading: &Reading| {
        reading.remarks.iter().filter(|r| r.text.contains("copper that carries current")).count()
    };
    assert!(heads(&demo_with("\n[screws]\nhole = \"3.2 mm\"\nhead = \"12 mm\"\n")) > 0);
    assert_eq!(
        heads(&demo_with("\n[screws]\nhole = \"3.2 mm\"\nhead = \"12 mm\"\nmaterial = \"nylon\"\n")),
        0
    );
    let wrong = demo_with("\n[screws]\nhole = \"3.0 mm\"\n");
    let text = &wrong.remarks.iter().find(|r| r.severity == "error").unwrap().text;
    assert!(text.contains("no unplated hole of 3 mm") && text.contains("6 of 3.2 mm"), "{text}");
    assert!(demo_with("\n[screws]\ntool = \"T9\"\n").has_errors());
}

/// Less contact is hotter, flat is cooler, and back as built is as before; the hottest emitter's step over the bond line tells it.
#[test]
fn what_ifs_of_the_bond_line_go_the_right_way_and_back() {
    let reading =
        demo_with("\n[screws]\nhole = \"3.2 mm\"\n[flatness]\nburr = \"0.2 mm\"\nboard_bow = \"0.4 mm\"\n");
    let lamp = reading.lamp.unwrap();
    let choice = GridChoice { finest_pitch_m: Some(4e-4), cells_at_most: None };
    let mut model = Model::new(&lamp, &lamp.variants[1], &choice, 1).unwrap();
    let cancel = AtomicBool::new(false);
    let mut run = |what_if: BondWhatIf| {
        model.what_if(what_if).unwrap();
        model.run(1.05, 25.0, &cancel).unwrap()
    };
    let built = run(BondWhatIf::default());
    let burrs_off = run(BondWhatIf { without_burrs: true, ..BondWhatIf::default() });
    let flat = run(BondWhatIf::flat());
    let void = run(BondWhatIf { no_contact_under: Some(0), ..BondWhatIf::flat() });
    let hottest = |run: &lamp::findings::Run| run.hottest_junction_c.unwrap();
    assert!(hottest(&built) > hottest(&burrs_off) + 0.5, "{} {}", hottest(&built), hottest(&burrs_off));
    assert!(hottest(&burrs_off) > hottest(&flat) + 0.05, "{} {}", hottest(&burrs_off), hottest(&flat));
    let d1 = |run: &lamp::findings::Run| run.emitters[0].junction_c.unwrap();
    assert!(d1(&void) > d1(&flat) + 0.15, "{} {}", d1(&void), d1(&flat));
    let bond = void.bond.unwrap();
    // The body of the package, of some 3400 mm².
    let [wide, high] = lamp.variants[1].emitters[0].sheet.body_m;
    assert!(
        (bond.part_untouched * bond.area_mm2 / (1e6 * wide * high) - 1.0).abs() < 1e-3,
        "{}",
        bond.part_untouched
    );
    let again = run(BondWhatIf::default());
    assert!((hottest(&again) - hottest(&built)).abs() < 0.01);
    let flat_bond = flat.bond.unwrap();
    assert_eq!(
        (flat_bond.least_um, flat_bond.greatest_um, flat_bond.part_contact),
        (Some(50.0), Some(50.0), 1.0)
    );
}

/// What another contact costs, of both variants at the nominal current, against the lamps whose text says so from the beginning.
/// Fields are solved to 1e-5 and films settle to 1e-4 of the heat, both ways: 4e-4 of the rise.
#[test]
fn contact_costs_are_those_of_lamps_written_so() {
    let screws = "\n[screws]\nhole = \"3.2 mm\"\n";
    let flatness =
        |burr: &str, bow: &str| format!("\n[flatness]\nburr = \"{burr}\"\nboard_bow = \"{bow}\"\n");
    let question = |contact: bool| Question {
        currents_a: Some(vec![0.5, 1.05]),
        grid: GridChoice { finest_pitch_m: Some(8e-4), cells_at_most: Some(60_000) },
        threads: 2,
        contact,
        ..Question::default()
    };
    let found = |more: &str, contact: bool| {
        let lamp = demo_with(&format!("{screws}{more}")).lamp.unwrap();
        predict(&lamp, &question(contact), &mut |_| {}, &AtomicBool::new(false), &mut || 0.0).unwrap()
    };
    let built = found(&flatness("0.2 mm", "0.4 mm"), true);
    let at = |findings: &lamp::findings::Findings, variant: usize| findings.runs[2 * variant + 1].clone();
    assert!(built.runs[0].bond.as_ref().unwrap().what_ifs.is_empty(), "asked at the nominal current alone");
    let written = [
        ("without burrs", flatness("0 mm", "0.4 mm")),
        ("without bow", flatness("0.2 mm", "0 mm")),
        ("flat and free of burrs", flatness("0 mm", "0 mm")),
    ];
    for (what, text) in written {
        let there = found(&text, false);
        for variant in 0..2 {
            let (now, then) = (at(&built, variant), at(&there, variant));
            let all = now.bond.as_ref().unwrap().what_ifs.clone();
            assert_eq!(all.len(), 3 + 8);
            let one = all.iter().find(|one| one.what == what).unwrap();
            let then_c = then.hottest_junction_c.unwrap();
            let close = 4e-4 * (then_c - 25.0);
            assert!((one.hottest_junction_c.unwrap() - then_c).abs() < close, "{what}: {one:?} {then_c}");
            let hotter_k = then_c - now.hottest_junction_c.unwrap();
            assert!((one.hotter_k.unwrap() - hotter_k).abs() < 2.0 * close, "{what}: {one:?} {hotter_k}");
            assert!(hotter_k < 0.0 && one.there_hotter_k.is_none(), "{what}: {hotter_k}");
        }
    }
    // Missing contact, against a model that is asked for nothing else: its region's edges are no lines of a written lamp's grid.
    let lamp = demo_with(&format!("{screws}{}", flatness("0.2 mm", "0.4 mm"))).lamp.unwrap();
    for (variant, built) in [at(&built, 0), at(&built, 1)].iter().enumerate() {
        let mut model = Model::new(&lamp, &lamp.variants[variant], &question(false).grid, 1).unwrap();
        model.what_if(BondWhatIf { no_contact_under: Some(2), ..BondWhatIf::default() }).unwrap();
        let then = model.run(1.05, 25.0, &AtomicBool::new(false)).unwrap();
        let d3 = |run: &lamp::findings::Run| run.emitters[2].junction_c.unwrap();
        let all = &built.bond.as_ref().unwrap().what_ifs;
        let one = all.iter().find(|one| one.under.as_deref() == Some("D3")).unwrap();
        let there_k = d3(&then) - d3(built);
        assert_eq!((one.what.as_str(), built.emitters[2].reference.as_str()), ("no contact under D3", "D3"));
        assert!(
            (one.there_hotter_k.unwrap() - there_k).abs() < 8e-4 * (d3(&then) - 25.0),
            "{one:?} {there_k}"
        );
    }
}

/// What is found of bond lines whose gap is known by hand: a board of 60 x 40 mm on four burrs of one height, on a base, on a pedestal.
#[test]
fn what_is_found_of_a_bond_line_is_that_of_its_gap() {
    let found = |bond: &str, burr: &str, screws: &str, base: &str| {
        let text = format!(
            "[bond]\nthickness = \"50 um\"\nconductivity = \"3 W/m/K\"\n{bond}[screws]\nat = [[\"5 mm\", \"5 mm\"], [\"55 mm\", \"5 mm\"], \
             [\"5 mm\", \"35 mm\"], [\"55 mm\", \"35 mm\"]]\n{screws}[flatness]\n{burr}[heatsink]\nbase = [\"{base}\", \"60 mm\"]\n\
             base_thickness = \"5 mm\"\nresistance = \"1 K/W\"\n[variant.a]\noutline = [\"60 mm\", \"40 mm\"]\n[variant.a.board]\n\
             kind = \"fr4 one-layer\"\n[[variant.a.heat]]\nat = [\"30 mm\", \"20 mm\"]\nsize = [\"4 mm\", \"4 mm\"]\npower = \"2 W\"\n"
        );
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())]));
        assert!(!reading.has_errors(), "{:#?}", reading.remarks);
        let question = Question {
            grid: GridChoice { finest_pitch_m: Some(1e-3), cells_at_most: None },
            ..Question::default()
        };
        let cancel = AtomicBool::new(false);
        let all = predict(&reading.lamp.unwrap(), &question, &mut |_| {}, &cancel, &mut || 0.0).unwrap();
        all.runs[0].bond.clone().unwrap()
    };
    let near = |a: f64, b: f64, close: f64| assert!((a - b).abs() <= close * b.abs(), "{a} {b}");
    let told = |bond: &lamp::findings::BondFinding, text: &str| bond.remarks.iter().any(|r| r.contains(text));
    // 100 um: filled. The film's thickness is off by up to a fifth.
    let filled = found("thickness_tolerance = \"10 um\"\n", "burr = \"100 um\"\n", "", "80 mm");
    assert!((filled.part_filled - 1.0).abs() < 1e-9 && filled.part_air == 0.0, "{filled:?}");
    near(filled.mean_um.unwrap(), 100.0, 1e-3);
    near(filled.area_mm2, 2400.0, 1e-9);
    for (r, by_hand) in [
        (filled.least_resistance_m2k_per_w, 0.8 * 100e-6 / 3.0),
        (filled.resistance_m2k_per_w, 100e-6 / 3.0),
        (filled.greatest_resistance_m2k_per_w, 1.2 * 100e-6 / 3.0),
    ] {
        near(r, by_hand, 1e-3);
    }
    assert!(!told(&filled, "fills_to") && !told(&filled, "still") && !told(&filled, "no screws"));
    // 200 um: filled to 150 um, and air.
    let air = found("", "burr = \"200 um\"\n", "", "80 mm");
    assert!((air.part_air - 1.0).abs() < 1e-9 && air.part_filled == 0.0, "{air:?}");
    assert!(told(&air, "wider than 150 um") && told(&air, "still"), "{:?}", air.remarks);
    // A base narrower than the board.
    near(found("", "burr = \"100 um\"\n", "", "40 mm").area_mm2, 1600.0, 1e-9);
    // A pedestal of 100 mm2, the base standing back by 6 mm beside it.
    let pedestal =
        "recess = \"6 mm\"\n[[bond.pedestal]]\nat = [\"30 mm\", \"20 mm\"]\nsize = [\"10 mm\", \"10 mm\"]\n";
    let one = found(pedestal, "", "", "80 mm");
    near(one.part_contact, 100.0 / 2400.0, 1e-6);
    near(one.part_untouched, 2300.0 / 2400.0, 1e-6);
    near(one.mean_um.unwrap(), 50.0, 1e-9);
    assert!(told(&one, "air gaps wider than 5 mm"), "{:?}", one.remarks);
    // A bow that one newton a screw does not flatten, and a thousand do.
    let bow = "board_bow = \"0.4 mm\"\n";
    for (force, weak) in [("1 N", true), ("1000 N", false)] {
        let bowed = found("", bow, &format!("force = \"{force}\"\n"), "80 mm");
        assert_eq!(told(&bowed, "a screw must pull"), weak, "{force}: {:?}", bowed.remarks);
    }
}
