//! The page's cooling: fan, vents and facing are changed beside the board and solved.

use std::io::Write as _;
use std::net::TcpStream;
use std::sync::atomic::AtomicBool;

use lamp::predict::{Question, predict};
use lamp::project::{MemoryFolder, read};

use crate::browser::Browser;
use crate::cancelling::wait_until;
use crate::served::{Served, serve_demo, serve_files};
use crate::{SETTLED, junction_c, type_into};

/// How far the same state settles from two starts, as a share of the rise: fields are solved to 1e-5 and films settle to 1e-4 of the
/// heat, both ways.
const SETTLES: f64 = 4e-4;

fn hottest_c(served: &Served, query: &str) -> f64 {
    served.solved(query)["run"]["hottest_junction_c"].as_f64().unwrap()
}

/// What changes of the cooling would do, as the page is answered, is what `predict` finds, as close as the solver settles; and the
/// model answers as before afterwards, also where the work was broken off.
#[test]
fn changes_of_the_cooling_are_those_of_predict() {
    let lamp = read(&MemoryFolder::new(lampwright::demo::files())).lamp.unwrap();
    let question = Question {
        currents_a: Some(vec![lamp.nominal_current_a]),
        variants: Some(vec!["plain".into()]),
        threads: 1,
        ..Question::default()
    };
    let found = predict(&lamp, &question, &mut |_| {}, &AtomicBool::new(false), &mut || 0.0).unwrap();
    let predicted = &found.runs[0].air_side.as_ref().unwrap().what_ifs;
    let served = serve_demo();
    let solved = served.solved("variant=plain");
    assert_eq!(solved["run"]["air_side"]["what_ifs"].as_array().unwrap().len(), 0, "nothing until asked");
    // Hottest junction and the hottest place of the picture, which is drawn from the model's field.
    let shown = || {
        let solved = served.solved("variant=plain&depth=0");
        let places = solved["slice"]["temperature_c"].as_array().unwrap();
        let hottest = places.iter().filter_map(serde_json::Value::as_f64).fold(f64::MIN, f64::max);
        [solved["run"]["hottest_junction_c"].as_f64().unwrap(), hottest]
    };
    let before_c = shown();
    let answer = served.json("/api/air?variant=plain");
    assert_eq!(
        (answer["current_a"].as_f64(), answer["ambient_c"].as_f64()),
        (Some(lamp.nominal_current_a), Some(lamp.ambient_c))
    );
    let all = answer["what_ifs"].as_array().unwrap();
    assert_eq!((all.len(), predicted.len()), (4, 4), "{answer}");
    for (one, own) in all.iter().zip(predicted) {
        let number = |key: &str| one[key].as_f64().unwrap();
        assert_eq!((one["what"].as_str().unwrap(), &one["steady"]), (own.what.as_str(), &own.steady.into()));
        let (then_c, hotter_k) = (own.hottest_junction_c.unwrap(), own.hotter_k.unwrap());
        let close_k = SETTLES * (then_c - lamp.ambient_c);
        assert!((number("hottest_junction_c") - then_c).abs() < close_k, "{one} {own:?}");
        assert!((number("hotter_k") - hotter_k).abs() < 2.0 * close_k, "{one} {own:?}");
        assert!((number("k_per_w") / own.k_per_w.unwrap() - 1.0).abs() < 1e-3, "{one} {own:?}");
        let flow = one["flow_l_per_s"].as_f64();
        assert_eq!(flow.is_some(), own.flow_l_per_s.is_some(), "{one} {own:?}");
        assert!(flow.zip(own.flow_l_per_s).is_none_or(|(a, b)| (a / b - 1.0).abs() < 1e-3), "{one} {own:?}");
    }
    let stays = |when: &str| {
        for (now_c, before_c) in shown().into_iter().zip(before_c) {
            assert!(
                (now_c - before_c).abs() < SETTLES * (before_c - lamp.ambient_c),
                "{when}: {now_c} {before_c}"
            );
        }
    };
    stays("after all of them");
    let mut line = TcpStream::connect(&served.host).unwrap();
    write!(line, "GET /api/air?variant=plain&asked_as=x HTTP/1.1\r\nHost: {}\r\n\r\n", served.host).unwrap();
    wait_until(&served, "changing the cooling", |work| {
        work.iter().any(|one| all.iter().any(|change| change["what"] == one["doing"]))
    });
    drop(line);
    wait_until(&served, "idle", <[_]>::is_empty);
    stays("after breaking off");
}

