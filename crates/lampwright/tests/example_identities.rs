//! Doubling, swapping and mirroring, on every example lamp.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

mod examples;

use examples::{each, lamp_of, model_and_run, run};
use lamp::as_built::{Cooling, Face, HeatPatch, Lamp, Variant};

/// The linear solver's residual, as a share of a rise; what is linear holds to it.
const SOLVED: f64 = 1e-5;
/// How far faces and emitters settle, as a share of the rise: the heat through the faces to a ten-thousandth.
const SETTLED: f64 = 1e-4;

/// The lamp with one more heat patch: of the board's own shape, a tenth of its size, to the left of and below its middle.
fn with_probe(lamp: &Lamp, heat_w: f64) -> Lamp {
    let mut lamp = lamp.clone();
    for variant in &mut lamp.variants {
        let bounds = variant.outline.bounds().unwrap();
        let area = variant.outline.mapped(|mut p| {
            p.x_nm =
                bounds.min.x_nm + (bounds.max.x_nm - bounds.min.x_nm) / 4 + (p.x_nm - bounds.min.x_nm) / 10;
            p.y_nm =
                bounds.min.y_nm + (bounds.max.y_nm - bounds.min.y_nm) / 6 + (p.y_nm - bounds.min.y_nm) / 10;
            p
        });
        variant.heat_patches.push(HeatPatch { name: "probe".to_owned(), area, heat_w });
    }
    lamp
}

/// The lamp with nothing in it that depends on temperature: fixed films on its faces and, in place of each emitter, a heat
/// patch on its thermal land, each of another heat.
fn linear(lamp: &Lamp) -> Lamp {
    let mut lamp = lamp.clone();
    for variant in &mut lamp.variants {
        variant.top_face = Face::Film { h_w_per_m2_k: 12.0 };
        variant.bottom_face = Face::Film { h_w_per_m2_k: 8.0 };
        if let Some(heatsink) = &mut variant.heatsink
            && matches!(heatsink.cooling, Cooling::Air(_))
        {
            heatsink.cooling = Cooling::Film { h_w_per_m2_k: 160.0 };
        }
        for (index, emitter) in std::mem::take(&mut variant.emitters).into_iter().enumerate() {
            variant.heat_patches.push(HeatPatch {
                name: emitter.reference,
                area: emitter.thermal_land,
                heat_w: 0.5 + 0.2 * index as f64,
            });
        }
    }
    lamp
}

#[test]
fn doubling_power_doubles_the_rise_when_linear() {
    each(|lamp, variant| {
        let mut lamp = linear(lamp);
        let once = run(&lamp, variant, 0.0);
        for patch in &mut lamp.variants[variant].heat_patches {
            patch.heat_w *= 2.0;
        }
        let twice = run(&lamp, variant, 0.0);
        assert!(!once.heat_patches.is_empty());
        for (a, b) in once.heat_patches.iter().zip(&twice.heat_patches) {
            assert!(
                (b.mean_rise_k / a.mean_rise_k - 2.0).abs() < SOLVED,
                "{} {}: {} {}",
                lamp.name,
                a.name,
                a.mean_rise_k,
                b.mean_rise_k
            );
        }
    });
}

/// Heat at one place warms another as much as the other way round.
#[test]
fn swapping_source_and_probe_gives_the_same_rise() {
    each(|lamp, variant| {
        let mut lamp = with_probe(&linear(lamp), 0.0);
        let last = lamp.variants[variant].heat_patches.len() - 1;
        let mut rise = |source: usize, probe: usize| {
            for (index, patch) in lamp.variants[variant].heat_patches.iter_mut().enumerate() {
                patch.heat_w = if index == source { 1.0 } else { 0.0 };
            }
            run(&lamp, variant, 0.0).heat_patches[probe].mean_rise_k
        };
        let (there, back) = (rise(0, last), rise(last, 0));
        assert!((there / back - 1.0).abs() < SOLVED, "{}: {there} {back}", lamp.name);
    });
}

/// Which way a lamp is turned over.
#[derive(Debug, Clone, Copy)]
enum Over {
    /// Left and right change places.
    LeftRight,
    /// Top and bottom change places.
    TopBottom,
}

/// Twice the middle of a variant's board, nm: x, y.
fn twice_middle_nm(variant: &Variant) -> [i32; 2] {
    let bounds = variant.outline.bounds().unwrap();
    [bounds.min.x_nm + bounds.max.x_nm, bounds.min.y_nm + bounds.max.y_nm]
}

