//! Supply pads and drive in lamp.toml, with a small board of two emitters in series.

use super::{MemoryFolder, Reading, read};
use crate::circuit::boards::files;

const LAMP: &str = r#"[drive]
per = "string"
currents = ["0.35 A", "0.7 A"]
[[emitters]]
sheet = "white-3.5mm"
refs = ["D1", "D2"]
at = [["10 mm", "5 mm"], ["20 mm", "5 mm"]]
[[supply]]
plus = "J1.1"
minus = "M"
lead_length = "0.8 m"
lead_section = "18 AWG"
[variant.v]
artwork = "artwork"
[variant.v.board]
kind = "fr4 one-layer"
"#;

/// Reads the lamp with some of its text replaced.
#[track_caller]
fn changed(changes: &[(&str, &str)]) -> Reading {
    let mut text = LAMP.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let copper = [
        ("P", [0.0, 2.0, 8.9, 8.0]),
        ("a", [11.1, 2.0, 18.9, 8.0]),
        ("M", [21.1, 2.0, 30.0, 8.0]),
        ("", [9.2, 2.0, 10.8, 8.0]),
        ("", [19.2, 2.0, 20.8, 8.0]),
        ("J1.1", [1.0, 3.0, 3.0, 5.0]),
        ("", [0.0, 0.0, 30.0, 1.0]),
    ];
    let artwork = files(&copper, &[], &[]).into_iter().filter(|(name, _)| name == "top.gbr");
    let artwork = artwork.map(|(name, bytes)| (format!("artwork/{name}"), bytes));
    read(&MemoryFolder::new([("lamp.toml".to_owned(), text.into_bytes())].into_iter().chain(artwork)))
}

/// The line of the remark of this severity that says all of this.
#[track_caller]
fn line(reading: &Reading, severity: &str, says: &[&str]) -> Option<u32> {
    let told = |remark: &&crate::findings::FindingRemark| {
        remark.severity == severity && says.iter().all(|word| remark.text.contains(word))
    };
    let found = reading.remarks.iter().find(told);
    found.unwrap_or_else(|| panic!("{says:?} is not said: {:#?}", reading.remarks)).line
}

#[test]
fn a_supply_is_read_and_its_string_traced() {
    let reading = changed(&[]);
    assert!(!reading.has_errors(), "{:#?}", reading.remarks);
    let lamp = reading.lamp.unwrap();
    let circuit = lamp.variants[0].circuit.as_ref().unwrap();
    assert_eq!((circuit.strings.len(), circuit.strings[0].name.as_str()), (1, "A"));
    assert_eq!(circuit.strings[0].emitters, [0, 1]);
    let lead = circuit.supplies[0].pads.lead.unwrap();
    assert_eq!(lead.length_m, 0.8);
    assert!((lead.section_m2 - 0.823e-6).abs() < 1e-9);
    assert!(lamp.variants[0].emitters.iter().all(|emitter| emitter.current_share == 1.0));
    let summary = reading.understood.variants[0].circuit.as_ref().unwrap();
    assert_eq!((summary.strings[0].layout.as_str(), summary.supplies[0].plus.net.as_str()), ("D1, D2", "P"));
    // A supply of the variant's own stands in place of the common ones.
    let own = changed(&[
        ("kind =", "kind="),
        (
            "[variant.v.board]",
            "[[variant.v.supply]]\nname = \"own\"\nplus = \"P\"\nminus = [\"25 mm\", \"5 mm\"]\n[variant.v.board]",
        ),
    ]);
    assert_eq!(own.lamp.unwrap().variants[0].circuit.as_ref().unwrap().strings[0].name, "own");
    // Without a supply nothing is traced, and nothing is said but what is shorted.
    let none = changed(&[(
        "[[supply]]\nplus = \"J1.1\"\nminus = \"M\"\nlead_length = \"0.8 m\"\nlead_section = \"18 AWG\"\n",
        "",
    )]);
    assert!(none.remarks.iter().all(|remark| !remark.text.contains("D1")), "{:#?}", none.remarks);
    assert!(none.lamp.unwrap().variants[0].circuit.is_none());
    let shorted = changed(&[
        (
            "[[supply]]\nplus = \"J1.1\"\nminus = \"M\"\nlead_length = \"0.8 m\"\nlead_section = \"18 AWG\"\n",
            "",
        ),
        ("[\"10 mm\", \"5 mm\"]", "[\"25 mm\", \"5 mm\"]"),
    ]);
    line(&shorted, "warning", &["D1", "anode", "cathode", "net \"M\""]);
}

