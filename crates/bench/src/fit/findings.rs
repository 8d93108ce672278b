//! What a fit says: values, plateaus, junctions, what stays open.

use std::sync::atomic::AtomicBool;

use lamp::as_built::{Lamp, SitsOn};
use lamp::model::ModelError;
use lamp::reduced::ReducedLamp;
use lamp::uncertain::{Departs, Uncertain, Value};
use nalgebra::DMatrix;
use serde::Serialize;

use super::{Fitted, Reading, gradient, telling};
use crate::least_squares::{Candidate, rank_further_readings};

/// Two values whose correlation is beyond this are named as ones that the plateaus hardly tell apart.
const TIED: f64 = 0.7;
/// A value whose spread shrank by less than this part was told nothing of.
const TOLD: f64 = 0.9;
/// Half a 95 % interval over a standard deviation.
pub(crate) const TWO_SIGMA: f64 = 1.96;

/// A fit in numbers and sentences; the JSON is this, field for field.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitFindings {
    /// The answer in sentences.
    pub answers: Vec<String>,
    /// Whether the model explains the plateaus at 1 in 100.
    pub explains: bool,
    /// Sum of squares of the plateaus in standard deviations.
    pub chi_square: f64,
    /// What it would be on average.
    pub chi_square_expected: f64,
    /// Probability of a larger one if the model is right.
    pub p_value: Option<f64>,
    /// Whether the search ended at a least sum of squares.
    pub converged: bool,
    /// The uncertain values.
    pub values: Vec<FittedValue>,
    /// Pairs that the plateaus hardly tell apart.
    pub tied: Vec<TiedValues>,
    /// Every plateau that was taken.
    pub plateaus: Vec<FittedPlateau>,
    /// The hottest junction at each plateau.
    pub junctions: Vec<JunctionFinding>,
    /// What one more measurement would tell of the hottest junction at the nominal current, the best first.
    pub further: Vec<FurtherReading>,
    /// Largest difference of the reduced variants from the full model at the fitted values, K.
    pub reduced_error_k: Option<f64>,
    /// What was left out, and what else there is to say.
    pub remarks: Vec<String>,
}

/// A value before and after.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FittedValue {
    /// Its name.
    pub value: &'static str,
    /// Whose it is; `None`: of all variants.
    pub variant: Option<String>,
    /// The sensor whose error it is; `None`: the lamp's own.
    pub sensor: Option<String>,
    /// "factor" on what lamp.toml says, or "kelvin".
    pub unit: &'static str,
    /// Fitted: factor or K.
    pub fitted: f64,
    /// Low end of its 95 % interval.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Low end of the 95 % interval before the plateaus.
    pub prior_low: f64,
    /// High end.
    pub prior_high: f64,
    /// Its standard deviation over that before: 1 where nothing was told.
    pub shrinkage: f64,
    /// Where its spread before came from.
    pub source: String,
}

/// Two values that are hardly told apart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TiedValues {
    /// The first.
    pub one: String,
    /// The second.
    pub other: String,
    /// Their correlation, -1 to 1.
    pub correlation: f64,
}

/// A plateau beside what is predicted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FittedPlateau {
    /// Run.
    pub run: String,
    /// Variant.
    pub variant: String,
    /// Sensor.
    pub sensor: String,
    /// Drive current, A.
    pub drive_current_a: f64,
    /// Measured rise, K.
    pub measured_k: f64,
    /// Its standard deviation as the fit took it, K.
    pub standard_k: f64,
    /// Rise predicted from lamp.toml alone, K.
    pub unfitted_k: Option<f64>,
    /// Rise of the fitted model, K.
    pub predicted_k: f64,
    /// Predicted less measured, K.
    pub residual_k: f64,
    /// The weight it had, 1 in full.
    pub weight: f64,
    /// Rise predicted from all other plateaus, K.
    pub from_the_others_k: Option<f64>,
    /// Half the 95 % interval that this prediction less the measurement should keep to, K.
    pub from_the_others_doubt_k: Option<f64>,
}

/// The hottest junction at a plateau.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JunctionFinding {
    /// Run.
    pub run: String,
    /// Variant.
    pub variant: String,
    /// Drive current, A.
    pub drive_current_a: f64,
    /// Emitter.
    pub emitter: String,
    /// From the sensor through the fitted model, degC.
    pub from_sensor_c: f64,
    /// Half its 95 % interval, K.
    pub from_sensor_doubt_k: f64,
    /// From forward voltage, degC, where logged.
    pub from_voltage_c: Option<f64>,
    /// Half its 95 % interval, K.
    pub from_voltage_doubt_k: Option<f64>,
    /// Both together, each by its certainty, degC.
    pub combined_c: f64,
    /// Half its 95 % interval, K.
    pub combined_doubt_k: f64,
    /// Whether the two agree within their doubts.
    pub consistent: Option<bool>,
}

