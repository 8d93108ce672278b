//! What to set: the highest safe current against the room, the sensor reading at which to throttle, light, life, and what to change,
//! each with its doubt.
//!
//! Many lamps are drawn from what is known of the uncertain values ([`crate::fit::Posterior`]: the tolerances, or what the plateaus
//! left of them) and from the emitters' voltage spread, and each is asked through the reduced variant. Bands are the middle 95 % of
//! the draws, so that what is not linear is in them.

mod changes;
mod findings;
mod life;
mod margins;
mod telling;
#[cfg(test)]
mod tests;

use std::sync::atomic::{AtomicBool, Ordering};

use lamp::as_built::{Lamp, Variant};
use lamp::reduced::ReducedLamp;

use crate::draws::{Draws, Shape, chance, spread};
use crate::fit::{Posterior, grid_error_k};

pub use changes::Change;
pub use findings::{
    ChanceFinding, LifeFinding, LightFinding, SafeCurrent, Throttle, VerdictFindings, Weakest,
};
pub use margins::{Built, LimitOf, Limits};

/// Lamps drawn for bands.
pub(crate) const FOR_BANDS: u32 = 256;
/// Lamps drawn for the chance that one passes.
const FOR_CHANCE: u32 = 4096;
/// Rooms of the curve, degC, besides the lamp's own and the hottest.
const ROOMS_C: [f64; 9] = [-10.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0];

/// Why there is no verdict.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoVerdict {
    /// What stands against it, in words.
    Problem(String),
    /// It was cancelled.
    Cancelled,
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Index of the variant.
    pub variant: usize,
    /// Hottest room that the lamp must stand, degC.
    pub hottest_c: f64,
    /// Seed of the draws.
    pub seed: u32,
    /// Threads to ask with; no bit depends on it.
    pub threads: usize,
}

/// A lamp as it may have been built.
pub(crate) struct Drawn {
    departures: Vec<f64>,
    spread_k_per_a: Vec<f64>,
    grid_part: f64,
}

/// The verdict for one variant.
///
/// # Errors
/// When the variant has no emitters or no state at all, or when cancelled.
pub fn verdict(
    lamp: &Lamp,
    reduced: &ReducedLamp,
    posterior: &Posterior,
    asked: Asked,
    cancel: &AtomicBool,
) -> Result<VerdictFindings, NoVerdict> {
    let problem = |text: String| Err(NoVerdict::Problem(text));
    let Some(variant) = lamp.variants.get(asked.variant).filter(|_| asked.variant < reduced.variants.len())
    else {
        return problem("there is no such variant".to_owned());
    };
    if variant.emitters.is_empty() {
        return problem(format!("variant {} has no emitters, so there is nothing to set", variant.name));
    }
    let limits = Limits::of(lamp, variant);
    let none = vec![0.0; variant.emitters.len()];
    let likeliest = Built {
        reduced,
        variant: asked.variant,
        limits: &limits,
        departures: &posterior.departures,
        spread_k_per_a: &none,
        grid_part: 0.0,
    };
    let draws = draws(variant, posterior, asked.seed).map_err(NoVerdict::Problem)?;
    let work = Work { lamp, variant, likeliest: &likeliest, draws: &draws, asked, cancel };
    let safe_currents = work.safe_currents()?;
    let hottest = safe_currents.iter().find(|s| s.is_of_room(asked.hottest_c));
    let mut found = VerdictFindings {
        variant: variant.name.clone(),
        title: variant.title.clone(),
        fitted: posterior.fitted,
        nominal_current_a: lamp.nominal_current_a,
        ambient_c: lamp.ambient_c,
        hottest_ambient_c: asked.hottest_c,
        drawn: FOR_BANDS,
        answers: Vec::new(),
        passes: hottest.is_some_and(|s| s.current_a >= lamp.nominal_current_a),
        safe_currents,
        throttle: work.throttle()?,
        light: work.light(),
        life: life::life(&work),
        chance: work.chance()?,
        weakest: work.weakest()?,
        changes: changes::changes(&work),
        remarks: Vec::new(),
    };
    telling::tell(&mut found, lamp, variant);
    Ok(found)
}

/// What all parts of a verdict need.
pub(crate) struct Work<'a> {
    pub lamp: &'a Lamp,
    pub variant: &'a Variant,
    pub likeliest: &'a Built<'a>,
    pub draws: &'a Draws,
    pub asked: Asked,
    pub cancel: &'a AtomicBool,
}

