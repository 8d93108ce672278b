//! Branches side by side that share a current by their voltages at the junction temperatures of the same solution.
//!
//! To the equations of [`crate::operating_point`], `T = ambient + R q + r q`, comes that each emitter's heat follows from its
//! own current, and the currents from all junction temperatures by Kirchhoff's laws ([`crate::circuit::sharing`]):
//! `q_e = q(I_e(T), T_e)`, `dq_e/dT_f = dq/dT + dq/dI * sum over g of dI_e/dV_g * dV_g/dT_f`. Newton's method solves both at once.
//!
//! A hotter branch has a lower voltage, takes more current and becomes hotter still. How much of a difference comes back in one
//! turn is the feedback: the largest eigenvalue of `(1 - R dq/dT)^-1 R dq/dI dI/dV dV/dT` where all junctions that share are taken
//! to be equal. Below 1 a difference grows to `1 / (1 - feedback)` of itself; from 1 on it grows of its own: no division of the
//! current lasts but one in which a branch has nearly all, which is told as a runaway of the share. The equal state is found
//! first; from there the temperature's part in the sharing is raised from none to its whole (continuation: Allgower and Georg,
//! Numerical Continuation Methods, from memory), so that the state found is the one that hangs together with it.

mod finding;
#[cfg(test)]
mod tests;

use crate::as_built::{DrivePer, Lamp, PlacedEmitter, Variant};
use crate::circuit::sharing::{Conditions, Currents, Drive, Yielding, share, share_and_yield};
use crate::circuit::{Circuit, Part};
use crate::copper_loss::{BranchCopper, CopperHeat, CopperLoss, Ways};
use crate::emitter_physics::{emitter_state, forward_v, heat_w_per_k};
use crate::operating_point::{
    CoupledEmitter, Response, Settled, alive, first_unsettled_a, largest_mode, solve_dense_many,
};

pub(crate) use finding::{Became, finding};

/// A junction may pass the temperature it would take by this much, K, on the way up from ambient.
const PASSED_K: f64 = 1.0;
/// Newton steps before it is given up.
const MOST_STEPS: usize = 80;
/// How often a step is halved at most.
const HALVINGS: usize = 12;
/// Step, K, at which junctions count as found, and at which they do where rounding keeps them from it.
const FOUND_K: f64 = 1e-9;
const NEARLY_K: f64 = 1e-6;
/// The temperature's part in the sharing is raised by this much first, and by no less than the other.
const FIRST_RAISE: f64 = 0.25;
const LEAST_RAISE: f64 = 1.0 / 128.0;
/// Voltages by which emitters are told apart to find the copper they have in common, V: branches then differ by some tenths.
const OTHER_V: f64 = 0.1;
/// Junction temperatures between which currents are asked for, degC.
const SHARED_C: std::ops::RangeInclusive<f64> = -270.0..=5000.0;

/// A variant's branches side by side.
#[derive(Clone)]
pub(crate) struct Parallel {
    pub circuit: Circuit,
    pub emitters: Vec<PlacedEmitter>,
    pub per: DrivePer,
    pub copper: BranchCopper,
}

/// At which drive a division is sought, and what stays the same meanwhile.
#[derive(Clone, Copy)]
pub(crate) struct Task<'a> {
    pub emitters: &'a [CoupledEmitter],
    pub response: &'a Response,
    pub drive_a: f64,
    pub ambient_c: f64,
    pub ways: &'a Ways,
    /// What each emitter's voltage lies above its sheet's, V.
    pub offset_v: &'a [f64],
}

/// What becomes of a lamp whose branches share.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Outcome {
    /// It settles; how much of a difference the current brings back.
    Steady(Settled, f64),
    /// A branch takes ever more of the current.
    Hogs(Hogging),
    /// No steady state even with an even division.
    Heat,
}

/// A division of the current that does not last.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Hogging {
    /// The state with the division of equal junctions.
    pub equal: Settled,
    pub feedback: f64,
    /// Which way currents run off: a direction, A.
    pub drift_a: Vec<f64>,
}

