//! Plates and strips against closed forms.

use super::*;

const SIDE: f64 = 0.06;

/// A plate all there, on a bed that is nowhere unless said.
fn plate(cells: [usize; 2], size: [f64; 2], poisson: f64, bed: Bed<'_>) -> Plate<'_> {
    Plate {
        cells,
        size_m: [size[0] / cells[0] as f64, size[1] / cells[1] as f64],
        present: vec![true; cells[0] * cells[1]],
        bedded: vec![0.0; (cells[0] + 1) * (cells[1] + 1)],
        rigidity_n_m: 7.0,
        poisson,
        curved_per_m: [0.0, 0.0],
        bed,
        pressure_pa: 0.0,
        holds: Vec::new(),
    }
}

/// Both corners of a strip at a place along it.
fn across(strip: &Plate<'_>, x: f64, holds: Holds) -> [([f64; 2], Holds); 2] {
    [([x, 0.0], holds), ([x, strip.size_m[1] * strip.cells[1] as f64], holds)]
}

/// Uniform pressure on a square plate, edges held: `w = 0.00406 p a⁴ / D` in the middle for a Poisson's ratio of 0.3 (Timoshenko and
/// Woinowsky-Krieger, table 8, from memory).
#[test]
fn a_square_plate_on_its_edges_sags_as_tabled() {
    let mut square = plate([24, 24], [SIDE, SIDE], 0.3, Bed::Hard(0.0));
    square.pressure_pa = 1000.0;
    for k in 0..=24 {
        let s = SIDE * k as f64 / 24.0;
        for at in [[s, 0.0], [s, SIDE], [0.0, s], [SIDE, s]] {
            square.holds.push((at, Holds::At(0.0)));
        }
    }
    let lie = square.lie();
    assert!(lie.settled);
    let found = -lie.gap_m([0.5 * SIDE, 0.5 * SIDE]) * 7.0 / (1000.0 * SIDE.powi(4));
    assert!((found / 0.00406 - 1.0).abs() < 5e-3, "{found}");
}

/// A burr in the middle of a strip held at both ends lifts it to `w = h (3 s - 4 s³)`, with s the part of the span up to its middle
/// (beam with a load in its middle; Roark's Formulas for Stress and Strain, from memory), and pulls at the ends with half of
/// `48 D b h / l³` each.
#[test]
fn a_burr_between_two_screws_lifts_the_strip_as_a_beam() {
    let (span, wide, h) = (SIDE, 0.006, 1e-4);
    let mut strip = plate([24, 2], [span, wide], 0.0, Bed::Hard(0.0));
    for x in [0.0, span] {
        let pair = across(&strip, x, Holds::At(0.0));
        strip.holds.extend(pair);
    }
    let middle = across(&strip, 0.5 * span, Holds::NotBelow(h));
    strip.holds.extend(middle);
    let lie = strip.lie();
    assert!(lie.settled);
    for k in 0..=24 {
        let s = k as f64 / 48.0;
        let found = lie.gap_m([s * span, 0.5 * wide]);
        let exact = h * (3.0 * s - 4.0 * s.powi(3));
        assert!((found - exact).abs() < 1e-3 * h, "{s}: {found} {exact}");
    }
    let ends: f64 = lie.pulls_n[..4].iter().sum();
    let force = 48.0 * 7.0 * wide * h / span.powi(3);
    assert!((ends / force - 1.0).abs() < 2e-3, "{ends} {force}");
}

/// A bowed strip held at its ends keeps its bow, `4 b s (1 - s)`; a screw in its middle as well pulls that to 0 and leaves
/// `b s (1 - 2 s)²` in each half (superposition with the beam above): 2/27 of the bow at a sixth of the span.
#[test]
fn a_screw_in_the_middle_leaves_two_twenty_sevenths_of_the_bow() {
    let (span, wide, bow) = (SIDE, 0.006, 2e-4);
    let mut strip = plate([24, 2], [span, wide], 0.0, Bed::Hard(0.0));
    strip.curved_per_m = [-8.0 * bow / (span * span), 0.0];
    strip.bedded.fill(1.0);
    for x in [0.0, span] {
        let pair = across(&strip, x, Holds::At(0.0));
        strip.holds.extend(pair);
    }
    let lie = strip.lie();
    assert!(lie.settled);
    assert!((lie.gap_m([0.5 * span, 0.003]) / bow - 1.0).abs() < 1e-3);
    assert!((lie.gap_m([0.25 * span, 0.003]) / bow - 0.75).abs() < 1e-3);
    let middle = across(&strip, 0.5 * span, Holds::At(0.0));
    strip.holds.extend(middle);
    let lie = strip.lie();
    assert!(lie.settled);
    for k in 0..=12 {
        let s = k as f64 / 24.0;
        let exact = bow * s * (1.0 - 2.0 * s).powi(2);
        assert!((lie.gap_m([s * span, 0.003]) - exact).abs() < 1e-3 * bow, "{s}");
    }
    assert!((lie.gap_m([span / 6.0, 0.003]) * 27.0 / 2.0 / bow - 1.0).abs() < 5e-3);
}

/// A long strip pressed onto a flat base by a pressure and lifted at its end by a burr stands free over `l = (24 D h / p)^(1/4)`, as
/// `w = h (2 s³ - s⁴)` with s from where it touches down (Euler's beam without moment at the burr, and with neither slope nor moment
/// where it lies down; by hand).
#[test]
fn a_strip_lifted_at_its_end_lies_down_where_a_beam_does() {
    let (long, wide, h, pressure) = (0.12, 0.004, 1e-4, 2000.0);
    let mut strip = plate([60, 1], [long, wide], 0.0, Bed::Hard(0.0));
    strip.bedded.fill(1.0);
    strip.pressure_pa = pressure;
    strip.holds = across(&strip, 0.0, Holds::NotBelow(h)).into();
    let lie = strip.lie();
    assert!(lie.settled);
    let free = (24.0 * 7.0 * h / pressure).powf(0.25);
    assert!(free < 0.5 * long, "{free}");
    for k in 0..=24 {
        let x = long * k as f64 / 24.0;
        let s = ((free - x) / free).max(0.0);
        // w = p l⁴ / D (s³ / 12 - s⁴ / 24) with p l⁴ / D = 24 h.
        let exact = h * (2.0 * s.powi(3) - s.powi(4));
        assert!((lie.gap_m([x, 0.002]) - exact).abs() < 0.01 * h, "{x}: {} {exact}", lie.gap_m([x, 0.002]));
    }
}

/// A long strip on a linear pad, pulled down by a line force in its middle, sinks by `F b / (2 k)` with `b = (k / 4 D)^(1/4)` (Hetenyi,
/// Beams on Elastic Foundation, 1946, from memory), `k` the pad's pressure for each metre and F for each metre of width.
#[test]
fn a_strip_on_a_pad_sinks_as_a_beam_on_an_elastic_foundation() {
    let (long, wide, free) = (0.2, 0.004, 1e-3);
    let pad = Compression::new(&[(100e3, 0.1)]).unwrap();
    let stiffness = 100e3 / (0.1 * free);
    let mut strip = plate([100, 1], [long, wide], 0.0, Bed::Pad(free, &pad));
    strip.bedded.fill(1.0);
    // Pressed first, so that the pad need not pull where the beam rises.
    strip.pressure_pa = 20e3;
    let force = 0.2;
    strip.holds = across(&strip, 0.5 * long, Holds::Pull(0.5 * force)).into();
    let lie = strip.lie();
    assert!(lie.settled);
    let b = (stiffness / 4.0 / 7.0).powf(0.25);
    let sunk = 0.98 * free - lie.gap_m([0.5 * long, 0.002]);
    let exact = force / wide * b / (2.0 * stiffness);
    assert!((sunk / exact - 1.0).abs() < 0.01, "{sunk} {exact}");
    assert!((lie.gap_m([0.0, 0.002]) / (0.98 * free) - 1.0).abs() < 1e-4);
}

/// A plate far stiffer than its pad goes down evenly, to the pad's own thickness at force over area.
#[test]
fn a_stiff_plate_compresses_its_pad_evenly() {
    let free = 0.5e-3;
    let pad = Compression::new(&[(100e3, 0.1), (300e3, 0.2)]).unwrap();
    let mut square = plate([12, 12], [SIDE, SIDE], 0.3, Bed::Pad(free, &pad));
    square.rigidity_n_m = 1e6;
    square.bedded.fill(1.0);
    for at in [[0.01, 0.01], [0.05, 0.01], [0.01, 0.05], [0.05, 0.05]] {
        square.holds.push((at, Holds::Pull(200e3 * SIDE * SIDE / 4.0)));
    }
    let lie = square.lie();
    assert!(lie.settled);
    for at in [[0.03, 0.03], [0.0, 0.0], [0.01, 0.05]] {
        assert!((lie.gap_m(at) / (0.85 * free) - 1.0).abs() < 1e-3, "{}", lie.gap_m(at));
    }
}

/// Without screws a bowed plate lies on its base: nowhere through it, touching somewhere.
#[test]
fn a_plate_that_nothing_holds_lies_on_its_base() {
    for bow in [3e-4, -3e-4] {
        let mut square = plate([12, 12], [SIDE, SIDE], 0.2, Bed::Hard(50e-6));
        square.bedded.fill(1.0);
        square.curved_per_m = [-8.0 * bow / (SIDE * SIDE), 0.0];
        let lie = square.lie();
        assert!(lie.settled);
        let gaps: Vec<f64> = (0..169)
            .map(|k| lie.gap_m([SIDE / 12.0 * f64::from(k % 13), SIDE / 12.0 * f64::from(k / 13)]))
            .collect();
        let (least, most) = gaps.iter().fold((f64::MAX, 0.0f64), |(a, b), g| (a.min(*g), b.max(*g)));
        assert!((least - 50e-6).abs() < 1e-6, "{least}");
        assert!((most - least) / bow.abs() > 0.9, "{bow}: {most}");
    }
}
