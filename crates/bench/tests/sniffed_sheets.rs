//! The bench sheet that is proposed for each log of tests/logs reads that log: as it stands where all is certain, with what it asks answered
//! where not.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeMap;

use bench::log::{Told, open};
use bench::mapping::{Names, proposal};
use bench::run::{BenchRun, read};
use lamp::project::MemoryFolder;

/// Logs whose proposal asks something: what stands in it, and the answer.
const ANSWERS: &[(&str, &[(&str, &str)])] = &[
    ("epoch_blanks.txt", &[("# unit = \"A\"", "unit = \"A\"")]),
    ("zone_ist.csv", &[("# zone = \"+00:00\"", "zone = \"+05:30\"")]),
    ("day_numbers_open.csv", &[("# from = \"1899-12-30\"", "from = \"1899-12-30\"")]),
    (
        "no_header.csv",
        &[
            ("# unit = \"s\"", "unit = \"s\""),
            ("# unit = \"V\"", "unit = \"V\""),
            ("is = \"other\"", "is = \"voltage\""),
        ],
    ),
    ("no_header_stamps.csv", &[("# unit = \"V\"", "unit = \"V\""), ("is = \"other\"", "is = \"voltage\"")]),
];

fn names() -> Names {
    Names { variants: vec!["plain".to_owned()], sensors: vec!["U1".to_owned()] }
}

fn run(file: &str, bytes: &[u8], sheet: &str) -> BenchRun {
    let files =
        [(format!("bench/{file}"), bytes.to_vec()), ("bench/run.toml".to_owned(), sheet.as_bytes().to_vec())];
    read(&MemoryFolder(BTreeMap::from(files)), "bench/run.toml", &names())
}

#[test]
fn the_proposed_sheet_reads_its_log() {
    let folder = format!("{}/tests/logs", env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<String> = std::fs::read_dir(folder.as_str())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    files.sort();
    assert!(files.len() > 20, "{files:?}");
    for file in files {
        let bytes = std::fs::read(format!("{folder}/{file}")).unwrap();
        let opened = open(&file, &bytes[..], None, &Told::default()).unwrap();
        let proposed = proposal(&file, opened.dialect.as_ref().unwrap(), Some(&names()));
        let answers = ANSWERS.iter().find(|(of, _)| *of == file).map_or(&[][..], |(_, answers)| *answers);
        let mut sheet = proposed.clone();
        for (asked, answer) in answers {
            assert!(sheet.contains(asked), "{file} does not ask {asked}:\n{proposed}");
            sheet = sheet.replace(asked, answer);
        }
        let found = run(&file, &bytes, &sheet);
        let remarks: Vec<_> = found
            .remarks
            .iter()
            .filter(|remark| remark.severity == "error")
            .map(|remark| &remark.text)
            .collect();
        assert!(remarks.is_empty(), "{file}: {remarks:?}\n{sheet}");
        let recording = found.recording.expect(&file);
        assert_eq!((recording.rows(), recording.channels.len()), (12, 3), "{file}");
        assert!((recording.span_s() - 22.0).abs() < 1e-3, "{file}: {}", recording.span_s());
        // What a column is called leads back to it; its numbers are those that were written.
        let board = &recording.channels[0].values;
        assert!((board[11] - board[0] - 16.5).abs() < 1e-2, "{file}: {board:?}");
    }
}

#[test]
fn what_is_asked_stands_against_reading_until_it_is_answered() {
    for file in ["day_numbers_open.csv", "no_header.csv"] {
        let bytes = std::fs::read(format!("{}/tests/logs/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
        let opened = open(file, &bytes[..], None, &Told::default()).unwrap();
        let proposed = proposal(file, opened.dialect.as_ref().unwrap(), Some(&names()));
        assert!(run(file, &bytes, &proposed).has_errors(), "{file}:\n{proposed}");
    }
}