/// The changes are asked of current, room and controls as they stand: each is the answer to the question with that control changed.
#[test]
fn changes_of_the_cooling_follow_the_controls() {
    let served = serve_demo();
    let asked = "current=0.5&ambient=40&variant=plain&contact=no%20contact%20under%20D2";
    let answer = served.json(&format!("/api/air?{asked}&fan=8.4&vents=60&facing=up"));
    let all = answer["what_ifs"].as_array().unwrap();
    for (what, controls) in [
        ("the fan at half its voltage", "fan=4.2&vents=60&facing=up"),
        ("the fan stopped", "fan=0&vents=60&facing=up"),
        ("the lamp upside down", "fan=8.4&vents=60&facing=down"),
        ("dust on 30 % of the vents", "fan=8.4&vents=42&facing=up"),
    ] {
        let one = all.iter().find(|one| one["what"] == what).unwrap();
        let then_c = hottest_c(&served, &format!("{asked}&{controls}"));
        let found_c = one["hottest_junction_c"].as_f64().unwrap();
        assert!((found_c - then_c).abs() < SETTLES * (then_c - 40.0), "{one} {then_c}");
    }
    // A K/W typed for the heatsink leaves nothing of fan and vents to change.
    let none = served.json("/api/air?variant=plain&heatsink=2");
    assert_eq!(none["what_ifs"].as_array().unwrap().len(), 0, "{none}");
}

/// On the page nothing is said of changes of the cooling until they are asked for; then what the program answers; another question lets
/// it go, and so does Cancel.
fn changes_are_solved_on_request(browser: &mut Browser, served: &Served) {
    let is_hidden = "document.getElementById('cooling-scroller').hidden";
    let says = "document.getElementById('cooling-costs-say').textContent";
    assert_eq!(browser.value(is_hidden), true);
    let before = browser.value(says);
    browser.value("(() => { document.getElementById('cooling-see').click(); document.getElementById('cancel').click(); })()");
    browser.wait_for(&format!("{says} === 'Cancelled.'"));
    assert_eq!(browser.value(is_hidden), true);
    browser.value("document.getElementById('cooling-see').click()");
    browser.wait_for(&format!("!{is_hidden}"));
    let answer = served.json("/api/air?variant=plain");
    let all = answer["what_ifs"].as_array().unwrap();
    let rows = browser.value("[...document.querySelectorAll('#cooling-table tbody tr')].map(r => [...r.cells].map(c => c.textContent.replace('\\u2212', '-')))");
    let rows = rows.as_array().unwrap();
    assert_eq!((rows.len(), all.len()), (4, 4), "{rows:?}");
    for (row, one) in rows.iter().zip(all) {
        assert_eq!(row[0], one["what"]);
        for (cell, key) in [(1, "hotter_k"), (2, "hottest_junction_c")] {
            let shown: f64 = row[cell].as_str().unwrap().parse().unwrap();
            // Half of the last digit, and what two solves leave.
            assert!((shown - one[key].as_f64().unwrap()).abs() < 0.1, "{row} {one}");
        }
    }
    let stopped = all.iter().find(|one| one["what"] == "the fan stopped").unwrap();
    let said = browser.value(says);
    let hotter =
        format!("with the fan stopped the hottest junction is {:.1}", stopped["hotter_k"].as_f64().unwrap());
    assert!(said.as_str().unwrap().contains(&hotter), "{said}: {hotter}");
    browser.picture("cooling-light-1280.png", None);
    type_into(browser, "fan", "7 V");
    assert_eq!(browser.value(is_hidden), true);
    assert_eq!(browser.value(says), before);
    assert_eq!(browser.value("document.getElementById('cooling-see').disabled"), false);
    type_into(browser, "fan", "8 V");
}

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
    changes_are_solved_on_request(&mut browser, &served);
    for (id, typed, query, least_k, most_k) in [
        ("fan", "4 V", "variant=plain&fan=4", 3.0, 10.0),
        ("vents", "50 %", "variant=plain&fan=4&vents=50", 4.0, 20.0),
        ("facing", "up", "variant=plain&fan=4&vents=50&facing=up", 2.0, 20.0),
    ] {
        type_into(&mut browser, id, typed);
        let (page, own) = (junction_c(&mut browser), hottest_c(&served, query));
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
