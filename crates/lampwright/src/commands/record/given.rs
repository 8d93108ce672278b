//! What was typed, read.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use bench::live::sheet::About;
use bench::log::calendar::written;
use bench::mapping::{BenchSheet, Names, read as read_sheet};
use bench::run::BENCH_FOLDER;
use lamp::as_built::Lamp;
use lamp::project;
use lamp::project::Folder;
use lamp::project::quantity::Quantity;

use super::super::usable;
use super::session::Given;
use super::source::{Source, now_s};
use crate::arguments::RecordArguments;
use crate::disk::LampFolder;
use crate::outcome::Failure;

/// Longest name of a run, characters.
const LONGEST_NAME: usize = 80;
/// Longest times that can be given, s.
const LONGEST_S: f64 = 1e8;

/// What was asked for.
pub struct Asked {
    pub given: Given,
    pub source: Source,
    pub abort_above_c: Option<f64>,
    pub lasting: Option<Duration>,
    pub wait: Duration,
}

impl Asked {
    pub fn of(arguments: &RecordArguments) -> Result<Self, Failure> {
        let folder = LampFolder::find(&arguments.lamp)?;
        let current = "a current of 0 A or more with its unit, such as \"1.05 A\"";
        let room = "a temperature with its unit, such as \"22 degC\"";
        let long = "a time with its unit, such as \"10 min\"";
        let option = |name, text: &Option<String>, of, [low, high]: [f64; 2], allowed| {
            text.as_ref().map(|text| read_option(name, text, of, [low, high], allowed)).transpose()
        };
        let drive_current_a =
            option("--current", &arguments.current, Quantity::Current, [0.0, 1000.0], current)?;
        let ambient_c = option("--ambient", &arguments.ambient, Quantity::Temperature, [-60.0, 120.0], room)?;
        let abort_above_c =
            option("--abort-above", &arguments.abort_above, Quantity::Temperature, [-60.0, 400.0], room)?;
        let lasting = option("--for", &arguments.lasting, Quantity::Time, [0.0, LONGEST_S], long)?;
        let wait = read_option("--wait", &arguments.wait, Quantity::Time, [0.0, LONGEST_S], long)?;
        let (lamp, _) = usable(project::read(&folder))?;
        let name = match &arguments.run {
            Some(name) => run_name(name)?,
            None => format!("run-{}", written(now_s().floor()).replace([' ', ':'], "-")),
        };
        let names = Names::of(&lamp);
        let there = sheet(&folder, &name, &names);
        let variant = variant(arguments, &lamp, there.as_ref())?;
        let like = match &arguments.like {
            Some(run) => Some(like(&folder, run, &names)?),
            None => None,
        };
        let source = match (&arguments.serial, &arguments.file) {
            (Some(port), _) => Source::Serial(port.clone(), arguments.baud),
            (None, Some(file)) => Source::File(file.clone()),
            (None, None) => Source::Input,
        };
        Ok(Self {
            given: Given {
                root: folder.root().to_path_buf(),
                about: About { name, variant, notes: arguments.notes.clone(), ambient_c, drive_current_a },
                like,
                source: source.words(),
                growing: arguments.file.clone(),
                lamp: Arc::new(lamp),
            },
            source,
            abort_above_c,
            lasting: lasting.map(Duration::from_secs_f64),
            wait: Duration::from_secs_f64(wait),
        })
    }
}

/// Reads a quantity as the project text does.
fn read_option(
    name: &str,
    text: &str,
    of: Quantity,
    [low, high]: [f64; 2],
    allowed: &str,
) -> Result<f64, Failure> {
    match of.read(text) {
        Ok(value) if (low..=high).contains(&value) => Ok(value),
        Ok(_) => Err(Failure::bad_input(format!("{name} {text}: is out of range; allowed is {allowed}"))),
        Err(why) => Err(Failure::bad_input(format!("{name} {text}: {why}; allowed is {allowed}"))),
    }
}

/// A name that is a file name everywhere and leads nowhere else.
fn run_name(typed: &str) -> Result<String, Failure> {
    let name = Path::new(typed).file_name().filter(|name| *name == typed).map(|_| typed).unwrap_or_default();
    let stem = name.strip_suffix(".csv").or_else(|| name.strip_suffix(".toml")).unwrap_or(name);
    let fits = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    let good = !stem.is_empty()
        && stem.chars().count() <= LONGEST_NAME
        && stem.chars().all(fits)
        && !stem.starts_with(['.', ' '])
        && !stem.ends_with(['.', ' ']);
    if good {
        return Ok(stem.to_owned());
    }
    Err(Failure::bad_input(format!(
        "RUN {typed}: a run has a name of letters, digits, '-', '_', '.' and blanks, such as evening-core; its log is bench/RUN.csv"
    )))
}

fn sheet(folder: &LampFolder, run: &str, names: &Names) -> Option<BenchSheet> {
    let file = format!("{BENCH_FOLDER}/{run}.toml");
    read_sheet(&file, &folder.read(&file).ok()?, names).0
}

fn like(folder: &LampFolder, run: &str, names: &Names) -> Result<BenchSheet, Failure> {
    let run = run_name(run)?;
    let file = format!("{BENCH_FOLDER}/{run}.toml");
    let bytes = folder.read(&file).map_err(|why| {
        Failure::bad_file(
            file.as_str(),
            format!("cannot be read: {why}; --like names a run by its bench sheet"),
        )
    })?;
    let (sheet, remarks) = read_sheet(&file, &bytes, names);
    sheet.ok_or(Failure::BadInput(remarks))
}

/// The variant on the bench: typed, of the sheet that is there, or the only one.
fn variant(
    arguments: &RecordArguments,
    lamp: &Lamp,
    there: Option<&BenchSheet>,
) -> Result<Option<String>, Failure> {
    let known: Vec<&str> = lamp.variants.iter().map(|variant| variant.name.as_str()).collect();
    let of_sheet = there.and_then(|sheet| sheet.variant.clone());
    if let Some(typed) = &arguments.variant {
        if !known.contains(&typed.as_str()) {
            let text =
                format!("--variant {typed}: there is no such variant; this lamp has {}", known.join(", "));
            return Err(Failure::bad_file("lamp.toml", text));
        }
        if let Some(other) = of_sheet.filter(|other| other != typed) {
            return Err(Failure::bad_input(format!(
                "--variant {typed}: the bench sheet of this run says {other}; a run is of one board"
            )));
        }
        return Ok(Some(typed.clone()));
    }
    match (of_sheet, known.as_slice()) {
        (Some(name), _) => Ok(Some(name)),
        (None, [one]) => Ok(Some((*one).to_owned())),
        (None, _) => Err(Failure::bad_input(format!(
            "which board is on the bench? Name it with --variant; this lamp has {}",
            known.join(", ")
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_run_never_leads_out_of_the_bench_folder() {
        for bad in ["../x", "a/b", "/etc/x", "..", "", ".hidden", "a\nb", "x/", "c:d"] {
            assert!(run_name(bad).is_err(), "{bad:?}");
        }
        for (good, name) in [("evening-core", "evening-core"), ("a.csv", "a"), ("2nd try", "2nd try")] {
            assert_eq!(run_name(good).expect("a name"), name);
        }
    }
}
