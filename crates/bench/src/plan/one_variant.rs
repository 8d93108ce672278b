//! One variant of a plan: what to expect at each current, how it settles, and its runs.

use std::sync::atomic::AtomicBool;

use lamp::heat_capacity::stores;

use super::board::Board;
use super::findings::{HotSurface, PlannedRun, PlannedStep, PlannedVariant};
use super::two_bodies::{Settling, TwoBodies};
use super::{CAPACITY_PART, COOL_K, NoPlan, SETTLED_WITHIN_K, ZERO_S};

/// A variant with what its dwell follows from.
pub(super) struct Planned {
    pub index: usize,
    pub found: PlannedVariant,
    /// How it settles at each of its currents, the slowest within the tolerances.
    slowest: Vec<Settling>,
    ambient_c: f64,
}

impl Planned {
    fn rise_k(&self, current_a: f64) -> f64 {
        let expected = self.found.expected.iter().find(|e| e.current_a == current_a);
        expected.map_or(0.0, |e| e.sensor_c - self.ambient_c)
    }

    /// The longest that one of these currents, A, in their order, must be held, s.
    pub fn dwell_s(&self, currents_a: &[f64]) -> f64 {
        let mut from_k = 0.0;
        let mut longest_s = 0.0f64;
        for current_a in currents_a {
            let to_k = self.rise_k(*current_a);
            let settling = self.found.expected.iter().position(|e| e.current_a == *current_a);
            let settling = settling.and_then(|k| self.slowest.get(k));
            longest_s =
                longest_s.max(settling.map_or(0.0, |s| s.until_within_s(to_k - from_k, SETTLED_WITHIN_K)));
            from_k = to_k;
        }
        longest_s
    }
}

/// What is to be expected of a variant, and how it settles.
pub(super) fn variant(
    index: usize,
    board: &Board,
    currents_a: &[f64],
    cancel: &AtomicBool,
) -> Result<Planned, NoPlan> {
    let allowed = board.allowed(currents_a, cancel)?;
    let mut expected = Vec::new();
    for current_a in &allowed.currents_a {
        expected.extend(board.expected(*current_a, cancel)?);
    }
    let ambient_c = board.lamp.ambient_c;
    let settling: Vec<Settling> =
        expected.iter().filter_map(|e| Some(two_bodies(board, e.current_a)?.settling())).collect();
    let top = expected.last();
    let band = top.map_or(0.0, |e| (e.high_c - e.sensor_c) / (e.sensor_c - ambient_c).max(1.0));
    let slower = band.max(0.0).hypot(CAPACITY_PART);
    let slowest: Vec<Settling> = settling.iter().map(|s| s.slower_by(slower)).collect();
    let last = settling.last().copied().unwrap_or(Settling { slow_s: 0.0, fast_s: 0.0, slow_part: 1.0 });
    let hot = |touch: &lamp::findings::TouchFinding| {
        Some(HotSurface {
            surface: touch.surface.clone(),
            hottest_c: touch.hottest_c,
            burns_within: touch.burns_within?,
        })
    };
    let found = PlannedVariant {
        variant: board.variant().name.clone(),
        title: board.variant().title.clone(),
        heat_capacity_j_per_k: stores(board.variant()).whole_j_per_k(),
        slow_s: last.slow_s,
        slow_at_most_s: slowest.iter().map(|s| s.slow_s).fold(0.0, f64::max),
        fast_s: last.fast_s,
        slow_part: last.slow_part,
        abort: allowed.abort,
        expected,
        skipped: allowed.skipped,
        hot: board.reference().touch.iter().filter_map(hot).collect(),
    };
    Ok(Planned { index, found, slowest, ambient_c })
}

/// The variant at a current as two lumps, seen from its sensor.
fn two_bodies(board: &Board, current_a: f64) -> Option<TwoBodies> {
    let state = board.likeliest(current_a)?;
    let stores = stores(board.variant());
    let heat_w: f64 = state.heat_w.iter().sum();
    let reading_c = board.watched_c(&state)?;
    let room_c = board.lamp.ambient_c;
    let Some(base_c) = state.base_c else {
        return (heat_w > 0.0).then(|| TwoBodies {
            board_j_per_k: stores.board_j_per_k(),
            board_k_per_w: (reading_c - room_c).max(0.0) / heat_w,
            heatsink_j_per_k: 0.0,
            heatsink_k_per_w: 0.0,
            sensor_part: 1.0,
        });
    };
    // The board as a whole lies between its solder points and where the sensor is.
    let solder_c = state.solder_c.iter().sum::<f64>() / state.solder_c.len().max(1) as f64;
    let board_k = (0.5 * (solder_c + reading_c) - base_c).max(0.0);
    (heat_w > 0.0).then(|| TwoBodies {
        board_j_per_k: stores.board_j_per_k(),
        board_k_per_w: board_k / heat_w,
        heatsink_j_per_k: stores.heatsink_j_per_k(),
        heatsink_k_per_w: (base_c - room_c) / heat_w,
        sensor_part: if board_k > 0.0 { ((reading_c - base_c) / board_k).clamp(0.0, 1.0) } else { 1.0 },
    })
}

/// A run of it, by its number from 0.
pub(super) fn run(
    number: usize,
    of: &Planned,
    mounting: usize,
    currents_a: &[f64],
    dwell_s: f64,
) -> PlannedRun {
    let variant = &of.found.variant;
    let name = if mounting > 1 { format!("plan-{variant}-{mounting}") } else { format!("plan-{variant}") };
    let step = |(k, current_a): (usize, &f64)| {
        let expected = of.found.expected.iter().find(|e| e.current_a == *current_a)?;
        Some(PlannedStep {
            step: k + 1,
            current_a: *current_a,
            start_s: ZERO_S + dwell_s * k as f64,
            dwell_s,
            sensor_c: expected.sensor_c,
            low_c: expected.low_c,
            high_c: expected.high_c,
            abort_above_c: of.found.abort.as_ref().map(|s| s.above_c),
        })
    };
    let last_k = currents_a.last().map_or(0.0, |a| of.rise_k(*a));
    let cooling_s = of.slowest.iter().map(|s| s.until_within_s(last_k, COOL_K)).fold(0.0, f64::max);
    PlannedRun {
        run: number + 1,
        name,
        variant: variant.clone(),
        mounting,
        duration_s: ZERO_S + dwell_s * currents_a.len() as f64,
        cooling_s: 60.0 * (cooling_s / 60.0).ceil(),
        steps: currents_a.iter().enumerate().filter_map(step).collect(),
    }
}
