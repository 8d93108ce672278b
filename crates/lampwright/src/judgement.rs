//! Fit and verdict of a lamp folder, as commands and page both ask for them.

use std::sync::atomic::AtomicBool;

use bench::evaluation::{PlateauFinding, evaluate};
use bench::fit::{FitError, FitFindings, Fitted, Posterior, fit};
use bench::mapping::Names;
use bench::run::{self, LogFolder};
use bench::verdict::{Asked, NoVerdict, VerdictFindings, verdict};
use lamp::as_built::Lamp;
use lamp::model::GridChoice;
use lamp::project::Folder;
use lamp::reduced::ReducedLamp;

use crate::bench_answer::sheets;
use crate::commands::threads;
use crate::outcome::Failure;

/// Told what is done: how many steps of how many, and in words.
pub type Tell<'a> = &'a (dyn Fn(usize, usize, String) + Sync);

/// File in results/ in which a fit leaves what it found.
pub const FITTED: &str = "fitted.toml";

/// Number from which the lamps are drawn where none is given.
pub const SEED: u32 = 1;

/// What `verdict --json` prints.
#[derive(Debug, serde::Serialize)]
pub struct Verdicts {
    /// Name of the lamp.
    pub lamp: String,
    /// A verdict for each variant asked for.
    pub verdicts: Vec<VerdictFindings>,
}

/// The plateaus of all runs in the lamp folder.
///
/// # Errors
/// When there is no bench sheet, or a run has errors.
pub fn plateaus(folder: &dyn LogFolder, lamp: &Lamp, tell: Tell) -> Result<Vec<PlateauFinding>, Failure> {
    let sheets = sheets(folder)?;
    let names = Names::of(lamp);
    let mut all = Vec::new();
    for (done, sheet) in sheets.iter().enumerate() {
        tell(done, sheets.len(), format!("looking for what {sheet} settled to"));
        let read = run::read(folder, sheet, &names);
        if read.has_errors() {
            return Err(Failure::bad_file(
                sheet.clone(),
                "has errors, which `lampwright bench` lists; a fit needs logs that are understood".to_owned(),
            ));
        }
        all.extend(evaluate(&read, lamp).plateaus);
    }
    Ok(all)
}

/// Solves and reduces all variants.
///
/// # Errors
/// When a model cannot be made, or when stopped.
pub fn reduce(lamp: &Lamp, tell: Tell, stop: &AtomicBool) -> Result<ReducedLamp, Failure> {
    let count = lamp.variants.len();
    let say = |done: usize| tell(done, count, "solving each board and what changes it".to_owned());
    say(0);
    ReducedLamp::new(lamp, (&GridChoice::default(), threads()), &mut { say }, stop).map_err(Failure::from)
}

/// The values fitted to the plateaus, and what there is to say of them.
///
/// # Errors
/// When nothing can be fitted, or when stopped.
pub fn fitted(
    plateaus: &[PlateauFinding],
    lamp: &Lamp,
    reduced: &mut ReducedLamp,
    tell: Tell,
    stop: &AtomicBool,
) -> Result<(Fitted, FitFindings), Failure> {
    tell(0, 1, "fitting the values to the plateaus".to_owned());
    let found = fit(plateaus, lamp, reduced, stop).map_err(fit_failure)?;
    let findings = found.findings(lamp, reduced, stop)?;
    Ok((found, findings))
}

/// What an earlier fit left in results/, where there was one.
///
/// # Errors
/// When it cannot be read, or belongs to another lamp.
pub fn earlier(
    folder: &dyn Folder,
    lamp: &Lamp,
    reduced: &ReducedLamp,
) -> Result<Option<Posterior>, Failure> {
    let place = format!("results/{FITTED}");
    if !folder.list("results").is_ok_and(|names| names.iter().any(|name| name == FITTED)) {
        return Ok(None);
    }
    let bytes = folder
        .read(&place)
        .map_err(|error| Failure::bad_file(place.clone(), format!("cannot be read: {error}")))?;
    let text = String::from_utf8_lossy(&bytes);
    let found = Posterior::from_text(&text, lamp, &reduced.uncertain)
        .map_err(|why| Failure::bad_file(place, format!("{why}; or leave it out with --unfitted")))?;
    Ok(Some(found))
}

/// The verdicts of some variants, by index.
///
/// # Errors
/// When a variant has none, or when stopped.
pub fn verdicts(
    lamp: &Lamp,
    reduced: &ReducedLamp,
    posterior: &Posterior,
    (variants, seed): (&[usize], u32),
    tell: Tell,
    stop: &AtomicBool,
) -> Result<Verdicts, Failure> {
    let mut found = Verdicts { lamp: lamp.name.clone(), verdicts: Vec::new() };
    for (done, variant) in variants.iter().enumerate() {
        let words = format!("{}: asking some thousand lamps", lamp.variants[*variant].name);
        tell(done, variants.len(), words);
        let asked = Asked { variant: *variant, hottest_c: lamp.hottest_c, seed, threads: threads() };
        let one = verdict(lamp, reduced, posterior, asked, stop).map_err(|why| match why {
            NoVerdict::Cancelled => Failure::Cancelled,
            NoVerdict::Problem(text) => Failure::bad_input(text),
        })?;
        found.verdicts.push(one);
    }
    fill_outputs(lamp, &mut found.verdicts);
    Ok(found)
}

/// What the sensor puts out where the driver must throttle.
fn fill_outputs(lamp: &Lamp, found: &mut [VerdictFindings]) {
    let Some(law) = lamp.watched().and_then(|sensor| sensor.law) else { return };
    for throttle in found.iter_mut().filter_map(|v| v.throttle.as_mut()) {
        throttle.output_v = bench::sensor::output_v(law, throttle.to_set_c());
        throttle.output_ohm = bench::sensor::output_ohm(law, throttle.to_set_c());
    }
}

fn fit_failure(error: FitError) -> Failure {
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
