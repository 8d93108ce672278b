//! `lampwright predict`: temperatures, light and heat at each drive current.

use std::sync::atomic::AtomicBool;
use std::thread;
use std::time::Instant;

use lamp::as_built::Lamp;
use lamp::findings::{FindingRemark, Findings};
use lamp::predict::{Progress, Question};
use lamp::project;
use lamp::project::quantity::Quantity;

use super::stopping::stop_flag;
use super::{told_where, usable};
use crate::arguments::PredictArguments;
use crate::bench_answer::csv::quoted;
use crate::disk::{LampFolder, write_result};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, json_text, prediction};

pub fn predict(arguments: &PredictArguments, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(&arguments.lamp)?;
    let currents_a = currents(&arguments.currents)?;
    let ambient_c = arguments.ambient.as_deref().map(ambient).transpose()?;
    let (mut lamp, remarks) = usable(project::read(&folder))?;
    lamp.ambient_c = ambient_c.unwrap_or(lamp.ambient_c);
    let variants = variants(&lamp, &arguments.variants)?;
    let contact = arguments.contact;
    let question = Question { currents_a, variants, contact, threads: threads(), ..Question::default() };
    let findings = findings(&lamp, remarks, &question, &stop_flag())?;
    if console.json() {
        console.object(&findings)?;
    } else {
        console.say(&prediction(&findings, lamp.nominal_current_a, console.width()))?;
    }
    if !arguments.no_write {
        keep(&folder, &findings, console)?;
    }
    Ok(outcome(&findings))
}

/// What the findings mean for the exit status.
pub fn outcome(findings: &Findings) -> Outcome {
    if findings.within_limits { Outcome::Fine } else { Outcome::OverLimit }
}

/// Asks for the prediction, with the program's clock, a line of progress and the sensors' laws.
pub fn findings(
    lamp: &Lamp,
    remarks: Vec<FindingRemark>,
    question: &Question,
    stop: &AtomicBool,
) -> Result<Findings, Failure> {
    let line = ProgressLine::new();
    let mut tell = |at: &Progress| line.tell(at.done, at.total, format!("{}: {}", at.variant, at.doing));
    let began = Instant::now();
    let mut clock = || began.elapsed().as_secs_f64();
    let found = lamp::predict::predict(lamp, question, &mut tell, stop, &mut clock);
    line.end();
    let mut findings = found?;
    findings.remarks.splice(0..0, remarks);
    fill_sensor_outputs(lamp, &mut findings);
    Ok(findings)
}

fn fill_sensor_outputs(lamp: &Lamp, findings: &mut Findings) {
    for found in findings.runs.iter_mut().flat_map(|run| &mut run.sensors) {
        let law = lamp.sensors.iter().find(|sensor| sensor.name == found.name).and_then(|sensor| sensor.law);
        let Some((law, reading_c)) = law.zip(found.reading_c) else { continue };
        found.output_v = bench::sensor::output_v(law, reading_c);
        found.output_ohm = bench::sensor::output_ohm(law, reading_c);
    }
}

/// Writes results/predict.json and results/predict.csv. That the disk refuses spoils nothing that was said.
pub fn keep(folder: &LampFolder, findings: &Findings, console: &Console) -> Result<(), Failure> {
    let json = json_text(findings)?;
    let written = write_result(folder.root(), "predict.json", json.as_bytes())
        .and_then(|_| write_result(folder.root(), "predict.csv", table_csv(findings).as_bytes()));
    told_where(folder, written, &["predict.json", "predict.csv"], console)
}

