//! The same twelve rows as many loggers would write them: each small file of tests/logs must give the same recording.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

use bench::log::stamp::DateOrder;
use bench::log::{CountedFrom, Detection, Told, open};
use bench::recording::{Recording, TimeRules};

/// The rows that were written: time, s; board, degC; current, A; voltage, V.
fn rows() -> Vec<[f64; 4]> {
    (0..12)
        .map(|i| {
            let row = f64::from(i);
            [2.0 * row, 23.25 + 1.5 * row, if i < 4 { 0.35 } else { 0.7 }, 11.4 + 0.05 * row]
        })
        .collect()
}

/// 2026-03-01 14:05:06, by `date -u +%s`.
const START_S: f64 = 1_772_373_906.0;

struct Read {
    recording: Recording,
    detections: Vec<Detection>,
    warnings: Vec<String>,
}

fn read(file: &str, told: &Told) -> Read {
    let bytes = std::fs::read(format!("{}/tests/logs/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let opened = open(file, &bytes[..], Some(bytes.len() as u64), told).unwrap();
    let detections = opened.dialect.as_ref().expect(file).detections.clone();
    let wanted = opened.all_columns();
    let log = opened.read(&wanted).expect(file);
    let (recording, remarks) =
        Recording::of(log, TimeRules { date_order: told.date_order, utc_offset_s: told.utc_offset_s });
    let warnings = remarks.into_iter().filter(|r| r.severity != "note").map(|r| r.text).collect();
    Read { recording: recording.expect(file), detections, warnings }
}

#[track_caller]
fn hold(file: &str, told: &Told, start: Option<(f64, bool)>) -> Read {
    let read = read(file, told);
    let recording = &read.recording;
    assert_eq!(read.warnings, Vec::<String>::new(), "{file}");
    // A day number of nine decimals is good to 43 us.
    let rounded = |start: bench::recording::Start| ((start.seconds * 1e3).round() / 1e3, start.utc);
    assert_eq!(recording.start.map(rounded), start, "{file}");
    // Six decimals of a minute, three of degF: the files' own rounding.
    assert!(recording.step_s.is_some_and(|step| (step - 2.0).abs() < 1e-4), "{file}: {:?}", recording.step_s);
    assert_eq!(recording.channels.len(), 3, "{file}");
    assert_eq!(recording.rows(), 12, "{file}");
    for (row, written) in rows().into_iter().enumerate() {
        assert!(
            (recording.times_s[row] - written[0]).abs() < 5e-5,
            "{file} {row}: {}",
            recording.times_s[row]
        );
        for (channel, value) in recording.channels.iter().zip(&written[1..]) {
            assert!(
                (channel.values[row] - value).abs() < 3e-4,
                "{file} {row} {}: {}",
                channel.name,
                channel.values[row]
            );
        }
    }
    assert!(
        recording.marks.gap.is_empty()
            && recording.marks.duplicate.is_empty()
            && recording.marks.backward.is_empty()
    );
    read
}

fn found<'a>(read: &'a Read, what: &str) -> &'a Detection {
    read.detections
        .iter()
        .find(|detection| detection.what == what)
        .unwrap_or_else(|| panic!("{what}: {:#?}", read.detections))
}

#[test]
fn the_same_run_in_many_hands() {
    let told = Told::default();
    let plain = hold("iso.csv", &told, Some((START_S, false)));
    assert_eq!(
        (found(&plain, "delimiter").found.as_str(), found(&plain, "decimals").found.as_str()),
        ("comma", "point")
    );
    hold("iso_zone.csv", &told, Some((START_S, true)));
    let western = hold("day_first_western.csv", &told, Some((START_S, false)));
    assert_eq!(found(&western, "letters").found, "windows-1252");
    assert_eq!(found(&western, "decimals").found, "comma");
    assert_eq!(found(&western, "header").found, "names in line 5, units in line 6");
    assert_eq!(found(&western, "preamble").found, "4 lines before the header");
    assert_eq!(western.recording.channels[0].name, "T board");
    let month = hold("month_first.tsv", &told, Some((START_S + 13.0 * 86_400.0, false)));
    assert_eq!(found(&month, "date order").found, DateOrder::MonthFirst.word());
    hold("elapsed_ms_utf16.txt", &told, None);
    hold("epoch_blanks.txt", &told, Some((START_S, true)));
    hold("elapsed_min.csv", &told, None);
    hold("clock_midnight.csv", &told, None);
    hold("minutes_seconds.csv", &told, None);
    hold("units_in_cells.csv", &told, Some((START_S, false)));
    hold("compact_cr.csv", &told, Some((START_S, true)));
    hold("rollover_16bit.csv", &told, None);
    hold("zone_cet.csv", &told, Some((START_S, true)));
    hold("zone_mez.csv", &told, Some((START_S, true)));
    hold("zone_own_column.csv", &told, Some((START_S, true)));
    hold("duration_days.csv", &told, None);
    let days = hold("day_numbers_date.csv", &told, Some((START_S, false)));
    assert!(found(&days, "time").evidence.contains("2026-03-01 14:05:06"), "{:?}", found(&days, "time"));
    for (file, letters) in [
        ("utf16_be_mark.txt", "UTF-16 BE"),
        ("utf16_le_bare.txt", "UTF-16 LE"),
        ("utf16_be_bare.txt", "UTF-16 BE"),
    ] {
        let wide = hold(file, &told, None);
        assert_eq!(found(&wide, "letters").found, letters, "{file}");
        assert_eq!(wide.recording.channels[0].name, "T board");
    }
    let bare = hold("no_header_stamps.csv", &told, Some((START_S, false)));
    assert_eq!(bare.recording.channels[0].name, "column 2");
}

