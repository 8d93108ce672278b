//! A variant as a handful of numbers: answers what-ifs in a fraction of a millisecond.
//!
//! The temperature field of a variant changes little in shape when conductivities, interfaces, films, heats or the room change.
//! So it is sought as a sum of a few fields found by the full model: the one that settled, the answer to each emitter's heat,
//! to a pull at each sensor, to the copper's loss, and the first change with each uncertain value. The sum that balances heat
//! best (Galerkin's condition; reference in its module `projection`) is exact at the reference and, because the fields hold the adjoint of
//! each solder point and sensor as well, its error grows only with the square of the departures. Films follow each face's mean
//! rise by their own laws; emitters are coupled as in the full model.

mod all;
mod build;
mod films;
mod projection;

use nalgebra::{DMatrix, DVector};

use crate::copper_loss::Ways;
use crate::emitter_physics::emitter_state;
use crate::operating_point::{CoupledEmitter, Response, Settled, settle};
use crate::parallel::{Outcome, Parallel, Task};
use crate::uncertain::{Departures, Value};

pub use all::{Comparison, ReducedLamp, ReducedVariant};
use films::FilmLaw;
use projection::Curve;

/// Change of a film's logarithm at which the films count as settled.
const SETTLED: f64 = 1e-7;
/// Passes between films and emitters before giving up.
const PASSES: usize = 80;

/// A variant reduced to a few fields.
pub struct Reduced {
    /// Values that the variant has.
    values: Vec<Value>,
    emitters: Vec<CoupledEmitter>,
    parallel: Option<(Parallel, Ways)>,
    /// Conduction as made, W/K.
    conduction: DMatrix<f64>,
    /// What insulation and copper conduct along themselves.
    along_insulation: DMatrix<f64>,
    along_copper: DMatrix<f64>,
    /// What insulation, barrels and bond line change, by the logarithm of their factors.
    insulation: Option<Curve>,
    barrel: Option<Curve>,
    bond: Option<Curve>,
    faces: Vec<ReducedFace>,
    /// Heat of each emitter at 1 W.
    emitter_in: Vec<DVector<f64>>,
    /// Heat patches.
    patches_in: DVector<f64>,
    /// Copper loss at a drive of 1 A with all copper at 20 degC, and its change with the rise.
    copper_in: DVector<f64>,
    copper_by_rise: DMatrix<f64>,
    /// Relative change of copper's resistance per kelvin of 20 degC.
    copper_per_k: f64,
    solder: Vec<Reading>,
    sensor: Vec<Option<Reading>>,
    board: Option<Reading>,
}

/// A face of a reduced variant.
struct ReducedFace {
    to_room: Curve,
    law: Option<FilmLaw>,
    /// Reads the mean rise.
    mean: DVector<f64>,
    /// Whether the factor on the cooling is its.
    is_cooled: bool,
    /// Whether it is the heatsink base's back.
    is_back: bool,
    /// Mean rise at the reference, K.
    reference_k: f64,
}

/// Reads a rise from the fields.
struct Reading {
    weights: DVector<f64>,
    /// What an emitter's own heat adds between the cell's middle and its face, K/W.
    own_k_per_w: f64,
}

impl Reading {
    fn rise_k(&self, amounts: &DVector<f64>, own_w: f64) -> f64 {
        self.weights.dot(amounts) + self.own_k_per_w * own_w
    }
}

/// What a reduced variant settles at.
#[derive(Debug, Clone, PartialEq)]
pub struct ReducedState {
    /// Of each emitter, degC.
    pub junction_c: Vec<f64>,
    /// Of each emitter, degC.
    pub solder_c: Vec<f64>,
    /// Heat of each emitter, W.
    pub heat_w: Vec<f64>,
    /// Forward voltage of each emitter, V.
    pub forward_v: Vec<f64>,
    /// What each sensor reads, degC, its own departures in it; NaN off the board.
    pub sensor_c: Vec<f64>,
    /// Hottest place of the board as found at the reference, degC.
    pub board_c: Option<f64>,
    /// Mean of the heatsink base's back, degC; `None` without a heatsink.
    pub base_c: Option<f64>,
    /// Electrical power of the emitters, W.
    pub electrical_w: f64,
    /// Light, lm.
    pub light_lm: f64,
}

impl ReducedState {
    /// The hottest junction, degC; minus infinity without emitters.
    #[must_use]
    pub fn hottest_junction_c(&self) -> f64 {
        self.junction_c.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }

    /// The hottest solder point, degC; minus infinity without emitters.
    #[must_use]
    pub fn hottest_solder_c(&self) -> f64 {
        self.solder_c.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
}

/// Why a reduced variant has no state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoState {
    /// It runs away.
    Runaway,
    /// A departure lies beyond what the reduced variant was made for.
    OutOfReach,
}

impl Reduced {
    /// The sheet of an emitter as it departs.
    fn departing(&self, departures: &Departures) -> Vec<CoupledEmitter> {
        self.emitters.iter().map(|e| e.clone().departing(departures)).collect()
    }

    /// What it settles at: departures of its values, drive current, A, and the room as logged, degC.
    ///
    /// # Errors
    /// When it runs away, or a departure is out of reach (a factor above 5 or below a fifth).
    pub fn state(
        &self,
        departures: &Departures,
        drive_a: f64,
        ambient_logged_c: f64,
    ) -> Result<ReducedState, NoState> {
        let departures = &departures.only(|value| self.values.contains(&value));
        let ambient_c = ambient_logged_c + departures.of(Value::AmbientOffset);
        let emitters = self.departing(departures);
        let conduction = self.conduction(departures, drive_a)?;
        let resists = (-departures.of(Value::CopperThickness)).exp();
        let fixed = self.fixed_in((drive_a, ambient_c), resists);
        let cooling = departures.of(Value::Cooling);
        let mut ln_films: Vec<f64> =
            self.faces.iter().map(|f| f.ln_film(f.reference_k, ambient_c, cooling)).collect();
        let mut before: Option<Vec<f64>> = None;
        for _ in 0..PASSES {
            let (amounts, settled) =
                self.balance(&conduction, &ln_films, &emitters, (&fixed, resists), (drive_a, ambient_c))?;
            let next: Vec<f64> = self
                .faces
                .iter()
                .map(|face| face.ln_film(face.mean.dot(&amounts), ambient_c, cooling))
                .collect();
            let moved = next.iter().zip(&ln_films).fold(0.0f64, |m, (a, b)| m.max((a - b).abs()));
            if moved < SETTLED {
                return Ok(self.read(&amounts, &settled, &emitters, departures, ambient_c));
            }
            before = match before {
                // Aitken's extrapolation of each film from three that followed one another.
                Some(first) => {
                    let three = first.iter().zip(&ln_films).zip(&next);
                    ln_films = three.map(|((a, b), c)| extrapolated(*a, *b, *c)).collect();
                    None
                }
                None => Some(std::mem::replace(&mut ln_films, next)),
            };
        }
        Err(NoState::Runaway)
    }

    /// Conduction between the fields with departures and with what warmer copper loses more, W/K.
    fn conduction(&self, departures: &Departures, drive_a: f64) -> Result<DMatrix<f64>, NoState> {
        let mut sum = self.conduction.clone();
        let of = |value| departures.of(value);
        let conductivity = of(Value::DielectricConductivity) + of(Value::LaminateConductivity);
        let thickness = of(Value::DielectricThickness);
        let along = (conductivity + thickness).exp() - 1.0;
        sum.zip_apply(&self.along_insulation, |s, m| *s += along * m);
        let along = of(Value::CopperThickness).exp() - 1.0;
        sum.zip_apply(&self.along_copper, |s, m| *s += along * m);
        let curves = [
            (&self.insulation, conductivity - thickness),
            (&self.barrel, of(Value::ViaBarrel)),
            (&self.bond, of(Value::BondLine)),
        ];
        for (curve, x) in curves {
            if let Some(curve) = curve {
                if !curve.reaches(x) {
                    return Err(NoState::OutOfReach);
                }
                curve.add_to(&mut sum, x);
            }
        }
        let loss = (-of(Value::CopperThickness)).exp() * drive_a * drive_a * self.copper_per_k;
        sum.zip_apply(&self.copper_by_rise, |s, m| *s -= loss * m);
        Ok(sum)
    }

    /// Heat that does not depend on the junctions, with copper that resists more by a factor.
    fn fixed_in(&self, (drive_a, ambient_c): (f64, f64), resists: f64) -> DVector<f64> {
        let warm = 1.0 + self.copper_per_k * (ambient_c - 20.0);
        &self.patches_in + &self.copper_in * (resists * drive_a * drive_a * warm)
    }