/// Currents, heats and how far junctions are from their balance.
struct Point {
    current_a: Vec<f64>,
    heat_w: Vec<f64>,
    excess_k: Vec<f64>,
    yielding: Yielding,
}

impl Parallel {
    /// The branches of a variant that share a current; `None` where none do, where a share is given by hand, or where nothing
    /// tells how they share.
    pub fn of(lamp: &Lamp, variant: &Variant, copper: Option<&CopperLoss>) -> Option<Self> {
        let circuit = variant.circuit.as_ref()?;
        let emitters = &variant.emitters;
        if circuit.emitter_nodes.len() != emitters.len() {
            return None;
        }
        let lit = || circuit.lit.iter().zip(emitters).filter(|(lit, _)| **lit).map(|(_, emitter)| emitter);
        let supplies = circuit.supplies.iter().filter(|supply| supply.root.is_some()).count();
        let shares = (lamp.drive_per == DrivePer::Lamp && supplies > 1)
            || !circuit.strings.iter().all(|string| string.part.is_chain())
            || circuit.strings.len() > supplies;
        if !shares || lamp.nominal_current_a <= 0.0 || lit().any(|emitter| emitter.share_given) {
            return None;
        }
        let drive = Drive { per: lamp.drive_per, current_a: lamp.nominal_current_a };
        let mut at = Conditions::by_sheet(circuit, emitters);
        share(circuit, emitters, drive, &at).ok()?;
        let nominal: Vec<f64> = emitters.iter().map(|emitter| emitter.current_share).collect();
        // Another division, each branch a little otherwise than the next: it tells what copper they have in common.
        at.offset_v = uneven(emitters.len()).into_iter().map(|part| OTHER_V * part).collect();
        let other = share(circuit, emitters, drive, &at).ok()?;
        let other: Vec<f64> = other.emitter_a.iter().map(|a| a / drive.current_a).collect();
        Some(Self {
            copper: BranchCopper::of(circuit, copper, &nominal, &other),
            circuit: circuit.clone(),
            emitters: emitters.clone(),
            per: lamp.drive_per,
        })
    }

    /// Resistances with the copper at these rises.
    pub fn ways(&self, heat: &CopperHeat, rise_k: &[f64], ambient_c: f64) -> Ways {
        self.copper.ways(&self.circuit, heat, rise_k, ambient_c)
    }

    /// Resistances with everything at one temperature, degC.
    pub fn ways_at(&self, room_c: f64) -> Ways {
        self.copper.ways_at(&self.circuit, room_c)
    }

    /// The currents with junctions at these temperatures; `None` where none are found.
    pub fn currents(&self, task: &Task<'_>, junction_c: &[f64]) -> Option<Currents> {
        share(&self.circuit, &self.emitters, self.drive(task), &conditions(task, junction_c)?).ok()
    }

    fn drive(&self, task: &Task<'_>) -> Drive {
        Drive { per: self.per, current_a: task.drive_a }
    }

    /// Voltage that a supply needs, V: leads, copper and emitters with their offsets.
    pub fn supply_v(&self, task: &Task<'_>, currents: &Currents, junction_c: &[f64], supply: usize) -> f64 {
        let Some(root) = self.circuit.supplies.get(supply).and_then(|supply| supply.root.as_ref()) else {
            return 0.0;
        };
        let supply_a = currents.supply_a.get(supply).copied().unwrap_or(0.0);
        task.ways.lead_ohm.get(supply).copied().unwrap_or(0.0) * supply_a
            + task.ways.trunk_v(supply, &currents.supply_a)
            + self.part_v(task, root, &currents.emitter_a, junction_c)
    }

    /// Voltage over a part with the copper on its way, V.
    pub fn part_v(&self, task: &Task<'_>, part: &Part, emitter_a: &[f64], junction_c: &[f64]) -> f64 {
        let one = |emitter: usize| {
            let current_a = emitter_a[emitter];
            forward_v(&self.emitters[emitter].sheet, current_a, junction_c[emitter])
                + task.offset_v[emitter]
                + task.ways.emitter_ohm[emitter] * current_a
        };
        part.voltage_v(&one, emitter_a)
    }

