//! Prints what the sensor laws give over their ranges, as JSON lines, for the comparison with reference libraries.
#![allow(clippy::print_stdout, reason = "an example prints")]

use bench::sensor::thermocouple::{emf_mv, range_c, temperature_c};
use lamp::sensor_law::ThermocoupleType::{J, K, N, T};

fn main() {
    for kind in [K, T, J, N] {
        let [low, high] = range_c(kind);
        let mut celsius = low;
        while celsius <= high {
            if let Ok(mv) = emf_mv(kind, celsius) {
                // As read by a meter whose terminals are at 21.5 degC.
                let cold = emf_mv(kind, 21.5).unwrap_or(f64::NAN);
                let back = temperature_c(kind, 1e-3 * (mv - cold), 21.5).unwrap_or(f64::NAN);
                println!("{{\"type\":\"{kind:?}\",\"celsius\":{celsius},\"mv\":{mv:e},\"back\":{back:e}}}");
            }
            celsius += 1.0;
        }
    }
}
