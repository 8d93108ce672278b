//! A whole lamp against what is usual on the bench (common practice, no source): one layout on FR4 and on aluminium, fitted to what the
//! two boards' sensors differ by up to 1 A, and the rest predicted. `docs/validation.md` holds the outcome line for line;
//! LAMPWRIGHT_WRITE_DOCS=1 writes its table anew.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

mod sketch;

use std::fmt::Write as _;
use std::path::Path;
use std::sync::atomic::AtomicBool;

use bench::fit::gradient;
use bench::least_squares::{Linearised, Options, Prior, fit};
use lamp::model::GridChoice;
use lamp::reduced::ReducedLamp;
use nalgebra::DMatrix;
use sketch::lamp_of;

static GO_ON: AtomicBool = AtomicBool::new(false);
const FR4: usize = 0;
const ALUMINIUM: usize = 1;

/// Two clusters of four 12 V emitters, 60 W in all at 4.8 A; a sensor at each place where one might sit beside the clusters. Nothing is
/// known of heatsink and bond line but their class.
fn lamp_text() -> String {
    let mut text = String::from(
        r#"
[lamp]
name = "two clusters"
ambient = "25 degC"
facing = "down"
[drive]
currents = ["2.4 A"]
[bond]
thickness = "50 um"
conductivity = "1.5 W/m/K"
[heatsink]
base = ["100 mm", "70 mm"]
base_thickness = "5 mm"
resistance = "0.9 K/W"
[[emitters]]
sheet = "multi-die-5mm-12v"
refs = ["D1", "D2", "D3", "D4", "D5", "D6", "D7", "D8"]
at = [["16.5 mm", "21.5 mm"], ["23.5 mm", "21.5 mm"], ["16.5 mm", "28.5 mm"], ["23.5 mm", "28.5 mm"],
      ["46.5 mm", "21.5 mm"], ["53.5 mm", "21.5 mm"], ["46.5 mm", "28.5 mm"], ["53.5 mm", "28.5 mm"]]
share = 0.125
[[uncertain]]
value = "cooling"
tolerance = 0.3
[[uncertain]]
value = "bond line"
tolerance = 0.5
[[uncertain]]
value = "heat share"
tolerance = 0.15
[variant.fr4]
outline = ["70 mm", "50 mm"]
[variant.fr4.board]
kind = "fr4 two-layer"
thickness = "1.6 mm"
[variant.aluminium]
outline = ["70 mm", "50 mm"]
[variant.aluminium.board]
kind = "aluminium core"
core_thickness = "1.6 mm"
dielectric_conductivity = "2 W/m/K"
dielectric_thickness = "100 um"
"#,
    );
    for (x, y) in PLACES_MM {
        let _ = write!(
            text,
            "[[sensor]]\nname = \"at {x}, {y} mm\"\nkind = \"degC\"\nat = [\"{x} mm\", \"{y} mm\"]\n"
        );
    }
    text
}

const PLACES_MM: [(u32, u32); 8] =
    [(35, 25), (35, 10), (35, 4), (64, 25), (68, 25), (20, 6), (60, 8), (66, 5)];

/// What the sensors of the two boards differ by: current, A, and the usual band, K.
const DIFFERENCES: [(f64, f64, f64); 5] =
    [(0.35, 0.0, 0.7), (0.7, 0.5, 2.0), (1.0, 1.0, 4.0), (2.4, 3.0, 8.0), (3.6, 8.0, f64::INFINITY)];
/// Those that are fitted; bands are taken as four standard deviations wide.
const FITTED: usize = 3;

/// What a place's sensor differs by between the boards, K.
fn difference_k(reduced: &ReducedLamp, x: &[f64], place: usize, current_a: f64) -> Option<f64> {
    let at = |variant| reduced.state(variant, x, current_a, 25.0).ok().map(|s| s.sensor_c[place]);
    Some(at(FR4)? - at(ALUMINIUM)?)
}