    /// The steady state in which currents and junction temperatures agree.
    pub fn settle(&self, task: &Task<'_>) -> Outcome {
        let n = task.emitters.len();
        let Some(equal_c) = self.newton(task, 0.0, vec![task.ambient_c; n], true) else {
            return Outcome::Heat;
        };
        let Some(equal) = self.point(task, 0.0, &equal_c) else { return Outcome::Heat };
        let heat_gain = self.gain(task, &equal, 0.0, &equal_c);
        if !alive(task.emitters, &equal_c) || largest_mode(&heat_gain, uneven(n)).0 >= 1.0 {
            return Outcome::Heat;
        }
        let Some((feedback, mode_k)) = self.feedback(task, &equal, &equal_c) else { return Outcome::Heat };
        let mut found_c = equal_c.clone();
        let (mut part, mut raise) = (0.0, FIRST_RAISE);
        while feedback < 1.0 && part < 1.0 {
            let next = f64::min(part + raise, 1.0);
            match self.newton(task, next, found_c.clone(), false).filter(|c| self.lasts(task, next, c)) {
                Some(next_c) => {
                    (found_c, part) = (next_c, next);
                    raise *= 2.0;
                }
                None => raise /= 2.0,
            }
            if raise < LEAST_RAISE {
                break;
            }
        }
        if part >= 1.0
            && let Some(found) = self.point(task, 1.0, &found_c)
        {
            let (heat_w, current_a) = (found.heat_w, found.current_a);
            return Outcome::Steady(Settled { junction_c: found_c, heat_w, current_a }, feedback);
        }
        let drift_a = self.drift_a(task, &equal, &equal_c, &mode_k);
        let equal = Settled { junction_c: equal_c, heat_w: equal.heat_w, current_a: equal.current_a };
        Outcome::Hogs(Hogging { equal, feedback, drift_a })
    }

    /// Smallest drive current up to `up_to_a` without a steady state, A, and whether the share is what runs away there.
    pub fn runaway_current_a(&self, task: &Task<'_>, up_to_a: f64) -> Option<(f64, bool)> {
        let at = |drive_a: f64| self.settle(&Task { drive_a, ..*task });
        let found = first_unsettled_a(up_to_a, |drive_a| matches!(at(drive_a), Outcome::Steady(..)))?;
        Some((found, matches!(at(found), Outcome::Hogs(_))))
    }

    /// Temperatures that the sharing sees: those of lit emitters drawn together to their mean, wholly at `part` 0.
    fn shared_c(&self, part: f64, junction_c: &[f64]) -> Vec<f64> {
        let lit = |index: usize| self.circuit.lit[index];
        let (mut sum, mut count) = (0.0, 0.0);
        for (_, t) in junction_c.iter().enumerate().filter(|(index, _)| lit(*index)) {
            sum += t;
            count += 1.0;
        }
        let mean = if count > 0.0 { sum / count } else { 0.0 };
        let one = |(index, t): (usize, &f64)| if lit(index) { mean + part * (t - mean) } else { *t };
        junction_c.iter().enumerate().map(one).collect()
    }

    fn point(&self, task: &Task<'_>, part: f64, junction_c: &[f64]) -> Option<Point> {
        let at = conditions(task, &self.shared_c(part, junction_c))?;
        let (found, yielding) = share_and_yield(&self.circuit, &self.emitters, self.drive(task), &at).ok()?;
        let mut current_a = found.emitter_a;
        for (index, emitter) in task.emitters.iter().enumerate() {
            if !self.circuit.lit[index] {
                // Part of no string: lit with the share given or 1.
                current_a[index] = emitter.share * task.drive_a;
            }
        }
        let heat_w: Vec<f64> =
            (0..current_a.len()).map(|e| heat_w(task, e, current_a[e], junction_c[e])).collect();
        let rises = task.response.rises_k(&heat_w);
        let excess = |e: usize| {
            task.ambient_c + rises[e] + task.emitters[e].package_k_per_w * heat_w[e] - junction_c[e]
        };
        let excess_k: Vec<f64> = (0..heat_w.len()).map(excess).collect();
        excess_k.iter().all(|k| k.is_finite()).then_some(Point { current_a, heat_w, excess_k, yielding })
    }

