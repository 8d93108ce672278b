//! The bench test behind the page: findings of all runs, read anew when a file in bench/ or the lamp has changed; recordings kept for
//! drawing as far as memory goes.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::io::Read;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use bench::drawing::RunDrawing;
use bench::mapping::Names;
use bench::run::{self, BENCH_FOLDER, BenchRun, LogFolder};
use lamp::as_built::Lamp;
use serde::{Deserialize, Serialize};

use super::answers::Trouble;
use super::at_work::Working;
use crate::bench_answer::{Benched, BenchedJson, HOW_TO_ADD_LOGS};

/// Recordings kept beside the one that was looked at last, bytes.
const KEPT_BYTES: usize = 512 << 20;

/// What the page asks of a run's log.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct AskedTrace {
    pub run: String,
    /// Window, s from the first row.
    pub from_s: f64,
    pub to_s: f64,
    /// Columns of the drawing.
    pub columns: usize,
    pub asked_as: String,
}

/// The page's own name for a question about the bench.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub(super) struct AskedBench {
    pub asked_as: String,
}

/// What the page is told of the bench test.
#[derive(Serialize)]
pub(super) struct BenchAnswer<'a> {
    /// Where there is no run: how to add logs.
    pub how_to_add: Option<&'static str>,
    /// Where there is: what `bench --json` prints.
    pub bench: Option<BenchedJson<'a>>,
    /// Fitted approach of each plateau, in their order: time, s from the first row, and degC.
    pub fitted: Vec<&'a [(f64, f64)]>,
}

#[derive(Debug)]
pub(super) struct Kept {
    seen: u64,
    pub benched: Option<Benched>,
}

impl Kept {
    pub fn answer(&self) -> BenchAnswer<'_> {
        let plateaus = self.benched.iter().flat_map(|benched| &benched.found.plateaus);
        BenchAnswer {
            how_to_add: self.benched.is_none().then_some(HOW_TO_ADD_LOGS),
            bench: self.benched.as_ref().map(Benched::json),
            fitted: plateaus.map(|plateau| plateau.fitted.as_slice()).collect(),
        }
    }
}

/// Findings and recordings of the last look at the folder.
#[derive(Debug, Default)]
pub(super) struct BenchDesk {
    now: Mutex<Option<Arc<Kept>>>,
    /// The one looked at last stands at the end.
    runs: Mutex<Vec<Arc<BenchRun>>>,
}

fn unpoisoned<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl BenchDesk {
    /// The findings as the folder has them now. `lamp_seen` changes with the lamp.
    pub fn findings(
        &self,
        folder: &dyn LogFolder,
        lamp: Option<&Lamp>,
        lamp_seen: u64,
        working: &Working,
    ) -> Result<Arc<Kept>, Trouble> {
        // Whoever asks meanwhile waits, and finds the answer.
        let mut now = unpoisoned(&self.now);
        working.tell("looking at bench/");
        let seen = seen(folder, lamp_seen);
        if let Some(kept) = now.as_ref().filter(|kept| kept.seen == seen) {
            return Ok(Arc::clone(kept));
        }
        unpoisoned(&self.runs).clear();
        let sheets = run::sheets(folder).unwrap_or_default();
        let benched = match lamp.filter(|_| !sheets.is_empty()) {
            None => None,
            Some(lamp) => Some(
                Benched::gather(
                    folder,
                    lamp,
                    &sheets,
                    &mut |_, doing| working.tell(doing),
                    &mut |run| self.keep(Arc::new(run)),
                    &|| working.is_cancelled(),
                )
                .ok_or_else(Trouble::cancelled)?,
            ),
        };
        let kept = Arc::new(Kept { seen, benched });
        *now = Some(Arc::clone(&kept));
        Ok(kept)
    }

    /// A run's log in a window.
    pub fn trace(
        &self,
        folder: &dyn LogFolder,
        lamp: &Lamp,
        asked: &AskedTrace,
        working: &Working,
    ) -> Result<RunDrawing, Trouble> {
        let run = self.run(folder, lamp, &asked.run, working)?;
        run.drawing(lamp, asked.from_s, asked.to_s, asked.columns).ok_or_else(|| {
            Trouble::plain(format!(
                "the run {} cannot be drawn from {} to {} s: nothing was recorded there",
                asked.run, asked.from_s, asked.to_s
            ))
        })
    }

    fn run(
        &self,
        folder: &dyn LogFolder,
        lamp: &Lamp,
        name: &str,
        working: &Working,
    ) -> Result<Arc<BenchRun>, Trouble> {
        {
            let mut runs = unpoisoned(&self.runs);
            if let Some(place) = runs.iter().position(|run| is_called(run, name)) {
                let run = runs.remove(place);
                runs.push(Arc::clone(&run));
                return Ok(run);
            }
        }
        let sheets = run::sheets(folder).unwrap_or_default();
        // Only sheets that exist are read: what was typed names none by a path.
        let sheet = sheets.iter().find(|sheet| stem(sheet) == name);
        let Some(sheet) = sheet else { return Err(Trouble::plain(format!("bench/ has no run {name}"))) };
        working.tell(format!("reading the logs of {sheet}"));
        let run = Arc::new(run::read(folder, sheet, &Names::of(lamp)));
        self.keep(Arc::clone(&run));
        Ok(run)
    }

    fn keep(&self, run: Arc<BenchRun>) {
        let bytes =
            |run: &Arc<BenchRun>| run.recording.as_ref().map_or(0, bench::recording::Recording::bytes);
        let mut runs = unpoisoned(&self.runs);
        runs.push(run);
        while runs.len() > 1 && runs.iter().map(bytes).sum::<usize>() > KEPT_BYTES {
            runs.remove(0);
        }
    }
}

fn stem(sheet: &str) -> &str {
    let name = sheet.rsplit('/').next().unwrap_or(sheet);
    name.strip_suffix(".toml").unwrap_or(name)
}

fn is_called(run: &BenchRun, name: &str) -> bool {
    run.sheet.as_ref().is_some_and(|sheet| sheet.name == name) || stem(&run.file) == name
}

/// A number that changes when the lamp or any file in bench/ does.
fn seen(folder: &dyn LogFolder, lamp_seen: u64) -> u64 {
    let mut hasher = DefaultHasher::new();
    lamp_seen.hash(&mut hasher);
    let mut piece = vec![0; 1 << 16];
    for name in folder.list(BENCH_FOLDER).unwrap_or_default() {
        name.hash(&mut hasher);
        match folder.open(&format!("{BENCH_FOLDER}/{name}")) {
            Ok((mut source, _)) => {
                while let Ok(count @ 1..) = source.read(&mut piece) {
                    hasher.write(piece.get(..count).unwrap_or_default());
                }
            }
            Err(why) => why.hash(&mut hasher),
        }
    }
    hasher.finish()
}