/// The fit for a sensor at a place: the values, and how far off all is.
fn fitted(reduced: &ReducedLamp, place: usize) -> (bench::least_squares::Fit, f64) {
    let priors: Vec<Prior> = reduced.uncertain.iter().map(|u| Prior::normal(0.0, u.spread)).collect();
    let mut problem = |x: &[f64]| {
        let mut residuals = Vec::new();
        let mut rows = Vec::new();
        for (current_a, low, high) in &DIFFERENCES[..FITTED] {
            let (middle, standard) = (0.5 * (low + high), 0.25 * (high - low));
            residuals.push((difference_k(reduced, x, place, *current_a)? - middle) / standard);
            let slope = gradient(reduced, x, &mut |x| difference_k(reduced, x, place, *current_a))?;
            rows.extend(slope.iter().map(|s| s / standard));
        }
        let jacobian = DMatrix::from_row_iterator(residuals.len(), x.len(), rows);
        Some(Linearised { residuals, jacobian })
    };
    let found =
        fit(&mut problem, &vec![0.0; priors.len()], &priors, &[0, 1, 2], &Options::default()).unwrap();
    let off = found.chi_square.value;
    (found, off)
}

/// One line of the outcome.
struct Line {
    what: String,
    band: String,
    found: f64,
    doubt: f64,
    unit: &'static str,
    inside: bool,
    used: bool,
}

/// What each place's own fit says at the currents fitted and at one predicted.
fn places(reduced: &ReducedLamp, fits: &[(bench::least_squares::Fit, f64)]) -> String {
    let mut text = String::from(
        "\n| sensor at, mm | chi-square of three | differ at 0.35 A, K | at 0.7 A | at 1 A | at 2.4 A | aluminium at 4.8 A, degC |\n\
         | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for (place, (fit, off)) in fits.iter().enumerate() {
        let (x, y) = PLACES_MM[place];
        let _ = write!(text, "| {x}, {y} | {off:.2} |");
        for (current_a, low, high) in &DIFFERENCES[..FITTED + 1] {
            let found = difference_k(reduced, &fit.x, place, *current_a).unwrap();
            let off = if found > *high { found - high } else { (low - found).max(0.0) };
            // To the hundredth that is printed.
            let out = if off > 5e-3 { format!(" ({off:.2} OUTSIDE)") } else { String::new() };
            let _ = write!(text, " {found:.2}{out} |");
        }
        let sensor_c = reduced.state(ALUMINIUM, &fit.x, 4.8, 25.0).unwrap().sensor_c[place];
        let _ = writeln!(text, " {sensor_c:.1} |");
    }
    text
}