    /// Newton's method on the junction temperatures.
    fn newton(&self, task: &Task<'_>, part: f64, start_c: Vec<f64>, from_below: bool) -> Option<Vec<f64>> {
        let n = start_c.len();
        let mut junction_c = start_c;
        let mut here = self.point(task, part, &junction_c)?;
        let not_passed = |point: &Point| point.excess_k.iter().all(|k| *k > -PASSED_K);
        let size = |point: &Point| point.excess_k.iter().fold(0.0f64, |m, k| m.max(k.abs()));
        let mut largest = f64::INFINITY;
        for _ in 0..MOST_STEPS {
            let mut jacobian = self.gain(task, &here, part, &junction_c);
            for (k, g) in jacobian.iter_mut().enumerate() {
                *g = if k / n == k % n { 1.0 - *g } else { -*g };
            }
            let step = solve_dense_many(jacobian, here.excess_k.clone(), n)?;
            largest = step.iter().fold(0.0f64, |m, s| m.max(s.abs()));
            if !largest.is_finite() {
                return None;
            }
            let moved = |length: f64| -> Vec<f64> {
                junction_c.iter().zip(&step).map(|(t, s)| t + length * s).collect()
            };
            // From below a step must not pass the coolest state; else it must come nearer.
            let guarded = from_below && not_passed(&here);
            let good = |next: &Point, length: f64| {
                if from_below {
                    !guarded || not_passed(next)
                } else {
                    size(next) < (1.0 - 0.01 * length) * size(&here) || largest < NEARLY_K
                }
            };
            let mut length = (80.0 / largest).min(1.0);
            let mut next = self.point(task, part, &moved(length));
            for _ in 0..HALVINGS {
                if next.as_ref().is_some_and(|next| good(next, length)) {
                    break;
                }
                length *= 0.5;
                next = self.point(task, part, &moved(length));
            }
            junction_c = moved(length);
            here = next?;
            if largest < FOUND_K {
                return Some(junction_c);
            }
        }
        (largest < NEARLY_K).then_some(junction_c)
    }

    /// Change of each junction's balance temperature per kelvin of each junction, row by row, with a part of the
    /// temperatures' differences in the sharing.
    fn gain(&self, task: &Task<'_>, at: &Point, part: f64, junction_c: &[f64]) -> Vec<f64> {
        let n = junction_c.len();
        let mut slopes = self.current_slopes(task, at, junction_c);
        let lit: Vec<bool> = (0..n).map(|e| self.circuit.lit[e]).collect();
        let count = lit.iter().filter(|lit| **lit).count().max(1) as f64;
        for row in slopes.chunks_mut(n) {
            let mean = row.iter().sum::<f64>() / count;
            for (slope, _) in row.iter_mut().zip(&lit).filter(|(_, lit)| **lit) {
                *slope = part * *slope + (1.0 - part) * mean;
            }
        }
        for (e, emitter) in task.emitters.iter().enumerate() {
            slopes[e * n + e] += heat_w_per_k(&emitter.sheet, at.current_a[e], junction_c[e]);
        }
        times_resistance(task, &slopes)
    }

    /// Change of each emitter's heat, by its current alone, per kelvin of each junction, W/K, row by row.
    fn current_slopes(&self, task: &Task<'_>, at: &Point, junction_c: &[f64]) -> Vec<f64> {
        let n = junction_c.len();
        let mut slopes = vec![0.0; n * n];
        for e in 0..n {
            let step_a = 1e-4 * at.current_a[e].max(1e-6);
            let heat = |current_a: f64| heat_w(task, e, current_a, junction_c[e]);
            let w_per_a = (heat(at.current_a[e] + step_a) - heat(at.current_a[e] - step_a)) / (2.0 * step_a);
            for f in 0..n {
                slopes[e * n + f] =
                    w_per_a * at.yielding.a_per_v(e, f) * task.emitters[f].sheet.forward_v_per_k;
            }
        }
        slopes
    }