/// A measurement not yet made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FurtherReading {
    /// What to measure.
    pub what: String,
    /// Half the 95 % interval of the hottest junction at the nominal current now, K.
    pub doubt_now_k: f64,
    /// And with it.
    pub doubt_with_it_k: f64,
}

impl Fitted {
    /// The findings; the full model is asked where the reduced one stands in for it.
    ///
    /// # Errors
    /// When cancelled or the full model fails.
    pub fn findings(
        &self,
        lamp: &Lamp,
        reduced: &mut ReducedLamp,
        cancel: &AtomicBool,
    ) -> Result<FitFindings, ModelError> {
        let reduced_error_k = self.reduced_error_k(lamp, reduced, cancel)?;
        let junctions = self.junctions(lamp, reduced);
        let mut found = FitFindings {
            answers: Vec::new(),
            explains: self.fit.readings_chi_square.p_value.is_none_or(|p| p >= 0.01),
            chi_square: self.fit.readings_chi_square.value,
            chi_square_expected: self.fit.readings_chi_square.freedom,
            p_value: self.fit.readings_chi_square.p_value,
            converged: self.fit.ending.is_converged(),
            values: self.values(lamp, reduced),
            tied: self.tied(lamp, reduced),
            plateaus: self.plateaus(lamp, reduced),
            junctions,
            further: self.further(lamp, reduced),
            reduced_error_k,
            remarks: self.readings.left_out.iter().map(|why| format!("left out: {why}")).collect(),
        };
        telling::tell(&mut found, lamp);
        Ok(found)
    }

    fn values(&self, lamp: &Lamp, reduced: &ReducedLamp) -> Vec<FittedValue> {
        let one = |(j, u): (usize, &Uncertain)| {
            let (x, deviation) = (self.fit.x[j], self.fit.standard_deviations[j]);
            let (unit, plain): (_, fn(f64) -> f64) = match u.value.departs() {
                Departs::ByFactor => ("factor", f64::exp),
                Departs::ByKelvin => ("kelvin", |k| k),
            };
            FittedValue {
                value: u.value.name(),
                variant: u.variant.map(|v| lamp.variants[v].name.clone()),
                sensor: u.sensor.and_then(|s| lamp.sensors.get(s)).map(|s| s.name.clone()),
                unit,
                fitted: plain(x),
                low: plain(x - TWO_SIGMA * deviation),
                high: plain(x + TWO_SIGMA * deviation),
                prior_low: plain(-TWO_SIGMA * u.spread),
                prior_high: plain(TWO_SIGMA * u.spread),
                shrinkage: self.fit.shrinkages[j].unwrap_or(0.0),
                source: u.source.clone(),
            }
        };
        reduced.uncertain.iter().enumerate().map(one).collect()
    }

    fn tied(&self, lamp: &Lamp, reduced: &ReducedLamp) -> Vec<TiedValues> {
        let name = |j: usize| name_of(&reduced.uncertain[j], lamp);
        let told = |j: usize| self.fit.shrinkages[j].is_none_or(|s| s < TOLD);
        let mut pairs = Vec::new();
        for i in 0..self.fit.x.len() {
            for j in i + 1..self.fit.x.len() {
                let correlation = self.fit.correlations[(i, j)];
                if correlation.abs() > TIED && (told(i) || told(j)) {
                    pairs.push(TiedValues { one: name(i), other: name(j), correlation });
                }
            }
        }
        pairs.sort_by(|a, b| b.correlation.abs().total_cmp(&a.correlation.abs()));
        pairs
    }

    fn plateaus(&self, lamp: &Lamp, reduced: &ReducedLamp) -> Vec<FittedPlateau> {
        let none = vec![0.0; self.fit.x.len()];
        let one = |(i, reading): (usize, &Reading)| {
            let residual_k = self.fit.readings.residuals[i] * reading.standard_k;
            let left_out = self.left_out.iter().filter(|l| l.ending.is_converged()).find_map(|l| {
                let at = l.readings.iter().position(|place| *place == i)?;
                Some((l.off[at], l.standard_deviation[at]))
            });
            FittedPlateau {
                run: reading.run.clone(),
                variant: lamp.variants[reading.variant].name.clone(),
                sensor: lamp.sensors[reading.sensor].name.clone(),
                drive_current_a: reading.drive_current_a,
                measured_k: reading.rise_k,
                standard_k: reading.standard_k,
                unfitted_k: super::predicted_rise_k(reduced, &none, reading),
                predicted_k: reading.rise_k + residual_k,
                residual_k,
                weight: self.fit.group_weights[self.fit.groups[i]].min(1.0),
                from_the_others_k: left_out.map(|l| reading.rise_k + l.0 * reading.standard_k),
                from_the_others_doubt_k: left_out
                    .map(|l| TWO_SIGMA * l.1 * reading.standard_k)
                    .filter(|k| k.is_finite()),
            }
        };
        self.readings.fitted.iter().enumerate().map(one).collect()
    }

