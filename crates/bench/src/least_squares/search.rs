//! The search for the least sum of squares: Levenberg-Marquardt with a trust region.
//!
//! After J. J. More 1978, "The Levenberg-Marquardt algorithm: implementation and theory", Lecture Notes in Mathematics 630: the
//! radius by the ratio of true to foreseen gain, columns scaled by the largest norm they had. Where the
//! model bends, a step is corrected to second order, if that is lower: M. K. Transtrum and J. P. Sethna 2012, "Improvements to the
//! Levenberg-Marquardt algorithm for nonlinear least-squares minimization", arXiv:1201.5885. A place counts as the least sum of
//! squares only by what the *undamped* step there would still gain or move: short steps alone prove nothing.

use nalgebra::DVector;

use super::factor::{Factor, column_norms};
use super::weighed::{System, Weighed};
use super::{Ending, Options, Test};

/// The sum of squares is not known better than this part of it, so that gains below it cannot be seen in it.
const ROUNDING: f64 = 1e-13;
/// Gains below this part of the sum of squares may be lost in its rounding where residuals are differences of large numbers.
const DOUBTFUL: f64 = 1e-6;
/// A step that gains less than this part of what it should is worth a look at the model's bend.
const BENT: f64 = 0.75;
/// A correction is not trusted beyond this part of the step (Transtrum and Sethna: 0.75).
const MOST_CORRECTION: f64 = 0.75;
/// Part of the step at which the bend is looked at (the same: 0.1).
const LOOK: f64 = 0.1;

/// Where the search ended.
pub struct Found {
    pub x: Vec<f64>,
    pub system: System,
    pub ending: Ending,
    pub iterations: usize,
    /// What the undamped step would still gain.
    pub gain: f64,
}

struct Search<'a, 'b> {
    weighed: &'a mut Weighed<'b>,
    options: &'a Options<'a>,
    x: Vec<f64>,
    system: System,
    scale: DVector<f64>,
    radius: f64,
    iterations: usize,
}

enum Tried {
    Accepted,
    /// No shorter step is a step.
    Exhausted,
    /// Gains are too small to be seen in the sum of squares, and the slope falls no further.
    Settled,
}

/// Searches from `x`, whose system is given.
pub fn search<'b>(weighed: &mut Weighed<'b>, x: Vec<f64>, system: System, options: &Options<'_>) -> Found {
    let scale = column_norms(&system.jacobian);
    let length = DVector::from_column_slice(&x).component_mul(&scale).norm();
    let radius = options.first_step * if length > 0.0 { length } else { 1.0 };
    let mut search = Search { weighed, options, x, system, scale, radius, iterations: 0 };
    let (ending, gain) = search.run();
    Found { x: search.x, system: search.system, ending, iterations: search.iterations, gain }
}

fn moved(x: &[f64], step: &DVector<f64>) -> Vec<f64> {
    x.iter().zip(step.iter()).map(|(x, s)| x + s).collect()
}

impl Search<'_, '_> {
    fn run(&mut self) -> (Ending, f64) {
        loop {
            let norms = column_norms(&self.system.jacobian);
            self.scale = self.scale.zip_map(&norms, f64::max);
            let Some(factor) = Factor::new(&self.system.jacobian, self.scale.clone(), &self.system.residuals)
            else {
                return (Ending::Stalled, f64::INFINITY);
            };
            let gain = factor.gain();
            if let Some(test) = self.passed(&factor) {
                return (self.converged(test), gain);
            }
            if self.options.cancelled() {
                return (Ending::Cancelled, gain);
            }
            if self.iterations >= self.options.iterations {
                return (Ending::TooManyIterations, gain);
            }
            self.iterations += 1;
            match self.advance(&factor) {
                Tried::Accepted => {}
                Tried::Exhausted => return (Ending::Stalled, gain),
                Tried::Settled => return (self.converged(Test::Value), gain),
            }
        }
    }

    /// Converged, unless a direction is told by nothing: there the sum of squares has no least place. Columns are looked at as
    /// large as they once were, so that one that faded away on a plain without end counts as nothing.
    fn converged(&self, test: Test) -> Ending {
        let told = |scale: DVector<f64>| {
            Factor::new(&self.system.jacobian, scale, &self.system.residuals)
                .is_some_and(|factor| factor.untold().is_empty())
        };
        let told = told(self.scale.clone()) && told(column_norms(&self.system.jacobian));
        if told { Ending::Converged(test) } else { Ending::Undetermined }
    }

