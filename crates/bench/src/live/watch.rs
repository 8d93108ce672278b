//! The plateau that is running: how warm, how fast it changes, what it settles to and when.
//!
//! Cheap for each sample. What costs (the settled value) is asked for by whoever has time, on a copy of a bounded window.

use std::collections::VecDeque;

use super::reading::Reading;
use crate::approach::{CannotSettle, Settled, Wanted, settle};
use crate::plateau::spans::{Least, by_temperature};

/// Most samples of a plateau that are kept; beyond it neighbours are averaged.
const MOST_KEPT: usize = 2048;
/// A level is left when so many samples in a row lie beside it (as in [`crate::plateau::spans`]).
const CONVINCING: usize = 3;
/// A level of fewer samples was a step on the way to the next one and no plateau.
const LEAST_SAMPLES: f64 = 10.0;
/// Differences by which the noise of the current column is judged.
const DIFFERENCES: usize = 64;
/// The slope is that of the last so many seconds, and of at least so many samples.
const SLOPE_S: f64 = 60.0;
const SLOPE_SAMPLES: usize = 5;
/// Below this part of the largest current the lamp is off.
const OFF: f64 = 0.005;

/// A sample of the plateau; the mean of several where it lasts long.
#[derive(Debug, Clone, Copy)]
struct Kept {
    time_s: f64,
    sensor_c: f64,
    ambient_c: f64,
}

/// Follows the plateau.
#[derive(Debug, Clone, Default)]
pub struct Watch {
    kept: Vec<Kept>,
    /// Samples that make one kept one, and those gathered for the next.
    every: usize,
    gathered: Vec<Kept>,
    latest: VecDeque<(f64, f64)>,
    level_sum_a: f64,
    level_samples: f64,
    away: Vec<Reading>,
    differences: VecDeque<f64>,
    largest_a: f64,
    last: Option<Reading>,
    ambient_c: f64,
    /// The plateau that ended last, until it is taken.
    ended: Option<Window>,
    /// Plateaus with the lamp on so far, the running one included.
    pub plateaus: usize,
    /// Samples whose time was not after the one before; they are recorded and not watched.
    pub out_of_order: u64,
}

/// What a plateau is at the moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// The last reading.
    pub reading: Reading,
    /// Board above room, K; NaN where either is missing.
    pub rise_k: f64,
    /// Slope of the board sensor, K/min; NaN before there are enough samples.
    pub slope_k_per_min: f64,
    /// Number of the plateau, from 1; 0 while the lamp is off.
    pub plateau: usize,
    /// Its drive current, A; NaN where unknown.
    pub drive_a: f64,
    /// When it began, s on the rows' clock.
    pub began_s: f64,
}

/// A copy of the running plateau, to find out what it settles to.
#[derive(Debug, Clone)]
pub struct Window {
    /// Its number.
    pub plateau: usize,
    time_s: Vec<f64>,
    sensor_c: Vec<f64>,
    ambient_c: Vec<f64>,
    drive_known: bool,
    last_ambient_c: f64,
}

/// What a plateau settles to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Its number.
    pub plateau: usize,
    /// Settled reading of the board sensor at the room temperature of the last sample, degC, and its 95 % interval.
    pub settled_c: f64,
    /// See `settled_c`.
    pub interval_c: [f64; 2],
    /// How much longer it takes, min; 0 when it is settled.
    pub minutes_more: f64,
    /// Where the temperature alone shows that another plateau began meanwhile, s.
    pub begins_s: Option<f64>,
}

impl Outlook {
    /// Half the interval, K.
    #[must_use]
    pub fn doubt_k(&self) -> f64 {
        0.5 * (self.interval_c[1] - self.interval_c[0])
    }
}

impl Watch {
    /// Takes a reading and says how things are; `None` for one whose time is not after the one before.
    pub fn take(&mut self, reading: Reading) -> Option<State> {
        if self.last.is_some_and(|last| reading.time_s <= last.time_s) || !reading.time_s.is_finite() {
            self.out_of_order += 1;
            return None;
        }
        if reading.ambient_c.is_finite() || self.last.is_none() {
            self.ambient_c = reading.ambient_c;
        }
        self.level(reading);
        self.last = Some(reading);
        if reading.sensor_c.is_finite() {
            self.latest.push_back((reading.time_s, reading.sensor_c));
        }
        while self.latest.len() > SLOPE_SAMPLES
            && self.latest.front().is_some_and(|(time_s, _)| reading.time_s - time_s > SLOPE_S)
        {
            self.latest.pop_front();
        }
        // A logger of many samples a second must not make this grow.
        if self.latest.len() > 4 * MOST_KEPT {
            self.latest.pop_front();
        }
        Some(self.state(reading))
    }

