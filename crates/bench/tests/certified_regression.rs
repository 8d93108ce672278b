//! Least squares against certified results: the nonlinear regression problems of the Statistical Reference Datasets (NIST), from
//! both of their starting points.
#![allow(clippy::expect_used, clippy::panic)] // a test's helpers may fail loudly

mod published;

use bench::least_squares::{Ending, Fit, Options, Prior, fit};
use published::{NAMES, Published, digits, published};

/// Digits of the unknowns that must agree with the certified ones; they are printed with 11.
const DIGITS: f64 = 8.5;

fn fitted(problem: &Published, start: usize, options: &Options<'_>) -> Fit {
    let groups = vec![0; problem.response.len()];
    let priors = vec![Prior::NONE; problem.certified.len()];
    let mut model = |b: &[f64]| problem.linearised(b, 1.0);
    fit(&mut model, &problem.starts[start], &priors, &groups, options).expect("a fit")
}

/// The fewest digits that any pair has in common.
fn fewest(found: &[f64], certified: &[f64]) -> f64 {
    found.iter().zip(certified).map(|(a, b)| digits(*a, *b)).fold(11.0, f64::min)
}

#[test]
fn certified_values_are_met_from_both_starts() {
    // Readings without a deviation: their square has no unit in which a gain could be called small.
    let options = Options { iterations: 1000, value_tolerance: 0.0, ..Options::default() };
    for name in NAMES {
        let problem = published(name);
        // The residuals of Lanczos1 are the rounding of its 14 digits: its unknowns are told, their deviations are not.
        let exact = name == "Lanczos1";
        for start in 0..2 {
            let fit = fitted(&problem, start, &options);
            assert!(
                matches!(fit.ending, Ending::Converged(_)),
                "{name} from start {start}: {:?}",
                fit.ending
            );
            let values = fewest(&fit.x, &problem.certified);
            assert!(values > DIGITS, "{name} from start {start}: {values} digits");
            let freedom = (problem.response.len() - problem.certified.len()) as f64;
            let size = (fit.readings_chi_square.value / freedom).sqrt();
            let scaled: Vec<f64> = fit.standard_deviations.iter().map(|d| d * size).collect();
            let deviations = fewest(&scaled, &problem.deviations);
            let square = digits(fit.readings_chi_square.value, problem.square);
            assert!(
                exact || deviations > DIGITS,
                "{name} from start {start}: deviations {deviations} digits"
            );
            assert!(exact || square > 9.5, "{name} from start {start}: square {square} digits");
        }
    }
}

#[test]
fn the_usual_tolerances_are_enough_where_readings_have_their_deviations() {
    for name in NAMES {
        let problem = published(name);
        let freedom = (problem.response.len() - problem.certified.len()) as f64;
        let deviation = (problem.square / freedom).sqrt();
        let groups = vec![0; problem.response.len()];
        let priors = vec![Prior::NONE; problem.certified.len()];
        let mut model = |b: &[f64]| problem.linearised(b, deviation);
        let fit = fit(&mut model, &problem.starts[1], &priors, &groups, &Options::default()).expect("a fit");
        assert!(fit.ending.is_converged(), "{name}: {:?}", fit.ending);
        for (j, (found, certified)) in fit.x.iter().zip(&problem.certified).enumerate() {
            // Within a hundred-thousandth of what the value is known to.
            let off = (found - certified).abs() / problem.deviations[j];
            let printed = 1e-10 * certified.abs() / problem.deviations[j];
            assert!(off < 1e-5 + printed, "{name}, b{}: {off} standard deviations off", j + 1);
        }
    }
}

#[test]
fn too_few_iterations_are_never_called_converged() {
    for name in NAMES {
        let problem = published(name);
        for iterations in 0..40 {
            let options = Options { iterations, value_tolerance: 0.0, ..Options::default() };
            let fit = fitted(&problem, 0, &options);
            let near = fewest(&fit.x, &problem.certified) > DIGITS;
            assert!(
                near || !fit.ending.is_converged(),
                "{name} after {iterations}: {:?} at {:?}",
                fit.ending,
                fit.x
            );
        }
    }
}
