//! The bench test before it is made: currents and their order, dwell, sampling, what to expect, when to break off.
//!
//! A plan goes by lamp.toml and its tolerances alone, also where an earlier test was fitted: so the bench can contradict it.

mod board;
mod check_list;
mod course;
mod findings;
mod one_variant;
mod order;
mod readings;
mod sheet;
mod telling;
#[cfg(test)]
mod tests;
mod two_bodies;

use std::sync::atomic::{AtomicBool, Ordering};

use lamp::as_built::{Lamp, Sensor};
use lamp::model::{GridChoice, ModelError};

use one_variant::{Planned, run, variant};

pub use board::{Allowed, Board};
pub use course::{Course, CoursePoint, course};
pub use findings::{
    AbortReading, Expected, HotSurface, OtherReading, PlanFindings, PlannedDifference, PlannedRun,
    PlannedStep, PlannedVariant, Skipped,
};
pub use order::Order;
pub use sheet::sheet_text;
pub use two_bodies::{Settling, TwoBodies};

/// What is left of an approach at a plateau's end, K.
const SETTLED_WITHIN_K: f64 = 0.1;
/// Without power before the first current, s (common practice, no source).
const ZERO_S: f64 = 300.0;
/// Shortest dwell, s: below it there is little to extrapolate from (common practice, no source).
const LEAST_DWELL_S: f64 = 300.0;
/// To change a board, s (common practice, no source).
pub(crate) const MOUNTING_S: f64 = 900.0;
/// Cooled so far, a lamp can be touched, K above the room.
const COOL_K: f64 = 5.0;
/// How far the heat capacity may be off, as a part: emitters, screws and solder left out, densities of classes (from memory).
const CAPACITY_PART: f64 = 0.1;

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoPlan {
    /// What stands against it, in words.
    Problem(String),
    /// It was cancelled.
    Cancelled,
}

impl From<ModelError> for NoPlan {
    fn from(error: ModelError) -> Self {
        match error {
            ModelError::Cancelled => Self::Cancelled,
            ModelError::Problem(text) => Self::Problem(text),
        }
    }
}

/// What is asked.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Indices of the variants.
    pub variants: Vec<usize>,
    /// Drive currents, A; those of the lamp where none are given.
    pub currents_a: Option<Vec<f64>>,
    /// Their order.
    pub order: Order,
    /// How often each variant is mounted, 1 or more.
    pub mountings: usize,
    /// The grid.
    pub choice: GridChoice,
    /// Threads to compute with; no bit depends on it.
    pub threads: usize,
}

/// The plan. `told` hears which variant is worked on, by its place in the list.
///
/// # Errors
/// When there is nothing to read or to drive, when a variant cannot be computed, or when cancelled.
pub fn plan(
    lamp: &Lamp,
    wanted: &Wanted,
    told: &(dyn Fn(usize) + Sync),
    cancel: &AtomicBool,
) -> Result<PlanFindings, NoPlan> {
    plan_of(lamp, &boards(lamp, wanted, told, cancel)?, wanted, cancel)
}

/// The plan for boards that are solved already.
///
/// # Errors
/// As [`plan`].
pub fn plan_of(
    lamp: &Lamp,
    boards: &[(usize, Board)],
    wanted: &Wanted,
    cancel: &AtomicBool,
) -> Result<PlanFindings, NoPlan> {
    let sensor = watched_sensor(lamp)?;
    let mut ascending_a = wanted.currents_a.clone().unwrap_or_else(|| lamp.currents_a.clone());
    ascending_a.retain(|a| *a > 0.0);
    ascending_a.sort_by(f64::total_cmp);
    ascending_a.dedup();
    let mut planned = Vec::new();
    for (index, board) in boards {
        planned.push(variant(*index, board, &ascending_a, cancel)?);
    }
    if planned.iter().all(|p| p.found.expected.is_empty()) {
        let of = |p: &Planned| {
            let name = p.found.variant.clone();
            let why = move |s: &Skipped| format!("{name} at {} A: {}", s.current_a, s.why);
            p.found.skipped.iter().map(why).collect::<Vec<_>>()
        };
        let why = planned.iter().flat_map(of);
        return Err(NoPlan::Problem(format!(
            "no current can be planned: {}",
            why.collect::<Vec<_>>().join("; ")
        )));
    }
    planned.retain(|p| !p.found.expected.is_empty());
    let order: Vec<usize> = order::mounts(&(0..planned.len()).collect::<Vec<_>>(), wanted.mountings.max(1));
    let currents = |run: usize| -> Vec<f64> {
        let own: Vec<f64> = planned[order[run]].found.expected.iter().map(|e| e.current_a).collect();
        wanted.order.of_run(run, &own)
    };
    let steps: Vec<Vec<f64>> = (0..order.len()).map(currents).collect();
    let dwell_s =
        order.iter().zip(&steps).map(|(of, own)| planned[*of].dwell_s(own)).fold(LEAST_DWELL_S, f64::max);
    let dwell_s = 60.0 * (dwell_s / 60.0).ceil();
    let runs: Vec<PlannedRun> = (0..order.len())
        .map(|k| {
            let mounting = order[..=k].iter().filter(|of| **of == order[k]).count();
            run(k, &planned[order[k]], mounting, &steps[k], dwell_s)
        })
        .collect();
    let between: f64 = runs.iter().rev().skip(1).map(|r| r.cooling_s + MOUNTING_S).sum();
    let fast_s = planned.iter().map(|p| p.found.fast_s).fold(f64::INFINITY, f64::min);
    let differences = differences(lamp, boards, &planned, cancel)?;
    let mut found = PlanFindings {
        lamp: lamp.name.clone(),
        answers: Vec::new(),
        sensor: sensor.name.clone(),
        ambient_c: lamp.ambient_c,
        order: wanted.order.word(),
        seed: wanted.order.seed(),
        mountings: wanted.mountings.max(1),
        dwell_s,
        settled_within_k: SETTLED_WITHIN_K,
        zero_s: ZERO_S,
        sampling_interval_s: readings::interval_s(fast_s),
        sampling_reason: String::new(),
        total_s: runs.iter().map(|r| r.duration_s).sum::<f64>() + between,
        variants: planned.into_iter().map(|p| p.found).collect(),
        runs,
        differences,
        check_list: Vec::new(),
        cautions: Vec::new(),
        remarks: Vec::new(),
    };
    telling::tell(&mut found, lamp);
    Ok(found)
}