    /// The hottest junction at every plateau, from the sensor through the model and by forward voltage.
    fn junctions(&self, lamp: &Lamp, reduced: &ReducedLamp) -> Vec<JunctionFinding> {
        let mut found: Vec<JunctionFinding> = Vec::new();
        for reading in self.readings.fitted.iter().chain(&self.readings.junctions) {
            let variant = &lamp.variants[reading.variant];
            let seen = found.iter().any(|f| {
                f.run == reading.run
                    && f.variant == variant.name
                    && same(f.drive_current_a, reading.drive_current_a)
            });
            let Some((emitter, from_sensor_c, model_k)) = self.junction(reduced, reading).filter(|_| !seen)
            else {
                continue;
            };
            let grid_k = grid_error_k(reduced, reading.variant, from_sensor_c - reading.ambient_c);
            let standard_k = model_k.hypot(grid_k);
            let by_voltage = self.readings.junctions.iter().find(|j| {
                j.run == reading.run
                    && j.variant == reading.variant
                    && same(j.drive_current_a, reading.drive_current_a)
            });
            let (combined_c, combined_k) = match by_voltage {
                Some(v) => together((from_sensor_c, standard_k), (v.ambient_c + v.rise_k, v.standard_k)),
                None => (from_sensor_c, standard_k),
            };
            found.push(JunctionFinding {
                run: reading.run.clone(),
                variant: variant.name.clone(),
                drive_current_a: reading.drive_current_a,
                emitter: variant.emitters[emitter].reference.clone(),
                from_sensor_c,
                from_sensor_doubt_k: TWO_SIGMA * standard_k,
                from_voltage_c: by_voltage.map(|v| v.ambient_c + v.rise_k),
                from_voltage_doubt_k: by_voltage.map(|v| TWO_SIGMA * v.standard_k),
                combined_c,
                combined_doubt_k: TWO_SIGMA * combined_k,
                consistent: by_voltage.map(|v| {
                    (v.ambient_c + v.rise_k - from_sensor_c).abs()
                        <= TWO_SIGMA * standard_k.hypot(v.standard_k)
                }),
            });
        }
        found
    }

    /// The hottest emitter, its junction, degC, and standard deviation, K, by the fitted model at a reading's current and room.
    fn junction(&self, reduced: &ReducedLamp, reading: &Reading) -> Option<(usize, f64, f64)> {
        let at =
            |x: &[f64]| reduced.state(reading.variant, x, reading.drive_current_a, reading.ambient_c).ok();
        let state = at(&self.fit.x)?;
        let hottest = (0..state.junction_c.len())
            .max_by(|a, b| state.junction_c[*a].total_cmp(&state.junction_c[*b]))?;
        let slope = gradient(reduced, &self.fit.x, &mut |x| Some(at(x)?.junction_c[hottest]))?;
        Some((hottest, state.junction_c[hottest], self.fit.knowledge.standard_deviation_of(&slope)))
    }

