//! The page in a headless browser: what it shows is what the findings hold.
#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)] // a test's helpers may fail loudly

mod browser;

#[path = "page_parts/air.rs"]
mod air;
#[path = "page_parts/bench.rs"]
mod bench;
#[path = "page_parts/broken.rs"]
mod broken;
#[path = "page_parts/cancelling.rs"]
mod cancelling;
#[path = "page_parts/copper.rs"]
mod copper;
#[path = "page_parts/lie.rs"]
mod lie;
#[path = "page_parts/looks.rs"]
mod looks;
#[path = "page_parts/plan.rs"]
mod plan;
#[path = "page_parts/reach.rs"]
mod reach;
#[path = "page_parts/served.rs"]
mod served;
#[path = "page_parts/verdict.rs"]
mod verdict;

use browser::{Browser, plain_request};
use served::{Served, serve_demo};

const SETTLED: &str = "document.getElementById('working')?.textContent.includes('cells')";

fn junction_c(browser: &mut Browser) -> f64 {
    let cells = browser
        .value("[...document.querySelectorAll('#emitter-table tbody tr')].map(r => r.cells[1].textContent)");
    let all: Vec<f64> =
        cells.as_array().unwrap().iter().map(|c| c.as_str().unwrap().parse().unwrap()).collect();
    all.into_iter().fold(f64::NEG_INFINITY, f64::max)
}

fn type_into(browser: &mut Browser, control: &str, text: &str) {
    browser.value(&format!(
        "(() => {{ const c = document.getElementById('{control}'); c.value = '{text}'; c.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()"
    ));
    browser.wait_for("!document.getElementById('working').textContent.startsWith('Solving')");
    browser.wait_for(SETTLED);
}

#[test]
fn the_page_shows_what_the_findings_hold() {
    let served = serve_demo();
    let mut browser = Browser::start();
    browser.size(1360, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);

    // The answer and its table are the findings'.
    let run = &served.solved("variant=plain&depth=0")["run"];
    let hottest = run["hottest_junction_c"].as_f64().unwrap();
    assert!((junction_c(&mut browser) - hottest).abs() <= 0.051, "{hottest}");
    let answer = browser.value("document.getElementById('answer').textContent");
    let answer = answer.as_str().unwrap();
    assert!(
        answer.contains(&format!("{hottest:.0} "))
            && answer.contains(run["hottest_emitter"].as_str().unwrap()),
        "{answer}"
    );

    // The air side's sentence and picture are the findings'.
    let fan = &run["air_side"]["fan"];
    let [flow, pressure] = ["flow_l_per_s", "pressure_pa"].map(|key| fan[key].as_f64().unwrap());
    let point = format!("{flow:.2}\u{a0}l/s against {pressure:.2}\u{a0}Pa");
    let says = browser.value("document.getElementById('air-says').textContent");
    assert!(says.as_str().unwrap().contains(&point), "{point}: {says}");
    let curves = browser.value("document.querySelectorAll('#air-diagram polyline').length");
    assert_eq!(curves.as_u64(), Some(2), "fan and system");

    field_is_drawn(&mut browser);
    read_out_matches(&mut browser, &served);
    browser.value("scrollTo({ top: 0, behavior: 'instant' })");
    browser.picture("light.png", None);

    controls_change_the_numbers(&mut browser, hottest);
    keyboard_works(&mut browser);

    // Dark paper, and a phone.
    browser.value("document.getElementById('shade').click()");
    browser.value("scrollTo({ top: 0, behavior: 'instant' })");
    browser.picture("dark.png", None);
    browser.size(390, 844, 2.0);
    browser.value("new Promise(done => setTimeout(done, 300))");
    let overflow =
        browser.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
    assert_eq!(overflow.as_f64(), Some(0.0), "no sideways scrolling on a phone");
    browser.picture("phone.png", None);

    // The one wrong value typed above is refused by the program (400); nothing else goes wrong.
    let expected = |trouble: &&String| trouble.contains("status of 400");
    let troubles: Vec<&String> = browser.troubles.iter().filter(|trouble| !expected(trouble)).collect();
    assert!(troubles.is_empty(), "{troubles:?}");
    let outside: Vec<&String> = browser
        .requests
        .iter()
        .filter(|url| {
            !url.starts_with(&served.address) && !url.starts_with("about:") && !url.starts_with("data:")
        })
        .collect();
    assert!(outside.is_empty(), "{outside:?}");
}

/// Many colours inside the board, none in the corner outside its rounded edge.
fn field_is_drawn(browser: &mut Browser) {
    let colours = browser.value(
        "(() => { const c = document.getElementById('field'); const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
          const seen = new Set(); for (let i = 0; i < d.length; i += 4) if (d[i + 3] === 255) seen.add((d[i] << 16) | (d[i + 1] << 8) | d[i + 2]);
          return [seen.size, d[3]]; })()",
    );
    assert!(colours[0].as_f64().unwrap() > 200.0, "{colours}");
    assert_eq!(colours[1], 0, "nothing is drawn in the corner");
}

