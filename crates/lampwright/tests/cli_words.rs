//! What is typed: wrong words, wrong places, help, and that one JSON object is printed whatever happens.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use support::Scratch;

#[test]
fn help_and_version_are_answers() {
    let scratch = Scratch::new();
    let help = scratch.run(&["--help"]);
    assert_eq!(help.status, 0);
    for word in ["demo", "new", "check", "predict", "bench", "fit", "verdict", "serve", "Exit status"] {
        assert!(help.out.contains(word), "{word}: {}", help.out);
    }
    assert_eq!(scratch.run(&["predict", "--help"]).status, 0);
    assert!(scratch.run(&["--version"]).out.starts_with("lampwright "));
}

#[test]
fn wrong_words_end_with_2_and_one_object() {
    let scratch = Scratch::new();
    let cases: [&[&str]; 8] = [
        &["bench", "--json"],
        &["--json"],
        &["cook", "--json"],
        &["predict", "--json"],
        &["check", "--json"],
        &["predict", "lamp", "--cold", "--json"],
        &["serve", "lamp", "--port", "70000", "--json"],
        &["check", "lamp", "--artwork", "a.gbr", "--json"],
    ];
    for words in cases {
        let said = scratch.run(words);
        assert_eq!(said.status, 2, "{words:?}: {}{}", said.out, said.err);
        let told = said.json();
        assert_eq!(told["exit_status"], 2, "{words:?}");
        assert!(!said.err.is_empty(), "{words:?} is told in words too");
    }
}

#[test]
fn no_command_shows_the_commands_and_ends_with_2() {
    let said = Scratch::new().run(&[]);
    assert_eq!(said.status, 2);
    assert!(said.err.contains("predict"), "{}", said.err);
}

#[test]
fn a_place_without_a_lamp_is_told() {
    let scratch = Scratch::new();
    scratch.write("notes.txt", "no lamp");
    scratch.write("empty/notes.txt", "no lamp");
    for (place, why) in
        [("nowhere", "cannot be read"), ("notes.txt", "neither"), ("empty", "holds no lamp.toml")]
    {
        for command in ["check", "predict", "bench", "fit", "verdict", "serve"] {
            let said = scratch.run(&[command, place]);
            assert_eq!(said.status, 2, "{command} {place}: {}{}", said.out, said.err);
            assert!(said.err.contains(place) && said.err.contains(why), "{command} {place}: {}", said.err);
            assert_eq!(scratch.run(&[command, place, "--json"]).json()["failure"], "bad input");
        }
    }
    assert_eq!(scratch.files().len(), 2, "nothing is written");
}

#[test]
fn wrong_values_are_told_with_what_is_allowed() {
    let scratch = Scratch::with_demo();
    let cases: [(&[&str], &str); 7] = [
        (&["--current", "0.7 V"], "0.7 A"),
        (&["--current", "-1 A"], "0 A or more"),
        (&["--current", "much"], "0.7 A"),
        (&["--current", "nan"], "0.7 A"),
        (&["--ambient", "35 A"], "35 degC"),
        (&["--ambient", "2000 degC"], "150 degC"),
        (&["--variant", "gold"], "plain, core"),
    ];
    for (words, allowed) in cases {
        let said = scratch.run(&[&["predict", "lamp"], words].concat());
        assert_eq!(said.status, 2, "{words:?}: {}{}", said.out, said.err);
        assert!(support::flat(&said.err).contains(allowed), "{words:?}: {}", said.err);
    }
}
