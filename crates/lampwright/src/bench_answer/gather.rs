//! All runs of a lamp folder read and evaluated, one after the other.

use bench::evaluation::comparing::ComparisonFinding;
use bench::evaluation::{OffFinding, PlateauFinding, evaluate};
use bench::mapping::Names;
use bench::run::{self, BenchRun, LogFolder, RunSummary};
use lamp::as_built::Lamp;
use serde::Serialize;

use super::Findings;
use crate::outcome::Failure;

/// Said where there is no log yet.
pub const HOW_TO_ADD_LOGS: &str = "put your logs into bench/, each with a bench sheet beside it; `lampwright bench --sniff FILE` proposes one";

/// The bench sheets of a lamp folder; at least one.
///
/// # Errors
/// When there is none, or the folder cannot be read.
pub fn sheets(folder: &dyn LogFolder) -> Result<Vec<String>, Failure> {
    let refuse = |why: String| Failure::bad_file(run::BENCH_FOLDER, format!("{why}; {HOW_TO_ADD_LOGS}"));
    match run::sheets(folder) {
        Err(why) => Err(refuse(format!("cannot be read: {why}"))),
        Ok(all) if all.is_empty() => Err(refuse("holds no bench sheet".to_owned())),
        Ok(all) => Ok(all),
    }
}

/// What the bench test of a lamp holds and says.
#[derive(Debug, Default)]
pub struct Benched {
    /// Name of the lamp.
    pub lamp: String,
    /// What all runs together say.
    pub found: Findings,
    /// What was understood of each.
    pub runs: Vec<RunSummary>,
    /// Whether an error stands against one of them.
    pub errors: bool,
}

/// What `bench --json` prints, and the page hands out.
#[derive(Serialize)]
pub struct BenchedJson<'a> {
    lamp: &'a str,
    answers: &'a [String],
    plateaus: &'a [PlateauFinding],
    lamp_off: &'a [OffFinding],
    comparisons: &'a [ComparisonFinding],
    findings_remarks: &'a [String],
    runs: &'a [RunSummary],
}

impl Benched {
    /// Reads and evaluates runs. `tell` is told what is being done and how many runs are behind; `take` is given each run when it has
    /// been evaluated. `None` when `stopped` says so between two runs.
    pub fn gather(
        folder: &dyn LogFolder,
        lamp: &Lamp,
        sheets: &[String],
        tell: &mut dyn FnMut(usize, String),
        take: &mut dyn FnMut(BenchRun),
        stopped: &dyn Fn() -> bool,
    ) -> Option<Self> {
        let names = Names::of(lamp);
        let mut gathered = Self { lamp: lamp.name.clone(), ..Self::default() };
        let mut evaluated = Vec::new();
        for (done, sheet) in sheets.iter().enumerate() {
            if stopped() {
                return None;
            }
            tell(done, format!("reading the logs of {sheet}"));
            let read = run::read(folder, sheet, &names);
            gathered.errors |= read.has_errors();
            if stopped() {
                return None;
            }
            tell(done, format!("looking for what {sheet} settled to"));
            let summary = read.summary(lamp);
            evaluated.push((summary.run.clone(), evaluate(&read, lamp)));
            gathered.runs.push(summary);
            take(read);
        }
        gathered.found = Findings::of(evaluated, lamp);
        Some(gathered)
    }

    /// As JSON is written of it.
    #[must_use]
    pub fn json(&self) -> BenchedJson<'_> {
        BenchedJson {
            lamp: &self.lamp,
            answers: &self.found.answers,
            plateaus: &self.found.plateaus,
            lamp_off: &self.found.lamp_off,
            comparisons: &self.found.comparisons,
            findings_remarks: &self.found.remarks,
            runs: &self.runs,
        }
    }
}
