//! Identities of linear problems, where everything has a closed form, and what the search does at the edges of a model.

use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;

use super::*;

/// A linear problem: residuals `rows x - readings`.
fn linear(rows: DMatrix<f64>, readings: Vec<f64>) -> impl FnMut(&[f64]) -> Option<Linearised> {
    move |x: &[f64]| {
        let at = &rows * DVector::from_column_slice(x);
        let residuals = at.iter().zip(&readings).map(|(a, b)| a - b).collect();
        Some(Linearised { residuals, jacobian: rows.clone() })
    }
}

fn near(a: f64, b: f64, part: f64) -> bool {
    (a - b).abs() <= part * b.abs().max(1.0)
}

/// Twelve readings in four groups of three, three unknowns.
fn any_problem() -> impl Strategy<Value = (Vec<f64>, Vec<f64>, Vec<f64>, Vec<f64>)> {
    (
        prop::collection::vec(-3.0..3.0, 36),
        prop::collection::vec(-5.0..5.0, 12),
        prop::collection::vec(-2.0..2.0, 3),
        prop::collection::vec(0.2..3.0, 3),
    )
}

fn priors_of(means: &[f64], deviations: &[f64]) -> Vec<Prior> {
    means.iter().zip(deviations).map(|(m, d)| Prior::normal(*m, *d)).collect()
}

const GROUPS: [usize; 12] = [0, 0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3];

/// Posterior mean and covariance in closed form, by normal equations.
fn closed(rows: &DMatrix<f64>, readings: &[f64], priors: &[Prior]) -> (DVector<f64>, DMatrix<f64>) {
    let precision = DMatrix::from_diagonal(&DVector::from_iterator(
        priors.len(),
        priors.iter().map(|p| p.standard_deviation.powi(-2)),
    ));
    let means = DVector::from_iterator(priors.len(), priors.iter().map(|p| p.mean));
    let covariance = (rows.tr_mul(rows) + &precision).try_inverse().unwrap();
    let side = rows.tr_mul(&DVector::from_column_slice(readings)) + precision * means;
    (&covariance * side, covariance)
}