/// The uncertain values together, then each emitter's voltage.
pub(crate) fn draws(variant: &Variant, posterior: &Posterior, seed: u32) -> Result<Draws, String> {
    let mut draws = Draws::new(seed).and_together(&posterior.departures, &posterior.covariance)?;
    // Each emitter's voltage, and what the grid hides.
    for _ in 0..=variant.emitters.len() {
        draws = draws.and(Shape::STANDARD)?;
    }
    Ok(draws)
}

impl Work<'_> {
    /// A lamp by its number. An emitter whose forward voltage lies `v` above the sheet's has `v I` more heat and its junction `R v I` more
    /// rise over its solder point; the limits of `v` are taken as those of an even distribution.
    pub fn drawn(&self, number: u32) -> Drawn {
        let mut values = self.draws.draw(number);
        let mut voltages = values.split_off(self.likeliest.departures.len());
        let grid = voltages.pop().unwrap_or(0.0);
        let spread = |(emitter, z): (&lamp::as_built::PlacedEmitter, f64)| {
            let package = lamp::emitter_physics::real_junction_to_solder_k_per_w(&emitter.sheet);
            package * emitter.current_share * z * emitter.sheet.forward_v_tolerance_v / 3f64.sqrt()
        };
        let spread_k_per_a = self.variant.emitters.iter().zip(voltages).map(spread).collect();
        let grid_part = grid * grid_error_k(self.likeliest.reduced, self.asked.variant, 1.0);
        Drawn { departures: values, spread_k_per_a, grid_part }
    }

    /// Asks each of so many lamps; what has no answer is left out.
    pub fn of_each<T: Send>(
        &self,
        count: u32,
        ask: impl Fn(&Built<'_>) -> Option<T> + Sync,
    ) -> Result<Vec<T>, NoVerdict> {
        let threads = u32::try_from(self.asked.threads.max(1)).unwrap_or(1);
        let part = |thread: u32| -> Vec<(u32, T)> {
            let own = (thread..count).step_by(threads as usize);
            own.take_while(|_| !self.cancel.load(Ordering::Relaxed))
                .filter_map(|number| {
                    let drawn = self.drawn(number);
                    let built = Built {
                        departures: &drawn.departures,
                        spread_k_per_a: &drawn.spread_k_per_a,
                        grid_part: drawn.grid_part,
                        ..*self.likeliest
                    };
                    ask(&built).map(|found| (number, found))
                })
                .collect()
        };
        let mut all: Vec<(u32, T)> = std::thread::scope(|scope| {
            let running: Vec<_> = (0..threads).map(|t| scope.spawn(move || part(t))).collect();
            running.into_iter().filter_map(|thread| thread.join().ok()).flatten().collect()
        });
        if self.cancel.load(Ordering::Relaxed) {
            return Err(NoVerdict::Cancelled);
        }
        // The same order whatever thread did which.
        all.sort_by_key(|(number, _)| *number);
        Ok(all.into_iter().map(|(_, found)| found).collect())
    }

    fn safe_currents(&self) -> Result<Vec<SafeCurrent>, NoVerdict> {
        let mut rooms_c: Vec<f64> = ROOMS_C.to_vec();
        rooms_c.extend([self.lamp.ambient_c, self.asked.hottest_c]);
        rooms_c.sort_by(f64::total_cmp);
        rooms_c.dedup_by(|a, b| (*a - *b).abs() < 0.5);
        let likeliest: Vec<(f64, LimitOf, usize)> =
            rooms_c.iter().map(|room| self.likeliest.safe_current(*room, 0.0)).collect();
        let drawn = self.of_each(FOR_BANDS, |built| {
            let near = rooms_c.iter().zip(&likeliest);
            Some(near.map(|(room, near)| built.safe_current(*room, near.0).0).collect::<Vec<f64>>())
        })?;
        let one = |(k, room_c): (usize, &f64)| {
            let (current_a, of, at) = likeliest[k];
            let band = spread(&drawn.iter().map(|d| d[k]).collect::<Vec<f64>>());
            SafeCurrent {
                ambient_c: *room_c,
                current_a,
                low_a: band.map_or(current_a, |b| b.low_95),
                high_a: band.map_or(current_a, |b| b.high_95),
                limited_by: of.words(),
                emitter: (of != LimitOf::Board).then(|| self.variant.emitters[at].reference.clone()),
            }
        };
        Ok(rooms_c.iter().enumerate().map(one).collect())
    }

    /// The reading at which the driver must throttle so that no junction of nearly any lamp passes its limit.
    fn throttle(&self) -> Result<Option<Throttle>, NoVerdict> {
        let drive_a = self.lamp.nominal_current_a;
        let reading = |built: &Built<'_>, room_c: Option<f64>| -> Option<f64> {
            let state = built.state(drive_a, room_c?).ok()?;
            state.sensor_c.get(self.lamp.watched_sensor()?).copied().filter(|c| c.is_finite())
        };
        let at_junction = |built: &Built<'_>| reading(built, built.room_at_junction_limit(drive_a));
        let at_first = |built: &Built<'_>| reading(built, built.room_at_first_limit(drive_a));
        let Some(likeliest_c) = at_junction(self.likeliest) else { return Ok(None) };
        let Some(band) = spread(&self.of_each(FOR_BANDS, at_junction)?) else { return Ok(None) };
        let first = spread(&self.of_each(FOR_BANDS, at_first)?);
        let first_limit = self.likeliest.room_at_first_limit(drive_a).and_then(|room_c| {
            let state = self.likeliest.state(drive_a, room_c).ok()?;
            Some(self.likeliest.limits.excess_k(&state, &[]).1.words())
        });
        let sensor = self.lamp.watched().map(|s| s.name.clone()).unwrap_or_default();
        Ok(Some(Throttle {
            sensor,
            current_a: drive_a,
            reading_c: band.low_95,
            likeliest_c,
            high_c: band.high_95,
            output_v: None,
            output_ohm: None,
            first_limit_reading_c: first.map(|f| f.low_95),
            first_limit,
        }))
    }

    fn light(&self) -> Vec<LightFinding> {
        let drive_a = self.lamp.nominal_current_a;
        let at = |room_c: f64| {
            let state = self.likeliest.state(drive_a, room_c).ok()?;
            let drawn = self.of_each(FOR_BANDS, |b| Some(b.state(drive_a, room_c).ok()?.light_lm)).ok()?;
            let band = spread(&drawn)?;
            let binning = self.variant.emitters.iter().map(|e| e.sheet.binning_junction_c);
            let hotter_k = state
                .junction_c
                .iter()
                .zip(binning.clone())
                .map(|(c, b)| c - b)
                .fold(f64::NEG_INFINITY, f64::max);
            Some(LightFinding {
                ambient_c: room_c,
                light_lm: state.light_lm,
                low_lm: band.low_95,
                high_lm: band.high_95,
                per_watt_lm_per_w: if state.electrical_w > 0.0 {
                    state.light_lm / state.electrical_w
                } else {
                    0.0
                },
                above_binning_k: hotter_k,
                binning_junction_c: binning.fold(f64::NEG_INFINITY, f64::max),
            })
        };
        [self.lamp.ambient_c, self.asked.hottest_c].into_iter().filter_map(at).collect()
    }

    fn chance(&self) -> Result<Option<ChanceFinding>, NoVerdict> {
        let (drive_a, room_c) = (self.lamp.nominal_current_a, self.asked.hottest_c);
        let passed = self.of_each(FOR_CHANCE, |built| Some(built.excess_k(drive_a, room_c).0 <= 0.0))?;
        let count = passed.iter().filter(|p| **p).count();
        Ok(chance(count, passed.len()).map(|c| ChanceFinding {
            current_a: drive_a,
            ambient_c: room_c,
            passed: c.passed,
            of: c.of,
            part: c.part,
            low_95: c.low_95,
            high_95: c.high_95,
        }))
    }

    fn weakest(&self) -> Result<Option<Weakest>, NoVerdict> {
        let (drive_a, room_c) = (self.lamp.nominal_current_a, self.asked.hottest_c);
        let (excess, of, at) = self.likeliest.excess_k(drive_a, room_c);
        if of == LimitOf::Runaway {
            return Ok(None);
        }
        let drawn = self.of_each(FOR_BANDS, |built| Some(-built.excess_k(drive_a, room_c).0))?;
        Ok(spread(&drawn).map(|band| Weakest {
            limit: of.words(),
            emitter: (of != LimitOf::Board).then(|| self.variant.emitters[at].reference.clone()),
            margin_k: -excess,
            low_k: band.low_95,
            high_k: band.high_95,
        }))
    }
}
