//! Bench sheets, whole and broken, and the proposed ones.

use std::collections::BTreeSet;

use lamp::project::document::Document;
use toml::de::DeTable;

use super::keys::{BENCH_KEYS, BENCH_TABLES};
use super::{Names, Role, as_meant, proposal, read};
use crate::log::{Told, open};

const WHOLE: &str = r#"
[run]
logs = ["a.csv", "b.csv"]
variant = "plain"
title = "first evening"
notes = "cellar"
ambient = "21 degC"
fan_voltage = "12 V"
drive_current = "0.7 A"
[[step]]
at = "0 s"
drive_current = "350 mA"
[[step]]
at = "40 min"
drive_current = "0.7 A"
[format]
delimiter = "semicolon"
decimal = "comma"
missing = ["-999"]
over_range = "9999"
[time]
column = ["Datum", "Zeit"]
unit = "s"
from = "start"
clock = "mm:ss"
date_order = "day first"
zone = "+01:00"
interval = "500 ms"
[[channel]]
column = "U1"
is = "sensor"
sensor = "board sensor"
unit = "mV"
range = ["0 V", "3.3 V"]
law = "board sensor"
[[channel]]
column = "shunt"
is = "drive current"
factor = 0.1
unit = "A"
"#;

fn names() -> Names {
    Names {
        variants: vec!["plain".to_owned(), "core".to_owned()],
        sensors: vec!["board sensor".to_owned(), "heatsink sensor".to_owned()],
    }
}

/// Line of the error that says all of this.
#[track_caller]
fn error_line(text: &str, says: &[&str]) -> u32 {
    let (sheet, remarks) = read("bench/run.toml", text.as_bytes(), &names());
    assert!(sheet.is_none(), "{says:?}");
    let found =
        remarks.iter().find(|r| r.severity == "error" && says.iter().all(|word| r.text.contains(word)));
    found.unwrap_or_else(|| panic!("{says:?} is not said: {remarks:#?}")).line.unwrap_or(0)
}

#[test]
fn a_whole_sheet_is_as_meant() {
    let (sheet, remarks) = read("bench/evening.toml", WHOLE.as_bytes(), &names());
    assert!(remarks.is_empty(), "{remarks:#?}");
    let sheet = sheet.unwrap();
    assert_eq!((sheet.name.as_str(), sheet.title.as_str()), ("evening", "first evening"));
    assert_eq!(sheet.logs, ["bench/a.csv", "bench/b.csv"]);
    assert_eq!(
        (sheet.steps[1].at_s, sheet.steps[1].drive_current_a, sheet.steps[0].drive_current_a),
        (2400.0, 0.7, 0.35)
    );
    assert_eq!((sheet.rules.utc_offset_s, sheet.told.interval_s), (Some(3600), Some(0.5)));
    assert_eq!(sheet.channels[0].role, Role::Sensor("board sensor".to_owned()));
    assert_eq!(sheet.channels[0].range, Some([0.0, 3.3]));
    assert_eq!((sheet.channels[1].factor, sheet.channels[1].law.as_deref()), (0.1, None));
}

#[test]
fn the_key_table_and_what_is_read_are_the_same() {
    let document = Document::new("run.toml", WHOLE, BENCH_KEYS, BENCH_TABLES);
    let (root, errors) = DeTable::parse_recoverable(WHOLE);
    assert!(errors.is_empty());
    as_meant(&document, root.get_ref(), &names());
    let seen: BTreeSet<_> = document.keys_read();
    for key in BENCH_KEYS {
        assert!(
            seen.contains(&(key.table, key.name)),
            "[{}] {} is in the table and nothing reads it",
            key.table,
            key.name
        );
        assert!(key.meaning.ends_with('.'), "{}", key.name);
    }
    for (table, name) in seen {
        assert!(
            BENCH_KEYS.iter().any(|key| key.table == table && key.name == name),
            "[{table}] {name} is not in the table"
        );
    }
}

#[test]
fn slips_are_told_with_place_and_help() {
    let changed = |from: &str, to: &str| {
        assert!(WHOLE.contains(from), "{from}");
        WHOLE.replacen(from, to, 1)
    };
    assert_eq!(
        error_line(&changed("fan_voltage", "fan_volts"), &["unknown key \"fan_volts\"", "\"fan_voltage\""]),
        8
    );
    assert_eq!(error_line(&changed("\"plain\"", "\"plane\""), &["plane", "did you mean \"plain\""]), 4);
    error_line(
        &changed("sensor = \"board sensor\"", "sensor = \"bord sensor\""),
        &["did you mean \"board sensor\""],
    );
    error_line(
        &changed("sensor = \"board sensor\"\n", ""),
        &["which sensor", "board sensor, heatsink sensor"],
    );
    error_line(&changed("decimal = \"comma\"", "decimal = \"dot\""), &["\"point\", \"comma\""]);
    error_line(&changed("\"+01:00\"", "\"winter\""), &["+01:00", "winter"]);
    error_line(&changed("[\"0 V\", \"3.3 V\"]", "[\"3.3 V\", \"0 V\"]"), &["the lower first"]);
    error_line(&changed("at = \"40 min\"", "at = \"0 min\""), &["must ascend"]);
    error_line(&changed("delimiter = \"semicolon\"", "delimiter = \"spaces\""), &["blanks"]);
    error_line(&changed("unit = \"mV\"", "unit = \"furlong\""), &["furlong"]);
    error_line("[run]\nlogs = [\"a.csv\"]\n[variant]\n", &["unknown key \"variant\" at the top level"]);
    error_line("", &["[run]"]);
    error_line("[run]\nlogs = [\"a.csv\"]\nvariant = \"core\"\n", &["[[channel]]"]);
    let (sheet, _) = read("bench/x.toml", b"\xff\xfe", &names());
    assert!(sheet.is_none());
}

