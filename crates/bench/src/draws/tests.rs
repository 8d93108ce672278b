//! Draws against the distributions they are of.

use nalgebra::DMatrix;
use statrs::distribution::{ContinuousCDF, LogNormal, Triangular, Uniform};

use super::*;

const SHAPES: [Shape; 4] = [
    Shape::Normal { mean: 3.0, standard_deviation: 0.5 },
    Shape::Uniform { low: -1.0, high: 4.0 },
    Shape::Triangular { low: 1.0, likeliest: 1.5, high: 4.0 },
    Shape::LogNormal { median: 50.0, factor: 1.3 },
];

fn all() -> Draws {
    SHAPES.iter().fold(Draws::new(7), |draws, shape| draws.and(*shape).unwrap())
}

#[test]
fn quantiles_are_those_of_the_distributions() {
    // 0.3 above the standard normal's mean: 0.6179114222 below (tables of the normal distribution).
    let triangular = Triangular::new(1.0, 4.0, 1.5).unwrap();
    let lognormal = LogNormal::new(50.0_f64.ln(), 1.3_f64.ln()).unwrap();
    let uniform = Uniform::new(-1.0, 4.0).unwrap();
    assert!((SHAPES[0].quantile(0.617_911_422_189) - 3.15).abs() < 1e-9);
    for i in 1..1000 {
        let p = f64::from(i) / 1000.0;
        assert!((uniform.cdf(SHAPES[1].quantile(p)) - p).abs() < 1e-12);
        assert!((triangular.cdf(SHAPES[2].quantile(p)) - p).abs() < 1e-12);
        assert!((lognormal.cdf(SHAPES[3].quantile(p)) - p).abs() < 1e-9);
    }
}

#[test]
fn draws_fill_the_distributions() {
    // Each sixteenth of a distribution holds a sixteenth of an even sequence, to a point at each end.
    let draws = all();
    for (place, shape) in SHAPES.iter().enumerate() {
        let values: Vec<f64> = (0..4096).map(|number| draws.draw(number)[place]).collect();
        for k in 1..16 {
            let p = f64::from(k) / 16.0;
            let below = values.iter().filter(|value| **value < shape.quantile(p)).count() as f64;
            assert!((below - 4096.0 * p).abs() <= 2.0, "{shape:?} at {p}: {below}");
        }
    }
}

#[test]
fn the_same_seed_gives_the_same_bits_in_any_order_and_another_seed_others() {
    let (one, other) = (all(), all());
    let forward: Vec<Vec<f64>> = (0..500).map(|number| one.draw(number)).collect();
    let halves: Vec<Vec<f64>> = std::thread::scope(|scope| {
        let parts: Vec<_> = [0_u32..123, 123..500]
            .map(|range| scope.spawn(|| range.map(|number| other.draw(number)).collect::<Vec<_>>()))
            .into();
        parts.into_iter().flat_map(|part| part.join().unwrap()).collect()
    });
    assert_eq!(forward, halves);
    let reseeded = SHAPES.iter().fold(Draws::new(8), |draws, shape| draws.and(*shape).unwrap());
    assert!((0..500).all(|number| reseeded.draw(number) != forward[number as usize]));
}

#[test]
fn values_hang_together_as_stated() {
    let (a, b, r) = (2.0, 0.1, -0.8);
    let covariance = DMatrix::from_row_slice(2, 2, &[a * a, r * a * b, r * a * b, b * b]);
    let draws = Draws::new(1).and(SHAPES[1]).unwrap().and_together(&[10.0, 1.0], &covariance).unwrap();
    let drawn: Vec<Vec<f64>> = (0..16384).map(|number| draws.draw(number)).collect();
    let mean = |f: &dyn Fn(&[f64]) -> f64| drawn.iter().map(|d| f(d)).sum::<f64>() / drawn.len() as f64;
    // Of 16384 independent draws means would be off by 1/128 of a deviation, and squares by 1/90.
    assert!((mean(&|d| d[1]) - 10.0).abs() < a / 128.0 && (mean(&|d| d[2]) - 1.0).abs() < b / 128.0);
    let product = |i: usize, j: usize| mean(&|d| (d[i] - [0.0, 10.0, 1.0][i]) * (d[j] - [0.0, 10.0, 1.0][j]));
    assert!((product(1, 1) / (a * a) - 1.0).abs() < 0.011);
    assert!((product(2, 2) / (b * b) - 1.0).abs() < 0.011);
    assert!((product(1, 2) / (a * b) - r).abs() < 0.011);
    // Wholly together: one is the other.
    let whole = DMatrix::from_element(2, 2, 1.0);
    let draws = Draws::new(1).and_together(&[0.0, 5.0], &whole).unwrap();
    assert!((0..100).map(|n| draws.draw(n)).all(|d| (d[1] - d[0] - 5.0).abs() < 1e-7));
}

#[test]
fn many_values_are_drawn_apart() {
    let draws = (0..300).fold(Draws::new(3), |draws, _| draws.and(Shape::STANDARD).unwrap());
    let (mut product, count) = (0.0, 4096);
    for number in 0..count {
        let draw = draws.draw(number);
        product += draw[0] * draw[256] / f64::from(count);
    }
    assert!(product.abs() < 4.0 / 64.0, "values 0 and 256 hang together by {product}");
}

#[test]
fn what_is_no_distribution_is_told() {
    for shape in [
        Shape::Normal { mean: 0.0, standard_deviation: -1.0 },
        Shape::Uniform { low: 1.0, high: 0.0 },
        Shape::Triangular { low: 0.0, likeliest: 2.0, high: 1.0 },
        Shape::LogNormal { median: 0.0, factor: 1.1 },
    ] {
        assert!(Draws::new(0).and(shape).unwrap_err().contains("no distribution"));
    }
    let bad = DMatrix::from_row_slice(2, 2, &[1.0, 2.0, 2.0, 1.0]);
    assert!(Draws::new(0).and_together(&[0.0; 2], &bad).is_err());
    assert!(Draws::new(0).and_together(&[0.0; 3], &bad).is_err());
}

#[test]
fn outcomes_are_summed_up() {
    let hundred: Vec<f64> = (0..=100).rev().map(f64::from).collect();
    assert_eq!(spread(&hundred), Some(Spread { median: 50.0, low_95: 2.5, high_95: 97.5 }));
    assert_eq!(spread(&[f64::INFINITY; 3]).unwrap().median, f64::INFINITY);
    assert_eq!((spread(&[]), spread(&[1.0, f64::NAN])), (None, None));
    // Newcombe 1998, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17, table I (from memory):
    // 81 of 263: 0.2553 to 0.3662; 0 of 20: 0 to 0.1611; 1 of 29: 0.0061 to 0.1718.
    for (passed, of, low, high) in [(81, 263, 0.2553, 0.3662), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)]
    {
        let found = chance(passed, of).unwrap();
        assert!((found.low_95 - low).abs() < 5e-5 && (found.high_95 - high).abs() < 5e-5, "{found:?}");
    }
    assert_eq!((chance(0, 0), chance(2, 1)), (None, None));
    assert_eq!(chance(5, 5).unwrap().high_95, 1.0);
}