fn outcome() -> (String, Vec<Line>, String) {
    let lamp = lamp_of(&lamp_text());
    let choice = GridChoice { finest_pitch_m: Some(5e-4), cells_at_most: None };
    let reduced = ReducedLamp::new(&lamp, (&choice, 2), &mut |_| {}, &GO_ON).unwrap();
    let fits: Vec<_> = (0..PLACES_MM.len()).map(|place| fitted(&reduced, place)).collect();
    let place = (0..fits.len()).min_by(|a, b| fits[*a].1.total_cmp(&fits[*b].1)).unwrap();
    let fit = &fits[place].0;
    assert!(fit.ending.is_converged(), "{:?}", fit.ending);
    let mut lines = Vec::new();
    let mut line =
        |what: String, band: (f64, f64), unit, used, value: &mut dyn FnMut(&[f64]) -> Option<f64>| {
            let found = value(&fit.x).unwrap();
            let slope = gradient(&reduced, &fit.x, value).unwrap();
            let words = match band {
                (low, high) if high.is_infinite() => format!("at least {low}"),
                (low, high) if low.is_infinite() => format!("below {high}"),
                (low, high) => format!("{low} to {high}"),
            };
            let inside = found >= band.0 && found <= band.1;
            let doubt = 1.96 * fit.knowledge.standard_deviation_of(&slope);
            lines.push(Line { what, band: words, found, doubt, unit, inside, used });
        };
    for (k, (current_a, low, high)) in DIFFERENCES.into_iter().enumerate() {
        line(format!("sensors differ at {current_a} A"), (low, high), "K", k < FITTED, &mut |x| {
            difference_k(&reduced, x, place, current_a)
        });
    }
    let hot = |variant: usize, current_a: f64| {
        let reduced = &reduced;
        move |x: &[f64]| reduced.state(variant, x, current_a, 25.0).ok()
    };
    line("aluminium at 4.8 A: sensor".into(), (53.0, 63.0), "degC", false, &mut |x| {
        Some(hot(ALUMINIUM, 4.8)(x)?.sensor_c[place])
    });
    line("aluminium at 4.8 A: emitter's foot above the sensor".into(), (15.0, 22.0), "K", false, &mut |x| {
        let state = hot(ALUMINIUM, 4.8)(x)?;
        Some(state.hottest_solder_c() - state.sensor_c[place])
    });
    line("FR4 at 3.6 A: junction".into(), (150.0, f64::INFINITY), "degC", false, &mut |x| {
        Some(hot(FR4, 3.6)(x)?.hottest_junction_c())
    });
    line("FR4 at 3.6 A: solder point".into(), (138.0, f64::INFINITY), "degC", false, &mut |x| {
        Some(hot(FR4, 3.6)(x)?.hottest_solder_c())
    });
    line(
        "aluminium at 4.8 A less FR4 at 3.6 A: junction".into(),
        (f64::NEG_INFINITY, 0.0),
        "K",
        false,
        &mut |x| Some(hot(ALUMINIUM, 4.8)(x)?.hottest_junction_c() - hot(FR4, 3.6)(x)?.hottest_junction_c()),
    );
    let values = reduced.uncertain.iter().zip(&fit.x).zip(&fit.standard_deviations);
    let told: Vec<String> = values
        .filter(|((u, _), deviation)| **deviation < 0.97 * u.spread)
        .map(|((u, x), _)| match u.variant {
            Some(v) => format!("{} of {} {:.2}", u.value.name(), lamp.variants[v].name, x.exp()),
            None => format!("{} {:.2}", u.value.name(), x.exp()),
        })
        .collect();
    let (x, y) = PLACES_MM[place];
    let head = format!(
        "The likeliest place of the sensor is {x}, {y} mm (chi-square {:.2} of three readings); values that the differences told of, as factors: {}.",
        fits[place].1,
        if told.is_empty() { "none".to_owned() } else { told.join(", ") }
    );
    let places = places(&reduced, &fits);
    (head, lines, places)
}

fn table(head: &str, lines: &[Line]) -> String {
    let mut text = format!("{head}\n\n| what | usual band | found | |\n| --- | --- | --- | --- |\n");
    for line in lines {
        let verdict = match (line.inside, line.used) {
            (true, true) => "inside; fitted to",
            (true, false) => "inside; predicted",
            (false, true) => "OUTSIDE; fitted to",
            (false, false) => "OUTSIDE; predicted",
        };
        let _ = writeln!(
            text,
            "| {} | {} {} | {:.2} ± {:.2} {} | {verdict} |",
            line.what, line.band, line.unit, line.found, line.doubt, line.unit
        );
    }
    text
}

const BEGIN: &str = "<!-- whole lamp -->\n";
const END: &str = "<!-- end -->\n";

#[test]
fn the_whole_lamp_lies_where_the_bench_usually_finds_it() {
    let (head, lines, places) = outcome();
    let text = table(&head, &lines) + &places;
    let place = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/validation.md");
    let page = std::fs::read_to_string(&place).unwrap();
    let (begin, end) = (page.find(BEGIN).unwrap() + BEGIN.len(), page.find(END).unwrap());
    if std::env::var_os("LAMPWRIGHT_WRITE_DOCS").is_some() {
        std::fs::write(&place, format!("{}{text}{}", &page[..begin], &page[end..])).unwrap();
    } else {
        assert_eq!(&page[begin..end], text, "docs/validation.md is not what the model gives");
    }
    let outside: Vec<&str> = lines.iter().filter(|l| !l.inside).map(|l| l.what.as_str()).collect();
    assert!(outside.is_empty(), "outside the usual bands: {outside:?}\n{text}");
}
