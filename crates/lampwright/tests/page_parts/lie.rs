//! The gap between board and heatsink on the page: the map, its read-out and the what-ifs are the program's own numbers.

use crate::browser::Browser;
use crate::served::{serve_demo, serve_files};
use crate::{SETTLED, junction_c, type_into};

const UNEVEN: &str =
    "\n[screws]\nhole = \"3.2 mm\"\nhead = \"5 mm\"\n[flatness]\nburr = \"0.1 mm\"\nboard_bow = \"0.2 mm\"\n";

#[test]
fn the_gap_is_shown_over_the_board_and_answers_what_ifs() {
    let mut files = lampwright::demo::files();
    files.iter_mut().find(|(path, _)| path == "lamp.toml").unwrap().1.extend_from_slice(UNEVEN.as_bytes());
    let served = serve_files(files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())));
    let mut browser = Browser::start();
    browser.size(1280, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    let answer = served.solved("variant=plain&depth=0");
    let map = &answer["gap_map"];
    let bond = &answer["run"]["bond"];
    assert_eq!(answer["run"]["state"], "steady");
    let says = browser.value("document.getElementById('lie-says').textContent");
    let mean = format!("{:.0}\u{a0}um", bond["mean_um"].as_f64().unwrap());
    assert!(says.as_str().unwrap().contains(&mean), "{says} {mean}");

    // The read-out at a place is the map's value there.
    let place = browser.value(
        "(() => { const c = document.getElementById('lie-field'); c.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = c.getBoundingClientRect(); return [r.left + r.width * 0.3, r.top + r.height * 0.4]; })()",
    );
    browser.point(place[0].as_f64().unwrap(), place[1].as_f64().unwrap());
    browser.wait_for("document.getElementById('lie-readout').dataset.value");
    let says = browser.value("document.getElementById('lie-readout').textContent");
    let shown =
        browser.value("Number(document.getElementById('lie-readout').dataset.value)").as_f64().unwrap();
    let words: Vec<&str> = says.as_str().unwrap().split_whitespace().collect();
    let after = |word: &str| -> f64 {
        let at = words.iter().position(|w| *w == word).unwrap();
        words[at + 1].trim_end_matches(',').parse().unwrap()
    };
    let number = |key: &str| map[key].as_f64().unwrap();
    let cell = |value: f64, from: &str| ((value - number(from)) / number("pitch_mm")) as usize;
    let (i, j) = (cell(after("x"), "x0_mm"), cell(after("y"), "y0_mm"));
    let gap = map["gap_um"][j * number("nx") as usize + i].as_f64().unwrap();
    // Half a picture point's change.
    assert!((shown - gap).abs() < 3.0, "{says}: {gap}");

    // Flat and free of burrs it is cooler, by what the program says, and the map is even.
    let built = junction_c(&mut browser);
    type_into(&mut browser, "contact", "flat");
    let flat = junction_c(&mut browser);
    let told = served.solved("variant=plain&contact=flat")["run"]["hottest_junction_c"].as_f64().unwrap();
    assert!((flat - told).abs() < 0.06 && flat < built - 1.0, "{built} {flat} {told}");
    let says = browser.value("document.getElementById('lie-says').textContent");
    assert!(says.as_str().unwrap().contains("50\u{a0}um thick everywhere"), "{says}");
    type_into(&mut browser, "contact", "no contact under D2");
    assert!(junction_c(&mut browser) > built);
    browser.value("document.getElementById('undo').click()");
    browser.wait_for("document.getElementById('contact').value === 'flat'");
    browser.wait_for(SETTLED);

    // All changes of the contact on request, as the program answers them; asked of the contact as built, whatever was chosen.
    browser.value("document.getElementById('contact-see').click()");
    browser.wait_for("document.querySelectorAll('#contact-table tbody tr').length === 11");
    let costs = served.json("/api/contact?variant=plain&contact=flat");
    let all = costs["what_ifs"].as_array().unwrap();
    let shown = browser.value("[...document.querySelectorAll('#contact-table tbody tr')].map(r => [...r.cells].map(c => c.textContent.replace('\\u2212', '-')))");
    for (row, one) in shown.as_array().unwrap().iter().zip(all) {
        assert_eq!(row[0], one["what"]);
        let close = |cell: usize, key: &str| {
            let told: f64 = row[cell].as_str().unwrap().parse().unwrap();
            // Half of the last digit, and what two solves leave.
            assert!((told - one[key].as_f64().unwrap()).abs() < 0.1, "{row} {one}");
        };
        close(1, "hotter_k");
        if one["under"].is_string() {
            close(3, "there_hotter_k");
        }
    }
    let says = browser.value("document.getElementById('contact-costs-say').textContent");
    assert!(says.as_str().unwrap().contains("missing contact costs most under D"), "{says}");
    let gain = all.iter().find(|one| one["what"] == "flat and free of burrs").unwrap();
    assert!((gain["hotter_k"].as_f64().unwrap() - (flat - built)).abs() < 0.15, "{gain} {flat} {built}");
    // Another question lets the table go.
    type_into(&mut browser, "current", "0.5 A");
    assert_eq!(browser.value("document.getElementById('contact-scroller').hidden"), true);
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

/// An even film has no map, and only emitters to ask about.
#[test]
fn an_even_bond_line_has_no_map() {
    let served = serve_demo();
    let answer = served.solved("variant=core&depth=0");
    assert!(answer.get("gap_map").is_none());
    let costs = served.json("/api/contact?variant=core&current=0.5%20A");
    let all = costs["what_ifs"].as_array().unwrap();
    assert_eq!((all.len(), costs["current_a"].as_f64()), (8, Some(0.5)), "{costs}");
    assert!(all.iter().all(|one| one["there_hotter_k"].as_f64().unwrap() > 0.0), "{costs}");
    let wrong = served.json("/api/solve?variant=core&contact=nothing");
    assert!(wrong["text"].as_str().unwrap().contains("without burrs"), "{wrong}");
}
