//! The reduced variants as a problem for [`crate::least_squares`].

use lamp::reduced::ReducedLamp;
use nalgebra::DMatrix;

use super::readings::Reading;
use crate::least_squares::{Linearised, Problem};

/// Step of the central differences, in prior standard deviations: what they leave is the third derivative's share, below a
/// millionth.
const STEP: f64 = 1e-2;

/// Rises predicted less measured, in standard deviations, over the departures of the uncertain values.
pub struct RiseProblem<'a> {
    /// The lamp.
    pub reduced: &'a ReducedLamp,
    /// What was measured.
    pub readings: &'a [Reading],
}

/// A quantity of a reduced lamp over the departures, and its gradient by central differences; `None` where there is no state.
pub fn gradient(
    reduced: &ReducedLamp,
    x: &[f64],
    quantity: &mut dyn FnMut(&[f64]) -> Option<f64>,
) -> Option<Vec<f64>> {
    let mut place = x.to_vec();
    let mut found = Vec::with_capacity(x.len());
    for (j, uncertain) in reduced.uncertain.iter().enumerate() {
        let step = STEP * uncertain.spread;
        place[j] = x[j] + step;
        let up = quantity(&place)?;
        place[j] = x[j] - step;
        let down = quantity(&place)?;
        place[j] = x[j];
        found.push((up - down) / (2.0 * step));
    }
    Some(found)
}

/// What a reading would be, K above the room as logged.
#[must_use]
pub fn predicted_rise_k(reduced: &ReducedLamp, x: &[f64], reading: &Reading) -> Option<f64> {
    let state = reduced.state(reading.variant, x, reading.drive_current_a, reading.ambient_c).ok()?;
    state.sensor_c.get(reading.sensor).map(|c| c - reading.ambient_c).filter(|rise| rise.is_finite())
}

impl Problem for RiseProblem<'_> {
    fn linearised(&mut self, x: &[f64]) -> Option<Linearised> {
        let residuals = self.residuals(x)?;
        let mut jacobian = DMatrix::zeros(residuals.len(), x.len());
        for (i, reading) in self.readings.iter().enumerate() {
            let own = |one: &lamp::uncertain::Uncertain| one.holds_for(reading.variant);
            let mut place = x.to_vec();
            for (j, uncertain) in self.reduced.uncertain.iter().enumerate().filter(|(_, u)| own(u)) {
                let step = STEP * uncertain.spread;
                place[j] = x[j] + step;
                let up = predicted_rise_k(self.reduced, &place, reading)?;
                place[j] = x[j] - step;
                let down = predicted_rise_k(self.reduced, &place, reading)?;
                place[j] = x[j];
                jacobian[(i, j)] = (up - down) / (2.0 * step) / reading.standard_k;
            }
        }
        Some(Linearised { residuals, jacobian })
    }

    fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        self.readings
            .iter()
            .map(|r| Some((predicted_rise_k(self.reduced, x, r)? - r.rise_k) / r.standard_k))
            .collect()
    }
}
