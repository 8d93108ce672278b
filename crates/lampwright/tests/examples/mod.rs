//! The example lamps and how tests run them.
#![allow(dead_code)] // each test binary uses its part

pub mod parallel;

use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use lamp::as_built::Lamp;
use lamp::findings::Run;
use lamp::model::{GridChoice, Model};
use lamp::project::{MemoryFolder, read};

/// A grid fine enough to be a lamp and coarse enough for many runs.
const COARSE: GridChoice = GridChoice { finest_pitch_m: Some(4e-4), cells_at_most: None };

/// A lamp from its files, which must read without errors.
pub fn lamp_of(files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Lamp {
    let reading = read(&MemoryFolder::new(files));
    assert!(!reading.has_errors(), "{:#?}", reading.remarks);
    reading.lamp.unwrap()
}

/// What lies in a folder, sorted.
fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut found: Vec<_> =
        std::fs::read_dir(folder).into_iter().flatten().flatten().map(|entry| entry.path()).collect();
    found.sort();
    found
}

/// The demo, two strings on one driver, and the lamps in examples/, with their artwork.
pub fn examples() -> Vec<Lamp> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut lamps = vec![lamp_of(lampwright::demo::files()), lamp_of(parallel::files())];
    for path in entries(&folder) {
        let mut files = vec![("lamp.toml".to_owned(), std::fs::read(path.join("lamp.toml")).unwrap())];
        for file in entries(&path.join("artwork")) {
            let name = format!("artwork/{}", file.file_name().unwrap().to_string_lossy());
            files.push((name, std::fs::read(&file).unwrap()));
        }
        lamps.push(lamp_of(files));
    }
    assert!(lamps.len() >= 7);
    lamps
}

/// A variant at a current, and the model that holds its field.
pub fn model_and_run(lamp: &Lamp, variant: usize, current_a: f64) -> (Model, Run) {
    let mut model = Model::new(lamp, &lamp.variants[variant], &COARSE, 1).unwrap();
    let run = model.run(current_a, lamp.ambient_c, &AtomicBool::new(false)).unwrap();
    (model, run)
}

/// A variant at a current.
pub fn run(lamp: &Lamp, variant: usize, current_a: f64) -> Run {
    model_and_run(lamp, variant, current_a).1
}

/// Checks every variant of every example.
pub fn each(mut check: impl FnMut(&Lamp, usize)) {
    for lamp in examples() {
        for variant in 0..lamp.variants.len() {
            check(&lamp, variant);
        }
    }
}
