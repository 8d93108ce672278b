//! The plan on the page: its words and numbers are the command's own, its charts have their points where they belong, Cancel stops it.

use std::process::Command;

use serde_json::Value;

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::{serve_folder, write_demo};

#[test]
fn the_plan_on_the_page_is_that_of_the_command() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let served = serve_folder(folder.path());
    let mut browser = Browser::start();
    browser.size(1280, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);

    // Cancelled, and asked again.
    browser.value("document.getElementById('plan-ask').click()");
    browser.wait_for("document.getElementById('strip').hidden === false");
    browser.key("Escape", 0);
    browser.wait_for("document.getElementById('plan-state').textContent.startsWith('Cancelled after')");
    assert_eq!(browser.value("document.querySelectorAll('#plan-shown *').length"), 0);
    browser.value("document.getElementById('plan-ask').click()");
    browser.wait_up_to(std::time::Duration::from_secs(300), "document.getElementById('plan-answer')");

    let out = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args(["plan", "--json", "--no-write"])
        .arg(folder.path())
        .output()
        .unwrap();
    let plan: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(browser.value("document.getElementById('plan-answer').textContent"), plan["answers"][0]);
    let items = |id: &str| format!("[...document.querySelectorAll('#{id} li')].map(l => l.textContent)");
    let list = |key: &str| Value::from(plan[key].as_array().unwrap().clone());
    assert_eq!(browser.value(&items("plan-check-list")), list("check_list"));
    assert_eq!(browser.value(&items("plan-cautions")), list("cautions"));
    assert_eq!(browser.value(&items("plan-remarks")), list("remarks"));

    // Each settled reading stands at its time and temperature, by the first and the hottest one; the abort reading above them.
    let charts = browser.value(
        "[...document.querySelectorAll('#plan svg')].map(s => [[...s.querySelectorAll('circle.settled')].map(c => [c.getAttribute('cx'), c.getAttribute('cy')].map(Number)), Number(s.querySelector('.abort').getAttribute('y1'))])",
    );
    let runs = plan["runs"].as_array().unwrap();
    assert_eq!(charts.as_array().unwrap().len(), runs.len());
    let number = |value: &Value, key: &str| value[key].as_f64().unwrap();
    for (chart, run) in charts.as_array().unwrap().iter().zip(runs) {
        let steps = run["steps"].as_array().unwrap();
        let at = |i: usize, k: usize| chart[0][i][k].as_f64().unwrap();
        assert_eq!(chart[0].as_array().unwrap().len(), steps.len());
        let hottest = (0..steps.len())
            .max_by(|a, b| number(&steps[*a], "sensor_c").total_cmp(&number(&steps[*b], "sensor_c")))
            .unwrap();
        let of = |i: usize| {
            (number(&steps[i], "start_s") + number(&steps[i], "dwell_s"), number(&steps[i], "sensor_c"))
        };
        let along = (at(hottest, 0) - at(0, 0)) / (of(hottest).0 - of(0).0);
        let up = (at(hottest, 1) - at(0, 1)) / (of(hottest).1 - of(0).1);
        assert!(along > 0.0 && up < 0.0);
        for i in 0..steps.len() {
            let (x, y) = (at(0, 0) + along * (of(i).0 - of(0).0), at(0, 1) + up * (of(i).1 - of(0).1));
            assert!((at(i, 0) - x).abs() < 0.5 && (at(i, 1) - y).abs() < 0.5, "step {i}: {chart}");
        }
        let abort = at(0, 1) + up * (number(&steps[0], "abort_above_c") - of(0).1);
        assert!((chart[1].as_f64().unwrap() - abort).abs() < 0.5, "{abort} {chart}");
    }

    // A number tells how it was got; another order is planned without solving anew.
    browser.value("document.querySelector('#plan-answer .figure, #plan-answers .figure').click()");
    browser.wait_for("document.querySelector('#plan .origin').textContent.length > 40");
    browser.value("document.querySelectorAll('#plan details').forEach(d => { d.open = true; })");
    browser.picture("plan-light.png", None);
    browser.value("document.getElementById('shade').click()");
    browser.picture("plan-dark.png", None);
    browser.size(390, 844, 2.0);
    browser.value("new Promise(done => setTimeout(done, 300))");
    let overflow =
        browser.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
    assert_eq!(overflow.as_f64(), Some(0.0), "no sideways scrolling on a phone");
    browser.picture("plan-phone.png", None);
    browser.value(
        "(() => { const o = document.getElementById('plan-mountings'); o.value = '2'; o.dispatchEvent(new Event('change')); })()",
    );
    browser.wait_for("document.querySelectorAll('#plan svg').length === 4");
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}
