//! Logs that are damaged, and any bytes at all.

use proptest::prelude::*;

use super::stamp::DateOrder;
use super::{CountedFrom, Told, open};
use crate::recording::{Recording, TimeRules};

fn read(text: &str) -> (Option<Recording>, Vec<lamp::findings::FindingRemark>) {
    read_told(text.as_bytes(), &Told::default())
}

fn read_told(bytes: &[u8], told: &Told) -> (Option<Recording>, Vec<lamp::findings::FindingRemark>) {
    let opened = open("log.csv", bytes, Some(bytes.len() as u64), told).unwrap();
    let mut remarks = opened.remarks.clone();
    if remarks.iter().any(|remark| remark.severity == "error") {
        return (None, remarks);
    }
    let wanted = opened.all_columns();
    let Some(log) = opened.read(&wanted) else { return (None, remarks) };
    let (recording, more) =
        Recording::of(log, TimeRules { date_order: told.date_order, utc_offset_s: told.utc_offset_s });
    remarks.extend(more);
    (recording, remarks)
}

/// Line and column of the remark that says all of this.
#[track_caller]
fn told(remarks: &[lamp::findings::FindingRemark], says: &[&str]) -> (u32, u32) {
    let found = remarks.iter().find(|remark| says.iter().all(|word| remark.text.contains(word)));
    let found = found.unwrap_or_else(|| panic!("{says:?} is not said: {remarks:#?}"));
    (found.line.unwrap_or(0), found.column.unwrap_or(0))
}

/// A good log of so many rows, a row a second.
fn log(rows: usize) -> String {
    let mut text = String::from("time s,T (degC),I (A)\n");
    for row in 0..rows {
        text += &format!("{row},{:.1},0.35\n", 25.0 + row as f64 * 0.1);
    }
    text
}

#[test]
fn a_bad_line_never_costs_the_log() {
    let text = log(10)
        .replace("3,25.3,0.35", "oops")
        .replace("5,25.5,0.35", "5,2x.5,0.35")
        .replace("7,25.7,0.35", "7,25.7")
        .replace("8,25.8,0.35", "8,\"25.8,0.35");
    let (recording, remarks) = read(&text);
    let recording = recording.unwrap();
    assert_eq!((recording.rows(), recording.lost_lines), (9, 1));
    let board = recording.channel("T").unwrap();
    assert_eq!(board.statistics().missing, 2, "{:?}", board.values);
    assert_eq!(told(&remarks, &["\"oops\" is no time", "such as 0"]), (5, 1));
    assert_eq!(told(&remarks, &["\"2x.5\" in \"T\" is no number"]), (7, 3));
    assert_eq!(told(&remarks, &["2 fields where 3"]).0, 9);
    assert_eq!(told(&remarks, &["a quote is opened"]).0, 10);
}

#[test]
fn codes_are_marked_for_what_they_are() {
    let text =
        log(8).replace("25.1", "OL").replace("25.2", "NaN").replace("25.3", "").replace("25.4", "-999");
    let (recording, _) = read(&text);
    let found = recording.unwrap().channel("T").unwrap().statistics();
    assert_eq!((found.values, found.missing, found.saturated, found.least), (5, 2, 1, Some(-999.0)));
    let given = Told { missing: vec!["-999".to_owned()], ..Told::default() };
    let found = read_told(text.as_bytes(), &given).0.unwrap().channel("T").unwrap().statistics();
    assert_eq!((found.values, found.missing, found.saturated, found.least), (4, 3, 1, Some(25.0)));
}

#[test]
fn gaps_duplicates_and_backward_rows_are_marked_and_left_out_of_rising_times() {
    let text = log(40)
        .replace("10,26.0,0.35\n11,26.1,0.35\n12,26.2,0.35\n", "")
        .replace("20,27.0", "19,27.0")
        .replace("30,28.0", "4,28.0");
    let (recording, remarks) = read(&text);
    let recording = recording.unwrap();
    let rows = |runs: &crate::log::Runs| runs.iter().collect::<Vec<_>>();
    assert_eq!(rows(&recording.marks.gap), [10]);
    assert_eq!(rows(&recording.marks.duplicate), [17]);
    assert_eq!(rows(&recording.marks.backward), [27]);
    assert_eq!(told(&remarks, &["a gap of 4 s"]).0, 12);
    told(&remarks, &["1 row has the time of the row before"]);
    told(&remarks, &["1 row has a time before"]);
    let (times, values) = recording.rising();
    assert_eq!((times.len(), values[0].len()), (35, 35));
    assert!(times.windows(2).all(|pair| pair[1] > pair[0]));
}

