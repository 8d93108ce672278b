//! Nonlinear least squares with priors: the likeliest unknowns, how well each is known, and what the readings cannot tell.
//!
//! Minimises `sum w_i r_i(x)^2 + sum ((x_j - mean_j) / deviation_j)^2`: residuals `r` in standard deviations of the readings, a
//! normal [`Prior`] or none for each unknown, weights `w` of whole groups of readings (1, or robust ones). To first order about
//! the result the unknowns are normal, which is what [`Fit`] says of them. Knows no lamp: a model is a [`Problem`].

mod directions;
mod factor;
mod knowledge;
mod leaving_out;
mod problem;
mod quality;
mod robust;
mod search;
mod weighed;

#[cfg(test)]
mod tests;

use std::fmt;
use std::sync::atomic::{AtomicBool, Ordering};

use nalgebra::DMatrix;

pub use directions::{Direction, directions};
pub use knowledge::{Candidate, Knowledge, Worth, rank_further_readings};
pub use leaving_out::{LeftOut, leave_one_group_out};
pub use problem::{Linearised, Prior, Problem};
pub use quality::ChiSquare;
pub use robust::Robust;

use search::Found;
use weighed::{System, Weighed};

/// How to search.
#[derive(Debug, Clone, Copy)]
pub struct Options<'a> {
    /// Most steps that are tried to be improved upon.
    pub iterations: usize,
    /// [`Test::Gradient`]: part of the residuals' length that lies along what the unknowns can change.
    pub gradient_tolerance: f64,
    /// [`Test::Step`]: part of each unknown (or of its prior deviation, if larger).
    pub step_tolerance: f64,
    /// [`Test::Value`]: what the sum of squares could still fall by, in its own unit (a square of standard deviations).
    pub value_tolerance: f64,
    /// Length of the first step, as a part of that of the unknowns, scaled.
    pub first_step: f64,
    /// What to do with outlier groups.
    pub robust: Robust,
    /// Raised from outside to end the search where it stands.
    pub cancel: Option<&'a AtomicBool>,
}

impl Default for Options<'_> {
    fn default() -> Self {
        Self {
            iterations: 200,
            gradient_tolerance: 1e-10,
            step_tolerance: 1e-10,
            value_tolerance: 1e-12,
            first_step: 1.0,
            robust: Robust::No,
            cancel: None,
        }
    }
}

impl Options<'_> {
    fn cancelled(&self) -> bool {
        self.cancel.is_some_and(|flag| flag.load(Ordering::Relaxed))
    }
}

/// By which test a place is the least sum of squares. All are made with the undamped step from there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// The residuals stand at right angles to all that the unknowns can change (D. M. Bates and D. G. Watts 1981, "A relative
    /// offset orthogonality convergence criterion for nonlinear least squares", Technometrics 23).
    Gradient,
    /// No unknown would move.
    Step,
    /// Nothing would be gained, or nothing that could be seen in the digits of the sum of squares.
    Value,
}

/// How a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// At a least sum of squares.
    Converged(Test),
    /// The sum of squares falls no further, but some combination of the unknowns is told neither by readings nor by priors: any
    /// value of it does as well.
    Undetermined,
    /// No step was a gain, though one should be: derivatives that do not belong to the residuals, residuals that jump, or a place
    /// beside which the model has no answer. Not a least sum of squares.
    Stalled,
    /// Too few iterations were allowed. Not a least sum of squares.
    TooManyIterations,
    /// It was cancelled.
    Cancelled,
}

impl Ending {
    /// Whether the place is a least sum of squares.
    #[must_use]
    pub fn is_converged(self) -> bool {
        matches!(self, Self::Converged(_))
    }
}

/// Why there is no fit at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Failure {
    /// The model has no answer, or one that is not finite, at the start.
    NoAnswerAtStart,
    /// What was given does not belong together.
    Malformed(String),
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoAnswerAtStart => write!(f, "the model has no answer at the values to start from"),
            Self::Malformed(what) => write!(f, "{what}"),
        }
    }
}

