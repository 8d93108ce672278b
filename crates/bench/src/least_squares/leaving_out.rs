//! Each group of readings predicted from all the others: the honest test of what a fit would say of a plateau not yet measured.

use nalgebra::{DMatrix, DVector};

use super::quality::ChiSquare;
use super::robust::by_group;
use super::search::search;
use super::weighed::Weighed;
use super::{Ending, Fit, Knowledge, Options, Prior, Problem};

/// A group predicted without it.
#[derive(Debug, Clone)]
pub struct LeftOut {
    /// Its number.
    pub group: usize,
    /// How the fit without it ended.
    pub ending: Ending,
    /// The unknowns without it.
    pub x: Vec<f64>,
    /// Its readings, by their places in all of them.
    pub readings: Vec<usize>,
    /// Predicted less measured, each in standard deviations of its reading.
    pub off: Vec<f64>,
    /// Standard deviation that this difference should have, in the same unit: that of the reading (1) and of the prediction
    /// together. Infinite where the others do not tell.
    pub standard_deviation: Vec<f64>,
    /// All its readings together against what they should be; absent where the others do not tell.
    pub chi_square: Option<ChiSquare>,
}

/// Fits again from the optimum without each group in turn, the others with the weights they have in `fit`.
///
/// A group for which the model has no answer once it is left out is missing in the list, as are groups without readings.
pub fn leave_one_group_out(
    problem: &mut dyn Problem,
    fit: &Fit,
    priors: &[Prior],
    options: &Options<'_>,
) -> Vec<LeftOut> {
    let groups = by_group(&fit.groups);
    let mut all = Vec::new();
    for (group, places) in groups.iter().enumerate().filter(|(_, places)| !places.is_empty()) {
        if options.cancelled() {
            break;
        }
        let weight = |other: &usize| if *other == group { 0.0 } else { fit.group_weights[*other] };
        let weights = fit.groups.iter().map(weight).collect();
        let mut weighed = Weighed { problem, priors, weights, evaluations: 0 };
        let system = weighed.system_of(fit.readings.clone(), &fit.x);
        let found = search(&mut weighed, fit.x.clone(), system, options);
        let Some(knowledge) = Knowledge::new(found.system.jacobian) else { continue };
        let readings = &found.system.readings;
        let off: Vec<f64> = places.iter().map(|i| readings.residuals[*i]).collect();
        let rows = readings.jacobian.select_rows(places);
        let gradient = |k: usize| rows.row(k).iter().copied().collect::<Vec<f64>>();
        let standard_deviation: Vec<f64> =
            (0..places.len()).map(|k| knowledge.standard_deviation_of(&gradient(k)).hypot(1.0)).collect();
        let told = standard_deviation.iter().all(|deviation| deviation.is_finite());
        all.push(LeftOut {
            group,
            ending: found.ending,
            x: found.x,
            chi_square: told.then(|| together(&knowledge, &rows, &off)).flatten(),
            readings: places.clone(),
            off,
            standard_deviation,
        });
    }
    all
}

/// `off^T (1 + rows covariance rows^T)^-1 off`.
fn together(knowledge: &Knowledge, rows: &DMatrix<f64>, off: &[f64]) -> Option<ChiSquare> {
    let covariance = rows * knowledge.covariance() * rows.transpose();
    let whole = DMatrix::identity(off.len(), off.len()) + covariance;
    let lower = whole.cholesky()?.l();
    let whitened = lower.solve_lower_triangular(&DVector::from_column_slice(off))?;
    Some(ChiSquare::new(whitened.norm_squared(), off.len() as f64))
}