#[test]
fn wrong_supplies_are_told_with_their_line() {
    let error = |changes: &[(&str, &str)], says: &[&str]| {
        let reading = changed(changes);
        assert!(reading.lamp.is_none());
        line(&reading, "error", says)
    };
    assert_eq!(
        error(&[("J1.1", "J1.2")], &["plus of supply A", "\"J1.2\"", "J1.1", "nets: M, P, a;"]),
        Some(9)
    );
    assert_eq!(error(&[("\"M\"", "[\"9 mm\", \"5 mm\"]")], &["no copper at 9, 5 mm"]), Some(10));
    assert_eq!(error(&[("\"M\"", "7")], &["minus = 7", "a place such as"]), Some(10));
    assert_eq!(error(&[("\"M\"", "[\"9 V\", \"5 mm\"]")], &["'V'", "mm"]), Some(10));
    assert_eq!(error(&[("minus = \"M\"\n", "")], &["misses \"minus\""]), Some(8));
    assert_eq!(error(&[("lead_length = \"0.8 m\"\n", "")], &["lead_length", "0.75 mm2"]), Some(8));
    assert_eq!(error(&[("18 AWG", "18 mm")], &["'mm'", "mm2, AWG"]), Some(12));
    assert_eq!(error(&[("18 AWG", "99 AWG")], &["0000 AWG to 40 AWG"]), Some(12));
    assert_eq!(error(&[("per = \"string\"", "per = \"board\"")], &["\"string\", \"lamp\""]), Some(2));
}

#[test]
fn faults_of_the_circuit_are_warnings_with_the_layer_file() {
    let reading = changed(&[(
        "at = [[\"10 mm\", \"5 mm\"], [\"20 mm\", \"5 mm\"]]",
        "at = [[\"10 mm\", \"5 mm\"], [\"20 mm\", \"5 mm\"]]\nrotation = [\"0 deg\", \"180 deg\"]",
    )]);
    assert_eq!(line(&reading, "warning", &["D2 at 20.000, 5.000 mm stands the wrong way round"]), None);
    let file = |remark: &&crate::findings::FindingRemark| remark.text.contains("wrong way round");
    assert_eq!(reading.remarks.iter().find(file).unwrap().file.as_deref(), Some("artwork/top.gbr"));
    assert_eq!(line(&reading, "warning", &["D1, D2 are part of no string", "predicted as lit"]), Some(2));
    assert!(reading.lamp.is_some());
}

#[test]
fn shares_that_contradict_the_strings_are_told() {
    let share = ("refs = [\"D1\", \"D2\"]", "refs = [\"D1\", \"D2\"]\nshare = 0.5");
    let reading = changed(&[share]);
    assert_eq!(line(&reading, "warning", &["D1 1.000 and not 0.5", "D2 1.000 and not 0.5"]), Some(2));
    // What is given counts; within 2 % nothing is said.
    assert_eq!(reading.lamp.unwrap().variants[0].emitters[0].current_share, 0.5);
    let near = changed(&[(share.0, "refs = [\"D1\", \"D2\"]\nshare = 0.985")]);
    assert!(near.remarks.iter().all(|remark| !remark.text.contains("and not")), "{:#?}", near.remarks);
}

#[test]
fn a_current_for_the_lamp_needs_its_strings() {
    let lamp = ("per = \"string\"", "per = \"lamp\"");
    let reading = changed(&[lamp]);
    assert_eq!(reading.lamp.unwrap().variants[0].emitters[1].current_share, 1.0);
    let supply = (
        "[[supply]]\nplus = \"J1.1\"\nminus = \"M\"\nlead_length = \"0.8 m\"\nlead_section = \"18 AWG\"\n",
        "",
    );
    assert_eq!(line(&changed(&[lamp, supply]), "error", &["no string is traced", "D1"]), Some(2));
    let dark = changed(&[lamp, ("\"M\"", "\"a\"")]);
    assert_eq!(line(&dark, "error", &["D2 is part of no string"]), Some(2));
    // One behind the other, supplies cannot be joined at one driver.
    let stacked = ("minus = \"M\"", "minus = \"a\"\n[[supply]]\nplus = \"a\"\nminus = \"M\"");
    assert_eq!(line(&changed(&[lamp, stacked]), "error", &["cannot be joined at one driver"]), Some(2));
    assert!(!changed(&[stacked]).has_errors());
}