impl std::error::Error for Failure {}

/// The likeliest unknowns with what is known of them.
#[derive(Debug, Clone)]
pub struct Fit {
    /// The unknowns.
    pub x: Vec<f64>,
    /// How the search ended; all else is about the place where it did.
    pub ending: Ending,
    /// Steps accepted.
    pub iterations: usize,
    /// How often the model was asked.
    pub evaluations: usize,
    /// How far the undamped step from here would lead, in posterior standard deviations: near 0 where converged, and what a search
    /// that ended otherwise may be off by.
    pub remaining_step: f64,
    /// Residuals and derivatives of the readings, unweighted.
    pub readings: Linearised,
    /// Group of each reading.
    pub groups: Vec<usize>,
    /// Weight of each group.
    pub group_weights: Vec<f64>,
    /// The readings' unweighted sum of squares, with the degrees of freedom that the fit left them.
    pub readings_chi_square: ChiSquare,
    /// The priors' sum of squares. Its freedom is the number of combinations with a prior that the readings settled.
    pub priors_chi_square: ChiSquare,
    /// Both together: exactly chi-square distributed for a linear model, with as many degrees of freedom as there are readings less
    /// unknowns without a prior.
    pub chi_square: ChiSquare,
    /// What is known afterwards.
    pub knowledge: Knowledge,
    /// Posterior covariance of the unknowns, over what is told.
    pub covariance: DMatrix<f64>,
    /// Posterior standard deviation of each unknown; infinite where untold.
    pub standard_deviations: Vec<f64>,
    /// Posterior correlations.
    pub correlations: DMatrix<f64>,
    /// Posterior over prior standard deviation of each unknown; absent without a prior.
    pub shrinkages: Vec<Option<f64>>,
    /// Combinations of the unknowns with a prior, the least told first.
    pub directions: Vec<Direction>,
    /// Part of each reading that it settles itself, 0 to 1.
    pub leverages: Vec<f64>,
}

/// Rounds of robust weights; they settle linearly.
const ROUNDS: usize = 100;
/// Weights that move less than this have settled.
const SETTLED: f64 = 1e-9;

/// Fits the unknowns.
///
/// `start`: where to begin; `priors`: one for each unknown; `groups`: for each reading the number of its group, counted from 0.
///
/// # Errors
/// [`Failure`], where the model has no answer at the start or what was given does not belong together. A search that ends before
/// it converges is no error: see [`Fit::ending`].
pub fn fit(
    problem: &mut dyn Problem,
    start: &[f64],
    priors: &[Prior],
    groups: &[usize],
    options: &Options<'_>,
) -> Result<Fit, Failure> {
    check(start, priors, options)?;
    let mut weighed = Weighed { problem, priors, weights: vec![1.0; groups.len()], evaluations: 0 };
    let first = weighed.problem.linearised(start).ok_or(Failure::NoAnswerAtStart)?;
    check_shape(&first, start.len(), groups.len())?;
    if !first.residuals.iter().chain(first.jacobian.iter()).all(|value| value.is_finite()) {
        return Err(Failure::NoAnswerAtStart);
    }
    weighed.evaluations = 1;
    let system = weighed.system_of(first, start);
    let plain = search::search(&mut weighed, start.to_vec(), system, options);
    let (found, group_weights) = reweigh(&mut weighed, plain, groups, options);
    let evaluations = weighed.evaluations;
    describe(found, priors, groups, group_weights, evaluations)
}

fn check(start: &[f64], priors: &[Prior], options: &Options<'_>) -> Result<(), Failure> {
    let malformed = |what: String| Err(Failure::Malformed(what));
    if start.is_empty() {
        return malformed("there is no unknown to fit".into());
    }
    if start.len() != priors.len() {
        return malformed(format!("{} unknowns have {} priors", start.len(), priors.len()));
    }
    if !start.iter().all(|value| value.is_finite()) {
        return malformed("a value to start from is not a finite number".into());
    }
    for (j, prior) in priors.iter().enumerate() {
        if !(prior.standard_deviation > 0.0 && prior.mean.is_finite()) {
            return malformed(format!(
                "the prior of unknown {j} has mean {} and standard deviation {}; the deviation is above 0",
                prior.mean, prior.standard_deviation
            ));
        }
    }
    if !options.robust.is_sound() {
        return malformed("the number of the robust weights is above 0".into());
    }
    Ok(())
}

