//! The page's cooling: fan, vents and facing are changed beside the board and solved.

use crate::browser::Browser;
use crate::served::serve_demo;
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