    fn state(&self, reading: Reading) -> State {
        let off = self.drive_a() < OFF * self.largest_a || self.largest_a == 0.0 && self.drive_a() == 0.0;
        State {
            reading,
            rise_k: reading.sensor_c - self.ambient_c,
            slope_k_per_min: self.slope_k_per_min(),
            plateau: if off { 0 } else { self.plateaus },
            drive_a: self.drive_a(),
            began_s: self.kept.first().or(self.gathered.first()).map_or(reading.time_s, |kept| kept.time_s),
        }
    }

    /// Mean of the level, A; NaN where the current is unknown.
    fn drive_a(&self) -> f64 {
        self.level_sum_a / self.level_samples
    }

    fn level(&mut self, reading: Reading) {
        let drive_a = reading.drive_a;
        if !drive_a.is_finite() {
            if self.plateaus == 0 && self.level_samples == 0.0 {
                self.plateaus = 1;
            }
            return self.keep(reading);
        }
        if let Some(last) = self.last.filter(|last| last.drive_a.is_finite()) {
            self.differences.push_back((drive_a - last.drive_a).abs());
            if self.differences.len() > DIFFERENCES {
                self.differences.pop_front();
            }
        }
        self.largest_a = self.largest_a.max(drive_a.abs());
        if self.level_samples == 0.0 {
            return self.begin(&[reading]);
        }
        if (drive_a - self.drive_a()).abs() <= self.tolerance_a() {
            // Single readings beside the level were disturbances.
            for passed in std::mem::take(&mut self.away) {
                self.keep(passed);
            }
            self.level_sum_a += drive_a;
            self.level_samples += 1.0;
            return self.keep(reading);
        }
        self.away.push(reading);
        if self.away.len() >= CONVINCING {
            let away = std::mem::take(&mut self.away);
            let resting = away.iter().all(|sample| (sample.drive_a - drive_a).abs() <= self.tolerance_a());
            // Of a ramp, the last sample tells where it may come to rest.
            self.begin(if resting { &away } else { away.get(CONVINCING - 1..).unwrap_or(&away) });
        }
    }

    fn tolerance_a(&self) -> f64 {
        let mut sorted: Vec<f64> = self.differences.iter().copied().collect();
        sorted.sort_by(f64::total_cmp);
        let median = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
        // 1.4826: deviation over median of the absolute value of a normal distribution; two samples make a difference.
        (5.0 * 1.4826 * median / std::f64::consts::SQRT_2).max(OFF * self.largest_a)
    }

    fn begin(&mut self, samples: &[Reading]) {
        let was_on = self.last.is_some_and(|last| self.state(last).plateau > 0);
        let brief = was_on && self.level_samples > 0.0 && self.level_samples < LEAST_SAMPLES;
        if was_on && !brief {
            self.ended = self.window();
        }
        self.forget();
        self.level_samples = f64::from(u32::try_from(samples.len()).unwrap_or(u32::MAX));
        self.level_sum_a = samples.iter().map(|sample| sample.drive_a).sum();
        if self.drive_a() >= OFF * self.largest_a && self.largest_a > 0.0 {
            self.plateaus += usize::from(!brief);
        }
        for sample in samples {
            self.keep(*sample);
        }
    }

    fn forget(&mut self) {
        self.kept.clear();
        self.gathered.clear();
        self.latest.clear();
        self.every = 1;
    }

    fn keep(&mut self, reading: Reading) {
        if !reading.sensor_c.is_finite() {
            return;
        }
        self.gathered.push(Kept {
            time_s: reading.time_s,
            sensor_c: reading.sensor_c,
            ambient_c: reading.ambient_c,
        });
        if self.gathered.len() >= self.every.max(1) {
            self.kept.extend(mean(&self.gathered));
            self.gathered.clear();
        }
        if self.kept.len() >= MOST_KEPT {
            self.kept = self.kept.chunks(2).filter_map(mean).collect();
            self.every = 2 * self.every.max(1);
        }
    }