/// One line for each run, for a spreadsheet.
fn table_csv(findings: &Findings) -> String {
    let mut out = String::from(
        "variant,current_a,ambient_c,state,electrical_w,heat_w,radiant_w,light_lm,hottest_junction_c,hottest_emitter,\
         hottest_solder_c,hottest_board_c,grid_error_k\n",
    );
    let number = |value: Option<f64>| value.map(|value| value.to_string()).unwrap_or_default();
    for run in &findings.runs {
        let steady = run.state == lamp::findings::RunState::Steady;
        let cells = [
            quoted(&run.variant),
            run.current_a.to_string(),
            run.ambient_c.to_string(),
            if steady { "steady" } else { "runaway" }.to_owned(),
            run.electrical_w.to_string(),
            run.heat_w.to_string(),
            run.radiant_w.to_string(),
            run.light_lm.to_string(),
            number(run.hottest_junction_c),
            quoted(run.hottest_emitter.as_deref().unwrap_or_default()),
            number(run.hottest_solder_c),
            number(run.hottest_board_c),
            run.grid_error_k.to_string(),
        ];
        out += &cells.join(",");
        out.push('\n');
    }
    out
}

/// Threads to compute with: what the machine has.
pub fn threads() -> usize {
    thread::available_parallelism().map_or(1, usize::from)
}

/// The currents that were typed, A; `None` where none were.
pub fn currents(typed: &[String]) -> Result<Option<Vec<f64>>, Failure> {
    let read = |text: &String| {
        let allowed = "a current of 0 A or more with its unit, such as \"0.7 A\" or \"700 mA\"";
        match quantity(text, Quantity::Current, "A") {
            Ok(current_a) if current_a >= 0.0 => Ok(current_a),
            Ok(_) => Err(Failure::bad_input(format!("--current {text}: is below 0 A; allowed is {allowed}"))),
            Err(why) => Err(Failure::bad_input(format!("--current {text}: {why}; allowed is {allowed}"))),
        }
    };
    let all: Vec<f64> = typed.iter().map(read).collect::<Result<_, _>>()?;
    Ok((!all.is_empty()).then_some(all))
}

pub fn ambient(typed: &str) -> Result<f64, Failure> {
    let allowed = "a temperature with its unit, -60 degC to 150 degC, such as \"35 degC\"";
    match quantity(typed, Quantity::Temperature, "degC") {
        Ok(ambient_c) if (-60.0..=150.0).contains(&ambient_c) => Ok(ambient_c),
        Ok(_) => Err(Failure::bad_input(format!("--ambient {typed}: is out of range; allowed is {allowed}"))),
        Err(why) => Err(Failure::bad_input(format!("--ambient {typed}: {why}; allowed is {allowed}"))),
    }
}

/// Reads a quantity as the project text does; a bare number is in `unit`.
fn quantity(text: &str, quantity: Quantity, unit: &str) -> Result<f64, String> {
    let bare = text.trim().parse::<f64>().is_ok_and(f64::is_finite);
    if bare { quantity.read(&format!("{} {unit}", text.trim())) } else { quantity.read(text) }
}

pub fn variants(lamp: &Lamp, typed: &[String]) -> Result<Option<Vec<String>>, Failure> {
    for name in typed {
        if !lamp.variants.iter().any(|variant| &variant.name == name) {
            let known: Vec<&str> = lamp.variants.iter().map(|variant| variant.name.as_str()).collect();
            let text =
                format!("--variant {name}: there is no such variant; this lamp has {}", known.join(", "));
            return Err(Failure::bad_file("lamp.toml", text));
        }
    }
    Ok((!typed.is_empty()).then(|| typed.to_vec()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_csv_field_keeps_its_commas_and_quotes() {
        assert_eq!(quoted("plain"), "plain");
        assert_eq!(quoted("a, \"b\""), "\"a, \"\"b\"\"\"");
    }

    #[test]
    fn a_raised_stop_flag_ends_the_work_as_cancelled() {
        let reading = project::read(&project::MemoryFolder::new(crate::demo::files()));
        let lamp = reading.lamp.expect("the demo is a lamp");
        let ended = findings(&lamp, Vec::new(), &Question::default(), &AtomicBool::new(true));
        let failure = ended.expect_err("it was stopped before it began");
        assert!(matches!(failure, Failure::Cancelled), "{failure:?}");
        assert_eq!(failure.exit_status(), 130);
    }
}