#[test]
fn a_restarted_logger_is_told_and_goes_on_behind() {
    let text = log(50) + "time s,T (degC),I (A)\n" + log(20).split_once('\n').unwrap().1;
    let (recording, remarks) = read(&text);
    let recording = recording.unwrap();
    assert_eq!(recording.rows(), 70);
    assert!(recording.times_s.windows(2).all(|pair| pair[1] > pair[0]), "{:?}", recording.times_s);
    told(&remarks, &["the header stands here again"]);
    told(&remarks, &["starts anew", "restarted"]);
}

#[test]
fn another_header_moves_the_columns() {
    let text = log(20) + "time s,I (A),T (degC)\n20,0.7,30.5\n21,0.7,30.6\n";
    let (recording, remarks) = read(&text);
    let recording = recording.unwrap();
    assert_eq!(recording.channel("T").unwrap().values[20..], [30.5, 30.6]);
    assert_eq!(recording.channel("I").unwrap().values[20..], [0.7, 0.7]);
    told(&remarks, &["another header", "I (A), T (degC)"]);
    // A column that is gone is missing.
    let text = log(20) + "time s,I (A)\n20,0.7\n21,0.7\n";
    let recording = read(&text).0.unwrap();
    assert_eq!(recording.channel("T").unwrap().statistics().missing, 2);
    assert_eq!(recording.channel("I").unwrap().values[20..], [0.7, 0.7]);
}

fn dated(stamps: &[&str]) -> String {
    let mut text = String::from("time;T (degC)\n");
    for (row, stamp) in stamps.iter().enumerate() {
        text += &format!("{stamp};{}.5\n", 20 + row);
    }
    text
}

#[test]
fn an_open_order_of_day_and_month_is_never_guessed() {
    // One date: times do not depend on it, the start stays open.
    let one = dated(&["03/04/2026 10:00:00", "03/04/2026 10:00:01", "03/04/2026 10:00:02"]);
    let (recording, remarks) = read(&one);
    let recording = recording.unwrap();
    assert_eq!((recording.times_s.as_slice(), recording.start), (&[0.0, 1.0, 2.0][..], None));
    told(&remarks, &["03/04/2026 may be day first or month first", "date_order = \"day first\""]);
    let given = Told { date_order: Some(DateOrder::MonthFirst), ..Told::default() };
    let start = read_told(one.as_bytes(), &given).0.unwrap().start.unwrap();
    // 2026-03-04 10:00:00, by `date -u +%s`.
    assert_eq!((start.seconds, start.utc), (1_772_618_400.0, false));
    // Midnight tells.
    let night =
        dated(&["03/04/2026 23:59:58", "03/04/2026 23:59:59", "04/04/2026 00:00:00", "04/04/2026 00:00:01"]);
    let (recording, remarks) = read(&night);
    assert_eq!(recording.unwrap().times_s, [0.0, 1.0, 2.0, 3.0]);
    told(&remarks, &["day first", "midnight"]);
    // Nothing tells.
    let apart =
        dated(&["03/04/2026 10:00:00", "03/04/2026 10:00:01", "09/08/2026 10:00:00", "09/08/2026 10:00:01"]);
    let (recording, remarks) = read(&apart);
    assert!(recording.is_none());
    told(&remarks, &["nothing in the log tells", "date_order"]);
    // Two digits of a year may stand first.
    let short = dated(&["26-03-01 10:00:00", "26-03-01 10:00:01", "26-03-01 10:00:02"]);
    told(&read(&short).1, &["26-03-01 may be day first or year first"]);
    let short = dated(&["26-03-01 23:59:58", "26-03-01 23:59:59", "26-03-02 00:00:00", "26-03-02 00:00:01"]);
    let (recording, remarks) = read(&short);
    assert_eq!(recording.unwrap().times_s, [0.0, 1.0, 2.0, 3.0]);
    told(&remarks, &["year first", "midnight"]);
    // A later date tells.
    let late = dated(&["03/04/2026 10:00:00", "03/04/2026 10:00:01", "15/04/2026 10:00:00"]);
    assert_eq!(read(&late).0.unwrap().times_s, [0.0, 1.0, 12.0 * 86_400.0]);
}