#[test]
fn pages_and_schemas_name_every_key() {
    let (page, schema) = (super::pages::keys_page(), super::pages::sheet_schema().to_string());
    for key in BENCH_KEYS {
        assert!(page.contains(&format!("| `{}` |", key.name)), "{}", key.name);
        assert!(schema.contains(&format!("\"{}\"", key.name)), "{}", key.name);
    }
    assert!(page.contains("## [[channel]]") && page.contains("## [run]"));
}

/// Whatever is certain in a proposal is read back without an error; what is asked stands as a comment.
#[test]
fn a_proposal_is_a_sheet() {
    let log = "Gerät;M-1\n\nDatum;Zeit;T board;Raum;I LED;U Lüfter;Bemerkung\n;;°C;°C;A;V;\n\
        01.03.2026;14:05:06;23,25;21,0;0,35;12,0;ein\n01.03.2026;14:05:08;24,75;21,0;0,35;12,0;\n\
        01.03.2026;14:05:10;26,25;21,1;0,35;12,0;gut\n01.03.2026;14:05:12;27,75;21,1;0,7;12,0;gut\n";
    let opened = open("bench/abend 1.csv", log.as_bytes(), None, &Told::default()).unwrap();
    let one = Names { variants: vec!["plain".to_owned()], sensors: vec!["board sensor".to_owned()] };
    let text = proposal("bench/abend 1.csv", opened.dialect.as_ref().unwrap(), Some(&one));
    let (sheet, remarks) = read("bench/abend 1.toml", text.as_bytes(), &one);
    assert!(remarks.is_empty(), "{remarks:#?}\n{text}");
    let sheet = sheet.unwrap();
    assert_eq!(sheet.logs, ["bench/abend 1.csv"]);
    let roles: Vec<&str> = sheet.channels.iter().map(|channel| channel.role.word()).collect();
    assert_eq!(roles, ["sensor", "ambient", "drive current", "fan voltage"], "{text}");
    assert_eq!(sheet.told.time_columns, ["Datum", "Zeit"]);
    for word in ["Bemerkung", "Gerät;M-1", "decimal = \"comma\"", "date_order = \"day first\""] {
        assert!(text.contains(word), "{word}: {text}");
    }
    // Without the lamp, and with an open date: questions.
    let open_date = log.replace("01.03.2026", "01/03/2026");
    let opened = open("x.csv", open_date.as_bytes(), None, &Told::default()).unwrap();
    let text = proposal("x.csv", opened.dialect.as_ref().unwrap(), None);
    for question in
        ["# variant = \"\"", "# date_order = \"day first\"", "? 01/03/2026 may be day first or month first"]
    {
        assert!(text.contains(question), "{question}: {text}");
    }
    let many = Names::default();
    let (_, remarks) = read("x.toml", text.as_bytes(), &many);
    assert!(remarks.iter().all(|remark| remark.text.contains("lamp.toml")), "{remarks:#?}");
}

#[test]
fn no_text_makes_the_reader_panic() {
    const LIKELY: &[u8] = b"[]{}=\"',.#\n -+0123456789eEmuKW/A\0\xff";
    let mut state = 0x2545_F491_4F6C_DD1Du64;
    let mut roll = |sides: usize| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state % sides.max(1) as u64) as usize
    };
    for _ in 0..1500 {
        let mut bytes = WHOLE.as_bytes().to_vec();
        for _ in 0..=roll(5) {
            let at = roll(bytes.len());
            match roll(3) {
                0 => bytes[at] = LIKELY[roll(LIKELY.len())],
                1 => bytes.insert(at, LIKELY[roll(LIKELY.len())]),
                _ => {
                    let end = (at + roll(60)).min(bytes.len());
                    bytes.drain(at..end);
                }
            }
        }
        let (sheet, remarks) = read("bench/run.toml", &bytes, &names());
        assert!(sheet.is_some() || remarks.iter().any(|remark| remark.severity == "error"));
    }
}