/// The sensor reading of a variant at which to break off a test with the lamp's own currents: that of a plan.
///
/// # Errors
/// When the variant cannot be computed, when there is no such reading, or when cancelled.
pub fn abort_reading(
    lamp: &Lamp,
    index: usize,
    (choice, threads): (&GridChoice, usize),
    cancel: &AtomicBool,
) -> Result<AbortReading, NoPlan> {
    let no = |why: &str| NoPlan::Problem(why.to_owned());
    if lamp.sensors.is_empty() {
        return Err(no("the lamp states no board sensor"));
    }
    if lamp.variants.get(index).is_some_and(|v| v.emitters.is_empty()) {
        return Err(no("the variant has no emitters, so there is no temperature limit"));
    }
    let board = Board::new(lamp, index, (choice, threads), cancel)?;
    let allowed = board.allowed(&lamp.currents_a, cancel)?;
    if allowed.currents_a.is_empty() {
        return Err(no("even at the lowest current of lamp.toml a limit is passed"));
    }
    allowed.abort.ok_or_else(|| no("no temperature limit is met at any room temperature"))
}

fn watched_sensor(lamp: &Lamp) -> Result<&Sensor, NoPlan> {
    lamp.watched().ok_or_else(|| {
        NoPlan::Problem(
            "the lamp states no [[sensor]], so there is nothing to read; a place on the board is enough to begin with".to_owned(),
        )
    })
}

/// The variants by themselves, side by side, with their indices; `told` hears at which place of the list it is.
///
/// # Errors
/// As [`plan`].
pub fn boards(
    lamp: &Lamp,
    wanted: &Wanted,
    told: &(dyn Fn(usize) + Sync),
    cancel: &AtomicBool,
) -> Result<Vec<(usize, Board)>, NoPlan> {
    watched_sensor(lamp)?;
    for index in &wanted.variants {
        let name = lamp.variants.get(*index).map_or("", |v| v.name.as_str());
        if lamp.variants.get(*index).is_none_or(|v| v.emitters.is_empty()) {
            return Err(NoPlan::Problem(format!(
                "variant {name} has no emitters, so there is nothing to drive"
            )));
        }
    }
    let count = wanted.variants.len().max(1);
    let threads = wanted.threads.max(1);
    let own = threads.div_ceil(count);
    let mut made = Vec::new();
    for (k, together) in wanted.variants.chunks(threads).enumerate() {
        told(k * threads);
        if cancel.load(Ordering::Relaxed) {
            return Err(NoPlan::Cancelled);
        }
        let solved: Vec<Option<Result<Board, ModelError>>> = std::thread::scope(|scope| {
            let start = |index: &usize| {
                let index = *index;
                scope.spawn(move || Board::new(lamp, index, (&wanted.choice, own), cancel))
            };
            let running: Vec<_> = together.iter().map(start).collect();
            running.into_iter().map(|thread| thread.join().ok()).collect()
        });
        for (index, board) in together.iter().zip(solved) {
            let broken = || NoPlan::Problem("a calculating thread broke off".to_owned());
            made.push((*index, board.ok_or_else(broken)??));
        }
    }
    Ok(made)
}

/// The first variant against each other one, at every current that both take.
fn differences(
    lamp: &Lamp,
    boards: &[(usize, Board)],
    planned: &[Planned],
    cancel: &AtomicBool,
) -> Result<Vec<PlannedDifference>, NoPlan> {
    let board = |index: usize| boards.iter().find(|(own, _)| *own == index).map(|(_, board)| board);
    let mut all = Vec::new();
    let Some(one) = planned.first() else { return Ok(all) };
    for other in &planned[1..] {
        for expected in &one.found.expected {
            let drive_a = expected.current_a;
            if !other.found.expected.iter().any(|e| e.current_a == drive_a) {
                continue;
            }
            if cancel.load(Ordering::Relaxed) {
                return Err(NoPlan::Cancelled);
            }
            let (Some(a), Some(b)) = (board(one.index), board(other.index)) else { continue };
            let Some([difference_k, low_k, high_k]) =
                board::difference_k(lamp, (one.index, a), (other.index, b), drive_a)
            else {
                continue;
            };
            let told_apart_k = readings::told_apart_k(lamp, expected.sensor_c, SETTLED_WITHIN_K);
            all.push(PlannedDifference {
                variant: one.found.variant.clone(),
                other: other.found.variant.clone(),
                current_a: drive_a,
                difference_k,
                low_k,
                high_k,
                told_apart_k,
                seen: difference_k.abs() > told_apart_k,
            });
        }
    }
    Ok(all)
}