/// One offset that was told cannot hold for two zones, and the jump of the clock is told as such.
#[test]
fn a_zone_name_that_changes_without_telling_its_offset_is_told() {
    let (recording, remarks) =
        read(&dated(&["2026-03-08 01:59:58 EST", "2026-03-08 01:59:59 EST", "2026-03-08 03:00:00 EDT"]));
    assert_eq!(recording.unwrap().times_s, [0.0, 1.0, 3602.0]);
    assert_eq!(told(&remarks, &["the zone is EDT here and EST before"]).0, 4);
    // Zones that tell their offset go through the change of the clocks without a jump.
    let (recording, remarks) =
        read(&dated(&["2026-03-29 01:59:58 CET", "2026-03-29 01:59:59 CET", "2026-03-29 03:00:00 CEST"]));
    assert_eq!(recording.unwrap().times_s, [0.0, 1.0, 2.0]);
    assert!(remarks.is_empty(), "{remarks:?}");
}

#[test]
fn coarse_stamps_are_spread() {
    let mut text = String::from("time;T (degC)\n");
    for row in 0..40 {
        text += &format!("10:00:{:02};{}.5\n", row / 4, 20 + row);
    }
    let (recording, remarks) = read(&text);
    let recording = recording.unwrap();
    for (row, time) in recording.times_s.iter().enumerate() {
        assert!((time - row as f64 * 0.25).abs() < 1e-9, "{row}: {time}");
    }
    assert!(recording.marks.duplicate.is_empty());
    told(&remarks, &["coarser than the sampling"]);
}

#[test]
fn a_mark_that_may_group_digits_is_told() {
    let rows = |cells: [&str; 2]| {
        let row = |t: usize| format!("{t};{};{}\n", cells[0], cells[1]);
        format!("time s;U (mV);T (degC)\n{}", (0..6).map(row).collect::<String>())
    };
    let value = |text: &str, channel: usize| read(text).0.unwrap().channels[channel].values[0];
    // Three digits behind every comma, and nothing else that tells.
    told(
        &read(&rows(["11,400", "25"])).1,
        &["decimals: comma", "might group thousands", "decimal in [format]"],
    );
    told(&read(&rows(["11,400", "23.250"])).1, &["decimals:", "11,400", "23.250"]);
    // Another number that tells.
    let (recording, remarks) = read(&rows(["11,400", "23.25"]));
    assert!(remarks.iter().all(|remark| remark.severity == "note"), "{remarks:#?}");
    assert_eq!(recording.unwrap().channels[0].values[0], 11.4, "11 400 mV");
    assert_eq!(value(&rows(["11.400", "23,25"]), 0), 11.4);
    assert_eq!(value(&rows(["0,400", "23"]), 0), 0.4e-3, "no group begins with 0");
}

#[test]
fn a_delimiter_at_the_end_of_lines_is_no_column_unless_it_has_a_name() {
    let columns = |text: &str| {
        let opened = open("log.csv", text.as_bytes(), None, &Told::default()).unwrap();
        let remarks: Vec<_> = opened.remarks.into_iter().map(|remark| remark.text).collect();
        (opened.dialect.unwrap().columns.into_iter().map(|head| head.name).collect::<Vec<_>>(), remarks)
    };
    let rows = "0;1.5;\n1;1.6;\n2;1.7;\n3;1.8;\n";
    for header in ["t (s);U (V)\n", "t (s);U (V);\n"] {
        assert_eq!(
            columns(&format!("{header}{rows}")),
            (vec!["t".to_owned(), "U".to_owned()], vec![]),
            "{header}"
        );
    }
    let named = columns(&format!("t (s);U (V);note\n{rows}"));
    assert_eq!(named, (vec!["t".to_owned(), "U".to_owned(), "note".to_owned()], vec![]));
    // A lone column is what was measured, and its interval is asked for.
    let (names, remarks) = columns("20.5\n20.6\n20.7\n20.9\n");
    assert_eq!(names, ["column 1"]);
    assert!(remarks.iter().any(|text| text.contains("interval = \"1 s\"")), "{remarks:?}");
}

