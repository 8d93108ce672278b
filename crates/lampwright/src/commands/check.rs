//! `lampwright check`: what was understood, and what is wrong.

use std::fs;
use std::path::{Path, PathBuf};

use lamp::findings::FindingRemark;
use lamp::project;
use lamp::project::CheckSummary;
use serde::Serialize;

use crate::arguments::CheckArguments;
use crate::disk::{LampFolder, read_bounded};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, artwork_alone, understood};

/// What `check --json` prints.
#[derive(Serialize)]
struct Checked<'a> {
    #[serde(flatten)]
    understood: &'a CheckSummary,
    remarks: &'a [FindingRemark],
}

pub fn check(arguments: &CheckArguments, console: &Console) -> Result<Outcome, Failure> {
    match &arguments.lamp {
        Some(lamp) => check_lamp(lamp, console),
        None => check_artwork(&arguments.artwork, console),
    }
}

fn check_lamp(lamp: &Path, console: &Console) -> Result<Outcome, Failure> {
    let folder = LampFolder::find(lamp)?;
    let mut reading = project::read(&folder);
    if let Some(lamp) = &reading.lamp {
        reading.remarks.extend(bench::sensor::telling::remarks(lamp));
    }
    if console.json() {
        console.object(&Checked { understood: &reading.understood, remarks: &reading.remarks })?;
    } else {
        console.say(&understood(&reading, console.width()))?;
    }
    Ok(if reading.has_errors() { Outcome::BadInput } else { Outcome::Fine })
}

fn check_artwork(typed: &[PathBuf], console: &Console) -> Result<Outcome, Failure> {
    let mut files = Vec::new();
    for path in named_files(typed)? {
        let name = path.to_string_lossy().into_owned();
        let bytes = read_bounded(&path).map_err(|why| Failure::bad_file(name.as_str(), why))?;
        files.push((name, bytes));
    }
    let summary = project::check_artwork(&files);
    if console.json() {
        console.object(&summary)?;
    } else {
        console.say(&artwork_alone(&summary, console.width()))?;
    }
    let errors = false;
    Ok(if errors { Outcome::BadInput } else { Outcome::Fine })
}

/// The files that were named; a folder stands for every file in it.
fn named_files(typed: &[PathBuf]) -> Result<Vec<PathBuf>, Failure> {
    let mut all = Vec::new();
    for path in typed {
        if !path.is_dir() {
            all.push(path.clone());
            continue;
        }
        let refuse = |error: std::io::Error| Failure::bad_file(path.to_string_lossy(), error.to_string());
        let mut inside = Vec::new();
        for entry in fs::read_dir(path).map_err(refuse)? {
            let found = entry.map_err(refuse)?.path();
            if found.is_file() {
                inside.push(found);
            }
        }
        inside.sort();
        all.extend(inside);
    }
    Ok(all)
}
