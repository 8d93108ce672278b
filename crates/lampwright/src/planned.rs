//! The plan of the bench test of a folder, as command, recording and page ask for it, and the files it is kept in.

use std::fmt::Write as _;
use std::sync::atomic::AtomicBool;

use bench::plan::{Board, NoPlan, PlanFindings, Wanted, boards, plan_of, sheet_text};
use lamp::as_built::Lamp;

use crate::bench_answer::csv::quoted;
use crate::judgement::Tell;
use crate::outcome::Failure;

/// Number by which a random order is shuffled where none is given.
pub const SEED: u64 = 1;

impl From<NoPlan> for Failure {
    fn from(why: NoPlan) -> Self {
        match why {
            NoPlan::Cancelled => Self::Cancelled,
            NoPlan::Problem(text) => Self::bad_file("lamp.toml", text),
        }
    }
}

/// Makes the plan.
///
/// # Errors
/// When there is none, or when stopped.
pub fn planned(lamp: &Lamp, wanted: &Wanted, tell: Tell, stop: &AtomicBool) -> Result<PlanFindings, Failure> {
    let boards = solved(lamp, wanted, tell, stop)?;
    tell(0, 1, "asking some hundred lamps for their readings".to_owned());
    Ok(plan_of(lamp, &boards, wanted, stop)?)
}

/// Solves the boards of a plan.
///
/// # Errors
/// As [`planned`].
pub fn solved(
    lamp: &Lamp,
    wanted: &Wanted,
    tell: Tell,
    stop: &AtomicBool,
) -> Result<Vec<(usize, Board)>, Failure> {
    let count = wanted.variants.len();
    let told =
        |done: usize| tell(done, count, "solving each board and what its tolerances change".to_owned());
    Ok(boards(lamp, wanted, &told, stop)?)
}

/// One row a step, for a spreadsheet.
#[must_use]
pub fn plan_csv(found: &PlanFindings) -> String {
    let mut out = String::from(
        "run,name,variant,mounting,step,current_a,start_s,dwell_s,expected_sensor_c,low_c,high_c,expected_v,low_v,high_v,\
         expected_ohm,low_ohm,high_ohm,abort_above_c,expected_junction_c,electrical_w\n",
    );
    let three = |values: Option<[f64; 3]>| match values {
        Some([a, b, c]) => format!("{a:.5},{b:.5},{c:.5}"),
        None => ",,".to_owned(),
    };
    for run in &found.runs {
        let variant = found.variants.iter().find(|v| v.variant == run.variant);
        for step in &run.steps {
            let expected = variant.and_then(|v| v.expected.iter().find(|e| e.current_a == step.current_a));
            let (junction, power) = expected.map_or((String::new(), String::new()), |e| {
                (format!("{:.2}", e.junction_c), format!("{:.3}", e.electrical_w))
            });
            let _ = writeln!(
                out,
                "{},{},{},{},{},{},{},{},{:.2},{:.2},{:.2},{},{},{},{junction},{power}",
                run.run,
                quoted(&run.name),
                quoted(&run.variant),
                run.mounting,
                step.step,
                step.current_a,
                step.start_s,
                step.dwell_s,
                step.sensor_c,
                step.low_c,
                step.high_c,
                three(expected.and_then(|e| e.output_v)),
                three(expected.and_then(|e| e.output_ohm)),
                step.abort_above_c.map(|c| c.to_string()).unwrap_or_default(),
            );
        }
    }
    out
}

/// Bench sheets of all runs, by their file names. Names of variants become part of a file's name, so that odd letters give way.
#[must_use]
pub fn plan_sheets(found: &PlanFindings, lamp: &Lamp) -> Vec<(String, String)> {
    let sheet = |run: &bench::plan::PlannedRun| (format!("{}.toml", run.name), sheet_text(found, run, lamp));
    found.runs.iter().map(sheet).collect()
}