/// Under the middle of an emitter, the read-out is the temperature of the served picture to its tenth.
fn read_out_matches(browser: &mut Browser, served: &Served) {
    let place = browser.value(
        "(() => { const c = document.getElementById('field'); c.scrollIntoView({ block: 'center', behavior: 'instant' }); const r = c.getBoundingClientRect(); return [r.left + r.width * 0.31, r.top + r.height * 0.37]; })()",
    );
    browser.point(place[0].as_f64().unwrap(), place[1].as_f64().unwrap());
    browser.wait_for("document.getElementById('readout').dataset.value");
    let says = browser.value("document.getElementById('readout').textContent");
    let words: Vec<&str> = says.as_str().unwrap().split_whitespace().collect();
    let (shown, x, y): (f64, f64, f64) = (
        words[0].parse().unwrap(),
        words[4].trim_end_matches(',').parse().unwrap(),
        words[6].parse().unwrap(),
    );
    let slice = &served.solved("variant=plain&depth=0")["slice"];
    let at = |key: &str| slice[key].as_f64().unwrap();
    let (i, j) =
        (((x - at("x0_mm")) / at("pitch_mm")) as usize, ((y - at("y0_mm")) / at("pitch_mm")) as usize);
    let near = |i: usize, j: usize| slice["temperature_c"][j * at("nx") as usize + i].as_f64().unwrap();
    // The place is shown to a tenth of a millimetre: half a picture point's change of temperature is allowed.
    let around = [near(i, j), near(i + 1, j), near(i, j + 1), near(i - 1, j), near(i, j - 1)];
    let (low, high) =
        (around.iter().copied().fold(f64::MAX, f64::min), around.iter().copied().fold(f64::MIN, f64::max));
    assert!(shown >= low - 0.051 && shown <= high + 0.051, "{says}: {around:?}");
}

fn controls_change_the_numbers(browser: &mut Browser, at_first: f64) {
    type_into(browser, "ambient", "40 degC");
    let warm = junction_c(browser);
    assert!(
        (warm - at_first - 15.0).abs() < 1.5,
        "15 K more outside give about 15 K more inside: {at_first} to {warm}"
    );
    type_into(browser, "current", "500 mA");
    let dim = junction_c(browser);
    assert!(dim < warm - 10.0, "{dim}");
    type_into(browser, "heatsink", "4 K/W");
    let hot = junction_c(browser);
    assert!(hot > dim + 10.0, "{hot}");
    type_into(browser, "bond", "0.5 mm");
    // Ten times the bond line: some more, though the copper above it spreads the heat.
    assert!(junction_c(browser) > hot + 0.3);
    // Undo goes back, one change at a time; redo forward.
    browser.value("document.getElementById('undo').click()");
    browser.wait_for("document.getElementById('bond').value === '50 um'");
    browser.wait_for(SETTLED);
    assert!((junction_c(browser) - hot).abs() < 0.051);
    browser.value("document.getElementById('redo').click()");
    browser.wait_for("document.getElementById('bond').value === '0.5 mm'");
    browser.wait_for(SETTLED);
    // What is wrong is said beside the controls, and nothing is lost.
    browser.value("(() => { const c = document.getElementById('current'); c.value = '70 mm'; c.dispatchEvent(new Event('change', { bubbles: true })); })()");
    browser.wait_for("document.getElementById('field-trouble').textContent.includes('A, mA')");
    let typed_on = browser.value("[document.getElementById('current').value, document.getElementById('current').getAttribute('aria-invalid'), document.getElementById('field-trouble').textContent.startsWith('Drive current')]");
    assert_eq!(typed_on, serde_json::json!(["70 mm", "true", true]));
    let before = junction_c(browser);
    // An emptied control means what lamp.toml says.
    type_into(browser, "current", "");
    browser.wait_for("document.getElementById('current').value === '1.05 A'");
    browser.wait_for(SETTLED);
    assert!(junction_c(browser) > before + 10.0);
    assert_eq!(browser.value("document.getElementById('current').hasAttribute('aria-invalid')"), false);
    browser.value("document.getElementById('as-given').click()");
    browser.wait_for("document.getElementById('current').value === '1.05 A'");
    browser.wait_for(SETTLED);
    assert!((junction_c(browser) - at_first).abs() < 0.051);
    // The other variant.
    browser.value("(() => { const c = document.getElementById('variant'); c.value = 'core'; c.dispatchEvent(new Event('change', { bubbles: true })); })()");
    browser.wait_for("document.getElementById('laid-answer').textContent.includes('core')");
    browser.wait_for(SETTLED);
    assert!(junction_c(browser) < at_first - 5.0);
    browser.wait_for("document.querySelectorAll('#chart-junction polyline').length === 2");
}

fn keyboard_works(browser: &mut Browser) {
    browser.value("document.getElementById('field').focus()");
    let before = browser.value("document.getElementById('readout').textContent");
    browser.key("ArrowRight", 0);
    browser.key("ArrowUp", 8);
    let after = browser.value("document.getElementById('readout').textContent");
    assert_ne!(before, after);
    browser.value("document.querySelector('.stair').focus()");
    browser.key("Enter", 0);
    let says = browser.value("document.getElementById('step-says').textContent");
    assert!(says.as_str().unwrap().contains("package"), "{says}");
    browser.value("(() => { const d = document.getElementById('depth'); d.value = String(d.options.length - 1); d.dispatchEvent(new Event('change')); })()");
    browser.wait_for("document.getElementById('depth').selectedOptions[0].textContent.includes('back')");
}

#[test]
fn only_this_machine_is_answered() {
    let served = serve_demo();
    let good = plain_request(&served.host, "GET", "/", &served.host);
    assert!(good.starts_with("HTTP/1.1 200"), "{good}");
    assert!(good.to_lowercase().contains("content-security-policy: default-src 'none'"));
    let bad = plain_request(&served.host, "GET", "/api/lamp", "lamp.example:80");
    assert!(bad.starts_with("HTTP/1.1 403"), "{bad}");
    let missing = plain_request(&served.host, "GET", "/nothing.js", &served.host);
    assert!(missing.starts_with("HTTP/1.1 404"), "{missing}");
}
