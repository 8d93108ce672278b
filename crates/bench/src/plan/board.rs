//! One variant of a lamp by itself, reduced, and the lamps that may be built of it.
//!
//! A variant is taken as a lamp of its own, so that a recording of one board finds the same abort reading as the plan of all.

use std::sync::atomic::AtomicBool;

use lamp::as_built::{Lamp, Variant};
use lamp::model::{GridChoice, ModelError};
use lamp::reduced::{ReducedLamp, ReducedState};
use lamp::uncertain::{Uncertain, uncertain_values};

use super::NoPlan;
use super::findings::{AbortReading, Expected, OtherReading, Skipped};
use crate::draws::spread;
use crate::fit::Posterior;
use crate::sensor::{output_ohm, output_v};
use crate::verdict::{Asked, Built, FOR_BANDS, LimitOf, Limits, NoVerdict, Work, draws};

/// From which the lamps are drawn.
const SEED: u32 = 1;

/// A variant by itself.
pub struct Board {
    /// The lamp with this variant alone.
    pub lamp: Lamp,
    reduced: ReducedLamp,
    posterior: Posterior,
    limits: Limits,
    threads: usize,
}

/// Currents that may be taken, those that may not, and the abort reading for them.
pub struct Allowed {
    /// Ascending, A.
    pub currents_a: Vec<f64>,
    /// The others.
    pub skipped: Vec<Skipped>,
    /// For the highest of them.
    pub abort: Option<AbortReading>,
}

impl Board {
    /// Solves and reduces the variant of this index.
    ///
    /// # Errors
    /// When it cannot be computed, or when cancelled.
    pub fn new(
        lamp: &Lamp,
        index: usize,
        (choice, threads): (&GridChoice, usize),
        cancel: &AtomicBool,
    ) -> Result<Self, ModelError> {
        let variant = lamp.variants.get(index).cloned();
        let variant = variant.ok_or_else(|| ModelError::Problem("there is no such variant".to_owned()))?;
        let limits = Limits::of(lamp, &variant);
        let lamp = Lamp { variants: vec![variant], ..lamp.clone() };
        let reduced = ReducedLamp::new(&lamp, (choice, threads), &mut |_| {}, cancel)?;
        let posterior = Posterior::prior(&reduced);
        Ok(Self { lamp, reduced, posterior, limits, threads })
    }

    /// The variant.
    #[must_use]
    pub fn variant(&self) -> &Variant {
        &self.lamp.variants[0]
    }

    /// What the full model found at the nominal current.
    #[must_use]
    pub fn reference(&self) -> &lamp::findings::Run {
        &self.reduced.variants[0].reference
    }

    /// The likeliest lamp's state at a drive current, A, in the room of the lamp; `None` where it has none.
    #[must_use]
    pub fn likeliest(&self, drive_a: f64) -> Option<ReducedState> {
        self.reduced.state(0, &self.posterior.departures, drive_a, self.lamp.ambient_c).ok()
    }