proptest! {
    #[test]
    fn a_linear_problem_has_the_closed_posterior((a, y, means, deviations) in any_problem()) {
        let rows = DMatrix::from_column_slice(12, 3, &a);
        let priors = priors_of(&means, &deviations);
        let (mean, covariance) = closed(&rows, &y, &priors);
        let mut model = linear(rows.clone(), y.clone());
        let fit = fit(&mut model, &[0.5; 3], &priors, &GROUPS, &Options::default()).unwrap();
        prop_assert!(fit.ending.is_converged());
        for i in 0..3 {
            prop_assert!(near(fit.x[i], mean[i], 1e-8));
            prop_assert!(near(fit.shrinkages[i].unwrap(), covariance[(i, i)].sqrt() / deviations[i], 1e-9));
            for j in 0..3 {
                prop_assert!(near(fit.covariance[(i, j)], covariance[(i, j)], 1e-9));
            }
        }
        // Sum over the directions of what is left is the same knowledge: its product is the ratio of the volumes.
        let left: f64 = fit.directions.iter().map(|d| d.left).product();
        let volumes = covariance.determinant().sqrt() / deviations.iter().product::<f64>();
        prop_assert!(near(left.ln(), volumes.ln(), 1e-8));
        // Prior and readings together: y - A mean has covariance 1 + A S A^T.
        let spread = DMatrix::from_diagonal(&DVector::from_iterator(3, deviations.iter().map(|d| d * d)));
        let whole = DMatrix::identity(12, 12) + &rows * spread * rows.transpose();
        let off = DVector::from_vec(y) - &rows * DVector::from_vec(means);
        let expected = off.dot(&(whole.try_inverse().unwrap() * &off));
        prop_assert!(near(fit.chi_square.value, expected, 1e-8));
        prop_assert_eq!(fit.chi_square.freedom, 12.0);
    }

    #[test]
    fn leaving_one_out_is_the_hat_matrix((a, y, means, deviations) in any_problem()) {
        let rows = DMatrix::from_column_slice(12, 3, &a);
        let priors = priors_of(&means, &deviations);
        let groups: Vec<usize> = (0..12).collect();
        let mut model = linear(rows, y);
        let fit = fit(&mut model, &[0.0; 3], &priors, &groups, &Options::default()).unwrap();
        let left_out = leave_one_group_out(&mut model, &fit, &priors, &Options::default());
        prop_assert_eq!(left_out.len(), 12);
        for one in &left_out {
            let (r, h) = (fit.readings.residuals[one.group], fit.leverages[one.group]);
            prop_assert!(near(one.off[0], r / (1.0 - h), 1e-7));
            // Variance of what is predicted and read: 1 + h / (1 - h).
            prop_assert!(near(one.standard_deviation[0], (1.0 - h).powf(-0.5), 1e-8));
            let together = one.chi_square.unwrap().value;
            prop_assert!(near(together, (one.off[0] / one.standard_deviation[0]).powi(2), 1e-7));
        }
    }

    #[test]
    fn one_group_of_ten_far_off_moves_little(shift in prop::sample::select(vec![-20.0, 20.0]), which in 0_usize..10,
                                             noise in prop::collection::vec(-1.0..1.0, 30)) {
        let rows = DMatrix::from_fn(30, 2, |i, j| if j == 0 { 1.0 } else { (i / 3) as f64 / 3.0 - 1.5 });
        let groups: Vec<usize> = (0..30).map(|i| i / 3).collect();
        // Beside the fit without that group: Student's weights let go of it; Huber's bound its pull, where plain least squares
        // would go along by up to 17 deviations.
        let others: Vec<usize> = (0..30).filter(|i| i / 3 != which).collect();
        let kept: Vec<f64> = others.iter().map(|i| noise[*i]).collect();
        let kept_groups: Vec<usize> = others.iter().map(|i| i / 3).collect();
        let mut spoiled = noise;
        spoiled[3 * which..3 * which + 3].iter_mut().for_each(|v| *v += shift);
        let priors = [Prior::NONE; 2];
        for (robust, most) in [(Robust::Student { freedom: 4.0 }, 1.0), (Robust::Huber { bend: 1.345 }, 3.0)] {
            let options = Options { robust, ..Options::default() };
            let fitted = |rows: DMatrix<f64>, y: &Vec<f64>, groups: &[usize]| {
                fit(&mut linear(rows, y.clone()), &[0.0; 2], &priors, groups, &options).unwrap()
            };
            let without = fitted(rows.select_rows(&others), &kept, &kept_groups);
            let with = fitted(rows.clone(), &spoiled, &groups);
            prop_assert!(with.group_weights[which] < 0.12);
            prop_assert!(with.group_weights.iter().enumerate().all(|(g, w)| g == which || *w > 0.4));
            for j in 0..2 {
                let moved = (with.x[j] - without.x[j]).abs() / without.standard_deviations[j];
                prop_assert!(moved < most, "{robust:?}: unknown {j} moved by {moved}");
            }
        }
    }

    #[test]
    fn a_further_reading_shrinks_as_bayes_says((a, y, means, deviations) in any_problem(), more in prop::collection::vec(-3.0..3.0, 3)) {
        let rows = DMatrix::from_column_slice(12, 3, &a);
        let priors = priors_of(&means, &deviations);
        let fit = fit(&mut linear(rows, y), &[0.0; 3], &priors, &GROUPS, &Options::default()).unwrap();
        let gradient = [1.0, -2.0, 0.5];
        let (g, k) = (DVector::from_column_slice(&gradient), DVector::from_column_slice(&more));
        let kc = &fit.covariance * &k;
        let before = g.dot(&(&fit.covariance * &g));
        let after = before - g.dot(&kc).powi(2) / (1.0 + k.dot(&kc));
        let silent = Candidate { name: "nothing".into(), rows: DMatrix::zeros(1, 3) };
        let telling = Candidate { name: "more".into(), rows: DMatrix::from_row_slice(1, 3, &more) };
        let ranked = rank_further_readings(&fit.knowledge, &gradient, &[silent, telling]);
        let worth = ranked.iter().find(|worth| worth.candidate == 1).unwrap();
        prop_assert!(near(worth.before, before.sqrt(), 1e-9) && near(worth.after, after.sqrt(), 1e-8));
        prop_assert!(ranked[0].after <= ranked[1].after);
    }
}

/// Two unknowns of which only the sum is read.
fn sum_only() -> (DMatrix<f64>, Vec<f64>) {
    (DMatrix::from_element(4, 2, 1.0), vec![3.0, 3.1, 2.9, 3.0])
}

#[test]
fn what_readings_cannot_tell_is_said() {
    let (rows, y) = sum_only();
    let priors = [Prior::normal(1.0, 0.5), Prior::normal(1.0, 0.5)];
    let known =
        fit(&mut linear(rows.clone(), y.clone()), &[0.0; 2], &priors, &[0; 4], &Options::default()).unwrap();
    assert!(known.ending.is_converged());
    let least = &known.directions[0];
    assert!(near(least.left, 1.0, 1e-9), "the difference is as the priors had it");
    assert!(near(least.weights[0], -least.weights[1], 1e-9) && least.mostly().len() == 2);
    // The sum: 4 readings with derivative sqrt(2) * 0.5 each along it.
    assert!(near(known.directions[1].left, (1.0_f64 + 4.0 * 0.5).sqrt().recip(), 1e-9));
    let open = fit(&mut linear(rows, y), &[0.0; 2], &[Prior::NONE; 2], &[0; 4], &Options::default()).unwrap();
    assert_eq!(open.ending, Ending::Undetermined);
    assert!(open.standard_deviations.iter().all(|d| d.is_infinite()));
    assert!(near(open.knowledge.standard_deviation_of(&[1.0, 1.0]), 0.5, 1e-9), "the sum is known");
    assert_eq!(open.chi_square.freedom, 3.0);
}