/// The lamp with one variant turned over about its board's middle.
fn mirrored(lamp: &Lamp, variant: usize, over: Over) -> Lamp {
    let mut lamp = lamp.clone();
    let variant = &mut lamp.variants[variant];
    let [sum_x, sum_y] = twice_middle_nm(variant);
    let mut areas = vec![&mut variant.outline];
    areas.extend(variant.layers.iter_mut().filter_map(|layer| layer.pattern.as_mut()));
    areas.extend(variant.mask_top.iter_mut().chain(&mut variant.mask_bottom).map(|mask| &mut mask.openings));
    areas.extend(variant.heat_patches.iter_mut().map(|patch| &mut patch.area));
    areas.extend(variant.heatsink.iter_mut().map(|heatsink| &mut heatsink.base));
    if let Some(bond) = &mut variant.bond {
        areas.extend(&mut bond.interface.pedestals);
        areas.extend(bond.interface.regions.iter_mut().map(|region| &mut region.area));
    }
    let mut points: Vec<_> = variant.bores.iter_mut().flat_map(|bore| &mut bore.path).collect();
    points.extend(variant.screws.iter_mut().map(|screw| &mut screw.at));
    points.extend(&mut variant.flatness.burrs);
    points.extend(lamp.sensors.iter_mut().map(|sensor| &mut sensor.at));
    for emitter in &mut variant.emitters {
        areas.push(&mut emitter.thermal_land);
        areas.extend(emitter.lands.iter_mut().map(|land| &mut land.area));
        points.push(&mut emitter.at);
        emitter.rotation_deg = match over {
            Over::LeftRight => 180.0 - emitter.rotation_deg,
            Over::TopBottom => -emitter.rotation_deg,
        };
    }
    for area in areas {
        *area = area.mapped(|mut p| {
            match over {
                Over::LeftRight => p.x_nm = sum_x - p.x_nm,
                Over::TopBottom => p.y_nm = sum_y - p.y_nm,
            }
            p
        });
    }
    for p in points {
        match over {
            Over::LeftRight => p.x_nm = sum_x - p.x_nm,
            Over::TopBottom => p.y_nm = sum_y - p.y_nm,
        }
    }
    lamp
}

/// Compares a lamp with its mirror image: emitters, patches, sensors and the emitter side's field.
fn compare(lamp: &Lamp, image: &Lamp, variant: usize, over: Over) {
    let name = format!("{}, {:?}", lamp.name, over);
    let (model, here) = model_and_run(lamp, variant, lamp.nominal_current_a);
    let (image_model, there) = model_and_run(image, variant, image.nominal_current_a);
    let mut pairs = Vec::new();
    let mut add = |what: &str, a: Option<f64>, b: Option<f64>| pairs.push((what.to_owned(), a, b));
    for (a, b) in here.emitters.iter().zip(&there.emitters) {
        add(&a.reference, a.junction_c, b.junction_c);
    }
    for (a, b) in here.heat_patches.iter().zip(&there.heat_patches) {
        add(&a.name, Some(a.mean_c), Some(b.mean_c));
    }
    for (a, b) in here.sensors.iter().zip(&there.sensors) {
        add(&a.name, a.reading_c, b.reading_c);
    }
    let bounds = lamp.variants[variant].outline.bounds().unwrap();
    let [sum_x, sum_y] = twice_middle_nm(&lamp.variants[variant]).map(|nm| 1e-6 * f64::from(nm));
    for place in 0..30 * 20 {
        let at = |low: i32, high: i32, share: f64| 1e-6 * (f64::from(low) + share * f64::from(high - low));
        let x = at(bounds.min.x_nm, bounds.max.x_nm, (f64::from(place % 30) + 0.5) / 30.0);
        let y = at(bounds.min.y_nm, bounds.max.y_nm, (f64::from(place / 30) + 0.5) / 20.0);
        let [u, v] = match over {
            Over::LeftRight => [sum_x - x, y],
            Over::TopBottom => [x, sum_y - y],
        };
        add(
            &format!("{x:.2} mm, {y:.2} mm"),
            model.temperature_c(x, y, 0),
            image_model.temperature_c(u, v, 0),
        );
    }
    for (what, a, b) in &pairs {
        assert_eq!(a.is_some(), b.is_some(), "{name}: {what}: {a:?} {b:?}");
        if let (Some(a), Some(b)) = (a, b) {
            let off = (b - lamp.ambient_c) / (a - lamp.ambient_c) - 1.0;
            assert!(off.abs() < SETTLED, "{name}: {what}: {a} {b}");
        }
    }
    assert!(pairs.iter().filter(|pair| pair.1.is_some()).count() > 500, "{name}: too little was compared");
}