    /// Asks lamps that may be built; what has no answer is left out.
    fn of_each<T: Send>(
        &self,
        cancel: &AtomicBool,
        ask: impl Fn(&Built<'_>) -> Option<T> + Sync,
    ) -> Result<Vec<T>, NoPlan> {
        let none = vec![0.0; self.variant().emitters.len()];
        let likeliest = self.built(&none);
        let draws = draws(self.variant(), &self.posterior, SEED).map_err(NoPlan::Problem)?;
        let asked = Asked { variant: 0, hottest_c: self.lamp.hottest_c, seed: SEED, threads: self.threads };
        let work = Work {
            lamp: &self.lamp,
            variant: self.variant(),
            likeliest: &likeliest,
            draws: &draws,
            asked,
            cancel,
        };
        work.of_each(FOR_BANDS, ask).map_err(|why| match why {
            NoVerdict::Cancelled => NoPlan::Cancelled,
            NoVerdict::Problem(text) => NoPlan::Problem(text),
        })
    }

    fn built<'a>(&'a self, spread_k_per_a: &'a [f64]) -> Built<'a> {
        Built {
            reduced: &self.reduced,
            variant: 0,
            limits: &self.limits,
            departures: &self.posterior.departures,
            spread_k_per_a,
            grid_part: 0.0,
        }
    }

    /// Which of some currents, A, may be taken, from the lowest up: below the emitters' limit, with no limit of the likeliest lamp
    /// passed in the lamp's room, and with an expected reading below the abort reading.
    ///
    /// # Errors
    /// When cancelled.
    pub fn allowed(&self, currents_a: &[f64], cancel: &AtomicBool) -> Result<Allowed, NoPlan> {
        let (mut taken, mut skipped): (Vec<f64>, Vec<Skipped>) = (Vec::new(), Vec::new());
        for &current_a in currents_a {
            match self.passes_limit(current_a) {
                Some(why) => skipped.push(Skipped { current_a, why }),
                None => taken.push(current_a),
            }
        }
        loop {
            let Some(&top_a) = taken.last() else {
                return Ok(Allowed { currents_a: taken, skipped, abort: None });
            };
            let abort = self.abort_reading(top_a, cancel)?;
            let reading_c = self.likeliest(top_a).and_then(|s| self.watched_c(&s));
            let (Some(found), Some(reading_c)) = (&abort, reading_c) else {
                return Ok(Allowed { currents_a: taken, skipped, abort });
            };
            if reading_c < found.above_c {
                return Ok(Allowed { currents_a: taken, skipped, abort });
            }
            let why = format!(
                "the expected reading of {reading_c:.0} degC is above the abort reading of {:.0} degC there",
                found.above_c
            );
            taken.pop();
            skipped.insert(0, Skipped { current_a: top_a, why });
        }
    }

    fn passes_limit(&self, current_a: f64) -> Option<String> {
        if current_a > self.limits.drive_a * (1.0 + 1e-9) {
            return Some(format!("it is above the emitters' own limit of {:.3} A", self.limits.drive_a));
        }
        let (excess_k, of, at) = self.built(&[]).excess_k(current_a, self.lamp.ambient_c);
        let place = || match of {
            LimitOf::Board => "the board".to_owned(),
            of => {
                let emitter = self.variant().emitters.get(at).map_or("an emitter", |e| e.reference.as_str());
                format!(
                    "the {} of {emitter}",
                    if of == LimitOf::Solder { "solder point" } else { of.words() }
                )
            }
        };
        match of {
            LimitOf::Runaway => Some("no steady state is expected: the lamp would run away".to_owned()),
            _ if excess_k > 0.0 => Some(format!("{} is expected {excess_k:.0} K above its limit", place())),
            _ => None,
        }
    }

    /// The reading of the watched sensor at which to break off: the low end of the 95 % band, over lamps that may be built, of what it
    /// reads when the first temperature limit is met at a drive current, A, because room or cooling are worse than thought. At
    /// lower currents the hottest places lie nearer to the sensor, so that it errs to the careful side there.
    ///
    /// # Errors
    /// When cancelled.
    pub fn abort_reading(&self, drive_a: f64, cancel: &AtomicBool) -> Result<Option<AbortReading>, NoPlan> {
        let Some(sensor) = self.lamp.watched() else { return Ok(None) };
        let at_limit = |built: &Built<'_>| {
            let room_c = built.room_at_first_limit(drive_a)?;
            built.state(drive_a, room_c).ok()
        };
        let reading = |state: ReducedState| self.watched_c(&state);
        let likeliest = self.built(&[]);
        let Some(state) = at_limit(&likeliest) else { return Ok(None) };
        let (_, of, at) = self.limits.excess_k(&state, &[]);
        let band = spread(&self.of_each(cancel, |built| reading(at_limit(built)?))?);
        let (Some(likeliest_c), Some(band)) = (reading(state), band) else { return Ok(None) };
        // Rounded to the careful side: a reading is not known better.
        let above_c = band.low_95.min(likeliest_c).floor();
        let emitter = self.variant().emitters.get(at);
        let limit_c = match of {
            LimitOf::Board => self.lamp.board_limit_c,
            LimitOf::Solder => emitter.and_then(|e| e.solder_limit_c(&self.lamp)),
            _ => emitter.map(|e| e.sheet.junction_limit_c),
        };
        Ok(limit_c.map(|limit_c| AbortReading {
            sensor: sensor.name.clone(),
            current_a: drive_a,
            above_c,
            likeliest_c,
            output_v: sensor.law.and_then(|law| output_v(law, above_c)),
            output_ohm: sensor.law.and_then(|law| output_ohm(law, above_c)),
            limit: of.words(),
            limit_c,
        }))
    }

