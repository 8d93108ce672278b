//! The verdict on the page: its numbers are the commands' own, its curve has its points where they belong, Cancel stops it.

use std::process::Command;

use serde_json::Value;

use crate::SETTLED;
use crate::browser::Browser;
use crate::served::{serve_folder, write_demo};

fn said(command: &str, folder: &std::path::Path) -> Value {
    let out = Command::new(env!("CARGO_BIN_EXE_lampwright"))
        .args([command, "--json"])
        .arg(folder)
        .output()
        .unwrap();
    serde_json::from_slice(&out.stdout).unwrap()
}

#[test]
fn the_verdict_on_the_page_is_that_of_the_commands() {
    let folder = tempfile::tempdir().unwrap();
    write_demo(folder.path());
    let served = serve_folder(folder.path());
    let mut browser = Browser::start();
    browser.size(1280, 900, 1.0);
    browser.open(&served.address);
    browser.wait_for(SETTLED);

    // Cancelled, and asked again.
    browser.value("document.getElementById('verdict-ask').click()");
    browser.wait_for("document.getElementById('strip').hidden === false");
    browser.key("Escape", 0);
    browser.wait_for("document.getElementById('verdict-state').textContent.startsWith('Cancelled after')");
    assert_eq!(browser.value("document.querySelectorAll('#verdict-shown *').length"), 0);
    browser.value("document.getElementById('verdict-ask').click()");
    browser.wait_up_to(std::time::Duration::from_secs(300), "document.getElementById('verdict-answer')");

    let fit = said("fit", folder.path());
    let verdict = &said("verdict", folder.path())["verdicts"][0];
    let tidy = |text: &Value| text.as_str().unwrap().replace("+-", "\u{b1}");
    assert_eq!(
        browser.value("document.getElementById('verdict-answer').textContent"),
        tidy(&verdict["answers"][0])
    );
    let list = |of: &Value| Value::from(of.as_array().unwrap().iter().map(tidy).collect::<Vec<_>>());
    let items = |id: &str| format!("[...document.querySelectorAll('#{id} li')].map(l => l.textContent)");
    assert_eq!(browser.value(&items("fit-answers")), list(&fit["answers"]));

    // Each point of the curve stands at its room and its current, by the axes that are drawn.
    let dots = browser.value(
        "(() => { const s = document.querySelector('#verdict svg'); const n = s.querySelector('.nominal'), h = s.querySelector('.hottest');
          return [...s.querySelectorAll('circle.safe')].map(c => [c.getAttribute('cx'), c.getAttribute('cy')].map(Number)).concat([[Number(h.getAttribute('x1')), Number(n.getAttribute('y1'))]]); })()",
    );
    let at = |i: usize, k: usize| dots[i][k].as_f64().unwrap();
    let points = verdict["safe_currents"].as_array().unwrap();
    assert_eq!(dots.as_array().unwrap().len(), points.len() + 1);
    let number = |value: &Value, key: &str| value[key].as_f64().unwrap();
    let last = points.len() - 1;
    let along =
        (at(last, 0) - at(0, 0)) / (number(&points[last], "ambient_c") - number(&points[0], "ambient_c"));
    let up = (at(last, 1) - at(0, 1)) / (number(&points[last], "low_a") - number(&points[0], "low_a"));
    assert!(along > 0.0 && up < 0.0);
    for (i, point) in points.iter().enumerate() {
        let x = at(0, 0) + along * (number(point, "ambient_c") - number(&points[0], "ambient_c"));
        let y = at(0, 1) + up * (number(point, "low_a") - number(&points[0], "low_a"));
        assert!((at(i, 0) - x).abs() < 0.5 && (at(i, 1) - y).abs() < 0.5, "{point}: {dots}");
    }
    let nominal = at(0, 1) + up * (number(verdict, "nominal_current_a") - number(&points[0], "low_a"));
    let hottest = at(0, 0) + along * (number(verdict, "hottest_ambient_c") - number(&points[0], "ambient_c"));
    let marks = points.len();
    assert!((at(marks, 0) - hottest).abs() < 0.5 && (at(marks, 1) - nominal).abs() < 0.5, "{dots}");

    the_plateaus_stand_where_the_fit_has_them(&mut browser, &fit);

    // A number tells how it was got.
    browser.value("document.querySelector('#verdict-answer .figure').click()");
    browser.wait_for("document.querySelector('#verdict .origin').textContent.includes('limit')");
    every_figure_tells_of_itself(&mut browser, verdict, &fit);
    browser.value("document.querySelectorAll('#verdict details').forEach(d => { d.open = true; })");
    browser.picture("verdict-light.png", None);
    browser.value("document.getElementById('shade').click()");
    browser.picture("verdict-dark.png", None);
    browser.size(390, 844, 2.0);
    browser.value("new Promise(done => setTimeout(done, 300))");
    let overflow =
        browser.value("document.documentElement.scrollWidth - document.documentElement.clientWidth");
    assert_eq!(overflow.as_f64(), Some(0.0), "no sideways scrolling on a phone");
    browser.picture("verdict-phone.png", None);

    // Logs that are no longer understood: the fit that the command left in results/ is gone by, and that is said.
    std::fs::write(folder.path().join("bench/plain.toml"), "[columns\n").unwrap();
    browser.value("document.getElementById('verdict-ask').click()");
    browser.wait_up_to(std::time::Duration::from_secs(300), "document.getElementById('verdict-no-fit')");
    let quiet = browser.value("document.getElementById('verdict-no-fit').textContent");
    assert!(
        quiet.as_str().unwrap().starts_with("By the fit before, in results/fitted.toml: bench/plain.toml"),
        "{quiet}"
    );
    let first = browser.value("document.getElementById('verdict-answer').textContent");
    assert!(first.as_str().unwrap().contains("what the bench test left of the tolerances"), "{first}");
    assert!(browser.troubles.is_empty(), "{:?}", browser.troubles);
}

