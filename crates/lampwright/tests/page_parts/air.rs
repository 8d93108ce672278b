//! The page's cooling: fan, vents and facing are changed beside the board and solved.

use crate::browser::Browser;
use crate::served::{serve_demo, serve_files};
use crate::{SETTLED, junction_c, type_into};

/// Each control against the program's own answer, and the way back.
#[test]
fn fan_vents_and_facing_are_changed_and_solved() {
    let served = serve_demo();
    let mut browser = Browser::start();
    browser.size(1280, 800, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    let at_first = junction_c(&mut browser);
    let shown = |id: &str| format!("document.getElementById('{id}').value");
    for (id, as_given) in [("fan", "8 V"), ("vents", "100 %"), ("facing", "down")] {
        assert_eq!(browser.value(&shown(id)), as_given, "{id}");
    }
    let hottest = |query: &str| served.solved(query)["run"]["hottest_junction_c"].as_f64().unwrap();
    for (id, typed, query, least_k, most_k) in [
        ("fan", "4 V", "variant=plain&fan=4", 3.0, 10.0),
        ("vents", "50 %", "variant=plain&fan=4&vents=50", 4.0, 20.0),
        ("facing", "up", "variant=plain&fan=4&vents=50&facing=up", 2.0, 20.0),
    ] {
        type_into(&mut browser, id, typed);
        let (page, own) = (junction_c(&mut browser), hottest(query));
        assert!((page - own).abs() < 0.06, "{id}: {page} {own}");
        assert!((least_k..most_k).contains(&(page - at_first)), "{id}: {page} after {at_first}");
    }
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
    // A K/W stands instead of fan and vents; with both, which control is meant is said beside them.
    browser.value("(() => { const c = document.getElementById('heatsink'); c.value = '2 K/W'; c.dispatchEvent(new Event('change', { bubbles: true })); })()");
    browser.wait_for(
        "document.getElementById('field-trouble').textContent.includes('stands instead of its fins')",
    );
    browser.value("document.getElementById('as-given').click()");
    browser.wait_for(&format!("{} === '8 V'", shown("fan")));
    browser.wait_for(SETTLED);
    assert!((junction_c(&mut browser) - at_first).abs() < 0.06);
}

/// A maker's table joined with the fan, on the page: flow and K/W are the program's own and lie on the table (read by hand between its
/// points: 4 K/W at 0.2 l/s, 2 at 1, 0.8 at 4); a voltage at which the fan would stand is refused beside its control, since the table says
/// nothing of still air, and the answer shown stays that of the voltage before.
#[test]
fn a_makers_table_is_shown_and_a_standing_fan_refused() {
    let table = "resistance_by_flow = [[\"0.2 l/s\", \"4 K/W\"], [\"1 l/s\", \"2 K/W\"], [\"4 l/s\", \"0.8 K/W\"]]\n\
                 pressure_by_flow = [[\"1 l/s\", \"1 Pa\"], [\"4 l/s\", \"10 Pa\"]]\n";
    let mut files = lampwright::demo::files();
    let (_, text) = files.iter_mut().find(|(path, _)| path == "lamp.toml").unwrap();
    *text = String::from_utf8(text.clone()).unwrap().replacen("fins = \"plates\"", table, 1).into_bytes();
    let served = serve_files(files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())));
    let mut browser = Browser::start();
    browser.size(1600, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);
    let air = &served.solved("variant=plain")["run"]["air_side"];
    let (flow, k_per_w) = (air["fan"]["flow_l_per_s"].as_f64().unwrap(), air["k_per_w"].as_f64().unwrap());
    let by_hand = if flow < 1.0 { 4.0 - 2.5 * (flow - 0.2) } else { 2.0 - 0.4 * (flow - 1.0) };
    assert!((k_per_w / by_hand - 1.0).abs() < 2e-3, "{k_per_w} at {flow} l/s");
    let sentence = browser.value("document.getElementById('air-says').textContent");
    let numbers = |unit: &str| -> f64 {
        let said = sentence.as_str().unwrap().replace('\u{a0}', " ");
        let before = said.split(&format!(" {unit}")).next().unwrap().to_owned();
        before.split(' ').next_back().unwrap().parse().unwrap()
    };
    // The page prints three digits.
    assert!((numbers("l/s") / flow - 1.0).abs() < 6e-3, "{sentence}");
    assert!((numbers("K/W") / k_per_w - 1.0).abs() < 6e-3, "{sentence}");
    browser.picture("makers-table-light-wide.png", None);
    let before = junction_c(&mut browser);
    browser.value("(() => { const c = document.getElementById('fan'); c.value = '2 V'; c.dispatchEvent(new Event('change', { bubbles: true })); })()");
    browser.wait_for("document.getElementById('field-trouble').textContent.includes('the fan would stand')");
    assert_eq!(browser.value("document.getElementById('fan').getAttribute('aria-invalid')"), "true");
    assert_eq!(junction_c(&mut browser), before);
    browser.picture("standing-fan-light-wide.png", Some(900));
    browser.value("document.getElementById('as-given').click()");
    browser.wait_for("document.getElementById('field-trouble').textContent === ''");
}
