//! `lampwright fit`: the uncertain values fitted to the plateaus of the bench test.

use bench::fit::{FitFindings, Posterior};
use lamp::as_built::Lamp;
use lamp::project;

use super::stopping::stop_flag;
use super::{told_where, usable};
use crate::arguments::FitArguments;
use crate::disk::{LampFolder, write_result};
use crate::judgement::{self, FITTED};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, fitted, json_text};

pub fn fit(arguments: &FitArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let (lamp, _) = usable(project::read(&folder))?;
    let line = ProgressLine::new();
    let tell = |done: usize, of: usize, words: String| line.tell(done, of, words);
    let plateaus = judgement::plateaus(&folder, &lamp, &tell)?;
    let stop = stop_flag();
    let mut reduced = judgement::reduce(&lamp, &tell, &stop)?;
    let (found, findings) = judgement::fitted(&plateaus, &lamp, &mut reduced, &tell, &stop)?;
    line.end();
    if console.json() {
        console.object(&findings)?;
    } else {
        console.say(&fitted(&lamp.name, &findings, console.width()))?;
    }
    if !arguments.no_write {
        keep(&folder, &findings, &found.posterior(&reduced), &lamp, console)?;
    }
    Ok(Outcome::Fine)
}

/// Writes results/fitted.toml and results/fit.json. That the disk refuses spoils nothing that was said.
fn keep(
    folder: &LampFolder,
    findings: &FitFindings,
    posterior: &Posterior,
    lamp: &Lamp,
    console: &Console,
) -> Result<(), Failure> {
    let json = json_text(findings)?;
    let written = write_result(folder.root(), FITTED, posterior.to_text(lamp).as_bytes())
        .and_then(|_| write_result(folder.root(), "fit.json", json.as_bytes()));
    told_where(folder, written, &[FITTED, "fit.json"], console)
}