fn check_shape(first: &Linearised, unknowns: usize, grouped: usize) -> Result<(), Failure> {
    let readings = first.residuals.len();
    if first.jacobian.shape() != (readings, unknowns) {
        let (rows, columns) = first.jacobian.shape();
        return Err(Failure::Malformed(format!(
            "{readings} residuals and {unknowns} unknowns have derivatives of {rows} rows and {columns} columns"
        )));
    }
    if readings != grouped {
        return Err(Failure::Malformed(format!("{readings} residuals, but groups for {grouped}")));
    }
    Ok(())
}

/// Searches again with the weights that the residuals give, until these stay. Student's weights have several resting places; they
/// begin from Huber's, which have one.
fn reweigh(
    weighed: &mut Weighed<'_>,
    mut found: Found,
    groups: &[usize],
    options: &Options<'_>,
) -> (Found, Vec<f64>) {
    let by_group = robust::by_group(groups);
    let mut kept = vec![1.0; by_group.len()];
    let stages: &[Robust] = match options.robust {
        Robust::No => &[],
        Robust::Student { .. } => &[Robust::Huber { bend: 1.345 }, options.robust],
        Robust::Huber { .. } => &[options.robust],
    };
    for stage in stages {
        for _ in 0..ROUNDS {
            let weights = robust::weights(*stage, &by_group, &found.system.readings.residuals);
            let moved = weights.iter().zip(&kept).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            kept = weights;
            if moved <= SETTLED || options.cancelled() {
                break;
            }
            weighed.weights = groups.iter().map(|group| kept[*group]).collect();
            let system = weighed.system_of(found.system.readings.clone(), &found.x);
            let before = found.iterations;
            found = search::search(weighed, found.x, system, options);
            found.iterations += before;
        }
    }
    (found, kept)
}

/// The posterior about the place found.
fn describe(
    found: Found,
    priors: &[Prior],
    groups: &[usize],
    group_weights: Vec<f64>,
    evaluations: usize,
) -> Result<Fit, Failure> {
    let System { readings, residuals, jacobian } = found.system;
    let count = readings.residuals.len();
    let weighted = jacobian.rows(0, count).into_owned();
    let knowledge = Knowledge::new(jacobian)
        .ok_or_else(|| Failure::Malformed("derivatives at the end are not finite".into()))?;
    let standard_deviations = knowledge.standard_deviations();
    let leverages = knowledge.leverages(&weighted);
    let settled: f64 = leverages.iter().sum();
    let open = priors.iter().filter(|prior| !prior.is_known()).count();
    let open = open.saturating_sub(knowledge.untold().len());
    let of_readings: f64 = readings.residuals.iter().map(|r| r * r).sum();
    let of_priors = residuals.rows(count, residuals.len() - count).norm_squared();
    let shrinkage =
        |(after, prior): (&f64, &Prior)| prior.is_known().then_some(after / prior.standard_deviation);
    Ok(Fit {
        ending: found.ending,
        iterations: found.iterations,
        evaluations,
        remaining_step: found.gain.sqrt(),
        readings_chi_square: ChiSquare::new(of_readings, count as f64 - settled),
        priors_chi_square: ChiSquare::new(of_priors, settled - open as f64),
        chi_square: ChiSquare::new(of_readings + of_priors, count as f64 - open as f64),
        covariance: knowledge.covariance(),
        correlations: knowledge.correlations(),
        shrinkages: standard_deviations.iter().zip(priors).map(shrinkage).collect(),
        directions: directions(&weighted, priors),
        x: found.x,
        readings,
        groups: groups.to_vec(),
        group_weights,
        knowledge,
        standard_deviations,
        leverages,
    })
}