    /// Which of the tests the place passes, by the undamped step from it.
    fn passed(&self, factor: &Factor) -> Option<Test> {
        let (gain, square) = (factor.gain(), self.system.square());
        let step = factor.step(0.0);
        let small = |j: usize| {
            let known = self.weighed.priors[j].standard_deviation;
            let size = if known.is_finite() { self.x[j].abs().max(known) } else { self.x[j].abs() };
            step[j].abs() <= self.options.step_tolerance * size
        };
        if gain.sqrt() <= self.options.gradient_tolerance * square.sqrt() {
            Some(Test::Gradient)
        } else if gain <= self.options.value_tolerance {
            Some(Test::Value)
        } else if (0..self.x.len()).all(small) {
            Some(Test::Step)
        } else {
            None
        }
    }

    /// Tries steps from here, shorter each time, until one is good.
    fn advance(&mut self, factor: &Factor) -> Tried {
        let before = self.system.square();
        if factor.gain() <= ROUNDING * before {
            return self.polish(factor);
        }
        let place = DVector::from_column_slice(&self.x).component_mul(&self.scale).norm();
        loop {
            let damping = factor.damping_for(self.radius);
            let step = factor.step(damping);
            let length = factor.scaled_length(&step);
            let foreseen = factor.gain_damped(damping);
            let mut next = moved(&self.x, &step);
            let mut square = self.weighed.residuals(&next).map(|r| r.norm_squared());
            // What the model's bend costs, a step along the bend may bring back.
            if square.is_some_and(|square| before - square < BENT * foreseen)
                && let Some((along, lower)) = self.along_the_bend(factor, &step, damping)
                && square.is_some_and(|square| lower < square)
            {
                (next, square) = (along, Some(lower));
            }
            let ratio = square.map(|square| (before - square) / foreseen);
            self.adapt_radius(ratio, length);
            if ratio.is_some_and(|ratio| ratio > 1e-4)
                && let Some(system) = self.weighed.system(&next)
            {
                (self.x, self.system) = (next, system);
                return Tried::Accepted;
            }
            // Residuals may be small differences of large numbers, with a sum of squares rounder than it looks.
            if damping == 0.0
                && foreseen <= DOUBTFUL * before
                && matches!(self.polish(factor), Tried::Accepted)
            {
                return Tried::Accepted;
            }
            if self.radius <= f64::EPSILON * place.max(f64::MIN_POSITIVE) || self.options.cancelled() {
                return Tried::Exhausted;
            }
        }
    }

    fn adapt_radius(&mut self, ratio: Option<f64>, length: f64) {
        match ratio {
            None => self.radius = 0.25 * length.min(self.radius),
            Some(ratio) if ratio < 0.25 || ratio.is_nan() => {
                // The parabola through value, slope and new value, kept between a tenth and a half.
                let shorter = 1.0 / (2.0 * (1.0 - ratio).max(1.0));
                self.radius = length.min(self.radius) * shorter.clamp(0.1, 0.5);
            }
            Some(ratio) if ratio > 0.75 => self.radius = self.radius.max(2.0 * length),
            Some(_) => {}
        }
    }

    /// The place that a step leads to with its second-order correction, and the sum of squares there.
    fn along_the_bend(
        &mut self,
        factor: &Factor,
        step: &DVector<f64>,
        damping: f64,
    ) -> Option<(Vec<f64>, f64)> {
        let near = self.weighed.residuals(&moved(&self.x, &(step * LOOK)))?;
        let bend = ((near - &self.system.residuals) / LOOK - &self.system.jacobian * step) * (2.0 / LOOK);
        let correction = factor.step_against(&self.system.jacobian, &bend, damping) * 0.5;
        let part = 2.0 * factor.scaled_length(&correction) / factor.scaled_length(step);
        if part.is_nan() || part > MOST_CORRECTION {
            return None;
        }
        let next = moved(&self.x, &(step + correction));
        let square = self.weighed.residuals(&next)?.norm_squared();
        Some((next, square))
    }

    /// Last digits: the gain is too small to be seen in the sum of squares, so a step is good if it lessens what is left to gain.
    fn polish(&mut self, factor: &Factor) -> Tried {
        let next = moved(&self.x, &factor.step(0.0));
        let Some(system) = self.weighed.system(&next) else { return Tried::Settled };
        let left = Factor::new(&system.jacobian, self.scale.clone(), &system.residuals).map(|f| f.gain());
        if left.is_some_and(|left| left < 0.9 * factor.gain()) {
            (self.x, self.system) = (next, system);
            self.radius = self.radius.max(factor.scaled_length(&factor.step(0.0)));
            return Tried::Accepted;
        }
        Tried::Settled
    }
}
