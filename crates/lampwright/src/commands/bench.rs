//! `lampwright bench`: what the logs of the bench test hold and say; `--sniff` proposes a bench sheet for a log.

use std::fs::File;
use std::path::Path;

use bench::log::{Detection, Told, open};
use bench::mapping::{Names, proposal};
use lamp::findings::FindingRemark;
use lamp::project;
use serde::Serialize;

use super::usable;
use crate::arguments::BenchArguments;
use crate::bench_answer::{Benched, csv, sheets};
use crate::disk::{LampFolder, write_result};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, ProgressLine, bench_runs, remark_lines};

/// What `bench --sniff --json` prints.
#[derive(Serialize)]
struct Sniffed<'a> {
    file: String,
    sheet: String,
    detections: &'a [Detection],
    columns: Vec<SniffedColumn<'a>>,
    remarks: &'a [FindingRemark],
}

#[derive(Serialize)]
struct SniffedColumn<'a> {
    name: &'a str,
    unit: Option<&'a str>,
    kind: bench::log::ColumnKind,
    example: &'a str,
}

pub fn bench(arguments: &BenchArguments, console: &Console) -> Result<Outcome, Failure> {
    let lamp = match &arguments.lamp {
        Some(typed) => {
            let folder = LampFolder::find(typed)?;
            let (lamp, _) = usable(project::read(&folder))?;
            Some((folder, lamp))
        }
        None => None,
    };
    if let Some(file) = &arguments.sniff {
        return sniff(file, lamp.as_ref().map(|(_, lamp)| Names::of(lamp)).as_ref(), console);
    }
    // The parser sees to it that a lamp is there.
    let Some((folder, lamp)) = lamp else { return Err(Failure::bad_input("LAMP is missing")) };
    let sheets = chosen(&folder, &arguments.runs)?;
    let line = ProgressLine::new();
    let mut tell = |done: usize, doing: String| line.tell(done, sheets.len(), doing);
    // One recording at a time is held.
    let gathered = Benched::gather(&folder, &lamp, &sheets, &mut tell, &mut drop, &|| false);
    line.end();
    let Some(benched) = gathered else { return Err(Failure::Cancelled) };
    if console.json() {
        console.object(&benched.json())?;
    } else {
        console.say(&bench_runs(&lamp.name, &benched.runs, &benched.found, console.width()))?;
    }
    if arguments.csv {
        keep(&folder, &benched, console)?;
    }
    Ok(match (benched.errors, benched.found.is_over_limit()) {
        (true, _) => Outcome::BadInput,
        (false, true) => Outcome::OverLimit,
        (false, false) => Outcome::Fine,
    })
}

/// Writes the tables into results/. They were asked for: that the disk refuses is an error.
fn keep(folder: &LampFolder, benched: &Benched, console: &Console) -> Result<(), Failure> {
    let place = folder.root().join("results");
    for (name, text) in
        [(csv::PLATEAUS, csv::plateaus(&benched.found)), (csv::COMPARISON, csv::comparison(&benched.found))]
    {
        write_result(folder.root(), name, text.as_bytes()).map_err(|error| {
            Failure::bad_file(place.join(name).to_string_lossy(), format!("cannot be written: {error}"))
        })?;
    }
    if console.json() {
        return Ok(());
    }
    console.say(&format!("\nWritten to {}: {}, {}\n", place.display(), csv::PLATEAUS, csv::COMPARISON))
}

/// The sheets that were typed; all where none was.
fn chosen(folder: &LampFolder, typed: &[String]) -> Result<Vec<String>, Failure> {
    let all = sheets(folder)?;
    let stem = |path: &str| -> String {
        let name = path.rsplit('/').next().unwrap_or(path);
        name.strip_suffix(".toml").unwrap_or(name).to_owned()
    };
    if typed.is_empty() {
        return Ok(all);
    }
    typed
        .iter()
        .map(|word| {
            all.iter().find(|sheet| stem(sheet) == stem(word)).cloned().ok_or_else(|| {
                let known: Vec<String> = all.iter().map(|sheet| stem(sheet)).collect();
                Failure::bad_input(format!(
                    "{word}: bench/ has no run of that name; it has {}",
                    known.join(", ")
                ))
            })
        })
        .collect()
}

fn sniff(path: &Path, names: Option<&Names>, console: &Console) -> Result<Outcome, Failure> {
    let file = path.to_string_lossy().into_owned();
    let refuse = |why: String| Failure::bad_file(file.as_str(), why);
    let kind = std::fs::metadata(path).map_err(|error| refuse(format!("cannot be read ({error})")))?;
    if !kind.is_file() {
        return Err(refuse("is not a file; FILE is a log as your logger wrote it".to_owned()));
    }
    let source = File::open(path).map_err(|error| refuse(format!("cannot be read ({error})")))?;
    let opened = open(&file, source, Some(kind.len()), &Told::default())
        .map_err(|error| refuse(format!("cannot be read ({error})")))?;
    let Some(dialect) = &opened.dialect else { return Err(Failure::BadInput(opened.remarks)) };
    let text = proposal(&file, dialect, names);
    // What must be asked stands as a question in the sheet.
    let remarks: Vec<FindingRemark> = opened
        .remarks
        .iter()
        .map(|remark| FindingRemark {
            severity: if remark.severity == "error" { "warning" } else { remark.severity },
            ..remark.clone()
        })
        .collect();
    if console.json() {
        let columns = dialect
            .columns
            .iter()
            .map(|head| SniffedColumn {
                name: &head.name,
                unit: head.unit_text.as_deref(),
                kind: head.kind,
                example: &head.example,
            })
            .collect();
        console.object(&Sniffed {
            file,
            sheet: text,
            detections: &dialect.detections,
            columns,
            remarks: &remarks,
        })?;
    } else {
        console.say(&text)?;
        console.aside(&remark_lines(&remarks, console.width()));
    }
    Ok(Outcome::Fine)
}