#[test]
fn mirrored_board_gives_mirrored_field() {
    each(|lamp, variant| {
        // The sketches are their own mirror images but for this.
        let mut lamp = with_probe(lamp, 1.0);
        // A traced circuit stays where it is; mirrored artwork, below, takes it along.
        lamp.variants.iter_mut().for_each(|variant| variant.circuit = None);
        for over in [Over::LeftRight, Over::TopBottom] {
            compare(&lamp, &mirrored(&lamp, variant, over), variant, over);
        }
    });
}

/// The demo's fabrication files with left and right turned over.
fn mirrored_text(path: &str, text: &str, width_mm: f64) -> String {
    let mut mirrored = String::new();
    for line in text.lines() {
        let line = match path.rsplit('.').next() {
            Some("gbr") => gerber_line(line, width_mm),
            Some("xnc") => drill_line(line, width_mm),
            Some("csv") if path.contains("artwork/") => centroid_line(line, width_mm),
            _ => line.to_owned(),
        };
        mirrored.push_str(&line);
        mirrored.push('\n');
    }
    mirrored
}

/// A coordinate's x, and I with its sign turned, in nanometres; arcs turn the other way.
fn gerber_line(line: &str, width_mm: f64) -> String {
    if line == "G03*" {
        return "G02*".to_owned();
    }
    let Some((x, rest)) = line.strip_prefix('X').and_then(|rest| rest.split_once('Y')) else {
        return line.to_owned();
    };
    let x = (1e6 * width_mm) as i64 - x.parse::<i64>().unwrap();
    let rest = match rest.split_once('I') {
        Some((y, offsets)) => {
            let (i, end) = offsets.split_once('J').unwrap();
            format!("{y}I{}J{end}", -i.parse::<i64>().unwrap())
        }
        None => rest.to_owned(),
    };
    format!("X{x}Y{rest}")
}

fn drill_line(line: &str, width_mm: f64) -> String {
    match line.strip_prefix('X').and_then(|rest| rest.split_once('Y')) {
        Some((x, y)) => format!("X{:.3}Y{y}", width_mm - x.parse::<f64>().unwrap()),
        None => line.to_owned(),
    }
}

/// The packages are their own mirror images across their length: mirrored, they lie turned by half a turn.
fn centroid_line(line: &str, width_mm: f64) -> String {
    let cells: Vec<&str> = line.split(',').collect();
    match cells[3].parse::<f64>() {
        Ok(x) => {
            let x = format!("{:.3}", width_mm - x);
            [cells[0], cells[1], cells[2], &x, cells[4], "180", cells[6]].join(",")
        }
        Err(_) => line.to_owned(),
    }
}

/// A drill file without so many of its first holes: the demo's holes are their own mirror image but for this.
fn without_first_holes(text: &str, count: usize) -> String {
    let mut left_out = 0;
    text.lines()
        .filter(|line| {
            let leave_out = line.starts_with('X') && left_out < count;
            left_out += usize::from(leave_out);
            !leave_out
        })
        .map(|line| format!("{line}\n"))
        .collect()
}

/// Mirrored before it is read: the readers see the demo's artwork turned over.
#[test]
fn mirrored_artwork_gives_mirrored_field() {
    let mut files = lampwright::demo::files();
    let (_, drill) = files.iter_mut().find(|(path, _)| path.ends_with("drill-plated.xnc")).unwrap();
    *drill = without_first_holes(std::str::from_utf8(drill).unwrap(), 20).into_bytes();
    let lamp = lamp_of(files.clone());
    let width_mm = 72.0;
    assert_eq!(twice_middle_nm(&lamp.variants[0])[0], 72_000_000);
    let image = lamp_of(files.into_iter().map(|(path, bytes)| {
        let text = mirrored_text(&path, std::str::from_utf8(&bytes).unwrap(), width_mm);
        (path, text.into_bytes())
    }));
    for variant in 0..lamp.variants.len() {
        compare(&lamp, &image, variant, Over::LeftRight);
    }
}
