//! Real boards carried by registry packages: drill tables and outlines against checks/real_boards.toml.
#![allow(clippy::expect_used, clippy::panic)] // a test's helpers may fail loudly

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use artwork::reading::{Artwork, read_artwork};

fn checks() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../checks")
}

/// A fetched board with all its files.
fn board(name: &str) -> Artwork {
    let folder = checks().join("fetched/tracespace-fixtures-4.2.7/package/boards").join(name);
    let entries = std::fs::read_dir(&folder)
        .unwrap_or_else(|error| panic!("{}: {error}; run checks/fetch-real-boards first", folder.display()));
    let mut files: Vec<(String, Vec<u8>)> = entries
        .flatten()
        .filter(|entry| entry.path().is_file())
        .map(|entry| {
            let bytes = std::fs::read(entry.path()).expect("a readable file");
            (entry.file_name().to_string_lossy().into_owned(), bytes)
        })
        .collect();
    files.sort();
    read_artwork(&files, &BTreeMap::new())
}

/// Tool number, diameter in mm, holes, slots, as the table lists them for a file.
fn reference(file: &str) -> Vec<[f64; 4]> {
    let text =
        std::fs::read_to_string(checks().join("real_boards.toml")).expect("checks/real_boards.toml is there");
    let block = text.split("[[file]]").find(|block| block.contains(file)).expect("the file is listed");
    let line = block.lines().find(|line| line.starts_with("tools = ")).expect("a drill table");
    let numbers: Vec<f64> =
        line.split(['[', ']', ',', '=']).filter_map(|word| word.trim().parse().ok()).collect();
    numbers.chunks_exact(4).map(|row| [row[0], row[1], row[2], row[3]]).collect()
}

#[test]
fn real_drill_files_are_read_exactly() {
    for (name, file) in [("core", "core.TXT"), ("usbvil", "pic18f14k50.txt")] {
        let artwork = board(name);
        let drill = artwork.drills.iter().find(|drill| drill.file == file).expect("the drill file is found");
        let used = |row: &[f64; 4]| row[2] + row[3] > 0.0;
        let mut wanted: Vec<[f64; 4]> = reference(file).into_iter().filter(used).collect();
        wanted.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut found: Vec<[f64; 4]> = drill
            .tools
            .iter()
            .map(|tool| {
                [
                    f64::from(tool.number),
                    f64::from(tool.diameter_nm) / 1e6,
                    tool.hits as f64,
                    tool.slots as f64,
                ]
            })
            .filter(used)
            .collect();
        found.sort_by(|a, b| a[0].total_cmp(&b[0]));
        assert_eq!(found.len(), wanted.len(), "{file}: {found:?}, reference {wanted:?}");
        for (found, wanted) in found.iter().zip(&wanted) {
            assert_eq!((found[0], found[2], found[3]), (wanted[0], wanted[2], wanted[3]), "{file}");
            assert!((found[1] - wanted[1]).abs() < 1.1e-6, "{file}: {found:?}, reference {wanted:?}");
        }
    }
}

/// The profile of each board is a drawn frame: its middle line encloses the box of the frame less half a stroke all round.
#[test]
fn real_outlines_close() {
    for (name, width_mm, height_mm) in [("core", 20.523, 35.763), ("usbvil", 34.1, 14.75)] {
        let artwork = board(name);
        let outline = artwork.outline.as_ref().expect("an outline");
        let bounds = outline.area.bounds().expect("an area");
        let (w, h) = (bounds.width_nm() as f64 / 1e6, bounds.height_nm() as f64 / 1e6);
        assert!((w - width_mm).abs() < 0.6 && (h - height_mm).abs() < 0.6, "{name}: {w} x {h}");
        assert!(outline.area.area_mm2() > 0.9 * w * h, "{name}: {}", outline.area.area_mm2());
    }
}