#[test]
fn what_is_no_log_is_told() {
    for text in ["", "\n\n\n", "Dear sir,\nplease find enclosed nothing.\n", "a;b;c\nd;e;f\n"] {
        let (recording, remarks) = read(text);
        assert!(recording.is_none(), "{text:?}");
        assert!(remarks.iter().any(|remark| remark.severity == "error"), "{text:?}");
    }
    // Commas for both.
    let (_, remarks) = read("time s,T (degC),I (A)\n0,25,1,0,35\n1,25,2,0,35\n2,25,3,0,35\n3,25,4,0,35\n");
    told(&remarks, &["between fields and in numbers both"]);
}

#[test]
fn a_log_cut_off_in_a_line_keeps_all_before() {
    let text = log(10);
    let cut = text.trim_end_matches("9,0.35\n");
    let (recording, remarks) = read(cut);
    let recording = recording.unwrap();
    assert_eq!(recording.rows(), 10);
    assert!(recording.channel("T").unwrap().values[9].is_nan(), "25. may have been 25.9");
    told(&remarks, &["the log ends within this line"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]
    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..2000)) {
        let (recording, remarks) = read_told(&bytes, &Told::default());
        prop_assert!(recording.is_some() || !remarks.is_empty());
    }

    #[test]
    fn no_soup_of_likely_pieces_makes_the_reader_panic(
        pieces in proptest::collection::vec(
            prop_oneof![
                Just("\n"), Just(";"), Just(","), Just("\t"), Just(" "), Just("\""), Just("\r\n"), Just("time s"), Just("T (degC)"),
                Just("2026-03-01 12:00:00"), Just("01/02/2026"), Just("31.12.2026"), Just("12:30"), Just("23:59:59"), Just("1e308"),
                Just("-1e308"), Just("0"), Just("65535"), Just("4294967295"), Just("23,5"), Just("23.5"), Just("OL"), Just("NaN"),
                Just("°C"), Just("\0\0"), Just("Z"), Just("99:59:59"), Just("1772373906"), Just("9999-12-31 24:60:60"), Just("#"),
                Just(" CET"), Just(" IST"), Just(" EST"), Just("+01:00[x]"), Just("0 days 00:05:00"), Just("-1 days +23:59:58"),
                Just("99999 days 23:59:59"), Just("45987.5104"), Just("73050.99"), Just("Date"),
            ],
            0..120
        ),
        order in proptest::option::of(prop_oneof![Just(DateOrder::DayFirst), Just(DateOrder::MonthFirst)]),
        from in proptest::option::of(prop_oneof![Just(CountedFrom::Spreadsheet), Just(CountedFrom::Epoch)]),
        wide in proptest::option::of(any::<bool>()),
    ) {
        let text: String = pieces.concat();
        let given = Told { date_order: order, interval_s: Some(1.0), time_from: from, ..Told::default() };
        let bytes: Vec<u8> = match wide {
            None => text.bytes().collect(),
            Some(true) => text.encode_utf16().flat_map(u16::to_be_bytes).collect(),
            Some(false) => text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
        };
        let (recording, _) = read_told(&bytes, &given);
        if let Some(recording) = recording {
            let (times, values) = recording.rising();
            prop_assert!(values.iter().all(|channel| channel.len() == times.len()));
            prop_assert!(times.windows(2).all(|pair| pair[1] > pair[0]), "{:?} {}", times, text);
            for channel in 0..recording.channels.len() {
                let pixels = recording.thinned(channel, 0.0, recording.span_s(), 50);
                let found = recording.channels[channel].statistics();
                prop_assert!(pixels.len() == 50 && found.values <= recording.rows());
            }
        }
    }
}
