//! The expected reading over time: to each current's settled reading in a slow part and a fast one.

use serde::Serialize;

use super::findings::{PlanFindings, PlannedRun};

/// A point of the course.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CoursePoint {
    /// From the first sample, s.
    pub at_s: f64,
    /// Expected reading, degC.
    pub sensor_c: f64,
    /// Low end of its band, degC.
    pub low_c: f64,
    /// High end, degC.
    pub high_c: f64,
}

/// The course of a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// Name of the run.
    pub run: String,
    /// Its points.
    pub points: Vec<CoursePoint>,
}

/// Points within a plateau, as parts of the dwell: dense where the reading moves.
const PARTS: [f64; 12] = [0.0, 0.01, 0.03, 0.06, 0.1, 0.15, 0.22, 0.3, 0.4, 0.55, 0.75, 1.0];

/// The course of a run: likeliest reading and both ends of the band, each by the variant's time constants from one settled rise
/// to the next. Linear: the rises of successive steps add up.
#[must_use]
pub fn course(found: &PlanFindings, run: &PlannedRun) -> Course {
    let room_c = found.ambient_c;
    let variant = found.variants.iter().find(|v| v.variant == run.variant);
    let (slow_s, fast_s, slow_part) =
        variant.map_or((1.0, 1.0, 1.0), |v| (v.slow_s.max(1e-9), v.fast_s.max(1e-9), v.slow_part));
    let still = |at_s: f64| CoursePoint { at_s, sensor_c: room_c, low_c: room_c, high_c: room_c };
    let mut points = vec![still(0.0)];
    // Slow and fast part of likeliest, low and high reading above the room, K.
    let mut from = [[0.0f64; 2]; 3];
    for step in &run.steps {
        let ends = [step.sensor_c, step.low_c, step.high_c].map(|c| c - room_c);
        let targets = ends.map(|k| [slow_part * k, (1.0 - slow_part) * k]);
        let at = |time_s: f64| -> [[f64; 2]; 3] {
            let left = [(-time_s / slow_s).exp(), (-time_s / fast_s).exp()];
            std::array::from_fn(|k| {
                std::array::from_fn(|m| targets[k][m] + (from[k][m] - targets[k][m]) * left[m])
            })
        };
        for part in PARTS {
            let now = at(part * step.dwell_s).map(|parts| room_c + parts[0] + parts[1]);
            points.push(CoursePoint {
                at_s: step.start_s + part * step.dwell_s,
                sensor_c: now[0],
                low_c: now[1],
                high_c: now[2],
            });
        }
        from = at(step.dwell_s);
    }
    Course { run: run.name.clone(), points }
}