    /// What to expect at a drive current, A; `None` where there is no steady state.
    ///
    /// # Errors
    /// When cancelled.
    pub fn expected(&self, drive_a: f64, cancel: &AtomicBool) -> Result<Option<Expected>, NoPlan> {
        let room_c = self.lamp.ambient_c;
        let Some(likeliest) = self.likeliest(drive_a) else { return Ok(None) };
        let drawn = self.of_each(cancel, |built| {
            let state = built.state(drive_a, room_c).ok()?;
            let junction_c = state.hottest_junction_c();
            Some((self.watched_c(&state)?, junction_c, state.sensor_c))
        })?;
        let sensors = spread(&drawn.iter().map(|d| d.0).collect::<Vec<f64>>());
        let junctions = spread(&drawn.iter().map(|d| d.1).collect::<Vec<f64>>());
        let (Some(sensor_c), Some(band), Some(junction)) = (self.watched_c(&likeliest), sensors, junctions)
        else {
            return Ok(None);
        };
        let law = self.lamp.watched().and_then(|s| s.law);
        let three = |of: fn(lamp::sensor_law::SensorLaw, f64) -> Option<f64>| {
            let law = law?;
            Some([of(law, sensor_c)?, of(law, band.low_95)?, of(law, band.high_95)?])
        };
        Ok(Some(Expected {
            current_a: drive_a,
            sensor_c,
            low_c: band.low_95,
            high_c: band.high_95,
            output_v: three(output_v),
            output_ohm: three(output_ohm),
            junction_c: likeliest.hottest_junction_c(),
            junction_high_c: junction.high_95,
            electrical_w: likeliest.electrical_w,
            heat_w: likeliest.heat_w.iter().sum(),
            others: self.others(&likeliest, &drawn.iter().map(|d| d.2.as_slice()).collect::<Vec<_>>()),
        }))
    }

    /// What the watched sensor reads, degC.
    pub fn watched_c(&self, state: &ReducedState) -> Option<f64> {
        state.sensor_c.get(self.lamp.watched_sensor()?).copied().filter(|c| c.is_finite())
    }

    /// What the other sensors that read their places are expected to show, with the band of the drawn lamps.
    fn others(&self, likeliest: &ReducedState, drawn: &[&[f64]]) -> Vec<OtherReading> {
        let watched = self.lamp.watched_sensor();
        let of = |(index, sensor): (usize, &lamp::as_built::Sensor)| {
            let sensor_c = likeliest.sensor_c.get(index).copied().filter(|c| c.is_finite())?;
            let band = spread(&drawn.iter().filter_map(|d| d.get(index).copied()).collect::<Vec<f64>>())?;
            let name = sensor.name.clone();
            Some(OtherReading { sensor: name, sensor_c, low_c: band.low_95, high_c: band.high_95 })
        };
        let reads = |(index, sensor): &(usize, &lamp::as_built::Sensor)| {
            watched != Some(*index) && sensor.reads_its_place()
        };
        self.lamp.sensors.iter().enumerate().filter(reads).filter_map(of).collect()
    }

    /// Readings of the watched sensor at a drive current, A, with departures of the whole lamp's values, of which this variant takes
    /// its own.
    fn reading_with(&self, all: &[(Uncertain, f64)], index: usize, drive_a: f64) -> Option<f64> {
        let of = |own: &Uncertain| {
            let is_same =
                |u: &Uncertain| u.value == own.value && u.sensor == own.sensor && u.holds_for(index);
            let same = all.iter().find(|(u, _)| is_same(u));
            same.map_or(0.0, |(_, x)| *x)
        };
        let own: Vec<f64> = self.reduced.uncertain.iter().map(of).collect();
        let state = self.reduced.state(0, &own, drive_a, self.lamp.ambient_c).ok()?;
        self.watched_c(&state)
    }
}

/// What the reading of one variant exceeds that of another by at a drive current, A: likeliest, low and high end of the band, K.
/// Values that both share depart together; the sensor's own error is taken off by its reading without power.
#[must_use]
pub fn difference_k(
    lamp: &Lamp,
    one: (usize, &Board),
    other: (usize, &Board),
    drive_a: f64,
) -> Option<[f64; 3]> {
    let uncertain = uncertain_values(lamp);
    let spreads: Vec<f64> = uncertain
        .iter()
        .map(|u| if u.value == lamp::uncertain::Value::SensorOffset { 0.0 } else { u.spread })
        .collect();
    let covariance = nalgebra::DMatrix::from_diagonal(&nalgebra::DVector::from_vec(
        spreads.iter().map(|s| s * s).collect(),
    ));
    let zeros = vec![0.0; uncertain.len()];
    let draws = crate::draws::Draws::new(SEED).and_together(&zeros, &covariance).ok()?;
    let apart = |values: &[f64]| {
        let all: Vec<(Uncertain, f64)> = uncertain.iter().cloned().zip(values.iter().copied()).collect();
        let reading = |(index, board): (usize, &Board)| board.reading_with(&all, index, drive_a);
        Some(reading(one)? - reading(other)?)
    };
    let likeliest = apart(&zeros)?;
    let drawn: Vec<f64> = (0..FOR_BANDS).filter_map(|n| apart(&draws.draw(n))).collect();
    let band = spread(&drawn)?;
    Some([likeliest, band.low_95, band.high_95])
}
