//! `lampwright verdict`: what to set, for one variant, with or without a bench test.

use bench::fit::Posterior;
use bench::sensor::OutputUnit;
use bench::verdict::{Asked, NoVerdict, VerdictFindings, verdict as verdict_of};
use lamp::as_built::Lamp;
use lamp::project;
use lamp::reduced::ReducedLamp;

use super::fit::{FITTED, reduce};
use super::predict;
use super::stopping::stop_flag;
use super::usable;
use crate::arguments::VerdictArguments;
use crate::disk::{LampFolder, write_result};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, json_text, verdicts};

/// What `verdict --json` prints.
#[derive(serde::Serialize)]
pub struct Verdicts {
    /// Name of the lamp.
    pub lamp: String,
    /// A verdict for each variant asked for.
    pub verdicts: Vec<VerdictFindings>,
}

pub fn verdict(arguments: &VerdictArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let hottest_c = arguments.hottest.as_deref().map(predict::ambient).transpose()?;
    let (mut lamp, _) = usable(project::read(&folder))?;
    lamp.hottest_c = hottest_c.unwrap_or(lamp.hottest_c);
    let chosen = predict::variants(&lamp, &arguments.variants)?;
    let stop = stop_flag();
    let reduced = reduce(&lamp, &stop)?;
    let posterior =
        if arguments.unfitted { Posterior::prior(&reduced) } else { known(&folder, &lamp, &reduced)? };
    let mut found = Verdicts { lamp: lamp.name.clone(), verdicts: Vec::new() };
    let line = ProgressLine::new();
    let indices: Vec<usize> = (0..lamp.variants.len())
        .filter(|v| chosen.as_ref().is_none_or(|names| names.contains(&lamp.variants[*v].name)))
        .collect();
    for (done, variant) in indices.iter().enumerate() {
        line.tell(
            done,
            indices.len(),
            format!("{}: asking some thousand lamps", lamp.variants[*variant].name),
        );
        let asked = Asked { variant: *variant, hottest_c: lamp.hottest_c, seed: arguments.seed };
        let one = verdict_of(&lamp, &reduced, &posterior, asked, &stop).map_err(|why| match why {
            NoVerdict::Cancelled => Failure::Cancelled,
            NoVerdict::Problem(text) => Failure::bad_input(text),
        })?;
        found.verdicts.push(one);
    }
    line.end();
    fill_outputs(&lamp, &mut found.verdicts);
    if console.json() {
        console.object(&found)?;
    } else {
        console.say(&verdicts(&found.lamp, &found.verdicts, console.width()))?;
    }
    if !arguments.no_write {
        let json = json_text(&found)?;
        let written = write_result(folder.root(), "verdict.json", json.as_bytes());
        super::told_where(&folder, written.map(|_| ()), &["verdict.json"], console)?;
    }
    Ok(if found.verdicts.iter().all(|v| v.passes) { Outcome::Fine } else { Outcome::OverLimit })
}

/// What the last fit left, where there was one; else the tolerances.
pub fn known(folder: &LampFolder, lamp: &Lamp, reduced: &ReducedLamp) -> Result<Posterior, Failure> {
    let place = folder.root().join("results").join(FITTED);
    let text = match std::fs::read_to_string(&place) {
        Ok(text) => text,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Posterior::prior(reduced)),
        Err(error) => {
            return Err(Failure::bad_file(format!("results/{FITTED}"), format!("cannot be read: {error}")));
        }
    };
    Posterior::from_text(&text, lamp, &reduced.uncertain).map_err(|why| {
        Failure::bad_file(format!("results/{FITTED}"), format!("{why}; or leave it out with --unfitted"))
    })
}

/// What the sensor puts out where the driver must throttle.
fn fill_outputs(lamp: &Lamp, found: &mut [VerdictFindings]) {
    let Some(law) = lamp.sensors.first().and_then(|sensor| sensor.law) else { return };
    for throttle in found.iter_mut().filter_map(|v| v.throttle.as_mut()) {
        let output = bench::sensor::output(law, throttle.reading_c, None).ok();
        match bench::sensor::output_unit(law) {
            OutputUnit::Volt => throttle.output_v = output,
            OutputUnit::Ohm => throttle.output_ohm = output,
            OutputUnit::DegreesCelsius => {}
        }
    }
}