/// Predicted against measured: two marks a plateau, each off the diagonal by as much as the fit says, on the scale of the axes.
fn the_plateaus_stand_where_the_fit_has_them(browser: &mut Browser, fit: &Value) {
    let marks = browser.value(
        "(() => { const box = e => { const b = e.getBBox(); return [b.x + b.width / 2, b.y + b.height / 2]; };
          const s = document.querySelector('#chart-agreement svg');
          const d = [...s.querySelectorAll('line')].find(l => l.getAttribute('x1') !== l.getAttribute('x2') && l.getAttribute('y1') !== l.getAttribute('y2'));
          return { line: ['x1', 'y1', 'x2', 'y2'].map(k => Number(d.getAttribute(k))),
                   marks: [...s.querySelectorAll('title')].map(t => ({ at: box(t.parentElement), says: t.textContent })) }; })()",
    );
    let line: Vec<f64> = marks["line"].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect();
    let plateaus = fit["plateaus"].as_array().unwrap();
    let marks = marks["marks"].as_array().unwrap();
    assert_eq!(marks.len(), 2 * plateaus.len());
    let most_k = |key: &str| plateaus.iter().map(|p| p[key].as_f64().unwrap()).fold(0.0, f64::max);
    // The diagonal ends 6 % beyond the largest rise shown.
    let end_k = 1.06 * most_k("measured_k").max(most_k("predicted_k")).max(most_k("unfitted_k"));
    for plateau in plateaus {
        let (measured, current) =
            (plateau["measured_k"].as_f64().unwrap(), plateau["drive_current_a"].as_f64().unwrap());
        for (key, by) in [("predicted_k", "fitted"), ("unfitted_k", "by lamp.toml alone")] {
            let predicted = plateau[key].as_f64().unwrap();
            let says = format!(
                "{} at {current:.3} A: measured {measured:.2} K, {by} {predicted:.2} K",
                plateau["variant"].as_str().unwrap()
            );
            let mark = marks.iter().find(|m| m["says"] == says.as_str()).unwrap_or_else(|| panic!("{says}"));
            let x = line[0] + (line[2] - line[0]) * measured / end_k;
            let y = line[1] + (line[3] - line[1]) * predicted / end_k;
            let at = |k: usize| mark["at"][k].as_f64().unwrap();
            // The boxes of marks are symmetric about their places to half a picture point.
            assert!((at(0) - x).abs() < 1.0 && (at(1) - y).abs() < 1.0, "{mark}: {x} {y}");
        }
    }
    let off = browser.value("document.querySelectorAll('#chart-off svg title').length");
    assert_eq!(off.as_u64(), Some(plateaus.len() as u64));
}

/// Each figure of the answers, chosen, tells what it is in words of its own, with numbers of the findings.
fn every_figure_tells_of_itself(browser: &mut Browser, verdict: &Value, fit: &Value) {
    let told = browser.value(
        "[...document.querySelectorAll('#verdict-answer .figure, #verdict-answers .figure, #fit-answers .figure, \
         #verdict-remarks .figure')].map(f => { f.click(); \
         return [...document.querySelectorAll('#verdict .origin')].find(o => o.textContent.startsWith(f.textContent))?.textContent ?? \
         'nothing of ' + f.textContent; })",
    );
    let told: Vec<&str> = told.as_array().unwrap().iter().filter_map(Value::as_str).collect();
    let generic = [
        "nothing of",
        "least squares over all plateaus",
        "the drive current at which the first limit",
        "what this remark is",
    ];
    for one in &told {
        assert!(!generic.iter().any(|words| one.contains(words)), "{one}");
    }
    let says = |words: &[String]| {
        assert!(
            told.iter().any(|one| words.iter().all(|w| one.contains(w.as_str()))),
            "{words:?}: {told:#?}"
        );
    };
    let hottest = verdict["hottest_ambient_c"].as_f64();
    let points = verdict["safe_currents"].as_array().unwrap();
    let safe = points.iter().find(|p| p["ambient_c"].as_f64() == hottest).unwrap();
    let [low, high] = ["low_a", "high_a"].map(|key| format!("{:.3} A", safe[key].as_f64().unwrap()));
    says(&[low, high, format!("{} lamps are drawn", verdict["drawn"])]);
    let chance = &verdict["chance"];
    says(&[format!("{} of {} lamps", chance["passed"], chance["of"])]);
    let size = |p: &Value| p["residual_k"].as_f64().unwrap().abs();
    let plateaus = fit["plateaus"].as_array().unwrap();
    let worst = plateaus.iter().max_by(|a, b| size(a).total_cmp(&size(b))).unwrap();
    let [fitted, measured] = ["predicted_k", "measured_k"].map(|key| worst[key].as_f64().unwrap());
    says(&[
        format!("fitted {fitted:.2} K, measured {measured:.2} K"),
        worst["variant"].as_str().unwrap().to_owned(),
    ]);
}