    /// What one more measurement would tell of the hottest junction at the nominal current, in the hotter variant.
    fn further(&self, lamp: &Lamp, reduced: &ReducedLamp) -> Vec<FurtherReading> {
        let x = &self.fit.x;
        let nominal_a = lamp.nominal_current_a;
        let state = |variant: usize, x: &[f64]| reduced.state(variant, x, nominal_a, lamp.ambient_c).ok();
        let mut found: Vec<FurtherReading> = Vec::new();
        for (variant, of) in lamp.variants.iter().enumerate().take(reduced.variants.len()) {
            let junction =
                |x: &[f64]| Some(state(variant, x)?.hottest_junction_c()).filter(|c| c.is_finite());
            let Some(target) = gradient(reduced, x, &mut |x| junction(x)) else { continue };
            let mut candidates = Vec::new();
            let mut add = |what: String, standard_k: f64, read: &mut dyn FnMut(&[f64]) -> Option<f64>| {
                if let Some(slope) = gradient(reduced, x, read) {
                    let row = slope.iter().map(|s| s / standard_k);
                    candidates.push(Candidate { name: what, rows: DMatrix::from_iterator(1, x.len(), row) });
                }
            };
            let at = format!("{} at {nominal_a} A", of.name);
            if !self.has_base(lamp, variant) {
                let what = "log the heatsink base too (a [[sensor]] with on = \"heatsink\")";
                add(format!("{what}, {at} (within 0.5 K)"), 0.5, &mut |x| state(variant, x)?.base_c);
            }
            add(format!("log the forward voltage of a string, {at} (junctions within 2 K)"), 2.0, &mut |x| {
                let state = state(variant, x)?;
                let count = state.junction_c.len();
                (count > 0).then(|| state.junction_c.iter().sum::<f64>() / count as f64)
            });
            add(format!("measure a solder point, {at} (within 1 K)"), 1.0, &mut |x| {
                Some(state(variant, x)?.hottest_solder_c()).filter(|c| c.is_finite())
            });
            let watched = lamp.watched_sensor();
            add(format!("one more plateau of the board sensor, {at} (within 0.2 K)"), 0.2, &mut |x| {
                state(variant, x)?.sensor_c.get(watched?).copied().filter(|c| c.is_finite())
            });
            if reduced.uncertain.iter().any(|u| u.value == Value::AmbientOffset) {
                let own = |x: &[f64]| {
                    let offsets =
                        reduced.uncertain.iter().zip(x).filter(|(u, _)| u.value == Value::AmbientOffset);
                    Some(offsets.map(|(_, x)| *x).sum())
                };
                add(
                    "check room and board sensor against each other with the lamp cold (within 0.1 K)".into(),
                    0.1,
                    &mut |x| own(x),
                );
            }
            for worth in rank_further_readings(&self.fit.knowledge, &target, &candidates) {
                found.push(FurtherReading {
                    what: candidates[worth.candidate].name.clone(),
                    doubt_now_k: TWO_SIGMA * worth.before,
                    doubt_with_it_k: TWO_SIGMA * worth.after,
                });
            }
        }
        // By what is gained of the doubt, not by what is left.
        found.sort_by(|a, b| {
            (b.doubt_now_k - b.doubt_with_it_k).total_cmp(&(a.doubt_now_k - a.doubt_with_it_k))
        });
        let mut seen = std::collections::BTreeSet::new();
        found.retain(|f| seen.insert(f.what.clone()));
        found
    }

    /// Whether a sensor on the heatsink was read with this variant.
    fn has_base(&self, lamp: &Lamp, variant: usize) -> bool {
        let on_base = |r: &Reading| lamp.sensors[r.sensor].on == SitsOn::Heatsink;
        self.readings.fitted.iter().any(|r| r.variant == variant && on_base(r))
    }

    fn reduced_error_k(
        &self,
        lamp: &Lamp,
        reduced: &mut ReducedLamp,
        cancel: &AtomicBool,
    ) -> Result<Option<f64>, ModelError> {
        let mut worst: Option<f64> = None;
        for variant in 0..reduced.variants.len() {
            let at = reduced.variants[variant].reference.current_a;
            let compared = reduced.compare(variant, &self.fit.x, at, lamp.ambient_c, cancel)?;
            worst = compared.map(|c| c.apart_k).into_iter().chain(worst).reduce(f64::max);
        }
        Ok(worst)
    }
}

/// A value's name with its variant's.
pub(crate) fn name_of(uncertain: &Uncertain, lamp: &Lamp) -> String {
    // Which sensor's needs no word where there is one.
    let sensor = uncertain.sensor.filter(|_| lamp.sensors.len() > 1).and_then(|s| lamp.sensors.get(s));
    let whose = sensor.map(|s| &s.name).into_iter();
    let whose = whose.chain(uncertain.variant.and_then(|v| lamp.variants.get(v)).map(|v| &v.name));
    whose.fold(uncertain.value.name().to_owned(), |words, name| format!("{words} of {name}"))
}

/// Standard deviation of a rise that comes from the grid, K: its limit as an even distribution's.
pub(crate) fn grid_error_k(reduced: &ReducedLamp, variant: usize, rise_k: f64) -> f64 {
    let run = &reduced.variants[variant].reference;
    let largest_k = run.hottest_junction_c.map_or(0.0, |c| c - run.ambient_c);
    if largest_k > 0.0 { run.grid_error_k / largest_k * rise_k / 3f64.sqrt() } else { 0.0 }
}

fn same(one_a: f64, other_a: f64) -> bool {
    (one_a - other_a).abs() <= 0.02 * one_a.abs().max(other_a.abs())
}

/// Two values with their standard deviations, each weighed by its certainty.
fn together(one: (f64, f64), other: (f64, f64)) -> (f64, f64) {
    let weight = |deviation: f64| 1.0 / (deviation * deviation).max(1e-12);
    let (a, b) = (weight(one.1), weight(other.1));
    ((one.0 * a + other.0 * b) / (a + b), (1.0 / (a + b)).sqrt())
}