    /// The feedback at equal junctions and the differences, K, in which it acts.
    fn feedback(&self, task: &Task<'_>, at: &Point, junction_c: &[f64]) -> Option<(f64, Vec<f64>)> {
        let n = junction_c.len();
        let by_current = times_resistance(task, &self.current_slopes(task, at, junction_c));
        let mut own = vec![0.0; n * n];
        for (e, emitter) in task.emitters.iter().enumerate() {
            own[e * n + e] = heat_w_per_k(&emitter.sheet, at.current_a[e], junction_c[e]);
        }
        let mut rest = times_resistance(task, &own);
        for (k, g) in rest.iter_mut().enumerate() {
            *g = if k / n == k % n { 1.0 - *g } else { -*g };
        }
        let turn = solve_dense_many(rest, by_current, n)?;
        Some(largest_mode(&turn, uneven(n)))
    }

    /// Whether a state stays where it is.
    fn lasts(&self, task: &Task<'_>, part: f64, junction_c: &[f64]) -> bool {
        let n = junction_c.len();
        let stable = |at: Point| largest_mode(&self.gain(task, &at, part, junction_c), uneven(n)).0 < 1.0;
        alive(task.emitters, junction_c) && self.point(task, part, junction_c).is_some_and(stable)
    }

    /// Which way currents run off from the division of equal junctions: that of the growing difference, on the side to which the
    /// true temperatures push.
    fn drift_a(&self, task: &Task<'_>, equal: &Point, equal_c: &[f64], mode_k: &[f64]) -> Vec<f64> {
        let n = equal_c.len();
        let answer = |e: usize| -> f64 {
            let by =
                |f: usize| equal.yielding.a_per_v(e, f) * task.emitters[f].sheet.forward_v_per_k * mode_k[f];
            (0..n).map(by).sum()
        };
        let drift: Vec<f64> = (0..n).map(answer).collect();
        let pushed = self.point(task, 1.0, equal_c);
        let along: f64 = pushed.map_or(0.0, |pushed| {
            (0..n).map(|e| (pushed.current_a[e] - equal.current_a[e]) * drift[e]).sum()
        });
        let sign = if along < 0.0 { -1.0 } else { 1.0 };
        drift.into_iter().map(|a| sign * a).collect()
    }
}

fn conditions(task: &Task<'_>, junction_c: &[f64]) -> Option<Conditions> {
    junction_c.iter().all(|t| SHARED_C.contains(t)).then(|| Conditions {
        junction_c: junction_c.to_vec(),
        offset_v: task.offset_v.to_vec(),
        emitter_ohm: task.ways.emitter_ohm.clone(),
        supply_ohm: task.ways.supply_ohm(),
    })
}

/// Heat of an emitter whose voltage lies beside its sheet's, W; its light follows the current.
fn heat_w(task: &Task<'_>, emitter: usize, current_a: f64, junction_c: f64) -> f64 {
    let state = emitter_state(&task.emitters[emitter].sheet, current_a, junction_c);
    (state.heat_w + task.offset_v[emitter] * current_a).max(0.0)
}

/// Rise of each junction, K, for changes of heat given column by column, W.
fn times_resistance(task: &Task<'_>, heat: &[f64]) -> Vec<f64> {
    let n = task.emitters.len();
    let mut out = vec![0.0; n * n];
    for (i, emitter) in task.emitters.iter().enumerate() {
        let row = task.response.row(i);
        for k in 0..n {
            let r = row.get(k).copied().unwrap_or(0.0) + if i == k { emitter.package_k_per_w } else { 0.0 };
            for j in 0..n {
                out[i * n + j] += r * heat[k * n + j];
            }
        }
    }
    out
}

/// A vector at right angles to no difference between branches that is likely to matter.
fn uneven(n: usize) -> Vec<f64> {
    // Multiples of the golden ratio lie evenly and repeat nowhere.
    (0..n).map(|k| 1.0 + (0.618_033_988_749_895 * (k + 1) as f64).fract()).collect()
}