    /// Emitters and field in balance with the films as given: amounts of the fields, and the emitters.
    fn balance(
        &self,
        conduction: &DMatrix<f64>,
        ln_films: &[f64],
        emitters: &[CoupledEmitter],
        (fixed, resists): (&DVector<f64>, f64),
        (drive_a, ambient_c): (f64, f64),
    ) -> Result<(DVector<f64>, Settled), NoState> {
        let mut whole = conduction.clone();
        for (face, ln_film) in self.faces.iter().zip(ln_films) {
            if !face.to_room.reaches(*ln_film) {
                return Err(NoState::OutOfReach);
            }
            face.to_room.add_to(&mut whole, *ln_film);
        }
        // Where warmer copper's greater loss outweighs what carries it away, the lamp runs away.
        let solver = whole.cholesky().ok_or(NoState::Runaway)?;
        let n = emitters.len();
        let base = solver.solve(fixed);
        let answers: Vec<DVector<f64>> = self.emitter_in.iter().map(|b| solver.solve(b)).collect();
        let own = |i: usize, j: usize| if i == j { self.solder[i].own_k_per_w } else { 0.0 };
        let response = Response {
            k_per_w: (0..n * n)
                .map(|k| self.solder[k / n].weights.dot(&answers[k % n]) + own(k / n, k % n))
                .collect(),
            rise_k: self.solder.iter().map(|s| s.weights.dot(&base)).collect(),
            at_heat_w: vec![0.0; n],
        };
        let settled = match self.parallel.as_ref().filter(|_| drive_a > 0.0) {
            None => settle(emitters, &response, drive_a, ambient_c).ok_or(NoState::Runaway)?,
            Some((parallel, ways)) => {
                let ways = &ways.with_copper(resists);
                let offset_v = vec![0.0; n];
                let task =
                    Task { emitters, response: &response, drive_a, ambient_c, ways, offset_v: &offset_v };
                match parallel.settle(&task) {
                    Outcome::Steady(settled, _) => settled,
                    _ => return Err(NoState::Runaway),
                }
            }
        };
        let mut amounts = base;
        for (answer, heat_w) in answers.iter().zip(&settled.heat_w) {
            amounts.axpy(*heat_w, answer, 1.0);
        }
        Ok((amounts, settled))
    }

    fn read(
        &self,
        amounts: &DVector<f64>,
        settled: &Settled,
        emitters: &[CoupledEmitter],
        departures: &Departures,
        ambient_c: f64,
    ) -> ReducedState {
        let sensed = |(index, reading): (usize, &Option<Reading>)| {
            let coupling = departures.of_sensor(Value::SensorCoupling, index).exp();
            let offset_k = departures.of_sensor(Value::SensorOffset, index);
            reading.as_ref().map_or(f64::NAN, |r| ambient_c + coupling * r.rise_k(amounts, 0.0) + offset_k)
        };
        let solder = self.solder.iter().zip(&settled.heat_w);
        let states: Vec<_> = emitters
            .iter()
            .zip(settled.current_a.iter().zip(&settled.junction_c))
            .map(|(e, (current_a, junction_c))| emitter_state(&e.sheet, *current_a, *junction_c))
            .collect();
        ReducedState {
            junction_c: settled.junction_c.clone(),
            solder_c: solder.map(|(s, heat_w)| ambient_c + s.rise_k(amounts, *heat_w)).collect(),
            heat_w: settled.heat_w.clone(),
            forward_v: states.iter().map(|s| s.forward_v).collect(),
            sensor_c: self.sensor.iter().enumerate().map(sensed).collect(),
            board_c: self.board.as_ref().map(|b| ambient_c + b.rise_k(amounts, 0.0)),
            base_c: self.faces.iter().find(|f| f.is_back).map(|f| ambient_c + f.mean.dot(amounts)),
            electrical_w: states.iter().map(|s| s.electrical_w).sum(),
            light_lm: states.iter().map(|s| s.flux_lm).sum(),
        }
    }
}

/// Where a sequence that closes in by a constant factor ends (Aitken 1926); the last of the three where it does not close in.
fn extrapolated(first: f64, second: f64, third: f64) -> f64 {
    let (before, now) = (second - first, third - second);
    let factor = if before.abs() > 1e-12 { now / before } else { 0.0 };
    if factor.abs() < 0.9 { third + now * factor / (1.0 - factor) } else { third }
}

impl ReducedFace {
    fn ln_film(&self, mean_rise_k: f64, ambient_c: f64, cooling: f64) -> f64 {
        let own = if self.is_cooled { cooling } else { 0.0 };
        own + self.law.as_ref().map_or(0.0, |law| law.ln_factor(mean_rise_k, ambient_c))
    }
}
