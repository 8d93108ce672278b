//! Prints series with our autocorrelation, and a mean by generalised least squares, as JSON lines, for the comparison with a
//! statistics library.
#![allow(clippy::print_stdout, reason = "an example prints")]

use bench::approach::noise::{Noise, Whitener, autocorrelation};

fn main() {
    // Three series without random numbers: a wave, a decaying one, a chaotic one (logistic map).
    let wave: Vec<f64> = (0..200).map(|i| (0.3 * f64::from(i)).sin() + 0.01 * f64::from(i)).collect();
    let decay: Vec<f64> =
        (0..120).map(|i| (-0.05 * f64::from(i)).exp() * (1.7 * f64::from(i)).cos()).collect();
    let mut x = 0.3;
    let chaos: Vec<f64> = (0..500)
        .map(|_| {
            x *= 3.9 * (1.0 - x);
            x
        })
        .collect();
    for series in [wave, decay, chaos] {
        // Uneven times, with a gap.
        let time_s: Vec<f64> = (0..series.len())
            .map(|i| i as f64 + if i > 50 { 20.0 } else { 0.0 } + 0.2 * (i % 3) as f64)
            .collect();
        let noise = Noise { share: 0.8, memory_s: 6.0 };
        let whitener = Whitener::new(noise, &time_s);
        let (mut ones, mut values) = (vec![1.0; series.len()], series.clone());
        whitener.whiten(&mut ones);
        whitener.whiten(&mut values);
        let squares: f64 = ones.iter().map(|a| a * a).sum();
        let mean = ones.iter().zip(&values).map(|(a, b)| a * b).sum::<f64>() / squares;
        let text = |all: &[f64]| all.iter().map(|v| format!("{v:e}")).collect::<Vec<_>>().join(",");
        println!(
            "{{\"series\":[{}],\"time_s\":[{}],\"autocorrelation\":[{}],\"share\":{},\"memory_s\":{},\"mean\":{mean:e},\
             \"variance_of_mean\":{:e}}}",
            text(&series),
            text(&time_s),
            text(&autocorrelation(&series, 20)),
            noise.share,
            noise.memory_s,
            1.0 / squares
        );
    }
}