#[test]
fn unknowns_without_priors_are_fitted_away() {
    // A slope with a prior beside an open offset: what is told of the slope is what its scatter about the mean tells.
    let rows = DMatrix::from_fn(5, 2, |i, j| if j == 0 { 1.0 } else { i as f64 });
    let priors = [Prior::NONE, Prior::normal(0.0, 0.3)];
    let fit = fit(
        &mut linear(rows, vec![0.0, 1.0, 2.0, 3.0, 4.5]),
        &[0.0; 2],
        &priors,
        &[0; 5],
        &Options::default(),
    )
    .unwrap();
    assert_eq!(fit.directions.len(), 1);
    assert!(near(fit.directions[0].left, (1.0_f64 + 10.0 * 0.09).sqrt().recip(), 1e-9));
    assert!(near(fit.shrinkages[1].unwrap(), fit.directions[0].left, 1e-9));
    assert_eq!(fit.chi_square.freedom, 4.0);
}

#[test]
fn no_answer_is_a_step_too_far() {
    // A logarithm from far off: the first full step leads to where it has none.
    let mut asked_beyond = false;
    let mut model = |x: &[f64]| {
        asked_beyond |= x[0] <= 0.0;
        (x[0] > 0.0).then(|| Linearised {
            residuals: vec![x[0].ln() + 3.0, 0.1],
            jacobian: DMatrix::from_column_slice(2, 1, &[1.0 / x[0], 0.0]),
        })
    };
    let options = Options { first_step: 100.0, ..Options::default() };
    let fit = fit(&mut model, &[1.0], &[Prior::NONE], &[0, 0], &options).unwrap();
    assert!(fit.ending.is_converged() && near(fit.x[0].ln(), -3.0, 1e-6));
    assert!(asked_beyond);
}

#[test]
fn a_place_with_false_derivatives_is_not_called_converged() {
    let mut model = |x: &[f64]| {
        Some(Linearised {
            residuals: vec![x[0] - 4.0, 1.0],
            jacobian: DMatrix::from_column_slice(2, 1, &[-1.0, 0.0]),
        })
    };
    let fit = fit(&mut model, &[1.0], &[Prior::NONE], &[0, 0], &Options::default()).unwrap();
    assert_eq!(fit.ending, Ending::Stalled);
    assert!(near(fit.remaining_step, 3.0, 1e-9));
}

#[test]
fn a_plain_without_end_is_not_a_least_place() {
    // Falls for ever towards larger x, ever less.
    let mut model = |x: &[f64]| {
        let fading = (-x[0]).exp();
        Some(Linearised { residuals: vec![1.0 + fading], jacobian: DMatrix::from_element(1, 1, -fading) })
    };
    let fit = fit(&mut model, &[1.0], &[Prior::NONE], &[0], &Options::default()).unwrap();
    assert!(!fit.ending.is_converged(), "{:?} at {:?}", fit.ending, fit.x);
}

#[test]
fn a_raised_flag_ends_the_search_and_bad_input_is_told() {
    let flag = AtomicBool::new(true);
    let options = Options { cancel: Some(&flag), ..Options::default() };
    let (rows, y) = sum_only();
    let priors = [Prior::normal(0.0, 1.0); 2];
    let mut model = linear(rows, y);
    assert_eq!(fit(&mut model, &[9.0; 2], &priors, &[0; 4], &options).unwrap().ending, Ending::Cancelled);
    let told = |priors: &[Prior], groups: &[usize]| {
        let (rows, y) = sum_only();
        fit(&mut linear(rows, y), &[0.0; 2], priors, groups, &Options::default()).unwrap_err().to_string()
    };
    assert!(told(&priors[..1], &[0; 4]).contains("2 unknowns have 1 priors"));
    assert!(told(&priors, &[0; 3]).contains("4 residuals, but groups for 3"));
    assert!(told(&[Prior::normal(0.0, 0.0); 2], &[0; 4]).contains("above 0"));
    let failure = fit(&mut |_: &[f64]| None, &[0.0], &[Prior::NONE], &[], &Options::default()).unwrap_err();
    assert_eq!(failure, Failure::NoAnswerAtStart);
}

#[test]
fn robust_deviations_are_honest_on_normal_readings() {
    // Two hundred sets of ten groups of two normal readings of one value: Student's weights must not promise too much.
    let rows = DMatrix::from_element(20, 1, 1.0);
    let groups: Vec<usize> = (0..20).map(|i| i / 2).collect();
    let options = Options { robust: Robust::Student { freedom: 4.0 }, ..Options::default() };
    let mut state = 1_u64;
    let mut even = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    };
    let mut normal = || (-2.0 * even().ln()).sqrt() * (std::f64::consts::TAU * even()).cos();
    let sets = 1000;
    let inside = (0..sets)
        .filter(|_| {
            let y: Vec<f64> = (0..20).map(|_| normal()).collect();
            let fit = fit(&mut linear(rows.clone(), y), &[0.0], &[Prior::NONE], &groups, &options).unwrap();
            fit.x[0].abs() < 1.96 * fit.standard_deviations[0]
        })
        .count();
    let part = inside as f64 / f64::from(sets);
    assert!((0.92..0.98).contains(&part), "{part} of the intervals hold the truth");
}
