//! The sensor reading at which a test must be broken off: that with which the first temperature limit of the lamp is reached.
//!
//! The drive current is raised (or lowered) in the prediction until the smallest margin of all temperature limits is gone; what the
//! sensor reads there is taken linearly between the two solved states next to it. Where the lamp gets hot by a fan that stops and not
//! by more current, less heat flows from junction to board and the sensor reads more at the limit: this reading is the careful one.

use std::sync::atomic::AtomicBool;

use crate::as_built::{Lamp, Variant};
use crate::findings::{LimitFinding, Run, RunState};
use crate::model::{GridChoice, Model, ModelError};

/// Near enough to the limit, K.
const NEAR_K: f64 = 1.0;
/// Most states that are solved.
const MOST_RUNS: usize = 6;
/// No further than this from the nominal current.
const FACTOR: f64 = 4.0;

/// What a board sensor reads when the first limit is reached.
#[derive(Debug, Clone, PartialEq)]
pub struct AbortReading {
    /// Name of the sensor.
    pub sensor: String,
    /// Its reading, degC.
    pub reading_c: f64,
    /// The limit that is reached first, in words.
    pub limit: String,
    /// That limit, degC.
    pub limit_c: f64,
    /// Drive current at which it is reached, A.
    pub current_a: f64,
}

/// Abort readings of a variant's board sensors at the lamp's room temperature; none where it has no sensors or no temperature limit.
///
/// # Errors
/// When cancelled, or when the variant cannot be computed.
pub fn abort_readings(
    lamp: &Lamp,
    variant: &Variant,
    threads: usize,
    cancel: &AtomicBool,
) -> Result<Vec<AbortReading>, ModelError> {
    if lamp.sensors.is_empty() || variant.emitters.is_empty() {
        return Ok(Vec::new());
    }
    let mut model = Model::new(lamp, variant, &GridChoice::default(), threads)?;
    let mut runs: Vec<Run> = Vec::new();
    let mut current_a = lamp.nominal_current_a;
    for _ in 0..MOST_RUNS {
        let run = model.run(current_a, lamp.ambient_c, cancel)?;
        let next = match (run.state, tightest(&run).map(|limit| limit.margin)) {
            (RunState::Steady, None) => return Ok(Vec::new()),
            (RunState::Steady, Some(margin)) if margin.abs() <= NEAR_K => {
                runs.push(run);
                break;
            }
            (RunState::Steady, Some(_)) => {
                runs.push(run);
                next_current(&runs, lamp)
            }
            // No steady state so high up: half way back to the last one, or half of it.
            (RunState::Runaway, _) => 0.5 * (current_a + runs.last().map_or(0.0, |run| run.current_a)),
        };
        let [least, most] = [lamp.nominal_current_a / FACTOR, lamp.nominal_current_a * FACTOR];
        let bounded = next.clamp(least, most);
        if (bounded - current_a).abs() < 1e-6 {
            break;
        }
        current_a = bounded;
    }
    Ok(at_limit(&runs))
}

/// By the last two states, or by one: the rise of the place that is limited grows about with the current.
fn next_current(runs: &[Run], lamp: &Lamp) -> f64 {
    let point = |run: &Run| tightest(run).map(|limit| (run.current_a, limit.margin, limit.found));
    let (Some((at_a, margin, found)), before) =
        (runs.last().and_then(point), runs.len().checked_sub(2).and_then(|k| runs.get(k)).and_then(point))
    else {
        return lamp.nominal_current_a;
    };
    match before {
        Some((before_a, before_margin, _)) if (margin - before_margin).abs() > 1e-9 => {
            at_a + margin * (at_a - before_a) / (before_margin - margin)
        }
        _ => at_a * (1.0 + margin / (found - lamp.ambient_c).max(1.0)),
    }
}

/// The temperature limit with the smallest margin.
fn tightest(run: &Run) -> Option<&LimitFinding> {
    run.limits.iter().filter(|limit| limit.unit == "degC").min_by(|a, b| a.margin.total_cmp(&b.margin))
}

/// What the sensors read where the smallest margin of the temperature limits is gone: linear in the margin through the two states
/// that are nearest to it.
#[must_use]
pub fn at_limit(runs: &[Run]) -> Vec<AbortReading> {
    let mut near: Vec<(&Run, &LimitFinding)> =
        runs.iter().filter_map(|run| Some((run, tightest(run)?))).collect();
    near.sort_by(|a, b| a.1.margin.abs().total_cmp(&b.1.margin.abs()));
    let Some(((run, limit), second)) = near.first().copied().map(|first| (first, near.get(1).copied()))
    else {
        return Vec::new();
    };
    let reading = |run: &Run, name: &str| run.sensors.iter().find(|s| s.name == name)?.reading_c;
    run.sensors
        .iter()
        .filter_map(|sensor| {
            let here = sensor.reading_c?;
            let (mut reading_c, mut current_a) = (here, run.current_a);
            if let Some((other, other_limit)) = second
                && let Some(there) = reading(other, &sensor.name)
                && (other_limit.margin - limit.margin).abs() > 1e-9
            {
                let part = limit.margin / (limit.margin - other_limit.margin);
                reading_c += part * (there - here);
                current_a += part * (other.current_a - run.current_a);
            }
            Some(AbortReading {
                sensor: sensor.name.clone(),
                reading_c,
                limit: limit.what.clone(),
                limit_c: limit.limit,
                current_a,
            })
        })
        .collect()
}