    fn slope_k_per_min(&self) -> f64 {
        let n = self.latest.len();
        if n < SLOPE_SAMPLES {
            return f64::NAN;
        }
        #[expect(clippy::cast_precision_loss, reason = "some thousands")]
        let count = n as f64;
        let mean_s = self.latest.iter().map(|(time_s, _)| time_s).sum::<f64>() / count;
        let mean_c = self.latest.iter().map(|(_, celsius)| celsius).sum::<f64>() / count;
        let (mut over, mut under) = (0.0, 0.0);
        for (time_s, celsius) in &self.latest {
            over += (time_s - mean_s) * (celsius - mean_c);
            under += (time_s - mean_s) * (time_s - mean_s);
        }
        60.0 * over / under
    }

    /// A copy of the running plateau; `None` while the lamp is off or nothing is watched.
    #[must_use]
    pub fn window(&self) -> Option<Window> {
        let last = self.last?;
        let plateau = self.state(last).plateau;
        if plateau == 0 || self.kept.is_empty() {
            return None;
        }
        let of = |value: fn(&Kept) -> f64| self.kept.iter().map(value).collect::<Vec<f64>>();
        Some(Window {
            plateau,
            time_s: of(|kept| kept.time_s),
            sensor_c: of(|kept| kept.sensor_c),
            ambient_c: of(|kept| kept.ambient_c),
            drive_known: self.level_samples > 0.0,
            last_ambient_c: self.ambient_c,
        })
    }

    /// A copy of the plateau that ended last, once.
    pub fn take_ended(&mut self) -> Option<Window> {
        self.ended.take()
    }

    /// Takes over that another plateau began at this time, which the temperature alone showed.
    pub fn began(&mut self, plateau: usize, begins_s: f64) {
        if plateau != self.plateaus || self.level_samples > 0.0 {
            return;
        }
        self.kept.retain(|kept| kept.time_s >= begins_s);
        self.plateaus += 1;
    }
}

impl Window {
    /// What the plateau settles to.
    ///
    /// # Errors
    /// When there is too little to go by.
    pub fn outlook(&self, still_k: f64) -> Result<Outlook, CannotSettle> {
        let begins = if self.drive_known { None } else { self.last_begin() };
        let from = begins.unwrap_or(0);
        let part = |all: &[f64]| all.get(from..).unwrap_or_default().to_vec();
        let (time_s, sensor_c, ambient_c) = (part(&self.time_s), part(&self.sensor_c), part(&self.ambient_c));
        let logged = ambient_c.iter().filter(|ambient| ambient.is_finite()).count();
        let ambient = (2 * logged > ambient_c.len()).then_some(ambient_c.as_slice());
        let wanted = Wanted { still_k, ..Wanted::default() };
        let found: Settled = settle(&time_s, &sensor_c, ambient, &wanted)?;
        let above_c = if ambient.is_some() { self.last_ambient_c } else { 0.0 };
        Ok(Outlook {
            plateau: self.plateau,
            settled_c: above_c + found.value,
            interval_c: found.interval.map(|end| above_c + end),
            minutes_more: found.minutes_more,
            begins_s: begins.and_then(|at| self.time_s.get(at).copied()),
        })
    }

    fn last_begin(&self) -> Option<usize> {
        let spans = by_temperature(&self.time_s, &self.sensor_c, &Least::default());
        spans.last().filter(|_| spans.len() > 1).map(|span| span.first)
    }
}

fn mean(part: &[Kept]) -> Option<Kept> {
    let last = part.last()?;
    #[expect(clippy::cast_precision_loss, reason = "a few")]
    let count = part.len() as f64;
    let of = |value: fn(&Kept) -> f64| part.iter().map(value).sum::<f64>() / count;
    let known: Vec<f64> = part.iter().map(|kept| kept.ambient_c).filter(|c| c.is_finite()).collect();
    #[expect(clippy::cast_precision_loss, reason = "a few")]
    let ambient_c = if known.is_empty() { f64::NAN } else { known.iter().sum::<f64>() / known.len() as f64 };
    Some(Kept {
        time_s: of(|kept| kept.time_s).min(last.time_s),
        sensor_c: of(|kept| kept.sensor_c),
        ambient_c,
    })
}
