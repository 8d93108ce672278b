//! `lampwright fit`: the uncertain values fitted to the plateaus of the bench test.

use bench::evaluation::{PlateauFinding, evaluate};
use bench::fit::{FitError, FitFindings, Posterior, fit as fit_to};
use bench::mapping::Names;
use bench::run;
use lamp::as_built::Lamp;
use lamp::model::{GridChoice, ModelError};
use lamp::project;
use lamp::reduced::ReducedLamp;

use super::stopping::stop_flag;
use super::usable;
use crate::arguments::FitArguments;
use crate::disk::{LampFolder, write_result};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, fitted, json_text};

/// Where the fitted values are kept, in results/.
pub const FITTED: &str = "fitted.toml";

pub fn fit(arguments: &FitArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let (lamp, _) = usable(project::read(&folder))?;
    let plateaus = plateaus(&folder, &lamp)?;
    let stop = stop_flag();
    let mut reduced = reduce(&lamp, &stop)?;
    let line = ProgressLine::new();
    line.tell(0, 1, "fitting the values to the plateaus".to_owned());
    let found = fit_to(&plateaus, &lamp, &reduced, &stop).map_err(failure)?;
    let findings = found.findings(&lamp, &mut reduced, &stop).map_err(model_failure)?;
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

/// The plateaus of all runs in the lamp folder.
fn plateaus(folder: &LampFolder, lamp: &Lamp) -> Result<Vec<PlateauFinding>, Failure> {
    let hint = "put your logs into bench/, each with a bench sheet beside it; `lampwright bench --sniff FILE` proposes one";
    let sheets = run::sheets(folder)
        .map_err(|why| Failure::bad_file(run::BENCH_FOLDER, format!("cannot be read: {why}; {hint}")))?;
    if sheets.is_empty() {
        return Err(Failure::bad_file(run::BENCH_FOLDER, format!("holds no bench sheet; {hint}")));
    }
    let names = Names::of(lamp);
    let line = ProgressLine::new();
    let mut all = Vec::new();
    for (done, sheet) in sheets.iter().enumerate() {
        line.tell(done, sheets.len(), format!("looking for what {sheet} settled to"));
        let read = run::read(folder, sheet, &names);
        if read.has_errors() {
            return Err(Failure::bad_file(
                sheet.clone(),
                "has errors, which `lampwright bench` lists; a fit needs logs that are understood".to_owned(),
            ));
        }
        all.extend(evaluate(&read, lamp).plateaus);
    }
    line.end();
    Ok(all)
}

/// Solves and reduces all variants, with a line of progress.
pub fn reduce(lamp: &Lamp, stop: &std::sync::atomic::AtomicBool) -> Result<ReducedLamp, Failure> {
    let line = ProgressLine::new();
    let count = lamp.variants.len();
    line.tell(0, count, "solving each board and what changes it".to_owned());
    let mut tell = |done: usize| line.tell(done, count, "solving each board and what changes it".to_owned());
    let reduced = ReducedLamp::new(lamp, &GridChoice::default(), &mut tell, stop).map_err(model_failure);
    line.end();
    reduced
}

pub fn model_failure(error: ModelError) -> Failure {
    match error {
        ModelError::Cancelled => Failure::Cancelled,
        ModelError::Problem(text) => Failure::bad_input(text),
    }
}

fn failure(error: FitError) -> Failure {
    match error {
        FitError::Cancelled => Failure::Cancelled,
        FitError::Failed(text) => Failure::bad_input(text),
        FitError::NothingToFit(why) if why.is_empty() => Failure::bad_input(
            "the logs hold no plateau, so there is nothing to fit; `lampwright bench` says what they hold",
        ),
        FitError::NothingToFit(why) => {
            Failure::bad_input(format!("no plateau can be fitted: {}", why.join("; ")))
        }
    }
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
    super::told_where(folder, written.map(|_| ()), &[FITTED, "fit.json"], console)
}
