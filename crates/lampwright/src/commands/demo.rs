//! `lampwright demo`: the invented lamp, predicted and shown.

use std::fs;
use std::path::Path;

use lamp::findings::Findings;
use lamp::predict::Question;
use lamp::project;
use serde::Serialize;

use super::predict::{findings, keep, outcome, threads};
use super::serve::show;
use super::stopping::stop_flag;
use super::usable;
use crate::arguments::DemoArguments;
use crate::demo::files;
use crate::disk::{LampFolder, Unpacked, UnpackedFile, is_empty_or_absent, read_bounded, unpack_over};
use crate::outcome::{Failure, Outcome};
use crate::terminal::{Console, paragraph, prediction};

#[derive(Serialize)]
struct Shown<'a> {
    folder: String,
    written: Vec<&'a str>,
    kept: Vec<&'a str>,
    findings: &'a Findings,
}

pub fn demo(arguments: &DemoArguments, console: &Console) -> Result<Outcome, Failure> {
    let unpacked = unpack(&arguments.folder)?;
    if !console.json() {
        console.say(&paragraph(&unpacked_words(&arguments.folder, &unpacked), console.width(), 2))?;
        console.say("\n")?;
    }
    let folder = LampFolder::find(&arguments.folder)?;
    let (lamp, remarks) = usable(project::read(&folder))?;
    let question = Question { threads: threads(), ..Question::default() };
    let findings = findings(&lamp, remarks, &question, &stop_flag())?;
    if console.json() {
        let of = |done| unpacked.iter().filter(move |file| file.done == done).map(|file| file.path.as_str());
        console.object(&Shown {
            folder: arguments.folder.to_string_lossy().into_owned(),
            written: of(Unpacked::Written).collect(),
            kept: of(Unpacked::Kept).collect(),
            findings: &findings,
        })?;
    } else {
        console.say(&prediction(&findings, lamp.nominal_current_a, console.width()))?;
    }
    keep(&folder, &findings, console)?;
    if !arguments.page.no_open {
        show(folder, arguments.page, console, |_| ())?;
    }
    Ok(outcome(&findings))
}

/// Puts the demo into its folder. A lamp of the maker's own is never mixed with it, and a changed file is kept.
fn unpack(folder: &Path) -> Result<Vec<UnpackedFile>, Failure> {
    let shown = folder.to_string_lossy().into_owned();
    let refuse = |text: String| Failure::bad_file(shown.as_str(), text);
    let empty =
        is_empty_or_absent(folder).map_err(|error| refuse(format!("cannot be used as a folder: {error}")))?;
    let lamp_there = fs::symlink_metadata(folder.join("lamp.toml")).is_ok();
    if !empty && !lamp_there {
        let text = "is neither empty nor a lamp folder; name another one, such as `lampwright demo --folder demo-lamp`";
        return Err(refuse(text.to_owned()));
    }
    let files = files();
    let own_lamp = files.iter().find(|(path, _)| path == "lamp.toml").map(|(_, bytes)| bytes.as_slice());
    if lamp_there && read_bounded(&folder.join("lamp.toml")).ok().as_deref() != own_lamp {
        return Ok(vec![UnpackedFile { path: "lamp.toml".to_owned(), done: Unpacked::Kept }]);
    }
    unpack_over(folder, &files).map_err(|error| refuse(format!("cannot be written: {error}")))
}

fn unpacked_words(folder: &Path, unpacked: &[UnpackedFile]) -> String {
    let count = |done| unpacked.iter().filter(|file| file.done == done).count();
    let kept: Vec<&str> =
        unpacked.iter().filter(|file| file.done == Unpacked::Kept).map(|file| file.path.as_str()).collect();
    let mut words = format!("{}: an invented lamp", folder.display());
    words += &match (count(Unpacked::Written), kept.as_slice()) {
        (_, ["lamp.toml"]) if unpacked.len() == 1 => {
            "; its lamp.toml differs from the demo's, so everything in it was left as it is.".to_owned()
        }
        (0, []) => ", there already.".to_owned(),
        (written, []) => format!(", {written} files written."),
        (written, kept) => {
            format!(", {written} files written; changed by you and kept: {}.", kept.join(", "))
        }
    };
    words
}