/// A zone name of several offsets leaves the start open, and nothing else; told, the start is the one of the other files.
#[test]
fn a_zone_name_of_several_offsets_is_asked() {
    let read = read("zone_ist.csv", &Told::default());
    // The clock on the wall, half past five hours ahead.
    assert_eq!(
        read.recording.start.map(|start| (start.seconds - START_S, start.utc)),
        Some((19_800.0, false))
    );
    assert_eq!(read.recording.times_s.last(), Some(&22.0));
    assert!(found(&read, "zone").evidence.contains("+05:30") && !found(&read, "zone").certain);
    let opened = |told: &Told| {
        let bytes = std::fs::read(format!("{}/tests/logs/zone_ist.csv", env!("CARGO_MANIFEST_DIR"))).unwrap();
        let opened = open("zone_ist.csv", &bytes[..], None, told).unwrap();
        opened.remarks.into_iter().map(|remark| (remark.severity, remark.text)).collect::<Vec<_>>()
    };
    let asked = opened(&Told::default());
    assert!(matches!(&asked[..], [("warning", text)] if text.contains("zone = \"+05:30\"")), "{asked:?}");
    let told = Told { utc_offset_s: Some(19_800), ..Told::default() };
    hold("zone_ist.csv", &told, Some((START_S, true)));
}

/// Days since 1899-12-30 that only their size shows are asked for.
#[test]
fn numbers_that_may_be_a_spreadsheets_days_are_asked() {
    let bytes =
        std::fs::read(format!("{}/tests/logs/day_numbers_open.csv", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let opened = open("day_numbers_open.csv", &bytes[..], None, &Told::default()).unwrap();
    let errors: Vec<_> = opened.remarks.iter().filter(|remark| remark.severity == "error").collect();
    assert!(
        errors
            .iter()
            .any(|e| e.text.contains("2026-03-01 14:05:06") && e.text.contains("from = \"1899-12-30\"")),
        "{errors:?}"
    );
    let told = Told { time_from: Some(CountedFrom::Spreadsheet), ..Told::default() };
    hold("day_numbers_open.csv", &told, Some((START_S, false)));
    let with_zone = Told { utc_offset_s: Some(3600), ..told };
    hold("day_numbers_open.csv", &with_zone, Some((START_S - 3600.0, true)));
    // Counted from 1904 the same number is a day 1462 days later.
    let later = Told { time_from: Some(CountedFrom::Spreadsheet1904), ..Told::default() };
    hold("day_numbers_open.csv", &later, Some((START_S + 1462.0 * 86_400.0, false)));
    // Told to be seconds they are seconds.
    let told = Told { time_unit: bench::log::unit::unit_named("s"), ..Told::default() };
    assert_eq!(read("day_numbers_open.csv", &told).recording.start, None);
}

/// Without a header the unit of the time is asked for, never assumed in silence.
#[test]
fn a_log_without_a_header_asks_for_the_unit_of_its_time() {
    let bytes = std::fs::read(format!("{}/tests/logs/no_header.csv", env!("CARGO_MANIFEST_DIR"))).unwrap();
    let opened = open("no_header.csv", &bytes[..], None, &Told::default()).unwrap();
    let errors: Vec<_> = opened.remarks.iter().filter(|remark| remark.severity == "error").collect();
    assert!(errors.iter().any(|error| error.text.contains("unit = \"s\"")), "{errors:?}");
    let told = Told { time_unit: bench::log::unit::unit_named("s"), ..Told::default() };
    hold("no_header.csv", &told, None);
}
