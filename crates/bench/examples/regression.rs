//! Prints fits of published regression problems with weights and priors, as JSON lines, for the comparison with a general-purpose
//! library.
#![allow(
    clippy::print_stdout,
    clippy::expect_used,
    clippy::panic,
    reason = "an example prints and fails loudly"
)]

#[path = "../tests/published/mod.rs"]
mod published;

use bench::least_squares::{Options, Prior, fit};
use published::published;

fn main() {
    for name in ["Misra1a", "Chwirut2", "Rat42", "Rat43", "Eckerle4", "MGH17", "Thurber", "Gauss1"] {
        let problem = published(name);
        let freedom = (problem.response.len() - problem.certified.len()) as f64;
        let deviation = (problem.square / freedom).sqrt();
        // Priors a little off the certified values, as wide as their deviations; the last unknown without one.
        let priors: Vec<Prior> = problem
            .certified
            .iter()
            .zip(&problem.deviations)
            .enumerate()
            .map(|(j, (value, deviation))| {
                let last = j + 1 == problem.certified.len();
                if last { Prior::NONE } else { Prior::normal(value + 0.7 * deviation, *deviation) }
            })
            .collect();
        let groups = vec![0; problem.response.len()];
        let mut model = |b: &[f64]| problem.linearised(b, deviation);
        let fit = fit(&mut model, &problem.starts[1], &priors, &groups, &Options::default()).expect("a fit");
        let list = |values: &mut dyn Iterator<Item = f64>| {
            values.map(|v| format!("{v:e}")).collect::<Vec<_>>().join(",")
        };
        let known = || priors.iter().filter(|prior| prior.is_known());
        println!(
            "{{\"name\":\"{name}\",\"deviation\":{deviation:e},\"start\":[{}],\"means\":[{}],\"deviations\":[{}],\"x\":[{}],\
             \"covariance\":[{}],\"readings\":{:e},\"priors\":{:e},\"freedom\":{:e},\"p_value\":{:e}}}",
            list(&mut problem.starts[1].iter().copied()),
            list(&mut known().map(|prior| prior.mean)),
            list(&mut known().map(|prior| prior.standard_deviation)),
            list(&mut fit.x.iter().copied()),
            list(&mut fit.covariance.iter().copied()),
            fit.readings_chi_square.value,
            fit.priors_chi_square.value,
            fit.chi_square.freedom,
            fit.chi_square.p_value.unwrap_or(f64::NAN),
        );
    }
}
