//! All variants of a lamp, reduced, each with the full model that it came from.

use std::sync::Mutex;
use std::sync::atomic::AtomicBool;

use super::{NoState, Reduced, ReducedState};
use crate::as_built::Lamp;
use crate::findings::Run;
use crate::model::{GridChoice, Model, ModelError};
use crate::uncertain::{Departures, Uncertain, uncertain_values};

/// Part of the current by which the reference is lowered while there is no steady state there.
const LOWERED: f64 = 0.7;
/// How often.
const LOWERINGS: usize = 12;

/// A lamp's variants, reduced about their nominal current and room.
pub struct ReducedLamp {
    /// The variants in the order of the lamp's.
    pub variants: Vec<ReducedVariant>,
    /// The values that are not known exactly.
    pub uncertain: Vec<Uncertain>,
}

/// One of them.
pub struct ReducedVariant {
    /// Reduced.
    pub reduced: Reduced,
    /// What the full model found where it was reduced.
    pub reference: Run,
    model: Model,
}

/// The reduced variant beside the full model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Comparison {
    /// Largest difference of a junction, solder point or sensor, K.
    pub apart_k: f64,
    /// The hottest junction's rise in the full model, K.
    pub rise_k: f64,
}

impl ReducedLamp {
    /// Solves and reduces every variant, side by side; `done` is told how many are ready.
    ///
    /// # Errors
    /// When a variant cannot be put on a grid, has no steady state at any current, or when cancelled.
    pub fn new(
        lamp: &Lamp,
        (choice, threads): (&GridChoice, usize),
        done: &mut (dyn FnMut(usize) + Send),
        cancel: &AtomicBool,
    ) -> Result<Self, ModelError> {
        let count = lamp.variants.len();
        let ready = Mutex::new((0, done));
        let next = Mutex::new(0..count);
        let made: Mutex<Vec<Option<Result<ReducedVariant, ModelError>>>> =
            Mutex::new((0..count).map(|_| None).collect());
        let threads = threads.max(1);
        let take = || next.lock().ok()?.next();
        std::thread::scope(|scope| {
            for _ in 0..threads.min(count) {
                scope.spawn(|| {
                    while let Some(index) = take() {
                        let variant =
                            ReducedVariant::new(lamp, index, choice, threads.div_ceil(count), cancel);
                        if let Ok(mut made) = made.lock() {
                            made[index] = Some(variant);
                        }
                        if let Ok(mut ready) = ready.lock() {
                            ready.0 += 1;
                            let told = ready.0;
                            (ready.1)(told);
                        }
                    }
                });
            }
        });
        let broken = || ModelError::Problem("a calculating thread broke off".to_owned());
        let made = made.into_inner().map_err(|_| broken())?;
        let variants =
            made.into_iter().map(|one| one.unwrap_or_else(|| Err(broken()))).collect::<Result<_, _>>()?;
        Ok(Self { variants, uncertain: uncertain_values(lamp) })
    }

    /// What a variant settles at with a departure for each uncertain value.
    ///
    /// # Errors
    /// As [`Reduced::state`].
    pub fn state(
        &self,
        variant: usize,
        departures: &[f64],
        drive_a: f64,
        ambient_c: f64,
    ) -> Result<ReducedState, NoState> {
        let own = Departures::for_variant(&self.uncertain, departures, variant);
        self.variants.get(variant).ok_or(NoState::OutOfReach)?.reduced.state(&own, drive_a, ambient_c)
    }

    /// Compares a variant with its full model at a departure for each uncertain value; `None` where neither has a state.
    ///
    /// # Errors
    /// When cancelled or the solver does not converge.
    pub fn compare(
        &mut self,
        variant: usize,
        departures: &[f64],
        drive_a: f64,
        ambient_c: f64,
        cancel: &AtomicBool,
    ) -> Result<Option<Comparison>, ModelError> {
        let own = Departures::for_variant(&self.uncertain, departures, variant);
        let Some(one) = self.variants.get_mut(variant) else { return Ok(None) };
        one.model.depart(&own)?;
        let run = one.model.run(drive_a, ambient_c, cancel)?;
        one.model.depart(&Departures::default())?;
        // The room's and the sensor's own errors are not the full model's.
        let bare = own.only(|value| value.is_of_lamp());
        let Ok(state) = one.reduced.state(&bare, drive_a, ambient_c) else { return Ok(None) };
        Ok(apart(&run, &state))
    }
}

fn apart(full: &Run, reduced: &ReducedState) -> Option<Comparison> {
    let hottest_c = full.hottest_junction_c?;
    let pairs = full.emitters.iter().zip(reduced.junction_c.iter().zip(&reduced.solder_c));
    let emitters = pairs.flat_map(|(e, (junction, solder))| {
        [e.junction_c.map(|c| c - junction), e.solder_c.map(|c| c - solder)].into_iter().flatten()
    });
    let sensors = full.sensors.iter().zip(&reduced.sensor_c).filter_map(|(s, r)| Some(s.reading_c? - r));
    let apart_k = emitters.chain(sensors).filter(|d| d.is_finite()).fold(0.0f64, |m, d| m.max(d.abs()));
    Some(Comparison { apart_k, rise_k: hottest_c - full.ambient_c })
}

impl ReducedVariant {
    fn new(
        lamp: &Lamp,
        index: usize,
        choice: &GridChoice,
        threads: usize,
        cancel: &AtomicBool,
    ) -> Result<Self, ModelError> {
        let variant = &lamp.variants[index];
        let mut model = Model::new(lamp, variant, choice, threads)?;
        let mut current_a = lamp.nominal_current_a;
        for _ in 0..LOWERINGS {
            let reference = model.run(current_a, lamp.ambient_c, cancel)?;
            if reference.hottest_junction_c.is_some() || variant.emitters.is_empty() {
                let reduced = model.reduce(cancel)?;
                return Ok(Self { reduced, reference, model });
            }
            current_a *= LOWERED;
        }
        Err(ModelError::Problem(format!(
            "variant {}: no steady state down to {current_a:.2} A, so there is nothing to go from",
            variant.name
        )))
    }
}
