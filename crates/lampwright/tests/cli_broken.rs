//! Broken lamps: the demo with one edit each. What is said, where, and how the program ends.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use support::{Said, Scratch, flat};

/// Runs `check` and `predict` on a lamp that has an error; both must end with 2, say each of `words`, change no file and
/// write none.
fn assert_refused(scratch: &Scratch, words: &[&str]) {
    let before = scratch.files();
    for command in [&["check", "lamp"][..], &["predict", "lamp"]] {
        let said = scratch.run(command);
        assert_eq!(said.status, 2, "{command:?}: {}{}", said.out, said.err);
        let all = flat(&format!("{} {}", said.out, said.err));
        for word in words {
            assert!(all.contains(word), "{command:?} does not say {word:?}: {all}");
        }
    }
    let told = scratch.run(&["predict", "lamp", "--json"]);
    assert_eq!(told.status, 2);
    assert_eq!(told.json()["failure"], "bad input");
    assert_eq!(errors(&told).len(), errors(&scratch.run(&["check", "lamp", "--json"])).len());
    assert_eq!(scratch.files(), before, "nothing is written for a lamp that cannot be used");
}

/// Texts of the errors in a JSON answer.
fn errors(said: &Said) -> Vec<String> {
    let object = said.json();
    let remarks = object["remarks"].as_array().expect("remarks are a list");
    let errors: Vec<String> =
        remarks.iter().filter(|r| r["severity"] == "error").map(|r| r["text"].to_string()).collect();
    assert!(!errors.is_empty(), "an error is told: {object}");
    errors
}

#[test]
fn a_missing_copper_layer_is_told() {
    let scratch = Scratch::with_demo();
    let layer = scratch.file_with("lamp/artwork/plain", "FileFunction,Copper,L1");
    std::fs::remove_file(scratch.path().join(layer)).expect("it was there");
    assert_refused(&scratch, &["artwork/plain", "top copper", "roles"]);
}

#[test]
fn an_emitter_off_the_board_is_told_by_its_reference() {
    let scratch = Scratch::with_demo();
    let centroid = scratch.file_with("lamp/artwork/plain", "D3");
    let text = scratch.read(&centroid);
    let line = text.lines().find(|line| line.contains("D3")).expect("D3 has a line").to_owned();
    let cells: Vec<String> = line.split(',').map(str::to_owned).collect();
    // The first cell that is a number is x; 500 mm is far off a board of 72 mm.
    let x = cells
        .iter()
        .position(|cell| cell.trim_matches('"').trim_end_matches("mm").trim().parse::<f64>().is_ok());
    let mut moved = cells;
    moved[x.expect("a place")] = "500.0".to_owned();
    scratch.edit(&centroid, &line, &moved.join(","));
    assert_refused(&scratch, &["D3"]);
}

#[test]
fn a_land_without_copper_is_told_by_its_reference() {
    let scratch = Scratch::with_demo();
    let layer = scratch.file_with("lamp/artwork/core", "FileFunction,Copper,L1");
    scratch.write(&layer, "%TF.FileFunction,Copper,L1,Top*%\n%FSLAX46Y46*%\n%MOMM*%\n%ADD10C,1.0*%\nD10*\nX2000000Y2000000D03*\nM02*\n");
    assert_refused(&scratch, &["D1", "copper"]);
}

#[test]
fn a_wrong_unit_is_told_with_its_place_and_the_units_allowed() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "thickness = \"1.6 mm\"", "thickness = \"1.6 K\"");
    let line = line_of(&scratch, "1.6 K");
    assert_refused(&scratch, &[&format!("lamp.toml:{line}:"), "\"1.6 K\"", "mm, um", "such as"]);
}

#[test]
fn an_unknown_key_is_told_with_the_nearest_known_one() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "thickness = \"1.6 mm\"", "thicknes = \"1.6 mm\"");
    let line = line_of(&scratch, "thicknes =");
    assert_refused(&scratch, &[&format!("lamp.toml:{line}:"), "thicknes", "thickness"]);
}

#[test]
fn a_plated_hole_through_a_metal_core_is_told() {
    let scratch = Scratch::with_demo();
    let plated = scratch.file_with("lamp/artwork/plain", "Plated,1,2");
    let name = plated.rsplit('/').next().expect("a file name");
    scratch.write(&format!("lamp/artwork/core/{name}"), scratch.read(&plated));
    assert_refused(&scratch, &["plated", "core"]);
}

#[test]
fn a_variant_that_is_not_understood_is_said_so_and_blamed_for_nothing_else() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "\"fr4 two-layer\"", "\"fr4 three-layer\"");
    let said = scratch.run(&["check", "lamp"]);
    assert_eq!(said.status, 2, "{}{}", said.out, said.err);
    let text = said.flat();
    assert!(text.contains("cannot be predicted: 1 error"), "{text}");
    assert!(text.contains("This variant was not understood") && !text.contains("Board of 0 mm2"), "{text}");
    let json = scratch.run(&["check", "lamp", "--json"]).json();
    let understood = |at: usize| json["variants"][at]["is_understood"].as_bool();
    assert_eq!((understood(0), understood(1)), (Some(false), Some(true)));
}

#[test]
fn a_file_that_is_no_artwork_is_told_and_harms_nothing() {
    let scratch = Scratch::with_demo();
    let layer = scratch.file_with("lamp/artwork/plain", "FileFunction,Copper,L1");
    let garbage: Vec<u8> = (0..40_000u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    scratch.write(&layer, garbage);
    assert_refused(&scratch, &["artwork/plain"]);
}

#[test]
fn a_file_beyond_the_bound_is_told_and_not_read() {
    let scratch = Scratch::with_demo();
    let layer = scratch.file_with("lamp/artwork/plain", "FileFunction,Copper,L1");
    let file = std::fs::File::options().write(true).open(scratch.path().join(layer)).expect("it is there");
    file.set_len(1 << 40).expect("a file with a hole");
    let began = std::time::Instant::now();
    let said = scratch.run(&["check", "lamp"]);
    assert_eq!(said.status, 2, "{}{}", said.out, said.err);
    assert!(
        flat(&format!("{} {}", said.out, said.err)).contains("at most 128 MB are read"),
        "{}{}",
        said.out,
        said.err
    );
    assert!(began.elapsed().as_secs() < 20);
}

#[test]
fn text_that_is_no_toml_is_told_with_its_line() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "[drive]", "[drive");
    let line = line_of(&scratch, "[drive");
    assert_refused(&scratch, &[&format!("lamp.toml:{line}")]);
}

#[test]
fn bytes_that_are_no_text_are_told() {
    let scratch = Scratch::with_demo();
    scratch.write("lamp/lamp.toml", [0xff, 0xfe, 0x00, 0x80, b'['].repeat(50));
    assert_refused(&scratch, &["lamp.toml"]);
}

#[test]
fn a_missing_emitter_sheet_is_told_with_those_at_hand() {
    let scratch = Scratch::with_demo();
    scratch.edit("lamp/lamp.toml", "sheet = \"white-3.5mm\"", "sheet = \"white-3.6mm\"");
    assert_refused(&scratch, &["white-3.6mm", "white-3.5mm"]);
}

fn line_of(scratch: &Scratch, mark: &str) -> usize {
    let text = scratch.read("lamp/lamp.toml");
    1 + text.lines().position(|line| line.contains(mark)).expect("the edit is in the text")
}
